"""SVG as text: a page with a few shapes, every word escaped, no outside reference of any kind.

Units are those of the page's own box; what is drawn is left to the other modules of the room.
"""

import re
from collections.abc import Iterable
from xml.sax.saxutils import escape, quoteattr

INK, FAINT, PAPER = "#1b1b1b", "#8a8a8a", "#ffffff"
SERIOUS, DOUBTFUL, SOUND = "#a3231f", "#9a6a00", "#1f6b46"
"""Colours of marks; none of them stands alone: each mark also has a sign or a word."""

_NO_SIGNS = "".join(chr(plane * 0x10000 + last) for plane in range(1, 17) for last in (0xFFFE, 0xFFFF))
_UNPRINTABLE = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufdd0-\ufdef\ufffe\uffff" + _NO_SIGNS + "]"
)


def clean(text: str) -> str:
    """Text without signs that no document may hold, that steer a terminal or turn the direction of writing."""
    return _UNPRINTABLE.sub("\ufffd", text)


class Page:
    """A drawing of a given width and height that grows by shapes, and a title for those who cannot see it.

    `paper` is the size on paper, such as ("297mm", "210mm"); without it the drawing fits where it is put.
    """

    def __init__(self, width: float, height: float, title: str, paper: tuple[str, str] | None = None) -> None:
        self.width, self.height, self.title, self.paper = width, height, title, paper
        self._parts: list[str] = []

    def line(self, x1: float, y1: float, x2: float, y2: float, ink: str = INK, wide: float = 1.0) -> None:
        """A straight line."""
        self._parts.append(
            f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{ink}" stroke-width="{wide:g}"/>'
        )

    def path(self, points: Iterable[tuple[float, float]], ink: str = INK, wide: float = 1.0) -> None:
        """A line through points."""
        spots = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        self._parts.append(f'<polyline points="{spots}" fill="none" stroke="{ink}" stroke-width="{wide:g}"/>')

    def box(
        self, x: float, y: float, w: float, h: float, fill: str = "none", ink: str = INK, wide: float = 1.0
    ) -> None:
        """A rectangle."""
        self._parts.append(
            f'<rect x="{x:.1f}" y="{y:.1f}" width="{w:.1f}" height="{h:.1f}" fill="{fill}" stroke="{ink}"'
            f' stroke-width="{wide:g}"/>'
        )

    def dot(self, x: float, y: float, r: float, fill: str = INK) -> None:
        """A filled circle."""
        self._parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:.1f}" fill="{fill}"/>')

    def words(
        self,
        x: float,
        y: float,
        text: str,
        size: float = 10.0,
        ink: str = INK,
        anchor: str = "start",
        bold: bool = False,
    ) -> None:
        """A line of text; `anchor` is start, middle or end."""
        weight = ' font-weight="bold"' if bold else ""
        self._parts.append(
            f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" fill="{ink}" text-anchor="{anchor}"{weight}>'
            f"{escape(clean(text))}</text>"
        )

    def text(self) -> str:
        """The whole drawing, which can stand as a file or inside a page of HTML."""
        title = clean(self.title)
        paper = f' width="{self.paper[0]}" height="{self.paper[1]}"' if self.paper else ""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {self.width:.0f} {self.height:.0f}"{paper}'
            f' font-family="sans-serif" role="img" aria-label={quoteattr(title)}>'
            f"<title>{escape(title)}</title>"
            f'<rect width="100%" height="100%" fill="{PAPER}"/>' + "\n".join(self._parts) + "</svg>\n"
        )
