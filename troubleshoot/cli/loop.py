"""The one loop of a guided inquiry: diagnose, show, ask, save; until mended and proven, or saved and stopped."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from threading import Thread
from typing import Any

from troubleshoot import casebook, screen
from troubleshoot.circuit import warm
from troubleshoot.cli.asking import (
    Asking,
    Step,
    check_prompt,
    follow,
    only_powered,
    proof_step,
    quiet_wanted,
    remedy_prompt,
    set_ups,
    which_prompt,
)
from troubleshoot.cli.hunting import lift_first
from troubleshoot.deduction import Prepared, prepare
from troubleshoot.diagnosis import CheckStep, Diagnosis, RemedyStep, goes_when_lifted, in_force_at, named, set_up_places
from troubleshoot.dialogue import COMMANDS, Option, Paused, Prompt, pick
from troubleshoot.inquiry import SetUpChange
from troubleshoot.layout import Place
from troubleshoot.quantities import Unreadable
from troubleshoot.rulebook import Check, short

DONE, NO_CAUSE, PAUSED = 0, 3, 5
UNDER_A_QUESTION = 7
"""Rows that a question takes beside its choices: itself, and the commands."""
ASIDE = ("!not-sure", "!cant-do", "!already-tried")
MOST_PLACES = 8
"""So many like places are offered; further ones are typed."""


class Loop(Asking):
    """One inquiry in a conversation, from wherever it stands to its end."""

    warmed = False

    def run(self) -> int:
        """Go on until the case is closed, handed over or paused; the exit code."""
        try:
            while True:
                made = self.session.diagnosis()
                title = f"Case {self.session.case.name}"
                few = self._suspects(made)
                self.out.print(screen.overview(self.session.rulebook, made, title, self.order, few))
                self._warm()
                code = self._turn(made)
                if code is not None:
                    return code
        except Paused:
            return self._saved()

    def _warm(self) -> None:
        """Load the numeric libraries while the first question is read, so that no answer has to wait for them."""
        if not self.warmed:
            self.warmed = True
            Thread(target=warm, name="warm").start()

    def _suspects(self, made: Diagnosis) -> int:
        """How many suspects to show above a check: fewer where the check would not fit into the window below them."""
        if not self.out.is_terminal or not isinstance(made.step, CheckStep):
            return screen.SUSPECTS
        top = screen.overview(self.session.rulebook, made, "", self.order)
        step = screen.step_screen(self.session.rulebook, made, self.seen)
        below = len(check_prompt(made.step).options) + UNDER_A_QUESTION
        fits = screen.rows(self.out, top, step) + below <= self.out.size.height
        return screen.SUSPECTS if fits else screen.FEW_SUSPECTS

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
        self.out.print(screen.step_screen(self.session.rulebook, made, self.seen, self.session.by_circuit(made)))
        for part in lift_first(self.session, made, "l leads on from lift to lift"):
            self.out.print(part)
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
            (f"check {i}", f"{s.check.asks.replace('{place}', s.place.name)} ({screen.minutes(s.minutes)})")
            for i, s in enumerate(made.others)
        ]
        if made.chain:
            _, symptom, places = made.chain
            at = places[0].name if places else None
            says = self.session.rulebook.symptoms[symptom].says
            options.insert(0, ("chain", f"Go on there, with all answers kept: {says}" + (f" ({at})" if at else "")))
        mends: list[tuple[str, Place]] = []
        for line in [r for r in made.ranking[:4] if r.cause in self.session.rulebook.causes]:
            for remedy in self.session.rulebook.remedies_of(line.cause):
                place = named(self.session.layout, line.places[0][0], made.subject)
                text = f"Mend now: {screen.label(remedy.name)} {screen.at(place)} ({remedy.minutes:.0f} min)"
                options.append((f"mend {len(mends)}", text))
                mends.append((remedy.name, place))
        said = self.ask(made, pick("What instead?", [*options, ("as-advised", "Go on as advised")], "other"), None)
        kind, _, index = said.partition(" ")
        if kind == "check":
            step = made.others[int(index)]
            for part in screen.check_lines(self.session.rulebook, step, self.seen):
                self.out.print(part)
            return self._check(made, step)
        if kind == "chain":
            follow(self.session, made)
        if kind == "mend":
            return self._mended(made, *mends[int(index)], None)
        return None

    def _remedy(self, made: Diagnosis, step: RemedyStep) -> int | None:
        if made.unplaced:
            return self._which(made, step)
        self.seen |= frozenset(step.cautions)
        return self._mended(made, step.remedy.name, step.place, step)

    def _which(self, made: Diagnosis, step: RemedyStep) -> int | None:
        """Ask which of several like places it is, before any of them is mended on a guess."""
        self.out.print(screen.which_lines(self.session.rulebook, made, goes_when_lifted(self.session.rulebook, made)))
        options = [(name, name) for name in made.unplaced[:MOST_PLACES]]
        said = self.ask(made, which_prompt(made, options), step)
        if said in ("!not-sure", "!cant-do", "!already-tried"):
            self.session.add({"found-at": ""})
        elif said.startswith("!"):
            return self._otherwise(made, said, step)
        elif said in made.unplaced:
            self.session.add({"found-at": said})
        else:
            self.out.print(f"{said!r} is none of {', '.join(made.unplaced)}")
        return None

    def _mended(self, made: Diagnosis, remedy: str, place: Place, step: Step) -> int | None:
        said = self.ask(made, remedy_prompt(remedy, place), step)
        if said in ("!not-sure", "!cant-do"):
            return self._saved()
        if said == "!already-tried":
            said = "not-fixed"
        if said.startswith("!"):
            return self._otherwise(made, said, step)
        advised = made.step
        states = []
        if isinstance(advised, RemedyStep) and advised.remedy.name == remedy:
            states = [{"set-up": s, "at": advised.at(s), "state": "entered"} for s in advised.enter]
        self.session.add(*states, {"remedy": remedy, "at": place.name, "result": said})
        return None

    def _prove(self, made: Diagnosis) -> int | None:
        """Ask for the proof of the last remedy, after what would spoil it has been put right again."""
        step = proof_step(self.session, made)
        check = self.session.rulebook.checks[step.remedy.proof.check]
        if not self._put_right([c for c in made.in_force if self._spoils(c, check)], made):
            return self._saved()
        ready, at = self._for_the_proof(check, step, made)
        step = replace(step, set_up_at=at)
        for part in screen.proof_lines(self.session.rulebook, step, ready, self.seen):
            self.out.print(part)
        self.seen |= frozenset(ready.cautions)
        options = (Option("passed", "Passed"), Option("failed", "Failed"), Option("!save", "Later: save and stop"))
        topic = f"proof {short(step.remedy.name)}"
        said = self.ask(made, Prompt("How did the proof go?", options, COMMANDS[3:], topic=topic), step)
        if said.startswith("!"):
            return self._saved() if said in ASIDE else self._otherwise(made, said, step)
        states = set_ups(self.session, ready, at)
        return self._proven(step, said, states)

    def _spoils(self, change: SetUpChange, check: Check) -> bool:
        """Whether a state keeps trains from running and so must be put right before a proof that does not need it."""
        states = self.session.rulebook.set_ups
        if change.set_up in check.set_up or any(states[s].power == "off" for s in check.set_up):
            return False
        entry = states[change.set_up]
        return entry.power != "on" or entry.limits_current

    def _for_the_proof(self, check: Check, step: RemedyStep, made: Diagnosis) -> tuple[Prepared, Mapping[str, str]]:
        """What must come before the check of a proof, and where."""
        layout, rulebook = self.session.layout, self.session.rulebook
        place = named(layout, step.proof_at, made.subject)
        force = in_force_at(layout, rulebook, self.session.inquiry, check.set_up, place)
        ready = prepare(rulebook, check, force)
        return ready, set_up_places(layout, rulebook, ready.enter, place)

    def _proven(self, step: RemedyStep, said: str, states: Sequence[dict[str, Any]]) -> int | None:
        """Save the outcome of a proof; the quiet time that goes with it begins when everything is put right again."""
        event = {"proof": step.remedy.name, "at": step.place.name, "outcome": said}
        if said == "failed" or not quiet_wanted(self.session, step):
            self.session.add(*states, event)
            return None
        self.session.add(*states)
        made = self.session.diagnosis()
        if not self._put_right([c for c in made.in_force if not only_powered(self.session, c)], made):
            self.session.add(event)
            return self._saved()
        self._quiet_before()
        wanted = quiet_wanted(self.session, step)
        quiet = self._quiet(step, wanted)
        self.session.add(event if quiet is None else event | {"quiet": casebook.spell(quiet)})
        if quiet is not None and quiet >= wanted:
            return None
        self.out.print(f"The case stays open until it has been quiet for {casebook.spell(wanted)}.")
        return self._saved()

    def _put_right(self, changes: Sequence[SetUpChange], made: Diagnosis) -> bool:
        """Ask once whether all of these states have been undone; where they have not, nothing goes on."""
        states = self.session.rulebook.set_ups
        todo = [states[c.set_up].undo.replace("{place}", c.place or made.subject.name) for c in changes]
        if not todo:
            return True
        asks = "Still undone:\n" + "\n".join(f"- {text}" for text in todo) + "\nAll of it done now?"
        if not self._agreed(asks, "Not yet", "undone"):
            return False
        self.session.add(*({"set-up": c.set_up, "at": c.place, "state": "left"} for c in changes))
        return True

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
        if not self._put_right([c for c in made.in_force if not only_powered(self.session, c)], made):
            return self._saved()
        for change in self.session.inquiry.in_force:
            self.session.add({"set-up": change.set_up, "at": change.place, "state": "left"})
        mend = self.session.inquiry.mends[-1][1]
        if not self._agreed("Is every part of the trouble gone?", "No, part of it remains", "all-gone"):
            self.session.add({"remedy": mend.remedy, "at": mend.place, "result": "partly"})
            return None
        self.session.close()
        self.out.print(screen.heading("Closed, proven mended", "bold green"))
        where = screen.at(named(self.session.layout, mend.place, made.subject))
        self.out.print(screen.block(f"{screen.label(mend.remedy)} {where}"))
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
