"""How a survey judges: only what the record gives, only what fails for every plausible value, and what is missing."""

from collections.abc import Iterator, Mapping
from copy import deepcopy
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.conftest import made
from tests.test_survey_plants import PLANTS, built, club_data, put
from troubleshoot.electrics import accessories, cables, power
from troubleshoot.layout import EMPTY, FIGURES, Figure, Layout, Place
from troubleshoot.rulebook.floor import dangers
from troubleshoot.survey import DETAILS, KINDS, SEVERITIES, missing, survey, surveyed
from troubleshoot.survey.judging import Known, excess, judge, verdict, worded
from troubleshoot.survey.plausible import ASKS, FACTORS, TRADE
from troubleshoot.survey.site import Site
from troubleshoot.survey.spots import Datum, Kind, Look
from troubleshoot.survey.surveying import _THEMES

# --- judging one look --------------------------------------------------------------------------------------

DROP = Kind("drops", "{place} {value} {limit}", "V", "V", "test", "mend {place}", 1, serious=2.0)
NORTH = Place("block", "north")


def datum(value: float, low: float | None = None, high: float | None = None, asks: str = "") -> Datum:
    """A figure: given, or assumed where it has a range."""
    assumed = low is not None or high is not None
    figure = Figure(value, "V", assumed, "something")
    return Datum(figure, value if low is None else low, value if high is None else high, asks, ("block", "x"), "north")


def first_over_second(f: Mapping[str, float]) -> tuple[float, float]:
    """The value is the first figure, its limit the second."""
    return f["first"], f["second"]


def look(**data: Datum) -> Look:
    """A look at two figures."""
    return Look("drops", NORTH, first_over_second, data)


def test_what_is_given_is_judged_as_it_is() -> None:
    """Over the limit is weak, over twice the limit serious, on the limit sound."""
    severities = []
    for value in (1.0, 1.5, 2.5):
        spot, _ = judge(look(first=datum(value), second=datum(1.0)), DROP, {})
        severities.append(spot.severity if spot else None)

    assert severities == [None, "weak", "serious"]


def test_what_fails_only_as_assumed_is_not_reported_but_asked_for() -> None:
    """A verdict that hangs on a figure which the record could give is left open, with that figure."""
    spot, wanted = judge(look(first=datum(3.0, 0.5, 4.0, "x, under blocks"), second=datum(1.0)), DROP, {})

    assert spot is None
    assert [d.asks for d in wanted] == ["x, under blocks"]


def test_what_fails_at_usual_figures_of_the_trade_is_a_remark() -> None:
    """Nobody can give the heat of next summer: failing at the usual one is worth a remark, and no more."""
    failing, _ = judge(look(first=datum(3.0, 0.5, 4.0), second=datum(1.0)), DROP, {})
    holding, _ = judge(look(first=datum(0.9, 0.5, 4.0), second=datum(1.0)), DROP, {})

    assert failing is not None
    assert (failing.severity, failing.assumed) == ("remark", ("something",))
    assert holding is None


def test_what_fails_throughout_is_reported_at_its_best() -> None:
    """A range that fails from end to end is weak or serious by its better end, not by its usual value."""
    spot, wanted = judge(look(first=datum(3.0, 1.2, 4.0, "x, under blocks"), second=datum(1.0)), DROP, {})

    assert spot is not None
    assert (spot.severity, spot.value, wanted) == ("weak", 3.0, ())


def test_a_look_at_nothing_given_is_not_judged() -> None:
    """Where every figure is assumed, nothing is reported and nothing asked for."""
    assert judge(look(first=datum(9.0, 8.0, 9.5, "x"), second=datum(1.0, 0.9, 1.1, "y")), DROP, {}) == (None, ())


def test_the_figure_that_flips_the_verdict_alone_is_asked_for_first() -> None:
    """Of two open figures the one that decides by itself is named; the other is not."""
    strong, faint = datum(1.1, 0.5, 4.0, "strong"), datum(1.0, 0.98, 1.02, "faint")
    data = {"first": strong, "second": faint, "third": datum(1.0)}
    _, wanted = judge(Look("drops", NORTH, first_over_second, data), DROP, {})

    assert [d.asks for d in wanted] == ["strong"]


@given(
    low=st.floats(0.1, 5.0),
    width=st.floats(1.01, 20.0),
    limit=st.floats(0.1, 5.0),
    spread=st.floats(1.01, 5.0),
    at=st.floats(0.0, 1.0),
)
def test_best_and_worst_hold_every_plausible_value_between_them(
    low: float, width: float, limit: float, spread: float, at: float
) -> None:
    """No corner and no point inside the ranges is better than the best or worse than the worst."""
    first, second = datum(low * width**at, low, low * width), datum(limit, limit / spread, limit * spread)
    known = verdict(first_over_second, {"first": first, "second": second}, "above")
    steps = [i / 4 for i in range(5)]

    for a, b in product(steps, steps):
        one = first.low + a * (first.high - first.low)
        other = second.low + b * (second.high - second.low)
        assert known.best * 0.999999 <= excess(one, other, "above") <= known.worst * 1.000001


@given(value=st.floats(-5.0, 5.0), limit=st.floats(0.001, 5.0))
def test_excess_is_over_one_exactly_beyond_the_limit(value: float, limit: float) -> None:
    """Above or below, more than one limit means the bad side, for noughts and negative values too."""
    assert (excess(value, limit, "above") > 1.0) == (value > limit)
    assert (excess(value, limit, "below") > 1.0) == (value < limit)


# --- every look of the survey ------------------------------------------------------------------------------


class Watched(dict[str, float]):
    """Figures that note which of them are looked at."""

    def __init__(self, data: Mapping[str, float]) -> None:
        super().__init__(data)
        self.used: set[str] = set()

    def __getitem__(self, name: str) -> float:
        self.used.add(name)
        return super().__getitem__(name)

    def items(self):  # type: ignore[no-untyped-def]
        """All figures at once are all looked at."""
        self.used.update(self)
        return super().items()


def altered(name: str) -> Layout:
    """The club with one plant."""
    data = deepcopy(club_data())
    PLANTS[name][0](data)
    return built(data)


def looks(layout: Layout) -> Iterator[Look]:
    """Every look at a layout."""
    site = Site(layout)
    for _, theme in _THEMES:
        yield from theme(site)


@pytest.fixture(scope="module")
def many_looks() -> list[Look]:
    """Looks of every kind: of the club, and of every fifth plant."""
    found = [k for name in list(PLANTS)[::5] for k in looks(altered(name))]
    return found + list(looks(built(deepcopy(club_data()))))


def test_a_look_names_the_figures_that_it_uses_and_no_others(many_looks: list[Look]) -> None:
    """What a weak spot says it rests on is what was reckoned with."""
    for one in many_looks:
        figures = Watched({name: d.value for name, d in one.data.items()})
        one.work(figures)
        assert figures.used == set(one.data), one.kind


def test_each_figure_moves_a_verdict_one_way(many_looks: list[Look]) -> None:
    """Between its ends no figure does better or worse than at an end or at its usual value."""
    seen: set[str] = set()
    for one in many_looks:
        if one.kind in seen:
            continue
        seen.add(one.kind)
        fails = DETAILS[one.kind].fails
        usual = {name: d.value for name, d in one.data.items()}
        for name, d in one.data.items():
            ends = [excess(*one.work({**usual, name: x}), fails) for x in (d.low, d.value, d.high)]
            for step in range(1, 8):
                inside = excess(*one.work({**usual, name: d.low + step / 8 * (d.high - d.low)}), fails)
                assert min(ends) * 0.999 <= inside <= max(ends) * 1.001, (one.kind, name)


def test_every_kind_is_fully_said() -> None:
    """Each kind has its sentence, figure, formula, source, cure and minutes, and no unit that cannot be shown."""
    for name, kind in DETAILS.items():
        assert KINDS[name] == kind.sentence
        assert all((kind.sentence, kind.says, kind.formula, kind.source, kind.cure)), name
        assert 0 < kind.minutes <= 120
        assert worded(1.0, kind.unit)
        assert "{place}" in kind.says + kind.cure, name


def test_no_cure_goes_below_the_floor_of_safety() -> None:
    """No cure asks for anything that the floor of safety refuses to a pack: mains, defeated breakers, held coils."""
    for name, kind in DETAILS.items():
        assert list(dangers(kind.cure)) == [], name
        assert list(dangers(kind.says)) == [], name


def test_ranges_are_of_figures_that_a_record_has() -> None:
    """Every range belongs to a figure of a record, spans its default, and says where the figure is given."""
    for (kind, figure), (low, high) in FACTORS.items():
        assert figure in FIGURES[kind], (kind, figure)
        assert low <= 1.0 <= high
        assert ASKS[kind]
    for name, usual in TRADE.items():
        assert usual.low <= usual.value <= usual.high, name


# --- whole records -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["name: Attic\n", "name: Attic\nblocks: {b-1: , b-2: }\njoints: {b-1/b-2: }\n"])
def test_a_record_that_says_nothing_shows_nothing(text: str) -> None:
    """No figures, no weak spots; and no record at all is a survey of nothing."""
    assert survey(made(text)) == ()
    assert surveyed(EMPTY).looks == 0


EVERYTHING = """
name: Everything
scale: HO
supplies: {s-1: , s-2: }
boosters: {boo-1: {supply: s-1}, boo-2: {supply: s-1}}
districts: {north: {booster: boo-1, trip: 3 A, filter: yes}, south: {booster: boo-2, breaker: none}}
boards: {west: , east: }
plugs: {p-1: {between: [west, east], ways: 4}}
detectors: {d-1: {kind: coil, supply: s-2}, d-2: {kind: diode-drop, supply: s-2}, d-3: }
blocks:
  b-1: {district: north, detector: d-1, filter: yes, reversing: yes, reverser: yes, feeder: {plug: p-1}}
  b-2: {district: north, detector: d-2, feeder: {spacing: bundled}}
  b-3: {district: south, detector: d-3, length: 3 m}
  b-4: {district: south}
  b-5:
joints: {b-1/b-2: {insulated: no}, b-2/b-3: {offset: 2 mm}, b-3/b-4: , b-4/b-5: }
decoders: {dec-1: {supply: s-2, discharge-unit: yes}, dec-2: {supply: track}, dec-3: }
turnouts:
  t-1: {decoder: dec-1, motor: coil, frog: insulated, block: b-1, feedback: contact}
  t-2: {decoder: dec-2, motor: stall, frog: by-reverser, block: b-1, feedback: none}
  t-3: {decoder: dec-3, motor: servo, block: b-2, number: 9}
  t-4: {decoder: dec-1, motor: coil}
  t-5:
routes: {r-1: {turnouts: [t-1, t-4]}}
drivers: {dr-1: {supply: s-2}}
signals: {sig-1: {driver: dr-1, listens-to: [t-2]}, sig-2: {driver: dr-1, address: 9}}
control-bus: {supply: s-2, panels: {p-2: }, throttles: {th-1: }, segments: {c-1: {length: 90 m}, c-2: {length: 60 m}}}
stock: {resistor-axles: yes, storage-vehicles: 5, vehicles: {car: {axle-ohms: 30 kohm}, bus: }}
"""


def test_a_record_that_names_much_and_measures_little_is_surveyed() -> None:
    """Parts without figures are looked at with what is plausible; what cannot be judged is asked for."""
    layout = made(EVERYTHING)

    assert {s.kind for s in survey(layout)} >= {
        "joint-not-insulated",
        "signal-number-clash",
        "signal-trusts-command",
        "decoder-on-track-power",
        "motors-share-supply",
        "vehicle-unseen",
    }
    assert len(missing(layout)) > 10


def test_a_control_bus_is_as_long_as_its_segments() -> None:
    """Where the whole length is not given, the segments together are it."""
    control = next(k for k in looks(made(EVERYTHING)) if k.kind == "control-bus-drop")

    assert (control.data["length"].value, control.data["length"].figure.assumed) == (150.0, False)


def test_every_figure_with_a_default_has_a_plausible_range() -> None:
    """No look can meet a figure whose range nobody wrote down."""
    of_the_meter = {"meter-bandwidth", "highest-ohms"}
    wanted = {(k, f) for k, table in FIGURES.items() for f, spec in table.items() if spec.default is not None}

    assert {(k, f) for k, f in wanted if f not in of_the_meter} <= set(FACTORS)


def test_spots_come_worst_first(club: Layout) -> None:
    """Serious before weak before remarks."""
    order = [SEVERITIES.index(s.severity) for s in survey(club)]

    assert order == sorted(order)


def test_a_survey_is_the_same_each_time_and_made_once(club: Layout) -> None:
    """Surveying again gives the same object; the same record read anew gives equal spots."""
    again = built(deepcopy(club_data()))

    assert surveyed(club) is surveyed(club)
    assert survey(again) == survey(club)


def test_assumed_figures_are_named(club: Layout) -> None:
    """A spot lists what it rests on, and of these what the record does not give."""
    spot = next(s for s in survey(club) if s.kind == "short-may-not-trip")

    assert "resistance of the rail of ridge-8" in spot.assumed
    assert "trip current of ridge-district" not in spot.assumed
    assert set(spot.assumed) == {f.said for f in spot.data if f.assumed}


def test_the_missing_figure_that_decides_most_stands_first(club: Layout) -> None:
    """Saying how the detectors of the club sense decides as many looks as the survey promised."""
    first = missing(club)[0]
    assert (first.figure, first.asks) == ("way of sensing", "sensing, under detectors")
    assert {p.name for p in first.places} == {"det-west", "det-harbour", "det-mid", "det-east"}

    data = deepcopy(club_data())
    for detector in data["detectors"].values():
        detector["sensing"] = "averaging"
    told = missing(built(data))

    assert "way of sensing" not in {m.figure for m in told}
    assert sum(m.checks for m in missing(club)) - sum(m.checks for m in told) == first.checks


def test_a_missing_figure_may_turn_out_bad(club: Layout) -> None:
    """The same detectors, said to sense peaks, show long feeders that they did not show before."""
    data = deepcopy(club_data())
    put(detectors={"det-harbour": {"sensing": "peak"}})(data)
    told = {(s.kind, s.place.name) for s in survey(built(data))} - {(s.kind, s.place.name) for s in survey(club)}

    assert {k for k, _ in told} == {"feeder-looks-occupied"}
    assert {p.split()[0].split("-")[0] for _, p in told} == {"harbour", "station", "ridge"}


@settings(max_examples=15, deadline=None)
@given(
    trip=st.sampled_from(["1 A", "3 A", "6 A", "20 A"]),
    wire=st.sampled_from(["0.05 mm2", "0.5 mm2", "10 mm2"]),
    length=st.sampled_from(["0.1 m", "5 m", "200 m"]),
    scale=st.sampled_from(["Z", "HO", "large"]),
    kind=st.sampled_from(["coil", "diode-drop", "optical", "unknown"]),
)
def test_no_record_breaks_a_survey(trip: str, wire: str, length: str, scale: str, kind: str) -> None:
    """Extreme figures at the ends of what a record may say give spots with finite figures and whole sentences."""
    layout = made(
        f"name: a\nscale: {scale}\nboosters: {{boo: {{limit: 5 A}}}}\n"
        f"districts: {{north: {{booster: boo, trip: {trip}, bus: {{wire: {wire}, length: {length}}}}}}}\n"
        f"detectors: {{d-1: {{kind: {kind}, threshold: 1 mA}}}}\nblocks:\n"
        f"  b-1: {{district: north, detector: d-1, length: {length}, feeder: {{wire: {wire}, length: {length}}}}}\n"
        "  b-2: {district: north, length: 1 m, reversing: yes}\njoints: {b-1/b-2: {gap: 0.2 mm}}\n"
    )

    for spot in survey(layout):
        assert "{" not in spot.says + spot.cure
        assert spot.value < float("inf")


# --- the physics that a survey adds ------------------------------------------------------------------------

FIXTURE_WIRE = {18: 6.0, 16: 8.0, 14: 17.0, 12: 23.0, 10: 28.0}
"""Amperes of fixture wire by gauge: NFPA 70 table 402.5, from memory."""

FREE_AIR = {0.75: 15.0, 1.0: 19.0, 1.5: 24.0, 2.5: 32.0, 4.0: 42.0}
"""Amperes of one wire in free air by mm2: DIN VDE 0298-4 as commonly reprinted, from memory."""


def test_what_a_wire_carries_lies_between_the_tables() -> None:
    """More than closed-in fixture wire, never more than the free-air table, and less in a loom."""
    for gauge, amperes in FIXTURE_WIRE.items():
        assert amperes <= cables.carried(cables.awg_area(gauge)) < 2.0 * amperes
    for mm2, amperes in FREE_AIR.items():
        assert 0.5 * amperes < cables.carried(mm2 * 1e-6) < amperes
    assert cables.carried(1e-6, share=cables.BUNDLED_SHARE) == pytest.approx(0.6 * cables.carried(1e-6))


def test_charging_resistors_keep_a_rush_below_the_trip() -> None:
    """Twenty packs of 470 uF charge for 28 ms at 5 A, and for nothing that a breaker sees behind 100 ohm each."""
    assert power.time_above_trip(20, 470e-6, 15.0, 1.0, 5.0, 3.5) == pytest.approx(0.0282)
    assert power.time_above_trip(20, 470e-6, 15.0, 100.0, 5.0, 3.5) == 0.0


def test_a_pulse_warms_a_coil_by_its_energy() -> None:
    """12.8 J into 5 g of copper are 6.6 K: a fifth of a second at 33.2 K/s."""
    assert accessories.pulse_warming(16.0, 4.0, 0.2, 0.005) == pytest.approx(33.2 * 0.2, rel=0.01)


def test_known_is_a_plain_store() -> None:
    """The same look judged twice gives the same answer from what is kept."""
    kept: Known = {}
    one = look(first=datum(3.0), second=datum(1.0))

    assert judge(one, DROP, kept) == judge(one, DROP, kept)
    assert len(kept) == 1
