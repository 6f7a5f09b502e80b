"""Reading logs in any plain form: every line accounted for, the same rows whatever the form, no crash."""

from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from troubleshoot.documents import Problems
from troubleshoot.eventlog import Account, Log, Mapping, columns_said, load, namer, read, save, words_said
from troubleshoot.layout import Layout

START = datetime(2026, 3, 1, 23, 58, 30, tzinfo=timezone.utc)
ROWS = [
    (0.25, "block", "yard-2", "occupied"),
    (1.5, "turnout", "t-301", "commanded thrown"),
    (3.75, "turnout", "t-301", "confirmed thrown"),
    (60.0, "power", "yard-district", "trip"),
    (62.5, "power", "yard-district", "restore"),
    (120.125, "block", "yard-2", "clear"),
]
FORMS = {
    "date": lambda s: (START + timedelta(seconds=s)).strftime("%Y-%m-%dT%H:%M:%S.%f")[:-3],
    "spaced": lambda s: (START + timedelta(seconds=s)).strftime("%Y-%m-%d %H:%M:%S.%f"),
    "dotted": lambda s: (START + timedelta(seconds=s)).strftime("%d.%m.%Y %H:%M:%S.%f")[:-3],
    "zoned": lambda s: (START + timedelta(seconds=s, hours=2)).strftime("%Y-%m-%d %H:%M:%S.%f")[:-3] + "+02:00",
    "seconds": lambda s: f"{START.timestamp() + s:.3f}",
    "milliseconds": lambda s: f"{(START.timestamp() + s) * 1000:.0f}",
    "clock": lambda s: (START + timedelta(seconds=s)).strftime("%H:%M:%S.%f")[:-3],
    "half-day": lambda s: (START + timedelta(seconds=s)).strftime("%I:%M:%S.%f")[:-3] + (
        " PM" if (START + timedelta(seconds=s)).hour >= 12 else " AM"
    ),
}  # fmt: skip
ENCODINGS = ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "latin-1")


def file_of(folder: Path, text: str | bytes, encoding: str = "utf-8") -> Path:
    """A log file."""
    path = folder / "log.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
    return path


def rows_of(log: Log) -> list[tuple[float, str, str, int]]:
    """All rows of a log, from its first moment on, as plain data."""
    tracks = {"block": log.blocks, "command": log.commands, "report": log.reports, "power": log.power}
    return sorted(
        (round(when - log.start, 3), track, name, state)
        for track, names in tracks.items()
        for name, one in names.items()
        for when, state in one
    )


def accounted(account: Account) -> bool:
    """Whether every line is head, blank, read or refused."""
    return account.lines == account.heads + account.blank + account.read + account.refused


EXPECTED = [
    (0.0, "block", "yard-2", 1),
    (1.25, "command", "t-301", 1),
    (3.5, "report", "t-301", 1),
    (59.75, "power", "yard-district", 0),
    (62.25, "power", "yard-district", 1),
    (119.875, "block", "yard-2", 0),
]


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("head", ["", "time,kind,name,state\n"])
def test_the_same_rows_whatever_the_form(tmp_path: Path, form: str, delimiter: str, head: str) -> None:
    """Times, delimiters and a head are found out; midnight is crossed by a date as by a bare clock."""
    lines = [",".join((FORMS[form](s), *rest)) for s, *rest in ROWS]
    text = (head + "\n".join(lines) + "\n").replace(",", delimiter)
    text = text if delimiter == "," else text.replace(".", ",", text.count(".") if form in ("date", "clock") else 0)

    log, account = read(file_of(tmp_path, text))

    assert rows_of(log) == EXPECTED
    assert accounted(account)
    assert (account.read, account.refused, account.heads) == (6, 0, bool(head))


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_any_usual_encoding_is_found(tmp_path: Path, encoding: str) -> None:
    """Letters beyond ASCII come out as they were written, with or without a mark at the beginning."""
    text = "".join(f"2026-03-01 19:00:0{i},block,Überhol-Gleis {i},occupied\n" for i in range(8))

    log, account = read(file_of(tmp_path, text, encoding))

    assert [*log.blocks] == [f"Überhol-Gleis {i}" for i in range(8)]
    assert accounted(account)


def test_columns_in_any_order_and_a_date_of_its_own(tmp_path: Path) -> None:
    """Columns are taken by number or by head, and date and time may stand apart."""
    text = "Note,Status,Block,Date,Clock\nx,occupied,yard-1,2026-03-01,19:00:00\nx,clear,yard-1,2026-03-02,19:00:00\n"
    mapping = Mapping(columns={"time": "Clock", "date": "date", "name": 2, "state": "status"}, kind="block")

    log, _ = read(file_of(tmp_path, text), mapping)

    assert rows_of(log) == [(0.0, "block", "yard-1", 1), (86400.0, "block", "yard-1", 0)]


def test_an_owners_words_are_taken(tmp_path: Path) -> None:
    """Words of another language are mapped, and win over the usual meaning."""
    text = "10:00:00;Gleis;G1;belegt\n10:00:05;Gleis;G1;frei\n10:00:06;Weiche;W1;on\n"
    words = words_said("Gleis=block,Weiche=turnout,belegt=occupied,frei=clear,on=closed")

    log, account = read(file_of(tmp_path, text), Mapping(words=words))

    assert account.refused == 0
    assert rows_of(log) == [(0.0, "block", "G1", 1), (5.0, "block", "G1", 0), (6.0, "command", "W1", 0)]


def test_a_bad_row_is_told_with_its_line_and_stops_nothing(tmp_path: Path) -> None:
    """Each kind of bad row is refused by its own reason; the good ones around it are read."""
    text = (
        "2026-03-01 19:00:00,block,a,occupied\n2026-13-01 19:00:00,block,a,clear\n\n2026-03-01 19:00:01,block\n"
        '2026-03-01 19:00:02,block,"a,clear\n2026-03-01 19:00:03,tea,a,clear\n2026-03-01 19:00:04,block,a,warm\n'
        "2026-03-01 19:00:05,block,,clear\n2026-03-01 19:00:06,block,a,clear\n"
    )

    log, account = read(file_of(tmp_path, text))
    told = [str(p).split("log.csv:")[1] for p in account.reasons]

    assert [t.split(":")[0] for t in told] == ["2", "4", "5", "6", "7", "8"]
    assert all(w in t for w, t in zip(("month", "columns", "columns", "tea", "warm", "name"), told, strict=True))
    assert (account.read, account.blank, account.refused) == (2, 1, 6)
    assert len(log.blocks["a"]) == 2


def test_reasons_that_repeat_are_told_once(tmp_path: Path) -> None:
    """A thousand rows with one strange word are one line of complaint."""
    text = (
        "2026-03-01 19:00:00,block,a,occupied\n"
        + "2026-03-01 19:00:01,block,a,odd\n2026-03-01 19:00:01,block,b,odd\n" * 500
    )

    _, account = read(file_of(tmp_path, text))

    assert len(account.reasons) == 1
    assert "999 more" in str(account.reasons[0])


def test_rows_out_of_order_are_sorted(tmp_path: Path) -> None:
    """A row written down late takes its place by its time, also across midnight."""
    text = "23:59:58,a,occupied\n00:00:02,a,clear\n23:59:59,b,occupied\n00:00:04,b,clear\n"

    log, account = read(file_of(tmp_path, text))

    assert rows_of(log) == [
        (0.0, "block", "a", 1),
        (1.0, "block", "b", 1),
        (4.0, "block", "a", 0),
        (6.0, "block", "b", 0),
    ]
    assert not account.refused


def test_a_zone_that_is_named_counts_its_summer_time(tmp_path: Path) -> None:
    """The night in which the clock goes on has an hour less between its rows."""
    text = "2026-03-29 01:30:00,a,occupied\n2026-03-29 03:30:00,a,clear\n"

    log, _ = read(file_of(tmp_path, text), Mapping(zone="Europe/Berlin", times="date"))

    assert log.end - log.start == 3600.0
    assert log.offset == 3600.0


def test_names_of_the_layout_are_known_by_word_and_by_number(tmp_path: Path, club: Layout) -> None:
    """Case and hyphens do not count; a bare number is a detector's input or a turnout's own."""
    text = "1,block,Block YARD_2,occupied\n2,sensor,13,occupied\n3,switch,314,thrown\n4,block,teapot,occupied\n"

    log, _ = read(file_of(tmp_path, text), None, namer(club))

    assert [*log.blocks] == ["yard-2", "harbour-1", "teapot"]
    assert [*log.commands] == ["t-314"]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is empty"),
        ("hello world\n" * 5, "--columns"),
        ("03/04/2026 10:00:00,a,occupied\n", "time"),
        ("x,a,occupied\n", "time"),
    ],
)
def test_what_cannot_be_understood_says_what_to_do(tmp_path: Path, text: str, says: str) -> None:
    """The file is named, and the option that helps."""
    with pytest.raises(Problems, match=says) as caught:
        read(file_of(tmp_path, text))

    assert "log.csv" in str(caught.value)


@pytest.mark.parametrize(
    ("mapping", "says"),
    [
        (Mapping(columns={"time": "Tim", "name": 1, "state": 2}, header=True), "did you mean 'time'"),
        (Mapping(zone="Nowhere/Else"), "no time zone"),
        (Mapping(encoding="morse"), "no encoding"),
    ],
)
def test_a_mapping_that_does_not_fit_says_so(tmp_path: Path, mapping: Mapping, says: str) -> None:
    """A wrong column, zone or encoding is named with what there is."""
    with pytest.raises(Problems, match=says):
        read(file_of(tmp_path, "time,name,state\n2026-03-01 19:00:00,a,occupied\n"), mapping)


@given(st.binary(max_size=600), st.sampled_from([None, "utf-8", "utf-16", "latin-1"]))
@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_bytes_make_it_crash(tmp_path: Path, data: bytes, encoding: str | None) -> None:
    """Any bytes are either told as a problem or accounted for line by line."""
    mapping = Mapping({"time": 0, "name": 1, "state": 2}, ",", encoding, False, "seconds")

    try:
        log, account = read(file_of(tmp_path, data), mapping)
    except Problems as told:
        assert "is empty" in str(told) or "is not written in utf-16" in str(told)
        return

    assert accounted(account)
    assert log.rows == account.read


CELL = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        ["occupied", "clear", "block", "train", "turnout", "thrown", "", '"', "2026-03-01 19:00:00", "25:00"]
    ),
    st.integers(-5, 2_000_000_000_000).map(str),
    st.times().map(str),
    st.datetimes().map(str),
)


@given(st.lists(st.lists(CELL, max_size=6), max_size=12), st.sampled_from([",", ";", "\t", "|"]))
@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_table_makes_it_crash(tmp_path: Path, rows: list[list[str]], delimiter: str) -> None:
    """Guessing and reading any table ends in a problem in words, or in an account that adds up."""
    text = "\n".join(delimiter.join(row) for row in rows)
    path = file_of(tmp_path, text.encode("utf-8", "surrogatepass"))
    try:
        log, account = read(path)
    except Problems as told:
        assert str(path) in str(told)
        return

    assert accounted(account)
    assert log.rows == account.read


@given(
    st.dictionaries(st.sampled_from(["time", "date", "kind", "name", "state"]), st.integers(0, 99) | st.just("Head")),
    st.sampled_from([None, ",", "\t", ";", "|", "~"]),
    st.sampled_from([None, True, False]),
    st.dictionaries(st.text(st.characters(codec="ascii", exclude_categories=["C"]), min_size=1, max_size=8),
                    st.sampled_from(["occupied", "clear", "block"]), max_size=4),
)  # fmt: skip
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_mapping_is_read_back_as_it_was_saved(
    tmp_path: Path, columns: dict[str, int | str], delimiter: str | None, header: bool | None, words: dict[str, str]
) -> None:
    """Nothing is lost or changed on the way through the file."""
    mapping = Mapping(columns, delimiter, "utf-8", header, "date", "+01:00", "block", words, {"LS 12": "yard-2"})
    path = tmp_path / "mapping.yaml"
    save(path, mapping)

    assert load(path) == mapping


def test_what_was_guessed_is_saved_too(tmp_path: Path) -> None:
    """The account's mapping reads the next log of the same computer without guessing."""
    _, account = read(file_of(tmp_path, "clear;yard-1;10:00:00\noccupied;yard-1;10:00:01\n"))
    save(tmp_path / "m.yaml", account.mapping)

    log, again = read(file_of(tmp_path, "occupied;yard-2;11:00:00\n"), load(tmp_path / "m.yaml"))

    assert again.mapping == account.mapping
    assert [*log.blocks] == ["yard-2"]


def test_a_mapping_with_slips_is_refused_with_its_lines(tmp_path: Path) -> None:
    """Unknown keys and meanings are named, all at once."""
    path = tmp_path / "m.yaml"
    path.write_text("log-columns: 1\ncolums: {time: 0}\nwords: {belegt: ocupied}\n", encoding="utf-8")

    with pytest.raises(Problems) as caught:
        load(path)

    assert [p.line for p in caught.value.problems] == [2, 3]


@pytest.mark.parametrize("said", ["time", "tme=0", "time=", "=1"])
def test_columns_said_wrongly_are_told(said: str) -> None:
    """What is no column says how one is written."""
    with pytest.raises(ValueError, match="time=0"):
        columns_said(said)


@pytest.mark.parametrize("said", ["belegt", "belegt=busy", "=occupied"])
def test_words_said_wrongly_are_told(said: str) -> None:
    """What has no meaning lists the meanings there are."""
    with pytest.raises(ValueError, match="occupied"):
        words_said(said)
