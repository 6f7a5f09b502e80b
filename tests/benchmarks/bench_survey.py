"""How long a survey takes, on the bundled club and on a record of ten thousand blocks."""

import time
from pathlib import Path
from typing import Any

from tests.benchmarks.lines import Line
from troubleshoot.documents import Document
from troubleshoot.layout import Layout, check, load
from troubleshoot.survey import surveyed

ROOT = Path(__file__).resolve().parents[2]
BLOCKS = 10_000
PER_DISTRICT, ZONES = 8, 16


def large(blocks: int = BLOCKS) -> Layout:
    """A record of so many blocks, each with its own lengths, in districts of eight and detectors of sixteen."""
    districts, detectors = -(-blocks // PER_DISTRICT), -(-blocks // ZONES)
    data: dict[str, Any] = {"name": "Large", "scale": "HO", "track-volts": "15 V"}
    data["boosters"] = {f"boo-{n}": {"limit": "5 A", "delay": "200 ms"} for n in range(-(-districts // 2))}
    data["districts"] = {
        f"dis-{n}": {
            "booster": f"boo-{n // 2}",
            "trip": "3.5 A",
            "delay": "12 ms",
            "bus": {"wire": "2.5 mm2", "length": f"{4 + n % 50 / 10} m"},
        }
        for n in range(districts)
    }
    data["detectors"] = {
        f"det-{n}": {"kind": "coil", "threshold": "2 mA", "zones": ZONES, "address": ZONES * n + 1}
        for n in range(detectors)
    }
    data["blocks"] = {
        f"b-{n}": {
            "district": f"dis-{n // PER_DISTRICT}",
            "detector": f"det-{n // ZONES}",
            "zone": n % ZONES + 1,
            "length": f"{1 + n % 97 / 50} m",
            "feeder": {"wire": "0.5 mm2", "length": f"{1 + n % 89 / 40} m"},
        }
        for n in range(blocks)
    }
    data["joints"] = {f"b-{n}/b-{n + 1}": {"gap": "1 mm"} for n in range(blocks - 1)}
    return check(Document("large.yaml", data, {}))


def seconds(layout: Layout) -> tuple[float, int]:
    """The processor time of one survey and the number of its looks."""
    surveyed.cache_clear()
    before = time.process_time()
    made = surveyed(layout)
    return time.process_time() - before, made.looks


def measure() -> list[Line]:
    """The lines of this part of the table."""
    club, club_looks = seconds(load(ROOT / "rules" / "core" / "layouts" / "club.yaml"))
    tenth, _ = seconds(large(BLOCKS // 10))
    whole, looks = seconds(large())
    return [
        Line("survey of the club", 1e3 * club, "ms", 100.0, f"{club_looks} looks"),
        Line(f"survey of {BLOCKS} blocks", whole, "s", 5.0, f"{looks} looks"),
        Line("ten times the blocks take", whole / tenth, "times", 15.0, "linear is 10"),
    ]
