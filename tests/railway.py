"""A simulator of the club railway's running: trains, detectors, turnouts, trips, ordinary noise, and planted faults.

It writes what a layout's computer would log: rows of time, kind, name and state. It knows nothing of the analysis and
shares no code with it. Trains run along the chain of blocks of the club record, each in the stretch that it has been
given, so that two are never in one block. Everything is drawn from one seeded source, so that a seed is an hour.

Ordinary noise is there always: drop-outs of dirty wheels, more in some blocks and under one bad train; bounces as a
train enters; a stray pulse in an empty block now and then; a lost confirmation here and there; a trip or two.
Figures of the noise are estimates, set on the unkind side.
"""

import bisect
import math
import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from troubleshoot.layout import Layout

HOUR = 3600.0
Row = tuple[float, str, str, str]


@dataclass(frozen=True)
class Faults:
    """Planted faults by their place, each with its rate; empty means a healthy railway.

    joints: (block, block) to the chance that a crossing makes both flicker together. surges: (turnout, block) to the
    chance a throw. glitches: detector to times an hour. missed: block to the chance a passage. silent: turnout to the
    chance a throw. warming: block to phantoms an hour at the end, from none after the first twenty minutes. dirty:
    block to further drop-outs a minute of train. shorts: (block, district) to the chance that an entry trips.
    """

    joints: Mapping[tuple[str, str], float] = field(default_factory=dict)
    surges: Mapping[tuple[str, str], float] = field(default_factory=dict)
    glitches: Mapping[str, float] = field(default_factory=dict)
    missed: Mapping[str, float] = field(default_factory=dict)
    silent: Mapping[str, float] = field(default_factory=dict)
    warming: Mapping[str, float] = field(default_factory=dict)
    dirty: Mapping[str, float] = field(default_factory=dict)
    shorts: Mapping[tuple[str, str], float] = field(default_factory=dict)


@dataclass(frozen=True)
class Pass:
    """A train in a block: truly from when to when, crossing its joints at which moments, and how dirty it is."""

    block: str
    start: float
    end: float
    dirt: float
    crossings: tuple[tuple[str, float, float], ...] = ()


@dataclass
class Train:
    """A train: its block, its way along the chain, when it may go on, its length in metres, its dirt."""

    at: int
    way: int
    free: float
    long: float
    dirt: float
    since: float = 0.0


class Hour:
    """One hour, or as many seconds as asked for, of running; one train is so many times as dirty as the others."""

    def __init__(
        self, layout: Layout, seed: int, faults: Faults | None = None, seconds: float = HOUR, dirt: float = 4.0
    ) -> None:
        self.layout, self.random, self.faults, self.seconds = layout, random.Random(seed), faults or Faults(), seconds
        self.dirt = dirt
        self.blocks = [p.name for p in layout.places_of("block")]
        self.lengths = [float(getattr(layout.figure(layout.place(b), "length"), "value", 2.0)) for b in self.blocks]
        self.ends = [0.0]
        for length in self.lengths:
            self.ends.append(self.ends[-1] + length)
        self.weakness = {b: self.random.gammavariate(4.0, 0.25) for b in self.blocks}
        self.turnout_of = {layout.word(p, "block"): p.name for p in layout.places_of("turnout")}
        self.lies = {p.name: self.random.choice(("thrown", "closed")) for p in layout.places_of("turnout")}
        self.passes: list[Pass] = []
        self.throws: list[tuple[float, str]] = []
        self.toggles: dict[str, list[tuple[float, float]]] = {b: [] for b in self.blocks}
        self.other: list[Row] = []

    # --- trains -------------------------------------------------------------------------------------

    def _run_trains(self, count: int = 8) -> None:
        """Give each train a place, then stretch after stretch of free blocks until the time is over."""
        r = self.random
        lengths = (0.25, 0.6, 1.1, 1.6, 2.2)
        trains = [
            Train(at=s, way=r.choice((-1, 1)), free=r.uniform(0, 60), long=r.choice(lengths), dirt=1.0)
            for s in r.sample(range(0, len(self.blocks), 4), count)
        ]
        trains[0].dirt = self.dirt
        held = {t.at: math.inf for t in trains}
        while (train := min(trains, key=lambda t: t.free)).free < self.seconds:
            self._one_leg(train, held)
        for train in trains:
            self.passes.append(Pass(self.blocks[train.at], train.since, self.seconds, train.dirt))

    def _one_leg(self, train: "Train", held: dict[int, float]) -> None:
        """One stretch: as many free blocks ahead as there are, held until the train has arrived."""
        r, now, before = self.random, train.free, train.way
        if r.random() < 0.2:
            train.way *= -1
        path, want = [train.at], r.randint(2, 12)
        while len(path) <= want and 0 <= (ahead := path[-1] + train.way) < len(self.blocks):
            if held.get(ahead, 0.0) > now:
                break
            path.append(ahead)
        if len(path) < 2:
            train.way *= -1
            train.free = now + r.uniform(5, 25)
            return
        speed, long = r.uniform(0.12, 0.45), min(train.long, 0.9 * min(self.lengths[p] for p in path))
        to_joint = 0.15 if train.way == before else max(0.05, self.lengths[train.at] - 0.15 - long)
        arrival = self._drive(train, path, now + to_joint / speed, speed, long)
        held.update(dict.fromkeys(path[:-1], arrival + 2.0))
        held[path[-1]] = math.inf
        train.at, train.free = path[-1], arrival + r.uniform(8, 70)

    def _drive(self, train: "Train", path: list[int], enter: float, speed: float, long: float) -> float:
        """Move along a path; notes when each block is entered and left. The train stands at the far end of the last."""
        since = train.since
        for a, b in pairwise(path):
            leave = enter + long / speed
            here, there = self.blocks[a], self.blocks[b]
            self.passes.append(Pass(here, since, leave, train.dirt, ((there, enter - 0.2 / speed, leave),)))
            self._throw_for(there, enter)
            since, enter = enter, enter + self.lengths[b] / speed
        train.since = since
        return enter - 0.15 / speed

    def _throw_for(self, block: str, enter: float) -> None:
        turnout = self.turnout_of.get(block)
        if turnout and self.random.random() < 0.8:
            self.throws.append((max(0.0, enter - self.random.uniform(4, 14)), turnout))

    # --- detectors ----------------------------------------------------------------------------------

    def _flip(self, block: str, when: float, seconds: float) -> None:
        """The detector shows the opposite for a moment."""
        if when > 0 and when + seconds < self.seconds:
            self.toggles[block].append((when, when + seconds))

    def _drop_outs(self) -> None:
        r = self.random
        for one in self.passes:
            rate = 0.0025 * self.weakness[one.block] * one.dirt + self.faults.dirty.get(one.block, 0.0) / 60.0
            when = one.start + r.expovariate(rate) if rate else one.end
            while when < one.end:
                for _ in range(r.choice((1, 1, 1, 2, 3))):
                    long = r.uniform(0.05, 0.4)
                    self._flip(one.block, when, long)
                    when += long + r.uniform(0.05, 0.3)
                when += r.expovariate(rate)
            if r.random() < 0.06:
                self._flip(one.block, one.start + r.uniform(0.03, 0.15), r.uniform(0.04, 0.15))
        for block in self.blocks:
            for when in self._poisson(0.03 / HOUR):
                self._flip(block, when, r.uniform(0.05, 0.4))

    def _poisson(self, rate: float, start: float = 0.0) -> Iterator[float]:
        when = start
        while rate > 0 and (when := when + self.random.expovariate(rate)) < self.seconds:
            yield when

    def _faulty_detectors(self) -> None:
        r = self.random
        for (one, two), chance in self.faults.joints.items():
            for passing in self.passes:
                for there, start, end in passing.crossings:
                    if {passing.block, there} == {one, two} and r.random() < chance:
                        self._joint_flickers(one, two, start, end)
        for (turnout, block), chance in self.faults.surges.items():
            for when, thrown in self.throws:
                if thrown == turnout and r.random() < chance:
                    self._flip(block, when + r.uniform(0.03, 0.15), r.uniform(0.05, 0.25))
        for detector, rate in self.faults.glitches.items():
            self._glitches(detector, rate)
        for block, most in self.faults.warming.items():
            warm = min(1200.0, self.seconds / 3)
            for when in self._poisson(most / HOUR, warm):
                if r.random() < (when - warm) / (self.seconds - warm):
                    self._flip(block, when, r.choice((r.uniform(0.1, 0.6), r.uniform(1, 12))))

    def _glitches(self, detector: str, rate: float) -> None:
        """A supply that dips: most zones of the board show the opposite for a moment, together."""
        on_it = [b for b in self.blocks if self.layout.word(self.layout.place(b), "detector") == detector]
        for when in self._poisson(rate / HOUR):
            long = self.random.uniform(0.1, 0.5)
            for block in on_it:
                if self.random.random() < 0.7:
                    self._flip(block, when + self.random.uniform(0, 0.04), long)

    def _joint_flickers(self, one: str, two: str, start: float, end: float) -> None:
        when = self.random.uniform(start, max(start, end - 0.2))
        for _ in range(self.random.choice((1, 1, 2, 3))):
            long = self.random.uniform(0.04, 0.2)
            self._flip(one, when + self.random.uniform(0, 0.01), long)
            self._flip(two, when + self.random.uniform(0, 0.01), long)
            when += long + self.random.uniform(0.05, 0.2)

    def _true_edges(self) -> dict[str, list[tuple[float, float]]]:
        """When each block would be seen taken if its detector were perfect but for its delays."""
        r, seen = self.random, {b: list[tuple[float, float]]() for b in self.blocks}
        for one in self.passes:
            through = one.start > 0 and one.end < self.seconds
            if through and r.random() < self.faults.missed.get(one.block, 0.0005):
                continue
            start = one.start + r.uniform(0.02, 0.08) if one.start else 0.0
            seen[one.block].append((start, min(one.end + r.uniform(0.3, 0.7), self.seconds)))
        return seen

    def _block_rows(self) -> Iterator[Row]:
        for block, stays in self._true_edges().items():
            flips = sorted([*(x for s in stays for x in s), *(x for t in self.toggles[block] for x in t)])
            if stays and any(start == 0.0 for start, _ in stays):
                yield 0.0, "block", block, "occupied"
            state = 1 if any(start == 0.0 for start, _ in stays) else 0
            for when in flips:
                if 0.0 < when < self.seconds:
                    state = 1 - state
                    yield when, "block", block, "occupied" if state else "clear"

    # --- turnouts and power -------------------------------------------------------------------------

    def _turnout_rows(self) -> Iterator[Row]:
        r = self.random
        places = self.layout.places_of("turnout")
        for when in self._poisson(25 / HOUR):
            self.throws.append((when, r.choice(places).name))
        self.throws.sort()
        middle = {"stall": (2.0, 0.25), "coil": (0.15, 0.04), "servo": (1.2, 0.15)}
        for when, turnout in self.throws:
            position = r.choice(("thrown", "closed"))
            yield when, "turnout", turnout, f"commanded {position}"
            if position == self.lies[turnout]:
                continue
            self.lies[turnout] = position
            mean, spread = middle[self.layout.word(self.layout.place(turnout), "motor") or "coil"]
            if r.random() >= self.faults.silent.get(turnout, 0.004):
                yield when + max(0.05, r.gauss(mean, spread)), "turnout", turnout, f"confirmed {position}"

    def _trips(self) -> list[tuple[float, float, str]]:
        r = self.random
        districts = [p.name for p in self.layout.places_of("district")]
        found = [(when, r.uniform(2, 6), r.choice(districts)) for when in self._poisson(1.5 / HOUR)]
        for (block, district), chance in self.faults.shorts.items():
            entries = [p.start for p in self.passes if p.block == block and p.start > 0]
            found += [(e + r.uniform(0.1, 0.5), r.uniform(2, 6), district) for e in entries if r.random() < chance]
        return sorted(found)

    # --- the log ------------------------------------------------------------------------------------

    def rows(self) -> list[Row]:
        """Everything logged, in the order of time; in an outage all trains wait, so that time is put in."""
        self._run_trains()
        turnout_rows = list(self._turnout_rows())
        self._drop_outs()
        self._faulty_detectors()
        trips = self._trips()
        plain = sorted([*self._block_rows(), *turnout_rows])
        starts = [t for t, _, _ in trips]
        shift = [0.0]
        for _, long, _ in trips:
            shift.append(shift[-1] + long)
        out = [(w + shift[bisect.bisect_left(starts, w)], k, n, s) for w, k, n, s in plain]
        for number, (when, long, district) in enumerate(trips):
            out += self._outage(plain, when, when + shift[number], long, district)
        late = [(round(max(0.0, w + self.random.uniform(0, 0.03)), 3), k, n, s) for w, k, n, s in out]
        return sorted(late)

    def _outage(self, plain: list[Row], when: float, at: float, long: float, district: str) -> Iterator[Row]:
        r = self.random
        yield at, "power", district, "trip"
        yield at + long - 0.3, "power", district, "restore"
        for block in self.blocks:
            if self.layout.word(self.layout.place(block), "district") == district:
                states = [s for w, k, n, s in plain if n == block and w < when]
                if states and states[-1] == "occupied":
                    yield at + r.uniform(0.05, 0.15), "block", block, "clear"
                    yield at + long - 0.3 + r.uniform(0.05, 0.15), "block", block, "occupied"


def as_csv(rows: list[Row], start: float = 1_767_268_800.0) -> str:
    """Rows as a plain file with a header and ISO times; the start is an invented evening."""
    from datetime import datetime, timezone

    lines = ["time,kind,name,state"]
    for when, kind, name, state in rows:
        stamp = datetime.fromtimestamp(start + when, timezone.utc).replace(tzinfo=None)
        lines.append(f"{stamp.isoformat(timespec='milliseconds')},{kind},{name},{state}")
    return "\n".join(lines) + "\n"
