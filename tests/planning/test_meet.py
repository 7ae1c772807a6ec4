"""Joining two lists of ways: all pairs within the windows, however they are looked for.

Checked against looking at every pair.
"""

from __future__ import annotations

import numpy as np
import pytest

from evenboard.planning.measure import Work
from evenboard.planning.meet import Pairs, Ways, join

NONE = np.zeros((0, 0), dtype=np.int16)
SIZE = 400


def lists(seed: int, scale: int) -> tuple[Ways, Ways]:
    """Two lists of amounts along three lines whose sum stays as it is."""
    chance = np.random.default_rng(seed)
    both = []
    for _ in range(2):
        two = chance.integers(-scale, scale + 1, size=(SIZE, 2))
        both.append(Ways(np.column_stack([two, -two.sum(axis=1)]), NONE))
    return both[0], both[1]


def every_pair(first: Ways, second: Ways, low: list[int], high: list[int]) -> set[tuple[int, int]]:
    """Looking at each."""
    sums = first.amounts[:, None, :] + second.amounts[None, :, :]
    inside = ((sums >= low) & (sums <= high)).all(axis=2)
    return set(zip(*(each.tolist() for each in np.nonzero(inside)), strict=True))


def found(pairs: Pairs) -> list[tuple[int, int]]:
    """Positions in both lists."""
    return list(zip(pairs.first.tolist(), pairs.second.tolist(), strict=True))


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("along_one", [True, False])
@pytest.mark.parametrize(
    ("low", "high", "scale", "most"),
    [
        ([-40, -40, -60], [40, 40, 60], 4_000, 500),
        ([100, -300, -(1 << 50)], [180, -220, 1 << 50], 4_000, 500),
        # Coarse amounts: many sums are the same.
        ([0, 0, 0], [0, 0, 0], 30, 500),
        ([-2, -1, -5], [0, 1, 5], 30, 2_500),
    ],
)
def test_all_pairs_within_the_windows_and_no_others_come(
    seed: int, along_one: bool, low: list[int], high: list[int], scale: int, most: int
) -> None:
    first, second = lists(seed, scale)
    tightest = first.amounts[:, None, 0] + second.amounts[None, :, 0]
    # More along one amount than may be looked at, so that two have to be held against at once.
    assert int(((tightest >= low[0]) & (tightest <= high[0])).sum()) > most
    if along_one:
        most = SIZE * SIZE

    pairs = join(first, second, np.array(low), np.array(high), Work(10**12), most)

    assert pairs.complete
    assert len(found(pairs)) == len(set(found(pairs)))
    assert set(found(pairs)) == every_pair(first, second, low, high)


def test_too_many_pairs_are_not_all_looked_at_and_that_is_said() -> None:
    first, second = lists(1, 4_000)
    low, high = np.array([-900, -900, -2_000]), np.array([900, 900, 2_000])

    pairs = join(first, second, low, high, Work(10**12), 50)

    assert not pairs.complete
    assert 0 < len(found(pairs)) <= 50
    assert set(found(pairs)) < every_pair(first, second, low.tolist(), high.tolist())
