"""What meters show of the track signal: by kind, by bandwidth, and where neither is known."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.electrics import meters, waves

bands = st.floats(100.0, 1e6)


@pytest.mark.parametrize(
    ("volts", "shown"), [(12.0, 13.33), (14.0, 15.55), (15.0, 16.66), (18.0, 19.99), (22.0, 24.44)]
)
def test_an_average_meter_of_good_bandwidth_shows_a_ninth_more(volts: float, shown: float) -> None:
    """An average-responding meter reads a square wave 11 % high."""
    assert meters.reading("average", volts) == pytest.approx(shown, abs=0.01)


def test_kinds_of_meter() -> None:
    """True RMS shows the volts, DC nothing, a bridge two diodes less."""
    assert meters.reading("true-rms", 15.0) == 15.0
    assert meters.reading("dc", 15.0) == 0.0
    assert meters.bridge_reading(15.0, 0.35) == pytest.approx(14.3)


@pytest.mark.parametrize(
    ("bandwidth", "rms_zeros", "rms_ones", "average_zeros", "average_ones"),
    [
        (1e3, 0.178, 0.105, 0.172, 0.101),
        (5e3, 0.645, 0.456, 0.651, 0.448),
        (10e3, 0.826, 0.692, 0.866, 0.704),
        (20e3, 0.917, 0.852, 0.988, 0.900),
        (100e3, 0.984, 0.972, 1.086, 1.068),
    ],
)
def test_bandwidth_of_both_kinds(
    bandwidth: float, rms_zeros: float, rms_ones: float, average_zeros: float, average_ones: float
) -> None:
    """The one-pole model at all zeros and at all ones, as tabled."""
    shown = [
        meters.factor_at(kind, bandwidth, frequency)
        for kind in ("true-rms", "average")
        for frequency in (waves.ALL_ZEROS, waves.ALL_ONES)
    ]

    assert shown == pytest.approx([rms_zeros, rms_ones, average_zeros, average_ones], abs=0.0015)


@given(bands)
def test_the_closed_form_is_the_sum_over_harmonics(bandwidth: float) -> None:
    """The true-RMS factor equals the textbook sum over odd harmonics."""
    total = sum(
        (4.0 / (math.pi * n * math.sqrt(2.0))) ** 2 / (1.0 + (n * waves.ALL_ONES / bandwidth) ** 2)
        for n in range(1, 4001, 2)
    )

    assert meters.rms_factor(waves.ALL_ONES, bandwidth) == pytest.approx(math.sqrt(total), rel=1e-3)


@given(bands, st.sampled_from(["average", "true-rms"]))
def test_more_bandwidth_never_shows_less(bandwidth: float, kind: str) -> None:
    """A better meter shows more, up to its factor for a square wave."""
    shown = meters.factor_at(kind, bandwidth)

    assert shown <= meters.factor_at(kind, bandwidth * 1.5) + 1e-12
    assert shown <= meters.square_factor(kind) + 1e-12


def test_a_one_kilohertz_average_meter_shows_a_tenth() -> None:
    """The cheap hand meter is out by ten, within the range of ones and zeros."""
    factor = meters.shown_factor("average", 1e3)

    assert factor.value == pytest.approx(0.1, abs=0.005)
    assert factor.low <= factor.value <= factor.high < 0.2


@pytest.mark.parametrize("kind", ["average", "true-rms", "unknown", "none", None])
def test_an_unknown_bandwidth_is_a_wide_range(kind: str | None) -> None:
    """Anything between a 400 Hz meter and a perfect one must be allowed for."""
    factor = meters.shown_factor(kind, None)

    assert factor.high / factor.low > 10.0
    assert factor.value == pytest.approx(math.sqrt(factor.low * factor.high))


@given(st.sampled_from(["average", "true-rms", "unknown"]), st.none() | bands)
def test_the_likely_factor_lies_in_its_range(kind: str, bandwidth: float | None) -> None:
    """Low, value and high come in this order."""
    factor = meters.shown_factor(kind, bandwidth)

    assert factor.low <= factor.value <= factor.high


def test_true_volts_behind_a_reading() -> None:
    """A reading of 1.5 V on a 1 kHz average meter is about 15 V, and no less than 8 V."""
    low, high = meters.true_volts(1.5, meters.shown_factor("average", 1e3))

    assert low == pytest.approx(8.7, abs=0.2)
    assert high == pytest.approx(14.8, abs=0.2)


@pytest.mark.parametrize(("source", "error"), [(1e6, 0.091), (100e3, 0.0099), (10e3, 0.001)])
def test_meters_load_what_they_measure(source: float, error: float) -> None:
    """A 10 Mohm meter reads low behind a high resistance."""
    assert meters.loading_error(source) == pytest.approx(error, rel=0.01)
