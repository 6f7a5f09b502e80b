"""Bad input of every kind: a clear message, the right exit code, no traceback, nothing lost."""

import resource
import subprocess
import sys
from pathlib import Path

import pytest

from tests.running import ORDINARY, ROOT, Ran, opened, ran, spawned
from troubleshoot.documents import read, write

BOMB = "a: &a [x, x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{b}: &{b} [*{a}, *{a}, *{a}, *{a}, *{a}, *{a}, *{a}, *{a}]\n" for a, b in zip("abcdefgh", "bcdefghi", strict=True)
)
FILES: dict[str, tuple[bytes, str]] = {
    "empty": (b"", ""),
    "bomb": (BOMB.encode(), "anchor"),
    "deep": (b"name: " + b"[" * 3000, ""),
    "twice": (b"name: a\nname: b\n", ":2: "),
    "digits": (b"name: a\ntrack-volts: " + b"9" * 5000 + b" V\n", ":2: "),
    "unit": (b"name: a\ntrack-volts: 15 ohm\n", ":2: "),
    "key": (b"name: a\ntrak-volts: 15 V\n", 'did you mean "track-volts"'),
    "tag": (b"name: !!python/object:os.system x\n", ":1: "),
    "latin": (b"name: caf\xe9\n", "not UTF-8"),
    "binary": (bytes(range(256)) * 20, ""),
    "large": (b"name: " + b"x" * 2_100_000, "larger than 2 MB"),
    "list": (b"- a\n- b\n", ""),
    "tab": (b"name: a\n\tscale: HO\n", ":2: "),
    "open quote": (b'name: "a\nscale: HO\n', ""),
}
NOT_HERE = ("open", "--symptom", "phantom-occupancy", "--layout")


def clear(done: Ran, code: int) -> None:
    """What every refusal has in common: its code, a message, no traceback, and no result."""
    assert done.code == code, done.err
    assert done.err.strip()
    assert "Traceback" not in done.err + done.out
    assert max(map(len, done.err.splitlines())) < 600


@pytest.mark.parametrize("name", FILES)
def test_a_bad_record_is_refused_wherever_it_is_read(shelf: Path, tmp_path: Path, name: str) -> None:
    """A record with any such fault is refused with its file, and no case is begun on it."""
    file = tmp_path / "record.yaml"
    file.write_bytes(FILES[name][0])

    checked, begun = ran("layout", "check", str(file)), ran(*NOT_HERE, str(file), "--json")

    for done in (checked, begun):
        clear(done, 4)
        assert f"{file}:" in done.err
        assert FILES[name][1] in done.err
        assert done.out == ""
    assert not shelf.exists()


@pytest.mark.parametrize("name", FILES)
def test_a_bad_case_is_refused_and_left_alone(shelf: Path, name: str) -> None:
    """A case file with any such fault is refused by every command, and not a byte of it changes."""
    shelf.mkdir()
    file = shelf / "c.yaml"
    file.write_bytes(FILES[name][0])

    for command in (
        ["next"],
        ["show"],
        ["resume"],
        ["back"],
        ["close"],
        ["note", "TEXT"],
        ["answer", "when-worse", "damp"],
    ):
        clear(ran(command[0], str(file), *command[1:]), 4)
    clear(ran("cases"), 4)
    assert file.read_bytes() == FILES[name][0]


@pytest.mark.parametrize("name", FILES)
def test_a_bad_answers_file_is_refused(shelf: Path, tmp_path: Path, name: str) -> None:
    """An answers file with any such fault begins nothing."""
    file = tmp_path / "a.yaml"
    file.write_bytes(FILES[name][0])

    clear(ran("start", "--answers", str(file)), 4)
    assert not shelf.exists()


@pytest.mark.parametrize("name", FILES)
def test_a_bad_pack_file_is_refused(shelf: Path, tmp_path: Path, name: str) -> None:
    """A rule file with any such fault is refused by the check and by every use of the pack."""
    (tmp_path / "pack").mkdir()
    (tmp_path / "pack" / "pack.yaml").write_text(
        "pack: mine\nversion: 1.0.0\nformat: 1\nsays: Mine\nowner: me\nlicence: MIT\n"
    )
    (tmp_path / "pack" / "causes.yaml").write_bytes(FILES[name][0])

    checked = ran("rules", "check", str(tmp_path / "pack"))
    used = ran("find", "ghost", "--pack", str(tmp_path / "pack"))

    assert checked.code == 4
    assert "causes.yaml:" in checked.out
    clear(used, 4)
    assert "causes.yaml:" in used.err


SCRIPTS = {
    "answers: {blok-leak-ohms: 3k}": ":3: 'blok-leak-ohms' is no known check; did you mean 'block-leak-ohms'?",
    "answers: {block-leak-ohms: banana}": ':3: block-leak-ohms: "banana" holds no figure',
    "answers: {block-leak-ohms: 3 V}": ':3: block-leak-ohms: "3 V" is volts; ohms are wanted here',
    "answers: {when-worse: dmap}": ":3: 'dmap' is no answer to 'when-worse'; it has damp",
    "answers: {when-worse@yrad-2: damp}": "has no place 'yrad-2'; did you mean 'yard-2'?",
    "answers: damp": ":3: 'answers' must be a mapping",
    "anwsers: {}": ":3: 'anwsers' is not known in an answers file; did you mean 'answers'?",
    "about: yrad-2": ":3: Fennick Valley Railway has no place 'yrad-2'; did you mean 'yard-2'?",
    "sick: [yard-1, yrad-2]": ":3: Fennick Valley Railway has no place 'yrad-2'",
    "sick: yard-1": ":3: 'sick' must be a list of places",
    "remedies: {dry-and-clean-ballast: done}": ":3: 'dry-and-clean-ballast' cannot be 'done'; it is one of fixed",
    "proofs: {dry-and-clean-balast: passed}": "did you mean 'dry-and-clean-ballast'?",
    "quiet: {dry-and-clean-ballast: long}": ":3: dry-and-clean-ballast: 'long' is no period",
    "longest-quiet: long": ":3: 'long' is no period",
}


@pytest.mark.parametrize("line", SCRIPTS)
def test_every_slip_in_an_answers_file_is_told_before_anything_begins(shelf: Path, tmp_path: Path, line: str) -> None:
    """Nobody is there to be asked again, so an answers file is judged whole, with its lines."""
    file = tmp_path / "a.yaml"
    file.write_text(f"layout: club\nsymptom: phantom-occupancy\n{line}\n")

    done = ran("start", "--answers", str(file))

    clear(done, 4)
    assert SCRIPTS[line] in done.err
    assert not shelf.exists()


def test_all_slips_of_an_answers_file_come_at_once(tmp_path: Path) -> None:
    """One run tells everything that is wrong."""
    file = tmp_path / "a.yaml"
    file.write_text("layout: club\nsymptom: phantom-occupancy\nabout: x\nanswers: {y: z, when-worse: q}\n")

    assert ran("start", "--answers", str(file)).err.splitlines()[-1] == "3 problems."


def test_an_answers_file_without_a_symptom_is_wrong_usage(tmp_path: Path) -> None:
    """Where nobody can be asked, the symptom has to be said."""
    file = tmp_path / "a.yaml"
    file.write_text("layout: club\n")

    clear(ran("start", "--answers", str(file)), 2)


@pytest.mark.parametrize("command", ["next", "show", "resume", "layout check", "rules check", "start --answers"])
def test_a_missing_file_and_a_folder_are_told(shelf: Path, tmp_path: Path, command: str) -> None:
    """A file that is not there, and a folder instead of one, are told in words."""
    (tmp_path / "folder.yaml").mkdir()
    for name in ("missing.yaml", "folder.yaml"):
        done = ran(*command.split(), str(tmp_path / name))

        assert done.code == 4
        assert "Traceback" not in done.err
        assert any(w in done.err + done.out for w in ("no such file", "this is a folder", "not there", "no pack.yaml"))


def test_a_name_nearly_right_is_told(shelf: Path) -> None:
    """A case's file name with a slip names the one that is there."""
    path = Path(opened(shelf))

    done = ran("next", str(path.with_name(path.name.replace("yard", "yrad"))))

    clear(done, 4)
    assert f'did you mean "{path}"?' in done.err


@pytest.mark.parametrize("figure", ["9" * 5000, "1e999", "nan", "inf", "-3", "0x10", "3 V", "2.9.1", "", " ", "OL OL"])
def test_a_figure_that_is_none_is_refused(shelf: Path, figure: str) -> None:
    """No such text is taken for a reading, and the case is as it was."""
    path = opened(shelf)
    before = Path(path).read_bytes()

    done = ran("answer", path, "block-leak-ohms", "--", figure)

    clear(done, 2)
    assert Path(path).read_bytes() == before


def test_a_read_only_folder_costs_nothing_that_was_saved(shelf: Path) -> None:
    """An answer that cannot be saved leaves with 1 and says why; the case is as it was, and can still be looked at."""
    path = opened(shelf)
    before = Path(path).read_bytes()
    shelf.chmod(0o555)
    try:
        refused = spawned("answer", path, "when-worse", "damp", before=ORDINARY)
        guided = spawned("resume", path, before=ORDINARY, said="1\n1\n")
        new = spawned(*NOT_HERE, "club", before=ORDINARY)
        looked = spawned("next", path, before=ORDINARY)
    finally:
        shelf.chmod(0o755)

    for done in (refused, guided, new):
        assert done.code == 1, done.err
        assert "you may not write here; choose another folder, or change the permissions" in done.err
        assert "Traceback" not in done.err
    assert looked.code == 0
    assert Path(path).read_bytes() == before
    assert [p.name for p in shelf.iterdir()] == [Path(path).name]


def test_an_unreadable_file_is_told(shelf: Path) -> None:
    """A case that may not be read is told; the others are listed."""
    path, other = Path(opened(shelf)), Path(opened(shelf, about="yard-3"))
    path.chmod(0)
    try:
        done = spawned("cases", before=ORDINARY)
    finally:
        path.chmod(0o644)

    assert done.code == 4
    assert "you are not allowed to read this file" in done.err
    assert other.stem in done.out


def test_a_full_disk_costs_nothing_that_was_saved(shelf: Path, tmp_path: Path) -> None:
    """Where no byte more fits, a note leaves with 1; a new layout record is not half written either."""
    path = opened(shelf)
    before = Path(path).read_bytes()
    code = "from troubleshoot.cli import main\nmain()\n"

    def limited(*arguments: str, said: str = "") -> "subprocess.CompletedProcess[str]":
        return subprocess.run(
            [sys.executable, "-c", code, *arguments], input=said, capture_output=True, text=True, check=False, cwd=ROOT,
            preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (1500, 1500)),
        )  # fmt: skip

    noted = limited("note", path, "x" * 3000)
    made = limited("layout", "new", str(tmp_path / "l.yaml"), said="\n" * 30)

    for done in (noted, made):
        assert done.returncode == 1, done.stderr
        assert "not saved: " in done.stderr
        assert "Traceback" not in done.stderr
    assert Path(path).read_bytes() == before
    assert [p.name for p in shelf.iterdir()] == [Path(path).name]
    assert not (tmp_path / "l.yaml").exists()


def test_a_case_of_a_newer_format_is_left_alone(shelf: Path) -> None:
    """A newer case is refused with the way out, and not a byte of it changes."""
    path = Path(opened(shelf))
    newer = path.read_text().replace("format: 1", "format: 2") + "  - {when: later, telepathy: yes}\n"
    path.write_text(newer)

    for command in (["next"], ["answer", "when-worse", "damp"], ["resume"]):
        done = ran(command[0], str(path), *command[1:])
        clear(done, 4)
        assert "is of format 2, and this tool reads up to 1; update the tool" in done.err
    assert path.read_text() == newer


CLUB = (
    "pack: club\nversion: 2.1.0\nformat: 1\nsays: Of the club\nowner: the club\nlicence: MIT\n",
    "checks:\n  smells-of-tea: {asks: Does {place} smell of tea?, minutes: 1}\n",
)


def club_pack(folder: Path) -> Path:
    """A small pack with one check of its own."""
    folder.mkdir()
    (folder / "pack.yaml").write_text(CLUB[0])
    (folder / "checks.yaml").write_text(CLUB[1].replace("{place}", "it"))
    return folder


def test_a_pack_that_is_gone_is_asked_for_and_taken_from_its_new_place(shelf: Path, tmp_path: Path) -> None:
    """A case says which pack it needs; given its new folder it goes on, and remembers it."""
    pack = club_pack(tmp_path / "club")
    path = opened(shelf, "--pack", str(pack))
    assert ran("answer", path, "club/smells-of-tea", "yes").code == 0
    before = Path(path).read_bytes()
    pack.rename(tmp_path / "moved")

    gone = ran("next", path)
    kept = Path(path).read_bytes()
    found = ran("resume", path, "--pack", str(tmp_path / "moved"), said="1\n")
    after = ran("next", path)

    clear(gone, 4)
    assert f"needs the pack in {pack}, which is gone; say where it is now with --pack FOLDER" in gone.err
    assert kept == before
    assert (found.code, after.code) == (5, 0)
    assert read(path).data["pack-folders"] == [str(tmp_path / "moved")]


def test_a_case_from_elsewhere_names_the_pack_it_lacks(shelf: Path, tmp_path: Path) -> None:
    """A case of somebody else's, without the folder of their pack, names the pack and its version."""
    path = Path(opened(shelf, "--pack", str(club_pack(tmp_path / "club"))))
    data = read(path).data
    del data["pack-folders"]
    data["events"].append({"answer": "tea/smell", "outcome": "yes"})
    write(path, data)

    done = ran("next", str(path))

    clear(done, 4)
    assert "was made with the pack 'club' 2.1.0, which is not among the packs at hand (core " in done.err
    assert "speaks of 'tea/smell'" in done.err
    assert done.err.endswith("2 problems.\n")


def test_a_layout_that_is_gone_is_told(shelf: Path, tmp_path: Path) -> None:
    """A case whose record was moved names the file that it wants."""
    record = tmp_path / "mine.yaml"
    write(record, {"name": "Mine", "blocks": {"b-1": {}}})
    path = ran(*NOT_HERE, str(record), "--about", "b-1", "--json").data["case"]
    record.unlink()

    done = ran("next", path)

    clear(done, 4)
    assert f"{record}: there is no such file" in done.err


def test_a_case_without_a_symptom_is_told(shelf: Path) -> None:
    """A case whose symptom was cut away has nothing to go on with."""
    path = Path(opened(shelf))
    write(path, {**read(path).data, "events": []})

    for command in ("next", "resume", "show", "back"):
        clear(ran(command, str(path)), 4)


def test_a_file_as_the_folder_of_cases_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file where the folder should be is refused at listing and at saving."""
    (tmp_path / "file").write_text("x")
    monkeypatch.setenv("TROUBLESHOOT_CASES", str(tmp_path / "file"))

    clear(ran("cases"), 4)
    clear(ran(*NOT_HERE, "club"), 1)
    assert (tmp_path / "file").read_text() == "x"


def test_half_a_character_in_an_argument_is_no_crash(shelf: Path) -> None:
    """A bad byte that a shell hands on ends up as a sign in the file."""
    path = opened(shelf)

    done = ran("note", path, "caf\udce9")

    assert done.code == 0
    assert ran("show", path).code == 0
