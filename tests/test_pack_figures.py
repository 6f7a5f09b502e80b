"""Figures that the rules print, and tables they rest on, held against published values and reckoned anew.

Sources: NMRA S-9.1, S-9.2.1, S-9.2.2, S-9.2.3, S-3.2, S-4.2; NEM 310; IEC 60228 (2004) in agreeing copies; NFPA 70
chapter 9 table 8; two published tables of wire by gauge; RS-485 in general texts; the rest is textbook arithmetic.
"""

import math
import re
from collections.abc import Callable
from functools import lru_cache

import pytest

from troubleshoot.electrics import accessories, cables, leaks, meters, packets, power, waves, wheels
from troubleshoot.inquiry import edges
from troubleshoot.layout import EMPTY, Place
from troubleshoot.quality.language import texts
from troubleshoot.rulebook import Rulebook, load

MM, MM2, INCH, FEET_1000 = 1e-3, 1e-6, 25.4e-3, 304.8


@lru_cache(maxsize=1)
def core() -> Rulebook:
    """The core rules."""
    return load()


@lru_cache(maxsize=1)
def said() -> dict[tuple[str, str], str]:
    """Every text of the core rules by entry and field."""
    return {(t.entry, t.field): " ".join(t.says.split()) for t in texts(core(), "core")}


def _coil_share(area: float) -> float:
    """Share of a capacitor's energy that reaches a 6 ohm coil over 8 m, in per cent."""
    return 100.0 * 6.0 / (6.0 + cables.loop_ohms(8.0, cables.ohms_per_metre(area)))


def _pulled_up(leak: float) -> float:
    """Share of its supply that an input keeps against a leak in ohms, pulled up by 4.7 kohm."""
    return leak / (leak + 4700.0)


# Entry, field, what stands there with the figure in brackets, what it comes to, and how far it may be rounded.
FIGURES: tuple[tuple[str, str, str, Callable[[], float], float], ...] = (
    ("held-load", "how", r"so ([\d.]+) kohm at 15 V and 3 mA", lambda: leaks.load_seen(15.0, 3e-3) / 1e3, 0.1),
    ("known-load-test", "how", r"that is ([\d.]+) kohm", lambda: leaks.load_seen(15.0, 3e-3) / 1e3, 0.1),
    ("known-load-test", "how", r"and ([\d.]+) kohm", lambda: leaks.load_unseen(15.0, 3e-3) / 1e3, 0.1),
    ("discharge-unit-volts", "how", r"([\d.]+) V on 16 V AC", lambda: 16.0 * math.sqrt(2.0) - 1.4, 0.5),
    (
        "discharge-unit-volts",
        "how",
        r"100 ohm give ([\d.]+) s",
        lambda: 3.0 * accessories.time_constant(100.0, 4700e-6),
        0.05,
    ),
    ("fit-a-unit-with-cut-off", "do", r"33 and 6 ohm is (half) an ampere", lambda: 20.0 / (33.0 + 6.0), 0.05),
    (
        "mend-or-enlarge-the-discharge-unit",
        "do",
        r"hold ([\d.]+) J",
        lambda: power.capacitor_energy(4700e-6, 22.0),
        0.05,
    ),
    ("thicken-the-coil-wire", "do", r"keeps (\d+) % of the energy on 0.2 mm2", lambda: _coil_share(0.2 * MM2), 1.0),
    ("thicken-the-coil-wire", "do", r"and (\d+) % on 1.3 mm2", lambda: _coil_share(1.3 * MM2), 1.0),
    ("feed-the-slow-motor-properly", "do", r"takes ([\d.]+) mA stalled", lambda: 12.0 / 650.0 * 1e3, 0.1),
    ("feed-the-slow-motor-properly", "do", r"only (\d+) mA are left", lambda: (12.0 - 2.0) / 650.0 * 1e3, 0.5),
    ("fit-charge-limiters", "do", r"near ([\d.]+) A", lambda: 15.0 / 100.0, 0.01),
    ("rail-volts-difference", "remark different", r"about ([\d.]+) A", lambda: 15.0 / 30.0 / 0.3, 0.05),
    (
        "loose-pair-behind-the-detector",
        "do",
        r"pass about ([\d.]+) mA at 15 V",
        lambda: waves.average_capacitance_current(15.0, 20.0 * 100e-12, waves.edges_per_second()) * 1e3,
        0.1,
    ),
    ("feeder-capacitance-measured", "how", r"which is (\d+) pF/m", lambda: 1.2e-9 / 20.0 * 1e12, 0.5),
    ("data-pair-ohms", "how", r"read (\d+) together", lambda: leaks.equal_in_parallel(120.0, 2), 0.5),
    ("data-pair-ohms", "how", r"three (\d+)", lambda: leaks.equal_in_parallel(120.0, 3), 0.5),
    ("set-the-end-resistors", "do", r"reads about (\d+) ohm", lambda: leaks.equal_in_parallel(120.0, 2), 0.5),
    ("answer-in-the-lead", "how", r"shows as (\d+) mV", lambda: 60e-3 * 1.0 * 1e3, 0.5),
    ("send-commands-twice", "do", r"sent once, up to (five) in a hundred", lambda: 100.0 * 0.05, 0.1),
    ("send-commands-twice", "do", r"sent twice one in (four hundred)", lambda: 1.0 / 0.05**2, 1.0),
)
_SPOKEN = {"half": 0.5, "five": 5.0, "four hundred": 400.0}


@pytest.mark.parametrize(("entry", "field", "stands", "comes_to", "within"), FIGURES)
def test_a_figure_in_the_rules_is_what_it_comes_to(
    entry: str, field: str, stands: str, comes_to: Callable[[], float], within: float
) -> None:
    """A figure printed in a text agrees with the tool's own function or plain arithmetic."""
    found = re.search(stands, said()[f"core/{entry}", field])

    assert found, f"{entry}, {field}: {stands!r} is not there any more"
    figure = _SPOKEN[found[1]] if found[1] in _SPOKEN else float(found[1])
    assert figure == pytest.approx(comes_to(), abs=within)


@pytest.mark.parametrize(("volts", "watts"), [(12.0, 2.0), (15.0, 2.0), (18.0, 5.0), (22.0, 5.0)])
def test_the_filter_resistor_stands_twice_its_heat(volts: float, watts: float) -> None:
    """The watts that remedies name, 2 W up to 15 V and 5 W above, are twice what 100 ohm and 0.1 uF turn into heat."""
    told = said()["core/renew-the-filter", "do"]

    assert "2 W up to 15 V on the track and 5 W above" in told
    assert watts >= 2.0 * waves.filter_heat(volts, 100.0, 1e-7)


def test_every_pair_of_square_millimetres_and_gauge_number_means_one_wire() -> None:
    """Where a text gives mm2 and a gauge number, they are within a quarter of each other."""
    pairs = [m.groups() for t in said().values() for m in re.finditer(r"([\d.]+) mm2 \((\d+) AWG\)", t)]

    assert len(pairs) >= 6
    for mm2, gauge in pairs:
        assert 0.8 <= cables.awg_area(int(gauge)) / (float(mm2) * MM2) <= 1.25, (mm2, gauge)


def test_the_input_levels_that_remedies_promise() -> None:
    """An 11 kohm leak leaves 70 % of the supply by a 4.7 kohm pull-up; 900 ohm pulls 2.2 kohm below 30 %."""
    assert "as low as 11 kohm" in said()["core/give-the-input-clear-levels", "do"]
    assert "below 900 ohm" in said()["core/fit-a-gold-contact", "do"]
    assert _pulled_up(11e3) >= 0.70 > _pulled_up(10e3)
    assert 900.0 / (900.0 + 2200.0) < 0.30 < 1000.0 / (1000.0 + 2200.0)


def test_the_first_turnout_that_needs_a_high_part() -> None:
    """Above 252, with numbering from decoder 1, an address no longer fits into six bits (S-9.2.1, S-9.2.2)."""
    high = [t for t in range(1, 2041) if packets.decoder_cvs(packets.output_of(t, 1).decoder)[1] > 0]

    assert "core/number-above-252" in core().checks
    assert "253 to 256" in said()["core/number-above-252", "how"]
    assert (high[0], packets.output_of(253, 1).decoder) == (253, 64)


def test_the_example_of_a_split_number() -> None:
    """Decoder 76 holds turnouts 301 to 304 and is stored as 1 and 12 (S-9.2.2)."""
    told = said()["core/write-both-parts-of-the-number", "do"]

    assert "decoder 76 holds turnouts 301 to 304" in told
    assert "write 1 and 12" in told
    assert packets.turnouts_of(76) == (301, 302, 303, 304)
    assert packets.decoder_cvs(76) == (12, 1)


def test_the_numbers_walked_through_are_those_that_can_answer_instead() -> None:
    """Four off for another base and 256 off for a lost high part: what the walk tries (S-9.2.1)."""
    told = said()["core/which-number-moves-the-turnout", "how"]
    instead = packets.answers_instead(300)

    assert {abs(300 - n) for n in instead.values()} == {4, 256}
    assert all(f"T{sign}{n}" in told for n in (4, 256) for sign in "+-")


def test_the_bits_of_setting_29() -> None:
    """Direction 1, steps 2, analogue 4, speed curve 16, long number 32; accessory decoder mode 64 (S-9.2.2, CV29)."""
    told = said()["core/settings-read-from-it", "how"]

    assert all(word in told for word in ("1-bit turns direction", "2-bit means 28 or 128", "16-bit a speed curve"))
    assert "32-bit a long number" in told
    assert "4-bit" in said()["core/analogue-setting-read", "asks"]
    assert "Bit 6, worth 64" in said()["core/decoder-address-mode", "how"]
    assert [1 << bit for bit in (0, 1, 2, 4, 5, 6)] == [1, 2, 4, 16, 32, 64]


def test_programming_by_the_standard() -> None:
    """At least 60 mA answer, and more than 250 mA for 100 ms is too much (S-9.2.3); 100 ohm draws enough at 12 V."""
    assert "below 60 mA" in said()["core/answer-in-the-lead", "choice too-small-steps"]
    assert "Over 250 mA that stays on for a tenth" in said()["core/answer-in-the-lead", "choice far-too-much"]
    assert 60e-3 <= 12.0 / 100.0 <= 250e-3


def test_the_end_resistors_part_one_two_and_three() -> None:
    """The band called right holds two resistors of 120 ohm and neither one nor three (RS-485)."""
    check = core().checks["core/data-pair-ohms"]
    bounds = edges(EMPTY, check, Place("control-bus", "the bus")).edges
    band = [check.outcomes[sum(ohms > e for e in bounds)] for ohms in (120.0, 60.0, 40.0)]

    assert band == ["too-high", "right", "too-low"]


@pytest.mark.parametrize(("millimetres", "band"), [(14.2, "narrow"), (14.4, "right"), (14.55, "right"), (14.7, "wide")])
def test_wheel_backs_of_ho_by_both_standards(millimetres: float, band: str) -> None:
    """Narrow is under the NMRA least of .566 in; wide is over the NEM 310 most of 14.6 mm."""
    check = core().checks["core/wheel-back-to-back"]
    bounds = edges(EMPTY, check, Place("vehicle", "the vehicle")).edges

    assert bounds[0] == pytest.approx(0.566 * INCH, abs=0.01 * MM)
    assert check.outcomes[sum(millimetres * MM > e for e in bounds)] == band


# NMRA S-4.2: back-to-back least and tyre width least in inches; S-3.2: check gauge in inches.
NMRA = {"O": (1.118, 4.37, 29.9), "S": (0.800, 2.74, 21.32), "HO": (0.566, 2.74, 15.4), "TT": (0.407, 1.96, 11.1),
        "N": (0.297, 1.80, 8.20), "Z": (0.218, 1.35, 5.99)}  # fmt: skip
# NEM 310 (2009): gauge, back-to-back least and most, in millimetres.
NEM = {"Z": (6.5, 5.25, 5.5), "N": (9.0, 7.4, 7.6), "TT": (12.0, 10.2, 10.4), "HO": (16.5, 14.4, 14.6)}


@pytest.mark.parametrize("scale", sorted(NMRA))
def test_wheel_limits_lie_with_the_published_ones(scale: str) -> None:
    """No limit is stricter than the laxer of the two standards, and tyres and check gauge are the printed ones."""
    least, tyre, check_gauge = NMRA[scale]
    gauge = wheels.gauge_of(scale)
    floor = min([least * INCH] + ([NEM[scale][1] * MM] if scale in NEM else []))

    assert gauge.back_to_back_least == pytest.approx(floor, abs=0.03 * MM)
    assert gauge.tyre == pytest.approx(tyre * MM)
    assert gauge.check_gauge == pytest.approx(check_gauge * MM, abs=0.1 * MM)
    if scale in NEM:
        assert gauge.gauge == pytest.approx(NEM[scale][0] * MM)
        assert gauge.back_to_back_most == pytest.approx(NEM[scale][2] * MM)


# Two published tables of copper wire by gauge, ohms per 1000 ft at 20 C.
BY_GAUGE = {10: 1.0, 11: 1.26, 12: 1.588, 13: 2.003, 14: 2.525, 15: 3.184, 16: 4.016, 17: 5.064, 18: 6.385, 19: 8.051,
            20: 10.15, 21: 12.8, 22: 16.14, 23: 20.36, 24: 25.67, 25: 32.37, 26: 40.81}  # fmt: skip


@pytest.mark.parametrize("gauge", BY_GAUGE)
def test_wire_by_gauge_number_follows_the_published_tables(gauge: int) -> None:
    """The formula of the gauge gives the tables to half a per cent, and NFPA 70 table 8 when warm."""
    per_metre = cables.awg_ohms_per_metre(gauge)

    assert per_metre * FEET_1000 == pytest.approx(BY_GAUGE[gauge], rel=5e-3)
    warm = {18: 25.5, 16: 16.0, 14: 10.1, 12: 6.34}
    if gauge in warm:
        assert per_metre * 1e3 * cables.warm_factor(55.0) == pytest.approx(warm[gauge], rel=1e-2)


# IEC 60228 (2004), greatest ohm/km of plain and tinned copper at 20 C: classes 1 and 2, class 5.
IEC = {0.5: (36.0, 39.0, 36.7, 40.1), 0.75: (24.5, 26.0, 24.8, 26.7), 1.0: (18.1, 19.5, 18.2, 20.0),
       1.5: (12.1, 13.3, 12.2, 13.7), 2.5: (7.41, 7.98, 7.56, 8.21), 4.0: (4.61, 4.95, 4.70, 5.09)}  # fmt: skip


@pytest.mark.parametrize("size", IEC)
def test_the_greatest_ohms_of_a_cable_are_the_printed_ones(size: float) -> None:
    """What a cable may have at most is the standard's figure for its size and kind."""
    kinds = ("solid", "flexible", "tinned-solid", "tinned-flexible")
    ohms = tuple(cables.most_ohms_per_metre(size * MM2, kind) * 1e3 for kind in kinds)

    assert ohms == pytest.approx(IEC[size])


def test_a_half_bit_and_its_frequency() -> None:
    """58 us for a one and 100 us for a zero (S-9.1 table 1): 8.62 kHz, and an averaging meter shows 1.11 of it."""
    assert pytest.approx(2 * 58e-6) == packets.ONE_BIT
    assert pytest.approx(2 * 100e-6) == packets.ZERO_BIT
    assert waves.bit_frequency(58e-6) == pytest.approx(8621.0, abs=1.0)
    assert meters.square_factor("average") == pytest.approx(math.pi / (2.0 * math.sqrt(2.0)))
    assert "about a tenth too high" in said()["core/one-meter-compares", "do"]
