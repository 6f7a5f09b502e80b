"""The rooms of the code: a room imports only rooms before it, and each heavy library has one room of its own."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[1] / "troubleshoot"
ORDER = (
    "documents", "keeping", "quantities", "layout", "electrics", "circuit", "survey", "sketch", "locating", "rulebook",
    "inquiry", "deduction", "belief", "advice", "diagnosis", "quality", "practice", "casebook", "learning", "rounds",
    "eventlog", "report", "dialogue", "screen", "cli",
)  # fmt: skip
HOME = {
    "yaml": "documents", "experta": "deduction", "questionary": "dialogue", "prompt_toolkit": "dialogue",
    "rich": "screen", "click": "cli", "numpy": "circuit", "scipy": "circuit", "sqlite3": "casebook",
}  # fmt: skip
FORBIDDEN = {"utils", "helpers", "models", "exceptions", "rules", "util", "helper", "common", "misc"}
FILES = sorted(PACKAGE.rglob("*.py"))


def room(path: Path) -> str:
    """The room a file belongs to; the package's own files belong to none."""
    first = path.relative_to(PACKAGE).parts[0]
    return first.removesuffix(".py")


def imports(path: Path) -> Iterator[tuple[int, str]]:
    """Every module that a file imports anywhere in it, with the line."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: imports are written out in full"
            base = node.module or ""
            yield from ((node.lineno, f"{base}.{alias.name}") for alias in node.names)


def test_every_room_has_its_place_in_the_order() -> None:
    """A new room is put into the order before it is used."""
    assert {room(f) for f in FILES} - {"__init__", "__main__"} == set(ORDER)


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_room_imports_only_rooms_before_it(path: Path) -> None:
    """No file reaches to the right, also not inside a function."""
    here = room(path)
    if here in ("__init__", "__main__"):
        return
    wrong = [
        f"{path.name}:{line}: {here} imports {name}"
        for line, name in imports(path)
        if name.startswith("troubleshoot.")
        and (there := name.split(".")[1]) in ORDER
        and ORDER.index(there) > ORDER.index(here)
    ]

    assert wrong == []


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_library_is_imported_in_its_own_room_only(path: Path) -> None:
    """Only one room knows YAML, only one knows experta, and so on."""
    wrong = [
        f"{path.name}:{line}: {name} belongs to {HOME[name.split('.')[0]]}"
        for line, name in imports(path)
        if name.split(".")[0] in HOME and HOME[name.split(".")[0]] != room(path)
    ]

    assert wrong == []


def test_no_room_is_a_lumber_room() -> None:
    """No module has a name that could hold anything."""
    assert {p.stem for p in FILES} & FORBIDDEN == set()
