"""What tests share: a folder of cases of their own, the bundled layouts, and layouts made from a few lines."""

from pathlib import Path

import pytest

from troubleshoot.documents import Problems, parse
from troubleshoot.layout import Layout, check, load

LAYOUTS = Path(__file__).parent.parent / "rules" / "core" / "layouts"
KINDS_COMPLAINED_ABOUT = (
    "block",
    "district",
    "joint",
    "detector",
    "turnout",
    "signal",
    "vehicle",
    "panel",
    "layout",
)


@pytest.fixture
def shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder for cases that the commands use, empty at first."""
    folder = tmp_path / "cases"
    monkeypatch.setenv("TROUBLESHOOT_CASES", str(folder))
    monkeypatch.delenv("NO_COLOR", raising=False)
    return folder


@pytest.fixture(scope="session")
def club() -> Layout:
    """The bundled club layout."""
    return load(LAYOUTS / "club.yaml")


@pytest.fixture(scope="session")
def home() -> Layout:
    """The bundled home layout."""
    return load(LAYOUTS / "home.yaml")


def made(text: str) -> Layout:
    """A layout from the text of a record."""
    return check(parse(text, "mine.yaml"))


def refused(text: str) -> list[str]:
    """The problems of a record, each as it is shown."""
    with pytest.raises(Problems) as caught:
        made(text)
    return [str(p) for p in caught.value.problems]


def names(layout: Layout, relation: str, about: str) -> list[str]:
    """The names that a relation gives."""
    return [p.name for p in layout.related(relation, layout.place(about))]
