"""Ways out of a question that leads nowhere: another answer, another symptom, or what was found without the tool.

What a person found is looked for among the causes, those of the symptom first; its remedy counts as done and is proven
like any other. What no rule names closes the case with the person's own words, and teaches nothing.
"""

from collections.abc import Sequence

from troubleshoot import screen
from troubleshoot.cli.asking import TURNS, only_powered
from troubleshoot.cli.choosing import choose_symptom
from troubleshoot.cli.closing import time_spent
from troubleshoot.cli.naming import choose_place
from troubleshoot.cli.undoing import Undoing
from troubleshoot.diagnosis import Diagnosis
from troubleshoot.dialogue import Option, Prompt, pick
from troubleshoot.rulebook import Cause
from troubleshoot.rulebook.search import find_causes

OFFERED = 8
"""So many causes or places are offered at once; further places are typed."""
DONE = 0
BY_HAND = "by-hand"
"""How a case was closed whose cause no rule names."""


def turn_options() -> list[Option]:
    """The ways out as choices of a menu, each with its key."""
    return [Option(o.value, f"{o.label[0].upper()}{o.label[1:]} ({o.key})", o.key) for o in TURNS]


class Turning(Undoing):
    """One inquiry in a conversation: turning away from what is asked."""

    def turn(self, made: Diagnosis, said: str) -> int | None:
        """Take one of TURNS; an exit code where the case ends with it."""
        if said == "!look-again":
            self._look_again(made)
        elif said == "!symptom":
            self._another_symptom()
        else:
            return self._found(made)
        return None

    def _look_again(self, made: Diagnosis) -> None:
        """Take one answer back, whichever it is; its check is asked again when it is worth its minutes."""
        rulebook, known = self.session.rulebook, self.session.rulebook.checks
        told = [(n, e) for n, e in self.session.case.standing() if "answer" in e and "aside" not in e]
        doubted = {(o.check, o.place.name) for o in made.ask_again}
        options = []
        for number, event in reversed(told):
            name, at = rulebook.former.get(str(event["answer"]), str(event["answer"])), str(event.get("at") or "")
            if name in known:
                said = event.get("reading") or known[name].labels.get(str(event.get("outcome")), event.get("outcome"))
                mark = " (does not fit the rest)" if (name, at) in doubted else ""
                options.append((f"{number}", f"{known[name].asks.replace('{place}', at)} — {said}{mark}"))
        if not options:
            self.out.print("There is no answer yet to look at again.")
            return
        asked = pick("Which answer is taken back?", [*options, ("none", "None of them")], "look-again", "none")
        said = self.ask(made, asked, None)
        if said.isdigit():
            self.session.add({"takes-back": int(said)})

    def _another_symptom(self) -> None:
        """Go on with another symptom; every answer stays a fact."""
        rulebook, layout = self.session.rulebook, self.session.layout
        name, words = choose_symptom(rulebook, self.asker, self.out)
        about = choose_place(rulebook, layout, name, self.asker, words, self.out)
        self.session.add({"symptom": name, **({"about": about} if about else {})})

    def _found(self, made: Diagnosis) -> int | None:
        """What a person found without being asked for it."""
        said = self.asker.ask(Prompt("What was it? Say it in your own words", typed=True, topic="found", unsure="-"))
        if said in ("-", "!not-sure"):
            return None
        rulebook = self.session.rulebook
        names = find_causes(rulebook, said, made.symptom or "")[:OFFERED]
        options = [(n, rulebook.causes[n].says) for n in names]
        asks = "Which of these is it?" if options else "No cause fits these words. What now?"
        ends = [("none", "None of these"), ("!save", "Go on as before; nothing was found yet")]
        chosen = self.ask(made, pick(asks, [*options, *ends], "found-cause", "!save"), None)
        if chosen == "none":
            return self._by_hand(made, said)
        if chosen in rulebook.causes:
            self._mended_by_hand(made, said, rulebook.causes[chosen])
        return None

    def _mended_by_hand(self, made: Diagnosis, said: str, cause: Cause) -> None:
        """Record the remedy of a cause as done; its proof comes next."""
        remedies = self.session.rulebook.remedies_of(cause.name)
        options = [(r.name, f"{screen.label(r.name)}: {r.do}") for r in remedies]
        remedy = remedies[0].name
        if len(options) > 1:
            remedy = self.ask(made, pick("What did you do?", options, "found-remedy", remedy), None)
        if remedy in self.session.rulebook.remedies:
            at = self._where(made, [p.name for p in self.session.layout.related(cause.relation, made.subject)])
            note = f"Found by hand: {said}"
            self.session.add({"note": note}, {"remedy": remedy, "at": at, "result": "fixed"})

    def _where(self, made: Diagnosis, places: Sequence[str]) -> str:
        """The place where it was found; one of many may be typed."""
        if len(places) < 2:
            return places[0] if places else made.subject.name
        typed = len(places) > OFFERED
        options = tuple(Option(n, n, str(i) if typed else "") for i, n in enumerate(places[:OFFERED], 1))
        asks = "Where was it? Type its name" if typed else "Where was it?"
        while True:
            said = self.ask(made, Prompt(asks, options, typed=typed, topic="found-at", unsure=made.subject.name), None)
            if said in places or said == made.subject.name:
                return said
            self.out.print(f"{said!r} is none of {', '.join(places)}")

    def _by_hand(self, made: Diagnosis, said: str) -> int | None:
        """Close a case whose cause no rule names, with the person's own words; it counts for no learning."""
        self.session.add({"note": f"Found by hand: {said}"})
        todo = [c for c in made.in_force if not only_powered(self.session, c)]
        if not self.put_right(todo, made):
            self.out.print("Kept as a note. The case stays open until all is put right.")
            return None
        if not self.agreed("Is it mended, and every part of the trouble gone?", "No, not yet", "all-gone"):
            self.out.print("Kept as a note. The case stays open.")
            return None
        for change in self.session.inquiry.in_force:
            self.session.add({"set-up": change.set_up, "at": change.place, "state": "left"})
        self.session.add({"closed": BY_HAND})
        self.out.print(screen.heading("Closed, found by hand", "bold green"))
        self.out.print(screen.block(said))
        self.out.print(screen.line("time", time_spent(self.session)))
        self.out.print(screen.block("No rule names it, so nothing is learned from it. Its words stay with the case."))
        return DONE
