"""The tree on paper: one A4 page, letters that can be read, every mark in words, no text that becomes markup."""

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.test_sketch_tree import CLUB, big
from troubleshoot.cli.session import open_layout
from troubleshoot.layout import Layout, Part
from troubleshoot.sketch import ORDER, SIGNS, WORDS, Mark, Node, picture_of
from troubleshoot.sketch.lettering import clip, width_of, wrap
from troubleshoot.sketch.sheet import A4, SMALLEST, piece, sheet
from troubleshoot.sketch.svg import Page, clean

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = """]]></text><script>alert('x')</script>& "q" <!-- \x00\x1b[31m \u202e {place}"""
MANY = [Mark(f"b-{n}", "weak-spot", f"weak in its way number {n}, and said at some length", 0.5) for n in range(400)]
EVERY_KIND = [Mark(f"yard-{n}", kind, f"text of a {kind}", 0.5) for n, kind in enumerate(ORDER, 1)]


def odd_layout() -> Layout:
    """A layout whose names are as long and as strange as a record or a case may make them."""
    long = "an-endless-name-" * 12
    parts = [Part("layout", HOSTILE), Part("booster", "b", words={"says": HOSTILE * 5}),
             Part("district", long, words={"booster": "b"}),
             *(Part("block", f"{long}{n}", words={"district": long}) for n in range(9)),
             *(Part("turnout", f"t{n}", words={"block": f"{long}1", "motor": HOSTILE}) for n in range(30))]  # fmt: skip
    return Layout(HOSTILE, says=HOSTILE * 3, parts={p.name: p for p in parts})


DRAWN: dict[str, tuple[Layout, list[Mark]]] = {
    "club": (CLUB, EVERY_KIND),
    "home": (open_layout("home"), []),
    "big": (big(10_000), MANY),
    "odd": (odd_layout(), [Mark(HOSTILE, "suspect", HOSTILE, 0.5), Mark("t3", "sick", "word " * 300, 1.0)]),
    "empty": (Layout("nothing", known=False), []),
}


@pytest.fixture(scope="module", params=DRAWN)
def drawn(request: pytest.FixtureRequest) -> tuple[str, ElementTree.Element]:
    """Each layout on its page, read by an XML parser."""
    layout, marks = DRAWN[request.param]
    return request.param, ElementTree.fromstring(sheet(picture_of(layout, marks), layout.name))


def test_a_sheet_is_one_a4_page_upright_or_on_its_side(drawn: tuple[str, ElementTree.Element]) -> None:
    """Width and height are those of A4, whatever is drawn."""
    root = drawn[1]

    size = (root.get("width"), root.get("height"), root.get("viewBox"))
    assert size in (("210mm", "297mm", "0 0 595 842"), ("297mm", "210mm", "0 0 842 595"))


def test_no_letter_is_smaller_than_six_points(drawn: tuple[str, ElementTree.Element]) -> None:
    """A page that cannot be read is no page: more is folded instead."""
    sizes = [float(str(text.get("font-size"))) for text in drawn[1].iter(f"{SVG}text")]

    assert min(sizes) >= SMALLEST == 6.0


def test_everything_is_drawn_inside_the_page(drawn: tuple[str, ElementTree.Element]) -> None:
    """No name, however long, and no row of blocks runs over an edge."""
    root = drawn[1]
    width, height = (float(n) for n in str(root.get("viewBox")).split()[2:])
    for text in root.iter(f"{SVG}text"):
        x, y = float(str(text.get("x"))), float(str(text.get("y")))
        size, bold = float(str(text.get("font-size"))), text.get("font-weight") == "bold"
        assert x >= 0
        assert x + width_of(text.text or "", size, bold) <= width + 0.5
        assert size <= y <= height
    for box in list(root.iter(f"{SVG}rect"))[1:]:
        x, y, w, h = (float(str(box.get(k))) for k in ("x", "y", "width", "height"))
        assert x >= 0
        assert y >= 0
        assert w > 0
        assert x + w <= width
        assert y + h <= height


def test_a_sheet_refers_to_nothing_outside_itself(drawn: tuple[str, ElementTree.Element]) -> None:
    """It can be sent and opened anywhere."""
    names = {tag for element in drawn[1].iter() for tag in element.attrib}

    assert {element.tag for element in drawn[1].iter()} <= {
        f"{SVG}{t}" for t in ("svg", "title", "rect", "text", "line")
    }
    assert [n for n in names if "href" in n or n.startswith("on")] == []


def test_a_club_is_drawn_whole() -> None:
    """Sixty-four blocks and forty turnouts stand on one page, each by its name."""
    text = sheet(picture_of(CLUB, EVERY_KIND), CLUB.name)

    missing = [p.name for k in ("block", "turnout") for p in CLUB.places_of(k) if f">{p.name}<" not in text]
    assert missing == []


@pytest.mark.parametrize("kind", ORDER)
def test_each_mark_has_its_sign_at_the_place_and_its_words_below(kind: str) -> None:
    """No colour says anything alone: a numbered sign stands in the pigeon-hole, and the number is spelt out."""
    texts = [t.text for t in ElementTree.fromstring(sheet(picture_of(CLUB, EVERY_KIND), "x")).iter(f"{SVG}text")]

    number = ORDER.index(kind) + 1
    assert f"{SIGNS[kind]}{number}" in texts
    assert f"{SIGNS[kind]}{number} {WORDS[kind]}, yard-{number}: text of a {kind}" in texts


def test_marks_that_do_not_fit_are_counted() -> None:
    """Four hundred weak spots do not fit on a page; how many are not shown is said."""
    text = sheet(picture_of(big(800), MANY), "big")

    told = sum(int(n) for n in re.findall(r"(\d+) more marked", text))
    spelt = len(set(re.findall(r">!(\d+) weak spot", text)))
    assert told + spelt == 400
    assert spelt > 5


def test_text_of_people_is_no_markup() -> None:
    """Names and notes that look like markup are shown as they were written."""
    root = ElementTree.fromstring(sheet(Node("layout", HOSTILE, HOSTILE, (Mark("x", "sick", HOSTILE),)), HOSTILE))

    words = " ".join(t.text or "" for t in root.iter(f"{SVG}text"))
    assert "<script>alert('x')</script>&" in words
    assert not list(root.iter(f"{SVG}script"))


def test_a_piece_takes_the_width_it_is_given_and_the_height_it_needs() -> None:
    """Inside another page the drawing has no paper of its own."""
    root = ElementTree.fromstring(piece(picture_of(CLUB), "x", 520.0))

    assert str(root.get("viewBox")).startswith("0 0 520 ")
    assert root.get("width") is None
    assert A4[0] > 520.0


@given(st.text())
def test_any_text_can_stand_in_a_drawing(text: str) -> None:
    """Whatever a person types, the drawing stays well formed and shows what can be shown."""
    page = Page(10, 10, text)
    page.words(0, 0, text)
    root = ElementTree.fromstring(page.text())

    shown = root.findall(f"{SVG}text")[0].text or ""
    assert shown == re.sub("\r\n?", "\n", clean(text))
    assert clean(clean(text)) == clean(text)


@given(st.text(alphabet=st.characters(codec="utf-8")), st.floats(20, 300), st.floats(6, 12))
def test_a_clipped_line_fits(text: str, width: float, size: float) -> None:
    """A line ends before the edge, with an ellipsis where something was left out."""
    said = clip(text, width, size)

    assert width_of(said, size) <= width or said == "…"
    assert said == text or said.endswith("…")


@given(st.text(alphabet="abc W-ü", max_size=200), st.floats(20, 300), st.floats(6, 12))
def test_a_wrapped_text_fits_and_loses_nothing(text: str, width: float, size: float) -> None:
    """Every line ends before the edge, and all letters are still there in order."""
    lines = wrap(text, width, size)

    assert all(width_of(line, size) <= width + 1e-6 for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())
