"""Every command: its result on standard output, its messages on standard error, its exit code, and its JSON."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.running import Ran, opened, ran, spawned
from troubleshoot import casebook
from troubleshoot.documents import read, write

BALLAST = "core/dry-and-clean-ballast"
SCRIPT: dict[str, Any] = {
    "layout": "club",
    "symptom": "phantom-occupancy",
    "about": "yard-2",
    "answers": {
        "danger-signs": "none", "what-changed": "not-sure", "who-else-is-sick": "only-this", "when-worse": "damp",
        "what-lies-on-the-block": "nothing-found", "how-the-ohms-behave": "drifts",
        "how-it-develops": "back-each-season", "block-leak-ohms": "2.9k", "where-the-leak-sits": "spread",
        "clears-when-feed-lifted": "yes", "clears-when-input-lifted": "yes", "without-track-power": "clears",
    },
    "remedies": {"dry-and-clean-ballast": "fixed"},
    "proofs": {"dry-and-clean-ballast": "passed"},
    "quiet": {"dry-and-clean-ballast": "2 d"},
}  # fmt: skip


def script(folder: Path, **changed: Any) -> str:
    """An answers file; what is None is left out."""
    path = folder / "answers.yaml"
    write(path, {k: v for k, v in {**SCRIPT, **changed}.items() if v is not None})
    return str(path)


def mended(shelf: Path, quiet: str | None = None) -> str:
    """A case whose ballast has been dried; with a proof when a quiet spell is said."""
    path = opened(shelf)
    assert ran("mend", path, "dry-and-clean-ballast", "--result", "fixed", "--at", "yard-2").code == 0
    if quiet:
        assert ran("proof", path, "dry-and-clean-ballast", "passed", "--quiet", quiet).code == 0
    return path


# --- a whole inquiry from a file --------------------------------------------------------------------


def test_a_script_runs_a_whole_inquiry_to_a_closed_case(shelf: Path, tmp_path: Path) -> None:
    """From an answers file to a closed case, with the outcome as JSON and the screens as messages."""
    done = ran("start", "--answers", script(tmp_path), "--json")

    case = casebook.read(Path(done.data["case"]))
    assert done.code == 0
    assert done.data["closed"]
    assert done.data["exit"] == 0
    assert done.data["ranking"][0]["cause"] == "core/leak-through-ballast"
    assert case.events[-1]["causes"] == ["core/leak-through-ballast"]
    assert "Closed, proven mended" in done.err


def test_a_script_that_says_nothing_ends_without_an_endless_loop(shelf: Path, tmp_path: Path) -> None:
    """With no answer at all the inquiry comes to a mend nobody reports, and pauses or ends without a cause."""
    done = ran("start", "--answers", script(tmp_path, answers=None, remedies=None, proofs=None, quiet=None))

    assert done.code in (3, 5)
    assert not casebook.read(next(shelf.glob("*.yaml"))).closed


@pytest.mark.parametrize("quiet", [None, {"dry-and-clean-ballast": "5 min"}])
def test_a_proof_without_a_quiet_spell_long_enough_leaves_the_case_open(
    shelf: Path, tmp_path: Path, quiet: dict[str, str] | None
) -> None:
    """A passed proof that was not quiet for long enough is kept, and the case stays open."""
    done = ran("start", "--answers", script(tmp_path, quiet=quiet))

    case = casebook.read(next(shelf.glob("*.yaml")))
    assert done.code == 5
    assert "stays open until it has been quiet" in done.out
    assert not case.closed
    assert [e["outcome"] for e in case.events if "proof" in e][-1] == "passed"


def test_a_failed_proof_brings_the_inquiry_back(shelf: Path, tmp_path: Path) -> None:
    """After a proof that fails the inquiry goes on, and the case is not closed."""
    done = ran("start", "--answers", script(tmp_path, proofs={"dry-and-clean-ballast": "failed"}), "--json")

    assert done.code in (3, 5)
    assert not done.data["closed"]


def test_a_script_goes_on_with_a_case(shelf: Path, tmp_path: Path) -> None:
    """Resume takes answers from a file too, and says that a closed case is closed."""
    path = opened(shelf)

    done = ran("resume", path, "--answers", script(tmp_path, symptom=None, about=None))
    again = ran("resume", path)

    assert done.code == 0
    assert casebook.read(Path(path)).closed
    assert again.code == 0
    assert "is closed; see: troubleshoot show" in again.err


def test_a_stop_ends_without_a_cause(shelf: Path, tmp_path: Path) -> None:
    """Smoke or a burning smell ends the questioning, with the reason, and leaves with 3."""
    done = ran("start", "--answers", script(tmp_path, answers={"danger-signs": "burning-smell"}))

    assert done.code == 3
    assert "STOP" in done.out
    assert "Questioning ends" not in done.err


def test_a_layout_beside_a_script_is_found_from_anywhere(
    shelf: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A record named in a script lies beside it; the case finds it again from another folder."""
    write(tmp_path / "mine.yaml", {"name": "Mine", "blocks": {"b-1": {}}})
    file = script(tmp_path, layout="mine.yaml", about="b-1", answers={}, remedies=None, proofs=None, quiet=None)
    assert ran("start", "--answers", file).code in (3, 5)
    monkeypatch.chdir("/")

    done = ran("next", str(next(shelf.glob("*.yaml"))), "--json")

    assert done.code in (0, 3)
    assert done.data["about"] == "b-1"


# --- step by step -----------------------------------------------------------------------------------


def test_a_whole_inquiry_step_by_step(shelf: Path) -> None:
    """Open, next, answer, mend, proof, set-up and close lead to a closed case, each telling the next step."""
    path = opened(shelf)
    answers: dict[str, str] = SCRIPT["answers"]
    for _ in range(40):
        made = ran("next", path, "--json").data
        step = made["step"]
        if "remedy" in step:
            break
        said = answers.get(step["check"].split("/")[1], "not-sure")
        assert ran("answer", path, step["check"], said, "--at", step["at"]).code == 0
    told = ran("mend", path, step["remedy"], "--result", "fixed", "--at", step["at"], "--json").data
    assert (told["kind"], told["proof"]["remedy"], told["proof"]["quiet_seconds"]) == ("proof", BALLAST, 3600.0)
    assert ran("proof", path, step["remedy"], "passed", "--json").data["kind"] == "proof"
    assert ran("proof", path, step["remedy"], "passed", "--quiet", "2 h", "--json").data["kind"] == "close"
    for change in ran("next", path, "--json").data["still_undone"]:
        assert ran("set-up", path, change["set_up"], "left", "--at", change["at"]).code == 0

    closed = ran("close", path, "--json")

    told = closed.data
    assert told.pop("minutes") > 30
    assert (closed.code, told) == (0, {"case": path, "closed": True, "remedy": BALLAST})
    assert ran("next", path).code == 0
    assert "Closed, proven mended" in ran("next", path).out


@pytest.mark.parametrize("command", ["next", "ranking", "why", "card", "show"])
def test_what_stands_is_shown_and_printed_as_json(shelf: Path, command: str) -> None:
    """Looking at a case changes nothing; the screen and the JSON tell of the same case, at 60 columns too."""
    path = opened(shelf)
    before = Path(path).read_bytes()

    shown, narrow, data = (ran(command, path, *more) for more in ([], ["--width", "60"], ["--json"]))

    assert (shown.code, narrow.code, data.code) == (0, 0, 0)
    assert shown.out
    assert shown.err == data.err == ""
    assert all(len(line) <= 60 for line in narrow.out.splitlines() if not line.startswith("Answer with"))
    assert isinstance(data.data, dict)
    assert Path(path).read_bytes() == before


def test_the_json_of_a_step_holds_what_a_person_is_shown(shelf: Path) -> None:
    """Cautions, instructions, limits with their figures and assumptions, minutes and separation are all there."""
    path = opened(shelf)
    for check in ("danger-signs", "what-changed", "who-else-is-sick"):
        ran("answer", path, check, "not-sure")
    ranking, why, card = (ran(c, path, "--json").data for c in ("ranking", "why", "card"))

    assert set(ranking) == {"ranking", "ruled_out", "trace", "estimate"}
    assert {"cause", "says", "chance", "places", "evidence"} <= set(ranking["ranking"][0])
    assert why["step"]["separates"]
    assert {"check", "at", "asks", "outcomes", "how", "minutes", "cautions", "bands", "first"} <= set(card)


def test_an_answer_is_saved_with_the_set_ups_it_implies(shelf: Path) -> None:
    """A reading without power says that the power is off; it is then still undone on every screen, power last."""
    path = opened(shelf)

    done = ran("answer", path, "block-leak-ohms", "2.9k", "--json")

    events = casebook.read(Path(path)).events
    assert done.code == 0
    assert [e["set-up"] for e in events if "set-up" in e] == [
        "core/power-off", "core/stock-off", "core/feed-lifted-at-detector",
    ]  # fmt: skip
    assert "Still undone" in ran("next", path).out
    assert [c["set_up"] for c in done.data["still_undone"]] == [
        "core/feed-lifted-at-detector", "core/stock-off", "core/power-off",
    ]  # fmt: skip


def test_answers_may_be_seen_remembered_or_thought(shelf: Path) -> None:
    """How an answer was come by is kept, and a thought moves the ranking less than a sight."""
    chances = []
    for how in ("seen", "thought"):
        path = opened(shelf)
        told = ran("answer", path, "when-worse", "damp", "--how", how, "--json").data
        assert casebook.read(Path(path)).events[-1]["how"] == how
        chances.append(next(r["chance"] for r in told["ranking"] if r["cause"] == "core/leak-through-ballast"))

    assert chances[0] > chances[1]


def test_back_note_and_aside_are_events(shelf: Path) -> None:
    """Putting aside, noting and going back are all kept in the file; the symptom is never taken back."""
    path = opened(shelf)
    ran("answer", path, "when-worse", "already-tried")
    noted = ran("note", path, "the [front] lamp flickers", "--json")
    codes = [ran("back", path).code for _ in range(2)]
    last = ran("back", path)

    assert noted.data["note"] == "the [front] lamp flickers"
    assert codes == [0, 0]
    assert last.code == 0
    assert "nothing to take back" in last.err
    assert [e.get("takes-back") for e in casebook.read(Path(path)).events] == [None, None, None, 3, 2]


def test_a_case_is_named_without_its_folder(shelf: Path) -> None:
    """A case of the usual folder is called by its name alone."""
    name = Path(opened(shelf)).stem

    assert ran("next", name).code == 0
    assert ran("show", name).code == 0


# --- closing ----------------------------------------------------------------------------------------


def test_closing_is_refused_before_a_proof(shelf: Path) -> None:
    """An open case, a mended one without proof, and one that was quiet too shortly cannot be closed."""
    for path, state in ((opened(shelf), "open"), (mended(shelf), "mended"), (mended(shelf, "5 min"), "mended")):
        done = ran("close", path)

        assert done.code == 1
        assert f"cannot be closed: it is {state}; only a passed proof" in done.err
        assert done.out == ""


def test_closing_is_refused_while_something_is_undone(shelf: Path) -> None:
    """A proven case with a lifted wire stays open until the wire is back, and says which one."""
    path = mended(shelf, "2 h")
    ran("set-up", path, "feed-lifted-at-detector", "entered", "--at", "yard-2")

    refused = ran("close", path)
    ran("set-up", path, "feed-lifted-at-detector", "left")
    done = ran("close", path)

    assert refused.code == 1
    assert "still undone: feed lifted at detector at yard-2" in refused.err
    assert done.code == 0
    assert done.out.startswith(f"Closed: {path}\nTime: ")
    assert "minutes as planned for what was done (0 checks, 1 repair); 0 minutes by the clock" in done.out


def test_an_intermittent_fault_needs_a_longer_spell_than_before(shelf: Path) -> None:
    """What was quiet for a day before the mend is proven by more than a day after it, not by two hours."""
    path = opened(shelf, "--longest-quiet", "1 d")
    ran("mend", path, "dry-and-clean-ballast", "--result", "fixed", "--at", "yard-2")

    short = ran("proof", path, "dry-and-clean-ballast", "passed", "--quiet", "2 h", "--json").data
    longer = ran("proof", path, "dry-and-clean-ballast", "passed", "--quiet", "2 d", "--json").data

    assert (short["state"], short["proof"]["quiet_seconds"]) == ("mended", 86460.0)
    assert longer["state"] == "proven"


def test_the_quiet_spell_before_the_mend_is_asked_for_and_must_be_outlasted(shelf: Path) -> None:
    """Asked at the proof, a spell as long as the longest before leaves the case open; a longer one closes it."""
    path = mended(shelf)

    short = ran("resume", path, said="1\n1\n3 d\n3 d\n")
    longer = ran("resume", path, said="1\n1\n4 d\n1\n")

    assert short.code == 5
    assert "stays open until it has been quiet" in short.out
    assert longer.code == 0
    assert casebook.read(Path(path)).closed


def test_a_closed_case_takes_nothing_more_but_a_note(shelf: Path) -> None:
    """Answers to a closed case are refused until the closing is taken back; a note is welcome."""
    path = mended(shelf, "2 h")
    ran("close", path)
    kept = Path(path).read_bytes()

    refused = [
        ran("answer", path, "when-worse", "damp"),
        ran("mend", path, "dry-and-clean-ballast", "--result", "partly"),
        ran("proof", path, "dry-and-clean-ballast", "failed"),
        ran("set-up", path, "power-off", "entered"),
        ran("close", path),
    ]

    assert [r.code for r in refused] == [1] * 5
    assert all("is closed" in r.err for r in refused)
    assert Path(path).read_bytes() == kept
    assert ran("note", path, "still fine").code == 0
    assert [ran("back", path).code, ran("back", path).code] == [0, 0]
    assert ran("answer", path, "when-worse", "damp").code == 0


# --- the shelf, the rules, the layouts --------------------------------------------------------------


def test_cases_are_listed_newest_first_with_their_state(shelf: Path) -> None:
    """The list tells open from closed; as JSON it says where each file is."""
    path = mended(shelf, "2 h")
    ran("close", path)
    opened(shelf, about="yard-3")

    listed, data = ran("cases"), ran("cases", "--json").data

    assert {line.split()[0] for line in listed.out.splitlines()} == {"open", "closed"}
    assert {(c["about"], c["state"]) for c in data["cases"]} == {("yard-2", "closed"), ("yard-3", "open")}
    assert data["problems"] == []


def test_an_empty_shelf_says_so(shelf: Path) -> None:
    """No cases is no failure, and nothing is printed as a result."""
    done = ran("cases")

    assert (done.code, done.out) == (0, "")
    assert f"No cases in {shelf}" in done.err


def test_demo_cases_are_listed_and_shown() -> None:
    """The bundled cases are at hand without being copied."""
    names = [c["case"] for c in ran("cases", "--demo", "--json").data["cases"]]

    assert len(names) >= 3
    assert all(ran("show", name).code == 0 for name in names)


def test_symptoms_are_found_by_words() -> None:
    """Own words find a symptom; words that fit nothing leave with 3."""
    done, data, nothing = (
        ran("find", "ghost", "train"),
        ran("find", "ghost", "train", "--json").data,
        ran("find", "qqq"),
    )

    assert done.out.splitlines()[0].startswith("phantom-occupancy ")
    assert data[0]["symptom"] == "core/phantom-occupancy"
    assert (nothing.code, nothing.out) == (3, "")


@pytest.mark.parametrize(
    ("name", "part"),
    [
        ("core", "Pack core"), ("phantom-occupancy", "also said"), ("leak-through-ballast", "best check"),
        ("core/block-leak-ohms", "band"), ("dry-and-clean-ballast", "proof"), ("ohms-only-unpowered", "hazard"),
    ],
)  # fmt: skip
def test_rules_are_shown_in_words_and_as_json(name: str, part: str) -> None:
    """A pack, a symptom, a cause, a check, a remedy and a caution can be looked at."""
    shown, data = ran("rules", "show", name), ran("rules", "show", name, "--json")

    assert (shown.code, data.code) == (0, 0)
    assert part in shown.out
    (entries,) = data.data.values()
    assert entries[0]["name"].split("/")[-1] == name.rsplit("/", maxsplit=1)[-1]


def test_all_packs_are_shown_without_a_name() -> None:
    """Without a name every pack at hand is described."""
    assert "Pack core" in ran("rules", "show").out


def test_the_matrix_of_one_symptom_and_of_all() -> None:
    """A symptom's matrix is printed with its worst pairs; all symptoms in a table; both as JSON."""
    one, every = ran("rules", "matrix", "phantom-occupancy"), ran("rules", "matrix")
    data = ran("rules", "matrix", "phantom-occupancy", "--json").data

    assert "Least separated pairs" in one.out
    assert "phantom-occupancy" in every.out
    assert data[0]["symptom"] == "core/phantom-occupancy"
    assert {len(row) for row in data[0]["causes"].values()} == {len(data[0]["findings"])}
    assert len(ran("rules", "matrix", "--json").data) >= 8


def test_the_words_and_their_numbers() -> None:
    """The likelihood words are told with their numbers."""
    assert ran("rules", "words").out.splitlines()[1] == "usually    0.85"
    assert ran("rules", "words", "--json").data["never"] == 0.02


def test_schemas_are_written_for_editors(tmp_path: Path) -> None:
    """One JSON Schema for each kind of file, and the list of them as the result."""
    done = ran("rules", "schema", str(tmp_path / "s"), "--json")

    files = [Path(f) for f in done.data["files"]]
    assert done.code == 0
    assert {f.name for f in files} >= {"pack.schema.json", "causes.schema.json", "checks.schema.json"}
    assert all("properties" in json.loads(f.read_text()) for f in files)
    assert ran("rules", "schema", str(tmp_path / "t")).out.count(".schema.json") == len(files)


def test_a_layout_is_made_checked_and_read(tmp_path: Path) -> None:
    """A first record from Enter alone is in order; a reading on it says its limits and what they come from."""
    file = str(tmp_path / "mine.yaml")

    made = ran("layout", "new", file, said="\n" * 30)
    checked, data = ran("layout", "check", file), ran("layout", "check", file, "--json").data
    reading = ran("layout", "reading", "block-leak-ohms", "yard-2", "--layout", "club")
    bands = ran("layout", "reading", "block-leak-ohms", "yard-2", "--layout", "club", "--json").data

    assert made.code == checked.code == reading.code == 0
    assert f"Made {file}" in made.err
    assert "My layout: no problems." in checked.out
    assert data["problems"] == []
    assert "5 kohm" in reading.out
    assert bands["bands"][0]["to"] == pytest.approx(5000.0)
    assert {f["figure"] for f in bands["figures"]} >= {"threshold of det-west"}


def test_a_new_layout_asks_again_what_it_cannot_read(tmp_path: Path) -> None:
    """Volts without a unit and a count in words are asked again; nothing is made of half the answers."""
    file = tmp_path / "mine.yaml"
    answers = ["[My] line", "2", "fifteen", "15", "16 V", *[""] * 6, "many", "2", *[""] * 20]

    done = ran("layout", "new", str(file), "--json", said="\n".join(answers) + "\n")
    half = ran("layout", "new", str(tmp_path / "half.yaml"), said="Half\n")
    again = ran("layout", "new", str(file))

    assert done.code == 0, done.err
    assert done.data["record"] == read(file).data
    assert read(file).data["name"] == "[My] line"
    assert read(file).data["track-volts"] == "16 V"
    assert len(read(file).data["boosters"]) == 2
    assert "has no unit" in done.err
    assert (half.code, (tmp_path / "half.yaml").exists()) == (5, False)
    assert (again.code, "is there already" in again.err) == (2, True)


def test_the_core_pack_is_checked() -> None:
    """The check of a pack folder tells its problems as JSON, and how many examples it tried."""
    done = ran("rules", "check", "rules/core", "--no-examples", "--json")

    assert set(done.data) == {"problems", "examples"}
    assert done.code == (4 if done.data["problems"] else 0)


# --- usage ------------------------------------------------------------------------------------------

NEAR = {
    "nxt c": "Did you mean 'next'?",
    "open --layout club --symptom phantom-ocupancy": "phantom-occupancy",
    "open --layout club --symptom phantom-occupancy --about yrad-2": "did you mean 'yard-2'?",
    "start --layout club --symptom phantom-occupancy --about yard-2 --sick yard-3,yrad-4": "did you mean 'yard-4'?",
    "start --symptom phantom-occupancy --longest-quiet soon": "no period",
    "answer CASE blok-leak-ohms 3k": "did you mean 'block-leak-ohms'?",
    "answer CASE when-worse dmap": "did you mean 'damp'?",
    "answer CASE block-leak-ohms 3V": "is volts; ohms are wanted here",
    "answer CASE block-leak-ohms 3k --at yrad-2": "did you mean 'yard-2'?",
    "answer CASE when-worse damp --how dreamt": "typed",
    "mend CASE dry-and-clean-balast --result fixed": "did you mean 'dry-and-clean-ballast'?",
    "mend CASE dry-and-clean-ballast": "--result",
    "proof CASE dry-and-clean-ballast passed": "has not been carried out",
    "set-up CASE power-of entered": "did you mean 'power-off'?",
    "set-up CASE power-off left": "still undone is: nothing",
    "rules show leak-thru-ballast": "did you mean 'leak-through-ballast'?",
    "rules matrix phantom": "phantom-occupancy",
    "layout reading block-leak-ohm yard-2 --layout club": "did you mean 'block-leak-ohms'?",
    "layout reading block-leak-ohms yrad-2 --layout club": "did you mean 'yard-2'?",
}


@pytest.mark.parametrize("line", NEAR)
def test_wrong_usage_is_told_with_the_nearest_word(shelf: Path, line: str) -> None:
    """What was mistyped on the command line leaves with 2, names the nearest, prints no result and changes nothing."""
    path = opened(shelf)
    before = Path(path).read_bytes()

    done = ran(*line.replace("CASE", path).split())

    assert done.code == 2, done.err
    assert NEAR[line] in done.err
    assert done.out == ""
    assert Path(path).read_bytes() == before
    assert len(list(shelf.iterdir())) == 1


def test_help_and_version() -> None:
    """Help and version are results and leave with 0."""
    assert (ran("--help").code, ran("--version").code, ran("answer", "--help").code) == (0, 0, 0)


def test_interrupted_leaves_with_130(shelf: Path) -> None:
    """Ctrl-C at a plain question saves, says how to go on, and leaves with 130."""
    path = opened(shelf)
    before = "import signal, threading, os\nthreading.Timer(2.5, os.kill, (os.getpid(), signal.SIGINT)).start()\n"
    code = f"import sys\nr, w = os.pipe()\nsys.stdin = os.fdopen(r)\nsys.argv[1:] = ['resume', {path!r}]\n"

    done = spawned(before=before + code)

    assert done.code == 130
    assert f"Interrupted; every answer is saved. Go on with: troubleshoot resume {Path(path).stem}" in done.err


def test_no_colour_is_obeyed_and_a_pipe_gets_none(shelf: Path) -> None:
    """NO_COLOR silences colour even where it is forced; a pipe gets none at all."""
    path = opened(shelf)

    forced = spawned("next", path, env={"FORCE_COLOR": "1", "TERM": "xterm-256color"})
    silenced = spawned("next", path, env={"FORCE_COLOR": "1", "TERM": "xterm-256color", "NO_COLOR": "1"})
    piped = spawned("next", path)

    assert "\x1b[36m" in forced.out or "\x1b[33m" in forced.out
    assert "\x1b[3" not in silenced.out
    assert "\x1b" not in piped.out


def test_a_terminal_without_the_signs_gets_question_marks(shelf: Path) -> None:
    """An old encoding of the output costs signs, never the run."""
    done = spawned("next", opened(shelf), env={"PYTHONIOENCODING": "ascii"})

    assert done.code == 0
    assert "Traceback" not in done.err


def test_a_reader_that_leaves_early_is_no_error() -> None:
    """Output cut off by another program ends without a traceback."""
    done = spawned(
        before="import sys, os, subprocess\n"
        "done = subprocess.run(f'{sys.executable} -m troubleshoot rules matrix --json | head -c 10', shell=True,"
        " capture_output=True)\nprint(done.stderr.decode())\nsys.argv[1:] = ['--version']\n"
    )

    assert "Traceback" not in done.out
    assert "Exception ignored" not in done.out


def shown(done: Ran) -> str:
    """All that a person sees of a command."""
    return done.out + done.err


def test_text_with_brackets_is_shown_as_typed(shelf: Path, tmp_path: Path) -> None:
    """Names and notes with square brackets, colons and markup are shown as they were typed."""
    name = "yard [front] [bold]x[/bold] :smile:"
    record = tmp_path / "b.yaml"
    write(record, {"name": "[red]My[/red] line", "blocks": {"b-1": {}}})
    path = ran("open", "--layout", "none", "--symptom", "phantom-occupancy", "--about", name, "--json")
    assert "[red]My[/red] line: no problems." in ran("layout", "check", str(record)).out
    file = str(path.data["case"])
    ran("note", file, "[link=x]see[/link] [the] :car:")

    for done in (ran("next", file, "--width", "120"), ran("show", file, "--width", "120")):
        assert name in " ".join(shown(done).split())
    assert "[link=x]see[/link] [the] :car:" in " ".join(ran("show", file).out.split())


def test_text_cannot_steer_the_terminal(shelf: Path) -> None:
    """Escape sequences in a shared case are shown as signs, not obeyed."""
    path = opened(shelf)
    ran("note", path, "red \x1b[31malert\x07")

    assert "\x1b" not in ran("show", path).out
    assert "red" in ran("show", path).out


def test_a_place_that_no_record_names_is_taken_as_it_was_printed(shelf: Path) -> None:
    """A step at `the vehicle` prints it after --at; the command must take back what was printed."""
    path = opened(shelf)

    done = ran("mend", path, "take-the-load-off", "--result", "not-fixed", "--at", "the vehicle")
    wrong = ran("mend", path, "take-the-load-off", "--result", "not-fixed", "--at", "the teapot")

    assert "has no place" not in done.err
    assert "has no place 'the teapot'" in wrong.err
