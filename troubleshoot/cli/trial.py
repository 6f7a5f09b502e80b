"""The quality command for those who write rules: a simulated trial of a rule base, by symptom."""

import json
import os
from collections.abc import Sequence

import click

from troubleshoot import screen
from troubleshoot.cli.session import find_symptom, open_rules
from troubleshoot.quality.running import Result, Task, run
from troubleshoot.quality.trial import STRANGE, Summary, summary


@click.command("trial")
@click.argument("symptom", required=False)
@click.option("--pack", "packs", multiple=True, help="A further pack folder; may be given again.")
@click.option(
    "--world",
    "which",
    type=click.Choice(["drawn", "moved", "both"]),
    default="moved",
    help="The world of the pack's own words, one moved away from it (which decides), or both.",
)
@click.option("--cases", default=40, help="Faults played for each symptom.")
@click.option("--seed", default=1, help="The same seed gives the same figures.")
@click.option("--wrong", default=0.05, help="Share of wrong answers.")
@click.option("--repair-minutes", type=float, help="Set every repair to the same minutes.")
@click.option("--bound-only", is_flag=True, help="Only all checks answered without error; nothing is played.")
@click.option("--undescribed", is_flag=True, help="Play faults too that no cause describes.")
@click.option("--processes", default=0, help="How many processes; 0 for all cores.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
@click.option("--width", type=int, help="Columns of the screen.")
def trial_command(
    symptom: str | None, packs: Sequence[str], which: str, cases: int, seed: int, wrong: float,
    repair_minutes: float | None, bound_only: bool, undescribed: bool, processes: int, as_json: bool, width: int | None,
) -> int:  # fmt: skip
    """Play simulated faults through the rules: how often right, how many minutes, how honest. Figures are simulated."""
    rulebook = open_rules(packs)
    names = [find_symptom(rulebook, symptom)] if symptom else sorted(rulebook.symptoms)
    worlds = ["moved", "drawn"] if which == "both" else [which]
    tasks = [
        Task(n, tuple(packs), w == "moved", cases, seed, wrong, repair_minutes, not bound_only, undescribed)
        for w in worlds
        for n in names
    ]
    with screen.progress("symptoms", len(tasks)) as told:
        results = run(tasks, processes or os.cpu_count() or 1, told)
    by_world = {w: results[i * len(names) : (i + 1) * len(names)] for i, w in enumerate(worlds)}
    if as_json:
        data = {w: [_data(r) for r in some] for w, some in by_world.items()}
        click.echo(json.dumps(data if which == "both" else data[which], indent=2, ensure_ascii=False))
        return 0
    out = screen.console(width=width)
    for one, some in by_world.items():
        means = summary("all", [o for r in some for o in r.outcomes])
        out.print(screen.trial_table(_rows(some, means), one, wrong, seed))
        for text in (*_sums(means, repair_minutes), *_strange(some), *_behind(some)):
            out.print(screen.block(text))
    return 0


def _sums(means: Summary, repair_minutes: float | None) -> list[str]:
    """What the table's last row comes to: minutes against the fixed list, and honesty."""
    if not means.cases:
        return []
    repairs = f"every repair {screen.counted(repair_minutes, 'minute')}; " if repair_minutes is not None else ""
    saved = 1.0 - means.minutes / means.list_minutes
    gap = abs(means.stated - means.first) * 100.0
    return [f"{repairs}{saved:.0%} fewer minutes than the fixed list; stated and right differ by {gap:.1f} in 100"]


def _behind(results: Sequence[Result]) -> list[str]:
    """Causes that seldom come first although true and every check is answered."""
    return [
        f"seldom first though true: {screen.label(cause)} under {screen.label(r.symptom)}"
        for r in results
        for cause in r.never_first
    ]


def _strange(results: Sequence[Result]) -> list[str]:
    """How often 'something else' is in the first three after one failed remedy, for faults that no cause describes."""
    lines, shares = [], []
    for kind, weight in STRANGE.items():
        seen = [o.other_in_three for r in results for k, o in r.strange if k == kind]
        if seen:
            share = sum(seen) / len(seen)
            shares.append(weight * share)
            lines.append(
                f"undescribed, {kind}: something else in three after a failed remedy {share:.0%} of {len(seen)}"
            )
    if len(shares) == len(STRANGE):
        lines.append(f"undescribed, all kinds (left out half, quiet and odd a quarter each): {sum(shares):.1%}")
    return lines


def _data(result: Result) -> dict[str, object]:
    mean = result.summary
    return {
        "symptom": result.symptom,
        "all_answered": {"first": round(result.bound_first, 4), "three": round(result.bound_three, 4)},
        "never_first": list(result.never_first),
        "undescribed": [{"kind": k, "something_else_in_three": o.other_in_three} for k, o in result.strange],
        "played": {
            k: getattr(mean, k)
            for k in ("cases", "first", "three", "stated", "minutes", "list_minutes", "checks", "found")
        },
    }


def _rows(results: Sequence[Result], means: Summary) -> list[tuple[str, ...]]:
    rows = []
    for result in results:
        rows.append(
            (screen.label(result.symptom), _pct(result.bound_first), _pct(result.bound_three), *_played(result.summary))
        )
    count = max(len(results), 1)
    first = sum(r.bound_first for r in results) / count
    three = sum(r.bound_three for r in results) / count
    rows.append(("all", _pct(first), _pct(three), *_played(means)))
    return rows


def _played(mean: Summary) -> tuple[str, ...]:
    if not mean.cases:
        return ("",) * 7
    percents = (mean.first, mean.three, mean.stated)
    return (
        *map(_pct, percents),
        f"{mean.minutes:.0f}",
        f"{mean.list_minutes:.0f}",
        f"{mean.checks:.1f}",
        _pct(mean.found),
    )


def _pct(value: float) -> str:
    return f"{value * 100:.0f}"
