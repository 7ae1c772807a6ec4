"""Lists of moves: all that can help, or drawn ones that are what they say; against every way."""

from __future__ import annotations

from itertools import combinations, combinations_with_replacement

import numpy as np
import pytest

from evenboard.planning import PlanOptions, plan
from evenboard.planning.listing import Combined, Lists, Single, enough
from evenboard.planning.measure import IntArray, Work
from support.plans import an_instance

LINES = 3
EVERYTHING = 10**6


def moves_of(seed: int, classes: int) -> Single:
    """Kinds of lamps of whole amps on three lines, each of which may go to either other line."""
    chance = np.random.default_rng(seed)
    amounts, class_, where = [], [], []
    for number in range(classes):
        amps, here = int(chance.integers(1, 12)), int(chance.integers(0, LINES))
        for line in range(LINES):
            if line != here:
                change = np.zeros(LINES, dtype=np.int64)
                change[here], change[line] = -amps, amps
                amounts.append(change * 1_000_000)
                class_.append(number)
                where.append(line)
    size = chance.integers(1, 3, size=classes)
    members = tuple(tuple(range(10 * n, 10 * n + int(size[n]))) for n in range(classes))
    return Single(np.array(amounts), np.array(class_), np.array(where), members, size)


def sums_of(single: Single, count: int, low: IntArray, high: IntArray) -> set[tuple[int, ...]]:
    """Sums of every way to make so many moves, no load twice, that lie in the window."""
    found = set()
    for ways in combinations_with_replacement(range(len(single.class_)), count):
        moves = np.array([ways])
        total = single.amounts[list(ways)].sum(axis=0)
        if enough(single, moves)[0] and (total >= low).all() and (total <= high).all():
            found.add(tuple(total.tolist()))
    return found


def joined(
    first: Combined, second: Combined, low: IntArray, high: IntArray
) -> set[tuple[int, ...]]:
    """Sums of all pairs of both lists that lie in the window."""
    total = (first.sums[:, None] + second.sums[None]).reshape(-1, first.sums.shape[1])
    keep = ((total >= low) & (total <= high)).all(axis=1)
    return set(map(tuple, total[keep].tolist()))


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_both_halves_together_make_every_way(seed: int, count: int) -> None:
    single = moves_of(seed, 5)
    low = np.array([-9_000_000, 2_000_000, -12_000_000])
    high = np.array([1_000_000, 9_000_000, 12_000_000])
    lists = Lists(single, low, high, LINES, 4, Work(10**12))
    every = sums_of(single, count, low, high)

    halves = lists.halves(count, EVERYTHING, 0)

    assert all(half.complete for half in halves)
    # The halves do not know of each other: a load of a class of one may be in both.
    assert every <= joined(*halves, low, high)
    assert every == set() or lists.can_reach(count)


@pytest.mark.parametrize("half", [0, 1])
@pytest.mark.parametrize("most", [EVERYTHING, 20])
def test_each_way_of_a_list_adds_up_to_its_sum_and_moves_no_load_twice(
    half: int, most: int
) -> None:
    single = moves_of(3, 12)
    low, high = np.array([-30_000_000] * LINES), np.array([30_000_000] * LINES)
    lists = Lists(single, low, high, LINES, 5, Work(10**12))

    listed = lists.halves(5, most, 2_000)[half]

    assert listed.complete == (most == EVERYTHING)
    assert len(listed.sums) > 100
    assert enough(single, listed.moves).all()
    row = np.repeat(np.arange(len(listed.sums)), np.diff(listed.start))
    assert (single.amounts[listed.moves].sum(axis=1) == listed.sums[row]).all()
    assert len(np.unique(listed.sums, axis=0)) == len(listed.sums)


def test_what_is_drawn_goes_the_way_that_the_moves_have_to_go() -> None:
    """The mean of either half is about its share of the way, however far that is."""
    single = moves_of(5, 60)
    for amps in (0, 15, 30, 42):
        way = np.array([-amps, amps, 0]) * 1_000_000
        lists = Lists(single, way - 50_000, way + 50_000, LINES, 6, Work(10**12))

        drawn = lists.halves(6, 20, 400)

        for half in drawn:
            assert not half.complete
            mean = np.repeat(half.sums, np.diff(half.start), axis=0).mean(axis=0) / 1e6
            assert mean[1] == pytest.approx(amps / 2.0, abs=4.0)
        assert joined(drawn[0], drawn[1], way - 50_000, way + 50_000)


def test_the_same_is_drawn_every_time() -> None:
    single = moves_of(5, 60)
    window = np.array([-9_000_000, 8_000_000, 0]), np.array([-8_000_000, 9_000_000, 1_000_000])

    first, second = (
        Lists(single, *window, LINES, 6, Work(10**12)).halves(6, 20, 400) for _ in range(2)
    )

    for one, other in zip(first, second, strict=True):
        assert (one.sums == other.sums).all()
        assert (one.moves == other.moves).all()


@pytest.mark.parametrize(
    ("loads", "dimmed", "seed"), [(300, True, 2), (300, False, 1), (1000, True, 3)]
)
def test_many_moves_of_many_lamps_are_as_few_as_amps_allow(
    loads: int, dimmed: bool, seed: int
) -> None:
    """No fewer of the largest lamps could carry what one line has too much: arithmetic only."""
    instance = an_instance("moves", loads, dimmed=dimmed, seed=seed)
    amps = [load.power_w * load.dimmed_to / 230.0 for load in instance.layout.loads]
    lines: list[list[float]] = [[], [], []]
    for load, each in zip(instance.layout.loads, amps, strict=True):
        lines[load.supply_lines[0]].append(each)

    found = plan(instance.layout, PlanOptions())

    assert found.proven.moves
    spread = found.spread_a
    least = 0
    for line in lines:
        away = sum(line) - sum(amps) / 3.0
        sources = sorted(
            line if away > 0 else [a for other in lines if other is not line for a in other]
        )
        carried = 0.0
        for number, each in enumerate(reversed(sources), 1):
            carried += each
            if carried >= abs(away) - spread - 0.1:
                least = max(least, number)
                break
    assert least <= found.moves <= least + 1


def test_pairs_of_moves_are_listed_once() -> None:
    single = moves_of(1, 6)
    low, high = np.array([-(EVERYTHING**2)] * LINES), np.array([EVERYTHING**2] * LINES)

    pairs = Lists(single, low, high, LINES, 3, Work(10**12)).halves(3, EVERYTHING, 0)[0]

    every = {pair for pair in combinations(range(12), 2) if enough(single, np.array([pair]))[0]}
    twice = {(i, i) for i in range(12) if single.size[single.class_[i]] > 1}
    assert sorted(map(tuple, pairs.moves.tolist())) == sorted(every | twice)
