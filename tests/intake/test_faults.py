"""Faults of a body as a whole, of boards in a tree, of plugs, and of figures that disagree."""

from __future__ import annotations

from typing import Any

import pytest

from evenboard.catalogue import Catalogue
from evenboard.intake import Fault, LayoutInvalid, faults, resolve
from support.bodies import Body, a_body, a_custom, changed, the_night_exterior


def the_only_fault(found: list[Fault]) -> Fault:
    assert len(found) == 1, "\n".join(f"{f.pointer}: {f.detail}" for f in found)
    return found[0]


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ([], "a list"),
        ("layout", '"layout"'),
        (None, "null"),
        (7, "7"),
    ],
)
def test_a_body_that_is_no_object_is_refused_as_a_whole(
    catalogue: Catalogue, body: Any, said: str
) -> None:
    fault = the_only_fault(faults(body, catalogue))

    assert fault.pointer == ""
    assert said in fault.detail


def test_an_empty_body_is_told_all_that_it_needs(catalogue: Catalogue) -> None:
    found = faults({}, catalogue)

    assert [f.pointer for f in found] == ["/region", "/supply", "/boards"]


def test_all_faults_of_a_body_come_at_once(catalogue: Catalogue) -> None:
    body = the_night_exterior()
    body["supply"]["voltage_v"] = 0
    body["boards"][0]["feeder"]["csa_mm2"] = 5
    body["loads"][0]["fixture"] = "tungsten-open-face-2001"
    body["loads"][1]["outlet"] = "l3-topp"
    body["limits"]["spread"] = 5

    found = faults(body, catalogue)

    assert {f.pointer for f in found} == {
        "/supply/voltage_v",
        "/boards/0/feeder/csa_mm2",
        "/loads/0/fixture",
        "/loads/1/outlet",
        "/limits/spread",
    }


def test_resolve_raises_every_fault_that_faults_lists(catalogue: Catalogue) -> None:
    body = changed(the_night_exterior(), "/loads/0/count", 0)

    with pytest.raises(LayoutInvalid) as raised:
        resolve(body, catalogue)

    assert list(raised.value.faults) == faults(body, catalogue)


def test_a_pointer_escapes_tilde_and_slash(catalogue: Catalogue) -> None:
    # RFC 6901, section 3: "~" is "~0", "/" is "~1".
    fault = the_only_fault(faults(a_body(**{"a/b~c": 1}), catalogue))

    assert fault.pointer == "/a~1b~0c"


def test_boards_that_run_in_a_circle_are_named_round_the_circle(catalogue: Catalogue) -> None:
    boards: list[Body] = [
        {"id": "a", "type": "three-row-32", "fed_from": {"board": "c", "outlet": "sub-1"}},
        {"id": "b", "type": "three-row-32", "fed_from": {"board": "a", "outlet": "sub-1"}},
        {"id": "c", "type": "three-row-32", "fed_from": {"board": "b", "outlet": "sub-1"}},
    ]

    fault = the_only_fault(faults(a_body(boards=boards), catalogue))

    assert fault.pointer == "/boards/0/fed_from/board"
    assert "a is fed from c is fed from b is fed from a" in fault.detail
    assert "fed_from null" in fault.detail


def test_a_board_that_feeds_itself_is_a_circle_of_one(catalogue: Catalogue) -> None:
    boards = [{"id": "a", "type": "three-row-32", "fed_from": {"board": "a", "outlet": "sub-1"}}]

    fault = the_only_fault(faults(a_body(boards=boards), catalogue))

    assert "a is fed from a" in fault.detail


def test_two_boards_in_one_outlet_are_refused_at_the_second(catalogue: Catalogue) -> None:
    boards = [
        {"id": "main", "type": "three-row-32"},
        {"id": "one", "type": "three-row-32", "fed_from": {"board": "main", "outlet": "sub-1"}},
        {"id": "two", "type": "three-row-32", "fed_from": {"board": "main", "outlet": "sub-1"}},
    ]

    fault = the_only_fault(faults(a_body(boards=boards), catalogue))

    assert fault.pointer == "/boards/2/fed_from/outlet"
    assert "already feeds board one" in fault.detail


def test_a_third_plug_in_one_outlet_is_offered_outlets_that_nothing_else_wants(
    catalogue: Catalogue,
) -> None:
    loads = [
        a_custom("a", "l1-bottom"),
        a_custom("b", "l1-bottom"),
        a_custom("c", "l2-bottom"),
    ]

    fault = the_only_fault(faults(a_body(loads=loads), catalogue))

    assert fault.pointer == "/loads/1/outlet"
    assert "l3-bottom" in fault.detail
    assert "l2-bottom" not in fault.detail


def test_a_three_phase_board_on_a_one_line_outlet_is_shown_an_outlet_that_would_do(
    catalogue: Catalogue,
) -> None:
    boards = [
        {"id": "main", "type": "three-row-32"},
        {"id": "sub", "type": "three-row-32", "fed_from": {"board": "main", "outlet": "l1-top"}},
    ]

    found = faults(a_body(boards=boards), catalogue)

    assert found[0].pointer == "/boards/1/fed_from/outlet"
    assert "takes three lines" in found[0].detail
    assert "sub-1" in found[0].detail


def test_a_board_of_one_line_on_three_is_asked_which(catalogue: Catalogue) -> None:
    boards = [{"id": "lead", "type": "four-way"}]

    fault = the_only_fault(faults(a_body(boards=boards), catalogue))

    assert fault.pointer == "/boards/0/type"
    assert 'phase_order which it is on, such as ["L3"]' in fault.detail


def test_an_outlet_on_lines_that_its_board_lacks_is_refused(catalogue: Catalogue) -> None:
    outlets = [
        {"id": "a", "lines": ["L1"], "rating_a": 10},
        {"id": "b", "lines": ["L2"], "rating_a": 10},
    ]
    boards = [
        {"id": "main", "type": "three-row-32"},
        {"id": "bar", "outlets": outlets, "fed_from": {"board": "main", "outlet": "l3-top"}},
    ]

    fault = the_only_fault(faults(a_body(boards=boards), catalogue))

    assert fault.pointer == "/boards/1/outlets/1/lines"
    assert "fed with one line" in fault.detail


def test_a_board_with_neither_type_nor_outlets_is_refused(catalogue: Catalogue) -> None:
    fault = the_only_fault(faults(a_body(boards=[{"id": "main"}]), catalogue))

    assert fault.pointer == "/boards/0/type"
    assert "three-row-32" in fault.detail


def test_a_board_for_another_regions_voltage_is_refused(catalogue: Catalogue) -> None:
    fault = the_only_fault(
        faults(a_body(boards=[{"id": "main", "type": "band-100"}]), catalogue),
    )

    assert fault.pointer == "/boards/0/type"
    assert "made for the voltages of us" in fault.detail


def test_a_board_whose_plug_does_not_go_in_needs_an_adaptor(catalogue: Catalogue) -> None:
    fed_from: Body = {"board": "main", "outlet": "l1-bottom"}
    boards = [
        {"id": "main", "type": "three-row-32"},
        {"id": "lead", "type": "four-way-13", "fed_from": fed_from},
    ]

    fault = the_only_fault(faults(a_body(boards=boards), catalogue))
    fed_from["adaptor"] = True
    with_adaptor = faults(a_body(boards=boards), catalogue)

    assert fault.pointer == "/boards/1/fed_from/outlet"
    assert "does not go into" in fault.detail
    assert with_adaptor == []


def test_a_plug_that_does_not_go_in_is_shown_outlets_that_take_it(catalogue: Catalogue) -> None:
    # AS/NZS 3112: a 10 A plug enters a 15 A outlet, a 15 A plug never a 10 A one.
    boards = [{"id": "main", "type": "three-row-20"}]
    small = a_custom("a", "l1-bottom", connector="as3112-10")
    large = a_custom("b", "l1-middle", connector="as3112-15")

    fault = the_only_fault(faults(a_body(boards=boards, loads=[small, large]), catalogue))

    assert fault.pointer == "/loads/1/connector"
    assert "l2-bottom or l3-bottom" in fault.detail


def test_a_three_phase_lamp_on_one_line_is_shown_where_it_would_go(catalogue: Catalogue) -> None:
    loads = [
        {
            "id": "fan",
            "fixture": "unit-base-fan-heater-9000-three-phase",
            "board": "main",
            "outlet": "l1-bottom",
        }
    ]

    fault = the_only_fault(faults(a_body(loads=loads), catalogue))

    assert fault.pointer == "/loads/0/outlet"
    assert "takes three lines" in fault.detail
    assert "sub-1" in fault.detail


def test_a_lamp_of_one_branch_on_three_lines_is_asked_which(catalogue: Catalogue) -> None:
    loads = [
        {"id": "key", "fixture": "tungsten-open-face-2000", "board": "main", "outlet": "sub-1"}
    ]

    fault = the_only_fault(faults(a_body(loads=loads), catalogue))

    assert fault.pointer == "/loads/0/outlet"
    assert 'lines which it takes, such as ["L1"]' in fault.detail


def test_a_star_on_an_outlet_without_neutral_is_told_of_delta(catalogue: Catalogue) -> None:
    outlets = [{"id": "four-pin", "lines": ["L1", "L2", "L3"], "rating_a": 32, "neutral": False}]
    boards = [{"id": "main", "outlets": outlets}]

    fault = the_only_fault(
        faults(a_body(boards=boards, loads=[a_custom("heater", "four-pin")]), catalogue)
    )

    assert fault.pointer == "/loads/0/outlet"
    assert "has no neutral" in fault.detail
    assert "connection delta" in fault.detail


def test_a_board_of_one_line_outlets_needs_a_neutral(catalogue: Catalogue) -> None:
    # A supply of three lines without a neutral, as Japan's 200 V three-phase, lights no lamp
    # between a line and a neutral.
    boards = [{"id": "main", "outlets": [{"id": "a", "lines": ["L1"], "rating_a": 20}]}]
    body = a_body(region="jp", supply={"rating_a": 60, "system": "three-phase"}, boards=boards)

    fault = the_only_fault(faults(body, catalogue))

    assert fault.pointer == "/boards/0/type"
    assert "need a neutral" in fault.detail


def test_a_three_phase_board_on_a_single_phase_supply_is_refused(catalogue: Catalogue) -> None:
    fault = the_only_fault(
        faults(a_body(supply={"rating_a": 63, "system": "single-phase"}), catalogue)
    )

    assert fault.pointer == "/boards/0/type"
    assert "the supply has one line" in fault.detail


@pytest.mark.parametrize(
    ("figures", "field", "said"),
    [
        ({"power_factor": 0.9, "displacement_factor": 0.8}, "power_factor", "from 0.9 to 1"),
        (
            {"power_factor": 0.9, "third_harmonic_pct": 20},
            "third_harmonic_pct",
            "displacement_factor is then 0.918 or more",
        ),
        (
            {"power_factor": 0.99, "displacement_factor": 1, "third_harmonic_pct": 80},
            "third_harmonic_pct",
            "power_factor is then at most 0.781",
        ),
        (
            {"power_factor": 0.9, "displacement": "none"},
            "displacement",
            "lagging or leading",
        ),
        ({"power_factor": 0.9, "load_model": "tungsten"}, "power_factor", "plain resistance"),
    ],
)
def test_figures_that_contradict_each_other_are_told_what_would_agree(
    catalogue: Catalogue, figures: Body, field: str, said: str
) -> None:
    # PF = cos(phi1) / sqrt(1 + THD^2), power-electronics textbooks: 0.9 sqrt(1 + 0.2^2) = 0.918,
    # 1 / sqrt(1 + 0.8^2) = 0.781.
    body = a_body(loads=[a_custom("a", "l1-bottom", **figures)])

    fault = the_only_fault(faults(body, catalogue))

    assert fault.pointer == f"/loads/0/custom/{field}"
    assert said in fault.detail


def test_electronics_behind_a_phase_cut_dimmer_are_refused(catalogue: Catalogue) -> None:
    loads = [
        {
            "id": "panel",
            "fixture": "led-panel-200",
            "board": "main",
            "outlet": "l1-bottom",
            "dimmed_to": 0.5,
            "dimmer": "phase-cut",
        }
    ]

    fault = the_only_fault(faults(a_body(loads=loads), catalogue))

    assert fault.pointer == "/loads/0/dimmer"
    assert "never behind a phase-cut dimmer" in fault.detail


def test_a_loose_load_is_a_fault_to_balance_and_none_to_plan(catalogue: Catalogue) -> None:
    body = a_body(loads=[a_custom("a", None)])

    fault = the_only_fault(faults(body, catalogue))

    assert fault.pointer == "/loads/0/outlet"
    assert faults(body, catalogue, loose=True) == []


def test_more_loads_than_a_layout_may_hold_are_refused(catalogue: Catalogue) -> None:
    loads = [a_custom(f"a{i}", None) for i in range(1001)]

    fault = the_only_fault(faults(a_body(loads=loads), catalogue, loose=True))

    assert fault.pointer == "/loads"
    assert "at most 1000" in fault.detail


def test_more_loads_in_more_set_ups_than_an_answer_can_hold_are_refused(
    catalogue: Catalogue,
) -> None:
    loads = [a_custom(f"a{i}", None) for i in range(500)]
    setups = [{"id": f"s{i}"} for i in range(21)]

    fault = the_only_fault(faults(a_body(loads=loads, setups=setups), catalogue, loose=True))

    assert fault.pointer == "/setups"
    assert "at most 20 set-ups with so many loads" in fault.detail


def test_faults_without_end_are_cut_short_and_said_to_be(catalogue: Catalogue) -> None:
    body = a_body(**{f"field{i}": 1 for i in range(5000)})

    found = faults(body, catalogue)

    assert len(found) == 1001
    assert "More than 1000 faults" in found[-1].detail


def test_a_fault_of_the_supply_does_not_hide_those_of_boards_and_loads(
    catalogue: Catalogue,
) -> None:
    body = changed(the_night_exterior(), "/supply/rating_a", -1)
    body["loads"][0]["outlet"] = "l9"

    found = faults(body, catalogue)

    assert {f.pointer for f in found} == {"/supply/rating_a", "/loads/0/outlet"}


@pytest.mark.parametrize(
    ("pointer", "value"),
    [
        ("/boards", "none"),
        ("/boards/0", 7),
        ("/boards/0/id", 7),
        ("/setups", {}),
        ("/setups/0", "wide"),
        ("/setups/0/id", None),
    ],
)
def test_what_only_follows_from_a_name_that_cannot_be_read_is_not_told(
    catalogue: Catalogue, pointer: str, value: Any
) -> None:
    body = changed(the_night_exterior(), pointer, value)

    assert the_only_fault(faults(body, catalogue)).pointer == pointer


def test_a_fault_of_a_board_does_not_make_its_loads_unknown(catalogue: Catalogue) -> None:
    body = changed(the_night_exterior(), "/boards/0/feeder/length_m", -1)

    assert the_only_fault(faults(body, catalogue)).pointer == "/boards/0/feeder/length_m"
