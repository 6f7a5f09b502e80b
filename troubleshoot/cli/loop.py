"""The one loop of a guided inquiry: diagnose, show, ask, save; until mended and proven, or saved and stopped."""

from collections.abc import Callable, Sequence
from typing import Any

from troubleshoot import casebook, screen
from troubleshoot.cli.session import Session
from troubleshoot.diagnosis import CheckStep, Diagnosis, RemedyStep
from troubleshoot.dialogue import COMMANDS, Asker, Option, Paused, Prompt, pick, yes_no
from troubleshoot.quantities import Unreadable, read_reading, show
from troubleshoot.rulebook import short
from troubleshoot.screen import Console

DONE, FAILED, NO_CAUSE, PAUSED = 0, 1, 3, 5
HOW = (
    ("typed", "read off the meter"),
    ("seen", "seen just now"),
    ("remembered", "remembered"),
    ("thought", "I think so"),
)
SHOWN = ("!why", "!ranking", "!card", "!help")
HELP = """At every question: a figure or the arrows choose an answer; letters are commands.
  u not sure · c can't do that here · t already tried: the question is put aside, nothing is believed from it
  b back: the last answer is taken back        w why: which suspects this check separates, and by how much
  r the ranking with all its evidence          o another check, or mend something now
  p this step as a card to take along          m how much time there is, and what may be stopped
  d what is still undone                       n a note for the case
  s save and stop; nothing is lost, and everything can be taken up again later
Not sure is always a good answer: a guess costs far more than a gap."""


class Loop:
    """One inquiry in a conversation."""

    def __init__(self, session: Session, asker: Asker, out: Console) -> None:
        self.session, self.asker, self.out = session, asker, out
        self.seen: frozenset[str] = frozenset()
        self.order = -1

    def run(self) -> int:
        """Go on until the case is closed, handed over or paused; the exit code."""
        try:
            while True:
                made = self.session.diagnosis()
                self._show(made)
                code = self._turn(made)
                if code is not None:
                    return code
        except Paused:
            return self._saved()

    def _show(self, made: Diagnosis) -> None:
        self.out.print(screen.overview(self.session.rulebook, made, f"Case {self.session.case.name}", self.order))

    def _saved(self) -> int:
        self.out.print(f"\nSaved. Go on with: troubleshoot resume {self.session.case.path}")
        return PAUSED

    def _turn(self, made: Diagnosis) -> int | None:
        if made.deduced.stop:
            return self._stopped(made)
        if made.state == "proven":
            return self._close(made)
        if made.state == "mended":
            return self._prove(made)
        self.out.print(screen.step_screen(self.session.rulebook, made, self.seen))
        if isinstance(made.step, CheckStep):
            return self._check(made, made.step)
        if isinstance(made.step, RemedyStep):
            return self._remedy(made, made.step)
        return self._hand_over(made)

    def _stopped(self, made: Diagnosis) -> int | None:
        asked = Prompt(
            "Questioning ends here. Hand over to somebody who may do it.",
            (Option("!save", "Save and stop"), Option("!back", "That was a mistake: take the answer back")),
            topic="stop",
            default="!save",
        )
        if self.asker.ask(asked) == "!back":
            casebook.take_back(self.session.case)
            return None
        del made
        self._saved()
        return NO_CAUSE

    def _check(self, made: Diagnosis, step: CheckStep) -> int | None:
        self.seen |= frozenset(step.prepared.cautions)
        check = step.check
        if check.unit:
            asks = f"{check.asks.replace('{place}', step.place.name)} — what does it read, in {check.unit}?"
            options = tuple(
                Option(f"={o}", f"only that it is: {o.replace('-', ' ')}", f"={i}")
                for i, o in enumerate(check.outcomes, 1)
            )
            prompt = Prompt(asks, options, COMMANDS, typed=True, topic=_topic(step))
        else:
            asks = check.asks.replace("{place}", step.place.name)
            prompt = Prompt(asks, tuple(Option(o, t) for o, t in check.labels.items()), COMMANDS, topic=_topic(step))
        return self._taken(made, prompt, step, lambda said: self._answer(step, said))

    def _taken(
        self,
        made: Diagnosis,
        prompt: Prompt,
        step: CheckStep | RemedyStep | None,
        take: Callable[[str], None],
    ) -> int | None:
        """Ask until there is an answer; what is only shown does not bring the whole screen again."""
        while True:
            said = self.asker.ask(prompt)
            if said in SHOWN:
                self._command(made, said, step)
                continue
            if said.startswith("!"):
                return self._command(made, said, step)
            take(said)
            return None

    def _answer(self, step: CheckStep, said: str) -> None:
        """Take an answer or a reading, echo it, and save it with the set-ups it needed."""
        event: dict[str, Any] = {"answer": step.check.name, "at": step.place.name}
        if step.check.unit and not said.startswith("=") and said not in step.check.outcomes:
            reading = self._read(step, said)
            if reading is None:
                return
            event |= {"reading": said, "how": "typed"}
        else:
            outcome = said.lstrip("=")
            if outcome not in step.check.outcomes:
                names = ", ".join(step.check.outcomes)
                self.out.print(f"{said!r} is no answer to {short(step.check.name)}; it has {names}")
                return
            event |= {"outcome": outcome, "how": "seen"}
        leader = self.session.diagnosis().leader
        if leader is not None:
            event["shown"] = {"first": leader.cause, "chance": round(leader.chance, 2)}
        self._save_with_set_ups(step, event)

    def _read(self, step: CheckStep, said: str) -> str | None:
        """Read a figure, echo it as understood, and ask whether it is right. None: ask again."""
        try:
            reading = read_reading(said, str(step.check.unit))
        except Unreadable as error:
            self.out.print(f"{error}" + (f" {error.ask}" if error.ask else ""))
            return None
        meant = (
            "over range" if reading.over_range else f"{reading.bound}{show(reading.value, str(step.check.unit))}"
        ).strip()
        agreed = self.asker.ask(
            Prompt(
                f"Understood as {meant}. Is that right?",
                (Option("yes", "Yes"), Option("no", "No, ask again")),
                topic="confirm",
                default="yes",
            )
        )
        return said if agreed == "yes" else None

    def _save_with_set_ups(self, step: CheckStep, event: dict[str, Any]) -> None:
        events: list[dict[str, Any]] = [
            {"set-up": s, "at": self._placed(s), "state": "left"} for s in step.prepared.leave
        ]
        events += [{"set-up": s, "at": step.place.name, "state": "entered"} for s in step.prepared.enter]
        self.session.add(*events, event)
        self.order = len(self.session.inquiry.records) - 1

    def _placed(self, set_up: str) -> str | None:
        return next((c.place for c in self.session.inquiry.in_force if c.set_up == set_up), None)

    def _command(self, made: Diagnosis, said: str, step: CheckStep | RemedyStep | None) -> int | None:
        if said == "!save":
            return self._saved()
        if said in ("!not-sure", "!cant-do", "!already-tried") and isinstance(step, CheckStep):
            self.session.add({"answer": step.check.name, "at": step.place.name, "aside": said[1:]})
            return None
        actions: dict[str, Callable[[], object]] = {
            "!back": self._back,
            "!why": lambda: self._why(made, step),
            "!ranking": lambda: self.out.print(screen.full_ranking(made)),
            "!card": lambda: self._card(step),
            "!other": lambda: self._other(made),
            "!time": self._time,
            "!undone": lambda: self._undone(made),
            "!note": self._note,
            "!help": lambda: self.out.print(HELP),
        }
        act = actions.get(said)
        if act is not None:
            act()
        else:
            self.out.print(f"{said.lstrip('!').replace('-', ' ')} is no answer here")
        return None

    def _back(self) -> None:
        if casebook.take_back(self.session.case) is None:
            self.out.print("There is nothing to take back but the symptom itself.")

    def _why(self, made: Diagnosis, step: CheckStep | RemedyStep | None) -> None:
        if isinstance(step, CheckStep):
            self.out.print(screen.why_lines(made, step))
        else:
            self.out.print(screen.full_ranking(made, 3))

    def _card(self, step: CheckStep | RemedyStep | None) -> None:
        if step is not None:
            self.out.print(screen.card(self.session.rulebook, step))

    def _note(self) -> None:
        text = self.asker.ask(Prompt("Your note", typed=True, topic="note"))
        self.session.add({"note": text})

    def _time(self) -> None:
        said = self.asker.ask(Prompt("How many minutes are there? (- for no limit)", typed=True, topic="minutes"))
        may = self.asker.ask(
            pick(
                "What may stand still meanwhile?",
                [
                    ("nothing", "Nothing"),
                    ("block", "One block"),
                    ("district", "One power district"),
                    ("layout", "The whole layout"),
                ],
                "may-stop",
            )
        )
        try:
            minutes: float | None = float(said.replace(",", "."))
        except ValueError:
            minutes = None
        self.session.add({"time": minutes, "may-stop": may})

    def _undone(self, made: Diagnosis) -> None:
        """Say which set-ups have been undone."""
        if not made.in_force:
            self.out.print("Nothing is left undone.")
            return
        options = [
            (f"{c.set_up}|{c.place or ''}", f"{screen.label(c.set_up)} at {c.place or made.subject.name}")
            for c in made.in_force
        ]
        said = self.asker.ask(
            pick("Which of these have you put right again?", [*options, ("", "None of them")], "undone")
        )
        if said:
            name, place = said.split("|", 1)
            self.session.add({"set-up": name, "at": place or None, "state": "left"})

    def _other(self, made: Diagnosis) -> None:
        """Another check than the one advised, or a remedy now."""
        options: list[tuple[str, str]] = [
            (f"check|{i}", f"{s.check.asks.replace('{place}', s.place.name)} ({s.minutes:.0f} min)")
            for i, s in enumerate(made.others)
        ]
        causes = [r.cause for r in made.ranking[:4] if r.cause in self.session.rulebook.causes]
        for cause in causes:
            place = next(r.places[0][0] for r in made.ranking if r.cause == cause)
            options += [
                (
                    f"mend|{m.name}|{place}",
                    f"Mend now: {screen.label(m.name)} at {place} ({m.minutes:.0f} min)",
                )
                for m in self.session.rulebook.remedies_of(cause)
            ]
        said = self.asker.ask(pick("What instead?", [*options, ("", "Go on as advised")], "other"))
        kind, _, rest = said.partition("|")
        if kind == "check":
            step = made.others[int(rest)]
            self.out.print(*screen.check_lines(self.session.rulebook, step, self.seen), sep="\n")
            self._check(made, step)
        elif kind == "mend":
            name, place = rest.split("|", 1)
            self._mended(name, place)

    def _remedy(self, made: Diagnosis, step: RemedyStep) -> int | None:
        self.seen |= frozenset(step.cautions)
        asks = f"Have you done it: {screen.label(step.remedy.name)} at {step.place.name}?"
        options = (
            Option("fixed", "Yes, and the trouble is gone"),
            Option("partly", "Yes, it is better, but part of it remains"),
            Option("not-fixed", "Yes, and nothing has changed"),
        )
        while (
            said := self.asker.ask(Prompt(asks, options, COMMANDS, topic=f"remedy {short(step.remedy.name)}"))
        ) in SHOWN:
            self._command(made, said, step)
        if said in ("!not-sure", "!cant-do", "!already-tried"):
            if said != "!already-tried":
                return self._saved()
            said = "not-fixed"
        if said.startswith("!"):
            return self._command(made, said, step)
        self.session.add({"remedy": step.remedy.name, "at": step.place.name, "result": said})
        return None

    def _mended(self, name: str, place: str) -> None:
        said = self.asker.ask(
            pick(
                "With what result?",
                [
                    ("fixed", "The trouble is gone"),
                    ("partly", "Better, but part remains"),
                    ("not-fixed", "Nothing has changed"),
                ],
                "result",
            )
        )
        if not said.startswith("!"):
            self.session.add({"remedy": name, "at": place, "result": said})

    def _prove(self, made: Diagnosis) -> int | None:
        """Ask for the proof of the last remedy."""
        mend = self.session.inquiry.mends[-1][1]
        remedy = self.session.rulebook.remedies[mend.remedy]
        place = mend.place or made.subject.name
        step = RemedyStep(remedy, made.subject.__class__(made.subject.kind, place), remedy.minutes, 1.0, 0.0, ())
        self.out.print(screen.heading("Prove it mended", "bold green"))
        self.out.print(screen.line("proof", screen.proof_text(self.session.rulebook, step)))
        options = (
            Option("passed", "Passed"),
            Option("failed", "Failed"),
            Option("!save", "Later: save and stop"),
        )
        said = self.asker.ask(
            Prompt("How did the proof go?", options, COMMANDS[3:], topic=f"proof {short(remedy.name)}")
        )
        if said.startswith("!"):
            return self._saved() if said in ("!save", "!not-sure") else self._command(made, said, None)
        event: dict[str, Any] = {"proof": remedy.name, "at": place, "outcome": said}
        complaint = self.session.inquiry.complaint
        wanted = max(remedy.proof.quiet_seconds, complaint.longest_quiet if complaint else 0.0)
        if said == "passed" and wanted:
            quiet = self.asker.ask(
                Prompt(
                    f"How long has it been quiet? (at least {casebook.spell(wanted)}; such as 45 min or 2 h)",
                    typed=True,
                    topic=f"quiet {short(remedy.name)}",
                )
            )
            try:
                event["quiet"] = casebook.spell(casebook.period(quiet))
            except Unreadable as error:
                self.out.print(str(error))
                return None
            if casebook.period(event["quiet"]) < wanted:
                self.session.add(event)
                self.out.print(
                    f"That is not yet {casebook.spell(wanted)}. The case stays open until it has been quiet that long."
                )
                return self._saved()
        self.session.add(event)
        return None

    def _close(self, made: Diagnosis) -> int | None:
        """Close a proven case, but never while something is still undone."""
        for change in made.in_force:
            entry = self.session.rulebook.set_ups[change.set_up]
            undo = entry.undo.replace("{place}", change.place or made.subject.name)
            if (
                self.asker.ask(
                    Prompt(
                        f"Still undone: {undo}. Done now?",
                        (Option("yes", "Yes"), Option("no", "Not yet")),
                        topic="undone",
                        default="yes",
                    )
                )
                != "yes"
            ):
                return self._saved()
            self.session.add({"set-up": change.set_up, "at": change.place, "state": "left"})
        rest = yes_no("Is every part of the trouble gone?", "all-gone")
        if self.asker.ask(Prompt(rest.asks, rest.options, topic="all-gone", default="yes")) == "no":
            mend = self.session.inquiry.mends[-1][1]
            self.session.add({"remedy": mend.remedy, "at": mend.place, "result": "partly"})
            return None
        mend = self.session.inquiry.mends[-1][1]
        causes = list(self.session.rulebook.remedies[mend.remedy].mends)
        self.session.add({"closed": "proven", "remedy-was": mend.remedy, "causes": causes})
        self.out.print(screen.heading("Closed, proven mended", "bold green"))
        self.out.print(
            screen.block(
                f"{screen.label(mend.remedy)} at {mend.place or made.subject.name}. Kept in {self.session.case.path}"
            )
        )
        return DONE

    def _hand_over(self, made: Diagnosis) -> int | None:
        self.out.print(screen.heading("Nothing more to ask or to mend here", "bold"))
        self.out.print(screen.block("What was ruled out stands in the case file. Hand it on, or take an answer back."))
        options: Sequence[Option] = (
            Option("!save", "Save and stop"),
            Option("!back", "Back"),
            Option("!ranking", "The ranking"),
        )
        said = self.asker.ask(Prompt("What now?", tuple(options), topic="hand-over", default="!save"))
        if said == "!save":
            self._saved()
            return NO_CAUSE
        return self._command(made, said, None)


def _topic(step: CheckStep) -> str:
    return f"{short(step.check.name)}@{step.place.name}"
