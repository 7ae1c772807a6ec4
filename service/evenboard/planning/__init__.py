"""Which load on which outlet: even in every set-up, in the fewest moves.

``plan(layout, options)`` answers with a :class:`Plan`; ``apply(layout, plan)`` gives the layout as
it is then, ``plan_document(plan)`` the plain form of the answer. ``choose_boards`` finds the
smallest board and supply for a list, ``take_more`` how many lamps still go in. Aim, method, proofs
and measured figures: ``README.md`` beside this file.
"""

from evenboard.planning.apply import apply
from evenboard.planning.choosing import Choice, board_systems, choose_boards, list_faults
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
from evenboard.planning.taking import Taking, take_more

__all__ = [
    "Assignment",
    "Choice",
    "Place",
    "Plan",
    "PlanOptions",
    "Proven",
    "Step",
    "Taking",
    "Unplaced",
    "apply",
    "board_systems",
    "choose_boards",
    "list_faults",
    "plan",
    "plan_document",
    "take_more",
]
