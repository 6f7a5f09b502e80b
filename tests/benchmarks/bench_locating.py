"""Pinning a fault by lifting: expected minutes of the plan, of always halving, of one by one; the gap to the best.

On every district of the club layout, with the chances that follow from the weights of the parts, with even ones, and
with uneven ones (each weight times an exponential draw squared, twelve seeds): in practice a belief is uneven. The
optimum is worked out wherever it takes at most MOST sets; elsewhere the plan is only set against the other ways. Then
small random trees, on which the optimum always can be worked out. Minutes are exact expectations, not samples. At last
hunts are played with answers that are wrong as often as the tool takes them to be: a sample, with its seed.
"""

import math
import random
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np

from tests.benchmarks.lines import Line
from troubleshoot.layout import Layout, Place, load
from troubleshoot.locating import WRONG, Lift, Limb, Tree, hunt, prior, tree_of
from troubleshoot.locating.optimum import size
from troubleshoot.locating.planning import Ahead, ahead, best, expected, halving, one_by_one, telling
from troubleshoot.locating.searching import Search

CLUB = Path(__file__).parents[2] / "rules" / "core" / "layouts" / "club.yaml"
SEEDS = range(12)
MOST = 100_000
WIDE = range(200)
GAP_MEAN, GAP_WORST = 0.5, 5.0
SOON = 100.0
PLAYED = 400


def searches(layout: Layout, kind: str) -> Iterator[Search]:
    """One search for each district of a layout, or one for each seed where chances are uneven."""
    for district in layout.places_of("district"):
        tree = tree_of(layout, district)
        assert tree is not None
        if kind == "even":
            yield Search(tree, tuple(1.0 / len(tree.limbs) for _ in tree.limbs))
        elif kind == "by weight":
            yield Search(tree, prior(tree))
        else:
            yield from (_uneven(tree, seed) for seed in SEEDS)


def _uneven(tree: Tree, seed: int) -> Search:
    chance = random.Random(f"{tree.place.name} {seed}")
    drawn = [limb.weight * chance.expovariate(1.0) ** 2 for limb in tree.limbs]
    total = math.fsum(drawn)
    return Search(tree, tuple(d / total for d in drawn))


def small(seed: int) -> Search:
    """A random tree of four to eleven parts with random minutes, boards and chances."""
    draw = random.Random(seed)
    limbs = [Limb("feed", "breaker", -1)]
    for i in range(1, draw.randint(4, 11)):
        point = f"p{i}" if draw.random() < 0.85 else None
        minutes = draw.choice((2.0, 5.0, 5.0, 7.0, 11.0, 16.0))
        limbs.append(Limb(f"l{i}", "feeder", draw.randrange(i), point, "", minutes, draw.choice(("west", "east"))))
    drawn = [draw.expovariate(1.0) ** 2 for _ in limbs]
    total = math.fsum(drawn)
    hops = {("west", "east"): 1.0, ("east", "west"): 1.0}
    return Search(Tree(Place("district", "small"), tuple(limbs), (), hops), tuple(d / total for d in drawn))


def _gap(search: Search) -> float | None:
    """How much longer looking ahead takes than the optimum, in percent, followed to the end."""
    if size(search) > MOST:
        return None
    least = best(search, search.among).minutes
    return 100.0 * (expected(search, Ahead(search).policy, search.among) / least - 1.0) if least else 0.0


def _gaps(what: str, found: Sequence[float], note: str) -> list[Line]:
    return [
        Line(f"{what}, mean", float(np.mean(found)), "%", GAP_MEAN, note),
        Line(f"{what}, worst", float(max(found)), "%", GAP_WORST, note),
    ]


def _ways(layout: Layout, kind: str) -> list[Line]:
    """The mean expected minutes of each way over the districts."""
    made = list(searches(layout, kind))
    ways = {"planned": lambda s: Ahead(s).policy, "telling most per minute": telling, "always halving": halving,
            "one by one": one_by_one}  # fmt: skip
    lines = []
    for name, rule in ways.items():
        minutes = [expected(s, rule(s), s.among) for s in made]
        note = f"{len(made)} searches in {len(layout.places_of('district'))} districts of the club"
        lines.append(Line(f"to pin a fault, chances {kind}, {name}", float(np.mean(minutes)), "min", None, note))
    return lines


def measure() -> list[Line]:
    """Minutes by each way, the gap to the optimum, and the time that planning takes."""
    club, lines = load(CLUB), []
    for kind in ("by weight", "even", "uneven"):
        lines += _ways(club, kind)
    gaps = [g for kind in ("by weight", "even", "uneven") for s in searches(club, kind) if (g := _gap(s)) is not None]
    lines += _gaps("lifts planned over optimum, club", gaps, f"{len(gaps)} searches with at most {MOST} sets")
    gaps = [g for seed in WIDE if (g := _gap(small(seed))) is not None]
    lines += _gaps("lifts planned over optimum, small trees", gaps, f"{len(gaps)} random trees of 4 to 11 parts")
    times = []
    for search in searches(club, "uneven"):
        start = time.perf_counter()
        ahead(search, search.among)
        times.append(1000.0 * (time.perf_counter() - start))
    lines.append(Line("next lift planned, worst", max(times), "ms", SOON, f"{len(times)} searches, looking ahead"))
    return lines + _played(club)


def _played(layout: Layout) -> list[Line]:
    """Whole hunts with some wrong answers: how many end at another part than the true one, and their minutes."""
    draw, ended_wrong, minutes = random.Random(7), 0, []
    for number in range(PLAYED):
        tree = tree_of(layout, layout.places_of("district")[number % 8])
        assert tree is not None
        fault = draw.choices(range(len(tree.limbs)), [limb.weight for limb in tree.limbs])[0]
        right, took = _hunted(tree, fault, draw)
        ended_wrong += not right
        minutes.append(took)
    note = f"{PLAYED} hunts in 8 districts, {100 * WRONG:.0f} of 100 answers wrong, seed 7"
    return [
        Line("hunts that end at another part", 100.0 * ended_wrong / PLAYED, "%", None, note),
        Line("hunts with wrong answers, mean", float(np.mean(minutes)), "min", None, note),
    ]


def _hunted(tree: Tree, fault: int, draw: random.Random) -> tuple[bool, float]:
    """One hunt to its end: whether it ended at the fault, and its minutes. A doubtful lift is made once more."""
    lifts: list[Lift] = []
    again, minutes = False, 0.0
    while True:
        found = hunt(tree, lifts, most=0)
        point = found.next.point if found.next else None
        if point is None and found.doubtful and not again:
            again, point = True, tree.point(found.doubtful.point)
        if point is None:
            return tree.limbs[fault].name in found.pinned, minutes
        minutes += point.minutes + tree.walk(found.stands, point.board)
        gone = bool(point.cuts >> fault & 1)
        lifts.append(Lift(point.name, gone != (draw.random() < WRONG)))
