"""What is certain: the repairs of the production system, strata and traces, and that order never shows."""

import ast
import json
import os
import random
import subprocess
import sys
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from troubleshoot.deduction import STRATA, Deduced, deduce, prepare
from troubleshoot.diagnosis import diagnose
from troubleshoot.documents import read
from troubleshoot.inquiry import Answer, Complaint, Inquiry
from troubleshoot.layout import KINDS, TRAITS, Place, load
from troubleshoot.quality import layouts_of, records, try_deductions
from troubleshoot.rulebook import Cause, Caution, Check, Deduction, Rulebook, rules_folder, short
from troubleshoot.rulebook import load as load_rules
from troubleshoot.rulebook.floor import live_unlimited

ROOT = Path(__file__).resolve().parents[1]
PHANTOM, COIN = "core/phantom-occupancy", "core/coin-does-not-trip"

TRIAL = """
import sys
from troubleshoot.deduction.production import NOT, Engine, Fact, KnowledgeEngine, Rule

def trial(base, n, k):
    parts, fired = {}, []
    for i in range(n):
        def act(self, i=i):
            fired.append(i)
        act.__name__ = f"rule_{i}"
        parts[act.__name__] = Rule(Fact(a="1"), NOT(Fact(ruled_out=str(i))))(act)
    def rule_out(self):
        self.declare(Fact(ruled_out=str(k)))
    parts["rule_out"] = Rule(Fact(a="1"), salience=10)(rule_out)
    engine = type("Trial", (base,), parts)()
    engine.reset()
    engine.declare(Fact(a="1"))
    engine.run()
    return fired

n = int(sys.argv[1])
for base in (Engine, KnowledgeEngine):
    runs = [trial(base, n, k) for k in range(n)]
    print(sum(k in fired for k, fired in enumerate(runs)), runs if base is Engine else "")
"""

LENDING = """
import collections, json, logging, sys
root = logging.getLogger()
own = [logging.NullHandler()] if sys.argv[1] == "own" else []
root.handlers.extend(own)
before = hasattr(collections, "Mapping")
import troubleshoot.deduction.production as production
after, handlers = hasattr(collections, "Mapping"), root.handlers == own
root.handlers.clear()
logging.basicConfig()
print(json.dumps([before, after, handlers, len(root.handlers), type(production.Engine()).__name__]))
"""

ALREADY_LENT = """
import collections, collections.abc
collections.Mapping = collections.abc.Mapping
import troubleshoot.deduction.production
print(collections.Mapping is collections.abc.Mapping)
"""


@cache
def core() -> Rulebook:
    """The core rules as they stand."""
    return load_rules()


def python(code: str, *arguments: str, seed: int = 0) -> str:
    """What a fresh Python prints under a hash seed."""
    env = {**os.environ, "PYTHONHASHSEED": str(seed)}
    command = [sys.executable, "-W", "error", "-c", code, *arguments]
    return subprocess.run(command, check=True, capture_output=True, text=True, env=env, cwd=ROOT).stdout


# -- the two repairs -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("handlers", ["none", "own"])
def test_the_lent_name_is_taken_back_and_the_root_logger_left_alone(handlers: str) -> None:
    """Loading experta leaves no name in `collections`, the root logger's handlers as they were, a working engine."""
    assert json.loads(python(LENDING, handlers)) == [False, False, True, 1, "Engine"]


def test_a_name_that_somebody_else_lent_stays() -> None:
    """What was there before the import is there after it."""
    assert python(ALREADY_LENT).strip() == "True"


def test_experta_is_imported_in_one_place_only() -> None:
    """No other module imports experta, so none meets it without its repairs."""
    importers = [p for p in sources() if any(n.split(".")[0] == "experta" for n in imported(p))]

    assert [p.name for p in importers] == ["production.py"]


@cache
def stale(seed: int) -> tuple[str, str]:
    """The trial of ten tied rules under a hash seed: one line of the mended agenda, one of the stock one."""
    mended, stock = python(TRIAL, "10", seed=seed).splitlines()
    return mended, stock


@pytest.mark.parametrize("seed", range(4))
def test_a_rule_whose_condition_has_become_false_never_fires(seed: int) -> None:
    """Ten tied rules, each ruled out in turn: it never fires, all others do, in the order of their names."""
    count, runs = stale(seed)[0].split(" ", 1)

    assert count == "0"
    assert ast.literal_eval(runs) == [[i for i in range(9, -1, -1) if i != k] for k in range(10)]


@pytest.mark.parametrize("seed", range(4))
def test_the_stock_agenda_does_fire_such_rules(seed: int) -> None:
    """The fault that the mended agenda is for is still there: of ten ruled-out rules at least one fires."""
    assert int(stale(seed)[1]) >= 1


# -- needs -----------------------------------------------------------------------------------------------------


def needy() -> Iterator[tuple[str, Cause, str]]:
    """Every symptom, cause and need of the core rules."""
    for symptom in sorted(core().symptoms):
        for cause in core().causes_of(symptom):
            for need in cause.needs:
                yield symptom, cause, need


def test_what_a_layout_lacks_rules_out_the_causes_that_need_it() -> None:
    """A need that the layout says no to rules its causes out, with a trace; unknown and yes rule nothing out."""
    met = list(needy())
    assert len(met) > 30
    for symptom, cause, need in met:
        out = deduce(core(), symptom, {(need, "no")}).ruled_out
        assert out[cause.name].facts == ((need, "no"),)
        assert need.replace("-", " ") in out[cause.name].sentence
        for value in ("yes", "unknown"):
            assert cause.name not in deduce(core(), symptom, {(need, value)}).ruled_out


def test_a_cause_needs_all_of_its_needs() -> None:
    """One lacking need is enough, whatever the others are."""
    symptom, cause, _ = next(n for n in needy() if len(n[1].needs) > 1)
    first, second, *_ = cause.needs

    assert cause.name in deduce(core(), symptom, {(first, "yes"), (second, "no")}).ruled_out


def test_a_cause_without_needs_is_never_ruled_out_by_the_layout() -> None:
    """Saying no to every trait leaves the causes that need none."""
    out = deduce(core(), PHANTOM, {(t, "no") for t in TRAITS}).ruled_out
    free = {c.name for c in core().causes_of(PHANTOM) if not c.needs}

    assert free
    assert not free & set(out)


# -- the deductions of the core rules --------------------------------------------------------------------------


def facts_for(deduction: Deduction) -> set[tuple[str, str]]:
    """Facts that make a deduction's conditions true, and no more."""
    return {(name, values[0]) for name, values in deduction.when.items() if name != "symptom"}


def symptom_for(deduction: Deduction) -> str:
    """A symptom that a deduction speaks of: one it names, else one that has a cause it moves."""
    named = deduction.when.get("symptom")
    moved = {*deduction.then.get("raise", ()), *deduction.then.get("rule-out", ())}
    fitting = (s for s in sorted(core().symptoms) if not moved or moved & {c.name for c in core().causes_of(s)})
    return named[0] if named else next(fitting)


@pytest.mark.parametrize("name", sorted(core().deductions))
def test_each_deduction_concludes_what_it_says(name: str) -> None:
    """With its conditions true, every part of `then` is concluded, and its trace names rule, reason and facts."""
    deduction = core().deductions[name]
    made = deduce(core(), symptom_for(deduction), facts_for(deduction))
    then: Mapping[str, Any] = deduction.then
    lines = [f for f in made.trace if f.rule == name]

    assert {STRATA[f.stratum] for f in lines} == set(then)
    assert all(f.because == deduction.because and f.because in f.sentence for f in lines)
    assert all(facts_for(deduction) <= set(f.facts) for f in lines)
    assert set(then.get("raise", ())) <= set(made.raised)
    assert set(then.get("rule-out", ())) <= set(made.ruled_out)
    assert set(then.get("veto", ())) <= set(made.vetoed)
    assert set(then.get("caution", ())) <= set(made.cautions)
    assert then.get("make-safe") in (None, *(text for text, _ in made.make_safe))
    assert then.get("stop") in (None, *(text for text, _ in made.stop))


@pytest.mark.parametrize("name", sorted(core().deductions))
def test_each_condition_of_a_deduction_counts(name: str) -> None:
    """Leaving out any fact of `when`, or adding one of `unless`, keeps a deduction from firing."""
    deduction = core().deductions[name]
    symptom, facts = symptom_for(deduction), facts_for(deduction)
    for fact in facts:
        assert name not in {f.rule for f in deduce(core(), symptom, facts - {fact}).trace}
    for barred, values in deduction.unless.items():
        for value in values:
            assert name not in {f.rule for f in deduce(core(), symptom, facts | {(barred, value)}).trace}
    for other in set(deduction.when.get("symptom", ())) and set(core().symptoms) - set(deduction.when["symptom"]):
        assert name not in {f.rule for f in deduce(core(), other, facts).trace}


def test_every_deduction_is_needed() -> None:
    """Each fires in its example, and taking it out of the pack changes what a person would notice."""
    assert list(try_deductions(core())) == []


def test_an_ornament_is_found_out() -> None:
    """A deduction that fires and changes nothing, and one that never fires, are both reported."""
    stop = core().deductions["core/stop-at-water"]
    ornament = replace(stop, name="core/ornament", then={"raise": {"core/of-no-symptom": 2.0}})
    silent = replace(stop, name="core/silent", when={"core/danger-signs": ("warm-part",)})
    book = replace(core(), deductions={d.name: d for d in (stop, ornament, silent)})
    told = [str(p) for p in try_deductions(book)]

    assert len(told) == 2
    assert "ornament: its example" in told[0]
    assert "silent: its example does not make it fire" in told[1]


# -- stop, make-safe, veto -------------------------------------------------------------------------------------


@pytest.mark.parametrize("sign", ["water", "burning-smell", "mains-doubt"])
def test_danger_ends_the_questions_under_every_symptom(sign: str) -> None:
    """Water, a burning smell and doubt about the mains stop every inquiry, and say which rule did so and why."""
    for symptom in core().symptoms:
        ((text, fired),) = deduce(core(), symptom, {("core/danger-signs", sign)}).stop
        assert len(text) > 40
        assert fired.rule in core().deductions
        assert sign.replace("-", " ") in fired.sentence


@pytest.mark.parametrize("symptom", sorted(core().symptoms))
def test_nothing_lets_the_full_current_flow_once_something_is_to_be_made_safe(symptom: str) -> None:
    """A warm part vetoes every check with unlimited current under every symptom, each with a reason."""
    made = deduce(core(), symptom, {("core/danger-signs", "warm-part")})
    live = {n for n, c in core().checks.items() if live_unlimited(c, core().set_ups)}

    assert made.make_safe
    assert live
    assert live <= set(made.vetoed)
    assert all(f.because for f in made.vetoed.values())


def test_the_floor_vetoes_without_any_help_from_a_pack() -> None:
    """A pack that only says make-safe still gets every unlimited check vetoed, and none behind a limit or unpowered."""
    safe = core().deductions["core/make-safe-when-warm"]
    bare = replace(safe, then={"make-safe": "Switch off"})
    made = deduce(replace(core(), deductions={bare.name: bare}), PHANTOM, {("core/danger-signs", "warm-part")})

    assert set(made.vetoed) == {n for n, c in core().checks.items() if live_unlimited(c, core().set_ups)}
    for name in made.vetoed:
        check = core().checks[name]
        states, spoilt = ([core().set_ups[s] for s in names] for names in (check.set_up, check.clean_of))
        assert check.tool == "coin" or any(s.power == "on" for s in states) or any(s.power or s.supply for s in spoilt)
        assert not any(s.limits_current for s in states)


def test_a_warm_box_is_not_searched_with_its_supply_on() -> None:
    """What is worthless with the accessory supply off needs it on, and is not advised beside something warm."""
    made = deduce(core(), "core/all-turnouts-of-one-decoder-dead", {("core/danger-signs", "warm-part")})

    assert core().set_ups["core/accessory-supply-off"].supply == "off"
    assert "core/lamp-at-the-motor" in made.vetoed
    assert "core/supply-fuse" not in made.vetoed


def test_a_coin_that_does_not_trip_is_made_safe_from_the_start() -> None:
    """The symptom alone is enough: no coin is laid again."""
    made = deduce(core(), COIN, ())
    coins = {n for n, c in core().checks.items() if c.tool == "coin"}

    assert made.make_safe
    assert coins
    assert coins <= set(made.vetoed)


def test_nothing_is_certain_where_nothing_is_known() -> None:
    """Without facts no rule fires: nothing is ruled out, raised, vetoed or stopped."""
    assert deduce(core(), PHANTOM, ()) == Deduced()


# -- strata, with rules made for the purpose -------------------------------------------------------------------


def rule(name: str, when: dict[str, str], then: dict[str, Any], unless: dict[str, str] | None = None) -> Deduction:
    """A deduction for a test."""
    barred = {n: (v,) for n, v in (unless or {}).items()}
    return Deduction(f"club/{name}", {n: (v,) for n, v in when.items()}, barred, then, f"Because of {name}", {})


def with_rules(*rules: Deduction) -> Rulebook:
    """The core rulebook with only these deductions."""
    return replace(core(), deductions={r.name: r for r in rules})


def test_what_is_concluded_is_seen_by_later_strata_and_bars_them() -> None:
    """A conclusion is a fact for `when` and `unless` of the rules after it, whatever their names."""
    book = with_rules(
        rule("z-first", {"sick": "several"}, {"conclude": {"many": "yes"}}),
        rule("a-then", {"concluded-many": "yes"}, {"caution": ["core/hand-over"]}),
        rule("a-never", {"sick": "several"}, {"stop": "Stop"}, {"concluded-many": "yes"}),
    )
    made = deduce(book, PHANTOM, {("sick", "several")})

    assert made.concluded == {"concluded-many": "yes"}
    assert made.cautions == ("core/hand-over",)
    assert made.stop == ()
    assert [f.rule for f in made.trace] == ["club/z-first", "club/a-then"]


def test_ten_rules_barred_at_once_all_stay_silent() -> None:
    """The pattern of the stock agenda's fault, in the words of a pack: one conclusion bars ten tied rules."""
    barred = [
        rule(f"r{i}", {"sick": "several"}, {"caution": [f"core/c{i}"]}, {"concluded-off": str(i)}) for i in range(10)
    ]
    for k in range(10):
        book = with_rules(rule("off", {"sick": "several"}, {"conclude": {"off": str(k)}}), *barred)
        made = deduce(book, PHANTOM, {("sick", "several")})
        assert made.cautions == tuple(sorted(f"core/c{i}" for i in range(10) if i != k))


def test_raises_multiply() -> None:
    """Two rules that raise one cause multiply their factors."""
    cause = core().causes_of(PHANTOM)[0].name
    book = with_rules(
        rule("one", {"sick": "several"}, {"raise": {cause: 3.0}}),
        rule("two", {"power": "on"}, {"raise": {cause: 2.0}}),
    )

    assert deduce(book, PHANTOM, {("sick", "several"), ("power", "on")}).raised == {cause: 6.0}
    assert deduce(book, PHANTOM, {("power", "on")}).raised == {cause: 2.0}


def test_a_fact_of_another_place_raises_nothing_here_but_keeps_its_danger() -> None:
    """What is so elsewhere neither raises nor concludes for this place, alone or joined; its stop stands."""
    cause = core().causes_of(PHANTOM)[0].name
    book = with_rules(
        rule("one", {"worse-when": "damp"}, {"raise": {cause: 3.0}, "conclude": {"wet": "yes"}}),
        rule("two", {"worse-when": "damp", "power": "on"}, {"raise": {cause: 2.0}}),
        rule("off", {"worse-when": "damp"}, {"stop": "Stop"}),
        rule("on", {"power": "on"}, {"raise": {cause: 5.0}}),
    )
    made = deduce(book, PHANTOM, {("power", "on")}, {("worse-when", "damp")})

    assert made.raised == {cause: 5.0}
    assert made.concluded == {}
    assert [text for text, _ in made.stop] == ["Stop"]
    assert {f.rule for f in made.trace} == {"club/on", "club/off"}
    assert deduce(book, PHANTOM, {("power", "on"), ("worse-when", "damp")}).raised == {cause: 30.0}


def test_an_answer_about_another_block_raises_nothing_here() -> None:
    """Two blocks are sick with stories of their own: what is answered of one moves the causes of that one only."""
    club = load(rules_folder() / "core" / "layouts" / "club.yaml")

    def raised(at: str) -> Mapping[str, float]:
        complaint = Complaint("core/sticks-occupied", "tunnel-3", ("tunnel-3", "yard-2"))
        answer = Answer("core/rail-volts-at-block", at, "dead")
        return diagnose(club, core(), Inquiry((complaint, answer))).deduced.raised

    own = club.related("detector-of", club.place("tunnel-3"))[0].name
    other = club.related("detector-of", club.place("yard-2"))[0].name
    assert own != other
    assert "core/state-frozen-without-power" in raised(own)
    assert raised(other) == {}


def test_rules_of_alike_names_do_not_take_each_others_place() -> None:
    """`club/a-b` and `club-a/b` are two rules."""
    one = rule("a-b", {"sick": "several"}, {"caution": ["core/one"]})
    two = replace(one, name="club-a/b", then={"caution": ["core/two"]})

    assert deduce(with_rules(one, two), PHANTOM, {("sick", "several")}).cautions == ("core/one", "core/two")


# -- order -----------------------------------------------------------------------------------------------------


def shuffled(book: Rulebook, dice: random.Random) -> Rulebook:
    """The same rules in another order."""

    def mixed(table: Mapping[str, Any]) -> dict[str, Any]:
        return dict(dice.sample(list(table.items()), len(table)))

    return replace(
        book,
        deductions=mixed(book.deductions),
        causes=mixed(book.causes),
        checks=mixed(book.checks),
        cautions=mixed(book.cautions),
        set_ups=mixed(book.set_ups),
    )


def many_facts(dice: random.Random) -> list[tuple[str, str]]:
    """The conditions of some deductions together, and some traits, in any order."""
    facts = {f for d in dice.sample(sorted(core().deductions), 9) for f in facts_for(core().deductions[d])}
    facts |= {(t, dice.choice(["yes", "no", "unknown"])) for t in TRAITS}
    return dice.sample(sorted(facts), len(facts))


@pytest.mark.parametrize("seed", range(6))
def test_the_order_of_facts_and_rules_does_not_show(seed: int) -> None:
    """Shuffled rules and facts give the same conclusions and the same trace, under every symptom."""
    dice = random.Random(seed)
    other, facts = shuffled(core(), dice), many_facts(dice)
    fired = 0
    for symptom in sorted(core().symptoms):
        made = deduce(core(), symptom, facts)
        again = deduce(other, symptom, dice.sample(facts, len(facts)))
        fired += len(made.trace)
        assert again == made
        assert list(again.raised) == list(made.raised)
        assert list(again.ruled_out) == list(made.ruled_out)

    assert fired > 40


def test_what_was_asked_before_does_not_show() -> None:
    """The engine is kept between calls; nothing of an earlier call stays in it."""
    facts = {("core/danger-signs", "warm-part"), ("current-sensing-detector", "no")}
    fresh = deduce(replace(core()), PHANTOM, {("sick", "several")})
    deduce(core(), PHANTOM, facts)

    assert deduce(core(), PHANTOM, {("sick", "several")}) == fresh
    assert deduce(core(), PHANTOM, facts) == deduce(replace(core()), PHANTOM, facts)


UNDER_SEED = """
from troubleshoot.deduction import deduce
from troubleshoot.rulebook import load
book = load()
for symptom in sorted(book.symptoms):
    facts = {(n, v[0]) for d in book.deductions.values() for n, v in d.when.items() if n != "symptom"}
    facts |= {("current-sensing-detector", "no"), ("filter-fitted", "no"), ("coil-motor", "no")}
    print(deduce(book, symptom, facts))
"""


def test_hash_seeds_do_not_show() -> None:
    """The same facts give the same conclusions, to the last letter, in processes with other hash seeds."""
    first, *others = (python(UNDER_SEED, seed=s) for s in range(4))

    assert len(first) > 5000
    assert others == [first] * 3


# -- preparing a step ------------------------------------------------------------------------------------------


def by_unit(unit: str) -> Check:
    """A check that reads in a unit and needs the power off or on."""
    return next(c for _, c in sorted(core().checks.items()) if c.unit == unit and c.set_up)


def test_set_ups_come_first_unless_they_are_in_force() -> None:
    """A check names the set-ups to enter, in its own order; those in force are not entered again."""
    check = max(core().checks.values(), key=lambda c: (len(c.set_up), c.name))
    assert len(check.set_up) >= 3

    assert prepare(core(), check, frozenset()).enter == check.set_up
    assert prepare(core(), check, frozenset(check.set_up[:1])).enter == check.set_up[1:]
    assert prepare(core(), check, frozenset(check.set_up)).enter == ()


def test_the_opposite_state_of_the_power_is_left_first() -> None:
    """Ohms leave `power on`, a live check leaves `power off`; what does not clash stays."""
    on = next(n for n, s in core().set_ups.items() if s.power == "on" and not s.limits_current)
    off = next(n for n, s in core().set_ups.items() if s.power == "off")
    neutral = next(n for n, s in core().set_ups.items() if s.power is None)
    ohms = by_unit("ohm")
    live = next(c for _, c in sorted(core().checks.items()) if on in c.set_up)

    assert prepare(core(), ohms, frozenset({on, neutral})).leave == (on,)
    assert prepare(core(), live, frozenset({off, neutral})).leave == (off,)
    assert prepare(core(), ohms, frozenset({off})).leave == ()


def test_nothing_is_commanded_with_its_wires_off() -> None:
    """A check by throttle has lifted leads put back first, unless it asks for them; a lifted breaker stays lifted."""
    leads, breaker = "core/motor-leads-lifted", "core/breaker-output-lifted"
    for check in core().checks.values():
        ready = prepare(core(), check, frozenset({leads, breaker}))
        live = any(core().set_ups[s].power == "on" for s in check.set_up)
        if check.tool == "throttle" and leads not in check.set_up:
            assert leads in ready.leave
        if check.tool == "throttle" and not live and breaker not in check.clean_of:
            assert breaker not in ready.leave
        if check.tool == "none" and not live and leads not in check.clean_of:
            assert leads not in ready.leave


def test_cautions_go_with_what_a_check_is() -> None:
    """Cautions that apply by unit, tool or set-up are carried whether or not the check names them, with a trace."""
    for name, caution in core().cautions.items():
        if not caution.applies:
            continue
        fitting = [c for c in core().checks.values() if _applies(caution, c)]
        for check in fitting:
            bare = replace(check, cautions=())
            ready = prepare(core(), bare, frozenset(check.set_up))
            assert name in ready.cautions
            assert name in {f.rule for f in ready.trace}
        others = [c for c in core().checks.values() if c not in fitting]
        assert all(name not in {f.rule for f in prepare(core(), c, frozenset()).trace} for c in others)


def _applies(caution: Caution, check: Check) -> bool:
    states = [core().set_ups[s] for s in check.set_up]
    has = {"unit": {check.unit or "none"}, "tool": {check.tool}, "power": {s.power for s in states if s.power}}
    has["set-up"] = {n for s in states for n in (s.name, short(s.name))}
    return all(value in has[what] for what, value in caution.applies.items())


def test_entering_a_set_up_brings_its_cautions() -> None:
    """The cautions of a set-up go with the step that enters it, and not once it stands."""
    check = replace(by_unit("ohm"), cautions=(), unit=None)
    name = next(s for s in check.set_up if core().set_ups[s].cautions)
    entering = prepare(core(), check, frozenset(check.set_up) - {name})
    standing = prepare(core(), check, frozenset(check.set_up))

    assert set(core().set_ups[name].cautions) <= set(entering.cautions)
    assert not set(core().set_ups[name].cautions) <= set(standing.cautions)


# -- no name of a pack in the code -----------------------------------------------------------------------------

ALLOWED = {
    # The floor of safety names the cautions that a check must carry by what it touches: no pack can lower it,
    # so it cannot stand in a pack.
    "rulebook/floor.py": {
        "ohms-only-unpowered",
        "meter-left-on-amps",
        "coin-one-second",
        "heat-under-the-trip",
        "lamp-gets-hot",
        "never-defeat-breaker",
        "live-low-volts-one-hand",
        "soldering",
        "solvents-power-off",
    },
}
GENERIC = {
    "hand-over",  # a kind of step and a state of a case, beside the caution of that name
    *KINDS,  # kinds of places are the layout's own words; a record may call its only panel `panel`
}


def sources() -> list[Path]:
    """All modules of the tool."""
    return sorted((ROOT / "troubleshoot").rglob("*.py"))


def imported(path: Path) -> Iterator[str]:
    """The names of the modules that a module imports."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module or ""


def literals(tree: ast.AST) -> Iterator[str]:
    """The string literals of a module that are no docstrings."""
    bare = {id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in bare:
            yield node.value


@cache
def names() -> frozenset[str]:
    """The names of everything in the core rules, and of every place in its pretend layouts."""
    book = core()
    tables = (book.symptoms, book.checks, book.findings, book.causes, book.remedies, book.cautions)
    found = {short(n) for table in (*tables, book.set_ups, book.deductions) for n in table}
    for path in sorted((rules_folder() / "core" / "layouts").glob("*.yaml")):
        found |= keys(read(path).data) & {p.name for p in load(path).all_places()}
    return frozenset(found)


def keys(data: Any) -> set[str]:
    """All keys of a record, at any depth."""
    return set(data) | {k for v in data.values() for k in keys(v)} if isinstance(data, dict) else set()


def standing_in(text: str, searched: frozenset[str]) -> set[str]:
    """The names that a literal is, or holds as a word of its own; names of one plain word only where they are all."""
    words = set("".join(c if c.isalnum() or c == "-" else " " for c in text).split())
    return {n for n in searched if n == text or n == short(text) or ("-" in n and n in words)}


def test_the_scan_finds_what_it_is_to_find() -> None:
    """A name alone, qualified, or inside a sentence is found; a longer name that begins alike is not."""
    searched = frozenset({"yard-2", "soldering", "gap-volts"})

    assert standing_in("core/yard-2", searched) == {"yard-2"}
    assert standing_in("see 'yard-2', say", searched) == {"yard-2"}
    assert standing_in("soldering", searched) == {"soldering"}
    assert standing_in("gap-volts-in-phase after soldering", searched) == set()
    assert list(literals(ast.parse('"""yard-2"""\nx = "gap-volts"'))) == ["gap-volts"]


@pytest.mark.parametrize("path", sources(), ids=lambda p: str(p.relative_to(ROOT / "troubleshoot")))
def test_no_name_of_a_pack_stands_in_the_code(path: Path) -> None:
    """Causes, checks, places, set-ups, findings and deductions are named in packs and records only."""
    inside = path.relative_to(ROOT / "troubleshoot").as_posix()
    searched = names() - GENERIC - ALLOWED.get(inside, set())
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = {n for text in literals(tree) for n in standing_in(text, searched)}

    assert found == set(), f"{inside} names {sorted(found)}"


def test_the_exceptions_are_all_in_use() -> None:
    """An exception that no module needs any more is taken out."""
    for inside, allowed in ALLOWED.items():
        tree = ast.parse((ROOT / "troubleshoot" / inside).read_text(encoding="utf-8"))
        used = {n for text in literals(tree) for n in standing_in(text, frozenset(allowed))}
        assert used == allowed
        assert allowed <= names()


# -- examples through the whole ---------------------------------------------------------------------------------


def test_an_example_reads_as_an_inquiry() -> None:
    """A deduction's example becomes a complaint and its answers, on the layout that it names."""
    deduction = core().deductions["core/shared-detector"]
    inquiry = records(core(), PHANTOM, deduction.example, "core")
    layout = layouts_of(core()).open("club")

    assert inquiry.complaint is not None
    assert inquiry.complaint.sick == ("yard-3", "harbour-2")
    assert len(inquiry.records) == 1 + len(deduction.example["answers"])
    assert layout.related("detector-of", Place("block", "yard-3")) == layout.related(
        "detector-of", Place("block", "harbour-2")
    )
    assert load(rules_folder() / "core" / "layouts" / "club.yaml").name == layout.name
