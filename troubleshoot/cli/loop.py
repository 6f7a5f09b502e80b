"""The one loop of a guided inquiry: diagnose, show, ask, save; until mended and proven, or saved and stopped."""

from collections.abc import Sequence

from troubleshoot import casebook, screen
from troubleshoot.cli.asking import Asking, Step, check_prompt, proof_step, quiet_wanted, remedy_prompt
from troubleshoot.diagnosis import CheckStep, Diagnosis, RemedyStep
from troubleshoot.dialogue import COMMANDS, Option, Paused, Prompt, pick
from troubleshoot.layout import Place
from troubleshoot.quantities import Unreadable
from troubleshoot.rulebook import short

DONE, NO_CAUSE, PAUSED = 0, 3, 5
ASIDE = ("!not-sure", "!cant-do", "!already-tried")


class Loop(Asking):
    """One inquiry in a conversation, from wherever it stands to its end."""

    def run(self) -> int:
        """Go on until the case is closed, handed over or paused; the exit code."""
        try:
            while True:
                made = self.session.diagnosis()
                title = f"Case {self.session.case.name}"
                self.out.print(screen.overview(self.session.rulebook, made, title, self.order))
                code = self._turn(made)
                if code is not None:
                    return code
        except Paused:
            return self._saved()

    def _saved(self) -> int:
        self.out.print(f"\nSaved. Go on with: troubleshoot resume {self.session.case.path}", soft_wrap=True)
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

    def _otherwise(self, made: Diagnosis, said: str, step: Step) -> int | None:
        """A command: saving ends the loop, another step leads on, the rest comes back to the question."""
        if said == "!save":
            return self._saved()
        if said == "!other":
            return self._other(made)
        self.command(made, said, step)
        return None

    def _stopped(self, made: Diagnosis) -> int | None:
        undo = Option("!back", "That was a mistake: take the answer back")
        asks = "Questioning ends here. Hand over to somebody who may do it."
        asked = Prompt(asks, (Option("!save", "Save and stop"), undo), topic="stop", default="!save")
        said = self.ask(made, asked, None)
        if said == "!back":
            casebook.take_back(self.session.case)
            return None
        self._saved()
        return NO_CAUSE

    def _check(self, made: Diagnosis, step: CheckStep) -> int | None:
        self.seen |= frozenset(step.prepared.cautions)
        while True:
            said = self.ask(made, check_prompt(step), step)
            if said in ASIDE:
                self.session.add({"answer": step.check.name, "at": step.place.name, "aside": said[1:]})
                return None
            if said.startswith("!"):
                return self._otherwise(made, said, step)
            if self.take(step, said):
                return None

    def _other(self, made: Diagnosis) -> int | None:
        """Another check than the one advised, or a remedy now."""
        options = [
            (f"check {i}", f"{s.check.asks.replace('{place}', s.place.name)} ({s.minutes:.0f} min)")
            for i, s in enumerate(made.others)
        ]
        if made.chain:
            _, symptom, places = made.chain
            at = places[0].name if places else None
            says = self.session.rulebook.symptoms[symptom].says
            options.insert(0, ("chain", f"Go on there, with all answers kept: {says}" + (f" ({at})" if at else "")))
        mends: list[tuple[str, str]] = []
        for line in [r for r in made.ranking[:4] if r.cause in self.session.rulebook.causes]:
            for remedy in self.session.rulebook.remedies_of(line.cause):
                place = line.places[0][0]
                text = f"Mend now: {screen.label(remedy.name)} at {place} ({remedy.minutes:.0f} min)"
                options.append((f"mend {len(mends)}", text))
                mends.append((remedy.name, place))
        said = self.ask(made, pick("What instead?", [*options, ("as-advised", "Go on as advised")], "other"), None)
        kind, _, index = said.partition(" ")
        if kind == "check":
            step = made.others[int(index)]
            for part in screen.check_lines(self.session.rulebook, step, self.seen):
                self.out.print(part)
            return self._check(made, step)
        if kind == "chain" and made.chain:
            self._follow(*made.chain[1:])
        if kind == "mend":
            return self._mended(made, *mends[int(index)], None)
        return None

    def _follow(self, symptom: str, places: Sequence[Place]) -> None:
        """Move the inquiry to where the likeliest cause goes on; every answer stays a fact, nothing is asked twice."""
        named = places[0].name if places and self.session.layout.known else None
        self.session.add({"symptom": symptom, **({"about": named} if named else {})})

    def _remedy(self, made: Diagnosis, step: RemedyStep) -> int | None:
        self.seen |= frozenset(step.cautions)
        return self._mended(made, step.remedy.name, step.place.name, step)

    def _mended(self, made: Diagnosis, remedy: str, place: str, step: Step) -> int | None:
        said = self.ask(made, remedy_prompt(remedy, place), step)
        if said in ("!not-sure", "!cant-do"):
            return self._saved()
        if said == "!already-tried":
            said = "not-fixed"
        if said.startswith("!"):
            return self._otherwise(made, said, step)
        entered = step.enter if isinstance(step := made.step, RemedyStep) and step.remedy.name == remedy else ()
        states = [{"set-up": s, "at": place, "state": "entered"} for s in entered]
        self.session.add(*states, {"remedy": remedy, "at": place, "result": said})
        return None

    def _prove(self, made: Diagnosis) -> int | None:
        """Ask for the proof of the last remedy."""
        step = proof_step(self.session, made)
        self.out.print(screen.heading("Prove it mended", "bold green"))
        self.out.print(screen.line("proof", screen.proof_text(self.session.rulebook, step)))
        options = (Option("passed", "Passed"), Option("failed", "Failed"), Option("!save", "Later: save and stop"))
        topic = f"proof {short(step.remedy.name)}"
        said = self.ask(made, Prompt("How did the proof go?", options, COMMANDS[3:], topic=topic), step)
        if said.startswith("!"):
            return self._saved() if said in ASIDE else self._otherwise(made, said, step)
        event = {"proof": step.remedy.name, "at": step.place.name, "outcome": said}
        if said == "failed" or not quiet_wanted(self.session, step):
            self.session.add(event)
            return None
        self._quiet_before()
        wanted = quiet_wanted(self.session, step)
        quiet = self._quiet(step, wanted)
        self.session.add(event if quiet is None else event | {"quiet": casebook.spell(quiet)})
        if quiet is not None and quiet >= wanted:
            return None
        self.out.print(f"The case stays open until it has been quiet for {casebook.spell(wanted)}.")
        return self._saved()

    def _quiet_before(self) -> None:
        """Ask for the longest quiet spell before the mend, unless it is known: the proof must outlast it."""
        first = next(e for _, e in reversed(list(self.session.case.standing())) if "symptom" in e)
        if "longest-quiet" in first:
            return
        asks = "How long was it quiet at most before the mend? (such as 2 h; - if the trouble was there all the time)"
        spell = self._spell(Prompt(asks, typed=True, topic="longest-quiet", default="-"))
        if spell:
            again = {k: v for k, v in first.items() if k != "when"}
            self.session.add({**again, "longest-quiet": casebook.spell(spell)})

    def _quiet(self, step: RemedyStep, wanted: float) -> float | None:
        """How long it has been quiet, in seconds; None when that is not known."""
        asks = f"How long has it been quiet? (at least {casebook.spell(wanted)}; such as 45 min or 2 h; - if not known)"
        return self._spell(Prompt(asks, typed=True, topic=f"quiet {short(step.remedy.name)}"))

    def _spell(self, prompt: Prompt) -> float | None:
        while True:
            said = self.asker.ask(prompt)
            if said == "-" or said.startswith("!"):
                return None
            try:
                return casebook.period(said)
            except Unreadable as error:
                self.out.print(str(error))

    def _close(self, made: Diagnosis) -> int | None:
        """Close a proven case, but never while something is still undone."""
        for change in made.in_force:
            entry = self.session.rulebook.set_ups[change.set_up]
            undo = entry.undo.replace("{place}", change.place or made.subject.name)
            if not self._agreed(f"Still undone: {undo}. Done now?", "Not yet", "undone"):
                return self._saved()
            self.session.add({"set-up": change.set_up, "at": change.place, "state": "left"})
        mend = self.session.inquiry.mends[-1][1]
        if not self._agreed("Is every part of the trouble gone?", "No, part of it remains", "all-gone"):
            self.session.add({"remedy": mend.remedy, "at": mend.place, "result": "partly"})
            return None
        self.session.close()
        self.out.print(screen.heading("Closed, proven mended", "bold green"))
        where = f"{screen.label(mend.remedy)} at {mend.place or made.subject.name}"
        self.out.print(screen.block(where))
        self.out.print(f"  Kept in {self.session.case.path}", soft_wrap=True)
        return DONE

    def _agreed(self, asks: str, no: str, topic: str) -> bool:
        return (
            self.asker.ask(Prompt(asks, (Option("yes", "Yes"), Option("no", no)), topic=topic, default="yes")) == "yes"
        )

    def _hand_over(self, made: Diagnosis) -> int | None:
        self.out.print(screen.heading("Nothing more to ask or to mend here", "bold"))
        self.out.print(screen.block("What was ruled out stands in the case file. Hand it on, or take an answer back."))
        options = (Option("!save", "Save and stop"), Option("!back", "Back"), Option("!ranking", "The ranking"))
        said = self.ask(made, Prompt("What now?", options, COMMANDS[3:], topic="hand-over", default="!save"), None)
        if said == "!save":
            self._saved()
            return NO_CAUSE
        return self._otherwise(made, said, None)
