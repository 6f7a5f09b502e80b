"""The words for parts of a layout: places, figures, and closed lists of relations, derived facts and traits.

A place is a part that can be faulty or be probed. A relation is how a place stands to the thing complained
about. Packs may use no relation, fact or trait that is not listed here. How they are worked out is left to
`relations` and `facts`; what a record may say about a place is left to `defaults` and `shapes`.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from troubleshoot.documents import nearest

MOST_PLACES = 80
"""A relation that would give more places than this gives one unnamed: asking about each leads nowhere."""


@dataclass(frozen=True, order=True)
class Place:
    """A part of the layout: its kind, and the name its owner gave it."""

    kind: str
    name: str

    def __str__(self) -> str:
        return self.name


@dataclass(frozen=True)
class Figure:
    """A figure in SI. `assumed` means that the record does not give it; `said` is what a person calls it."""

    value: float
    unit: str
    assumed: bool
    said: str


class Unknown(KeyError):
    """A name that the record does not know; the text names the nearest one that it does."""

    def __init__(self, name: str, known: Iterable[str], file: str) -> None:
        super().__init__(name)
        self.name, self.nearest = name, nearest(name, known)
        hint = f"; did you mean {self.nearest!r}?" if self.nearest else ""
        self.text = f"{name!r} is no place of {file or 'the layout record'}{hint}"

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True)
class Part:
    """What a record says of one place: figures in SI with their unit, single words, and lists of words."""

    kind: str
    name: str
    figures: Mapping[str, tuple[float, str]] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    lists: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def owner(self) -> str | None:
        """The place this one belongs to: `yard-2` of `yard-2 feeder`."""
        return self.words.get("of")


KIND_OF_RELATION: Mapping[str, str] = {
    "itself": "place",
    "own-block": "block",
    "joint-of": "joint",
    "neighbour-of": "block",
    "feeder-of": "feeder",
    "zone-of": "zone",
    "detector-of": "detector",
    "board-of": "board",
    "plug-of": "plug",
    "duct-of": "duct",
    "district-of": "district",
    "breaker-of": "breaker",
    "booster-of": "booster",
    "bus-of": "bus",
    "supply-of": "supply",
    "turnout-in": "turnout",
    "vehicle-in": "vehicle",
    "accessory-in": "accessory",
    "decoder-of": "decoder",
    "motor-of": "motor",
    "contact-of": "contact",
    "input-of": "input",
    "field-wire-of": "field-wire",
    "frog-of": "frog",
    "signal-of": "signal",
    "driver-of": "driver",
    "control-bus": "control-bus",
    "panel-of": "panel",
    "interface": "interface",
    "throttle-of": "throttle",
    "settings-of": "settings",
    "program": "program",
    "building": "building",
    "route-of": "route",
}
"""The kind of place that each relation gives (`itself` gives whatever is complained about)."""

RELATIONS: tuple[str, ...] = tuple(KIND_OF_RELATION)

KINDS: tuple[str, ...] = (
    *dict.fromkeys(k for k in KIND_OF_RELATION.values() if k != "place"),
    "layout",
    "bus-segment",
    "control-bus-segment",
)

_THREE = ("yes", "no", "unknown")
FACTS: Mapping[str, tuple[str, ...]] = {
    "sick": ("one", "several"),
    "shared-by-all-sick": (
        "detector", "board", "plug", "duct", "district", "booster", "supply", "decoder", "nothing",
    ),
    "detector-kind": ("coil", "diode-drop", "optical", "contact", "unknown"),
    "power": ("on", "off", "unknown"),
    "meter": ("none", "average", "true-rms", "unknown"),
    "second-person": _THREE,
    "boosters": ("one", "several", "unknown"),
    "reversing": _THREE,
    "common-rail": _THREE,
    "booster-reference": ("common", "isolated", "unknown"),
    "layout-known": ("yes", "no"),
}  # fmt: skip
"""Derived facts and their values. `power` is known from set-ups, not from the record: `unknown` here."""

TRAITS: tuple[str, ...] = (
    "current-sensing-detector",
    "coil-detector",
    "diode-drop-detector",
    "several-boosters",
    "several-districts",
    "breaker-fitted",
    "reversing-section",
    "reverser-fitted",
    "turnouts-in-district",
    "feedback-contact-fitted",
    "stall-motor",
    "coil-motor",
    "servo-motor",
    "capacitor-discharge-unit",
    "computer-interface",
    "control-bus-fitted",
    "resistor-axles",
    "storage-capacitors",
    "accessory-in-block",
    "filter-fitted",
    "common-rail",
    "routes-stored",
    "joints-insulated",
    "several-detector-boards",
    "wide-decoder",
    "track-powered-decoder",
    "panel-fitted",
)
"""What a cause may need a layout to have; each is yes, no or unknown."""

TOOLS: tuple[str, ...] = (
    "multimeter", "true-rms-meter", "clamp-meter", "lamp", "resistors", "coin", "wire-jumper", "gauge",
    "feeler", "lens", "hygrometer", "video", "capacitance-meter", "oscilloscope", "monitor", "throttle",
    "second-person", "battery", "magnet", "cold-pack", "fan", "programming-track", "thermometer", "stopwatch",
)  # fmt: skip
"""Tools a check may need and a record's kit may own."""


def unnamed(kind: str) -> Place:
    """The one place of a kind that a record does not name: `the field wire`."""
    return Place(kind, f"the {kind.replace('-', ' ')}")
