"""``POST /v1/plan``: the answer of the contract, and every bad input said where it is."""

from __future__ import annotations

import csv
import io
import json
from typing import Any

import jsonschema_rs
import pytest
from flask.testing import FlaskClient

from evenboard.balance import NOTICE
from evenboard.paths import demo_folder
from support.layouts import a_body, a_body_load, changed
from support.problems import assert_problem

ALL_ON_ONE = a_body(*(a_body_load(f"k{row}", f"l1-{row}") for row in ("bottom", "middle", "top")))
LOOSE = a_body(*(a_body_load(f"k{i}", board=None, outlet=None) for i in range(6)))


def post(client: FlaskClient, body: Any, **headers: str) -> Any:
    return client.post("/v1/plan", json=body, headers=headers)


def test_three_lamps_on_one_phase_come_to_lie_one_on_each(client: FlaskClient) -> None:
    answer = post(client, ALL_ON_ONE).json

    assert answer["moves"] == 2
    assert answer["proven_optimal"] is True
    # 2000 W at 230 V on each, none lower.
    assert answer["worst_phase_a"] == answer["lower_bound_a"] == pytest.approx(8.70, abs=0.005)
    before, after = (
        [phase["current_a"] for phase in answer[when]["phases"]] for when in ("before", "after")
    )
    assert before == [pytest.approx(26.1, abs=0.05), 0, 0]
    assert after == [pytest.approx(8.70, abs=0.005)] * 3


def test_loose_lamps_find_outlets_and_count_as_no_moves(client: FlaskClient) -> None:
    answer = post(client, LOOSE).json

    assert answer["moves"] == 0
    assert answer["unplaced"] == []
    assert {a["load"] for a in answer["assignments"]} == {f"k{i}" for i in range(6)}
    assert all(a["moved_from"] is None for a in answer["assignments"])
    assert sum(phase["power_w"] for phase in answer["before"]["phases"]) == 0
    assert all(
        phase["current_a"] == pytest.approx(17.39, abs=0.01) for phase in answer["after"]["phases"]
    )


def test_the_answer_has_the_fields_of_the_contract_and_of_its_description(
    client: FlaskClient,
) -> None:
    answer = post(client, ALL_ON_ONE).json

    assert {
        "assignments", "moves", "worst_phase_a", "spread_a", "lower_bound_a", "proven_optimal",
        "before", "after", "unplaced", "why", "engine_version", "catalogue_version", "notice",
    } <= answer.keys()  # fmt: skip
    assert {"load", "board", "outlet", "moved_from"} <= answer["assignments"][0].keys()
    assert answer["notice"] == NOTICE
    document = client.get("/openapi.json").json
    described = {"$ref": "#/components/schemas/Plan", "components": document["components"]}
    jsonschema_rs.Draft202012Validator(described).validate(answer)


def test_what_the_plan_says_can_be_plugged_and_balanced_to_the_same_figures(
    client: FlaskClient,
) -> None:
    answer = post(client, LOOSE).json

    places = {a["load"]: (a["board"], a["outlet"]) for a in answer["assignments"]}
    loads = [
        a_body_load(load["id"], board=places[load["id"]][0], outlet=places[load["id"]][1])
        for load in LOOSE["loads"]
    ]
    balanced = client.post("/v1/balance", json=a_body(*loads)).json

    assert balanced["phases"] == answer["after"]["phases"]
    assert balanced["verdict"] == answer["after"]["verdict"]


def test_a_pinned_lamp_stays_where_it_is(client: FlaskClient) -> None:
    pinned = a_body(*({**load, "keep": True} for load in ALL_ON_ONE["loads"]))

    answer = post(client, pinned).json

    assert answer["moves"] == 0
    assert [a["outlet"] for a in answer["assignments"]] == ["l1-bottom", "l1-middle", "l1-top"]


@pytest.mark.parametrize(("most", "moves"), [(0, 0), (1, 1), (2.0, 2), (None, 2)])
def test_no_more_plugs_are_pulled_than_asked_for(
    client: FlaskClient, most: float | None, moves: int
) -> None:
    answer = post(client, {**ALL_ON_ONE, "options": {"max_moves": most}}).json

    assert answer["moves"] == moves


def test_a_load_that_fits_nowhere_is_named_with_the_reason(client: FlaskClient) -> None:
    huge = a_body_load(fixture=None, board=None, outlet=None, custom={"name": "x", "power_w": 9e4})

    answer = post(client, a_body(huge)).json

    [unplaced] = answer["unplaced"]
    assert unplaced["load"] == "key"
    assert unplaced["why"]


def test_the_phase_table_of_the_plan_comes_as_csv(client: FlaskClient) -> None:
    response = post(client, ALL_ON_ONE, Accept="text/csv")

    rows = [row for row in csv.DictReader(io.StringIO(response.text)) if not row["board"]]
    assert {row["phase"]: row["current_a"] for row in rows} == {
        "L1": "8.7", "L2": "8.7", "L3": "8.7", "N": "0.0",
    }  # fmt: skip


def test_the_demo_board_with_everything_on_one_phase_is_put_right(client: FlaskClient) -> None:
    layout = json.loads((demo_folder() / "boathouse-one-phase.json").read_text())["layout"]

    answer = post(client, layout).json

    assert answer["after"]["unbalance"]["spread_pct"] < answer["before"]["unbalance"]["spread_pct"]
    assert answer["worst_phase_a"] < 30


@pytest.mark.parametrize(
    ("body", "pointer", "said"),
    [
        ({**LOOSE, "options": {"objective": "evenn"}}, "/options/objective", "even"),
        ({**LOOSE, "options": {"max_moves": -1}}, "/options/max_moves", "at least 0"),
        ({**LOOSE, "options": {"max_moves": 1.5}}, "/options/max_moves", "whole"),
        ({**LOOSE, "options": {"max_move": 1}}, "/options/max_move", "max_moves"),
        ({**LOOSE, "options": {"spare_a": "5"}}, "/options/spare_a", "number"),
        ({**LOOSE, "options": {"budget": 10**12}}, "/options/budget", "no field"),
        ({**LOOSE, "options": []}, "/options", "object"),
        ({**LOOSE, "optoins": {}}, "/optoins", ""),
        (changed(LOOSE, "/loads/0/fixture", "tungsten-open-fase-2000"), "/loads/0/fixture",
         "tungsten-open-face-2000"),
    ],
)  # fmt: skip
def test_a_bad_question_is_refused_with_the_place_and_what_would_be_right(
    client: FlaskClient, body: dict[str, Any], pointer: str, said: str
) -> None:
    problem = assert_problem(post(client, body), 422, pointer)

    details = [e["detail"] for e in problem["errors"] if e["pointer"] == pointer]
    assert any(said in detail for detail in details), details


def test_faults_of_the_layout_and_of_the_options_come_together(client: FlaskClient) -> None:
    body = changed({**LOOSE, "options": {"max_moves": -1}}, "/region", "uu")

    problem = assert_problem(post(client, body), 422, "/options/max_moves")

    assert "/region" in [error["pointer"] for error in problem["errors"]]


def test_options_are_no_part_of_a_balance(client: FlaskClient) -> None:
    response = client.post("/v1/balance", json={**a_body(), "options": {}})

    assert_problem(response, 422, "/options")
