"""The hand-over of a case: everything that somebody else needs, on two sides of A4, safe to open anywhere."""

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import html5lib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from tests.running import ROOT, ran, spawned
from troubleshoot.casebook import Case
from troubleshoot.cli.session import open_layout, open_rules, resume
from troubleshoot.inquiry import Answer, Complaint, Mend, Note, ProofSeen, PutAside, Record, SetUpChange
from troubleshoot.layout import EMPTY, Layout
from troubleshoot.quantities import read_reading
from troubleshoot.report.account import deeds, readings
from troubleshoot.report.handover import handover
from troubleshoot.report.markdown import literal, markdown
from troubleshoot.report.page import Markup, page, tag
from troubleshoot.report.paper import SIZES, Items, Paper, Section, Table, letters
from troubleshoot.report.story import Event, Story, story_of
from troubleshoot.rulebook import Rulebook
from troubleshoot.rulebook.wording import proof, spell

DEMOS = sorted(p.stem for p in (ROOT / "cases").glob("*.yaml"))
HOSTILE = (
    """</style></dd><script>alert("x")</script><img src=x onerror=y> & 'q' [a](http://b) | `c` \x1b[31m\u202e *d*"""
)
XHTML = "{http://www.w3.org/1999/xhtml}"


@cache
def club() -> Layout:
    """The layout of these stories, read once: what is worked out about it is kept with it."""
    return open_layout("club")


@cache
def club_rules() -> Rulebook:
    """The core rules, read once."""
    return open_rules()


@cache
def demo(name: str) -> Story:
    """The story of a bundled case."""
    session = resume(ROOT / "cases" / f"{name}.yaml")
    return story_of(session.case, session.layout, session.rulebook, session.tally)


def told(*records: Record, layout: Layout | None = None) -> Story:
    """A story that was made up, an event a minute."""
    events = tuple(Event(f"2026-11-03 19:{n % 60:02}", r) for n, r in enumerate(records))
    return Story("2026-11-03-made-up", layout or club(), club_rules(), events, packs=("core 1.0.0",))


def about(place: str = "yard-2") -> Complaint:
    """The complaint that most of these stories begin with."""
    return Complaint("core/phantom-occupancy", place)


@cache
def endless() -> Story:
    """A case of a kind that never ends: everything asked twice, every note a page, everything lifted."""
    rules = club_rules()
    asked = [c for c in rules.checks.values() if c.finding in rules.spoken_of("core/phantom-occupancy")]
    records: list[Record] = [Complaint("core/phantom-occupancy", "yard-2", tuple(f"yard-{n}" for n in range(1, 13)))]
    for check in asked:
        places = club().related(check.relation, club().place("yard-2"))[:2]
        for place in places:
            if check.unit:
                records.append(Answer(check.name, place.name, None, read_reading("7", check.unit), "typed"))
            else:
                records.append(Answer(check.name, place.name, check.outcomes[0]))
        records.append(Note(f"note of {check.name}: " + "a long word-of-wisdom " * 40))
    records += [SetUpChange(name, "yard-2 feeder", True) for name in rules.set_ups]
    records += [Mend(name, "yard-2", "not-fixed") for name in list(rules.remedies)[:30]]
    return told(*records)


def strict(text: str) -> "html5lib.treebuilders.etree.ElementTree.Element":  # type: ignore[name-defined]
    """A page read by an HTML parser that forgives nothing."""
    return html5lib.HTMLParser(strict=True).parse(text)


def text_of(story: Story) -> str:
    """All words of the page of a story."""
    body = strict(page(handover(story))).find(f"{XHTML}body")
    return " ".join(" ".join(body.itertext()).split())


@pytest.fixture(scope="module", params=[*DEMOS, "hostile", "endless", "empty"])
def shown(request: pytest.FixtureRequest) -> tuple[Story, str]:
    """Pages of cases of every kind."""
    plain = club()
    renamed = {HOSTILE if n == plain.name else n: p for n, p in plain.parts.items()}
    renamed[HOSTILE] = replace(renamed[HOSTILE], name=HOSTILE)
    hostile = replace(plain, name=HOSTILE, says=HOSTILE, parts=renamed)
    made: dict[str, Callable[[], Story]] = {
        "hostile": lambda: told(Complaint("core/phantom-occupancy", HOSTILE, (HOSTILE, "yard-1")), Note(HOSTILE),
                                SetUpChange("core/power-off", HOSTILE), Mend("core/dry-and-clean-ballast", HOSTILE),
                                layout=hostile),
        "endless": endless,
        "empty": lambda: told(about("the block"), layout=EMPTY),
    }  # fmt: skip
    story = made[request.param]() if request.param in made else demo(request.param)
    return story, page(handover(story))


# --- the page ---------------------------------------------------------------------------------------


def test_a_page_is_html_without_a_single_fault(shown: tuple[Story, str]) -> None:
    """An independent parser in its strictest mode has nothing to say."""
    assert strict(shown[1]).find(f"{XHTML}body") is not None


def test_a_page_stands_by_itself(shown: tuple[Story, str]) -> None:
    """No script, and no address in any attribute or style: it opens without a network."""
    root = strict(shown[1])
    tags = {str(e.tag).rpartition("}")[2] for e in root.iter()}
    attributes = {(str(k), v) for e in root.iter() for k, v in e.attrib.items()}
    style = "".join(root.find(f"{XHTML}head").itertext())

    assert tags & {"script", "link", "img", "iframe", "object", "embed", "base", "form", "a", "use", "image"} == set()
    assert [k for k, _ in attributes if "href" in k or "src" in k or k.startswith("on")] == []
    assert [v for k, v in attributes if k in ("style", "fill", "stroke") and "(" in v] == []
    assert not re.search(r"url\(|@import|expression", style)


def test_a_page_has_two_sides_and_each_fits_on_a_sheet(shown: tuple[Story, str]) -> None:
    """However long the case: what is said and the letters are chosen so that each side fits."""
    story, text = shown
    paper = handover(story)
    sizes = [letters(side, last) for side, last in zip(paper.sides, (False, True), strict=True)]

    assert len(paper.sides) == text.count('class="side"') == 2
    assert all(size in SIZES for size in sizes)
    assert all(f'style="font-size: {size:g}pt"' in text for size in sizes)


def test_text_of_people_is_shown_as_it_was_written() -> None:
    """Markup in names, notes and places is text; signs that steer a terminal or turn the writing are replaced."""
    story = told(Complaint("core/phantom-occupancy", "yard-2"), Note(HOSTILE))

    assert """</style></dd><script>alert("x")</script><img src=x onerror=y> & 'q' [a](http://b) | `c`""" in text_of(
        story
    )
    assert "\x1b" not in text_of(story)
    assert "\u202e" not in text_of(story)


@settings(max_examples=50)
@given(st.text())
def test_any_text_can_stand_in_a_page(text: str) -> None:
    """Whatever was typed, the page stays without a fault and holds the same words."""
    paper = Paper(text, text, ((Section(text, (Items((text,), ticks=True),), text),),), text)
    root = strict(page(paper))

    words = [" ".join("".join(e.itertext()).split()) for e in root.iter(f"{XHTML}li")]
    assert len(words) == 1
    assert re.sub("\ufffd", "", words[0]).isascii() or words[0]


def test_only_what_the_page_made_itself_is_markup() -> None:
    """Plain text inside an element is escaped, an element inside an element is not escaped again."""
    assert tag("p", "a < b", tag("b", "c & d")) == "<p>a &lt; b<b>c &amp; d</b></p>"
    assert tag("p", class_='"x"') == """<p class='"x"'></p>"""
    assert not isinstance(Markup("<b>") + "<i>", Markup)


# --- what it says -----------------------------------------------------------------------------------


def test_what_was_seen_done_and_read_is_told_in_order() -> None:
    """The demo case is told from the symptom to the proof, with the words of the questions and the reading."""
    text = text_of(demo("2026-09-12-yard-2"))

    parts = ["A block shows occupied with nothing on it", "When is it worse?", "On damp days", "2.9 kohm",
             "Mended at yard-2: dry and clean ballast", "passed, quiet for 2 d"]  # fmt: skip
    places = [text.index(part) for part in parts]
    assert places == sorted(places)


def test_a_reading_is_held_against_the_limits_of_this_layout() -> None:
    """Found 2.9 kohm, healthy above 15 kohm, because of 15 V over 3 mA: given figures, none assumed."""
    held = readings(demo("2026-09-12-yard-2"), 8)[0]

    assert held.found == "2.9 kohm"
    assert held.verdict.startswith("NOT healthy")
    assert "below limit: up to 5 kohm" in held.bands
    assert "sound (healthy): above 15 kohm" in held.bands
    assert "threshold of det-west 3 mA" in held.figures
    assert not any("assumed" in f for f in held.figures)


def test_assumed_figures_are_marked() -> None:
    """Without a record the same reading is judged by assumed figures, and each says so."""
    reading = Answer("core/block-leak-ohms", None, None, read_reading("2.9k", "ohm"), "typed")
    held = readings(told(about("the block"), reading, layout=EMPTY), 8)[0]

    figures = [f for f in held.figures if "=" not in f]
    assert figures
    assert all(f.endswith("(assumed)") for f in figures)


def test_the_ranking_tells_what_speaks_for_and_against() -> None:
    """Each of the first suspects has its chance in number and word, and its evidence in decibans on two sides."""
    sides = handover(demo("2026-09-12-yard-2")).sides
    table = next(b for s in sides[1] for b in s.blocks if isinstance(b, Table))

    assert table.heads == ("chance", "suspect", "for it", "against it")
    assert table.rows[0][0] == "99 in 100, almost certain"
    assert "dB what lies on the block" in table.rows[0][2]
    assert "-1 dB sick scope" in table.rows[0][3]


def test_what_is_still_undone_stands_before_everything_else() -> None:
    """A lifted wire is the first thing on the page, with a box to tick."""
    paper = handover(told(about(), SetUpChange("core/feed-lifted-at-detector", "yard-2")))
    first = paper.sides[0][0]

    assert first.tone == "undone"
    assert isinstance(first.blocks[0], Items)
    assert first.blocks[0].ticks
    assert "yard-2" in first.blocks[0].lines[0]


def test_danger_stands_before_what_is_undone_and_nothing_is_ranked_after_a_stop() -> None:
    """Smoke ends the questioning on paper too."""
    rules = club_rules()
    smoke = next(o for o in rules.checks["core/danger-signs"].outcomes if "smoke" in o or "smell" in o)
    paper = handover(told(about(), SetUpChange("core/power-off", "yard-2"), Answer("core/danger-signs", None, smoke)))

    assert [s.tone for s in paper.sides[0][:2]] == ["danger", "undone"]
    assert paper.sides[0][0].title == "STOP"
    assert not any(isinstance(b, Table) for s in paper.sides[1] for b in s.blocks)


def test_an_open_case_says_what_to_do_next_what_would_mend_it_and_what_could_hurt() -> None:
    """The step with its limits, the remedy with its proof, the cautions spelt out, and how to run tonight."""
    asked: list[Record] = [Answer("core/danger-signs", None, "none"), PutAside("core/what-changed"),
                           Answer("core/who-else-is-sick", None, "only-this"),
                           Answer("core/when-worse", None, "damp")]  # fmt: skip
    titles = [s.title for s in handover(told(about(), *asked)).sides[1]]

    assert titles == ["Suspects, and why", "The step worth taking next", "What would mend the likeliest",
                      "To run tonight without mending", "Cautions"]  # fmt: skip


def test_a_proven_case_says_what_mended_it_and_how_that_was_proven() -> None:
    """Of a closed case there is no next step, but the remedy and its proof."""
    titles = [s.title for s in handover(demo("2026-11-07-t-314")).sides[1]]

    assert "What mended it" in titles
    assert "The step worth taking next" not in titles
    assert "proven passed" in text_of(demo("2026-11-07-t-314"))


def test_a_failed_proof_is_told_as_failed() -> None:
    """What did not last is not called mended."""
    mend = Mend("core/dry-and-clean-ballast", "yard-2")
    text = text_of(told(about(), mend, ProofSeen("core/dry-and-clean-ballast", "yard-2", False)))

    assert "proven failed" in text
    assert "What mended it" not in text


def test_a_long_case_keeps_readings_mends_and_proofs_and_counts_what_it_leaves_out() -> None:
    """Questions are left out first, those that were put aside before all; their number is said."""
    story = endless()
    rows, left_out = deeds(story, 26)

    assert len(rows) == 26
    assert left_out > 10
    assert re.search(r"\d+ more lines of questions", text_of(story))
    assert {d.weight for d in rows} <= {3, 4}


def test_an_answer_that_was_taken_back_is_not_told(tmp_path: Path) -> None:
    """Only what stands is handed over."""
    events: list[dict[str, Any]] = [{"symptom": "core/phantom-occupancy", "about": "yard-2"},
              {"when": "2026-11-03T19:42:00+00:00", "answer": "core/when-worse", "outcome": "damp"},
              {"when": "no time", "answer": "core/who-else-is-sick", "outcome": "only-this"},
              {"takes-back": 2}]  # fmt: skip
    story = story_of(Case(tmp_path / "x.yaml", {}, events), club(), club_rules())

    assert [e.when for e in story.events] == ["", ""]
    assert "On damp days" not in text_of(story)


# --- Markdown ---------------------------------------------------------------------------------------


def rendered(text: str) -> str:
    """Markdown as an independent reader renders it, raw HTML let through."""
    return str(MarkdownIt("commonmark", {"html": True}).enable("table").render(text))


def cells(text: str) -> Iterator[str]:
    """The cells of the first row of a table."""
    yield from re.findall(r"<td>(.*?)</td>", rendered(text))


def test_text_of_people_is_no_markdown() -> None:
    """Raw HTML, links, emphasis, tables and headings in a note stay text."""
    story = told(Complaint("core/phantom-occupancy", "yard-2"), Note(HOSTILE), Note("# not a title"))
    html = rendered(markdown(handover(story)))

    assert not re.search(r"<(script|img|a|em|code)\b", html)
    assert "[a](http://b) | `c`" in html
    assert "<h1>" in html
    assert "<h1>not a title" not in html


@given(st.text())
def test_any_line_shows_as_it_is_in_markdown(text: str) -> None:
    """Whatever was typed is one plain paragraph for a Markdown reader, also in the cell of a table."""
    shown = literal(text)
    html = rendered(f"x {shown}")

    assert re.fullmatch(r"<p>x[^<]*</p>\n", html)
    assert len(list(cells(f"| a | b |\n|---|---|\n| x{shown} | y |\n"))) == 2


@given(st.from_regex(r"[-+=#>*]{1,3} ?[a-c]*|\d{1,3}[.)] [a-c]*", fullmatch=True))
def test_a_line_that_begins_like_a_list_or_a_title_is_a_plain_line(text: str) -> None:
    """A note that begins with a hyphen or a figure is no list."""
    assert re.fullmatch(r"(<p>[^<]*</p>\n)?", rendered(literal(text)))


def test_markdown_holds_the_same_sections_as_the_page() -> None:
    """Both are made from one paper."""
    paper = handover(demo("2026-09-12-yard-2"))
    titles = re.findall(r"<h2>(.*?)</h2>", rendered(markdown(paper)))

    assert titles == [s.title for side in paper.sides for s in side]


# --- the command ------------------------------------------------------------------------------------


def test_the_report_command_writes_a_page_and_markdown(tmp_path: Path) -> None:
    """A demo case is handed over by its name; what was written is said on standard error."""
    page_, text = tmp_path / "case.html", tmp_path / "case.md"
    done = ran("report", "2026-09-12-yard-2", "--html", str(page_), "--markdown", str(text))

    assert done.code == 0
    assert done.out == ""
    assert done.err.count("Written:") == 2
    assert strict(page_.read_text(encoding="utf-8")) is not None
    assert text.read_text(encoding="utf-8").startswith("# Hand-over: 2026-09-12-yard-2\n")


def test_without_a_file_markdown_goes_to_standard_output() -> None:
    """The result of a command is printed."""
    done = ran("report", "2026-09-12-yard-2")

    assert done.code == 0
    assert done.out.startswith("# Hand-over")


def test_a_report_is_there_as_data() -> None:
    """Scripts get titles, rows and the picture as a tree."""
    done = ran("report", "2026-09-12-yard-2", "--json")
    sections = [s for side in done.data["sides"] for s in side]

    assert done.code == 0
    assert [s["title"] for s in sections][:2] == ["What was seen", "What was done, asked and read"]
    assert any("picture" in b for s in sections for b in s["blocks"])


def test_a_page_that_cannot_be_written_is_said_in_words(tmp_path: Path) -> None:
    """The exit code is that of a failure, and the message names the file."""
    done = ran("report", "2026-09-12-yard-2", "--html", str(tmp_path / "none" / "x.html"))

    assert done.code == 1
    assert "no such folder" in done.err


def test_a_case_that_is_not_there_is_said_in_words() -> None:
    """No traceback, but the file that was looked for."""
    done = spawned("report", "no-such-case")

    assert done.code == 4
    assert "no-such-case" in done.err
    assert "Traceback" not in done.err


@pytest.mark.parametrize(
    ("seconds", "said"), [(2700.0, "45 min"), (3600.0, "1 h"), (86400.0, "1 d"), (129600.0, "36 h"), (172800.0, "2 d")]
)
def test_a_spell_of_time_is_told_in_its_largest_plain_unit(seconds: float, said: str) -> None:
    """Whole days are days, on the screen as on paper; what is no whole number of them stays in hours."""
    assert spell(seconds) == said


def test_a_proof_says_where_what_must_show_and_for_how_long() -> None:
    """One sentence serves screen and paper; where a healthy reading is known, it stands in it."""
    rules = club_rules()
    remedy = rules.remedies["core/dry-and-clean-ballast"]

    told_with = proof(rules, remedy, "yard-2", (15e3, math.inf))

    assert "yard-2 must show: sound (above 15 kohm); and quiet for 1 h" in told_with
    assert told_with.replace(" (above 15 kohm)", "") == proof(rules, remedy, "yard-2")
