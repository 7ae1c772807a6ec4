"""The plain form of a plan: what the answer of the plan route holds."""

from __future__ import annotations

from typing import Any

from evenboard.planning.result import Place, Plan

__all__ = ["plan_document"]


def _place(place: Place | None) -> dict[str, str] | None:
    return None if place is None else {"board": place.board, "outlet": place.outlet}


def plan_document(plan: Plan) -> dict[str, Any]:
    """A plan as plain JSON values, amps rounded to 0.01 A.

    Parameters
    ----------
    plan : Plan
        What :func:`evenboard.planning.plan` gave.

    Returns
    -------
    dict
        ``assignments``, ``steps``, ``moves``, ``worst_phase_a``, ``worst_phase``, ``worst_setup``,
        ``spread_a``, ``sum_of_spreads_a``, ``lower_bound_a``, ``proven_optimal``, ``proven``,
        ``phases_a``, ``target_met``, ``unplaced``, ``why``. The balance before and after is not
        in it.

    References
    ----------
    .. [1] The plan route of this service's API, version 1.
    """
    return {
        "assignments": [
            {
                "load": a.load,
                "board": a.place.board,
                "outlet": a.place.outlet,
                "moved_from": _place(a.moved_from),
                "action": a.action,
            }
            for a in plan.assignments
        ],
        "steps": [
            {
                "number": s.number,
                "action": s.action,
                "load": s.load,
                "from": _place(s.origin),
                "to": _place(s.target),
                "text": s.text,
            }
            for s in plan.steps
        ],
        "moves": plan.moves,
        "worst_phase_a": round(plan.worst_phase_a, 2),
        "worst_phase": plan.worst_phase,
        "worst_setup": plan.worst_setup,
        "spread_a": round(plan.spread_a, 2),
        "sum_of_spreads_a": round(plan.sum_of_spreads_a, 2),
        "lower_bound_a": round(plan.lower_bound_a, 2),
        "proven_optimal": plan.proven_optimal,
        "proven": {
            "placed": plan.proven.placed,
            "worst_phase": plan.proven.worst_phase,
            "largest_spread": plan.proven.largest_spread,
            "sum_of_spreads": plan.proven.sum_of_spreads,
            "moves": plan.proven.moves,
        },
        "phases_a": [[round(a, 2) for a in line] for line in plan.phases_a],
        "target_met": plan.target_met,
        "unplaced": [{"load": u.load, "why": u.why} for u in plan.unplaced],
        "why": list(plan.why),
    }
