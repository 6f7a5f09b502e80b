"""A diagnosis as plain data for scripts (`--json`): stable names, SI figures with their units, no wording."""

import math
from typing import Any

from troubleshoot.diagnosis.result import CheckStep, Diagnosis, Ranked, RemedyStep
from troubleshoot.locating import Candidate
from troubleshoot.rulebook import Rulebook


def _ranked(line: Ranked) -> dict[str, Any]:
    return {
        "cause": line.cause,
        "says": line.says,
        "chance": round(line.chance, 4),
        "places": [{"place": p, "chance": round(c, 4)} for p, c in line.places[:10]],
        "against": line.rival,
        "prior_db": round(line.prior_decibans, 2),
        "survey": [
            {"kind": w.kind, "at": w.place.name, "severity": w.severity, "says": w.says} for w in line.weak_spots
        ],
        "learned": None
        if line.learned is None
        else {
            "normally": round(line.learned.normally, 4),
            "here": round(line.learned.here, 4),
            "cases": list(line.learned.cases),
        },
        "evidence": [
            {"finding": e.finding, "at": e.place, "said": e.said, "db": round(e.decibans, 2)} for e in line.evidence
        ],
    }


def _caution(rulebook: Rulebook, name: str) -> dict[str, str]:
    caution = rulebook.cautions[name]
    return {"caution": name, "hazard": caution.hazard, "do": caution.do}


def _at(text: str, place: str) -> str:
    return text.replace("{place}", place)


def _check(rulebook: Rulebook, step: CheckStep) -> dict[str, Any]:
    check = step.check
    return {
        "check": check.name,
        "at": step.place.name,
        "asks": check.asks.replace("{place}", step.place.name),
        "kind": "reading" if check.unit else "question",
        "unit": check.unit,
        "outcomes": dict(check.labels),
        "how": check.how,
        "drawing": check.drawing,
        "usual_mistake": check.usual_mistake,
        "tool": check.tool,
        "minutes": round(step.minutes, 2),
        "here_first": step.here_first,
        "lifts_in_turn": check.lifts_in_turn,
        "keeps_waiting": check.keeps_waiting,
        "first": [
            {"set_up": s, "at": step.at(s), "do": _at(rulebook.set_ups[s].do, step.at(s))} for s in step.prepared.enter
        ],
        "leave": [
            {"set_up": s, "at": step.at(s), "do": _at(rulebook.set_ups[s].undo, step.at(s))}
            for s in step.prepared.leave
        ],
        "cautions": [_caution(rulebook, c) for c in step.prepared.cautions],
        "bands": [
            {
                "outcome": b.outcome,
                "from": b.low,
                "to": None if math.isinf(b.high) else b.high,
                "healthy": b.sound,
                "formula": b.formula,
                "figures": [{"figure": s, "value": v, "unit": u, "assumed": a} for s, v, u, a in b.data],
            }
            for b in step.limits
        ],
        "bits": round(step.bits, 4),
        "expected_minutes": None if step.expected is None else round(step.expected, 1),
        "separates": [{"cause": c, "chances": [round(p, 3) for p in row]} for c, row in step.separates],
    }


def shared_data(one: Candidate) -> dict[str, Any]:
    """A part that sick places share, with its counts and the reason."""
    return {
        "place": one.place.name,
        "kind": one.place.kind,
        "explained": one.explained,
        "sick": one.sick,
        "contradicted": one.contradicted,
        "healthy": one.healthy,
        "hang_on_it": one.behind,
        "unexplained": list(one.unexplained),
        "against": list(one.against),
        "reason": one.reason,
    }


def _remedy(rulebook: Rulebook, step: RemedyStep) -> dict[str, Any]:
    remedy = step.remedy
    return {
        "remedy": remedy.name,
        "at": step.place.name,
        "mends": list(remedy.mends),
        "do": remedy.do,
        "minutes": remedy.minutes,
        "price": remedy.price,
        "keeps_waiting": step.stops,
        "chance": round(step.chance, 4),
        "expected_minutes": round(step.expected, 1),
        "cautions": [_caution(rulebook, c) for c in step.cautions],
        "proof": {
            "check": remedy.proof.check,
            "at": step.proof_at,
            "outcome": remedy.proof.outcome,
            "quiet_seconds": remedy.proof.quiet_seconds,
            "and": remedy.proof.also,
        },
    }


def as_data(rulebook: Rulebook, made: Diagnosis) -> dict[str, Any]:
    """Everything a script may want of a diagnosis."""
    step: dict[str, Any] | None = None
    if isinstance(made.step, CheckStep):
        step = _check(rulebook, made.step)
    elif isinstance(made.step, RemedyStep):
        step = _remedy(rulebook, made.step)
    return {
        "symptom": made.symptom,
        "about": made.subject.name,
        "sick": [p.name for p in made.sick],
        "healthy": [p.name for p in made.healthy],
        "shared": [shared_data(c) for c in made.shared[:10]],
        "one_of": list(made.unplaced),
        "proven_clean": {"clean": made.proven_clean[0], "of": made.proven_clean[1]} if made.proven_clean else None,
        "state": made.state,
        "kind": made.kind,
        "step": step,
        "ranking": [_ranked(r) for r in made.ranking],
        "stop": [{"says": t, "because": f.sentence} for t, f in made.deduced.stop],
        "make_safe": [{"says": t, "because": f.sentence} for t, f in made.deduced.make_safe],
        "ruled_out": {c: f.sentence for c, f in made.deduced.ruled_out.items()},
        "vetoed": {c: f.sentence for c, f in made.deduced.vetoed.items()},
        "trace": [f.sentence for f in made.deduced.trace],
        "remarks": [{"check": r.check, "at": r.place, "says": r.text} for r in made.remarks],
        "ask_again": [{"check": o.check, "at": o.place.name, "said": o.said} for o in made.ask_again],
        "still_undone": [
            {"set_up": s.set_up, "at": s.place, "undo": rulebook.set_ups[s.set_up].undo}
            for s in made.in_force
            if s.set_up in rulebook.set_ups
        ],
        "stopgaps": [{"cause": s.cause, "do": s.do, "minutes": s.minutes} for s in made.stopgaps],
        "others": [{"check": s.check.name, "at": s.place.name, "minutes": s.minutes} for s in made.others],
        "together": [{"check": s.check.name, "at": s.place.name} for s in made.together],
        "chain": None
        if made.chain is None
        else {"cause": made.chain[0], "symptom": made.chain[1], "at": [p.name for p in made.chain[2]]},
        "recalled": None
        if made.recalled is None
        else {
            "causes": list(made.recalled.causes),
            "cases": list(made.recalled.cases),
            "expected_minutes": round(made.recalled.minutes, 1),
            "asking_first": round(made.recalled.asking, 1),
        },
        "estimate": "Chances are estimates of the authors, moved by closed cases; they are no measurements.",
    }
