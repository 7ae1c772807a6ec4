"""From where on a cable is likely to deform, and whose figures that stands on."""

from __future__ import annotations

from evenboard.desk.uneven import DEFORMS_K
from evenboard.electrics.equipment import Limits


def test_a_cable_deforms_by_the_spread_from_which_a_layouts_own_finding_speaks() -> None:
    assert Limits().core_spread_k == DEFORMS_K
