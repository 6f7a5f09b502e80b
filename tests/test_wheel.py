"""The wheel: built, installed into a fresh environment, and run from another folder with its rules and cases."""

import os
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.running import ROOT


def files(folder: Path) -> set[str]:
    """The files of a folder, without what running leaves behind."""
    return {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file() and "__pycache__" not in p.parts}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel of this checkout."""
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    done = subprocess.run(build, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    (path,) = folder.glob("*.whl")
    return path


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A new environment with the wheel in it; the libraries are those of the environment that runs the tests."""
    folder = tmp_path_factory.mktemp("installed")
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", str(folder)], check=True)
    (site,) = folder.glob("lib/python*/site-packages")
    pip = [sys.executable, "-m", "pip", "install", "-q", "--no-deps", "--no-index", "--target", str(site), str(wheel)]
    subprocess.run(pip, check=True, capture_output=True)
    libraries = [p for p in sys.path if p.endswith("site-packages")]
    # a plain path file: an editable install of the checkout is found by its own path file only, which is not read here
    (site / "libraries.pth").write_text("\n".join(libraries) + "\n")
    yield folder


def run(installed: Path, where: Path, *arguments: str) -> "subprocess.CompletedProcess[str]":
    """The installed tool, run in a bare environment from another folder."""
    env = {"HOME": str(where), "PATH": os.defpath, "LANG": "C.UTF-8"}
    code = "from troubleshoot.cli import main; main()"
    return subprocess.run(
        [str(installed / "bin" / "python"), "-c", code, *arguments], cwd=where, env=env, capture_output=True, text=True,
        check=False,
    )  # fmt: skip


def test_the_wheel_carries_all_rules_and_cases(wheel: Path) -> None:
    """Every file of rules/ and cases/ is in the wheel, and nothing else stands there."""
    names = set(zipfile.ZipFile(wheel).namelist())

    for folder in ("rules", "cases"):
        inside = f"troubleshoot/_data/{folder}/"
        carried = {n.removeprefix(inside) for n in names if n.startswith(inside) and not n.endswith("/")}
        assert carried == files(ROOT / folder)


def test_the_wheel_carries_its_licence_and_its_command(wheel: Path) -> None:
    """The licence and the name of the command are in the wheel."""
    archive = zipfile.ZipFile(wheel)
    names = archive.namelist()
    (entry,) = [n for n in names if n.endswith("entry_points.txt")]

    assert any(n.endswith("LICENSE") for n in names)
    assert "troubleshoot = troubleshoot.cli:main" in archive.read(entry).decode()


def test_the_installed_tool_runs_from_another_folder(installed: Path, tmp_path: Path) -> None:
    """Away from the checkout, the installed tool has its rules, its layouts and its demo cases."""
    where = run(installed, tmp_path, "rules", "show", "core")
    cases = run(installed, tmp_path, "cases", "--demo")
    opened = run(installed, tmp_path, "open", "--layout", "club", "--symptom", "phantom-occupancy", "--about", "yard-2")
    place = subprocess.run(
        [str(installed / "bin" / "python"), "-c", "import troubleshoot; print(troubleshoot.__file__)"],
        cwd=tmp_path, capture_output=True, text=True, check=True,
    )  # fmt: skip

    assert place.stdout.startswith(str(installed))
    assert (where.returncode, where.stderr) == (0, "")
    assert "Pack core" in where.stdout
    assert (cases.returncode, cases.stderr) == (0, "")
    assert {line.split()[2] for line in cases.stdout.splitlines()} == {p.stem for p in (ROOT / "cases").glob("*.yaml")}
    assert (opened.returncode, opened.stderr) == (0, "")
    assert files(tmp_path / ".local" / "share" / "troubleshoot" / "cases")
