"""Documents are read strictly, written readably, and complained of all at once, with file and line."""

import os
import resource
import stat
from pathlib import Path
from typing import Any, Literal

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict, Field

from troubleshoot.documents import (
    Document,
    Problem,
    Problems,
    dump,
    nearest,
    parse,
    read,
    read_text,
    reading,
    validate,
    write,
)


def complaints(text: str) -> list[str]:
    """Return what is said about a text that must be refused."""
    with pytest.raises(Problems) as caught:
        parse(text, "f.yaml")
    return str(caught.value).splitlines()


def names_in(folder: Path) -> list[str]:
    """Return the names of what a folder holds, in order."""
    return sorted(entry.name for entry in folder.iterdir())


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("no", "no"),
        ("off", "off"),
        ("yes", "yes"),
        ("null", "null"),
        ("~", "~"),
        ("12:30", "12:30"),
        ("1:30:00", "1:30:00"),
        ("010", "010"),
        ("1_000", "1_000"),
        ("0x1F", "0x1F"),
        ("2024-01-01", "2024-01-01"),
        (".inf", ".inf"),
        (".nan", ".nan"),
        ("1e3", "1e3"),
        ("7" * 5000, "7" * 5000),
        ("7" * 400 + ".0", "7" * 400 + ".0"),
        ("0", 0),
        ("-15", -15),
        ("+3", 3),
        ("2.5", 2.5),
        ("-0.4", -0.4),
        ("1.10", 1.1),
        ("'15'", "15"),
        ('"2.5"', "2.5"),
        ('""', ""),
        ("", None),
    ],
)
def test_scalars_mean_what_they_look_like(text: str, expected: object) -> None:
    """Only plain decimals become numbers; words, dates, times and leading zeros stay text."""
    data = parse(f"value: {text}", "f").data["value"]

    assert expected == data
    assert type(expected) is type(data)


def test_keys_are_always_text() -> None:
    """Keys `1`, `true` and `1.0` are three different texts."""
    assert parse("1: a\ntrue: b\n1.0: c", "f").data == {"1": "a", "true": "b", "1.0": "c"}


@pytest.mark.parametrize("text", ["", "# only a remark\n", "---\n"])
def test_empty_document_is_none(text: str) -> None:
    """A file without content is None, not an error."""
    assert parse(text, "f").data is None


def test_marks_of_values_and_keys() -> None:
    """Every value and every key knows its line and column; an unknown tail is cut off."""
    document = parse("a: 1\nb:\n  - c: x\n    d: y\n", "f")

    assert document.where(("a",)) == (1, 4)
    assert document.where(("b", 0, "d")) == (4, 8)
    assert document.where(("b", 0, "d", "@key")) == (4, 5)
    assert document.where(("b", 0, "missing", "deeper")) == (3, 5)
    assert document.where(()) == (1, 1)
    assert Problem("f", 4, 8, "odd") == document.problem(("b", 0, "d"), "odd")


def test_problem_names_file_and_line() -> None:
    """Line 0 stands for the file as a whole."""
    assert str(Problem("f.yaml", 3, 1, "odd")) == "f.yaml:3: odd"
    assert str(Problem("f.yaml", 0, 0, "odd")) == "f.yaml: odd"


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("a: *x", 1, "alias"),
        ("a: &x 1", 1, "anchor"),
        ("&x a: 1", 1, "anchor"),
        ("a: !!python/name:os.system ", 1, "!!python/name:os.system"),
        ("a: !!binary aGVq", 1, "tag"),
        ("a: ! b", 1, "tag"),
        ("b: 1\n<<: {a: 1}", 2, "merge key"),
        ("a: 1\n---\nb: 2", 2, "second document"),
        ("a:\n\t- b", 2, "tab"),
        ("a: 1\nt: note: x", 2, "quotes"),
        ("a: @b", 1, '"@"'),
        ("a: %b", 1, '"%"'),
        ("a: *", 1, "quotes"),
        ("a: 'b\nc: d", 2, "quote opened in line 1"),
        ("a: [1, 2", 2, '"[" opened in line 1'),
        ("a: {b: c", 2, '"{" opened in line 1'),
        ("a:\n  - b\n c: d", 3, "indentation"),
        ('a: "b" c', 1, "quotes"),
        ('a: "\\q"', 1, "single quotes"),
        ("? [a]\n: b", 1, "key"),
        ("a: 1\nb: x\x07y", 2, "U+0007"),
        ("[" * 3000, 1, "deep"),
        ("[" * 41 + "]" * 41, 1, "deep"),
    ],
)
def test_refused_in_words_with_line(text: str, line: int, words: str) -> None:
    """What YAML allows but people trip over is refused, at its line and with the way out."""
    said = complaints(text)

    assert said[0].startswith(f"f.yaml:{line}: ")
    assert words in said[0]


def test_duplicate_key_names_both_lines() -> None:
    """A key given twice is refused at its second line, naming the first."""
    assert complaints("a: 1\nb: 2\na: 3") == ['f.yaml:3: "a" was given already in line 1; keep one of the two']


def test_all_problems_at_once() -> None:
    """Faults that do not end the reading are reported together, in order."""
    said = complaints("a: &x 1\nb: *x\nc: !t 2\nc: 3\n")

    assert [int(line.split(":")[1]) for line in said] == [1, 2, 3, 4]


def test_problems_without_end_are_cut() -> None:
    """A file full of aliases does not make a list without end."""
    assert len(complaints("- *x\n" * 5000)) == reading.MOST_PROBLEMS


def test_nested_aliases_are_refused_before_they_are_built() -> None:
    """Aliases of aliases are refused at the first one."""
    rows = ["a0: &a0 [x]"] + [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 10)]

    assert "anchor" in complaints("\n".join(rows))[0]


def test_too_many_values_are_refused() -> None:
    """The count of values is limited."""
    assert "values" in complaints("[" + "1," * (reading.MOST_VALUES + 1) + "]")[0]


def test_too_many_bytes_are_refused(tmp_path: Path) -> None:
    """Two megabytes are the limit, for a text and for a file."""
    large = tmp_path / "large.yaml"
    large.write_text("# " + "x" * reading.MOST_BYTES, encoding="utf-8")

    assert "2 MB" in complaints("# " + "é" * (reading.MOST_BYTES // 2))[0]
    with pytest.raises(Problems, match="2 MB"):
        read(large)


@given(st.text(alphabet=st.sampled_from("ab:-#[]{}&*!|>'\"%@`?,<~ \n\t\\0u1.é😀\x85\ufeff\x07")))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    """No text makes the reader fail with anything but Problems that point into it."""
    try:
        parse(text, "f")
    except Problems as caught:
        assert all(p.text and 0 <= p.line <= text.count("\n") + text.count("\x85") + 2 for p in caught.problems)


def test_pure_reader_agrees(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the fast parser the same text gives the same data, marks and refusals."""
    text = "a: 1\nb:\n  - {c: no, d: 010}\n  - |\n    two\n    lines\n"
    fast = parse(text, "f")
    monkeypatch.setattr(reading, "_Loader", yaml.SafeLoader)

    assert fast == parse(text, "f")
    assert "tab" in complaints("a:\n\t- b")[0]
    assert "quotes" in complaints("t: note: x")[0]
    assert 'f.yaml:2: "a" was' in complaints("a: 1\na: 2")[0]


def test_byte_order_mark_is_dropped(tmp_path: Path) -> None:
    """A file saved with a byte order mark reads like one without."""
    file = tmp_path / "bom.yaml"
    file.write_bytes(b"\xef\xbb\xbfa: 1\r\nb: 2\r\n")

    assert read(file).data == {"a": 1, "b": 2}


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"a: 1\nb: caf\xe9\n", ":2: this is not UTF-8 text (byte 0xe9)"),
        ("a: 1".encode("utf-16"), ":1: this is not UTF-8"),
    ],
)
def test_other_encodings_are_refused_with_their_line(tmp_path: Path, content: bytes, words: str) -> None:
    """A file in another encoding says where, and what to do."""
    file = tmp_path / "odd.yaml"
    file.write_bytes(content)

    with pytest.raises(Problems) as caught:
        read_text(file)

    assert words in str(caught.value)


def test_missing_file_names_the_nearest(tmp_path: Path) -> None:
    """A name with a slip leads to the file that was meant; a folder is called a folder."""
    (tmp_path / "club.yaml").write_text("a: 1", encoding="utf-8")

    with pytest.raises(Problems, match=r"did you mean .*club\.yaml"):
        read(tmp_path / "clubb.yaml")
    with pytest.raises(Problems, match="no such file"):
        read(tmp_path / "nowhere" / "zzz")
    with pytest.raises(Problems, match="folder"):
        read(tmp_path)
    with pytest.raises(Problems, match="cannot be read"):
        read("a\0b")


WORDS = st.text(st.characters(exclude_categories=["Cs"]), max_size=30) | st.sampled_from(
    [
        "no",
        "~",
        "10",
        "010",
        "-",
        "- a",
        "a: b",
        "a #b",
        "#",
        "<<",
        "---",
        "...",
        "a\nb\n",
        "\n",
        "a\n\n",
        " a\nb",
        "|",
        "a:",
        "?",
    ]
)
NUMBERS = st.integers(-(10**18) + 1, 10**18 - 1) | st.integers(-(10**9), 10**9).map(lambda n: n / 1000)
DATA = st.recursive(
    st.none() | WORDS | NUMBERS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(WORDS, inner, max_size=4),
)


@given(DATA)
def test_what_is_written_is_read_back(data: Any) -> None:
    """Any data that a document can hold survives the way out and in, by either parser."""
    text = dump(data)

    assert data == parse(text, "f").data
    builder = reading._Builder(yaml.SafeLoader(text), "f")
    assert data == builder.build()
    assert not builder.problems


@given(st.text(st.characters(exclude_categories=["Cs"]), min_size=90, max_size=2000), DATA)
def test_long_keys_are_read_back(key: str, data: Any) -> None:
    """A key too long for a plain line is written in the long form."""
    assert [{key: data}] == parse(dump([{key: data}]), "f").data


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_floats_keep_seventeen_decimals(number: float) -> None:
    """A float comes back as itself, or within the last of 17 decimals."""
    back = parse(dump([number]), "f").data[0]

    assert isinstance(back, float)
    assert abs(number - back) <= 1e-17


def test_written_text_is_easy_to_read() -> None:
    """Block style, order kept, quotes only where the reader would be misled, unicode as it is."""
    data = {"z": "no", "a": ["10", 10, "12:30", {"b": None, "c": "x: y"}], "how": "One.\nTwo.\n", "é": "Ω 😀"}

    expected = 'z: no\na:\n  - "10"\n  - 10\n  - 12:30\n  - b:\n    c: "x: y"\nhow: |\n  One.\n  Two.\né: Ω 😀\n'
    assert expected == dump(data)


@pytest.mark.parametrize("data", [True, float("nan"), float("inf"), 10**18, object(), b"x"])
def test_what_no_document_can_hold_is_refused(data: object) -> None:
    """Truth values, nan, infinity and huge integers would not come back, so they are not written."""
    with pytest.raises(ValueError, match="document"):
        dump({"a": data})


def test_too_deep_is_not_written() -> None:
    """What the reader would refuse for its depth is refused by the writer."""
    data: Any = 1
    for _ in range(60):
        data = [data]
    with pytest.raises(ValueError, match="deep"):
        dump(data)


def test_half_characters_are_replaced() -> None:
    """A bad byte from a terminal is replaced and does not stop the saving."""
    assert parse(dump({"note": "a\udce9b"}), "f").data == {"note": "a\ufffdb"}


def test_write_replaces_whole_and_keeps_the_mode(tmp_path: Path) -> None:
    """The old permissions stay, a link stays a link, and no draft is left behind."""
    file, link = tmp_path / "case.yaml", tmp_path / "link.yaml"
    write(file, {"a": 1})
    file.chmod(0o640)
    link.symlink_to(file)

    write(link, {"a": 2})

    assert link.is_symlink()
    assert read(file).data == {"a": 2}
    assert stat.S_IMODE(file.stat().st_mode) == 0o640
    assert names_in(tmp_path) == ["case.yaml", "link.yaml"]


def test_new_file_follows_the_umask(tmp_path: Path) -> None:
    """A new file is as readable as any other that the person makes."""
    old = os.umask(0o027)
    try:
        write(tmp_path / "new.yaml", {})
    finally:
        os.umask(old)

    assert stat.S_IMODE((tmp_path / "new.yaml").stat().st_mode) == 0o640


def test_failed_write_leaves_the_old_file(tmp_path: Path) -> None:
    """When the system refuses more bytes, the old file is whole, and no draft is left."""
    file = tmp_path / "case.yaml"
    write(file, {"a": "old"})
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (64, hard))
    try:
        with pytest.raises(Problems, match=r"not saved: .*unchanged"):
            write(file, {"a": "x" * 5000})
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))

    assert read(file).data == {"a": "old"}
    assert names_in(tmp_path) == ["case.yaml"]


def test_impossible_places_are_named_in_words(tmp_path: Path) -> None:
    """A missing folder, a folder in place of a file and a text that is too long are said plainly."""
    with pytest.raises(Problems, match="no such folder"):
        write(tmp_path / "none" / "case.yaml", {})
    with pytest.raises(Problems, match="this is a folder"):
        write(tmp_path, {})
    with pytest.raises(Problems, match="2 MB"):
        write(tmp_path / "large.yaml", {"a": "x" * reading.MOST_BYTES})


class Sound(BaseModel):
    """A small part."""

    model_config = ConfigDict(extra="forbid")
    minutes: float = Field(gt=0)
    tool: Literal["none", "multimeter", "lamp"] = "none"
    tags: tuple[str, ...] = ()


class Pack(BaseModel):
    """A small pack."""

    model_config = ConfigDict(extra="forbid")
    name: str
    count: int = 0
    check_list: dict[str, Sound] = Field(default={}, alias="checks")
    either: int | list[Sound] | None = None


def judged(text: str) -> list[str]:
    """Return what is said of a document that does not fit the model."""
    with pytest.raises(Problems) as caught:
        validate(parse(text, "p.yaml"), Pack)
    return str(caught.value).splitlines()


def test_valid_document_becomes_the_model() -> None:
    """Integers may fill floats and lists may fill tuples; nothing else is bent."""
    pack = validate(parse("name: x\nchecks: {a: {minutes: 3, tags: [b]}}", "p"), Pack)

    assert Sound(minutes=3.0, tags=("b",)) == pack.check_list["a"]


def test_part_of_a_document_is_placed_rightly() -> None:
    """Checking from a path on gives the lines of the whole file."""
    document = parse("packs:\n  - name: x\n    count: many\n", "p.yaml")

    with pytest.raises(Problems) as caught:
        validate(document, Pack, ("packs", 0))

    assert str(caught.value).startswith('p.yaml:3: "count" must be a whole number')


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("nam: x", 'p.yaml:1: "nam" is not known here; did you mean "name"?'),
        (
            "name: x\nchecks:\n  a:\n    minuts: 3",
            'p.yaml:4: "minuts" is not known here; did you mean "minutes"?',
        ),
        (
            "name: x\nchecks:\n  a: {tool: lmap, minutes: 1}",
            'p.yaml:3: "tool" cannot be "lmap"; did you mean "lamp"?',
        ),
        (
            "name: 1.10",
            'p.yaml:1: "name" must be text (put it in quotes if it looks like a number), not the number 1.1',
        ),
        (
            "name: x\ncount: 010",
            'p.yaml:2: "count" must be a whole number without quotes, unit or leading zero, not "010"',
        ),
        ("name:", 'p.yaml:1: "name" has no value; fill it in, or leave it out'),
        ("name: x\nchecks: [a]", 'p.yaml:2: "checks" must be a mapping (name: value), not a list'),
        ("name: x\nchecks: {a: {minutes: 0}}", 'p.yaml:2: "minutes" must be more than 0'),
        ("name: x\nchecks: {a: {minutes: 1, tags: [b, 3]}}", 'p.yaml:2: item 2 of "tags" must be text'),
        ("count: 1", 'p.yaml:1: this needs "name"; add it'),
        ("- a", "p.yaml:1: this must be a mapping"),
    ],
)
def test_findings_of_a_model_in_words(text: str, expected: str) -> None:
    """Each finding says where, which, what is wanted and what stands there."""
    assert any(line.startswith(expected) for line in judged(text)), judged(text)


def test_a_choice_of_shapes_is_still_placed() -> None:
    """Within a choice of shapes the line of the value is found, whatever the model calls the branches."""
    said = judged("name: x\neither:\n  - minutes: 1\n  - minutes: 2\n    colour: red\n")

    assert any(line.startswith('p.yaml:5: "colour" is not known here') for line in said)


def test_all_findings_come_in_the_order_of_lines() -> None:
    """Every finding of a model is reported at once, from top to bottom."""
    said = judged("count: x\nname: 3\nchecks:\n  a: {}\n  b: {minutes: -1}\n")

    assert [int(line.split(":")[1]) for line in said] == [1, 2, 4, 5]


def test_nearest_ignores_case_and_gives_up_when_far() -> None:
    """A slip finds its word; a different word finds none."""
    assert nearest("minuts", ["Minutes", "tool"]) == "Minutes"
    assert nearest("qqq", ["minutes", "tool"]) is None
    assert nearest("x", []) is None


def test_document_without_marks_still_points_at_its_top() -> None:
    """A document made by a program has a place for its problems."""
    assert Document("f", {}, {}).where(("a", 0)) == (1, 1)
