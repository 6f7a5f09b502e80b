"""Crisp reasoning: what is possible, allowed and dangerous, compiled from the pack for one symptom.

Rules fire in strata, each seeing only what the ones before concluded: conclude, raise and rule out, veto,
caution, make-safe, stop. Causes whose needs the layout lacks are ruled out by one rule a cause. A second, small
engine looks at the one step about to be advised: which cautions go with it and which set-ups come first.
The layout graph stays outside: only derived facts and answered findings are declared. Values are strings.
The conclusions are sets, sorted before they leave, so that no order of rules, packs or answers shows in them.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

from troubleshoot.deduction.production import NOT, Engine, Fact, L, Rule
from troubleshoot.rulebook import Caution, Check, Deduction, Rulebook, SetUp, short
from troubleshoot.rulebook.floor import live_unlimited

AT_WORK = ("throttle", "monitor", "stopwatch", "video")
"""Tools that need the layout at work: something is commanded, watched or timed."""
STRATA = ("conclude", "raise", "rule-out", "veto", "caution", "make-safe", "stop")


class Known(Fact):  # type: ignore[misc]
    """A fact: name and value, both strings."""


class Doing(Fact):  # type: ignore[misc]
    """A property of the step about to be advised."""


@dataclass(frozen=True, order=True)
class Fired:
    """One rule that fired: which, what for, why, and the facts it rests on."""

    stratum: int
    rule: str
    because: str
    facts: tuple[tuple[str, str], ...] = ()

    @property
    def sentence(self) -> str:
        """The trace line as a person reads it."""
        seen = ", ".join(f"{short(n).replace('-', ' ')}: {short(v).replace('-', ' ')}" for n, v in self.facts)
        return f"{self.because} ({seen})" if seen else self.because


@dataclass(frozen=True)
class Deduced:
    """Everything that is certain at this point of an inquiry."""

    ruled_out: Mapping[str, Fired] = field(default_factory=dict)
    raised: Mapping[str, float] = field(default_factory=dict)
    vetoed: Mapping[str, Fired] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    make_safe: tuple[tuple[str, Fired], ...] = ()
    stop: tuple[tuple[str, Fired], ...] = ()
    concluded: Mapping[str, str] = field(default_factory=dict)
    trace: tuple[Fired, ...] = ()


@dataclass(frozen=True)
class Prepared:
    """What must precede a step: set-ups to enter, set-ups to leave first, and its cautions with the rules' reasons."""

    enter: tuple[str, ...]
    leave: tuple[str, ...]
    cautions: tuple[str, ...]
    trace: tuple[Fired, ...]


def _values(values: tuple[str, ...]) -> Any:
    pattern = L(values[0])
    for value in values[1:]:
        pattern = pattern | L(value)
    return pattern


def _conditions(deduction: Deduction) -> list[Any]:
    wanted = [Known(name=name, value=_values(values)) for name, values in sorted(deduction.when.items())]
    barred = [NOT(Known(name=name, value=_values(values))) for name, values in sorted(deduction.unless.items())]
    return wanted + barred


def _action(name: str, conclude: Callable[[Any], None]) -> Callable[..., None]:
    def fire(engine: Any) -> None:
        conclude(engine)

    # Generated rules need names of their own: ties are ordered by them, and experta finds rules by attribute.
    fire.__name__ = name
    return fire


def _rule(
    engine_parts: dict[str, Any], name: str, salience: int, conditions: list[Any], act: Callable[[Any], None]
) -> None:
    # Every name has a key of its own: `club/a-b` and `club-a/b` must not take each other's place.
    key = "r_" + name.replace(" ", "___").replace("/", "__").replace("-", "_")
    engine_parts[key] = Rule(*conditions, salience=salience)(_action(key, act))


def _note(deduction: Deduction, stratum: str) -> Callable[[Any], None]:
    def act(engine: Any) -> None:
        engine.fired.add((deduction.name, stratum))
        if stratum == "conclude":
            for fact, value in deduction.then["conclude"].items():
                engine.declare(Known(name=f"concluded-{fact}", value=value))

    return act


def _lacking(cause: str, need: str) -> Callable[[Any], None]:
    def act(engine: Any) -> None:
        engine.lacking.add((cause, need))

    return act


@lru_cache(maxsize=64)
def _engine(rulebook: Rulebook, symptom: str) -> tuple[Any, frozenset[str]]:
    """The engine of one symptom, and the names of the facts its rules look at."""
    parts: dict[str, Any] = {}
    looked_at: set[str] = set()
    causes = rulebook.causes_of(symptom)
    names = {c.name for c in causes}
    for cause in causes:
        for need in cause.needs:
            _rule(
                parts,
                f"needs {cause.name} {need}",
                50,
                [Known(name=need, value="no")],
                _lacking(cause.name, need),
            )
            looked_at.add(need)
    for name, deduction in sorted(rulebook.deductions.items()):
        if deduction.when.get("symptom") and symptom not in deduction.when["symptom"]:
            continue
        touches = set(deduction.then.get("raise", ())) | set(deduction.then.get("rule-out", ()))
        if touches and not touches & names and set(deduction.then) <= {"raise", "rule-out"}:
            continue
        for stratum, key in enumerate(STRATA):
            if deduction.then.get(key):
                _rule(parts, f"{key} {name}", 60 - stratum, _conditions(deduction), _note(deduction, key))
        looked_at |= set(deduction.when) | set(deduction.unless)
    made = type("Deducing", (Engine,), parts)()
    made.fired, made.lacking = set(), set()
    return made, frozenset(looked_at)


SAFETY = frozenset(STRATA.index(s) for s in ("veto", "caution", "make-safe", "stop"))


def deduce(
    rulebook: Rulebook,
    symptom: str,
    facts: Iterable[tuple[str, str]],
    elsewhere: Iterable[tuple[str, str]] = (),
) -> Deduced:
    """What is certain about a symptom, given facts (name, value); pure: the same facts give the same conclusions.

    `elsewhere` holds facts about other places. What is dangerous there is dangerous; but such a fact makes no cause
    likelier or impossible here, and nothing is concluded from it about this place.
    """
    here = frozenset(facts)
    near, far = _deduced(rulebook, symptom, here), frozenset(elsewhere) - here
    if not far:
        return near
    wide = _deduced(rulebook, symptom, here | far)
    trace = {f for f in near.trace if f.stratum not in SAFETY} | {f for f in wide.trace if f.stratum in SAFETY}
    return replace(
        wide, ruled_out=near.ruled_out, raised=near.raised, concluded=near.concluded, trace=tuple(sorted(trace))
    )


def _deduced(rulebook: Rulebook, symptom: str, facts: frozenset[tuple[str, str]]) -> Deduced:
    engine, looked_at = _engine(rulebook, symptom)
    engine.fired, engine.lacking = set(), set()
    engine.reset()
    given = sorted(facts | {("symptom", symptom)})
    for name, value in given:
        if name in looked_at:
            engine.declare(Known(name=name, value=value))
    engine.run()
    concluded = {
        str(f["name"]): str(f["value"])
        for f in engine.facts.values()
        if str(f.get("name", "")).startswith("concluded-")
    }
    return _gather(rulebook, engine.fired, engine.lacking, [*given, *concluded.items()], concluded)


def _gather(
    rulebook: Rulebook,
    fired: set[tuple[str, str]],
    lacking: set[tuple[str, str]],
    facts: list[tuple[str, str]],
    concluded: Mapping[str, str],
) -> Deduced:
    trace: set[Fired] = set()
    ruled_out: dict[str, Fired] = {}
    for cause, need in sorted(lacking):
        why = Fired(
            STRATA.index("rule-out"),
            f"needs {need}",
            f"This layout has no {need.replace('-', ' ')}",
            ((need, "no"),),
        )
        ruled_out.setdefault(cause, why)
        trace.add(why)
    raised: dict[str, float] = {}
    vetoed: dict[str, Fired] = {}
    cautions: set[str] = set()
    make_safe: set[tuple[str, Fired]] = set()
    stop: set[tuple[str, Fired]] = set()
    for name, stratum in sorted(fired):
        deduction = rulebook.deductions[name]
        used = tuple(sorted((f, v) for f, v in facts if v in deduction.when.get(f, ())))
        line = Fired(STRATA.index(stratum), name, deduction.because, used)
        trace.add(line)
        then: Any = deduction.then.get(stratum)
        if stratum == "raise":
            for cause, factor in then.items():
                raised[cause] = raised.get(cause, 1.0) * float(factor)
        elif stratum == "rule-out":
            ruled_out.update({c: line for c in then if c not in ruled_out})
        elif stratum == "veto":
            vetoed.update({c: line for c in then if c not in vetoed})
        elif stratum == "caution":
            cautions.update(then)
        elif stratum == "make-safe":
            make_safe.add((str(then), line))
        elif stratum == "stop":
            stop.add((str(then), line))
    if make_safe:
        # The floor: after make-safe, nothing lets the full current flow, whatever the packs veto or leave.
        line = min(line for _, line in make_safe)
        vetoed |= {
            n: line for n, c in rulebook.checks.items() if n not in vetoed and live_unlimited(c, rulebook.set_ups)
        }
    return Deduced(
        ruled_out=ruled_out,
        raised=dict(sorted(raised.items())),
        vetoed=vetoed,
        cautions=tuple(sorted(cautions)),
        make_safe=tuple(sorted(make_safe)),
        stop=tuple(sorted(stop)),
        concluded=dict(sorted(concluded.items())),
        trace=tuple(sorted(trace)),
    )


def _caution_act(name: str) -> Callable[[Any], None]:
    return lambda engine: engine.carried.add(name)


def _first_act(name: str, kind: str) -> Callable[[Any], None]:
    return lambda engine: engine.first.add((kind, name))


def _caution_conditions(caution: Caution) -> list[Any]:
    return [Doing(what=key, value=value) for key, value in sorted(caution.applies.items())]


@lru_cache(maxsize=8)
def _step_engine(rulebook: Rulebook) -> Any:
    """The engine that looks at one step: a rule a caution, and two rules a set-up."""
    parts: dict[str, Any] = {}
    for name, caution in sorted(rulebook.cautions.items()):
        if caution.applies:
            _rule(parts, f"caution {name}", 20, _caution_conditions(caution), _caution_act(name))
    for name, set_up in sorted(rulebook.set_ups.items()):
        needed = Doing(what="set-up", value=name)
        in_force = Known(name=f"state {name}", value="entered")
        _rule(parts, f"first {name}", 40, [needed, NOT(in_force)], _first_act(name, "enter"))
        if set_up.power:
            other = "off" if set_up.power == "on" else "on"
            clash = [in_force, Doing(what="power", value=other)]
            _rule(parts, f"leave {name}", 41, clash, _first_act(name, "leave"))
        spoils = [in_force, Doing(what="clean-of", value=name)]
        _rule(parts, f"spoils {name}", 41, spoils, _first_act(name, "leave"))
        if set_up.disturbs_live:
            # With power on, what is lifted makes an answer worthless unless the check asks for it.
            live = [in_force, Doing(what="power", value="on"), NOT(needed)]
            _rule(parts, f"disturbs {name}", 41, live, _first_act(name, "leave"))
        if set_up.disturbs_live and not set_up.power and not set_up.limits_current:
            # Nor can anything be commanded, timed or read in a log while its wires are off. What limits the
            # current stays, for it may be there to make the layout safe.
            at_work = [in_force, Doing(what="at-work", value="yes"), NOT(needed)]
            _rule(parts, f"idle {name}", 41, at_work, _first_act(name, "leave"))
    made = type("Preparing", (Engine,), parts)()
    made.carried, made.first = set(), set()
    return made


def _properties(check: Check, set_ups: Iterable[SetUp]) -> set[tuple[str, str]]:
    doing = {("unit", check.unit or "none"), ("tool", check.tool)}
    if check.tool in AT_WORK:
        doing.add(("at-work", "yes"))
    doing |= {("clean-of", name) for name in check.clean_of}
    for state in set_ups:
        doing |= {("set-up", state.name), ("set-up", short(state.name))}
        if state.power:
            doing.add(("power", state.power))
    return doing


@lru_cache(maxsize=4096)
def prepare(rulebook: Rulebook, check: Check, in_force: frozenset[str]) -> Prepared:
    """What must precede a check when these set-ups are in force, and the cautions that go with it."""
    engine = _step_engine(rulebook)
    engine.carried, engine.first = set(), set()
    engine.reset()
    needed = [rulebook.set_ups[s] for s in check.set_up]
    for what, value in sorted(_properties(check, needed)):
        engine.declare(Doing(what=what, value=value))
    for name in sorted(in_force):
        engine.declare(Known(name=f"state {name}", value="entered"))
    engine.run()
    enter = tuple(s for s in check.set_up if ("enter", s) in engine.first)
    left = {s for kind, s in engine.first if kind == "leave"}
    if any(rulebook.set_ups[s].limits_current for s in left):
        # A wire across the rails never stays behind when the lamp that limits its current goes.
        left |= {s for s in in_force if rulebook.set_ups[s].bridges and s not in check.set_up}
    leave = tuple(sorted(left))
    carried = set(check.cautions) | engine.carried
    for name in enter:
        carried |= set(rulebook.set_ups[name].cautions)
    trace = tuple(Fired(STRATA.index("caution"), n, rulebook.cautions[n].hazard) for n in sorted(engine.carried))
    return Prepared(enter, leave, tuple(sorted(carried)), trace)
