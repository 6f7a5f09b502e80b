"""The command that asks the circuit of a layout: what should a meter read between two points, and what if?"""

import json
import math
from typing import Any

import click

from troubleshoot.circuit import KINDS, METERS, SPOTS, STATES, Computed, Fault, Probe, missing, model_of
from troubleshoot.cli.session import check_places, open_layout
from troubleshoot.documents import nearest
from troubleshoot.layout import Layout, Place
from troubleshoot.quantities import Unreadable, read_reading, show

UNITS = {"ohms": "ohm", "volts": "V AC", "current": "mA AC"}
ABSENT = (
    "The circuit of a layout needs two more libraries, numpy and scipy: install the tool with its extra 'circuit'. "
    "Bands by plain formulas: troubleshoot layout reading"
)


@click.command("meter")
@click.argument("spot")
@click.argument("place")
@click.option("--layout", required=True, help="Layout record: a file, or club or home.")
@click.option("--with", "meter", type=click.Choice(METERS), default="ohms", show_default=True, help="The meter is on.")
@click.option("--while", "states", multiple=True, help="What is lifted or clipped meanwhile; may be given again.")
@click.option("--if", "fault", help="A kind of fault, with its size: leak:2k")
@click.option("--if-at", "at", help="Where that fault is; without it, where the meter is.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def meter_command(
    spot: str, place: str, layout: str, meter: str, states: tuple[str, ...], fault: str | None, at: str | None,
    as_json: bool,
) -> int:  # fmt: skip
    """What a meter reads between two points of this layout by its circuit, and what if something is wrong.

    SPOT is where the probes go: block-rails, far-rails, joint-gap, feeder-cores, bus-start, booster-outputs,
    two-boosters, two-districts or block-wire.
    """
    record = open_layout(layout)
    _known("spot", spot, SPOTS)
    for state in states:
        _known("state", state, STATES)
    check_places(record, [place, *([at] if at else [])])
    model = model_of(record)
    if model is None:
        click.echo(ABSENT, err=True)
        return 1
    here = record.place(place)
    there = record.place(at) if at else here
    probe, wrong = Probe(meter, spot, states), _fault(fault)
    healthy, faulty = model.reads(probe, here), model.reads(probe, here, wrong, there) if wrong else None
    if healthy is None or (wrong and faulty is None):
        where = place if healthy is None else there.name
        click.echo(
            f"{where} has no such spot, or such a fault cannot be there; name a place of a fitting kind", err=True
        )
        return 3
    told = _told(record, probe, here, healthy, wrong, there, faulty)
    if as_json:
        click.echo(json.dumps(told, indent=2, ensure_ascii=False))
        return 0
    _print(told, probe, healthy.floor)
    return 0


def _known(what: str, said: str, known: Any) -> None:
    if said not in known:
        hint = nearest(said, known)
        more = f"; did you mean {hint!r}?" if hint else f"; known are {', '.join(known)}"
        raise click.UsageError(f"{said!r} is no {what}{more}")


def _fault(said: str | None) -> Fault | None:
    """A fault as typed: its kind, and after a colon its size."""
    if said is None:
        return None
    kind, _, size = said.partition(":")
    _known("kind of fault", kind, KINDS)
    about = KINDS[kind]
    if not size:
        return Fault(kind, about.least, about.most)
    try:
        value = float(size) if about.unit != "ohm" else read_reading(size, "ohm").value
    except (Unreadable, ValueError) as error:
        raise click.UsageError(f"--if {said!r}: {error}") from error
    if not 0.0 < value < math.inf:
        raise click.UsageError(f"--if {said!r}: the size must be above 0")
    return Fault(kind, value, value)


def _told(
    record: Layout, probe: Probe, here: Place, healthy: Computed, wrong: Fault | None, there: Place,
    faulty: Computed | None,
) -> dict[str, Any]:  # fmt: skip
    """Everything that is printed, as data; figures in SI, null where the meter is over range."""
    more = missing(record, probe, here, wrong, there)
    return {
        "meter": probe.meter,
        "across": SPOTS[probe.spot],
        "at": here.name,
        "while": [STATES[s] for s in probe.states],
        "healthy": _range(healthy),
        "if": None if wrong is None or faulty is None else {
            "fault": KINDS[wrong.kind].says, "at": there.name, "acts first": list(faulty.tripped), **_range(faulty),
        },
        "figures": [
            {"figure": f.said, "value": f.value, "unit": f.unit, "assumed": f.assumed} for f in healthy.data
        ],
        "worth measuring": None if more is None else {"figure": more.figure.said, "moves it by": round(more.moves, 2)},
    }  # fmt: skip


def _range(reads: Computed) -> dict[str, float | None]:
    return {"least": _plain(reads.low), "most": _plain(reads.high)}


def _plain(value: float) -> float | None:
    return None if value == math.inf else value


def _spoken(one: dict[str, Any], unit: str, floor: float) -> str:
    from troubleshoot.screen import computed

    low, high = (math.inf if v is None else v for v in (one["least"], one["most"]))
    return computed(low, high, unit, floor)


def _print(told: dict[str, Any], probe: Probe, floor: float) -> None:
    unit = UNITS[probe.meter]
    while_ = f", while {' and '.join(told['while'])}" if told["while"] else ""
    click.echo(f"{probe.meter.capitalize()} {told['across']} at {told['at']}{while_}")
    click.echo(f"  healthy     {_spoken(told['healthy'], unit, floor)}")
    if told["if"]:
        click.echo(f"  if          {_spoken(told['if'], unit, floor)}   {told['if']['fault']}, at {told['if']['at']}")
        for name in told["if"]["acts first"]:
            click.echo(f"  acts first  {name} switches off before the meter is read")
    for figure in told["figures"]:
        assumed = " (assumed)" if figure["assumed"] else ""
        click.echo(f"  from {figure['figure']}: {show(figure['value'], figure['unit'])}{assumed}")
    more = told["worth measuring"]
    if more:
        click.echo(
            f"  Worth adding to the record: {more['figure']}; it may move this reading {more['moves it by']} times"
        )
