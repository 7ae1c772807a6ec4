"""Plans against a general-purpose constraint solver, OR-Tools CP-SAT, on the same instances."""

from __future__ import annotations

import pytest

from evenboard.planning import plan
from support.plan_solver import solve_levels
from support.plans import an_instance

pytestmark = pytest.mark.reference

SECONDS = 4.0


@pytest.mark.parametrize("kind", ["plain", "pins", "capacities", "outlets", "set-ups"])
@pytest.mark.parametrize("loads", [8, 16])
def test_no_plan_of_the_solver_is_evener(kind: str, loads: int) -> None:
    instance = an_instance(kind, loads, dimmed=loads > 10, setups=3 if kind == "set-ups" else 0)

    found = plan(instance.layout, instance.options)

    solved = solve_levels(instance.layout, instance.options, SECONDS)
    assert solved is not None
    # Compared in steps of 0.1 A, of which a rounding may fall either way.
    assert found.worst_phase_a <= solved.highest_a + 0.1
    assert found.spread_a <= solved.spread_a + 0.2
    if solved.proven[0]:
        assert found.worst_phase_a >= solved.highest_a - 0.1
        assert found.lower_bound_a <= solved.highest_a + 0.01


@pytest.mark.parametrize(("loads", "dimmed"), [(8, False), (12, True), (20, False), (40, True)])
def test_the_solver_needs_as_many_moves(loads: int, dimmed: bool) -> None:
    instance = an_instance("moves", loads, dimmed=dimmed)

    found = plan(instance.layout, instance.options)

    solved = solve_levels(instance.layout, instance.options, 3 * SECONDS, moves=True)
    assert solved is not None
    assert solved.moves is not None
    if found.proven.moves:
        assert found.moves <= solved.moves
    if solved.proven[2]:
        assert found.moves == solved.moves
