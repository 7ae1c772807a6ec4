"""Which load on which outlet: even in every set-up, in the fewest moves.

``plan(layout, options)`` answers with a :class:`Plan`; ``apply(layout, plan)`` gives the layout as
it is then, ``plan_document(plan)`` the plain form of the answer. Aim, method, proofs and measured
figures: ``README.md`` beside this file.
"""

from evenboard.planning.apply import apply
from evenboard.planning.document import plan_document
from evenboard.planning.planner import plan
from evenboard.planning.result import (
    Assignment,
    Place,
    Plan,
    PlanOptions,
    Proven,
    Step,
    Unplaced,
)

__all__ = [
    "Assignment",
    "Place",
    "Plan",
    "PlanOptions",
    "Proven",
    "Step",
    "Unplaced",
    "apply",
    "plan",
    "plan_document",
]
