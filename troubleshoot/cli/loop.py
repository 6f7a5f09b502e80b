"""The one loop of a guided inquiry: diagnose, show, ask, save; until mended and proven, or saved and stopped."""

from threading import Thread

from troubleshoot import casebook, screen
from troubleshoot.circuit import warm
from troubleshoot.cli.asking import follow, named_like, which_prompt
from troubleshoot.cli.calling import short_name
from troubleshoot.cli.fitting import Fit
from troubleshoot.cli.mending import chain_option
from troubleshoot.cli.proving import Proving
from troubleshoot.cli.turning import turn_options
from troubleshoot.diagnosis import ByCircuit, CheckStep, Diagnosis, RemedyStep, goes_when_lifted, looked_for
from troubleshoot.dialogue import COMMANDS, Option, Paused, Prompt

NO_CAUSE = 3
MOST_PLACES = 8
"""So many like places are offered; further ones are typed."""


class Loop(Proving):
    """One inquiry in a conversation, from wherever it stands to its end."""

    warmed = False

    def run(self) -> int:
        """Go on until the case is closed, handed over or paused; the exit code."""
        try:
            while True:
                made = self.session.diagnosis()
                circuit = self.session.by_circuit(made)
                fit = self.fit(made, circuit)
                self.out.print(self.top(made, fit.suspects))
                self._warm()
                if fit.paged and not self.read_first(made, fit):
                    return self.saved()
                code = self._turn(made, circuit, fit)
                if code is not None:
                    return code
        except Paused:
            return self.saved()

    def _warm(self) -> None:
        """Load the numeric libraries while the first question is read, so that no answer has to wait for them."""
        if not self.warmed:
            self.warmed = True
            Thread(target=warm, args=(self.session.layout,), name="warm").start()

    def _turn(self, made: Diagnosis, circuit: tuple[ByCircuit, ...], fit: Fit) -> int | None:
        if made.deduced.stop:
            return self._stopped(made)
        if made.state == "proven":
            return self.close(made)
        if made.state == "mended":
            return self.prove(made)
        for part in self.shown(made, circuit, fit):
            self.out.print(part)
        if isinstance(made.step, CheckStep):
            return self.check(made, made.step)
        if isinstance(made.step, RemedyStep):
            return self._remedy(made, made.step)
        return self._hand_over(made)

    def _stopped(self, made: Diagnosis) -> int | None:
        undo = Option("!back", "That was a mistake: take the answer back")
        asks = "Questioning ends here. Hand over to somebody who may do it."
        asked = Prompt(asks, (Option("!save", "Save and stop"), undo), topic="stop", default="!save")
        said = self.ask(made, asked, None)
        if said == "!back":
            casebook.take_back(self.session.case)
            return None
        self.saved()
        return NO_CAUSE

    def _remedy(self, made: Diagnosis, step: RemedyStep) -> int | None:
        if made.unplaced:
            return self._which(made, step)
        self.seen |= frozenset(step.cautions)
        return self.mended(made, step.remedy.name, step.place, step)

    def _which(self, made: Diagnosis, step: RemedyStep) -> int | None:
        """Ask which of several like places it is, before any of them is mended on a guess."""
        self.out.print(screen.which_lines(self.session.rulebook, made, goes_when_lifted(self.session.rulebook, made)))
        options = [(name, name) for name in made.unplaced[:MOST_PLACES]]
        while True:
            said = self.ask(made, which_prompt(made, options), step)
            found = named_like(said, made.unplaced)
            if said.startswith("!") or found:
                break
            # Asked again at once: a fresh screen would push the refusal out of sight.
            self.out.print(f"{said!r} is none of {', '.join(made.unplaced)}")
        if said in ("!not-sure", "!cant-do", "!already-tried"):
            self.session.add({"found-at": ""})
        elif said == "!nowhere":
            self.session.add({"found-nowhere": list(looked_for(self.session.rulebook, made))})
        elif said.startswith("!"):
            return self.otherwise(made, said, step)
        else:
            self.session.add({"found-at": found})
        return None

    def _hand_over(self, made: Diagnosis) -> int | None:
        self.out.print(screen.hand_over_lines(made, short_name(self.session.case.path)))
        on = [Option("!other", "Mend on all the same, or make another check")] if made.repair is not None else []
        chain = [Option(value, text) for value, text in chain_option(self.session.rulebook, made)]
        ends = (Option("!back", "Back"), Option("!ranking", "The ranking"))
        options = (*chain, Option("!save", "Save and stop"), *on, *turn_options(), *ends)
        said = self.ask(made, Prompt("What now?", options, COMMANDS[3:], topic="hand-over", default="!save"), None)
        if said == "!save":
            self.saved()
            return NO_CAUSE
        if said == "chain":
            follow(self.session, made)
            return None
        return self.otherwise(made, said, None)
