"""The search for the place on the screen: what the sick share, what is proven clean, what to lift next and why.

Where the fault may be is decided in `locating`; here it is only worded and drawn. Chances are said to be estimates.
"""

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text
from rich.tree import Tree

from troubleshoot.locating import Candidate, Hunt, Left, Lift
from troubleshoot.screen.drawing import block, heading, line, printable

CURRENT = (
    "Power off while you lift and while you put back. Look with the meter on ohms, power off, or with a lamp in series "
    "behind the breaker. Never hunt a short at full current, and never join round a breaker."
)
LIKELY = 0.4
"""From this chance on a branch is drawn in full."""
FEW = 2
"""Up to so many clean branches are drawn one by one."""
SHOWN = 6
"""Parts or candidates that are named before the rest is counted."""


def listed(names: Sequence[str], count: int = SHOWN) -> str:
    """Names, the first few in full."""
    return ", ".join(names[:count]) + (f" and {len(names) - count} more" if len(names) > count else "")


def clean_text(clean: int, parts: int) -> str:
    """How much is proven clean, in a sentence."""
    return f"{clean} of {parts} parts proven clean by what was lifted"


def shared_lines(found: Sequence[Candidate], count: int = SHOWN) -> list[RenderableType]:
    """What the sick places share and the healthy ones do not, the fewest exceptions first."""
    if not found:
        return []
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=16, overflow="fold")
    grid.add_column(width=9, no_wrap=True)
    grid.add_column(ratio=1)
    for one in found[:count]:
        counts = f"{one.explained}/{one.sick}" + (f" -{one.contradicted}" if one.healthy else "")
        grid.add_row(Text(printable(one.place.name), style="bold"), Text(counts), Text(printable(one.reason)))
    legend = "Counted: sick places that it explains, of all; minus healthy ones that speak against it."
    return [heading("What the sick places share"), Padding(grid, (0, 0, 0, 2)), block(legend, "dim")]


def hunt_lines(hunt: Hunt, told: str = "") -> RenderableType:
    """The tree part with its chances, the next lift, and what each answer leaves. `told` says how to answer."""
    parts: list[RenderableType] = [heading(f"Where it may be: {hunt.tree.place.name}")]
    parts.append(Padding(_tree(hunt), (0, 0, 0, 2)))
    parts.append(line("likeliest", ", ".join(f"{n} {_hundredths(p)}" for n, p in hunt.likeliest(4)) + " in 100"))
    parts += [line("lifted", _lift(one)) for one in hunt.lifts]
    parts.append(line("clean", clean_text(hunt.proven, hunt.parts)))
    if hunt.contradiction and hunt.doubtful is not None:
        again = f"No one part fits all answers. Lift {hunt.doubtful.point} once more; else there are two faults"
        parts.append(line("doubtful", again, "yellow"))
    parts += _pinned(hunt) if hunt.pinned else []
    parts += next_lines(hunt)
    if told and hunt.next is not None:
        parts.append(line("then", told))
    parts += [line("assumed", note, "dim") for note in hunt.tree.notes]
    parts.append(block("Chances and minutes are estimates; 2 answers in 100 are taken to be wrong.", "dim"))
    return Group(*parts)


def _hundredths(chance: float) -> str:
    return "<1" if chance < 0.005 else f"{chance * 100:.0f}"


def _tree(hunt: Hunt) -> Tree:
    """The tree as far as feeders; a branch is opened further where the fault is likely, and left out where clean."""
    limbs, folded = hunt.tree.limbs, _folded(hunt)
    drawn: dict[int, Tree] = {0: Tree(_label(hunt, 0), guide_style="dim")}
    for i in range(1, len(limbs)):
        up = limbs[i].fed_by
        inside = limbs[i].kind not in ("block", "turnout", "accessory") or hunt.beyond(up) >= LIKELY
        if up in drawn and inside and not _is_clean(hunt, up) and i not in folded:
            drawn[i] = drawn[up].add(_label(hunt, i))
    for up in [u for u in drawn if u in folded.values()]:
        count = sum(1 for u in folded.values() if u == up)
        drawn[up].add(Text(f"{count} branches clean", style="green"))
    return drawn[0]


def _is_clean(hunt: Hunt, number: int) -> bool:
    return hunt.tree.beyond[number] & ~hunt.clean == 0


def _folded(hunt: Hunt) -> dict[int, int]:
    """Clean branches that are only counted, each with the limb that feeds it: where there are more than a few."""
    clean = {i: hunt.tree.limbs[i].fed_by for i in range(1, hunt.parts) if _is_clean(hunt, i)}
    return {i: up for i, up in clean.items() if sum(1 for u in clean.values() if u == up) > FEW}


def _label(hunt: Hunt, number: int) -> Text:
    limb = hunt.tree.limbs[number]
    text = Text(printable(limb.name), style="bold" if hunt.beyond(number) >= LIKELY else "")
    if _is_clean(hunt, number):
        text.append("  clean", style="not bold green")
        return text
    lift = f", {limb.minutes:.0f} min to lift" if limb.point else ""
    own = hunt.chances[number]
    told = f"  {_hundredths(hunt.beyond(number))} in 100{lift}" if number else f"  itself {_hundredths(own)} in 100"
    text.append(told, style="not bold dim")
    if hunt.next is not None and limb.point == hunt.next.point.name:
        text.append("  <- lift next", style="bold green")
    return text


def _lift(one: Lift) -> str:
    return f"{one.point}: the fault {'went' if one.gone else 'stayed'}"


def next_lines(hunt: Hunt) -> list[RenderableType]:
    """The next lift by itself: the hazard, what to do, why, what each answer leaves, and the minutes on average."""
    step = hunt.next
    if step is None:
        return []
    walk = step.minutes - step.point.minutes
    takes = f"about {step.minutes:.0f} min with putting it back"
    takes += f", {walk:.0f} of them to walk there" if walk else ""
    parts = [
        heading(f"{'To be sure, lift' if step.to_be_sure else 'Lift next'}: {step.point.name}"),
        line("CAUTION", CURRENT, "yellow"),
        line("do", f"{step.point.how[:1].upper()}{step.point.how[1:]}. Look whether the fault has gone. Put it back"),
        line("why", step.why[:1].upper() + step.why[1:]),
        line("takes", takes),
        line("if gone", _left(step.gone)),
        line("if stays", _left(step.stays)),
    ]
    if not step.to_be_sure:
        how = "no order is quicker" if hunt.exact else "planned by looking some lifts ahead"
        average = f"{hunt.minutes:.0f} min from here until it is pinned ({how}); "
        average += f"always halving {hunt.halving:.0f}, one by one {hunt.one_by_one:.0f}"
        parts.append(line("on average", average))
    return parts


def _left(left: Left) -> str:
    count = len(left.parts)
    return f"({left.chance * 100:.0f} in 100) {count} part{'' if count == 1 else 's'} left: {listed(left.parts)}"


def _pinned(hunt: Hunt) -> list[RenderableType]:
    """What is left when no lift divides it any more, with its chance."""
    names = hunt.pinned
    chance = sum(p for limb, p in zip(hunt.tree.limbs, hunt.chances, strict=True) if limb.name in names)
    several = len(names) > 1
    told = "No lift tells these apart; look at them closely" if several else "Look at it closely, and mend it there"
    sure = ", for an answer may have been wrong" if hunt.next is not None else ""
    return [
        heading(f"Pinned to: {listed(names)}", "bold green"),
        line("chance", f"{_hundredths(chance)} in 100{sure}. {told}"),
    ]
