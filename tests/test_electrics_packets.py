"""Turnout numbers, addresses and packets, both ways of counting, and wheels where they meet a turnout."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.electrics import packets, wheels
from troubleshoot.electrics.packets import Output

MM = 1e-3
decoders = st.integers(0, 511)
bases = st.sampled_from([0, 1])


@pytest.mark.parametrize(
    ("decoder", "first", "last"), [(1, 1, 4), (2, 5, 8), (6, 21, 24), (57, 225, 228), (510, 2037, 2040)]
)
def test_the_four_turnouts_of_a_decoder(decoder: int, first: int, last: int) -> None:
    """Counted from decoder 1, each address has four numbers."""
    assert packets.turnouts_of(decoder) == tuple(range(first, last + 1))


@given(bases, st.data())
def test_numbers_go_there_and_back(base: int, data: st.DataObject) -> None:
    """Every usable number has one output, and that output has that number."""
    turnout = data.draw(st.integers(1, packets.last_turnout(base)))
    at = packets.output_of(turnout, base)

    assert packets.turnout_of(at.decoder, at.pair, base) == turnout


@pytest.mark.parametrize(("turnout", "base"), [(0, 1), (2041, 1), (2045, 0), (-3, 1)])
def test_numbers_that_no_decoder_can_have(turnout: int, base: int) -> None:
    """Below 1 and at the broadcast address there is no turnout."""
    with pytest.raises(ValueError, match="no decoder can have"):
        packets.output_of(turnout, base)


def test_the_last_numbers_of_both_ways_of_counting() -> None:
    """2040 from decoder 1, 2044 from decoder 0."""
    assert [packets.last_turnout(base) for base in (1, 0)] == [2040, 2044]


@given(decoders, st.integers(0, 3), st.integers(0, 1), st.booleans())
def test_packets_go_there_and_back(decoder: int, pair: int, output: int, on: bool) -> None:
    """What is packed is read again."""
    at = Output(decoder, pair, output)

    assert packets.read_accessory_packet(packets.accessory_packet(at, on)) == at


@pytest.mark.parametrize(("decoder", "first", "second"), [(1, 0x81, 0xF9), (6, 0x86, 0xF9), (64, 0x80, 0xE9)])
def test_bytes_of_known_packets(decoder: int, first: int, second: int) -> None:
    """The second output of the first pair, switched on."""
    assert packets.accessory_packet(Output(decoder, 0, 1))[:2] == bytes((first, second))


@pytest.mark.parametrize("packet", [(0x81, 0xF8), (0x37, 0x74, 0x43), (0x81, 0xF8, 0x00)])
def test_what_is_no_accessory_packet(packet: tuple[int, ...]) -> None:
    """Other packets and damaged ones are refused."""
    with pytest.raises(ValueError, match=r"accessory packet|error byte"):
        packets.read_accessory_packet(packet)


def test_the_broadcast() -> None:
    """Address 511 is the packet that every accessory decoder hears."""
    assert packets.accessory_packet(Output(packets.BROADCAST, 0, 0))[:2] == bytes((0xBF, 0x88))


@given(decoders)
def test_addresses_split_into_two_settings_and_back(decoder: int) -> None:
    """CV1 and CV9 together give the address again."""
    assert packets.decoder_from_cvs(*packets.decoder_cvs(decoder)) == decoder


def test_an_address_above_63_written_to_one_setting_alone() -> None:
    """70 in CV1 alone is decoder 6, turnouts 21 to 24."""
    assert packets.decoder_cvs(70) == (6, 1)
    assert packets.turnouts_of(packets.decoder_from_cvs(70, 0)) == (21, 22, 23, 24)


def test_what_answers_instead() -> None:
    """Wrong base: four off. High bits lost: 256 off."""
    assert packets.answers_instead(300) == {"base-lower": 296, "base-higher": 304, "high-bits-lost": 44}


@given(st.lists(st.integers(0, 255), min_size=2, max_size=5), st.integers(14, 30))
def test_packet_times(data: list[int], preamble: int) -> None:
    """All bits are counted, and a packet lasts between all ones and all zeros."""
    ones, zeros = packets.bits(data, preamble)

    assert ones + zeros == preamble + 1 + 9 * len(data)
    assert (ones + zeros) * 116e-6 <= packets.packet_time(data, preamble) <= (ones + zeros) * 200e-6


def test_wheel_margins_in_ho() -> None:
    """Guard span, frog and open blade at the limits of the standard."""
    assert wheels.guard_span_margin(14.38 * MM, 15.37 * MM, 1.27 * MM) == pytest.approx(0.28 * MM)
    assert wheels.frog_margin(14.38 * MM, 0.76 * MM, 15.37 * MM) == pytest.approx(0.23 * MM)
    assert wheels.frog_margin(14.65 * MM, 0.76 * MM, 15.37 * MM) < 0.0


@pytest.mark.parametrize(
    ("back", "gauge", "reach"),
    [(14.38, 16.5, 1.41), (14.38, 16.8, 1.71), (14.0, 16.5, 1.79), (14.0, 16.8, 2.09)],
)
def test_how_near_a_wheel_back_comes(back: float, gauge: float, reach: float) -> None:
    """Narrow wheels and wide track bring the wheel back to the open blade."""
    assert wheels.wheel_back_reach(gauge * MM, back * MM, 0.71 * MM) == pytest.approx(reach * MM)

    margin = wheels.open_blade_margin(2.0 * MM, gauge * MM, back * MM, 0.71 * MM)

    assert margin == pytest.approx((2.0 - reach) * MM)


def test_tyres_over_a_frog() -> None:
    """A standard tyre bridges rails that are nearer than 2 mm."""
    assert wheels.tyre_bridges(1.9 * MM, 2.74 * MM, 0.7 * MM)
    assert not wheels.tyre_bridges(2.1 * MM, 2.74 * MM, 0.7 * MM)


@pytest.mark.parametrize("scale", list(wheels.GAUGES))
def test_limits_of_every_scale_hang_together(scale: str) -> None:
    """Least lies below most, wheels fit the track and gaps have a width."""
    gauge = wheels.gauge_of(scale)

    assert gauge.back_to_back_least < gauge.back_to_back_most < gauge.gauge < gauge.gauge_most
    assert wheels.guard_span_margin(gauge.back_to_back_least, gauge.check_gauge, gauge.flangeway) > 0.0
    assert wheels.least_gap(scale) > 0.0
    assert wheels.most_stagger(scale) <= 1.0 * MM


def test_oo_shares_the_track_of_ho() -> None:
    """A scale without limits of its own takes those of HO."""
    assert wheels.gauge_of("OO") == wheels.gauge_of("HO")
