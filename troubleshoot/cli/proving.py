"""From a mend to a closed case: the proof, what must be put right before it, its quiet time, and closing.

Every answer is saved before the next question, so that a proof taken up again goes on where it was left.
"""

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from troubleshoot import casebook, screen
from troubleshoot.cli.asking import only_powered, proof_step, quiet_wanted, set_ups
from troubleshoot.cli.calling import short_name
from troubleshoot.cli.closing import time_spent
from troubleshoot.cli.stepping import ASIDE, Stepping
from troubleshoot.deduction import Prepared, prepare
from troubleshoot.diagnosis import Diagnosis, RemedyStep, in_force_at, named, set_up_places
from troubleshoot.dialogue import COMMANDS, Option, Prompt
from troubleshoot.quantities import Unreadable
from troubleshoot.rulebook import Check, short

DONE = 0
NOT_YET = "not-yet"
_ALL_THE_TIME = re.compile(
    r"(?:it (?:was|is|has been) |it's |was )?(?:there )?(?:all the time|always(?: there)?|constant(?:ly)?|steady"
    r"|permanent(?:ly)?|never(?: quiet)?|not (?:at all|once)|without a (?:break|pause))|0|none|nothing|no time"
)
"""How people say that a trouble was never quiet, in small letters."""
BACK_AGAIN = -1.0
"""Stands for a quiet time that ended with the trouble coming back."""


class Proving(Stepping):
    """One inquiry in a conversation: from a mend to its end."""

    def prove(self, made: Diagnosis) -> int | None:
        """Ask for the proof of the last remedy, after what would spoil it has been put right again.

        A proof that passed and waits only for its quiet time is not asked for again.
        """
        step = proof_step(self.session, made)
        if self._passed():
            title = f"The proof passed already: {screen.label(step.remedy.name)} {screen.at(step.place)}"
            self.out.print(screen.heading(title, "bold green"))
            return self._quiet_time(step, True)
        check = self.session.rulebook.checks[step.remedy.proof.check]
        if not self.put_right([c for c in made.in_force if self.spoils(c, check)], made):
            return self.not_yet(made)
        ready, at = self._for_the_proof(check, step, made)
        step = replace(step, set_up_at=at, cautions=ready.cautions)
        for part in screen.proof_lines(self.session.rulebook, step, ready, self.seen):
            self.out.print(part)
        if check.unit is not None or check.set_up:  # for mere looking a caution has not been told in full
            self.seen |= frozenset(ready.cautions)
        options = (Option("passed", "Passed"), Option("failed", "Failed"), Option("!save", "Later: save and stop"))
        topic = f"proof {short(step.remedy.name)}"
        said = self.ask(made, Prompt("How did the proof go?", options, COMMANDS[3:], topic=topic, unsure=NOT_YET), step)
        if said in (*ASIDE, NOT_YET):
            return self.not_yet(made)
        if said.startswith("!"):
            return self.otherwise(made, said, step)
        self.session.add(*set_ups(self.session, ready, at), self._seen_proof(step, said))
        return self._quiet_time(step, False) if said == "passed" else None

    def _passed(self) -> bool:
        """Whether the proof of the last remedy is in the case already, as passed, with or without its quiet time."""
        proof = self.session.inquiry.proof_of(*self.session.inquiry.mends[-1])
        return proof is not None and proof.passed

    def _seen_proof(self, step: RemedyStep, outcome: str) -> dict[str, Any]:
        return {"proof": step.remedy.name, "at": step.place.name, "outcome": outcome}

    def _for_the_proof(self, check: Check, step: RemedyStep, made: Diagnosis) -> tuple[Prepared, Mapping[str, str]]:
        """What must come before the check of a proof, and where."""
        layout, rulebook = self.session.layout, self.session.rulebook
        place = named(layout, step.proof_at, made.subject)
        force = in_force_at(layout, rulebook, self.session.inquiry, check.set_up, place)
        ready = prepare(rulebook, check, force)
        return ready, set_up_places(layout, rulebook, ready.enter, place)

    def _quiet_time(self, step: RemedyStep, later: bool) -> int | None:
        """The quiet time that goes with a passed proof: it begins when everything is put right again."""
        wanted = quiet_wanted(self.session, step)
        if not wanted:
            return None
        made = self.session.diagnosis()
        if not self.put_right([c for c in made.in_force if not only_powered(self.session, c)], made):
            return self.not_yet(made)
        self._quiet_before()
        wanted = quiet_wanted(self.session, step)
        if not wanted:
            return None
        quiet = self._quiet(step, wanted, later)
        if quiet == BACK_AGAIN:
            self.session.add(self._seen_proof(step, "failed"))
            return None
        if quiet is not None:
            self.session.add(self._seen_proof(step, "passed") | {"quiet": casebook.spell(quiet)})
            if quiet >= wanted:
                return None
        self._come_back(wanted - max(quiet or 0.0, 0.0), wanted)
        return self.saved()

    def _come_back(self, left: float, wanted: float) -> None:
        """Say what is saved and when to come back, where the quiet time is not over yet."""
        when = (datetime.now().astimezone() + timedelta(seconds=left)).strftime("%A %d %B at %H:%M")
        self.out.print(f"The case stays open until it has been quiet for {casebook.spell(wanted)}.")
        told = (
            f"The mend and its passed proof are saved. Let trains run, and come back on {when} or later, or as soon as "
            "the trouble is there again."
        )
        self.out.print(screen.block(told))

    def _quiet_before(self) -> None:
        """Ask for the longest quiet spell before the mend, unless it is known: the proof must outlast it."""
        first = next(e for _, e in reversed(list(self.session.case.standing())) if "symptom" in e)
        if "longest-quiet" in first:
            return
        asks = "How long was it quiet at most before the mend? (such as 2 h; - if not known)"
        steady = Option("steady", "the trouble was there all the time", "a")
        spell = self._spell(Prompt(asks, (steady,), typed=True, topic="longest-quiet", default="-", unsure="-"))
        again = {k: v for k, v in first.items() if k != "when"}
        # not knowing is kept too, as nothing said, so that it is not asked for a second time
        self.session.add({**again, "longest-quiet": "" if spell is None else casebook.spell(spell)})

    def _quiet(self, step: RemedyStep, wanted: float, later: bool) -> float | None:
        """How long it has been quiet, in seconds, or BACK_AGAIN; None when that is not known."""
        asks = f"How long has it been quiet? (at least {casebook.spell(wanted)}; such as 45 min or 2 h; - if not known)"
        back = (Option("failed", "the trouble has come back", "x"),) if later else ()
        return self._spell(Prompt(asks, back, typed=True, topic=f"quiet {short(step.remedy.name)}", unsure="-"))

    def _spell(self, prompt: Prompt) -> float | None:
        """A period as it is said, in seconds; 0 for a trouble that was never quiet, None where it is not known."""
        steady = any(o.value == "steady" for o in prompt.options)
        while True:
            said = self.asker.ask(prompt)
            if said == "failed":
                return BACK_AGAIN
            if said == "steady" or (steady and _ALL_THE_TIME.fullmatch(" ".join(said.lower().split()).strip(" ."))):
                return 0.0
            if said == "-" or said.startswith("!"):
                return None
            try:
                return casebook.period(said)
            except Unreadable as error:
                self.out.print(str(error))

    def close(self, made: Diagnosis) -> int | None:
        """Close a proven case, but never while something is still undone."""
        if not self.put_right([c for c in made.in_force if not only_powered(self.session, c)], made):
            return self.not_yet(made)
        for change in self.session.inquiry.in_force:
            self.session.add({"set-up": change.set_up, "at": change.place, "state": "left"})
        mend = self.session.inquiry.mends[-1][1]
        if not self.agreed("Is every part of the trouble gone?", "No, part of it remains", "all-gone"):
            self.session.add({"remedy": mend.remedy, "at": mend.place, "result": "partly"})
            return None
        self.session.close()
        self.out.print(screen.heading("Closed, proven mended", "bold green"))
        where = screen.at(named(self.session.layout, mend.place, made.subject))
        self.out.print(screen.block(f"{screen.label(mend.remedy)} {where}"))
        self.out.print(screen.line("time", time_spent(self.session)))
        self.out.print(f"  Kept in {short_name(self.session.case.path)}", soft_wrap=True)
        return DONE
