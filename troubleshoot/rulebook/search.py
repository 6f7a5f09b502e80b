"""Finding the symptom that fits a person's words, in British and in American trade words.

Turns of phrase and trade words that mean the same are made one, other words are cut to their stems, and rare words
count for more than common ones. Only what packs say about a symptom is searched: its sentence and what is also said.
"""

import math
import re
from collections.abc import Collection, Iterable

from troubleshoot.rulebook.kinds import Rulebook

# Turns of phrase that mean one thing, made one word before the text is taken apart; tried in this order.
TURNS = {
    r"(?:do|does|did|wo|ca|is|are|was|has|have|could|would)n'?t|can ?not": "not",
    r"(?:points?|switch|turnout) (?:motor|machine|drive)s?": "turnout motor",
    r"power(?:ed|ing|s)?[- ]?up|power(?:ed|ing|-) ?on|start(?:ing|s|ed)?[- ]?up|"
    r"(?:switch|turn)(?:ed|ing|es|s)?[- ](?:(?:it|power|layout|everything|(?:the|my) \w+) )?on": "startup",
    r"(?:switch|turn|power)(?:ed|ing|es|s)?[- ](?:off|down)": "shutdown",
    r"short[- ]circuit(?:s|ed|ing)?": "short",
    r"circuit[- ]breakers?|power managers?": "breaker",
    r"(?:up to|beyond|past) (?:a|one|some)(?: certain)? (?:point|place|panel|plate|socket|jack)": "partway",
    r"(?:by|of|on) (?:itself|themselves)|(?:on|of) (?:its|their) own(?: accord)?|themselves": "itself",
    r"(?:every )?now and (?:then|again)|from time to time|(?:every )?once in a while|no pattern|out of the blue|"
    r"(?:for )?no (?:apparent |good )?reason|comes? and goe?s?": "random",
    r"straight away|right away|at once": "immediately",
    r"as well": "also",
    r"next door|beside it|alongside": "neighbour",
    r"(?:crossing )?(?:vee|nose)": "frog",
    r"insulated (?:rail ?)?joiners?|rail breaks?": "gap",
    r"half[- ]way": "part",
    r"(?:reversing|reverse|balloon) loops?|(?:auto[- ]?)?revers(?:ers?|ing (?:module|unit))|wye": "loop",
    r"(?:programming|program|service|prog) track": "progtrack",
    r"rolling[- ]stock": "car",
    r"(?:takes?|took|shoots?|shot|races?|bolts?|runs?|ran|tears?) (?:off|away)": "runaway",
    r"(?:control|throttle|handset|data) ?bus": "controlbus",
    r"pc|usb|software|laptop": "computer",
    r"(?:cuts?|cutting) (?:out|off)|kicks? (?:in|out|off)|go(?:es)? down|shuts? (?:down|off)": "trip",
}
# A meaning, and the trade words that carry it.
MEANINGS = {
    "turnout": "point points switch switches turnout crossover slip",
    "handset": "throttle handset controller cab handheld walkaround",
    "layout": "railroad railway layout",
    "gap": "gap break joint",
    "sleeper": "tie sleeper",
    "car": "wagon coach carriage car van vehicle boxcar caboose",
    "loco": "loco locomotive engine",
    "throw": "throw thrown flip move change travel",
    "block": "block section zone",
    "phantom": "ghost phantom false",
    "trip": "trip pop kick trigger blow",
    "occupied": "occupied occupancy occupation busy taken",
    "detect": "detect detection detector bod see seen",
    "report": "report feedback indication position response",
    "light": "light lamp led bulb lit",
    "vanish": "lose loss lost miss missing missed vanish disappear unseen forget forgot",
    "wrong": "wrong incorrect crazy mad odd haywire another other different instead",
    "startup": "startup start",
    "hot": "hot warm heat overheat",
    "burn": "burn burnt burning melt smoke smell cooked",
    "damp": "damp humid humidity moist wet",
    "slow": "slow crawl sluggish late delay ages",
    "stall": "stall stop quit die hesitate halt",
    "coin": "coin quarter penny",
    "neighbour": "neighbour neighbor next adjacent adjoining",
    "nothing": "nothing empty unoccupied vacant",
    "flicker": "flicker blink flash flutter twinkle",
    "chatter": "chatter bounce twitch jitter",
    "buzz": "buzz hum",
    "random": "random intermittent sometimes occasional erratic mystery nuisance",
    "all": "all whole every entire everything everywhere bank",
    "dark": "dark dim faint unlit",
    "red": "red danger",
    "caution": "yellow caution amber",
    "clear": "clear free",
    "swap": "swap exchange shift mixed inverted reversed opposite backward backwards",
    "number": "number address id",
    "message": "message command packet",
    "also": "also too",
    "jerk": "jerk stutter lurch jump",
    "part": "half part partly partway some only",
    "dirt": "dirt dirty gunk grime muck black",
    "decoder": "decoder chip",
    "setting": "setting configuration config memory",
    "two": "two both double second same",
    "not": "not never no none nor without",
    "weak": "weak feeble",
    "screen": "screen panel display symbol",
}
FILLERS = (
    "a an the is are was were it its my our your on in at of to and or when with for from by as i we you that this "
    "there do does has have had be been but so will can would could should get gets got just very really if they them"
)
IGNORED = frozenset(FILLERS.split())
KNOWN_SHARE = 0.3  # of what is asked, at least this share must be known; a word no pack knows weighs one
WORD_LIKE = 0.85  # from this likeness on, an unknown word is taken for a slip of the keys


def stem(word: str) -> str:
    """A word cut to its stem, crudely."""
    for ending in ("ings", "ing", "ied", "ies", "ed", "es", "s", "ly", "ion", "y", "e"):
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            word = word[: -len(ending)]
            break
    return word[:-1] if len(word) > 4 and word[-1] == word[-2] and word[-1] not in "sl" else word


SAME = {form: meaning for meaning, words in MEANINGS.items() for word in words.split() for form in (word, stem(word))}
TURN = re.compile("|".join(rf"(?P<t{i}>\b(?:{pattern})\b)" for i, pattern in enumerate(TURNS)))
TURNED = tuple(TURNS.values())


def tokens(text: str) -> list[str]:
    """The meanings in a text, in order."""
    flat = TURN.sub(lambda found: TURNED[int((found.lastgroup or "t0")[1:])], text.lower().replace("’", "'"))
    words = [w for w in re.findall(r"[a-z0-9]+", flat) if w not in IGNORED]
    return [SAME.get(w) or SAME.get(stem(w), stem(w)) for w in words]


def find(rulebook: Rulebook, words: str, count: int = 5) -> list[tuple[str, float]]:
    """Symptoms that fit the words, best first, with a score above zero; none where too little is understood.

    A word counts by how rare it is among symptoms and by how often the symptom says it; the one sentence nearest to
    what is asked counts on top.
    """
    bags = {name: [set(tokens(p)) for p in (s.says, *s.also_said)] for name, s in rulebook.symptoms.items()}
    spread: dict[str, int] = {}
    for lists in bags.values():
        for token in set().union(*lists):
            spread[token] = spread.get(token, 0) + 1
    rare = {token: math.log(1.0 + len(bags) / n) for token, n in spread.items()}
    asked = {t if t in rare else _meant(t, rare) for t in tokens(words)}

    def weight(some: Iterable[str]) -> float:
        return sum(rare.get(t, 1.0) for t in some)

    if weight(asked & rare.keys()) <= KNOWN_SHARE * weight(asked):
        return []
    scores = []
    for name, lists in sorted(bags.items()):
        said = [(t, n) for t in sorted(asked) if (n := sum(t in bag for bag in lists))]
        nearest = max(weight(asked & bag) / weight(asked | bag) for bag in lists)
        if said:
            scores.append((name, sum(rare[t] * (1.0 + math.log(n)) for t, n in said) * (1.0 + 4.0 * nearest)))
    return sorted(scores, key=lambda pair: (-pair[1], pair[0]))[:count]


def find_causes(rulebook: Rulebook, words: str, symptom: str) -> list[str]:
    """Causes that fit the words, those of a symptom before all others, each kind best first.

    A word counts by how rare it is among causes; a remedy's name speaks for what it mends.
    """
    bags = {
        name: set(tokens(" ".join((c.says, _words(name), *(_words(r.name) for r in rulebook.remedies_of(name))))))
        for name, c in rulebook.causes.items()
        if rulebook.remedies_of(name)
    }
    spread: dict[str, int] = {}
    for bag in bags.values():
        for token in bag:
            spread[token] = spread.get(token, 0) + 1
    asked = {t if t in spread else _meant(t, spread) for t in tokens(words)}
    scores = {n: sum(math.log(1.0 + len(bags) / spread[t]) for t in asked & bag) for n, bag in bags.items()}
    least = KNOWN_SHARE * max(scores.values(), default=0.0)
    found = [n for n, score in scores.items() if score > least]
    return sorted(found, key=lambda n: (symptom not in rulebook.causes[n].weights, -scores[n], n))


def _words(name: str) -> str:
    return name.rsplit("/", 1)[-1].replace("-", " ")


def _meant(token: str, known: Collection[str]) -> str:
    """What a word that no pack knows is a slip of the keys for, or the word itself."""
    import difflib

    if len(token) < 6:
        return token
    near = next(iter(difflib.get_close_matches(token, {*known, *SAME}, 1, WORD_LIKE)), token)
    return SAME.get(near, near)


def sort(rulebook: Rulebook, family: str, where: str | None, when: str | None) -> list[str]:
    """The symptoms of a family, those first that fit where and when the trouble shows; ties by name.

    A symptom that says nothing of where or when fits anything, but less well than one that says so.
    """

    def misfit(name: str) -> int:
        entry = rulebook.symptoms[name]
        said = ((where, entry.where), (when, entry.when))
        return sum(0 if asked in told else 1 if not told else 3 for asked, told in said if asked is not None)

    names = [n for n, s in rulebook.symptoms.items() if s.family == family]
    return sorted(names, key=lambda n: (misfit(n), n))
