"""The round as a person meets it: planned, taken, noted, looked at, and turned into an inquiry."""

import json
import math
import random
import re
import sys
from datetime import date, timedelta
from pathlib import Path

import pexpect
import pytest

from tests.running import ROOT, Ran, ran, spawned
from troubleshoot import casebook
from troubleshoot.layout import load as load_layout
from troubleshoot.screen.trends import spark
from troubleshoot.sketch.trends import Mark, Panel, draw

JOINT = "yard-1/yard-2"
BEGIN = date(2025, 1, 5)


@pytest.fixture
def readings(shelf: Path) -> Path:
    """The file in which the readings of the bundled club layout are kept."""
    return shelf / "rounds" / "club.yaml"


@pytest.fixture
def at_home(shelf: Path) -> Path:
    """The file of the bundled home layout, on which a short round is quickly planned."""
    return shelf / "rounds" / "home.yaml"


def fill(path: Path, per_year: float = 0.1, count: int = 19, place: str = JOINT) -> date:
    """A history of a joint that falls by a factor a year from 18 Mohm; the day of its last reading."""
    lines = ["round: Fennick Valley Railway", "format: 1", "layout: club", "events:"]
    day = BEGIN
    for i in range(count):
        day = BEGIN + timedelta(days=30 * i)
        ohms = 18e6 * per_year ** (30 * i / 365.25) * math.exp(random.Random(i).gauss(0, 0.02))
        lines.append(
            f"  - {{when: {day}, answer: core/joint-ohms, at: {json.dumps(place)}, reading: {ohms / 1e3:.4g} kohm}}"
        )
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return day


def noted(*more: str) -> Ran:
    """Note a reading of the joint."""
    return ran("round", "note", "joint-ohms", JOINT, *more, "--layout", "club")


def test_a_plan_is_printed_in_walking_order_with_cautions_and_minutes(shelf: Path) -> None:
    """The sheet begins with safety, numbers its lines, and says how long it takes and what is done at the end."""
    done = ran("round", "plan", "--layout", "club", "--readings", "6", "--width", "60")

    assert done.code == 0
    assert done.out.index("SAFETY") < done.out.index("CAUTION") < done.out.index(" 1. ") < done.out.index(" 6. ")
    assert "At the end" in done.out
    assert "track power is switched" in done.out
    assert all(len(line) <= 60 for line in done.out.splitlines())
    assert "round take --layout club" in done.err


def test_a_plan_as_json_holds_what_the_sheet_shows(shelf: Path) -> None:
    """Order, place, board, expected figures, set-ups, cautions with their words, and minutes."""
    data = ran("round", "plan", "--layout", "club", "--readings", "6", "--json").data

    assert [r["number"] for r in data["readings"]] == list(range(1, 7))
    assert data["minutes"] == pytest.approx(sum(r["minutes"] for r in data["readings"]), abs=30)
    for reading in data["readings"]:
        assert set(reading["cautions"]) <= set(data["cautions"])
        assert reading["expected-low"] is not None
    assert 0.0 < data["at-least-of-best"] <= 1.0


def test_a_reading_is_kept_and_judged_at_once(readings: Path) -> None:
    """It is in the file when the command ends, and its worth is told."""
    done = noted("9.8M", "--date", "2026-03-14", "--meter", "pocket", "--humidity", "48 %")

    assert done.code == 0
    assert "sound (healthy)" in done.out
    (event,) = casebook.read(readings).events
    assert (event["reading"], event["meter"], event["humidity"]) == ("9.8M", "pocket", "48 %")


def test_the_meter_used_last_is_taken_if_none_is_said(readings: Path) -> None:
    """Nobody types the name of a meter twice."""
    noted("9.8M", "--date", "2026-03-14", "--meter", "pocket")
    noted("9.7M", "--date", "2026-04-14")

    assert [e["meter"] for e in casebook.read(readings).events] == ["pocket", "pocket"]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("joint-ohm", JOINT, "5M"), "did you mean 'joint-ohms'"),
        (("when-worse", JOINT, "5M"), "is no reading"),
        (("joint-ohms", "yard-1/yard-22", "5M"), "did you mean"),
        (("joint-ohms", JOINT, "5 V"), "ohms are wanted"),
        (("joint-ohms", JOINT, "5m"), "Megohms or milliohms"),
        (("joint-ohms", JOINT, "5M", "--date", "yesterday"), "write it as in"),
        (("joint-ohms", JOINT, "5M", "--temperature", "200 C"), "between -40 and 60"),
    ],
)
def test_what_cannot_be_is_wrong_usage_and_keeps_nothing(readings: Path, arguments: tuple[str, ...], told: str) -> None:
    """Unknown check, place, unit, date or climate: told with the next step, exit code 2, and no file is made."""
    done = ran("round", "note", *arguments, "--layout", "club")

    assert done.code == 2
    assert told in done.err
    assert not readings.exists()


def test_a_round_is_taken_in_plain_lines(at_home: Path) -> None:
    """Meter and climate once, then reading by reading, each echoed, kept with its set-ups, and judged."""
    said = "pocket\n19 C\n-\n0.05\n\n0.06\n\n" + "yes\n" * 8
    done = ran("round", "take", "--layout", "home", "--count", "2", "--plain", said=said)

    assert done.code == 0, done.out + done.err
    assert "Understood as 50 mV AC" in done.out
    assert "The round is done" in done.out
    answers = [e for e in casebook.read(at_home).events if "answer" in e]
    assert [(e["reading"], e["meter"], e["temperature"]) for e in answers] == [
        ("0.05", "pocket", "19 C"), ("0.06", "pocket", "19 C"),
    ]  # fmt: skip
    states = [(e["state"], e["set-up"]) for e in casebook.read(at_home).events if "set-up" in e]
    assert sum(1 for s, _ in states if s == "entered") == sum(1 for s, _ in states if s == "left") > 0


def test_the_end_of_input_pauses_a_round_and_it_goes_on_from_there(at_home: Path) -> None:
    """What was read today is not asked again, and what is still undone is asked for first."""
    first = ran("round", "take", "--layout", "home", "--count", "2", "--plain", said="-\n-\n-\n0.05\n\n")
    second = ran("round", "take", "--layout", "home", "--count", "2", "--plain", said="no\nno\n-\n-\n-\n0.06\n\n")

    assert first.code == 5
    assert "Still undone" in first.out
    assert "Go on with: troubleshoot round take --layout home" in first.err
    assert "Left undone before" in second.out
    answers = [e for e in casebook.read(at_home).events if "answer" in e]
    assert len({e["at"] for e in answers}) == 2


def test_a_reading_can_be_taken_back_in_the_round(at_home: Path) -> None:
    """Back undoes the last reading and asks for it again; a figure that cannot be read is asked again too."""
    said = "-\n-\n-\n0.05\n\nb\nnonsense\n0.07\n\ns\n"
    done = ran("round", "take", "--layout", "home", "--count", "2", "--plain", said=said)

    assert done.code == 5
    assert "Taken back: 0.05" in done.out
    assert "holds no figure" in done.out
    case = casebook.read(at_home)
    assert [e["reading"] for _, e in case.standing() if "answer" in e] == ["0.07"]


def test_what_cannot_be_read_is_left_out(at_home: Path) -> None:
    """A reading left out keeps nothing, and the round goes on with the next."""
    done = ran("round", "take", "--layout", "home", "--count", "2", "--plain", said="-\n-\n-\nc\n0.05\n\nyes\nyes\n")

    answers = [e for e in casebook.read(at_home).events if "answer" in e]
    assert len(answers) == 1
    assert answers[0]["answer"] == "core/common-offset-volts"
    assert done.code == 0


def test_ctrl_c_leaves_every_reading_saved(at_home: Path) -> None:
    """In a real terminal Ctrl-C at the second reading ends with 130, says what is undone, and the first is kept."""
    command = ["-m", "troubleshoot", "round", "take", "--layout", "home", "--count", "2", "--plain"]
    child = pexpect.spawn(sys.executable, command, cwd=str(ROOT), encoding="utf-8", timeout=60)
    for answer in ("pocket", "-", "-", "0.05", ""):
        child.expect("\n> ")
        child.sendline(answer)
    child.expect("2 of 2")
    child.expect("\n> ")
    child.sendintr()
    child.expect("every reading is saved")
    child.expect(pexpect.EOF)
    child.close()

    assert child.exitstatus == 130
    assert [e["reading"] for e in casebook.read(at_home).events if "answer" in e] == ["0.05"]


def test_a_file_of_readings_is_kept_whole(readings: Path, tmp_path: Path) -> None:
    """Date, meter and climate at the top go for every line that does not say otherwise."""
    script = tmp_path / "r.yaml"
    script.write_text(
        "date: 2026-03-14\nmeter: pocket\nhumidity: 48 %\nreadings:\n"
        f"  - {{check: joint-ohms, at: {JOINT}, reading: 9.8M}}\n"
        "  - {check: joint-ohms, at: yard-2/yard-3, reading: 43k, date: 2026-03-15}\n",
        encoding="utf-8",
    )
    done = ran("round", "take", "--layout", "club", "--readings", str(script), "--json")

    assert done.code == 0
    assert [(r["day"], r["state"], r["meter"]) for r in done.data["readings"]] == [
        ("2026-03-14", "first", "pocket"), ("2026-03-15", "beyond-limit", "pocket"),
    ]  # fmt: skip
    assert len(casebook.read(readings).events) == 2


def test_a_file_with_mistakes_keeps_nothing_and_tells_all_of_them(readings: Path, tmp_path: Path) -> None:
    """Every wrong line at once with file and line, exit code 4, and no reading of it is kept."""
    script = tmp_path / "r.yaml"
    script.write_text(
        f"readings:\n  - {{check: joint-ohms, at: {JOINT}, reading: 9.8M}}\n"
        "  - {check: joint-ohm, at: yard-2/yard-3, reading: 43k}\n"
        "  - {check: joint-ohms, at: yard-2/yard-33, reading: 43k}\n"
        "  - {check: joint-ohms, at: yard-2/yard-3, reading: 43 A, colour: red}\n",
        encoding="utf-8",
    )
    done = ran("round", "take", "--layout", "club", "--readings", str(script))

    assert done.code == 4
    assert [line.split(":")[1] for line in done.err.splitlines()[:3]] == ["3", "4", "5"]
    assert "'colour' is not known" in done.err
    assert not readings.exists()


def test_readings_of_an_own_layout_lie_beside_its_record(shelf: Path, tmp_path: Path) -> None:
    """my-layout.yaml gets my-layout.readings.yaml, which a folder of cases would not take for a case."""
    record = tmp_path / "my-layout.yaml"
    record.write_text("name: Mine\nscale: HO\nblocks: {a: {}, b: {}}\njoints: {a/b: {}}\n", encoding="utf-8")
    assert load_layout(record).name == "Mine"

    done = ran("round", "note", "joint-ohms", "a/b", "5M", "--layout", str(record))

    assert done.code == 0, done.err
    assert (tmp_path / "my-layout.readings.yaml").exists()


def test_the_cases_of_a_folder_are_listed_beside_a_history(readings: Path, shelf: Path) -> None:
    """A history in the folder of cases is no case and no problem."""
    noted("9.8M")

    done = ran("cases", "--cases", str(shelf), "--json")
    assert done.code == 0
    assert done.data["cases"] == []


def test_trends_are_told_in_words_and_as_data(readings: Path) -> None:
    """A falling joint drifts, with its pace and the month of its limit; as JSON with slope, interval and dates."""
    last = fill(readings)
    shown = ran("round", "trends", "--layout", "club", "--on", str(last), "--width", "60")
    data = ran("round", "trends", "--layout", "club", "--on", str(last), "--json").data

    assert "DRIFTS" in shown.out
    assert "halves every 4 months" in " ".join(shown.out.split())
    assert all(len(line) <= 60 for line in shown.out.splitlines())
    (trend,) = data["trends"]
    assert trend["state"] == "drifting"
    assert trend["slope-low"] <= -0.9 <= trend["slope-high"] + 0.01
    reach = trend["reaches"][0]
    assert reach["early"] <= reach["likely"]


def test_one_place_is_drawn_in_full(readings: Path) -> None:
    """The plot shows readings, the limit with its name, and the line that leads there; nothing beyond 60 columns."""
    last = fill(readings)
    done = ran("round", "trends", "--layout", "club", "--on", str(last), "--place", JOINT, "--width", "60")

    rows = [line for line in done.out.splitlines() if "|" in line]
    assert len(rows) == 9
    assert any("-- leaky" in row and "100 kohm" in row for row in rows)
    assert sum(row.count("o") for row in rows if "leaky" not in row and "kohm" not in row.split("|")[0]) >= 5
    assert any("." in row.split("|")[1] for row in rows)
    assert all(len(line) <= 60 for line in done.out.splitlines())


def test_an_earlier_day_can_be_asked_for(readings: Path) -> None:
    """As it stood after four readings there was too little to say, and that is said."""
    fill(readings)
    done = ran("round", "trends", "--layout", "club", "--on", str(BEGIN + timedelta(days=95)))

    assert "4 readings; a trend needs 5" in " ".join(done.out.split())


def test_no_readings_yet_says_how_to_begin(readings: Path) -> None:
    """Nothing is no error."""
    done = ran("round", "trends", "--layout", "club")

    assert done.code == 0
    assert "round plan" in done.out


def test_the_picture_is_svg_with_every_word_escaped(readings: Path, tmp_path: Path) -> None:
    """A place with signs of markup in its name stays text, and no outside reference is made."""
    last = fill(readings, place="a <b> & 'c'")
    picture = tmp_path / "t.svg"
    done = ran(
        "round", "trends", "--layout", "none", "--history", str(readings), "--on", str(last), "--svg", str(picture)
    )

    text = picture.read_text(encoding="utf-8")
    assert done.code == 0, done.err
    assert "&lt;b&gt; &amp;" in text
    assert "<b>" not in text
    assert re.findall(r"https?://[^\"]*", text) == ["http://www.w3.org/2000/svg"]


def test_a_panel_draws_every_reading_and_the_limit_in_sight(shelf: Path) -> None:
    """Five readings are five dots, one beyond the meter hollow; the far limit is left out, the near one named."""
    marks = tuple(Mark(BEGIN + timedelta(days=30 * i), 5e6, i == 2) for i in range(5))
    panel = Panel("joint", "ohm", True, marks, (("below limit", 10.0), ("leaky", 1e5)))
    text = draw([panel], "all")

    assert text.count("<circle") == 6
    assert "leaky: 100 kohm" in text
    assert "below limit" not in text


def test_small_plots_rise_and_fall_with_the_readings() -> None:
    """The least reading is the lowest block, the greatest the highest, and equal ones are level."""
    marks = tuple(Mark(BEGIN, v) for v in (1.0, 10.0, 100.0))

    assert spark(Panel("", "ohm", True, marks)) == "▁▅█"
    assert len(set(spark(Panel("", "ohm", True, marks[:1] * 4)))) == 1


def test_due_names_what_drifts_and_the_inquiry_to_begin(readings: Path, shelf: Path) -> None:
    """The command it shows begins a case with the symptom and the reading as its first answer."""
    last = fill(readings)
    done = ran("round", "due", "--layout", "club", "--on", str(last), "--width", "200")
    match = re.search(r"troubleshoot (round inquire .*)", done.out)
    assert match is not None

    begun = ran(*match[1].split(), "--on", str(last), "--json")
    case = casebook.read(Path(begun.data["case"]))

    assert case.path.parent == shelf
    assert case.events[0]["about"] in ("yard-1", "yard-2")
    assert case.events[-1]["answer"] == "core/joint-ohms"
    assert "halves every 4 months" in case.events[1]["note"]
    assert ran("next", str(case.path), "--json").code == 0


def test_a_steady_place_offers_no_inquiry(readings: Path) -> None:
    """Nothing is begun about what is steady or was never read."""
    last = fill(readings, per_year=1.0)
    steady = ran("round", "inquire", "joint-ohms", JOINT, "--layout", "club", "--on", str(last))
    never = ran("round", "inquire", "joint-ohms", "yard-3/yard-4", "--layout", "club")

    assert (steady.code, never.code) == (1, 2)
    assert "steady" in steady.err
    assert "round trends" in never.err


def test_a_bad_reading_in_the_round_can_begin_an_inquiry_for_later(at_home: Path, shelf: Path) -> None:
    """After a reading beyond its limit the question comes, no is what Enter means, and yes makes a case."""
    said = "-\n-\n-\n12\n\nyes\ns\n"
    done = ran("round", "take", "--layout", "home", "--count", "2", "--plain", said=said)

    assert "Begin an inquiry for later" in done.out
    assert len(list(shelf.glob("*.yaml"))) == 1
    assert done.code == 5


def test_a_reading_is_taken_back_by_command(readings: Path) -> None:
    """The last one, or one by its number; where there is none it is said."""
    noted("9.8M", "--date", "2026-03-14")
    done = ran("round", "back", "--layout", "club")

    assert done.code == 0
    assert "9.8M" in done.out
    assert ran("round", "back", "--layout", "club").code == 2


def test_a_history_with_mistakes_is_told_with_its_lines(readings: Path) -> None:
    """A hand-edited line that cannot be is a problem of the file: exit code 4, file and line."""
    fill(readings)
    readings.write_text(
        readings.read_text("utf-8").replace("answer: core/joint-ohms", "answer: core/when-worse", 1), "utf-8"
    )
    done = ran("round", "trends", "--layout", "club")

    assert done.code == 4
    assert f"{readings}:5:" in done.err
    assert "takes no reading" in done.err


def test_it_works_in_a_process_of_its_own_without_colour(readings: Path, shelf: Path) -> None:
    """NO_COLOR and a standard input that is no terminal: plain text, no escape sequence."""
    last = fill(readings)
    env = {"NO_COLOR": "1", "TROUBLESHOOT_CASES": str(shelf), "COLUMNS": "60"}
    done = spawned("round", "due", "--layout", "club", "--on", str(last), env=env)

    assert done.code == 0, done.err
    assert "DRIFTS" in done.out
    assert "\x1b" not in done.out


def test_text_of_users_never_becomes_markup(readings: Path) -> None:
    """Square brackets in a place's name are shown as they are."""
    last = fill(readings, place="gap [front]")
    done = ran("round", "due", "--layout", "none", "--history", str(readings), "--on", str(last))

    assert "gap [front]" in done.out


def test_json_of_due_can_be_read_by_a_program(readings: Path) -> None:
    """Fields of the work list: check, place, why, minutes, set-ups, state, offer."""
    last = fill(readings)
    (due,) = json.loads(ran("round", "due", "--layout", "club", "--on", str(last), "--json").out)["due"]

    assert {"check", "place", "why", "minutes", "set_ups", "state", "offer"} <= set(due)
    assert due["state"] == "drifting"
