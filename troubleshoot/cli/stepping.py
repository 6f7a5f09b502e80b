"""One step of a guided inquiry asked and saved: a check, another one instead, a remedy; or nothing done yet.

Each returns an exit code where the loop ends with it, else None. Which step it is, is left to `loop`.
"""

from troubleshoot import screen
from troubleshoot.cli.asking import Step, check_prompt, follow, only_powered, remedy_prompt
from troubleshoot.cli.fitting import Fitting
from troubleshoot.diagnosis import CheckStep, Diagnosis, RemedyStep, named
from troubleshoot.dialogue import pick
from troubleshoot.layout import Place

PAUSED = 5
ASIDE = ("!not-sure", "!cant-do", "!already-tried")


class Stepping(Fitting):
    """One inquiry in a conversation: how a step is asked and saved."""

    def saved(self) -> int:
        """Say that all is saved and how to go on; the exit code."""
        self.out.print(f"\nSaved. Go on with: troubleshoot resume {self.session.case.path}", soft_wrap=True)
        return PAUSED

    def otherwise(self, made: Diagnosis, said: str, step: Step) -> int | None:
        """A command: saving ends the loop, another step leads on, the rest comes back to the question."""
        if said == "!save":
            return self.saved()
        if said == "!other":
            return self.other(made)
        self.command(made, said, step)
        return None

    def check(self, made: Diagnosis, step: CheckStep) -> int | None:
        """Ask for the answer to a check that has been shown, and save it."""
        if not screen.looking(step):  # for mere looking a caution has not been told in full
            self.seen |= frozenset(step.prepared.cautions)
        while True:
            said = self.ask(made, check_prompt(step), step)
            if said in ASIDE:
                self.session.add({"answer": step.check.name, "at": step.place.name, "aside": said[1:]})
                return None
            if said.startswith("!"):
                return self.otherwise(made, said, step)
            if self.take(step, said):
                return None

    def other(self, made: Diagnosis) -> int | None:
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
            for part in screen.check_lines(self.session.rulebook, step, self.seen, in_force=made.in_force):
                self.out.print(part)
            return self.check(made, step)
        if kind == "chain":
            follow(self.session, made)
        if kind == "mend":
            return self.mended(made, *mends[int(index)], None)
        return None

    def mended(self, made: Diagnosis, remedy: str, place: Place, step: Step) -> int | None:
        """Ask whether a remedy has been carried out and with what result, and save it."""
        said = self.ask(made, remedy_prompt(remedy, place), step)
        if said in ("not-yet", "!not-sure", "!cant-do"):
            return self.not_yet(made)
        if said == "!already-tried":
            said = "not-fixed"
        if said.startswith("!"):
            return self.otherwise(made, said, step)
        advised = made.step
        states = []
        if isinstance(advised, RemedyStep) and advised.remedy.name == remedy:
            states = [{"set-up": s, "at": advised.at(s), "state": "entered"} for s in advised.enter]
        self.session.add(*states, {"remedy": remedy, "at": place.name, "result": said})
        return None

    def not_yet(self, made: Diagnosis) -> int | None:
        """Nothing has been done yet: it is said that all is saved; go on with something else, or leave."""
        self.out.print(
            f"\nSaved as it stands. To come back later: troubleshoot resume {self.session.case.path}", soft_wrap=True
        )
        options = [("again", "Ask me again"), ("other", "Another check, or mend something else")]
        if any(not only_powered(self.session, c) for c in made.in_force):
            options.append(("!undone", "Say what has been put right again"))
        options += [("!back", "Take the last answer back"), ("leave", "Leave for now")]
        said = self.ask(made, pick("What now?", options, "not-yet", "leave"), None)
        if said == "other":
            return self.other(made)
        if said in ("!undone", "!back"):
            self.command(made, said, None)
        return PAUSED if said in ("leave", "!not-sure") else None
