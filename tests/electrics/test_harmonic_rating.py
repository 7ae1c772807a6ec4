"""Required rating with a third harmonic, against annex E of IEC 60364-5-52."""

from __future__ import annotations

import math

import pytest

from evenboard.electrics.harmonic_rating import governing_core, required_rating


# Check set A no. 5: IEC 60364-5-52 annex E, 39 A (factors as reproduced, example from memory).
@pytest.mark.parametrize(
    ("third_harmonic_pct", "required_a", "core"),
    [(0, 39.0, "line"), (20, 45.3, "line"), (40, 54.4, "neutral"), (50, 58.5, "neutral")],
)
def test_annex_e_example_of_39_amps(
    third_harmonic_pct: float, required_a: float, core: str
) -> None:
    required = required_rating(39.0, third_harmonic_pct)

    # Tolerance: the example rounds to 0.1 A.
    assert required.rating_a == pytest.approx(required_a, abs=0.1)
    assert required.governed_by == core


# IEC 60364-5-52 annex E, Table E.52.1 (as reproduced), 25 A: the 44 % case is the one that a
# trade page gets wrong by leaving the neutral out (29 A).
@pytest.mark.parametrize(
    ("third_harmonic_pct", "required_a"),
    [(15, 25.0), (32, 29.1), (33.0, 29.1), (33.1, 28.9), (44, 38.4)],
)
def test_annex_e_table_for_25_amps(third_harmonic_pct: float, required_a: float) -> None:
    assert required_rating(25.0, third_harmonic_pct).rating_a == pytest.approx(required_a, abs=0.1)


# IEC 60364-5-52 annex E, Table E.52.1: the limits belong to the row that ends with them.
@pytest.mark.parametrize(
    ("third_harmonic_pct", "factor", "core"),
    [
        (0.0, 1.0, "line"),
        (15.0, 1.0, "line"),
        (15.1, 0.86, "line"),
        (33.0, 0.86, "line"),
        (45.0, 0.86, "neutral"),
        (45.1, 1.0, "neutral"),
    ],
)
def test_a_limit_belongs_to_the_row_that_it_ends(
    third_harmonic_pct: float, factor: float, core: str
) -> None:
    assert governing_core(third_harmonic_pct, 0.86) == (factor, core)


def test_with_third_harmonic_a_cable_never_needs_less_than_without() -> None:
    plain = required_rating(40.0, 0.0).rating_a

    assert all(required_rating(40.0, h).rating_a >= plain for h in range(101))


@pytest.mark.parametrize(
    ("line_a", "third_harmonic_pct"), [(-1.0, 0.0), (math.nan, 0.0), (10.0, -1.0), (10.0, math.nan)]
)
def test_nonsense_is_refused(line_a: float, third_harmonic_pct: float) -> None:
    with pytest.raises(ValueError, match="must be 0"):
        required_rating(line_a, third_harmonic_pct)
