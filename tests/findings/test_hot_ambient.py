"""Above the ambient that a cable's table goes to, a loaded feeder is a finding and not an error."""

from __future__ import annotations

import pytest

from evenboard.electrics.powerflow import solve
from evenboard.findings import find
from evenboard.findings.view import View
from support.builders import a_board, a_layout, a_load
from support.cables import run_of


@pytest.mark.parametrize("ambient_c", [56.0, 60.0])
def test_a_feeder_without_capacity_is_overloaded_and_its_cores_have_a_temperature(
    ambient_c: float,
) -> None:
    board = a_board(feeder=run_of("h07rn-f", "bs7671-4f1a", 6))
    view = View(solve(a_layout(boards=(board,), loads=(a_load("key", 0),), ambient_c=ambient_c)))

    codes = {finding.code for finding in find(view)}

    assert "feeder-overload" in codes
    temperature = view.feeders[0].core_temperature_c
    assert temperature is not None
    assert ambient_c < temperature.max() < 100.0
