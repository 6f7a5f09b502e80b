"""Which point to lift next: the plan against every order of lifts there is, published figures, and rules of thumb."""

import math
from collections.abc import Sequence
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from troubleshoot.layout import Place
from troubleshoot.locating.optimum import Optimum, size
from troubleshoot.locating.planning import ahead, best, expected, halving, one_by_one, plan, telling
from troubleshoot.locating.searching import Search, bits
from troubleshoot.locating.tree import Limb, Tree

BOARDS = ("west", "east")


def chain(*chances: float, minutes: float = 1.0) -> Search:
    """Stages one behind the other, each of which can be lifted off the one before it."""
    limbs = [
        Limb(f"stage-{i}", "feeder", i - 1, f"after-{i}" if i else None, minutes=minutes) for i in range(len(chances))
    ]
    return searched(limbs, chances)


def searched(limbs: Sequence[Limb], chances: Sequence[float], hop: float = 1.0) -> Search:
    """A search over limbs with chances in proportion to these figures."""
    total = math.fsum(chances)
    hops = {(a, b): hop for a in BOARDS for b in BOARDS if a != b}
    return Search(Tree(Place("district", "d"), tuple(limbs), (), hops), tuple(c / total for c in chances))


@st.composite
def searches(draw: st.DrawFn, most: int = 7, lengths: bool = True) -> Search:
    """A small random tree with random chances, minutes and boards; some limbs have no point of their own."""
    count = draw(st.integers(2, most))
    limbs = []
    for i in range(count):
        up = draw(st.integers(0, i - 1)) if i else -1
        liftable = bool(i) and draw(st.integers(0, 4)) > 0
        minutes = float(draw(st.integers(1, 9))) if lengths else 1.0
        board = draw(st.sampled_from((*BOARDS, None)))
        limbs.append(Limb(f"l{i}", "feeder", up, f"p{i}" if liftable else None, minutes=minutes, board=board))
    weights = draw(st.lists(st.sampled_from([1.0, 1.0, 2.0, 3.5, 8.0]), min_size=count, max_size=count))
    return searched(limbs, weights, float(draw(st.integers(0, 4))))


def least_minutes(search: Search, left: frozenset[int], stands: str | None) -> float:
    """The least expected minutes over every order of lifts there is, by trying them all; nothing is remembered."""
    if len(left) < 2:
        return 0.0
    mass, least = math.fsum(search.chances[i] for i in left), math.inf
    for number, limb in enumerate(search.tree.limbs):
        if limb.point is None:
            continue
        inside = frozenset(i for i in left if number in way_up(search.tree, i))
        if not inside or inside == left:
            continue
        walk = search.tree.walk(stands, limb.board)
        later = least_minutes(search, inside, limb.board) + least_minutes(search, left - inside, limb.board)
        least = min(least, (limb.minutes + walk) * mass + later)
    return 0.0 if least == math.inf else least


def way_up(tree: Tree, number: int) -> list[int]:
    """A limb and all that feed it."""
    way = [number]
    while tree.limbs[way[-1]].fed_by >= 0:
        way.append(tree.limbs[way[-1]].fed_by)
    return way


# --- against every order of lifts ---------------------------------------------------------------------


@settings(max_examples=120, deadline=None)
@given(searches())
def test_the_optimum_is_the_least_over_every_order_of_lifts(search: Search) -> None:
    """On small random trees nothing beats the plan: all orders of lifts are tried, walks between boards included."""
    everything = frozenset(range(len(search.chances)))

    assert best(search, search.among).minutes == pytest.approx(least_minutes(search, everything, None), abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(searches(most=6), st.sampled_from(BOARDS), st.data())
def test_the_optimum_holds_from_any_board_with_any_part_cleared(
    search: Search, stands: str, data: st.DataObject
) -> None:
    """Also after some answers, standing somewhere, the plan for what is left is the least."""
    left = data.draw(st.sets(st.integers(0, len(search.chances) - 1), min_size=1))
    bits_left = sum(1 << i for i in left)

    value = Optimum(search).value(bits_left, stands)

    assert value == pytest.approx(least_minutes(search, frozenset(left), stands), abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(searches())
def test_following_the_optimal_lifts_takes_the_minutes_it_says(search: Search) -> None:
    """The lifts that the optimum names, followed to the end, come to the expected minutes it promises."""
    optimum = Optimum(search)

    followed = expected(search, optimum.policy, search.among)

    assert followed == pytest.approx(best(search, search.among).minutes, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(searches())
def test_no_rule_of_thumb_beats_the_optimum_and_looking_ahead_beats_every_rule(search: Search) -> None:
    """The optimum is at most what looking ahead takes, and that is at most what either rule of thumb takes."""
    least, seen = best(search, search.among).minutes, ahead(search, search.among).minutes
    rules = [expected(search, rule(search), search.among) for rule in (telling, halving)]

    assert least <= seen + 1e-9
    assert seen <= min(rules) + 1e-9
    assert least <= expected(search, one_by_one(search), search.among) + 1e-9


@settings(max_examples=40, deadline=None)
@given(searches())
def test_there_are_no_more_sets_than_were_counted(search: Search) -> None:
    """What decides between the optimum and looking ahead is an upper bound of the work, never too low."""
    optimum = Optimum(search)
    optimum.value(search.among, None)

    assert len(optimum._known) <= size(search) + 1


# --- against figures from elsewhere ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("priors", "gains"),
    [
        pytest.param((1, 1, 1, 1), ("0.8113", "1.0000", "0.8113"), id="equal priors: half-split"),
        pytest.param((0.025, 0.01, 0.01, 0.01), ("0.9940", "0.9457", "0.6840"), id="weak first stage: nearer to it"),
    ],
)
def test_the_chain_of_four_stages_is_split_as_published(priors: Sequence[float], gains: Sequence[str]) -> None:
    """Worked example W10: the gain of a probe after stage 1, 2, 3 of a chain with one fault, to the digits given."""
    search = chain(*priors)

    told = [f"{bits(search, search.among, point.cuts):.4f}" for point in search.points]

    assert told == list(gains)


@pytest.mark.parametrize(("priors", "after"), [((1, 1, 1, 1), "after-2"), ((0.025, 0.01, 0.01, 0.01), "after-1")])
def test_the_plan_splits_the_published_chain_where_the_gain_is_greatest(priors: Sequence[float], after: str) -> None:
    """Worked example W10: half-split with equal chances, and nearer to the weak stage when one is weak."""
    search = chain(*priors)
    number = best(search, search.among).number

    assert number is not None
    assert search.points[number].name == after


@pytest.mark.parametrize("stages", [2, 3, 4, 7, 8, 16, 33])
def test_an_even_chain_takes_as_many_lifts_as_binary_search(stages: int) -> None:
    """With equal chances and minutes the plan for a chain is binary search: its mean depth is known in closed form."""
    search = chain(*[1.0] * stages)
    deep = math.floor(math.log2(stages))
    mean = deep + 2 * (stages - 2**deep) / stages  # the least mean depth of a binary tree with so many leaves

    assert best(search, search.among).minutes == pytest.approx(mean)


def test_leaves_of_a_star_are_lifted_by_chance_per_minute() -> None:
    """Feeders side by side: the least minutes come from the greatest chance for a minute first (as in scheduling)."""
    chances, minutes = (3.0, 1.0, 6.0, 2.0, 2.0), (4.0, 1.0, 9.0, 2.0, 5.0)
    limbs = [Limb("bus", "bus", -1)]
    limbs += [Limb(f"f{i}", "feeder", 0, f"f{i}", minutes=m) for i, m in enumerate(minutes)]
    search = searched(limbs, (4.0, *chances))
    optimum, left, order = Optimum(search), search.among, []
    while (number := optimum.policy(left, None)) is not None:
        order.append(number)
        left &= ~search.points[number].cuts

    worth = [chances[n] / minutes[n] for n in order]
    assert all(a >= b for a, b in pairwise(worth))
    assert len(order) == 5


# --- what the plan depends on -----------------------------------------------------------------------------


def test_a_dear_lift_waits_for_a_cheap_one_that_tells_nearly_as_much() -> None:
    """Minutes count: the very middle is not lifted when it is hard to reach and a plug beside it is easy."""
    limbs = [Limb(f"s{i}", "feeder", i - 1, f"p{i}" if i else None, minutes=1.0) for i in range(8)]
    limbs[4] = Limb("s4", "feeder", 3, "p4", minutes=12.0)
    search = searched(limbs, [1.0] * 8)
    numbers = {p.name: n for n, p in enumerate(search.points)}

    assert expected(search, halving(search), search.among) > best(search, search.among).minutes + 5
    assert best(search, search.among).number in (numbers["p3"], numbers["p5"])


def test_where_one_stands_decides_between_equals() -> None:
    """Of two lifts that tell the same, the one on the board where one stands comes first: the walk counts."""
    limbs = [
        Limb("bus", "bus", -1),
        Limb("a", "feeder", 0, "a", minutes=5.0, board="west"),
        Limb("b", "feeder", 0, "b", minutes=5.0, board="east"),
    ]
    search = searched(limbs, (1.0, 1.0, 1.0))

    first = {stands: best(search, search.among, stands).number for stands in BOARDS}

    assert [search.points[first[b] or 0].name for b in BOARDS] == ["a", "b"]


def test_like_branches_are_counted_once() -> None:
    """Ten equal feeders leave eleven sets with their bus, not a thousand; ten different ones leave them all."""
    limbs = [Limb("bus", "bus", -1), *(Limb(f"f{i}", "feeder", 0, f"f{i}", minutes=1.0) for i in range(10))]

    assert size(searched(limbs, [1.0] * 11)) == 11 + 10
    assert size(searched(limbs, [float(i + 1) for i in range(11)])) == 2**10 + 10


def test_a_plug_that_two_branches_share_cuts_both() -> None:
    """One point may stand at several limbs; lifting it is one lift for all of them."""
    limbs = [
        Limb("bus", "bus", -1),
        Limb("a", "plug", 0, "plug", minutes=1.0),
        Limb("b", "plug", 0, "plug", minutes=1.0),
        Limb("c", "feeder", 0, "c", minutes=1.0),
    ]
    search = searched(limbs, [1.0] * 4)

    assert [(p.name, p.cuts) for p in search.points] == [("plug", 0b0110), ("c", 0b1000)]
    assert best(search, search.among).minutes == pytest.approx(1.0 + 0.5)


def test_a_wide_tree_is_planned_by_looking_ahead_and_says_so() -> None:
    """Where the optimum would take too long the plan is made by looking ahead, and is not called the best."""
    limbs = [Limb("bus", "bus", -1), *(Limb(f"f{i}", "feeder", 0, f"f{i}", minutes=1.0 + i) for i in range(30))]
    search = searched(limbs, [1.0 + i % 7 for i in range(31)])

    made = plan(search, search.among)

    assert not made.exact
    assert made.number is not None
    assert plan(search, 0b111).exact


def test_a_very_long_chain_is_no_trouble() -> None:
    """Six hundred parts one behind the other are planned without running out of depth."""
    search = chain(*[1.0] * 600)

    assert expected(search, one_by_one(search), search.among) == pytest.approx((599 * 600 / 2 + 599) / 600)
