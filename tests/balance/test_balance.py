"""What the balance says of layouts that a crew knows by heart."""

from __future__ import annotations

import json

import pytest

from evenboard.balance import Balance, balance, balance_document, common_types
from evenboard.balance.room import COMMON
from evenboard.catalogue import Catalogue
from evenboard.findings import View
from evenboard.intake import resolve
from support.bodies import Body, a_body, a_custom, the_night_exterior
from support.builders import a_layout, a_load, a_supply


def balanced(catalogue: Catalogue, body: Body) -> Balance:
    return balance(resolve(body, catalogue))


def codes(result: Balance) -> set[str]:
    return {finding.code for finding in result.findings}


def three_lamps(*outlets: str) -> list[Body]:
    return [
        {"id": f"lamp-{i}", "fixture": "tungsten-open-face-2000", "board": "main", "outlet": outlet}
        for i, outlet in enumerate(outlets, 1)
    ]


def test_three_lamps_of_2_kw_one_a_phase_are_even(catalogue: Catalogue) -> None:
    # Common practice, no source: spread like lamps over the phases. 2000 W / 230 V = 8.70 A.
    loads = three_lamps("l1-bottom", "l2-bottom", "l3-bottom")

    result = balanced(catalogue, a_body(loads=loads))

    assert [p.current_a for p in result.phases] == [pytest.approx(8.696, abs=0.001)] * 3
    assert result.unbalance is not None
    assert result.unbalance.spread_a == pytest.approx(0.0, abs=1e-9)
    assert result.neutral is not None
    assert result.neutral.current_a == pytest.approx(0.0, abs=1e-9)
    assert not codes(result) & {"current-unbalance", "idle-phase", "phase-loading"}


def test_a_32_a_outlet_of_three_phases_is_96_a_in_all(catalogue: Catalogue) -> None:
    # Common practice, no source: the rating is per phase. 3 x 32 A x 230 V = 22.08 kVA.
    supply = balanced(catalogue, a_body()).supply

    assert supply.rating_a == 32.0
    assert supply.total_rating_a == 96.0
    assert supply.capacity_va == pytest.approx(22_080.0)


def test_50_0_0_on_a_50_a_outlet_is_called_out_and_the_idle_phases_named(
    catalogue: Catalogue,
) -> None:
    # Common practice, no source: 50/0/0 is what kills a cable in weeks.
    outlets = [{"id": f"l{k}", "lines": [f"L{k}"], "rating_a": 50} for k in (1, 2, 3)]
    body = a_body(
        supply={"rating_a": 50},
        boards=[{"id": "main", "outlets": outlets}],
        loads=[a_custom("all-of-it", "l1", power_w=50 * 230, power_factor=1.0)],
    )

    result = balanced(catalogue, body)

    assert [p.current_a for p in result.phases] == [pytest.approx(50.0), 0.0, 0.0]
    assert result.verdict == "fail"
    assert "current-unbalance" in codes(result)
    idle = " ".join(
        f"{f.where.phase} {f.message}" for f in result.findings if f.code == "idle-phase"
    )
    assert "L2" in idle
    assert "L3" in idle


def test_a_trickle_on_one_phase_of_a_big_outlet_is_no_finding(catalogue: Catalogue) -> None:
    # 2/0/0 A on 63 A is 200 % of the mean and harmless: the spread is judged over the rating.
    outlets = [{"id": f"l{k}", "lines": [f"L{k}"], "rating_a": 32} for k in (1, 2, 3)]
    body = a_body(
        supply={"rating_a": 63},
        boards=[{"id": "main", "outlets": outlets}],
        loads=[a_custom("trickle", "l1", power_w=2 * 230)],
    )

    result = balanced(catalogue, body)

    assert result.unbalance is not None
    assert result.unbalance.current_pct == pytest.approx(200.0)
    assert result.unbalance.spread_pct == pytest.approx(100 * 2 / 63)
    assert "current-unbalance" not in codes(result)
    assert result.verdict == "pass"


def test_phases_are_those_of_the_fullest_set_up_and_headroom_holds_in_all(
    catalogue: Catalogue,
) -> None:
    loads = [
        a_custom("wide-1", "l1-bottom", power_w=3000, setups=["wide"]),
        a_custom("close-2", "l2-bottom", power_w=2000, setups=["close"]),
    ]
    body = a_body(setups=[{"id": "wide"}, {"id": "close"}], loads=loads)

    result = balanced(catalogue, body)

    l1, l2, l3 = result.phases
    assert result.worst["phases"] == "wide"
    assert (l1.power_w, l2.power_w) == (pytest.approx(3000), pytest.approx(0.0))
    assert [p.headroom_a for p in (l1, l2, l3)] == [
        pytest.approx(32 - 3000 / 230),
        pytest.approx(32 - 2000 / 230),
        pytest.approx(32.0),
    ]
    assert result.setups[1].phases[1].power_w == pytest.approx(2000)
    assert result.setups[1].phases[0].headroom_a == pytest.approx(32.0)


def test_headroom_counts_lamp_by_lamp_and_overload_the_true_current(catalogue: Catalogue) -> None:
    # Electronic and tungsten lamps do not peak together: the sum overstates, so it is the safe
    # figure for one more lamp, and the RMS current the right one for a breaker.
    loads = [
        a_custom("hot", "l1-bottom", power_w=2300),
        a_custom("led", "l1-middle", power_w=1150, power_factor=0.5, displacement_factor=1.0),
    ]

    l1 = balanced(catalogue, a_body(loads=loads)).phases[0]

    assert l1.sum_a == pytest.approx(20.0)
    assert l1.current_a is not None
    # Fundamentals 10 + 5 A in phase, distortion sqrt(10^2 - 5^2) A beside them.
    assert l1.current_a == pytest.approx((15.0**2 + 75.0) ** 0.5)
    assert l1.headroom_a == pytest.approx(12.0)


def test_a_line_to_line_load_counts_in_full_on_both_its_lines(catalogue: Catalogue) -> None:
    # NEC practice for 208 V two-leg lamps: the amps count on each leg. 2080 W / 208 V = 10 A.
    outlets = [
        {"id": "pair", "lines": ["L1", "L2"], "rating_a": 30, "neutral": False},
    ]
    body = a_body(
        region="us",
        supply={"rating_a": 100},
        boards=[{"id": "main", "outlets": outlets}],
        loads=[a_custom("key", "pair", power_w=2080, rated_voltage_v=208)],
    )

    result = balanced(catalogue, body)

    # 208 V is a rounded 120 x sqrt(3): 0.08 % on the current of a constant power.
    assert [p.current_a for p in result.phases] == [
        pytest.approx(10.0, rel=1e-3),
        pytest.approx(10.0, rel=1e-3),
        0.0,
    ]
    assert result.neutral is not None
    assert result.neutral.current_a == pytest.approx(0.0, abs=1e-9)


def test_nothing_is_said_of_phases_that_a_single_phase_supply_does_not_have(
    catalogue: Catalogue,
) -> None:
    outlets = [{"id": "a", "lines": ["L1"], "rating_a": 10}]
    body = a_body(
        supply={"rating_a": 16, "system": "single-phase"},
        boards=[{"id": "wall", "outlets": outlets}],
        loads=[a_custom("key", "a", "wall", power_w=2000)],
    )

    result = balanced(catalogue, body)

    assert [p.phase for p in result.phases] == ["L1"]
    assert result.unbalance is None
    assert result.open_neutral_v is None
    assert not codes(result) & {"current-unbalance", "voltage-unbalance", "idle-phase"}


def test_the_neutral_of_a_three_wire_supply_carries_the_difference_of_its_legs(
    catalogue: Catalogue,
) -> None:
    outlets = [{"id": f"l{k}", "lines": [f"L{k}"], "rating_a": 20} for k in (1, 2)]
    body = a_body(
        region="jp",
        supply={"rating_a": 60, "system": "three-wire"},
        boards=[{"id": "main", "outlets": outlets}],
        loads=[a_custom("a", "l1", power_w=1500), a_custom("b", "l2", power_w=500)],
    )

    result = balanced(catalogue, body)

    assert [p.current_a for p in result.phases] == [pytest.approx(15.0), pytest.approx(5.0)]
    assert result.neutral is not None
    assert result.neutral.current_a == pytest.approx(10.0)
    assert result.unbalance is not None
    assert result.unbalance.negative_sequence_pct is None


def test_a_set_up_without_a_solution_is_said_to_have_none_and_shows_no_figure(
    catalogue: Catalogue,
) -> None:
    feeder = {"length_m": 1000, "conductor": {"r_ohm_per_km": 50}}
    body = a_body(
        boards=[{"id": "main", "type": "three-row-32", "feeder": feeder}],
        setups=[{"id": "calm"}, {"id": "too-much"}],
        loads=[
            a_custom("small", "l2-top", power_w=50),
            a_custom("big", "l1-bottom", power_w=3000, setups=["too-much"]),
        ],
    )

    result = balanced(catalogue, body)

    calm, too_much = result.setups
    assert (calm.solved, too_much.solved) == (True, False)
    assert too_much.phases[0].current_a is None
    assert result.worst["phases"] == "calm"
    assert result.verdict == "fail"
    assert "no-solution" in codes(result)
    assert json.dumps(balance_document(result), allow_nan=False)


def test_a_layout_without_a_load_or_a_board_is_answered(catalogue: Catalogue) -> None:
    result = balanced(catalogue, a_body(boards=[]))

    assert [p.current_a for p in result.phases] == [0.0, 0.0, 0.0]
    assert json.dumps(balance_document(result), allow_nan=False)


def test_light_and_colour_are_told_of_tungsten_and_of_nothing_else(catalogue: Catalogue) -> None:
    loads = [
        {"id": "hot", "fixture": "tungsten-open-face-800", "board": "main", "outlet": "l1-top"},
        {"id": "led", "fixture": "led-panel-200", "board": "main", "outlet": "l2-top"},
    ]

    hot, led = balanced(catalogue, a_body(loads=loads)).loads

    assert hot.light_pct == pytest.approx(100.0)
    assert hot.colour_temperature_k is not None
    assert led.light_pct is None
    assert led.colour_temperature_k is None


def test_energy_is_that_of_the_hungriest_set_up_for_the_day(catalogue: Catalogue) -> None:
    loads = [
        a_custom("a", "l1-bottom", power_w=2000),
        a_custom("b", "l2-bottom", power_w=1000, setups=["wide"]),
    ]
    body = a_body(setups=[{"id": "close"}, {"id": "wide"}], loads=loads)

    energy = balance(resolve(body, catalogue), hours=12).energy

    assert energy is not None
    assert energy.setup == "wide"
    assert energy.energy_kwh == pytest.approx(36.0)


def test_energy_of_a_day_is_summed_over_the_hours_of_each_set_up(catalogue: Catalogue) -> None:
    loads = [
        a_custom("a", "l1-bottom", power_w=2000),
        a_custom("b", "l2-bottom", power_w=1000, setups=["wide"]),
    ]
    setups = [{"id": "close", "hours_h": 4}, {"id": "wide", "hours_h": 2}]

    energy = balance(resolve(a_body(setups=setups, loads=loads), catalogue)).energy

    assert energy is not None
    assert (energy.setup, energy.hours) == (None, 6.0)
    assert energy.energy_kwh == pytest.approx(2 * 4 + 3 * 2)


def test_hours_that_are_no_time_are_refused() -> None:
    with pytest.raises(ValueError, match="hours must be above 0"):
        balance(a_layout(), hours=0.0)


def test_what_is_lost_is_what_the_resistances_of_all_cables_take(catalogue: Catalogue) -> None:
    result = balanced(catalogue, the_night_exterior())

    view = View(result.solution)
    for place, setup in enumerate(result.setups):
        in_leads = sum(float(lead.loss_w[place]) for lead in view.leads)
        in_feeders = float(result.solution.loss_w[place].sum())
        assert in_leads > 0.0
        # I^2 R holds the harmonics' losses too, which the power of the fundamental does not: 15 %
        # of the current of one of two lamps, 0.15^2 of its share.
        assert setup.loss_w == pytest.approx(in_leads + in_feeders, rel=0.02)


def test_a_generator_is_shown_in_percent_of_its_plate(catalogue: Catalogue) -> None:
    # ISO 8528-1: kVA on the plate, kW by the rated power factor 0.8. 60 kVA is 20 kVA a line and
    # 48 kW; 6 kW on one line are 30 % of the line, 10 % of the kVA, 12.5 % of the kW.
    outlets = [{"id": f"l{k}", "lines": [f"L{k}"], "rating_a": 32} for k in (1, 2, 3)]
    body = a_body(
        supply={"kind": "generator", "generator": {"rating_kva": 60}},
        boards=[{"id": "main", "outlets": outlets}],
        loads=[a_custom("key", "l1", power_w=6000)],
    )

    load = balanced(catalogue, body).generator

    assert load is not None
    assert load.apparent_pct == pytest.approx(10.0)
    assert load.active_pct == pytest.approx(12.5)
    assert load.line_pct == {
        "L1": pytest.approx(30.0),
        "L2": pytest.approx(0.0),
        "L3": pytest.approx(0.0),
    }
    # One loaded line: I2 is a third of its current, here of 30 % of the rated one.
    assert load.negative_sequence_pct == pytest.approx(10.0)


def test_a_board_speaks_of_its_own_lines_and_names_the_supplys(catalogue: Catalogue) -> None:
    rolled = {"board": "main", "outlet": "sub-1", "phase_order": ["L2", "L3", "L1"]}
    boards = [
        {"id": "main", "type": "three-row-32"},
        {"id": "sub", "type": "three-row-32", "fed_from": rolled},
    ]
    loads = [a_custom("a", "l1-bottom", "sub", power_w=2300)]

    result = balanced(catalogue, a_body(boards=boards, loads=loads))

    sub = result.boards[1]
    assert sub.supply_lines == ("L2", "L3", "L1")
    assert [(p.phase, p.current_a) for p in sub.phases] == [
        ("L1", pytest.approx(10.0)),
        ("L2", 0.0),
        ("L3", 0.0),
    ]
    assert [p.current_a for p in result.phases] == [0.0, pytest.approx(10.0), 0.0]


def test_loads_of_a_layout_made_by_hand_need_no_catalogue() -> None:
    layout = a_layout(supply=a_supply(), loads=(a_load("a", 0), a_load("b", 1)))

    result = balance(layout)

    assert result.phases[0].current_a == pytest.approx(2000 / 230)
    assert result.phases[0].room_for == ()


def test_every_common_type_is_in_the_catalogue(catalogue: Catalogue) -> None:
    assert set(COMMON) <= set(catalogue.fixtures)


@pytest.mark.parametrize("region", ["au", "uk", "eu", "us", "jp"])
def test_every_region_has_common_types_of_its_voltage(catalogue: Catalogue, region: str) -> None:
    system = "three-wire" if region == "jp" else "three-phase"
    layout = resolve(
        a_body(region=region, supply={"rating_a": 60, "system": system}, boards=[]), catalogue
    )

    types = common_types(catalogue, layout)

    assert len(types) >= 5
    assert any(fixture.family == "tungsten" for fixture in types)
