"""What the tests of commands share: a folder of cases of their own."""

from pathlib import Path

import pytest


@pytest.fixture
def shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder for cases that the commands use, empty at first."""
    folder = tmp_path / "cases"
    monkeypatch.setenv("TROUBLESHOOT_CASES", str(folder))
    monkeypatch.delenv("NO_COLOR", raising=False)
    return folder
