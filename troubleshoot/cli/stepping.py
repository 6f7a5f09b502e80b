"""One step of a guided inquiry asked and saved: a check, another one instead, a remedy; or nothing done yet.

Each returns an exit code where the loop ends with it, else None. Which step it is, is left to `loop`.
"""

from troubleshoot import screen
from troubleshoot.cli.asking import (
    BY_METER,
    DONE,
    GONE,
    RESULTS,
    TURNS,
    Step,
    check_prompt,
    follow,
    only_powered,
    remedy_prompt,
)
from troubleshoot.cli.calling import go_on
from troubleshoot.cli.mending import chain_option, remedies_now
from troubleshoot.cli.turning import Turning, turn_options
from troubleshoot.diagnosis import CheckStep, Diagnosis, RemedyStep, in_undoing_order
from troubleshoot.dialogue import Option, Prompt, pick
from troubleshoot.inquiry import SetUpChange
from troubleshoot.layout import Place
from troubleshoot.rulebook import short

PAUSED = 5
ASIDE = ("!not-sure", "!cant-do", "!already-tried")


class Stepping(Turning):
    """One inquiry in a conversation: how a step is asked and saved."""

    def saved(self) -> int:
        """Say that all is saved and how to go on; the exit code."""
        self.out.print(go_on("\nSaved. Go on with:", self.session.case.path), soft_wrap=True)
        return PAUSED

    def otherwise(self, made: Diagnosis, said: str, step: Step) -> int | None:
        """A command: saving ends the loop, another step leads on, the rest comes back to the question."""
        if said == "!save":
            return self.saved()
        if said == "!other":
            return self.other(made)
        if any(said == turn.value for turn in TURNS):
            return self.turn(made, said)
        self.command(made, said, step)
        return None

    def check(self, made: Diagnosis, step: CheckStep) -> int | None:
        """Ask for the answer to a check that has been shown, and save it."""
        if not screen.looking(step):  # for mere looking a caution has not been told in full
            self.seen |= frozenset(step.prepared.cautions)
        while True:
            said = self.ask(made, check_prompt(step, TURNS if made.state == "lost" else ()), step)
            if said in ASIDE:
                self.session.add({"answer": step.check.name, "at": step.place.name, "aside": said[1:]})
                return None
            if said.startswith("!"):
                return self.otherwise(made, said, step)
            if self.take(step, said):
                return None

    def other(self, made: Diagnosis) -> int | None:
        """Another check than the one advised, or a remedy now."""
        mends = remedies_now(self.session, made)
        options = [
            *chain_option(self.session.rulebook, made),
            *(
                (f"check {i}", f"{s.check.asks.replace('{place}', s.place.name)} ({screen.minutes(s.minutes)})")
                for i, s in enumerate(made.others)
            ),
            *(
                (f"mend {i}", f"Mend now: {screen.label(m.remedy.name)} {screen.at(m.place)} ({m.minutes:.0f} min)")
                for i, m in enumerate(mends)
            ),
        ]
        choices = (*(Option(value, text) for value, text in options), *turn_options())
        asked = Prompt("What instead?", (*choices, Option("as-advised", "Go on as advised")), topic="other")
        said = self.ask(made, asked, None)
        if said.startswith("!"):
            return self.otherwise(made, said, None)
        kind, _, index = said.partition(" ")
        if kind == "check":
            return self.check_shown(made, made.others[int(index)])
        if kind == "chain":
            follow(self.session, made)
        if kind == "mend":
            return self.mend_shown(made, mends[int(index)])
        return None

    def check_shown(self, made: Diagnosis, step: CheckStep) -> int | None:
        """Show a check that was chosen, then ask for its answer."""
        for part in screen.check_lines(self.session.rulebook, step, self.seen, in_force=made.in_force):
            self.out.print(part)
        return self.check(made, step)

    def mend_shown(self, made: Diagnosis, step: RemedyStep) -> int | None:
        """Show a remedy that was chosen, with its cautions and its proof, then ask whether it is done."""
        for part in screen.remedy_lines(self.session.rulebook, step, self.seen):
            self.out.print(part)
        self.seen |= frozenset(step.cautions)
        return self.mended(made, step.remedy.name, step.place, step)

    def mended(self, made: Diagnosis, remedy: str, place: Place, step: Step) -> int | None:
        """Ask whether a remedy has been carried out and with what result, and save it.

        What would keep the layout from showing whether the trouble is gone is put right between the two.
        """
        states = [SetUpChange(s, step.at(s)) for s in step.enter] if isinstance(step, RemedyStep) else []
        todo = [c for c in dict.fromkeys((*made.in_force, *states)) if not only_powered(self.session, c)]
        check = self.session.rulebook.checks[self.session.rulebook.remedies[remedy].proof.check]
        spoilt = in_undoing_order(self.session.rulebook, [c for c in todo if self.spoils(c, check)])
        results = DONE if spoilt else BY_METER if todo else RESULTS
        said = self.ask(made, remedy_prompt(remedy, place, results), step)
        if said in ("not-yet", "!not-sure", "!cant-do"):
            return self.not_yet(made)
        if said == "!already-tried":
            said = "not-fixed"
        if said.startswith("!"):
            return self.otherwise(made, said, step)
        self.session.add(*({"set-up": c.set_up, "at": c.place, "state": "entered"} for c in states))
        if spoilt and said != "not-fixed":
            # a case that is left here asks for the remedy again, and shows what is still undone
            if not self.put_right(spoilt, made):
                return self.not_yet(self.session.diagnosis())
            said = self._of_the_trouble(made, remedy, step) if said == "done" else said
        if said.startswith("!"):
            return self.otherwise(made, said, step)
        self.session.add({"remedy": remedy, "at": place.name, "result": said})
        return None

    def _of_the_trouble(self, made: Diagnosis, remedy: str, step: Step) -> str:
        """Whether the trouble is gone, asked when everything stands as it does for running."""
        options = (*GONE, ("!save", "I cannot tell yet: save and stop"))
        asks = "All stands as for running. Try it as it came: is the trouble gone?"
        return self.ask(made, pick(asks, options, f"trouble {short(remedy)}", unsure="!save"), step)

    def not_yet(self, made: Diagnosis) -> int | None:
        """Nothing has been done yet: it is said that all is saved; go on with something else, or leave."""
        self.out.print(go_on("\nSaved as it stands. To come back later:", self.session.case.path), soft_wrap=True)
        options = [("again", "Ask me again"), ("other", "Another check, or mend something else")]
        if any(not only_powered(self.session, c) for c in made.in_force):
            options.append(("!undone", "Say what has been put right again"))
        options += [*chain_option(self.session.rulebook, made), ("!back", "Take the last answer back")]
        options += [("leave", "Leave for now")]
        said = self.ask(made, pick("What now?", options, "not-yet", "leave"), None)
        if said == "other":
            return self.other(made)
        if said in ("!undone", "!back"):
            self.command(made, said, None)
        if said == "chain":
            follow(self.session, made)
        return PAUSED if said in ("leave", "!not-sure") else None
