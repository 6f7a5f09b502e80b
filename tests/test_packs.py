"""Rule packs: layers, names, refusals with file and line, the floor of safety, compiled forms never stale."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.running import ORDINARY, ROOT, ran
from troubleshoot import keeping
from troubleshoot.casebook import inquiry, new
from troubleshoot.diagnosis import diagnose
from troubleshoot.documents import Problems, write
from troubleshoot.inquiry import Complaint, Inquiry
from troubleshoot.layout import EMPTY
from troubleshoot.rulebook import Rulebook, load, row, rules_folder
from troubleshoot.rulebook.packs import read_pack

HEAD: dict[str, Any] = {
    "pack": "club", "version": "1.0.0", "format": 1, "says": "Rules of a club", "owner": "the club", "licence": "MIT",
    "needs": {"core": "1.0.0"},
}  # fmt: skip
CAUSE: dict[str, Any] = {
    "says": "Somebody spilt tea into the block",
    "sits-at": "own-block",
    "explains": {"core/phantom-occupancy": 3},
    "shows": {"core/block-leak": {"below-limit": "often"}, "core/worse-when": {"damp": "sometimes"}},
    "best-check": "core/block-leak-ohms",
    "stopgap": "Take the block out of service",
    "sources": ["common practice"],
}
REMEDY: dict[str, Any] = {
    "mends": ["tea-in-the-block"],
    "do": "Dab the tea up and let the block dry for a day.",
    "minutes": 20,
    "proof": {"check": "core/block-leak-ohms", "outcome": "sound"},
}
CHECK: dict[str, Any] = {"asks": "Does it smell of tea?", "minutes": 1}


def pack(folder: Path, head: dict[str, Any] | None = None, **sections: dict[str, Any]) -> Path:
    """A pack folder of a club, with one file for each section."""
    folder.mkdir(parents=True, exist_ok=True)
    write(folder / "pack.yaml", {**HEAD, **(head or {})})
    for section, entries in sections.items():
        write(folder / f"{section}.yaml", {section.replace("_", "-"): entries})
    return folder


def tea(folder: Path, **more: dict[str, Any]) -> Path:
    """A pack that adds one cause with its remedy."""
    return pack(folder, causes={"tea-in-the-block": CAUSE}, remedies={"dab-up": REMEDY}, **more)


def complaints(*folders: Path) -> list[str]:
    """What is said about packs that must be refused, with paths cut to their last two parts."""
    with pytest.raises(Problems) as caught:
        load(folders)
    return [f"{Path(p.file).name}:{p.line}: {p.text}" for p in caught.value.problems]


@pytest.fixture(autouse=True)
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own for compiled forms."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return tmp_path / "cache" / "troubleshoot"


@pytest.fixture(scope="module")
def core() -> Rulebook:
    """The bundled rules."""
    return load()


# --- layers -----------------------------------------------------------------------------------------


def test_a_club_adds_a_cause_without_touching_core(tmp_path: Path, core: Rulebook) -> None:
    """A cause of a club's own joins the suspects; findings it does not speak of are as elsewhere."""
    book = load([tea(tmp_path / "club")])
    asked = Inquiry((Complaint("core/phantom-occupancy"),))

    ranked = [line.cause for line in diagnose(EMPTY, book, asked).ranking]

    cause = book.causes["club/tea-in-the-block"]
    assert "club/tea-in-the-block" in ranked
    assert (
        row(book, "core/how-it-develops", cause, "core/phantom-occupancy")
        == book.findings["core/how-it-develops"].elsewhere
    )
    assert set(core.causes) == set(book.causes) - {"club/tea-in-the-block"}
    assert all(book.causes[n].shows == core.causes[n].shows for n in core.causes)


def test_a_missing_word_is_asked_for_within_a_pack_only(tmp_path: Path) -> None:
    """The check of a club's pack does not ask it to decide the findings of core."""
    done = ran("rules", "check", str(tea(tmp_path / "club")), "--no-examples")

    assert "no cell under" not in done.out
    assert "causes.yaml:2: tea-in-the-block: has no example that finds it" in done.out


def test_a_later_layer_replaces_by_saying_so(tmp_path: Path) -> None:
    """An entry that says what it replaces stands under the old name, and names its new file."""
    folder = tea(tmp_path / "club", symptoms={
        "ghosts": {
            "says": "A block is haunted", "also-said": ["haunted"], "about": "block", "family": "occupancy",
            "replaces": "core/phantom-occupancy",
        }
    })  # fmt: skip

    book = load([folder])

    assert book.symptoms["core/phantom-occupancy"].says == "A block is haunted"
    assert book.symptoms["core/phantom-occupancy"].file == f"{folder}/symptoms.yaml"
    assert "club/ghosts" not in book.symptoms


def test_the_same_name_without_saying_so_is_another_thing(tmp_path: Path, core: Rulebook) -> None:
    """A club's check that happens to bear a core name replaces nothing."""
    book = load([pack(tmp_path / "club", checks={"when-worse": CHECK})])

    assert book.checks["core/when-worse"].asks == core.checks["core/when-worse"].asks
    assert book.checks["club/when-worse"].asks == CHECK["asks"]


def test_replacing_what_is_not_there_names_the_nearest(tmp_path: Path) -> None:
    """A slip in what is replaced is refused with the entry's line."""
    entry = {**CHECK, "replaces": "core/when-worze"}

    assert complaints(pack(tmp_path / "club", checks={"tea": entry})) == [
        "checks.yaml:2: replaces 'core/when-worze', which no earlier layer has; nearest is 'core/when-worse'"
    ]


@pytest.mark.parametrize(
    ("section", "name", "entry"),
    [
        ("cautions", "gentle", {"hazard": "Nothing much", "do": "Go on", "replaces": "core/mains-stays-shut"}),
        ("cautions", "mains-stays-shut", {"hazard": "Nothing much", "do": "Go on"}),
        ("set_ups", "live", {"says": "Power stays on", "power": "on", "enter": 0, "leave": 0, "do": "Nothing",
                             "undo": "Nothing", "replaces": "core/power-off"}),
        ("set_ups", "power-off", {"says": "Power stays on", "power": "on", "enter": 0, "leave": 0, "do": "Nothing",
                                  "undo": "Nothing"}),
    ],
)  # fmt: skip
def test_cautions_and_set_ups_are_never_replaced(
    tmp_path: Path, section: str, name: str, entry: dict[str, Any]
) -> None:
    """A softened caution, or a power-off that leaves the power on, is refused by either way of writing it."""
    told = complaints(pack(tmp_path / "club", **{section: {name: entry}}))

    assert any(t.startswith(f"{section}.yaml:2: ") for t in told)
    assert any("never replaced or softened" in t or "cannot redefine" in t for t in told)


def test_former_names_stay_valid(tmp_path: Path) -> None:
    """A case that speaks by a name from before goes on under the new one, and so do other packs."""
    folder = tea(tmp_path / "club", checks={"smells-of-tea": {**CHECK, "was": ["tea-smell"]}})
    other = pack(tmp_path / "own", {"pack": "own", "needs": {"club": "1.0.0"}}, symptoms={
        "tea": {"says": "Tea", "also-said": ["tea"], "about": "block", "family": "occupancy",
                "ask-first": ["club/tea-smell"]}
    })  # fmt: skip
    book = load([folder, other])
    case = new(tmp_path, "c", None, {})
    case.events = [{"symptom": "core/phantom-occupancy"}, {"answer": "club/tea-smell", "outcome": "yes"}]

    assert book.symptoms["own/tea"].ask_first == ("club/smells-of-tea",)
    assert [getattr(r, "check", None) for r in inquiry(case, book).records] == [None, "club/smells-of-tea"]


def test_a_needed_pack_and_a_name_of_its_own_are_asked_for(tmp_path: Path) -> None:
    """A pack that is not here, and two packs of one name, are told."""
    first = pack(tmp_path / "a", {"needs": {"tram": "2.0.0"}}, checks={"a": CHECK})
    second = pack(tmp_path / "b", checks={"a": CHECK})

    told = "\n".join(complaints(first, second))

    assert "pack 'club' needs pack 'tram' 2.0.0, which is not here" in told
    assert "two packs call themselves 'club'" in told


# --- refusals ---------------------------------------------------------------------------------------

READING: dict[str, Any] = {
    "asks": "Ohms?", "unit": "ohm", "at": "own-block", "minutes": 3, "quiet": "fine", "tool": "multimeter",
    "bands": {"low": "up to 2 x leak-limit", "fine": "above"}, "set-up": ["core/power-off"],
    "cautions": ["core/ohms-only-unpowered"], "how": "Power off. Touch one probe to each rail.",
}  # fmt: skip
WRONG_CHECKS: dict[str, tuple[dict[str, Any], str]] = {
    "unknown key": ({**CHECK, "minuts": 2}, '"minuts" is not known here; did you mean "minutes"?'),
    "unknown relation": ({**CHECK, "at": "own-blok"}, "relation 'own-blok' is not known; did you mean 'own-block'?"),
    "unknown unit": ({**READING, "unit": "ohms"}, "unit 'ohms' is not known; did you mean 'ohm'?"),
    "expression": ({**READING, "bands": {"low": "up to leak-limit / 2", "fine": "above"}}, "is no limit; write"),
    "code": ({**READING, "bands": {"low": "up to __import__('os')", "fine": "above"}}, "is no limit; write"),
    "wrong unit": ({**READING, "bands": {"low": "up to 20 mA", "fine": "above"}}, '"20 mA" is amperes'),
    "no such quantity": (
        {**READING, "bands": {"low": "up to 1 x leek-limit", "fine": "above"}},
        "quantity 'leek-limit' is not known; did you mean 'leak-limit'?",
    ),
    "no last band": ({**READING, "bands": {"low": "up to 1 x leak-limit", "fine": "up to 9 x leak-limit"}},
                     "'above' for the last"),
    "above first": ({**READING, "bands": {"low": "above", "fine": "above"}}, "says 'above' but is not the last"),
    "bands without unit": ({**CHECK, "bands": {"low": "above"}}, "has bands but no unit"),
    "unknown word": ({**CHECK, "elsewhere": {"yes": "offen"}}, 'did you mean "often"?'),
    "unknown outcome": ({**CHECK, "elsewhere": {"yess": "often"}}, "outcome 'yess' is not known; did you mean 'yes'?"),
    "unknown caution": ({**CHECK, "cautions": ["soldring"]},
                        "'soldring' is no known caution; did you mean 'soldering'?"),
    "no quiet": ({**CHECK, "choices": {"a": "A", "b": "B"}}, "says no `quiet` outcome"),
    "mains": ({**CHECK, "looks-at": "mains"}, "there is no check of the mains side"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG_CHECKS)
def test_a_wrong_check_is_refused_at_its_line(tmp_path: Path, name: str) -> None:
    """Undeclared words come with the nearest, limits that are none with the way to write one."""
    entry, text = WRONG_CHECKS[name]

    told = complaints(pack(tmp_path / "club", checks={"fine-one": CHECK, "odd-one": entry}))

    assert any(text in t for t in told), told
    assert all(t.startswith("checks.yaml:") and int(t.split(":")[1]) > 4 for t in told)


WRONG_CAUSES: dict[str, tuple[dict[str, Any], str]] = {
    "sum over one": (
        {"shows": {"core/block-leak": {"below-limit": "usually", "marginal": "often"}}}, "total 1.50, which is over 1",
    ),
    "number": ({"shows": {"core/block-leak": {"below-limit": 0.9}}}, "cannot be the number 0.9"),
    "unknown finding": ({"shows": {"core/blok-leak": "often"}}, "'core/blok-leak' is no known finding"),
    "bare word": ({"shows": {"core/block-leak": "often"}}, "a bare word is for yes/no findings"),
    "unknown symptom": ({"explains": {"core/phantom": 3}}, "'core/phantom' is no known symptom"),
    "unknown need": ({"needs": ["coil-detecter"]}, "need 'coil-detecter' is not known; did you mean 'coil-detector'?"),
    "unknown place": ({"sits-at": "own-blok"}, "did you mean 'own-block'?"),
    "no source": ({"sources": []}, "at least 1 entries"),
    "weight": ({"explains": {"core/phantom-occupancy": 200}}, "must be at most 95"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG_CAUSES)
def test_a_wrong_cause_is_refused_at_its_line(tmp_path: Path, name: str) -> None:
    """Words over one, numbers for words, and names that nothing has are refused in words."""
    changed, text = WRONG_CAUSES[name]

    told = complaints(
        pack(tmp_path / "club", causes={"tea-in-the-block": {**CAUSE, **changed}}, remedies={"dab-up": REMEDY})
    )

    assert any(text in t and t.startswith("causes.yaml:") for t in told), told


def test_all_problems_of_all_files_come_at_once(tmp_path: Path) -> None:
    """One run tells everything, in the order of files and lines."""
    folder = pack(
        tmp_path / "club",
        checks={"a": {**CHECK, "minuts": 1}, "b": {"minutes": 1}},
        causes={"c": {**CAUSE, "sources": []}},
    )

    told = complaints(folder)

    assert [t.split(":")[0] for t in told] == ["causes.yaml", "checks.yaml", "checks.yaml"]


def test_a_name_given_twice_is_refused_with_both_places(tmp_path: Path) -> None:
    """Two files of a pack cannot mean two things by one name."""
    folder = pack(tmp_path / "club", checks={"a": CHECK})
    write(folder / "more.yaml", {"checks": {"a": CHECK}})

    assert complaints(folder) == ["more.yaml:2: 'a' stands already at checks.yaml:2; one name means one thing"]


def test_a_folder_that_is_no_pack_is_told(tmp_path: Path) -> None:
    """A missing folder, a file, and a folder without its head are told apart."""
    (tmp_path / "file").write_text("")
    (tmp_path / "empty").mkdir()

    told = [complaints(tmp_path / name)[0] for name in ("gone", "file", "empty")]

    assert ["is not there" in told[0], "is a file" in told[1], "no pack.yaml" in told[2]] == [True] * 3


def test_a_newer_format_of_pack_is_refused(tmp_path: Path) -> None:
    """A pack of a later format is not guessed at."""
    assert any("pack.yaml:3:" in t for t in complaints(pack(tmp_path / "club", {"format": 2}, checks={"a": CHECK})))


# --- the floor --------------------------------------------------------------------------------------

LIVE = {"says": "Power is on", "power": "on", "enter": 1, "leave": 1, "do": "Switch on", "undo": "Switch off"}
HOSTILE: dict[str, tuple[str, dict[str, Any], str]] = {
    "mains": ("checks", {**CHECK, "how": "Open the case and measure the mains volts."}, "mains side"),
    "wall": ("checks", {**CHECK, "asks": "Probe the wall socket: is it live?"}, "mains side"),
    "supply": ("checks", {**CHECK, "how": "Unscrew the lid of the power supply and look in."}, "open a supply"),
    "remark": ("checks", {**CHECK, "remarks": {"yes": "Then bridge the breaker with a wire."}}, "defeat a protection"),
    "bypass": ("remedies", {**REMEDY, "do": "Bypass the breaker with a jumper until the end."}, "defeat a protection"),
    "fuse": ("remedies", {**REMEDY, "do": "Fit a larger fuse in the supply lead."}, "larger fuse"),
    "proof": ("remedies", {**REMEDY, "proof": {**REMEDY["proof"], "and": "hold the coin on for 30 seconds"}},
              "hold a short"),
    "coil": ("checks", {**CHECK, "how": "Hold the coil energised and feel its warmth."}, "hold a coil"),
    "coin": ("checks", {**CHECK, "how": "Keep the coin on the rails for ten minutes."}, "hold a short"),
    "live ohms": ("checks", {**READING, "set-up": []}, "without a set-up that has the power off"),
    "live and dead": ("checks", {**READING, "set-up": ["core/power-off", "core/power-on"]}, "power on and off at once"),
    "no caution": ("checks", {**READING, "cautions": []}, "lacks the caution 'ohms-only-unpowered'"),
    "soldering": ("remedies", {**REMEDY, "do": "Solder a new wire to the rail."}, "without the caution 'soldering'"),
    "solvent": ("remedies", {**REMEDY, "do": "Wipe it off with alcohol."}, "without the caution 'solvents-power-off'"),
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_a_pack_cannot_lower_the_floor(tmp_path: Path, name: str) -> None:
    """Whatever a pack says, the dangerous thing is refused with its file and line, and no rulebook is made."""
    section, entry, text = HOSTILE[name]
    sections: dict[str, dict[str, Any]] = {"causes": {"tea-in-the-block": CAUSE}, "remedies": {"dab-up": REMEDY}}
    sections[section] = {**sections.get(section, {}), "hostile": entry}

    told = complaints(pack(tmp_path / "club", **sections))

    assert any(text in t and t.startswith(f"{section}.yaml:") for t in told), told
    assert ran("find", "ghost", "--pack", str(tmp_path / "club")).code == 4


def test_a_stopgap_is_held_to_the_floor_too(tmp_path: Path) -> None:
    """What lets trains run tonight may not defeat a protection either."""
    entry = {**CAUSE, "stopgap": "Jumper the breaker for tonight."}

    told = complaints(pack(tmp_path / "club", causes={"tea-in-the-block": entry}, remedies={"dab-up": REMEDY}))

    assert any("stopgap: asks somebody to defeat a protection" in t for t in told)


def test_an_own_meaning_of_a_caution_does_not_stand_for_the_core_one(tmp_path: Path) -> None:
    """A club cannot satisfy the floor by a harmless caution of the same name."""
    soft = {"ohms-only-unpowered": {"hazard": "Nothing much", "do": "Go on"}}
    entry = {**READING, "cautions": ["ohms-only-unpowered"]}

    assert any("cannot redefine" in t for t in complaints(pack(tmp_path / "club", cautions=soft, checks={"r": entry})))


def test_forbidding_the_dangerous_thing_is_allowed(tmp_path: Path) -> None:
    """A warning that names the danger is no request for it."""
    entry = {**CHECK, "how": "Never bypass the breaker. Look at it only."}

    assert "club/safe" in load([pack(tmp_path / "club", checks={"safe": entry})]).checks


# --- compiled forms ---------------------------------------------------------------------------------


def test_an_unchanged_start_imports_no_pydantic(tmp_path: Path) -> None:
    """The second start with the same packs reads compiled forms only; the shapes are not needed."""
    folder = tea(tmp_path / "club")
    code = (
        "import sys; from pathlib import Path; from troubleshoot.rulebook import load; "
        f"load([Path({str(folder)!r})]); print('pydantic' in sys.modules)"
    )
    said = [
        subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True).stdout
        for _ in range(2)
    ]

    assert said == ["True\n", "False\n"]


def forms(cache: Path) -> dict[str, bytes]:
    """The compiled forms kept."""
    return {p.name: p.read_bytes() for p in cache.iterdir()} if cache.is_dir() else {}


def test_a_changed_pack_is_read_afresh(tmp_path: Path, own_cache: Path) -> None:
    """One changed letter, a new file, and a renamed file are each noticed."""
    folder = pack(tmp_path / "club", checks={"a": CHECK})
    first = read_pack(folder)
    (folder / "checks.yaml").write_text((folder / "checks.yaml").read_text().replace("tea", "pea"))
    changed = read_pack(folder)
    write(folder / "more.yaml", {"checks": {"b": CHECK}})
    grown = read_pack(folder)
    (folder / "more.yaml").rename(folder / "other.yaml")
    renamed = read_pack(folder)

    assert first.sections["checks"]["a"]["asks"] != changed.sections["checks"]["a"]["asks"]
    assert set(grown.sections["checks"]) == {"a", "b"}
    assert renamed.sections["checks"]["b"]["@file"].endswith("other.yaml")
    assert len({p.digest for p in (first, changed, grown, renamed)}) == 4
    assert len(forms(own_cache)) == 4


@pytest.mark.parametrize("how", ["empty", "cut", "flipped", "foreign", "binary", "folder"])
def test_a_damaged_form_is_never_used(tmp_path: Path, own_cache: Path, how: str) -> None:
    """A form that is cut, altered, exchanged or no file at all is passed over, and the pack read afresh."""
    folder = pack(tmp_path / "club", checks={"a": CHECK})
    good = read_pack(folder)
    (path,) = own_cache.glob("*.json")
    kept = path.read_bytes()
    damage = {
        "empty": b"", "cut": kept[: len(kept) // 2], "flipped": kept.replace(b"smell of tea", b"smell of gas"),
        "foreign": json.dumps({"digest": good.digest, "data": {}}).encode(), "binary": bytes(range(256)),
    }  # fmt: skip
    if how == "folder":
        path.unlink()
        path.mkdir()
    else:
        path.write_bytes(damage[how])

    again = read_pack(folder)

    assert again.sections == good.sections
    assert again.head == good.head


def test_a_form_of_another_version_of_the_tool_is_passed_over(
    tmp_path: Path, own_cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The mark of a form changes with the tool's own format of forms."""
    folder = pack(tmp_path / "club", checks={"a": CHECK})
    first = read_pack(folder).digest
    monkeypatch.setattr(keeping, "FORMAT", "another")

    assert read_pack(folder).digest != first
    assert len(forms(own_cache)) == 2


def test_the_same_pack_elsewhere_names_its_own_files(tmp_path: Path, own_cache: Path) -> None:
    """A copy in another folder shares the compiled form, but its problems and entries point to the copy."""
    one = pack(tmp_path / "one" / "club", checks={"a": CHECK})
    two = pack(tmp_path / "two" / "club", checks={"a": CHECK})

    first, second = load([one]), load([two])

    assert first.checks["club/a"].file == f"{one}/checks.yaml"
    assert second.checks["club/a"].file == f"{two}/checks.yaml"
    assert len([n for n, b in forms(own_cache).items() if b"smell of tea" in b]) == 1


def test_a_cache_that_cannot_be_written_only_costs_time(tmp_path: Path) -> None:
    """With a write-protected or impossible folder for compiled forms, everything works."""
    locked = tmp_path / "locked"
    locked.mkdir()
    (tmp_path / "file").write_text("")
    locked.chmod(0o555)
    folder = tea(tmp_path / "club")
    code = (
        f"{ORDINARY}\nfrom pathlib import Path\nfrom troubleshoot.rulebook import load\n"
        f"print(len(load([Path({str(folder)!r})]).packs))"
    )
    try:
        for where in (locked, tmp_path / "file"):
            env = {**os.environ, "XDG_CACHE_HOME": str(where)}
            done = subprocess.run(
                [sys.executable, "-c", code], cwd=ROOT, env=env, capture_output=True, text=True, check=False
            )
            assert (done.stdout, done.stderr) == ("2\n", "")
    finally:
        locked.chmod(0o755)


def test_the_order_of_files_does_not_matter(tmp_path: Path) -> None:
    """Entries spread over files in another way make the same rulebook."""
    one = pack(tmp_path / "one", checks={"a": CHECK, "b": CHECK})
    two = pack(tmp_path / "two", checks={"b": CHECK})
    write(two / "z.yaml", {"checks": {"a": CHECK}})

    books = [load([folder]) for folder in (one, two)]

    assert set(books[0].checks) == set(books[1].checks)


def test_schemas_know_every_key_of_the_bundled_rules(tmp_path: Path) -> None:
    """The exported JSON Schemas allow every key that the core pack uses, and forbid others."""
    ran("rules", "schema", str(tmp_path))
    core = read_pack(rules_folder() / "core", fresh=True)

    for section in core.sections:
        schema = json.loads((tmp_path / f"{section}.schema.json").read_text())
        shapes = [d for d in schema["$defs"].values() if d.get("additionalProperties") is False]
        known = set().union(*(d["properties"] for d in shapes))
        used = {k for entry in core.sections[section].values() for k in entry if not k.startswith("@")}
        assert used <= known
        assert schema["additionalProperties"] is False
