"""Published and computed check values, each held against the tool's own functions.

The rows, their tolerances and their sources are in `data/check-values.csv`. Every row needs a call here that
gives its value in the row's own unit from SI arguments; a row without one fails.
"""

import csv
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path

import pytest

from troubleshoot.electrics import accessories, cables, leaks, meters, packets, power, waves

_TABLE = Path(__file__).with_name("data") / "check-values.csv"
ROWS = list(csv.DictReader(_TABLE.read_text(encoding="utf-8").splitlines()))
MM2 = 1e-6
FEET_1000 = 304.8
RHO = 1.7241e-8


def _packet(turnout: int, base: int) -> float:
    return float(int.from_bytes(packets.accessory_packet(packets.output_of(turnout, base)), "big"))


def _time_us(*data: int) -> float:
    return packets.packet_time(data) * 1e6


def _awg_per_1000_feet(gauge: int) -> float:
    return cables.awg_ohms_per_metre(gauge) * FEET_1000


def _awg_warm(gauge: int) -> float:
    return cables.awg_ohms_per_metre(gauge) * 1000.0 * cables.warm_factor(55.0)


def _length(area: float, current: float = 1.0) -> float:
    return cables.permitted_length(0.5, current, area)


def _loop_drop(length: float, per_metre: float, current: float) -> float:
    return power.drop(current, cables.loop_ohms(length, per_metre))


def _far_short() -> float:
    loop = power.loop_resistance(bus=cables.loop_ohms(10.0, 8.285e-3), rail=2.0 * 0.127, contact=0.1)
    return power.short_current(15.0, loop)


def _shift() -> float:
    shifts = {packets.numbering_shift(t) for t in range(1, 2041)}
    return float(shifts.pop()) if len(shifts) == 1 else float("nan")


def _iacs(percent: float) -> float:
    return cables.resistivity_from_conductivity(percent) / MM2


def _narrow(bandwidth: float) -> float:
    return meters.rms_factor(8621.0, bandwidth)


_PACKET = "accessory packet turnout {}, base-{} numbering, output 0, on"
CALLS: Mapping[str, Callable[[], float]] = {
    "one-bit repetition frequency": lambda: waves.bit_frequency(58e-6),
    "zero-bit frequency, nominal": lambda: waves.bit_frequency(100e-6),
    "max crossing time -4..+4 V": lambda: waves.crossing_time(8.0, 2.4e6) * 1e6,
    "idle packet duration": lambda: _time_us(0xFF, 0x00, 0xFF),
    "reset packet duration": lambda: _time_us(0, 0, 0),
    "loco 55 fwd step 6 packet error byte": lambda: float(packets.error_byte((0x37, 0x74))),
    "loco 55 packet duration": lambda: _time_us(0x37, 0x74, 0x43),
    **{_PACKET.format(t, 1): partial(_packet, t, 1) for t in (1, 4, 5, 257, 2040)},
    _PACKET.format(1, 0): partial(_packet, 1, 0),
    "decoder address for turnout 257 (base 1)": lambda: packets.output_of(257, 1).decoder,
    "pair for turnout 257": lambda: packets.output_of(257, 1).pair,
    "base-1 vs base-0 shift in turnout numbers": _shift,
    "last non-broadcast turnout, base 1": lambda: packets.last_turnout(1),
    "CV for decoder address 65: CV1": lambda: packets.decoder_cvs(65)[0],
    "CV for decoder address 65: CV9": lambda: packets.decoder_cvs(65)[1],
    "CV for output address 257: CV1": lambda: packets.output_cvs(257)[0],
    "CV for output address 257: CV9": lambda: packets.output_cvs(257)[1],
    **{f"AWG {n} resistance 20 C": partial(_awg_per_1000_feet, n) for n in range(10, 27, 2)},
    **{f"AWG {n} solid copper at 75 C": partial(_awg_warm, n) for n in (12, 14, 16, 18)},
    "AWG 18 area": lambda: cables.awg_area(18) / MM2,
    "AWG 12 diameter": lambda: cables.awg_diameter(12) * 1e3,
    **{
        f"permitted length, solid wire d = {mm:.2f} mm": partial(_length, cables.round_area(mm * 1e-3))
        for mm in (0.40, 0.80, 1.50)
    },
    **{f"permitted length, flexible wire A = {mm2:.2f} mm2": partial(_length, mm2 * MM2) for mm2 in (0.14, 0.75, 1.50)},
    "NEM 604 worked example": lambda: _length(0.20 * MM2, 1.2),
    "loop drop AWG 14, 10 m one way, 5 A": lambda: _loop_drop(10.0, cables.awg_ohms_per_metre(14), 5.0),
    "loop drop AWG 18, 5 m one way, 3 A": lambda: _loop_drop(5.0, cables.awg_ohms_per_metre(18), 3.0),
    "loop drop 2.5 mm2 class 5, 10 m one way, 5 A": lambda: _loop_drop(
        10.0, cables.most_ohms_per_metre(2.5 * MM2), 5.0
    ),
    "copper resistance factor at 50 C": lambda: cables.warm_factor(30.0),
    "nickel silver C77000 resistivity": partial(_iacs, 5.5),
    "nickel silver C75200 resistivity": partial(_iacs, 6.0),
    "nickel silver C74500 resistivity": partial(_iacs, 9.0),
    "rail growth 10 m, 20 K": lambda: cables.rail_growth(10.0, 20.0) * 1e3,
    "skin depth copper, 8.62 kHz": lambda: cables.skin_depth(8621.0, RHO) * 1e3,
    "skin depth steel, 8.62 kHz": lambda: cables.skin_depth(8621.0, 1.43e-7, 100.0) * 1e3,
    "two-wire line inductance AWG 14, 10 mm apart": lambda: (
        cables.line_inductance(10e-3, cables.awg_diameter(14)) * 1e6
    ),
    "average-responding factor on a square wave": lambda: meters.square_factor("average"),
    "average-responding reading, 15 V peak DCC": lambda: meters.reading("average", 15.0),
    "true-RMS reading, 15 V peak DCC": lambda: meters.reading("true-rms", 15.0),
    "DC reading, one half-bit stretched": lambda: meters.dc_reading(15.0, 100e-6, 1000e-6),
    "bridge + DC meter, 15 V": lambda: meters.reading("bridge", 15.0),
    "true-RMS meter, one-pole 1 kHz band, on 8.62 kHz square wave": partial(_narrow, 1e3),
    "true-RMS meter, one-pole 5 kHz band, on 8.62 kHz square wave": partial(_narrow, 5e3),
    "true-RMS meter, one-pole 10 kHz band, on 8.62 kHz square wave": partial(_narrow, 10e3),
    "true-RMS meter, one-pole 100 kHz band, on 8.62 kHz square wave": partial(_narrow, 100e3),
    "meter loading error, 1 Mohm source": lambda: meters.loading_error(1e6, 10e6),
    "LED series resistor, 12 V": lambda: accessories.lamp_resistor(12.0, 2.0, 0.010),
    "LED series resistor after bridge, 15 V DCC": lambda: accessories.lamp_resistor(15.0, 2.0, 0.010, 1.4),
    "power in 1k5 LED resistor while conducting, 15 V": lambda: accessories.resistor_heat(15.0 - 2.0, 1500.0),
    "capacitor energy": lambda: power.capacitor_energy(4700e-6, 25.0),
    "bleed time 25 V to 2 V": lambda: accessories.bleed_time(1e3, 4700e-6, 25.0, 2.0),
    "charging time constant": lambda: accessories.time_constant(100.0, 2200e-6),
    "hold-up time": lambda: accessories.hold_up_time(2200e-6, 8.0, 0.1),
    "twin-coil current": lambda: accessories.coil_current(16.0, 4.0),
    "twin-coil pulse energy": lambda: accessories.pulse_energy(16.0, 4.0, 0.2),
    "coil temperature by resistance": lambda: accessories.coil_temperature(4.0, 4.6, 20.0),
    "adiabatic heating rate": lambda: accessories.heating_rate(64.0, 5e-3),
    "stall motor power": lambda: accessories.power(12.0, 0.015),
    "Xc of 0.1 uF at 8.62 kHz": lambda: cables.capacitive_reactance(1e-7, 8621.0),
    "|Z| of 100 ohm + 0.1 uF at 8.62 kHz": lambda: cables.series_impedance(100.0, 1e-7, 8621.0),
    "snubber resistor power, 15 V square wave": lambda: waves.filter_heat(15.0, 100.0, 1e-7),
    "snubber RMS current": lambda: waves.filter_rms_current(15.0, 100.0, 1e-7),
    "axle resistor current": lambda: leaks.axle_current(15.0, 10e3) * 1e3,
    "five axles in parallel": lambda: leaks.equal_in_parallel(10e3, 5),
    "three resistors in parallel": lambda: leaks.in_parallel((4.7e3, 10e3, 22e3)),
    "prospective fault current at the far end": _far_short,
    "max loop resistance to reach a 5 A trip": lambda: power.loop_limit(15.0, 5.0, margin=1.0),
    "bad joint heat": lambda: power.joint_heat(3.0, 0.5),
    "touch current estimate": lambda: power.touch_current(22.0) * 1e3,
    "capacitance holding 350 mJ at 25 V": lambda: power.capacitance_for_energy(0.350, 25.0),
}


@pytest.mark.parametrize("row", ROWS, ids=[row["quantity"] for row in ROWS])
def test_the_tool_gives_every_check_value(row: dict[str, str]) -> None:
    """A published or computed figure comes out of the tool's own function within the row's tolerance."""
    assert row["quantity"] in CALLS, f"no call gives {row['quantity']!r}; add one to CALLS"
    text = row["expected"]
    expected = float(int(text, 16)) if text.startswith("0x") else float(text)

    actual = CALLS[row["quantity"]]()

    assert actual == pytest.approx(expected, rel=1e-12, abs=float(row["tolerance"]))


def test_every_call_belongs_to_a_row() -> None:
    """No call is left over from a row that has gone."""
    assert set(CALLS) == {row["quantity"] for row in ROWS}


def test_the_table_keeps_its_columns_and_sources() -> None:
    """Every row says its formula, inputs, source and standing."""
    assert len(ROWS) >= 88
    assert all(row[column] for row in ROWS for column in ("formula", "inputs", "source", "standing", "tolerance"))
