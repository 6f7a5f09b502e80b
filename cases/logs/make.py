"""Makes the sample log in this folder: python cases/logs/make.py. Invented, from the simulator of the tests and a seed.

Twenty-four minutes of running on the Fennick Valley Railway around midnight, with a joint between harbour-4 and
harbour-5 that lets both flicker, and a turnout, t-325, whose throw disturbs loop-4.
"""

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parents[1]))

from tests.railway import Faults, Hour  # noqa: E402
from troubleshoot.layout import load  # noqa: E402

FILE, SEED, SECONDS, START = HERE / "around-midnight.csv", 11, 1440.0, 85_500.0
FAULTS = Faults(joints={("harbour-4", "harbour-5"): 1.0}, surges={("t-325", "loop-4"): 1.0})


def text() -> str:
    """The log: a bare clock, no head, semicolons."""
    club = load(HERE.parents[1] / "rules" / "core" / "layouts" / "club.yaml")
    lines = []
    for when, _, name, state in Hour(club, SEED, FAULTS, SECONDS).rows():
        clock = (START + when) % 86_400.0
        hour, minute = divmod(int(clock // 60), 60)
        lines.append(f"{hour:02d}:{minute:02d}:{clock % 60:06.3f};{name};{state}\n")
    return "".join(lines)


if __name__ == "__main__":
    FILE.write_text(text(), encoding="utf-8")
