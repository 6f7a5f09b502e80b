"""A hand-over without names: no name and no word of a note survives, and everything else is the same."""

import re
from functools import cache
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.running import ran
from tests.test_report import demo, told
from troubleshoot.cli.session import open_rules
from troubleshoot.documents import write
from troubleshoot.inquiry import Answer, Complaint, Mend, Note, ProofSeen, Record, SetUpChange
from troubleshoot.layout import Layout, Part, load
from troubleshoot.quantities import read_reading
from troubleshoot.report.handover import handover
from troubleshoot.report.markdown import markdown
from troubleshoot.report.naming import nameless
from troubleshoot.report.page import page
from troubleshoot.report.story import Story

RECORD = """
name: Quillfeather Bahn
says: built by Ottoline in the attic of Zimmermann
supplies: {brick-west: {volts: 18 V, where: under Ottoline's desk}}
boosters: {kraftwerk: {limit: 5 A, supply: brick-west, says: the thrumming one}}
districts: {nordkreis: {booster: kraftwerk, trip: 3 A, bus: {wire: 2.5 mm2, length: 6 m}}}
boards: {brett-eins: {says: the board with the windmill}}
detectors: {melder-7: {kind: coil, threshold: 3 mA, supply: brick-west, board: brett-eins}}
blocks:
  zweifelsgleis: {district: nordkreis, detector: melder-7, zone: 1, board: brett-eins, accessories: [windmuehle],
                  material: marzipan, where: behind the windmill}
  Pfannenstiel.9: {district: nordkreis, detector: melder-7, zone: 2, board: brett-eins}
joints: {zweifelsgleis/Pfannenstiel.9: {gap: 0.4 mm}}
decoders: {dekoder-k: {address: 1}}
turnouts: {weiche-xv: {number: 1, decoder: dekoder-k, block: zweifelsgleis,
  feedback: {kind: contact, input: rosette-4}}}
routes: {ausfahrt: {turnouts: {weiche-xv: straight}, blocks: [zweifelsgleis]}}
control-bus: {interface: flimmerkiste, panels: {stellpult: {says: Ottoline's panel}}}
stock: {vehicles: {krokodil: {says: Ottoline's green one}}}
"""
OWN = ("Quillfeather", "Bahn", "Ottoline", "attic", "Zimmermann", "brick-west", "desk", "kraftwerk", "thrumming",
       "nordkreis", "brett-eins", "windmill", "melder-7", "zweifelsgleis", "Pfannenstiel", "windmuehle", "marzipan",
       "dekoder-k", "weiche-xv", "rosette", "ausfahrt", "flimmerkiste", "stellpult", "krokodil", "Brombeere",
       "custard", "Nebengleis")  # fmt: skip
"""Every name and every telling word of the record, the case and its pack."""


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Layout:
    """The record of an owner with a taste for names."""
    path = tmp_path_factory.mktemp("record") / "own.yaml"
    path.write_text(RECORD, encoding="utf-8")
    return load(path)


@pytest.fixture(scope="module")
def own(record: Layout) -> Story:
    """A case on that layout in which every kind of event names something."""
    reading = read_reading("2.9k", "ohm")
    records: list[Record] = [
        Complaint("core/phantom-occupancy", "zweifelsgleis", ("zweifelsgleis", "Pfannenstiel.9", "Nebengleis")),
        Answer("core/danger-signs", "zweifelsgleis", "none"),
        SetUpChange("core/power-off", "zweifelsgleis"), SetUpChange("core/feed-lifted-at-detector", "zweifelsgleis"),
        Answer("core/block-leak-ohms", "zweifelsgleis", None, reading, "typed"),
        Answer("core/block-leak-ohms", "pfannenstiel.9", None, reading, "typed"),
        Note("Brombeere spilt custard over the krokodil"),
        Mend("core/dry-and-clean-ballast", "zweifelsgleis", "partly"),
        ProofSeen("core/dry-and-clean-ballast", "zweifelsgleis", False),
        Answer("core/when-worse", "Nebengleis", "damp"),
    ]  # fmt: skip
    return told(*records, layout=record)


def left(text: str) -> list[str]:
    """The names that can still be read in a text."""
    return [name for name in OWN if name.casefold() in text.casefold()]


def test_with_names_they_can_be_read(own: Story) -> None:
    """The page for the owner's own crew holds the names, so the test of the other page tests something."""
    assert {"zweifelsgleis", "Pfannenstiel", "Ottoline", "Brombeere", "custard"} <= set(left(page(handover(own))))


@pytest.mark.parametrize("form", [page, markdown])
def test_no_name_and_no_word_of_a_note_survives(own: Story, form: object) -> None:
    """Layout, places, vehicles, what the owner calls them, where they are, notes: nothing of it is left."""
    assert callable(form)
    assert left(form(handover(nameless(own)))) == []


def test_a_name_is_replaced_by_the_same_words_everywhere(own: Story) -> None:
    """A block is `block 1` in the complaint, the answers, the picture and the remedy, and so are its parts."""
    text = page(handover(nameless(own)))

    assert "Ohms from rail to rail in block 1" in text
    assert "Ohms from rail to rail in block 2" in text
    assert ">block 1<" in text
    assert "dry and clean ballast at block 1" in text
    assert nameless(own).layout.place("block 1 feeder").kind == "feeder"
    assert nameless(own).layout.place("block 1/block 2").kind == "joint"


def test_a_name_in_another_case_of_letters_is_the_same_name(own: Story) -> None:
    """What somebody typed in small letters gets no second name."""
    places = [getattr(e.record, "place", None) for e in nameless(own).events]

    assert places[4:6] == ["block 1", "block 2"]


def test_places_that_no_record_knows_are_renamed_too(own: Story) -> None:
    """A place of the case only is numbered after those of the record, by the kind that the symptom speaks of."""
    first = nameless(own).events[0].record

    assert isinstance(first, Complaint)
    assert first.sick == ("block 1", "block 2", "block 3")


@pytest.mark.parametrize("name", ["2026-09-12-yard-2", "2026-10-17-station-4", "2026-11-07-t-314"])
def test_what_is_concluded_is_the_same_without_names(name: str) -> None:
    """Chances, limits and steps do not hang on what things are called."""
    with_names, without = demo(name), nameless(demo(name))
    ranked = [
        [(r.cause, round(r.chance, 6)) for r in s.made.ranking[:5] if r.chance > 1e-4] for s in (with_names, without)
    ]

    assert ranked[0] == ranked[1]
    assert with_names.made.state == without.made.state
    limits, same = (re.findall(r"[\d.]+ kohm", page(handover(s))) for s in (with_names, without))
    assert limits == same


def test_no_place_of_the_club_survives() -> None:
    """Of a layout with hundreds of places not one name is left in the report of a case."""
    story = demo("2026-09-12-yard-2")
    text = page(handover(nameless(story)))
    tools_own = {"building", "computer program", "computer interface", "control bus", "control bus settings"}

    names = {p.name for p in story.layout.all_places()} | {story.name, story.layout.name} - tools_own
    assert [n for n in names if n not in tools_own and re.search(rf"(?<![\w-]){re.escape(n)}(?![\w-])", text)] == []
    assert "Fennick" not in text


@cache
def core_words() -> frozenset[str]:
    """Every word that a page of the core rules may hold by itself."""
    return frozenset(re.findall(r"\w+", page(handover(nameless(demo("2026-09-12-yard-2")))).casefold()))


NAME = st.from_regex(r"[a-zäøßж][a-zäøßж0-9]{4,11}", fullmatch=True)


@settings(max_examples=4, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(st.lists(NAME, min_size=5, max_size=5, unique=True), st.text(min_size=1, max_size=40))
def test_no_name_survives_whatever_things_are_called(names: list[str], note: str) -> None:
    """Names of any kind are gone, unless they are words of the rules themselves and so tell nothing."""
    layout, booster, district, detector, block = names
    parts = [Part("layout", layout), Part("booster", booster), Part("district", district, words={"booster": booster}),
             Part("detector", detector, words={"kind": "coil", "says": note}),
             Part("block", block, words={"district": district, "detector": detector, "zone": "1", "where": note}),
             Part("feeder", f"{block} feeder", words={"of": block})]  # fmt: skip
    made = Layout(layout, says=note, parts={p.name: p for p in parts})
    text = page(handover(nameless(told(Complaint("core/phantom-occupancy", block), Note(note), layout=made))))

    assert [n for n in names if n in text.casefold() and n not in core_words()] == []


# --- packs and the command --------------------------------------------------------------------------

PACK = {
    "pack.yaml": {"pack": "ottolines-pack", "version": "0.1.0", "format": 1, "says": "What Ottoline knows",
                  "owner": "Ottoline", "licence": "CC0", "needs": {"core": "1.0.0"}},
    "checks/mill.yaml": {"checks": {"windmuehle-lifted": {
        "asks": "Lift the windmuehle off {place}. Does it clear?", "at": "own-block", "minutes": 2,
        "keeps-waiting": "block", "how": "Pull it up behind the zweifelsgleis and look at melder-7.",
        "usual-mistake": "The wrong one is lifted"}}},
    "causes/mill.yaml": {"causes": {"windmuehle-touches": {
        "says": "The windmuehle of zweifelsgleis touches both rails", "sits-at": "own-block",
        "explains": {"phantom-occupancy": 90}, "needs": ["current-sensing-detector"],
        "shows": {"windmuehle-lifted": "always", "block-leak": {"below-limit": "always"}},
        "best-check": "windmuehle-lifted",
        "stopgap": {"do": "Lift the windmuehle", "minutes": 1}, "sources": ["Quillfeather Bahn, spring"]}}},
    "remedies/mill.yaml": {"remedies": {"sleeve-the-windmuehle": {
        "mends": ["windmuehle-touches"], "do": "Sleeve the windmuehle at Zweifelsgleis.", "minutes": 10,
        "proof": {"check": "block-leak-ohms", "outcome": "sound", "and": "zweifelsgleis stays clear"},
        "cautions": ["under-the-baseboard"]}}},
}  # fmt: skip


def test_the_rules_that_a_club_wrote_about_itself_are_swept(tmp_path: Path, record: Layout) -> None:
    """A club's own pack names its own places; these names are replaced like all others, the core stays as it is."""
    for name, data in PACK.items():
        (tmp_path / "p" / name).parent.mkdir(parents=True, exist_ok=True)
        write(tmp_path / "p" / name, data)
    rules = open_rules([str(tmp_path / "p")])
    plain = told(Complaint("core/phantom-occupancy", "zweifelsgleis"), layout=record)
    story = Story(plain.name, record, rules, plain.events, packs=("core 1.0.0", "ottolines-pack 0.1.0"))

    with_names, without = page(handover(story)), page(handover(nameless(story)))
    assert "The windmuehle of zweifelsgleis touches both rails" in with_names
    assert "The accessory 1 of block 1 touches both rails" in without
    assert "core 1.0.0, 1 of the owner&#39;s own" in without or "core 1.0.0, 1 of the owner's own" in without
    assert left(without) == []


def test_the_report_command_leaves_names_out_when_it_is_told_to(tmp_path: Path) -> None:
    """Page, Markdown and data of one case: no name of the layout in any of them."""
    html, text = tmp_path / "a.html", tmp_path / "a.md"
    done = ran("report", "2026-09-12-yard-2", "--html", str(html), "--markdown", str(text), "--json", "--no-names")

    assert done.code == 0
    for said in (done.out, html.read_text(encoding="utf-8"), text.read_text(encoding="utf-8")):
        assert "yard-2" not in said
        assert "block 2" in said
        assert "case of 2026-09-12" in said
