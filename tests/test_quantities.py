"""A figure is read as the person meant it, asked back when it has two meanings, and refused in words."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.quantities import Reading, Unreadable, read_figure, read_reading, show


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("0,4 V", "V", 0.4),
        ("1,5", "V", 1.5),
        ("1k8", "ohm", 1800),
        ("4R7", "ohm", 4.7),
        ("R47", "ohm", 0.47),
        ("3V3", "V", 3.3),
        ("10R", "ohm", 10),
        ("1.8k", "ohm", 1800),
        ("5K", "ohm", 5000),
        ("1.5M", "ohm", 1.5e6),
        ("22 milliamps", "mA", 0.022),
        ("12v", "V", 12),
        ("12VAC", "V AC", 12),
        ("12VAC", "V", 12),
        ("15.2 Vrms", "V AC", 15.2),
        ("1 800 ohm", "ohm", 1800),
        ("1\u00a0800", "ohm", 1800),
        ("1,234.5", "ohm", 1234.5),
        ("1.234,5", "ohm", 1234.5),
        ("0,234", "V", 0.234),
        ("1.234", "V", 1.234),
        ("1.5M\u03a9", "ohm", 1.5e6),
        ("1.5M\u2126", "ohm", 1.5e6),
        ("2k\u2126", "ohm", 2000),
        ("10 \u00b5F", "nF", 1e-5),
        ("10 \u03bcF", "nF", 1e-5),
        ("\uff11\uff12 V", "V", 12),
        ("2.9", "mA", 0.0029),
        ("2.9k", "ohm", 2900),
        ("22m", "mA", 0.022),
        ("3 kilohms", "ohm", 3000),
        ("2 megohm", "ohm", 2e6),
        ("2 MOHM", "ohm", 2e6),
        ("5 milliohm", "ohm", 0.005),
        ("\u22123 V", "V", -3),
        ("-5", "C", -5),
        ("77 F", "C", 25),
        ("3", "min", 180),
        ("5 min", "s", 300),
        ("0.1 in", "mm", 0.00254),
        ("14,5", "mm", 0.0145),
        ("50", "pF/m", 50e-12),
        ("50 pF per metre", "pF/m", 50e-12),
        ("45%", "%", 45),
        ("3 times", "count", 3),
        ("2n2", "nF", 2.2e-9),
        ("1e3", "ohm", 1000),
        ("22 mA~", "mA AC", 0.022),
        ("12 volts.", "V", 12),
    ],
)
def test_readings_are_read_as_meant(text: str, unit: str, value: float) -> None:
    """What people type for a reading gives the SI value they mean, without a bound."""
    reading = read_reading(text, unit)

    assert math.isclose(reading.value, value, rel_tol=1e-12)
    assert not reading.bound
    assert not reading.over_range
    assert reading.said == text


@pytest.mark.parametrize(
    "text", ["OL", "0L", "O.L", "0.L", "o.l.", "ol", "Overload", "open", "over range", "OL MΩ", "OL kohm"]
)
def test_over_range_is_no_number(text: str) -> None:
    """However a meter or a person writes it, over range is kept apart from every figure."""
    assert read_reading(text, "ohm") == Reading(math.inf, "ohm", "", True, text)


@pytest.mark.parametrize(
    ("text", "bound", "value"),
    [
        (">20M", ">", 2e7),
        ("over 20M", ">", 2e7),
        ("≥ 20 M", ">", 2e7),
        ("<1 ohm", "<", 1),
        ("less than 1", "<", 1),
        ("~3k", "~", 3000),
        ("about 3k", "~", 3000),
        ("ca. 3k", "~", 3000),
        ("≈3k", "~", 3000),
    ],
)
def test_bounds_are_kept(text: str, bound: str, value: float) -> None:
    """Above, below and about are part of the reading."""
    reading = read_reading(text, "ohm")

    assert (reading.bound, reading.value) == (bound, value)


@pytest.mark.parametrize(
    ("text", "unit", "asked"),
    [
        ("1,234", "ohm", "1234"),
        ("12,000 V", "V", "12.000"),
        ("5 m", "ohm", "milliohm"),
        ("5m", "ohm", "M for millions"),
        ("5 mohm", "ohm", "milliohm"),
        ("1m5", "ohm", "milliohm"),
        ("22 MA", "mA", "mA"),
        ("5 MV", "V", "mV"),
        ("5 m", "s", "min"),
        ("3 MM", "mm", "small m"),
        ("1.", "ohm", "OL"),
        ("4700 MFD", "nF", "uF"),
    ],
)
def test_two_meanings_are_asked_back(text: str, unit: str, asked: str) -> None:
    """Where a factor of a thousand or more hangs on a guess, there is no guess."""
    with pytest.raises(Unreadable) as caught:
        read_reading(text, unit)

    assert caught.value.ask is not None
    assert asked in caught.value.ask


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("beep", "ohm", "beep"),
        ("nan", "ohm", "OL"),
        ("inf", "ohm", "OL"),
        ("-inf", "V", "OL"),
        ("12 A", "V", "amperes; volts are wanted"),
        ("5 ohm", "mA", "ohms"),
        ("1k8 V", "ohm", "volts"),
        ("4R7", "V", "ohms"),
        ("12 VDC", "V AC", "dial"),
        ("15 Vpp", "V AC", "peak"),
        ("-3", "ohm", "below zero"),
        ("-3 V", "V AC", "below zero"),
        ("9" * 5000, "ohm", "too long"),
        ("9" * 50, "ohm", "more than any meter"),
        ("1e99", "ohm", "more than any meter"),
        ("10-20", "ohm", "more than one figure"),
        ("10 to 20 V", "V", "more than one figure"),
        ("10..20", "V", "more than one figure"),
        ("12±1", "V", "more than one figure"),
        ("12 34", "ohm", "not one figure"),
        ("1:30", "min", "90 s"),
        ("3.5", "count", "whole"),
        ("OL", "count", "no figure"),
        ("3 furlongs", "mm", "not known"),
        ("5u", "ohm", "does not go with"),
        ("", "ohm", "nothing is typed"),
        ("   ", "ohm", "nothing is typed"),
        ("quite a lot", "ohm", "no figure"),
        ("3²", "ohm", "sign ²"),
        ("²", "V", "sign ²"),
        ("1½", "V", "sign ½"),
        ("①2", "mA", "sign ①"),
        ("3 V²", "V", "not known"),
    ],
)
def test_what_is_no_reading_is_refused_in_words(text: str, unit: str, words: str) -> None:
    """A refusal says why, asks nothing, and is short whatever was typed."""
    with pytest.raises(Unreadable) as caught:
        read_reading(text, unit)

    assert words in caught.value.reason
    assert caught.value.ask is None
    assert len(caught.value.reason) < 250


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("15 V", "V", 15),
        ("2.5 mm2", "m2", 2.5e-6),
        ("0,5 mm²", "m2", 0.5e-6),
        ("14 AWG", "m2", 2.0809e-6),
        ("AWG 14", "m2", 2.0809e-6),
        ("6 m", "m", 6),
        ("60 cm", "m", 0.6),
        ("200 ms", "s", 0.2),
        ("1 h", "s", 3600),
        ("10 kohm", "ohm", 1e4),
        ("20 M", "ohm", 2e7),
        ("3 mA", "A", 0.003),
        ("50 pF/m", "F/m", 50e-12),
        ("10 nF", "F", 10e-9),
        ("4700 uF", "F", 4.7e-3),
        ("25 C", "degC", 25),
        ("400 Hz", "Hz", 400),
        ("3", "count", 3),
        ("0.2 N", "N", 0.2),
        ("40 g", "kg", 0.04),
    ],
)
def test_figures_of_a_record(text: str, dimension: str, value: float) -> None:
    """A layout record may write its figures in the units that people use."""
    assert math.isclose(read_figure(text, dimension), value, rel_tol=1e-4)


@pytest.mark.parametrize(
    ("text", "dimension", "words"),
    [
        ("15", "V", "no unit"),
        ("2.5", "m2", "no unit"),
        ("1.5 mm2", "m", "an area; a length is wanted"),
        ("OL", "ohm", "no figure"),
        (">3 V", "V", "figure"),
        ("60 AWG", "m2", "gauges"),
        ("5 mohm", "ohm", "millions"),
    ],
)
def test_odd_figures_of_a_record_are_refused(text: str, dimension: str, words: str) -> None:
    """A record needs a unit and one plain figure."""
    with pytest.raises(Unreadable, match=words):
        read_figure(text, dimension)


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        (2900, "ohm", "2.9 kohm"),
        (0.022, "A", "22 mA"),
        (0.022, "mA AC", "22 mA AC"),
        (0.4, "V", "0.4 V"),
        (0.04, "V", "40 mV"),
        (999.6, "ohm", "1 kohm"),
        (0.05, "ohm", "0.05 ohm"),
        (1234567, "ohm", "1.23 Mohm"),
        (0, "V", "0 V"),
        (-0.0001, "A", "-100 uA"),
        (0.0145, "mm", "14.5 mm"),
        (0.6, "m", "60 cm"),
        (2.5e-6, "m2", "2.5 mm2"),
        (4.7e-3, "F", "4700 uF"),
        (50e-12, "pF/m", "50 pF/m"),
        (0.2, "ms", "200 ms"),
        (300, "s", "5 min"),
        (25.04, "C", "25 C"),
        (45, "%", "45 %"),
        (1234, "count", "1234"),
        (math.inf, "ohm", "OL"),
        (0.0181, "ohm/m", "18.1 mohm/m"),
    ],
)
def test_values_are_shown_for_people(value: float, unit: str, expected: str) -> None:
    """A value is shown with a fitting prefix and at most three figures."""
    assert show(value, unit) == expected


def test_nan_is_never_shown() -> None:
    """Nan would be a fault of the program, so it is not dressed up as a reading."""
    with pytest.raises(ValueError, match="nan"):
        show(math.nan, "V")


UNITS = [
    "ohm",
    "kohm",
    "V",
    "V AC",
    "mV",
    "A",
    "mA",
    "mA AC",
    "nF",
    "uF",
    "mm",
    "m",
    "s",
    "ms",
    "min",
    "Hz",
    "W",
    "N",
    "pF/m",
]


@given(st.floats(1e-9, 1e9), st.sampled_from(UNITS))
def test_what_is_shown_can_be_typed_again(value: float, unit: str) -> None:
    """Shown and typed again, a value is itself within its three figures."""
    again = read_reading(show(value, unit), unit)

    assert math.isclose(again.value, value, rel_tol=0.00501)
    assert show(again.value, unit) == show(value, unit)


@given(st.floats(-500, 500), st.sampled_from(["V", "V DC", "A", "mA", "C"]))
def test_signed_values_can_be_typed_again(value: float, unit: str) -> None:
    """Readings that may be below zero keep their sign."""
    assert math.isclose(read_reading(show(value, unit), unit).value, value, rel_tol=0.00501, abs_tol=1e-11)


@given(st.integers(0, 10**6))
def test_counts_can_be_typed_again(count: int) -> None:
    """A count is shown whole."""
    assert read_reading(show(count, "count"), "count").value == count


@given(
    st.text(max_size=80) | st.text("0123456789.,-+ kKmMRrVAΩuFeE<>~OL'/", max_size=20),
    st.sampled_from([*UNITS, "C", "%", "count"]),
)
def test_any_text_is_read_or_refused(text: str, unit: str) -> None:
    """No text fails with anything but Unreadable, and no figure is nan or out of all bounds."""
    try:
        reading = read_reading(text, unit)
    except Unreadable as refused:
        assert refused.reason
    else:
        assert reading.over_range == math.isinf(reading.value)
        assert reading.over_range or abs(reading.value) <= 1e15


def test_a_unit_that_no_question_has_is_a_fault_of_the_program() -> None:
    """An unknown unit of a question is named at once."""
    with pytest.raises(KeyError, match="furlong"):
        read_reading("3", "furlong")
