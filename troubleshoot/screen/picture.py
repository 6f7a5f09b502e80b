"""A screen as an SVG picture: the same drawing as in the terminal, with no font or link from elsewhere."""

import io
import re

from rich.console import Console, RenderableType
from rich.terminal_theme import TerminalTheme

PAPER = TerminalTheme(
    (250, 248, 242),
    (40, 40, 40),
    [
        (60, 60, 60),
        (178, 34, 34),
        (34, 112, 60),
        (150, 98, 0),
        (38, 80, 140),
        (120, 50, 120),
        (0, 105, 115),
        (70, 70, 70),
    ],
    [
        (110, 110, 110),
        (200, 50, 50),
        (40, 130, 70),
        (170, 110, 0),
        (50, 95, 160),
        (140, 60, 140),
        (0, 120, 130),
        (20, 20, 20),
    ],
)
"""Dark ink on paper, so that pictures print well."""


def picture(*parts: RenderableType, width: int = 92) -> str:
    """The parts drawn below each other, as the text of an SVG file."""
    out = Console(
        record=True, width=width, file=io.StringIO(), force_terminal=True, highlight=False, color_system="truecolor"
    )
    for part in parts:
        out.print(part)
    svg = out.export_svg(title="", theme=PAPER, font_aspect_ratio=0.61, unique_id="screen")
    svg = re.sub(r"@font-face \{.*?\}", "", svg, flags=re.S)
    svg = re.sub(r"<!--.*?-->", "", svg, flags=re.S)
    svg = re.sub(r"<circle[^>]*/>", "", svg)
    svg = svg.replace("<text class", '<text xml:space="preserve" class')
    return svg.replace("Fira Code", "DejaVu Sans Mono")
