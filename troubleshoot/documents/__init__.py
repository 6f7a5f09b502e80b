"""Strict YAML in, readable YAML out, and every problem at once with file and line.

Rules of this room:

- It is the only one that knows YAML. Whoever calls it sees plain dicts, lists, text and numbers.
- A file means what it looks like: `no`, `off`, `12:30`, `010` and dates are text; only plain decimals
  become numbers; an empty value is None; anything in quotes is text; keys are always text.
- Anchors, aliases, tags, merge keys, second documents and keys given twice are refused in words.
- Size, number of values and depth are limited while reading, before anything big is built.
- A file is replaced whole or not at all.

What a record or a rule pack must hold is left to the models of the callers: `validate` only puts their
findings into words and places them. Lines and columns count from 1; line 0 means the file as a whole.
"""

from troubleshoot.documents.problems import Document, Problem, Problems, Trail, nearest
from troubleshoot.documents.reading import MOST_BYTES, MOST_DEPTH, MOST_PROBLEMS, MOST_VALUES, parse, read, read_text
from troubleshoot.documents.validating import validate
from troubleshoot.documents.writing import dump, write, write_text

__all__ = [
    "MOST_BYTES",
    "MOST_DEPTH",
    "MOST_PROBLEMS",
    "MOST_VALUES",
    "Document",
    "Problem",
    "Problems",
    "Trail",
    "dump",
    "nearest",
    "parse",
    "read",
    "read_text",
    "validate",
    "write",
    "write_text",
]
