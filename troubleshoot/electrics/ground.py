"""What the formulas stand on at one place: figures of the record, and where it is silent, of the trade.

Rules: every figure that a quantity uses is taken through a `Ground`, which notes it, so that a screen can say
from which data a limit comes and what was assumed. A `Ground` walks no relation itself; the layout does.
The formulas are in the modules by theme, their use at a place in `values`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from troubleshoot.electrics import meters
from troubleshoot.electrics.wheels import Gauge, gauge_of
from troubleshoot.layout import HOME, Figure, Layout, Place

SMALL, LARGE = ("Z", "N"), ("large",)

TRADE: Mapping[str, Figure] = {
    "train-current": Figure(0.5, "A", True, "current of a train"),
    "booster-difference": Figure(1.0, "V", True, "difference between two boosters in phase"),
    "set-difference": Figure(0.5, "V", True, "volts between two points of one booster"),
    "bogie": Figure(0.04, "m", True, "longest bogie of a vehicle"),
    "filter-ohms": Figure(100.0, "ohm", True, "resistor of the filter"),
    "filter-farads": Figure(1e-7, "F", True, "capacitor of the filter"),
    "dummy-load": Figure(10.0, "ohm", True, "resistor of the dummy load"),
    "clip": Figure(0.05, "ohm", True, "clip wire and its contacts"),
    "bandwidth": Figure(meters.LEAST_BANDWIDTH, "Hz", True, "least bandwidth of a meter"),
    # the last resorts, where a place has no such figure at all
    "threshold": Figure(0.003, "A", True, "threshold of a detector"),
    "trip": Figure(4.0, "A", True, "trip current of a breaker"),
    "supply-volts": Figure(12.0, "V", True, "volts of the supply"),
}
"""Figures that no record gives, for HO. Source: common practice."""

BY_SCALE: Mapping[str, tuple[float, float]] = {"train-current": (0.5, 4.0), "bogie": (0.5, 4.0)}
"""By how much some of them differ in N and smaller, and in large scale. Source: common practice."""


@dataclass(eq=False)
class Ground:
    """One place of one layout, and the figures taken from it so far."""

    layout: Layout
    place: Place
    used: dict[Figure, None] = field(default_factory=dict)

    def take(self, figure: Figure) -> float:
        """The value of a figure, noted as used."""
        self.used[figure] = None
        return figure.value

    def figure(self, name: str, place: Place | None = None) -> float:
        """A figure of this place or another one, given or assumed; see `everywhere` for a place without its own."""
        found = self.layout.figure(place or self.place, name)
        if found is None or found.assumed:
            found = self.everywhere(name, place or self.place) or found
        return self.take(found) if found is not None else self.trade(name)

    def everywhere(self, name: str, place: Place) -> Figure | None:
        """What the record gives of a figure alike wherever it gives it, for a place that leads to no part of its own.

        A vehicle stands on any block, so the record's detectors count for it and no assumption. A part that the record
        names without its figure is another matter: its figure is not known.
        """
        if name not in HOME or HOME[name][0] == "layout":
            return None
        home = self.layout.related(HOME[name][0], place)[0]
        if home.name in self.layout.parts:
            return None
        given = [f for p in self.layout.places_of(home.kind) if (f := self.given(HOME[name][1], p)) is not None]
        if not given or any(f.value != given[0].value for f in given):
            return None
        said = "" if len(given) == 1 else ", alike wherever the record gives it"
        return Figure(given[0].value, given[0].unit, False, f"{given[0].said}{said}")

    def trade(self, name: str) -> float:
        """A figure that no record gives, for the scale of the layout."""
        figure, scale = TRADE[name], self.layout.scale
        if name in BY_SCALE:
            small, large = BY_SCALE[name]
            factor = small if scale in SMALL else large if scale in LARGE else 1.0
            figure = Figure(figure.value * factor, figure.unit, True, figure.said)
        return self.take(figure)

    def given(self, name: str, place: Place | None = None) -> Figure | None:
        """A figure only if the record gives it; it is not noted."""
        found = self.layout.figure(place or self.place, name)
        return found if found is not None and not found.assumed else None

    def of_stock(self, name: str) -> float:
        """A figure of this vehicle if it has one of its own, else that of the stock as a whole."""
        own = self.given(name)
        return self.take(own) if own else self.figure(name, self.layout.itself)

    def first(self, relation: str, about: Place | None = None) -> Place:
        """The first place in a relation."""
        return self.layout.related(relation, about or self.place)[0]

    def word(self, relation: str, name: str, about: Place | None = None) -> str | None:
        """What the record says in a word of the first place in a relation."""
        return self.layout.word(self.first(relation, about), name)

    def volts(self, place: Place | None = None) -> float:
        """Track volts at a place: those of its booster if the record gives them, else those of the layout."""
        own = self.given("booster-output", place)
        return self.take(own) if own else self.figure("track-volts", self.layout.itself)

    def detector_kind(self, place: Place | None = None) -> str:
        """Kind of the detector that watches a place, or 'unknown'."""
        return self.word("detector-of", "kind", place) or "unknown"

    def detector_drop(self, place: Place | None = None) -> float:
        """Volts that the detector at a place takes: none but for one that works by the drop of diodes."""
        return self.figure("detector-drop", place) if self.detector_kind(place) == "diode-drop" else 0.0

    def threshold(self, place: Place | None = None) -> float:
        """Current at the rails at which the detector at a place reports, its passes through the coil
        counted. A place that no detector of the record watches goes by the one that asks for most."""
        home = self.first("detector-of", place)
        asking = [p for p in self.layout.places_of("detector") if self.given("threshold", p) is not None]
        if home.name in self.layout.parts or not asking:
            return self._threshold_of(place or self.place)
        trials = {p: Ground(self.layout, p)._threshold_of(p) for p in asking}
        most = max(asking, key=lambda p: (trials[p], p.name))
        value, unit = trials[most], "A"
        alike = all(v == value for v in trials.values())
        said = "threshold, alike at every detector that gives one" if alike else f"threshold: {most.name} asks for most"
        return self.take(Figure(value, unit, False, said))

    def _threshold_of(self, place: Place) -> float:
        own = self.figure("threshold", place)
        return own / self.figure("passes", place) if self.detector_kind(place) == "coil" else own

    def trip(self) -> float:
        """Current at which the place's breaker acts; where none is fitted, its booster's limit."""
        bare = self.word("district-of", "breaker") == "none"
        return self.figure("booster-limit") if bare else self.figure("trip")

    def trip_delay(self) -> float:
        """How long the place's breaker waits; where none is fitted, its booster."""
        bare = self.word("district-of", "breaker") == "none"
        return self.figure("booster-delay") if bare else self.figure("trip-delay")

    def gauge(self) -> Gauge:
        """Limits of wheels and track for the scale of the layout."""
        return gauge_of(self.layout.scale or "HO")

    def by_scale(self, value: float, said: str) -> float:
        """A length that a standard gives for the scale; assumed only where the scale is not known."""
        scale = self.layout.scale
        return self.take(Figure(value, "m", scale is None, f"{said} in {scale or 'HO'}"))

    def meter(self) -> meters.Factor:
        """Shown / true of the owner's meter on the track signal, a wide range where it is not known."""
        kind = self.layout.meter
        bandwidth = self.given("meter-bandwidth", self.layout.itself)
        if bandwidth:
            self.take(bandwidth)
        else:
            self.trade("bandwidth")
        return meters.shown_factor(kind, bandwidth.value if bandwidth else None)
