"""The command that hunts for the place: what the sick share, and where to disconnect next, with or without a case."""

from collections.abc import Sequence
from typing import Any

import click

from troubleshoot import screen
from troubleshoot.cli.hunting import names_of, no_lifting
from troubleshoot.cli.session import Session, check_places, open_layout
from troubleshoot.cli.stepwise import case_session, json_option, pack_option, print_json, width_option
from troubleshoot.diagnosis import Diagnosis, hunt_of, looked_for, shared_data
from troubleshoot.documents import nearest
from troubleshoot.layout import Layout, Place
from troubleshoot.locating import EXACT, Candidate, Hunt, Left, Lift, Tree, candidates, hunt, scope_of, tree_of

NOTHING_LEFT = 3


@click.command("locate")
@click.argument("case", required=False)
@click.option("--sick", multiple=True, metavar="NAME", help="A place that shows it; again, or with commas, for more.")
@click.option("--healthy", multiple=True, metavar="NAME", help="A place that surely does not show it.")
@click.option("--gone-at", multiple=True, metavar="NAME", help="Lifted there, and the fault was gone.")
@click.option("--stays-at", multiple=True, metavar="NAME", help="Lifted there, and the fault stayed.")
@click.option("--found-at", metavar="NAME", help="Looked at one place after another, and it is this one.")
@click.option("--found-nowhere", is_flag=True, help="Looked at every place it may be at, and found it at none.")
@click.option("--layout", help="Without a case: layout record, a file, or club, home (bundled).")
@click.option("--district", metavar="NAME", help="The district (or booster, or block) to search.")
@pack_option
@json_option
@width_option
def locate_command(
    case: str | None, sick: Sequence[str], healthy: Sequence[str], gone_at: Sequence[str], stays_at: Sequence[str],
    found_at: str | None, found_nowhere: bool, layout: str | None, district: str | None, packs: Sequence[str],
    as_json: bool, width: int | None,
) -> int:  # fmt: skip
    """Find the place: what the sick share and the healthy do not, and where to disconnect next.

    With CASE what is told is saved in it, and the chances come from its belief; without, from the layout record.
    """
    told = {"sick": names_of(sick), "healthy": names_of(healthy)}
    gone, stays = names_of(gone_at), names_of(stays_at)
    both = sorted({*told["sick"]} & {*told["healthy"]}) + sorted({*gone} & {*stays})
    if both:
        raise click.UsageError(f"{', '.join(both)} cannot be both; a place is told one way or the other")
    if found_at and found_nowhere:
        raise click.UsageError("it was found at one place, or at none; leave out --found-at or --found-nowhere")
    if case is None:
        return _alone(layout, district, told, [(n, True) for n in gone] + [(n, False) for n in stays], as_json, width)
    if layout is not None:
        raise click.UsageError("a case has its own layout record; leave out --layout, or the case")
    writes = bool(told["sick"] or told["healthy"] or gone or stays or found_at or found_nowhere)
    session = case_session(case, packs, writes=writes)
    check_places(session.layout, [*told["sick"], *told["healthy"], *[n for n in (district, found_at) if n]])
    place = session.layout.place(district) if district else session.diagnosis().subject
    lifts = _lifts(tree_of(session.layout, place), [(n, True) for n in gone] + [(n, False) for n in stays])
    if lifts and (reason := no_lifting(session, session.diagnosis())):
        raise click.UsageError(reason)
    if writes:
        found = [{"found-at": session.layout.place(found_at).name}] if found_at else []
        session.add(*_events(told, lifts), *(found or _nowhere(session, found_nowhere)))
    return _in_case(session, place, case, as_json, width)


def _nowhere(session: Session, told: bool) -> list[dict[str, Any]]:
    """That every place was looked at in vain, as an event; refused where no such search was asked for."""
    if not told:
        return []
    made = session.diagnosis()
    if not made.unplaced:
        raise click.UsageError("the case asks for no search from place to place now; see: troubleshoot next")
    return [{"found-nowhere": list(looked_for(session.rulebook, made))}]


def _events(told: dict[str, list[str]], lifts: Sequence[Lift]) -> list[dict[str, Any]]:
    """What was told, as events of a case."""
    seen = {key: names for key, names in told.items() if names}
    return [*([seen] if seen else []), *({"lifted": o.point, "fault": "gone" if o.gone else "stays"} for o in lifts)]


def _lifts(tree: Tree | None, said: Sequence[tuple[str, bool]]) -> list[Lift]:
    """Lifts by the names of their points; all names that are none are told at once, with the nearest."""
    if not said:
        return []
    if tree is None:
        raise click.UsageError("the layout record does not say what could be lifted here; name a --district")
    known, wrong = [*(limb.name for limb in tree.limbs), *(p.name for p in tree.points)], []
    made = []
    for name, gone in said:
        point = tree.point(name)
        if point is None:
            hint = nearest(name, known)
            wrong.append(
                f"{name!r} is nothing to lift in {tree.place.name}" + (f"; did you mean {hint!r}?" if hint else "")
            )
        else:
            made.append(Lift(point.name, gone))
    if wrong:
        raise click.UsageError("; ".join(wrong))
    return made


def _in_case(session: Session, place: Place, case: str, as_json: bool, width: int | None) -> int:
    made = session.diagnosis()
    if made.deduced.stop:
        return _stopped(made, as_json, width)
    reason = no_lifting(session, made)
    found = None if reason else hunt_of(session.layout, session.inquiry, made, place, EXACT)
    if reason:
        click.echo(reason, err=True)
    if reason and not made.shared and not as_json:
        return NOTHING_LEFT
    if not as_json:
        for part in screen.dangers(made):
            screen.console(width=width).print(part)
    also = f" --district {place.name}" if place != made.subject else ""
    told = f"troubleshoot locate {case}{also} --gone-at NAME (or --stays-at NAME)"
    return _show(found, made.shared, told, as_json, width, str(session.case.path))


def _stopped(made: Diagnosis, as_json: bool, width: int | None) -> int:
    """Questioning has ended here for danger: nothing is lifted any more."""
    if as_json:
        print_json({"stop": [{"says": t, "because": f.sentence} for t, f in made.deduced.stop], "hunt": None})
    else:
        for part in screen.dangers(made):
            screen.console(width=width).print(part)
    return NOTHING_LEFT


def _alone(
    layout: str | None,
    district: str | None,
    told: dict[str, list[str]],
    said: Sequence[tuple[str, bool]],
    as_json: bool,
    width: int | None,
) -> int:
    if layout is None or not (district or told["sick"]):
        raise click.UsageError("name a case, or --layout with --district or --sick")
    record = open_layout(layout)
    check_places(record, [*told["sick"], *told["healthy"], *([district] if district else [])])
    ill, well = ([record.place(n) for n in told[key]] for key in ("sick", "healthy"))
    shared = candidates(record, ill, well)
    place = record.place(district) if district else _scope(record, ill)
    tree = tree_of(record, place) if place else None
    lifts = _lifts(tree, said)
    if district and tree is None and not shared:
        raise click.ClickException(f"{layout} says too little of {district} to plan what to lift there")
    where = f" --district {district}" if district else ""
    again = f"troubleshoot locate --layout {layout}{where} with all that was lifted, --gone-at NAME or --stays-at NAME"
    return _show(hunt(tree, lifts, None, EXACT) if tree else None, shared, again, as_json, width, None)


def _scope(record: Layout, sick: Sequence[Place]) -> Place | None:
    """The one place whose tree holds all that is sick, where there is just one."""
    scopes = {scope_of(record, p) for p in sick}
    if len(sick) > 1:
        scopes = {near for p in sick for near in record.related("district-of", p)}
    return scopes.pop() if len(scopes) == 1 else None


def _show(
    found: Hunt | None, shared: Sequence[Candidate], told: str, as_json: bool, width: int | None, case: str | None
) -> int:
    if as_json:
        print_json(
            {
                "case": case,
                "shared": [shared_data(c) for c in shared],
                "hunt": None if found is None else hunt_data(found),
                "estimate": "Chances and minutes are estimates; they are no measurements.",
            }
        )
    else:
        from troubleshoot.screen.locating import hunt_lines, shared_lines

        out = screen.console(width=width)
        for part in shared_lines(shared):
            out.print(part)
        if found is not None:
            out.print(hunt_lines(found, told))
    if found is None and not shared:
        click.echo("The layout record does not say what could be lifted here; name a --district.", err=True)
        return NOTHING_LEFT
    return 0


def hunt_data(found: Hunt) -> dict[str, Any]:
    """A hunt as plain data: stable names, minutes, chances."""
    step = found.next
    return {
        "at": found.tree.place.name,
        "parts": [
            {
                "part": limb.name,
                "kind": limb.kind,
                "fed_by": found.tree.limbs[limb.fed_by].name if limb.fed_by >= 0 else None,
                "lift": limb.point,
                "minutes": limb.minutes if limb.point else None,
                "chance": round(found.chances[i], 4),
                "proven_clean": bool(found.clean >> i & 1),
            }
            for i, limb in enumerate(found.tree.limbs)
        ],
        "lifted": [{"lift": one.point, "fault": "gone" if one.gone else "stays"} for one in found.lifts],
        "proven_clean": {"clean": found.proven, "of": found.parts},
        "contradiction": found.contradiction,
        "lift_again": found.doubtful.point if found.doubtful else None,
        "next": None
        if step is None
        else {
            "lift": step.point.name,
            "how": step.point.how,
            "minutes": round(step.minutes, 2),
            "why": step.why,
            "to_be_sure": step.to_be_sure,
            "gone": _left_data(step.gone),
            "stays": _left_data(step.stays),
        },
        "pinned": list(found.pinned),
        "expected_minutes": {
            "planned": round(found.minutes, 2),
            "no_order_is_quicker": found.exact,
            "always_halving": round(found.halving, 2),
            "one_by_one": round(found.one_by_one, 2),
        },
        "assumed": list(found.tree.notes),
    }


def _left_data(left: Left) -> dict[str, Any]:
    return {"chance": round(left.chance, 4), "parts": list(left.parts)}
