"""The way in: from a person's own words to a symptom, or by a short sorting where words fail. Places: `naming`."""

from troubleshoot import screen
from troubleshoot.dialogue import Asker, Option, Prompt, pick
from troubleshoot.rulebook import Rulebook
from troubleshoot.rulebook.search import find, sort

FAMILIES = (
    ("occupancy", "Occupancy: a block or train is shown wrongly"),
    ("power", "Track power: something trips, is dead, weak or hot"),
    ("turnouts", "A turnout (set of points): throwing, reporting, shorts, stalls"),
    ("signals", "A signal: its aspect, its lamps, what it follows"),
    ("control-bus", "Throttles, panels, the computer, messages, settings"),
    ("rolling-stock", "One vehicle or train, programming, dirt"),
)
WHERE = (("one", "At one place or thing only"), ("several", "At several"), ("everywhere", "Everywhere"))
WHEN = (
    ("always", "All the time"),
    ("at-switch-on", "At switching on"),
    ("as-a-train-passes", "As a train or vehicle passes"),
    ("as-it-throws", "As a turnout throws"),
    ("now-and-then", "Now and then, without a pattern that I see"),
    ("after-a-while", "After some minutes of running, or when busy"),
    ("weather", "With damp, heat, cold or season"),
)


def choose_symptom(rulebook: Rulebook, who: Asker, out: screen.Console) -> tuple[str, list[str]]:
    """Ask what is seen, in the person's own words; a number sorts instead. The symptom, and all words, newest first.

    Words that led to nothing are kept: they may have named the place.
    """
    families = [(f, text) for f, text in FAMILIES if any(s.family == f for s in rulebook.symptoms.values())]
    out.print(screen.heading("What do you see?"))
    for number, (_, text) in enumerate(families, 1):
        out.print(screen.block(f"{number}  {text}"))
    asks, words = "Say it in your own words, or type the number of what is nearest", list[str]()
    while True:
        said = who.ask(Prompt(asks, typed=True, topic="symptom", unsure="!not-sure"))
        if said == "!not-sure":
            out.print("Then type the number of what is nearest; where and when it shows leads on from there.")
            continue
        if said.isascii() and said.isdigit() and len(said) < 4 and 1 <= int(said) <= len(families):
            chosen = _sorted(rulebook, families[int(said) - 1][0], who)
        else:
            words.insert(0, said)
            found = [name for name, _ in find(rulebook, said)]
            if not found:
                out.print("No symptom fits these words; try others, or a number.")
                continue
            chosen = _nearest(rulebook, found, who)
        if chosen:
            return chosen, words


def _sorted(rulebook: Rulebook, family: str, who: Asker) -> str:
    """Where and when, then the symptoms of a family that fit best first."""
    names = sort(rulebook, family, None, None)
    if len(names) > 5:
        unsure = ("", "Not sure")
        where = who.ask(pick("Where does it show?", [*WHERE, unsure], "where"))
        when = who.ask(pick("When does it show?", [*WHEN, unsure], "when"))
        names = sort(rulebook, family, where or None, when or None)
    return _nearest(rulebook, names, who)


def _nearest(rulebook: Rulebook, names: list[str], who: Asker) -> str:
    options = [Option(n, rulebook.symptoms[n].says) for n in names] + [Option("", "None of these")]
    return who.ask(Prompt("Which of these is nearest?", tuple(options), topic="which", unsure=""))
