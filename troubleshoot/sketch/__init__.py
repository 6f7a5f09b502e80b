"""Pictures as data and as SVG: the layout as a tree with marks, folded to fit, drawn on one page.

Rules of the room: what is drawn is plain data first (`tree`), cut down to what a reader can take in (`folding`), and
only then put on paper (`sheet`). No colour stands alone, no text of a person becomes markup, nothing points outside.
Drawing in the terminal is left to `screen`, and what the marks say to those who make them.
"""

from troubleshoot.sketch.folding import fold, lines_of
from troubleshoot.sketch.tree import ORDER, SIGNS, WORDS, Mark, Node, as_data, picture_of

__all__ = ["ORDER", "SIGNS", "WORDS", "Mark", "Node", "as_data", "fold", "lines_of", "picture_of"]
