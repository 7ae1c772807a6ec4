"""What a sound body becomes: a layout with nothing left to look up."""

from __future__ import annotations

from typing import Any

import pytest

from evenboard.balance import balance
from evenboard.catalogue import Catalogue
from evenboard.electrics.powerflow import solve
from evenboard.intake import LayoutInvalid, plugged, resolve
from support.bodies import a_body, a_custom, the_night_exterior


def test_the_example_of_the_api_resolves_and_can_be_solved(catalogue: Catalogue) -> None:
    layout = resolve(the_night_exterior(), catalogue)

    assert [board.id for board in layout.boards] == ["main", "stage-left"]
    assert [load.id for load in layout.loads] == ["key", "urn"]
    assert layout.setups == ("wide", "close")
    assert solve(layout).converged.all()


def test_a_body_that_says_the_least_gets_the_regions_defaults(catalogue: Catalogue) -> None:
    layout = resolve(a_body(), catalogue)

    au = catalogue.regions["au"]
    assert layout.supply.voltage_v == 230.0
    assert layout.supply.lines == ("L1", "L2", "L3")
    assert layout.supply.frequency_hz == 50.0
    assert layout.ambient_c == au.default_ambient_c
    assert layout.limits == au.limits
    assert layout.setups == ("all",)


def test_boards_stand_parents_first_whatever_their_order_in_the_body(catalogue: Catalogue) -> None:
    boards = [
        {"id": "lead", "type": "four-way", "fed_from": {"board": "sub", "outlet": "l2-top"}},
        {"id": "sub", "type": "three-row-32", "fed_from": {"board": "main", "outlet": "sub-1"}},
        {"id": "main", "type": "three-row-32"},
    ]

    layout = resolve(a_body(boards=boards), catalogue)

    assert [(b.id, b.parent) for b in layout.boards] == [("main", None), ("sub", 0), ("lead", 1)]


def test_a_multi_way_lead_is_a_board_of_one_line_that_is_its_outlets(catalogue: Catalogue) -> None:
    boards = [
        {"id": "main", "type": "three-row-32"},
        {"id": "lead", "type": "four-way", "fed_from": {"board": "main", "outlet": "l3-bottom"}},
    ]

    layout = resolve(a_body(boards=boards, loads=[a_custom("a", "2", "lead")]), catalogue)

    assert layout.boards[1].lines == ("L1",)
    assert layout.boards[1].supply_lines == (2,)
    assert layout.loads[0].supply_lines == (2,)


def test_a_rolled_feeder_turns_the_lines_of_its_board(catalogue: Catalogue) -> None:
    rolled = {"board": "main", "outlet": "sub-1", "phase_order": ["L2", "L3", "L1"]}
    boards = [
        {"id": "main", "type": "three-row-32"},
        {"id": "sub", "type": "three-row-32", "fed_from": rolled},
    ]
    loads = [a_custom("a", "l1-bottom", "sub"), a_custom("b", "l3-bottom", "sub")]

    layout = resolve(a_body(boards=boards, loads=loads), catalogue)

    assert layout.boards[1].supply_lines == (1, 2, 0)
    assert [load.supply_lines for load in layout.loads] == [(1,), (0,)]


def test_a_board_of_one_line_may_be_hung_on_any_line_of_the_supply(catalogue: Catalogue) -> None:
    boards = [{"id": "lead", "type": "four-way", "fed_from": {"phase_order": ["L2"]}}]

    layout = resolve(a_body(boards=boards), catalogue)

    assert layout.boards[0].parent is None
    assert layout.boards[0].supply_lines == (1,)


def test_a_spelled_out_board_of_one_line_may_call_it_by_its_phase(catalogue: Catalogue) -> None:
    outlets = [{"id": "a", "lines": ["L3"], "rating_a": 10}]
    boards = [
        {"id": "main", "type": "three-row-32"},
        {
            "id": "bar",
            "outlets": outlets,
            "fed_from": {"board": "main", "outlet": "l3-bottom"},
        },
    ]

    layout = resolve(a_body(boards=boards), catalogue)

    assert layout.boards[1].lines == ("L3",)
    assert layout.boards[1].supply_lines == (2,)


@pytest.mark.parametrize(
    ("board", "rating_a"),
    [
        ({"type": "three-row-32"}, 32.0),
        ({"type": "three-row-50"}, 40.0),
        ({"outlets": [{"id": "a", "lines": ["L1"], "rating_a": 16}]}, 40.0),
        (
            {
                "outlets": [{"id": "a", "lines": ["L1"], "rating_a": 16}],
                "incomer": {"rating_a": 20},
            },
            20.0,
        ),
    ],
)
def test_what_a_board_may_take_is_the_least_of_its_inlet_and_what_feeds_it(
    catalogue: Catalogue, board: dict[str, Any], rating_a: float
) -> None:
    body = a_body(supply={"rating_a": 40}, boards=[{"id": "main", **board}])

    layout = resolve(body, catalogue)

    assert layout.boards[0].inlet_rating_a == rating_a


def test_a_generators_amps_follow_from_its_plate(catalogue: Catalogue) -> None:
    # 100 kVA at 400 V is 144.3 A a line (ISO 8528-1 ratings are in kVA); by 3 x 230 V it is 144.9.
    supply = {"kind": "generator", "generator": {"rating_kva": 100}}
    boards = [{"id": "main", "outlets": [{"id": "a", "lines": ["L1"], "rating_a": 16}]}]

    layout = resolve(a_body(supply=supply, boards=boards), catalogue)

    assert layout.supply.rating_a == pytest.approx(100_000 / 3 / 230)


def test_a_three_phase_load_is_a_star_unless_it_says_delta(catalogue: Catalogue) -> None:
    loads = [a_custom("heater", "sub-1", power_w=9000)]
    star = resolve(a_body(loads=loads), catalogue).loads[0]

    loads[0]["connection"] = "delta"
    delta = resolve(a_body(loads=loads), catalogue).loads[0]

    assert (star.connection, star.rated_voltage_v) == ("star", 230.0)
    assert (delta.connection, delta.rated_voltage_v) == ("delta", 400.0)


def test_two_lines_are_line_to_line_at_that_voltage(catalogue: Catalogue) -> None:
    outlets = [
        {"id": "pair", "lines": ["L1", "L3"], "rating_a": 30},
        {"id": "one", "lines": ["L2"], "rating_a": 20},
    ]
    fixture = "discharge-par-1800-electronic-pfc"
    loads = [
        {"id": "key", "fixture": fixture, "board": "main", "outlet": "pair"},
        {"id": "fill", "fixture": fixture, "board": "main", "outlet": "one"},
    ]
    body = a_body(
        region="us",
        supply={"rating_a": 100},
        boards=[{"id": "main", "outlets": outlets}],
        loads=loads,
    )

    key, fill = resolve(body, catalogue).loads

    assert (key.connection, key.supply_lines, key.rated_voltage_v) == ("line-to-line", (0, 2), 208)
    assert (fill.connection, fill.supply_lines, fill.rated_voltage_v) == ("single", (1,), 120)


def test_a_load_may_take_one_line_of_a_three_line_outlet(catalogue: Catalogue) -> None:
    loads = [
        {
            "id": "key",
            "fixture": "tungsten-open-face-2000",
            "board": "main",
            "outlet": "sub-1",
            "lines": ["L2"],
        }
    ]

    layout = resolve(a_body(loads=loads), catalogue)

    assert layout.loads[0].supply_lines == (1,)
    assert layout.loads[0].connection == "single"


def test_a_lamp_of_the_wrong_voltage_still_resolves_to_its_nearest_version(
    catalogue: Catalogue,
) -> None:
    loads = [
        {"id": "kettle", "fixture": "unit-base-kettle-3000", "board": "main", "outlet": "one"},
    ]
    outlets = [{"id": "one", "lines": ["L1"], "rating_a": 20}]
    body = a_body(region="us", boards=[{"id": "main", "outlets": outlets}], loads=loads)

    kettle = resolve(body, catalogue).loads[0]

    low, _high = catalogue.fixtures["unit-base-kettle-3000"].input_ranges_v[0]
    assert kettle.rated_voltage_v == low
    assert kettle.input_range_v is not None
    assert kettle.input_range_v[0] == low


@pytest.mark.parametrize(
    ("load", "dimmer"),
    [
        ({"fixture": "tungsten-open-face-2000"}, "none"),
        ({"fixture": "tungsten-open-face-2000", "dimmed_to": 0.5}, "phase-cut"),
        (
            {
                "fixture": "tungsten-open-face-2000",
                "dimmed_to": 0.5,
                "dimmer": "variable-transformer",
            },
            "variable-transformer",
        ),
        ({"fixture": "led-panel-100", "dimmed_to": 0.5}, "built-in"),
        (
            {
                "custom": {
                    "name": "bar heater",
                    "power_w": 1000,
                    "load_model": "constant-impedance",
                },
                "dimmed_to": 0.5,
                "dimmer": "phase-cut",
            },
            "phase-cut",
        ),
    ],
)
def test_tungsten_is_dimmed_by_phase_cut_and_electronics_by_themselves(
    catalogue: Catalogue, load: dict[str, Any], dimmer: str
) -> None:
    body = a_body(loads=[{"id": "a", "board": "main", "outlet": "l1-bottom", **load}])

    assert resolve(body, catalogue).loads[0].dimmer == dimmer


def test_a_load_is_on_in_the_set_ups_it_names_or_else_in_all(catalogue: Catalogue) -> None:
    loads = [
        a_custom("a", "l1-bottom", setups=["close"]),
        a_custom("b", "l2-bottom"),
        a_custom("c", "l3-bottom", setups=[]),
        a_custom("d", "l3-middle", setups=None),
    ]

    layout = resolve(a_body(setups=[{"id": "wide"}, {"id": "close"}], loads=loads), catalogue)

    assert [load.on for load in layout.loads] == [
        (False, True),
        (True, True),
        # Taken out of the last set-up that it was in: it is off, as the phone shows it.
        (False, False),
        (True, True),
    ]


def test_a_spelled_out_conductor_is_taken_as_it_is(catalogue: Catalogue) -> None:
    conductor = {"r_ohm_per_km": 3.0, "neutral_r_ohm_per_km": 6.0, "capacity_a": 40}
    board = {
        "id": "main",
        "type": "three-row-32",
        "feeder": {"conductor": conductor, "length_m": 25},
    }

    feeder = resolve(a_body(boards=[board]), catalogue).boards[0].feeder

    assert feeder is not None
    assert feeder.conductor is not None
    assert feeder.conductor.r_ohm_per_km == 3.0
    assert feeder.conductor.x_ohm_per_km == 0.0
    assert feeder.conductor.neutral_r_ohm_per_km == 6.0
    assert feeder.conductor.capacity_a == 40.0


def test_a_cable_is_rated_by_the_table_of_its_region_unless_one_is_named(
    catalogue: Catalogue,
) -> None:
    feeder = {"cable": "h07rn-f", "csa_mm2": 6, "length_m": 25}
    board = {"id": "main", "type": "three-row-32", "feeder": feeder}
    usual = resolve(a_body(boards=[board]), catalogue).boards[0].feeder

    feeder["table"] = "bs7671-4f1a"
    named = resolve(a_body(boards=[board]), catalogue).boards[0].feeder

    assert usual is not None
    assert usual.table is not None
    assert usual.table.id == catalogue.regions["au"].cable_tables["h07rn-f"]
    assert named is not None
    assert named.table is not None
    assert named.table.id == "bs7671-4f1a"


def test_a_limit_that_overtakes_its_neighbours_takes_them_along(catalogue: Catalogue) -> None:
    limits = resolve(a_body(limits={"spread_pct": 60}), catalogue).limits

    assert limits.spread_note_pct <= limits.spread_pct == 60 <= limits.spread_fail_pct


def test_a_loose_load_is_read_for_planning_with_the_voltage_it_will_most_likely_get(
    catalogue: Catalogue,
) -> None:
    body = a_body(region="us", boards=[{"id": "main", "type": "band-100"}])
    body["supply"]["rating_a"] = 100
    body["loads"] = [{"id": "a", "fixture": "tungsten-open-face-2000"}]

    load = resolve(body, catalogue, loose=True).loads[0]

    assert (load.board, load.outlet, load.supply_lines) == (None, None, ())
    assert (load.connection, load.rated_voltage_v) == ("single", 120.0)


def test_a_load_moved_to_a_two_line_outlet_takes_the_line_to_line_voltage(
    catalogue: Catalogue,
) -> None:
    outlets = [
        {"id": "pair", "lines": ["L1", "L2"], "rating_a": 30},
        {"id": "one", "lines": ["L3"], "rating_a": 20},
    ]
    loads = [
        {
            "id": "key",
            "fixture": "discharge-par-1800-electronic-pfc",
            "board": "main",
            "outlet": "one",
        }
    ]
    body = a_body(region="us", boards=[{"id": "main", "outlets": outlets}], loads=loads)
    layout = resolve(body, catalogue)

    moved = plugged(layout.loads[0], 0, layout.boards[0].outlets[0], layout)

    assert (moved.outlet, moved.connection, moved.supply_lines) == ("pair", "line-to-line", (0, 1))
    assert moved.rated_voltage_v == 208.0


def test_a_three_phase_load_cannot_be_moved_to_one_line(catalogue: Catalogue) -> None:
    loads = [
        {
            "id": "fan",
            "fixture": "unit-base-fan-heater-9000-three-phase",
            "board": "main",
            "outlet": "sub-1",
        }
    ]
    layout = resolve(a_body(loads=loads), catalogue)

    with pytest.raises(ValueError, match="star and outlet 'l1-bottom' has 1 line"):
        plugged(layout.loads[0], 0, layout.boards[0].outlets[0], layout)


def test_hours_of_set_ups_and_the_order_of_switching_on_are_kept(catalogue: Catalogue) -> None:
    loads = [a_custom("a", "l1-bottom"), a_custom("b", "l2-bottom")]
    setups = [{"id": "wide", "hours_h": 6}, {"id": "close"}]

    layout = resolve(a_body(loads=loads, setups=setups, start_order=[["b"], ["a"]]), catalogue)

    assert layout.setup_hours_h == (6.0, 0.0)
    assert layout.start_order == (("b",), ("a",))


@pytest.mark.parametrize(
    ("order", "pointer", "words"),
    [
        ("b", "/start_order", "a list of at most"),
        ([1], "/start_order/0", "a list of load ids"),
        ([[1]], "/start_order/0/0", "the id of a load"),
        ([["a"], ["a"]], "/start_order/1/0", "switched on twice"),
        ([["key2"]], "/start_order/0/0", "There is no load"),
    ],
)
def test_an_order_of_switching_on_that_cannot_be_is_refused(
    catalogue: Catalogue, order: Any, pointer: str, words: str
) -> None:
    body = a_body(loads=[a_custom("a", "l1-bottom")], start_order=order)

    with pytest.raises(LayoutInvalid) as caught:
        resolve(body, catalogue)

    assert [(f.pointer, words in f.detail) for f in caught.value.faults] == [(pointer, True)]


def test_ten_kilometres_of_feeder_are_answered_with_what_they_do(catalogue: Catalogue) -> None:
    feeder = {"cable": "h07rn-f", "csa_mm2": 6, "length_m": 10_000}
    boards = [{"id": "main", "type": "three-row-32", "feeder": feeder}]
    loads = [a_custom("a", "l1-bottom", power_w=2000)]

    found = balance(resolve(a_body(boards=boards, loads=loads), catalogue)).findings

    assert {f.code for f in found} & {"no-solution", "voltage-drop"}
