"""The shelf: every case is found quickly and just as its file stands, whatever other files look like."""

import os
import random
import sqlite3
import time
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.running import ran
from troubleshoot import casebook
from troubleshoot.casebook import Entry
from troubleshoot.casebook.index import Index
from troubleshoot.casebook.likeness import Sought, alike, shared_parts, sought_like
from troubleshoot.casebook.shelf import SMALL, Shelf, Wanted
from troubleshoot.casebook.where import index_file
from troubleshoot.documents import dump
from troubleshoot.layout import EMPTY, Layout, load
from troubleshoot.rulebook import rules_folder

PHANTOM, TRIPS = "core/phantom-occupancy", "core/district-trips-at-power-up"
LEAK = "core/leak-through-ballast"


def made(folder: Path, name: str, *events: Mapping[str, object], day: str = "2026-10-17", **head: object) -> Path:
    """A case file as somebody's tool would have written it."""
    folder.mkdir(parents=True, exist_ok=True)
    timed = [{"when": f"{day}T19:{i:02}:00+00:00", **e} for i, e in enumerate(events)]
    path = folder / f"{name}.yaml"
    path.write_text(dump({"case": name, "format": 1, "layout": "club", **head, "events": timed}))
    return path


def mended(at: str = "yard-2", cause: str = LEAK) -> list[dict[str, object]]:
    """The events of a mend, its proof and the closing."""
    remedy = "core/dry-and-clean-ballast"
    return [
        {"remedy": remedy, "at": at, "result": "fixed"},
        {"proof": remedy, "at": at, "outcome": "passed", "quiet": "2 h"},
        {"closed": "proven", "remedy-was": remedy, "causes": [cause]},
    ]


def found(folder: Path, *words: str, **further: object) -> list[str]:
    """The names of the cases that a search finds."""
    with Shelf(folder) as shelf:
        shelf.refresh(whole=True)
        return [e.name for e in shelf.search(Wanted(words, **further))[0]]  # type: ignore[arg-type]


def filled(folder: Path, count: int) -> None:
    """A folder of so many small cases."""
    for number in range(count):
        event = {"symptom": PHANTOM, "about": f"yard-{number % 7}"}
        made(folder, f"case-{number:04}", event, {"note": f"word{number:04}"}, day=f"2026-{1 + number % 12:02}-03")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder for cases, with a cache folder of its own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return tmp_path / "cases"


@pytest.fixture(scope="module")
def club() -> Layout:
    """The bundled club layout."""
    return load(rules_folder() / "core" / "layouts" / "club.yaml")


# -- what an entry holds -------------------------------------------------------------------------------------------


def test_an_entry_holds_what_a_case_is_found_by_and_learned_from(folder: Path) -> None:
    """Complaint, place, times, cure, proof and places come from the standing events; what was taken back is gone."""
    path = made(
        folder, "a", {"symptom": PHANTOM, "about": "yard-2", "sick": ["yard-3"]},
        {"answer": "core/when-worse", "at": "yard-2", "outcome": "damp"},
        {"answer": "core/how-steady", "at": "yard-2", "outcome": "steady"}, {"takes-back": 3},
        {"remedy": "core/clear-the-gap", "at": "yard-2/yard-3", "result": "not-fixed"}, *mended(),
    )  # fmt: skip

    entry, words = casebook.entry_of(casebook.read(path))

    assert (entry.symptom, entry.about, entry.day, entry.layout) == (PHANTOM, "yard-2", "2026-10-17", "club")
    assert entry.closed
    assert entry.proven
    assert (entry.remedy, entry.spot) == ("core/dry-and-clean-ballast", "yard-2")
    assert (entry.causes, entry.places) == ((LEAK,), ("yard-2", "yard-3", "yard-2/yard-3"))
    assert entry.answers() == {"core/when-worse": "damp"}
    assert "damp" in words.split()
    assert "steady" not in words.split()
    assert len(entry.inquiry().records) == 5


@pytest.mark.parametrize("memory", [True, False])
def test_an_entry_comes_out_of_the_index_as_it_went_in(folder: Path, memory: bool) -> None:
    """In memory and on disk, the shelf gives back exactly what the file holds."""
    made(folder, "a", {"symptom": PHANTOM, "about": "yard-2", "longest-quiet": "2 h"}, *mended())
    filled(folder, 0 if memory else SMALL + 1)

    with Shelf(folder) as shelf:
        shelf.refresh()
        kept = shelf.named("a")

    assert index_file(folder).exists() is not memory
    assert kept == casebook.entry_of(casebook.read(folder / "a.yaml"))[0]


EVENT = st.dictionaries(
    st.sampled_from(["symptom", "answer", "about", "at", "outcome", "note", "when", "sick", "x", "closed", "causes"]),
    st.text(max_size=8) | st.integers(-9, 9) | st.lists(st.text(max_size=5), max_size=2) | st.none() | st.floats(0, 9),
    max_size=5,
)


JUNK = ["", "\x00", "\t", "{", "é", "- "]


@settings(max_examples=80, deadline=None)
@given(st.lists(EVENT, max_size=4), st.booleans(), st.integers(0, 400), st.sampled_from(JUNK))
def test_whatever_a_file_holds_is_found_or_named(
    tmp_path_factory: pytest.TempPathFactory, events: list[dict[str, object]], broken: bool, where: int, junk: str
) -> None:
    """Any events, whole or broken at any byte: the file is either a case or named with its reason; never an upset."""
    there = tmp_path_factory.mktemp("any")
    text = dump({"format": 1, "events": events}).encode()
    (there / "any.yaml").write_bytes(text[:where] + junk.encode() + text[where:] if broken else text)
    made(there, "good", {"symptom": PHANTOM})

    with Shelf(there) as shelf:
        shelf.refresh()
        names, reasons = [e.name for e in shelf.search(Wanted())[0]], shelf.problems()

    assert "good" in names
    assert ("any" in names) != any("any.yaml" in p.file for p in reasons)


# -- searching -----------------------------------------------------------------------------------------------------


def test_cases_are_found_by_words_place_symptom_cause_day_and_state(folder: Path) -> None:
    """Every condition narrows the search, alone and together; words may be beginnings, in any letter case."""
    made(folder, "a", {"symptom": PHANTOM, "about": "yard-2"}, {"note": "Glue was damp"}, *mended(), day="2026-03-01")
    made(folder, "b", {"symptom": PHANTOM, "about": "yard-3"}, {"note": "behind yard-2"}, day="2026-05-01")
    made(folder, "c", {"symptom": TRIPS, "about": "yard-district"}, {"note": "glue"}, day="2026-07-01")

    assert found(folder) == ["c", "b", "a"]
    assert found(folder, "glu") == ["c", "a"]
    assert found(folder, "glu", "DAMP") == ["a"]
    assert found(folder, "phantom") == ["b", "a"]
    assert found(folder, "yard-2") == ["b", "a"]
    assert found(folder, place="Yard-2") == ["a"]
    assert found(folder, symptom="phantom-occupancy") == found(folder, symptom=PHANTOM) == ["b", "a"]
    assert found(folder, cause="leak-through-ballast") == ["a"]
    assert found(folder, since=casebook.entries.seconds("2026-04-01")) == ["c", "b"]
    assert found(folder, open=True) == ["c", "b"]
    assert found(folder, "glue", open=False) == ["a"]
    assert found(folder, '"', "*", "AND", "OR(") == []
    assert found(folder, '"', "*") == ["c", "b", "a"]


def test_a_search_says_how_many_there_are_beyond_what_it_lists(folder: Path) -> None:
    """The newest are listed, the rest counted."""
    filled(folder, 9)
    with Shelf(folder) as shelf:
        shelf.refresh()
        entries, count = shelf.search(Wanted(("word*",), most=3))

    assert (len(entries), count) == (3, 9)


# -- in step with the files ----------------------------------------------------------------------------------------


def test_every_change_of_a_file_is_noticed(folder: Path) -> None:
    """Made, changed, replaced with the same size within one tick of the clock, deleted, renamed: all is found."""
    filled(folder, SMALL + 1)
    assert found(folder, "word0003") == ["case-0003"]
    made(folder, "new", {"symptom": PHANTOM}, {"note": "quince"})
    assert found(folder, "quince") == ["new"]
    path = folder / "new.yaml"
    before = path.stat()
    path.write_text(path.read_text().replace("quince", "medlar"))
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert found(folder, "quince") == []
    assert found(folder, "medlar") == ["new"]
    path.rename(folder / "newer.yaml")
    assert found(folder, "medlar") == ["newer"]
    (folder / "newer.yaml").unlink()
    assert found(folder, "medlar") == []


def test_a_file_written_again_with_the_same_content_is_not_taken_for_another(folder: Path) -> None:
    """A copied or synchronised folder has new times; by the hash nothing is read into the index again."""
    filled(folder, SMALL + 1)
    found(folder)
    for path in folder.iterdir():
        os.utime(path, (1.0, 1.0))

    with Shelf(folder) as shelf:
        before = shelf._index.stamps()
        shelf.refresh(whole=True)
        after = shelf._index.stamps()
        rows = shelf._index.base.execute("SELECT max(id) FROM cases").fetchone()[0]

    assert set(before) == set(after)
    assert all(after[n][0] == 10**9 != before[n][0] for n in after)
    assert rows == SMALL + 1


def test_on_a_big_shelf_what_is_listed_is_as_its_file_stands_now(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Even when the folder was looked through just now, no case is listed that has changed or gone since."""
    monkeypatch.setattr("troubleshoot.casebook.shelf.BIG", 10)
    filled(folder, SMALL + 1)
    for path in folder.iterdir():
        os.utime(path, (1.0, 1.0))
    found(folder)
    path = folder / "case-0005.yaml"
    with path.open("r+") as stream:
        text = stream.read().replace("word0005", "quaintly")
        stream.seek(0)
        stream.write(text)

    with Shelf(folder) as shelf:
        shelf.refresh()
        assert shelf.search(Wanted(("word0005",)))[0] == []
        assert [e.name for e in shelf.search(Wanted(("quaintly",)))[0]] == ["case-0005"]


def test_saving_a_case_keeps_the_index_in_step(folder: Path) -> None:
    """Beside a big shelf, a saved answer is found without a look at the other files."""
    filled(folder, SMALL + 1)
    found(folder)
    case = casebook.new(folder, "mine", "club", {})

    casebook.add(case, {"symptom": PHANTOM, "about": "yard-2"}, {"note": "quince"})

    with Shelf(folder) as shelf:
        assert [e.name for e in shelf.search(Wanted(("quince",)))[0]] == ["mine"]


def test_a_glance_finds_new_files_as_far_as_its_time_reaches(folder: Path) -> None:
    """At a start only so much is read; what is left is counted, and nothing that was read is read again."""
    filled(folder, SMALL + 40)

    with Shelf(folder) as shelf:
        left = [shelf.glance(-1.0), shelf.glance(60.0), shelf.glance(60.0)]
        count = shelf.count()

    assert left == [SMALL + 40, 0, 0]
    assert count == SMALL + 40


def test_several_who_search_and_save_at_once_do_not_disturb_each_other(folder: Path) -> None:
    """Two open shelves of one folder see each other's work."""
    filled(folder, SMALL + 1)
    with Shelf(folder) as one, Shelf(folder) as two:
        one.refresh()
        made(folder, "new", {"symptom": PHANTOM}, {"note": "quince"})
        two.refresh(whole=True)
        assert [e.name for e in one.search(Wanted(("quince",)))[0]] == ["new"]


# -- an index that is damaged --------------------------------------------------------------------------------------


def _damages() -> Iterator[tuple[str, int]]:
    yield from (("flipped", seed) for seed in range(12))
    yield from (("cut", seed) for seed in range(4))
    yield from (("emptied", 0), ("foreign", 0), ("version", 0), ("folder", 0), ("table", 0), ("row", 0))


@pytest.mark.parametrize(("kind", "seed"), list(_damages()))
def test_a_damaged_or_foreign_index_is_made_afresh_in_silence(
    folder: Path, kind: str, seed: int, capfd: pytest.CaptureFixture[str]
) -> None:
    """Whatever has happened to the index, the search finds what the files hold, and nobody hears of it."""
    filled(folder, SMALL + 1)
    found(folder)
    file, dice = index_file(folder), random.Random(seed)
    with sqlite3.connect(file) as base:
        base.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        if kind == "version":
            base.execute("PRAGMA user_version = 99")
        elif kind == "folder":
            base.execute("UPDATE meta SET said = '/elsewhere' WHERE name = 'folder'")
        elif kind == "table":
            base.execute("DROP TABLE tags")
        elif kind == "row":
            base.execute("UPDATE cases SET about = 'nowhere'")
    base.close()
    content = bytearray(file.read_bytes())
    if kind == "flipped":
        for _ in range(400):
            content[dice.randrange(len(content))] = dice.randrange(256)
    elif kind == "cut":
        del content[dice.randrange(len(content)) :]
    elif kind == "emptied":
        content.clear()
    elif kind == "foreign":
        content = bytearray(b"This is no database, it is a letter.\n" * 200)
    file.write_bytes(content)

    assert found(folder, "word0007") == ["case-0007"]
    assert len(found(folder, place="yard-3", most=500)) == len([n for n in range(SMALL + 1) if n % 7 == 3])
    assert len(found(folder, most=500)) == SMALL + 1
    assert capfd.readouterr() == ("", "")


def test_where_no_index_can_be_kept_the_search_still_works(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With a cache that is a file, everything is read afresh each time."""
    cache = folder.parent / "none"
    cache.write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(cache))
    filled(folder, SMALL + 1)

    assert found(folder, "word0007") == ["case-0007"]


def test_a_row_that_was_tampered_with_is_told_by_its_seal(folder: Path) -> None:
    """The index knows when a row no longer holds what it was given."""
    from troubleshoot.casebook.index import Damaged

    made(folder, "a", {"symptom": PHANTOM})
    with Shelf(folder) as shelf:
        shelf.refresh()
        index: Index = shelf._index
        index.base.execute("UPDATE cases SET symptom = 'x'")
        with pytest.raises(Damaged, match="a"):
            list(index.entries("1"))


def test_what_killed_processes_left_behind_is_swept_after_a_day(folder: Path) -> None:
    """A draft of yesterday goes at the next look at every file, one of just now stays, as does an index in use."""
    filled(folder, SMALL + 1)
    for name, age in ((".old.part", 2 * 86400.0), (".new.part", 1.0)):
        (folder / name).write_text("")
        os.utime(folder / name, (time.time() - age,) * 2)
    file = index_file(folder)
    file.parent.mkdir(parents=True)
    unused = file.with_name("shelf-0.sqlite")
    unused.write_text("")
    os.utime(unused, (1.0, 1.0))

    found(folder)

    assert [p.name for p in folder.iterdir() if p.name.startswith(".")] == [".new.part"]
    assert not unused.exists()
    assert file.exists()


# -- cases that are alike ------------------------------------------------------------------------------------------


def test_likeness_gives_its_reasons_and_the_nearest_first(folder: Path, club: Layout) -> None:
    """The same trouble at the same place comes first, then on the same board, then elsewhere; each says why."""
    parts = {p: shared_parts(club, "yard-2", p) for p in (b.name for b in club.places_of("block"))}
    board = next(p for p, s in parts.items() if s and s[0][0] in ("board", "detector") and p != "yard-2")
    far = next(p for p, s in parts.items() if not s)
    damp = {"answer": "core/when-worse", "outcome": "damp"}
    for name, place, more in (("far", far, []), ("near", board, []), ("same", "yard-2", [damp])):
        made(folder, name, {"symptom": PHANTOM, "about": place}, *more, *mended(at=place), day="2026-04-03")
    made(folder, "other", {"symptom": TRIPS, "about": "yard-district"})

    sought = Sought(club, "club", (PHANTOM,), "yard-2", (), 10, {"core/when-worse": "damp"})
    with Shelf(folder) as shelf:
        shelf.refresh()
        near = alike(shelf, sought)

    assert [a.entry.name for a in near] == ["same", "near", "far"]
    assert near[0].reasons == ("same place", "same symptom", "1 of 1 answers alike (damp)")
    assert near[1].reasons[0] == "same symptom"
    assert near[1].reasons[1].startswith("on the same ")
    assert near[2].reasons == ("same symptom",)
    assert near[0].points > near[1].points > near[2].points


def test_places_of_another_layout_are_not_compared(folder: Path, club: Layout) -> None:
    """A `yard-2` on somebody else's layout is another place."""
    made(folder, "a", {"symptom": PHANTOM, "about": "yard-2"}, layout="/home/other/mine.yaml")
    with Shelf(folder) as shelf:
        shelf.refresh()
        (one,) = alike(shelf, Sought(club, "club", (PHANTOM,), "yard-2"))

    assert one.reasons == ("same symptom",)


def test_words_and_seasons_count_a_little(folder: Path) -> None:
    """Words in common lead to a case with another symptom; the season is a reason beside others."""
    made(folder, "a", {"symptom": TRIPS}, {"note": "quince jam on the rails"}, day="2026-07-01")
    made(folder, "b", {"symptom": PHANTOM}, day="2026-07-01")
    with Shelf(folder) as shelf:
        shelf.refresh()
        by_words = alike(shelf, Sought(EMPTY, "", (TRIPS,), words=("quince", "jam")))
        by_season = alike(shelf, Sought(EMPTY, "", (PHANTOM,), month=8))

    assert by_words[0].reasons == ("same symptom", "the same words (quince jam)")
    assert by_season[0].reasons == ("same symptom", "also in summer")


def test_a_case_is_not_alike_itself(folder: Path) -> None:
    """Cases like one on the shelf are others."""
    made(folder, "a", {"symptom": PHANTOM, "about": "yard-2"})
    made(folder, "b", {"symptom": PHANTOM, "about": "yard-2"})
    with Shelf(folder) as shelf:
        shelf.refresh()
        entry = shelf.named("a")
        assert isinstance(entry, Entry)
        assert [a.entry.name for a in alike(shelf, sought_like(entry, EMPTY))] == ["b"]


# -- the command ---------------------------------------------------------------------------------------------------


def test_the_command_searches_and_names_bad_files_beside(shelf: Path) -> None:
    """Results on standard output, each bad file with its reason on standard error, and the exit code says so."""
    made(shelf, "a", {"symptom": PHANTOM, "about": "yard-2"}, *mended())
    made(shelf, "b", {"symptom": TRIPS})
    (shelf / "half.yaml").write_text("case: half\nevents:\n  - {when: 2026-1")
    (shelf / "newer.yaml").write_text("format: 9\nevents: []\n")
    (shelf / "latin.yaml").write_bytes(b"case: caf\xe9\n")
    (Path(os.fsdecode(os.fsencode(shelf) + b"/odd-\xff.yaml"))).write_text("case: x\n")

    done = ran("cases", "--symptom", "phantom-occupancy", "--json")
    plain = ran("cases", "--cause", "leak-through-ballast", "--width", "60")
    none = ran("cases", "quince")

    assert [c["case"] for c in done.data["cases"]] == ["a"]
    (line,) = done.data["cases"]
    assert (line["state"], line["causes"], done.data["count"]) == ("closed", [LEAK], 1)
    assert len(done.data["problems"]) == 4
    assert done.code == plain.code == 4
    reasons = {"half": "never closed", "newer": "is of format 9", "latin": "not UTF-8", "odd-": "no `events`"}
    for name, why in reasons.items():
        assert any(name in told and why in told for told in plain.err.splitlines()), plain.err
    assert "dry and clean ballast" in " ".join(plain.out.split())
    assert max(map(len, plain.out.splitlines())) <= 60
    assert f"No case in {shelf} fits." in none.err


def test_the_command_takes_days_months_years_and_periods(shelf: Path) -> None:
    """`--since` takes what a person would write, and says what it does not take."""
    made(shelf, "old", {"symptom": PHANTOM}, day="2026-05-03")
    today = time.strftime("%Y-%m-%d")
    made(shelf, "new", {"symptom": PHANTOM}, day=today)

    lists = {s: [c["case"] for c in ran("cases", "--since", s, "--json").data["cases"]] for s in ("2026-05-03", "3 d")}

    assert lists == {"2026-05-03": ["new", "old"], "3 d": ["new"]}
    assert ran("cases", "--since", "2026-05", "--json").data["count"] == 2
    assert ran("cases", "--since", "2026", "--json").data["count"] == 2
    assert "'soon' is no day" in ran("cases", "--since", "soon").err


def test_the_command_lists_cases_like_one(shelf: Path) -> None:
    """`--like` gives the nearest with their reasons, and a near miss of the name is told."""
    made(shelf, "2026-a", {"symptom": PHANTOM, "about": "yard-2"})
    made(shelf, "2026-b", {"symptom": PHANTOM, "about": "yard-2"}, *mended())

    done = ran("cases", "--like", "2026-a", "--json")

    assert [(c["case"], c["alike"][0]) for c in done.data["cases"]] == [("2026-b", "same place")]
    assert "same symptom" in ran("cases", "--like", "2026-a").out
    assert "did you mean '2026-a'?" in ran("cases", "--like", "2026-aa").err
