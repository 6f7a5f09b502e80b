"""An independent circuit simulator (ngspice) as a witness: a netlist goes out as a deck, node volts come back.

Only the tests use it. Nothing of how the tool solves a circuit is shared with it but the list of parts.
"""

import re
import shutil
import subprocess
import tempfile
from pathlib import Path

from troubleshoot.circuit.parts import EARTH, STRAY_OHMS, Netlist
from troubleshoot.circuit.solving import Meter

FOUND = shutil.which("ngspice")
ABSENT = "the circuit simulator ngspice is not installed here"


PATIENCE = 3.0
"""Seconds after which the simulator is taken to find no rest: it steps sources of some diode circuits for ever."""


class NoRest(Exception):
    """The simulator came to no result."""


def _lines(net: Netlist, meter: Meter | None, number: dict[str, int], square: float) -> list[str]:
    """The parts of a deck; with `square` (s, half a period) every source swings from plus to minus."""
    lines = []
    for k, r in enumerate(net.resistors.values()):
        lines.append(f"R{k} {number[r.a]} {number[r.b]} {r.ohms!r}")
    for k, s in enumerate(net.sources.values()):
        wave = f"DC {s.volts!r}"
        if square:
            wave = f"PULSE({s.volts!r} {-s.volts!r} 0 20n 20n {square - 20e-9!r} {2 * square!r})"
        lines += [f"V{k} s{k} {number[s.b]} {wave}", f"RS{k} {number[s.a]} s{k} {s.ohms!r}"]
    for k, d in enumerate(net.diodes.values()):
        lines.append(f".model D{k}M D(IS={d.saturation!r} N={d.emission!r})")
        for way, (a, b) in enumerate(((d.a, d.b), (d.b, d.a))):
            points = [str(number[a]), *(f"d{k}_{way}_{n}" for n in range(1, d.series)), str(number[b])]
            lines += [f"D{k}_{way}_{n} {points[n]} {points[n + 1]} D{k}M" for n in range(d.series)]
    for k, c in enumerate(net.capacitors.values()):
        lines += [f"C{k} {number[c.a]} c{k} {c.farads!r}", f"RC{k} c{k} {number[c.b]} {max(c.ohms, 1e-6)!r}"]
    lines += [f"RX{i} {i} 0 {STRAY_OHMS!r}" for name, i in number.items() if name != EARTH]
    if meter is not None:
        lines += [f"RM {number[meter.a]} m {meter.ohms!r}", f"VM m {number[meter.b]} DC {meter.volts!r}"]
    return lines


def _run(deck: list[str], patience: float = PATIENCE) -> str:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "deck.cir"
        path.write_text("\n".join(deck) + "\n", encoding="ascii")
        try:
            done = subprocess.run(
                [str(FOUND), "-b", str(path)], capture_output=True, text=True, check=False, timeout=patience
            )
        except subprocess.TimeoutExpired as error:
            raise NoRest from error
        return done.stdout + done.stderr


def numbered(net: Netlist) -> dict[str, int]:
    """Simulators number nodes, 0 being earth."""
    return {EARTH: 0, **{name: i + 1 for i, name in enumerate(net.nodes())}}


def volts(net: Netlist, meter: Meter | None = None) -> dict[str, float]:
    """Volts of every node at rest."""
    number = numbered(net)
    deck = [
        "* at rest", *_lines(net, meter, number, 0.0),
        ".options reltol=1e-6 abstol=1e-12 vntol=1e-9 gmin=1e-12 itl1=500 numdgt=15",
        ".control", "set numdgt=14", "op", "print all", ".endc", ".end",
    ]  # fmt: skip
    out = _run(deck)
    said = dict(re.findall(r"^v\((\d+)\) = (\S+)", out, flags=re.MULTILINE))
    assert len(said) >= len(number) - 1, out[-800:]
    return {name: 0.0 if i == 0 else float(said[str(i)]) for name, i in number.items()}


def mean_amps(
    net: Netlist, meter: Meter, half: float, cycles: int = 6, steps: int = 4000, patience: float = PATIENCE
) -> float:
    """Mean of the absolute current through a meter over one settled period of a square wave."""
    number = numbered(net)
    whole = 2 * half
    deck = [
        "* square wave", *_lines(net, meter, number, half),
        ".options reltol=1e-6 abstol=1e-13 vntol=1e-9 method=gear",
        ".control", "set numdgt=14",
        f"tran {half / steps!r} {cycles * whole!r} {(cycles - 1) * whole!r} {half / steps!r}",
        "let flow = abs(vm#branch)",
        f"meas tran mean AVG flow from={(cycles - 1) * whole!r} to={cycles * whole!r}", ".endc", ".end",
    ]  # fmt: skip
    out = _run(deck, patience)
    found = re.search(r"mean\s*=\s*(\S+)", out)
    assert found, out[-800:]
    return float(found[1])
