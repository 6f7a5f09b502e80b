"""One line of the table of measurements, and the table drawn from lines."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass


@dataclass(frozen=True)
class Line:
    """What was measured, the figure with its unit, the most it should be, and what the figure rests on."""

    what: str
    figure: float
    unit: str
    goal: float | None = None
    note: str = ""

    @property
    def met(self) -> str:
        """Whether the goal is met; nothing where there is none."""
        return "" if self.goal is None else "yes" if self.figure <= self.goal else "NO"

    def cells(self) -> tuple[str, str, str, str, str]:
        """The line as text."""
        goal = "" if self.goal is None else show(self.goal, self.unit)
        return self.what, show(self.figure, self.unit), goal, self.met, self.note


HEAD = ("what", "measured", "goal", "met", "on what")


def show(value: float, unit: str) -> str:
    """A figure with its unit: percent with two places, the rest with three digits that tell."""
    return f"{value:.2f} %" if unit == "%" else f"{value:.3g} {unit}" if value < 1000 else f"{value:.0f} {unit}"


def table(lines: Sequence[Line]) -> str:
    """Lines as a Markdown table, padded so that it reads as plain text too."""
    rows = [HEAD, *(line.cells() for line in lines)]
    widths = [max(len(row[i]) for row in rows) for i in range(len(HEAD))]
    drawn = ["| " + " | ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)) + " |" for row in rows]
    drawn.insert(1, "|" + "|".join("-" * (w + 2) for w in widths) + "|")
    return "\n".join(drawn)


def plain(lines: Sequence[Line]) -> list[dict[str, object]]:
    """Lines as plain data."""
    return [{**asdict(line), "met": line.met} for line in lines]
