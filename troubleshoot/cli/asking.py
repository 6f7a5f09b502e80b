"""What can be said at every question beside an answer, and taking a reading or an outcome.

Each command here shows something or saves an event; none decides what comes next. That is left to the loop.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from troubleshoot import casebook, screen
from troubleshoot.cli.hunting import ask_lift, ask_places
from troubleshoot.cli.session import Session
from troubleshoot.deduction import Prepared
from troubleshoot.diagnosis import CheckStep, Diagnosis, RemedyStep, named, spoken_by, with_proof
from troubleshoot.dialogue import COMMANDS, Asker, Option, Prompt, pick
from troubleshoot.inquiry import SetUpChange
from troubleshoot.layout import Place
from troubleshoot.quantities import Unreadable, read_reading, show
from troubleshoot.rulebook import short
from troubleshoot.screen import Console

SHOWN = ("!why", "!ranking", "!cautions", "!card", "!help")
HELP = """At every question: a number or the arrows point at an answer, Enter takes it. The tenth answer is 10.
Letters are commands and act at once:
  u not sure · c can't do that here · t already tried: the question is put aside, nothing is believed from it
  b back: the last answer is taken back        w why: which suspects this check separates, and by how much
  r the ranking with all its evidence          o another check, or mend something now
  f in full: all cautions of this step, what comes first, and all figures of the circuit
  p this step as a card to take along          m how much time there is, and what may be stopped
  l where to disconnect next, to locate it     h which other places are sick, and which are healthy
  d what is still undone                       n a note for the case
  under o, and wherever nothing fits any more: a look again at an answer, y another symptom, i I found it myself
  s save and stop; nothing is lost, and everything can be taken up again later
"Not sure", "don't know" and "no idea" may be typed too.
Not sure is always a good answer: a guess costs far more than a gap."""
RESULTS = (
    ("fixed", "Yes, and the trouble is gone"),
    ("partly", "Yes, it is better, but part of it remains"),
    ("not-fixed", "Yes, and nothing has changed"),
    ("not-yet", "Not yet"),
)
TURNS = (
    Option("!look-again", "look again at an answer", "a"),
    Option("!symptom", "another symptom", "y"),
    Option("!found", "I found it myself", "i"),
)
"""Ways out of what leads nowhere."""
DONE = (("done", "Yes, it is done"), RESULTS[-1])
"""What can be said of a remedy while the layout cannot tell yet whether the trouble is gone."""
GONE = tuple((value, text.removeprefix("Yes, and ").removeprefix("Yes, ").capitalize()) for value, text in RESULTS[:-1])
"""What can be said of the trouble once everything stands as it does for running."""
BY_METER = (("fixed", "Yes; its proof is made next, as things stand"), *RESULTS[1:])
"""What can be said of a remedy whose proof needs the layout as it stands, with power off or a wire lifted."""
Step = CheckStep | RemedyStep | None


def _minutes(said: str) -> float:
    """Minutes from a bare number, or from a period such as `1 h`. Raises Unreadable."""
    bare = re.fullmatch(r"\d{1,6}(?:[.,]\d{1,3})?", said.strip())
    return float(bare[0].replace(",", ".")) if bare else casebook.period(said) / 60.0


def cautions_of(step: Step) -> tuple[str, ...]:
    """The names of the cautions that go with a step."""
    if step is None:
        return ()
    return step.prepared.cautions if isinstance(step, CheckStep) else step.cautions


def check_prompt(step: CheckStep, also: Sequence[Option] = ()) -> Prompt:
    """The question that a check puts, with its outcomes and the commands, and further ones."""
    check = step.check
    asks = check.asks.replace("{place}", step.place.name)
    topic, commands = f"{short(check.name)}@{step.place.name}", (*COMMANDS[:-1], *also, COMMANDS[-1])
    if check.unit is None:
        return Prompt(asks, tuple(Option(o, t) for o, t in check.labels.items()), commands, topic=topic)
    known = tuple(
        Option(f"={o}", f"only that it is: {o.replace('-', ' ')}", f"={i}") for i, o in enumerate(check.outcomes, 1)
    )
    return Prompt(f"{asks} — what does it read, in {check.unit}?", known, commands, typed=True, topic=topic)


def remedy_prompt(remedy: str, place: Place, results: Sequence[tuple[str, str]] = RESULTS) -> Prompt:
    """The question whether a remedy has been carried out, and with what result."""
    asks = f"Have you done it: {screen.label(remedy)} {screen.at(place)}?"
    return Prompt(asks, tuple(Option(v, t) for v, t in results), COMMANDS, topic=f"remedy {short(remedy)}")


def proof_step(session: Session, made: Diagnosis) -> RemedyStep:
    """The remedy carried out last, as the step whose proof is wanted."""
    mend = session.inquiry.mends[-1][1]
    remedy = session.rulebook.remedies[mend.remedy]
    place = named(session.layout, mend.place, made.subject)
    step = RemedyStep(remedy, place, remedy.minutes, 1.0, 0.0, ())
    return with_proof(session.layout, session.rulebook, step, made.subject)


def quiet_wanted(session: Session, step: RemedyStep) -> float:
    """Seconds without trouble that the proof of a remedy takes in this case."""
    complaint = session.inquiry.complaint
    if complaint is not None and complaint.steady:
        return 0.0
    longest = complaint.longest_quiet if complaint else 0.0
    # Longer than the longest spell before, not as long: a minute more is asked for.
    return max(step.remedy.proof.quiet_seconds, longest + 60.0 if longest else 0.0)


class Asking:
    """One inquiry in a conversation: what can be asked for beside an answer."""

    def __init__(self, session: Session, asker: Asker, out: Console) -> None:
        self.session, self.asker, self.out = session, asker, out
        self.seen: frozenset[str] = frozenset()
        self.order = -1

    def command(self, made: Diagnosis, said: str, step: Step) -> None:
        """Carry out a command that does not lead anywhere else."""
        actions: dict[str, Callable[[], object]] = {
            "!back": self._back,
            "!why": lambda: self._why(made, step),
            "!ranking": lambda: self.out.print(screen.full_ranking(made)),
            "!cautions": lambda: self._cautions(made, step),
            "!card": lambda: self._card(made, step),
            "!locate": lambda: ask_lift(self.session, self.asker, self.out),
            "!places": lambda: ask_places(self.session, self.asker, self.out),
            "!time": self._time,
            "!undone": lambda: self._undone(made),
            "!note": self._note,
            "!help": lambda: self.out.print(HELP),
        }
        act = actions.get(said)
        if act is None:
            self.out.print(f"{said.lstrip('!').replace('-', ' ')} is no answer here")
        else:
            act()

    def ask(self, made: Diagnosis, prompt: Prompt, step: Step) -> str:
        """Ask until something is said that is not only shown; the screen is not drawn again meanwhile."""
        while (said := self.asker.ask(prompt)) in SHOWN:
            self.command(made, said, step)
        return said

    def _back(self) -> None:
        if casebook.take_back(self.session.case) is None:
            self.out.print("There is nothing to take back but the symptom itself.")

    def _why(self, made: Diagnosis, step: Step) -> None:
        self.out.print(screen.why_lines(made, step) if isinstance(step, CheckStep) else screen.full_ranking(made, 3))
        if worth := self.session.worth_adding(made):
            self.out.print(screen.line("missing", worth))

    def _cautions(self, made: Diagnosis, step: Step) -> None:
        """All cautions of a step in full, what comes first, and what the circuit says of its reading."""
        rulebook = self.session.rulebook
        parts = screen.cautions_in_full(rulebook, cautions_of(step))
        parts += screen.first_lines(rulebook, step) if step else []
        if isinstance(step, CheckStep) and step is made.step:
            parts += screen.circuit_lines(self.session.by_circuit(made), step.check.unit or "")
        for part in parts or ["No caution goes with this."]:
            self.out.print(part)

    def _card(self, made: Diagnosis, step: Step) -> None:
        if step is not None:
            self.out.print(screen.card(self.session.rulebook, step, made.in_force))

    def _note(self) -> None:
        text = self.asker.ask(Prompt("Your note", typed=True, topic="note"))
        self.session.add({"note": text})

    def _time(self) -> None:
        minutes: float | None = None
        asks = "How many minutes are there? (such as 20, or 1 h 30 min; - for no limit)"
        while True:
            said = self.asker.ask(Prompt(asks, typed=True, topic="minutes", unsure="-"))
            try:
                minutes = None if said in ("-", "!not-sure") else _minutes(said)
                break
            except Unreadable:
                self.out.print(f"{said!r} is no number of minutes; type such as 20, 1 h 30 min, or - for no limit")
        stops = [("nothing", "Nothing"), ("block", "One block"), ("district", "One power district")]
        layout = ("layout", "The whole layout")
        may = pick("What may stand still meanwhile?", [*stops, layout], "may-stop", unsure="layout")
        chosen = self.asker.ask(may)
        self.session.add({"time": minutes, "may-stop": "layout" if chosen.startswith("!") else chosen})

    def _undone(self, made: Diagnosis) -> None:
        """Say which set-ups have been undone."""
        if not made.in_force:
            self.out.print("Nothing is left undone.")
            return
        options = [
            (f"{i}", f"{screen.label(c.set_up)} at {c.place or made.subject.name}")
            for i, c in enumerate(made.in_force, 1)
        ]
        asked = pick("Which of these have you put right again?", [*options, ("none", "None of them")], "undone", "none")
        said = self.asker.ask(asked)
        if said.isdigit():
            change = made.in_force[int(said) - 1]
            self.session.add({"set-up": change.set_up, "at": change.place, "state": "left"})

    def take(self, step: CheckStep, said: str) -> bool:
        """Take an answer or a reading, echo it, and save it with the set-ups it needed. False: ask again."""
        event = self._understood(step, said)
        if event is None:
            return False
        leader = self.session.diagnosis().leader
        if leader is not None:
            event["shown"] = {"first": leader.cause, "chance": round(leader.chance, 2)}
        if "reading" in event:
            event.setdefault("shown", {})["by"] = spoken_by(step.check)
        self.session.add(*set_ups(self.session, step.prepared, step.set_up_at), event)
        self.order = len(self.session.inquiry.records) - 1
        return True

    def _understood(self, step: CheckStep, said: str) -> dict[str, Any] | None:
        event: dict[str, Any] = {"answer": step.check.name, "at": step.place.name}
        outcome = said.lstrip("=")
        if outcome in step.check.outcomes:
            return event | {"outcome": outcome, "how": "seen"}
        if step.check.unit:
            right = understood(self.asker, self.out, said, step.check.unit)
            return event | {"reading": said, "how": "typed"} if right else None
        self.out.print(f"{said!r} is no answer to {short(step.check.name)}; it has {', '.join(step.check.outcomes)}")
        return None


def understood(asker: Asker, out: Console, said: str, unit: str) -> bool:
    """Read a figure, echo it as understood, and ask whether it is right."""
    try:
        reading = read_reading(said, unit)
    except Unreadable as error:
        out.print(f"{error}" + (f" {error.ask}" if error.ask else ""))
        return False
    meant = "over range" if reading.over_range else f"{reading.bound}{show(reading.value, unit)}".strip()
    options = (Option("yes", "Yes"), Option("no", "No, ask again"))
    asks = f"Understood as {meant}. Is that right?"
    return asker.ask(Prompt(asks, options, topic="confirm", default="yes", unsure="no")) == "yes"


def follow(session: Session, made: Diagnosis) -> bool:
    """Move the inquiry to where the likeliest cause goes on; every answer stays a fact. False where it does not."""
    if made.chain is None:
        return False
    _, symptom, places = made.chain
    about = {"about": places[0].name} if places and session.layout.known else {}
    session.add({"symptom": symptom, **about})
    return True


def only_powered(session: Session, change: SetUpChange) -> bool:
    """Whether a state is nothing but track power on, which nobody has to undo for running."""
    entry = session.rulebook.set_ups[change.set_up]
    return entry.power == "on" and not entry.limits_current


def set_ups(session: Session, ready: Prepared, at: Mapping[str, str]) -> list[dict[str, Any]]:
    """The events of set-ups left, wherever they stand, and of those entered for a step, each at its place."""
    force = [c for c in session.inquiry.in_force if c.set_up in ready.leave]
    left = [{"set-up": c.set_up, "at": c.place, "state": "left"} for c in force]
    return [*left, *({"set-up": s, "at": at.get(s), "state": "entered"} for s in ready.enter)]


def which_prompt(made: Diagnosis, options: Sequence[tuple[str, str]]) -> Prompt:
    """Which of several like places it is; a further one may be typed."""
    asks = "Which of them is it?" if len(options) == len(made.unplaced) else "Which is it? Choose, or type its name"
    offered = (*(Option(value, label) for value, label in options), Option("!nowhere", "None: I looked at every one"))
    return Prompt(asks, offered, COMMANDS, typed=len(options) < len(made.unplaced), topic="which-place")


def named_like(said: str, names: Sequence[str]) -> str:
    """The one of some names that was meant, written in full or without signs and its last words; empty if unclear."""
    if said in names:
        return said
    typed = _plain(said)
    meant = [name for name in names if typed and _plain(name).startswith(typed)]
    exact = [name for name in meant if _plain(name) == typed or _plain(name.rsplit(" ", 1)[0]) == typed]
    return exact[0] if len(exact) == 1 else meant[0] if len(meant) == 1 else ""


def _plain(text: str) -> str:
    return "".join(c for c in text.casefold() if c.isalnum())
