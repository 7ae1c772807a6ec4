"""The earth-fault loop of a chain of boards, by hand from IEC 60228 figures."""

from __future__ import annotations

import numpy as np
import pytest

from evenboard.electrics.earth_fault import loop_impedances_ohm, run_loop_ohm, supply_loop_ohm
from evenboard.electrics.equipment import Conductor
from evenboard.electrics.layout import Layout, SourceImpedance
from support.builders import a_board, a_layout, a_run, a_supply
from support.cables import run_of


def a_chain(**supply: object) -> Layout:
    """Supply, 30 m of 6 mm2 to the main board, 20 m of 2.5 mm2 to the next."""
    return a_layout(
        supply=a_supply(**supply),
        boards=(
            a_board(feeder=run_of("h07rn-f", "bs7671-4f1a", 6, length_m=30.0)),
            a_board(
                "sub",
                parent=0,
                parent_outlet="sub-1",
                feeder=run_of("h07rn-f", "bs7671-4f1a", 2.5, length_m=20.0),
            ),
        ),
    )


def test_line_and_protective_conductor_add_up_along_the_chain() -> None:
    # IEC 60228 class 5, tinned, 3.39 and 8.21 ohm/km at 20 deg C, times 1.1572 at 60 deg C; the
    # 0.08 ohm/km of reactance makes less than 0.1 % here.
    impedance = loop_impedances_ohm(a_chain(loop_impedance_ohm=0.35))

    to_main = 2 * 0.030 * 3.39 * 1.1572
    to_sub = to_main + 2 * 0.020 * 8.21 * 1.1572
    np.testing.assert_allclose(impedance, [0.35, 0.35 + to_main, 0.35 + to_sub], rtol=1e-3)


def test_an_unknown_supply_leaves_every_loop_unknown() -> None:
    assert np.isnan(loop_impedances_ohm(a_chain())).all()


def test_a_given_source_impedance_stands_in_for_a_measured_loop() -> None:
    layout = a_chain(source_impedance=SourceImpedance(0.03, 0.02, 0.05, 0.04))

    assert supply_loop_ohm(layout) == pytest.approx(0.1)


def test_a_measured_loop_goes_before_a_given_source_impedance() -> None:
    layout = a_chain(
        loop_impedance_ohm=0.5, source_impedance=SourceImpedance(0.03, 0.02, 0.05, 0.04)
    )

    assert supply_loop_ohm(layout) == 0.5


def test_a_thin_or_open_neutral_leaves_the_earth_fault_loop_alone() -> None:
    sound = run_of("h07rn-f", "bs7671-4f1a", 16)
    thin = run_of("h07rn-f", "bs7671-4f1a", 16, neutral_csa_mm2=10)
    open_ = run_of("h07rn-f", "bs7671-4f1a", 16, neutral_connected=False)

    assert run_loop_ohm(thin, 50.0) == run_loop_ohm(open_, 50.0) == run_loop_ohm(sound, 50.0)


def test_a_lead_adds_to_its_board() -> None:
    lead = a_run(length_m=500.0, conductor=Conductor(2.0, 0.0, 2.0, 0.0))

    assert abs(run_loop_ohm(lead, 50.0)) == 2.0
    assert run_loop_ohm(None, 50.0) == 0
