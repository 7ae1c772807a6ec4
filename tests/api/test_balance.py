"""``POST /v1/balance``: the answer of the contract, and every bad input said where it is."""

from __future__ import annotations

import csv
import io
import json
import math
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from evenboard import ENGINE_VERSION
from evenboard.balance import NOTICE
from support.desk import a_fixture_body, desk_headers
from support.layouts import a_body, a_body_load, changed
from support.problems import assert_problem

CASES = sorted((Path(__file__).parents[1] / "cases").glob("*/layout.json"))


def post(client: FlaskClient, body: Any, **headers: str) -> Any:
    return client.post("/v1/balance", json=body, headers=headers)


def test_a_lamp_on_one_phase_is_said_in_amps(client: FlaskClient) -> None:
    answer = post(client, a_body()).json

    currents = {phase["phase"]: phase["current_a"] for phase in answer["phases"]}
    # 2000 W at 230 V without any cable between.
    assert currents == {"L1": pytest.approx(8.70, abs=0.005), "L2": 0.0, "L3": 0.0}
    assert answer["neutral"]["current_a"] == pytest.approx(8.70, abs=0.005)


def test_the_answer_has_the_fields_of_the_contract(client: FlaskClient) -> None:
    answer = post(client, a_body()).json

    assert {
        "verdict", "supply", "phases", "neutral", "open_neutral", "unbalance", "boards", "setups",
        "loads", "findings", "notice", "engine_version", "catalogue_version",
    } <= answer.keys()  # fmt: skip
    assert {"rating_a", "total_rating_a", "voltage_v", "capacity_va"} <= answer["supply"].keys()
    assert {
        "phase", "current_a", "fundamental_a", "power_w", "reactive_var", "apparent_va",
        "power_factor", "rating_a", "loading_pct", "headroom_a", "room_for",
    } <= answer["phases"][0].keys()  # fmt: skip
    assert {
        "current_a", "fundamental_a", "triplen_a", "rating_a", "loading_pct", "worst_switching_a",
        "worst_switching_on",
    } <= answer["neutral"].keys()  # fmt: skip
    assert answer["open_neutral"]["voltage_v"].keys() == {"L1", "L2", "L3"}
    assert {
        "current_pct", "spread_a", "spread_pct", "negative_sequence_pct", "voltage_pct",
    } <= answer["unbalance"].keys()  # fmt: skip
    [board] = answer["boards"]
    assert {
        "id", "phases", "neutral", "voltage_v", "neutral_to_earth_v", "voltage_drop_pct",
        "feeder", "outlets", "rcds",
    } <= board.keys()  # fmt: skip
    assert {
        "id", "current_a", "voltage_v", "inrush_a", "loop_impedance_ohm",
    } <= board["outlets"][0].keys()  # fmt: skip
    assert {"id", "leakage_ma"} <= board["rcds"][0].keys()
    assert {"id", "phases", "neutral", "unbalance"} <= answer["setups"][0].keys()
    assert {
        "id", "voltage_v", "current_a", "power_w", "light_pct", "colour_temperature_k",
    } <= answer["loads"][0].keys()  # fmt: skip


def test_a_feeder_and_a_finding_have_the_fields_of_the_contract(client: FlaskClient) -> None:
    feeder = {"cable": "h07rn-f", "csa_mm2": 6, "length_m": 30, "laid": "coiled", "coil_layers": 2}
    boards = [{"id": "main", "type": "three-row-32", "feeder": feeder}]
    lamps = [a_body_load(f"k{row}", f"l1-{row}") for row in ("bottom", "middle", "top")]

    answer = post(client, a_body(*lamps, boards=boards)).json

    assert {
        "capacity_a", "loss_w", "core_temperature_c", "core_spread_k", "differential_expansion_mm",
    } <= answer["boards"][0]["feeder"].keys()  # fmt: skip
    assert answer["verdict"] == "fail"
    for finding in answer["findings"]:
        assert {
            "code", "severity", "where", "value", "limit", "unit", "message", "remedy", "basis",
        } <= finding.keys()  # fmt: skip
        assert finding["where"].keys() == {"board", "phase", "outlet", "load", "setup"}
        assert finding["message"]
        assert finding["basis"]


def test_the_answer_says_by_which_engine_and_catalogue_and_with_which_caution(
    client: FlaskClient,
) -> None:
    answer = post(client, a_body()).json

    assert answer["engine_version"] == ENGINE_VERSION
    assert answer["catalogue_version"] == client.get("/v1/fixtures").json["catalogue_version"]
    assert answer["notice"] == NOTICE
    assert "competent" in answer["notice"]


def test_it_can_be_asked_without_an_account_and_is_kept_by_nobody(client: FlaskClient) -> None:
    response = post(client, a_body())

    assert response.status_code == 200
    assert response.headers["Cache-Control"] == "no-store"


def test_the_same_layout_gives_the_same_bytes(client: FlaskClient) -> None:
    assert post(client, a_body()).data == post(client, a_body()).data


def test_the_phase_table_comes_as_csv(client: FlaskClient) -> None:
    response = post(client, a_body(), Accept="text/csv")

    assert response.mimetype == "text/csv"
    rows = list(csv.DictReader(io.StringIO(response.text)))
    supply = {row["phase"]: row for row in rows if not row["board"]}
    assert supply["L1"]["current_a"] == "8.7"
    assert supply["N"]["current_a"] == "8.7"
    assert {row["board"] for row in rows} == {"", "main"}


def test_a_name_in_the_phase_table_is_no_formula(client: FlaskClient) -> None:
    body = a_body(a_body_load(board="=1+1"), boards=[{"id": "=1+1", "type": "three-row-32"}])

    rows = list(csv.reader(io.StringIO(post(client, body, Accept="text/csv").text)))

    assert "'=1+1" in [row[1] for row in rows]


@pytest.mark.parametrize(
    ("accept", "mimetype"),
    [
        ("*/*", "application/json"),
        ("application/json", "application/json"),
        ("text/csv, application/json;q=0.5", "text/csv"),
        ("text/html, */*;q=0.1", "application/json"),
    ],
)
def test_the_form_that_is_liked_best_is_sent(
    client: FlaskClient, accept: str, mimetype: str
) -> None:
    assert post(client, a_body(), Accept=accept).mimetype == mimetype


def test_a_form_that_there_is_not_is_not_acceptable(client: FlaskClient) -> None:
    assert_problem(post(client, a_body(), Accept="application/pdf"), 406)


def test_an_own_type_of_the_desk_can_be_balanced(app: Flask, client: FlaskClient) -> None:
    client.post("/v1/fixtures", json=a_fixture_body(), headers=desk_headers(app))

    answer = post(client, a_body(a_body_load(fixture="led-house-panel-350"))).json

    # 350 W / (230 V x 0.95)
    assert answer["phases"][0]["current_a"] == pytest.approx(1.60, abs=0.01)


@pytest.mark.parametrize("case", CASES, ids=lambda file: file.parent.name)
def test_the_worked_cases_are_answered(client: FlaskClient, case: Path) -> None:
    response = post(client, json.loads(case.read_text()))

    assert response.status_code == 200
    assert response.json["verdict"] in ("pass", "caution", "fail")


# --- bad inputs ---------------------------------------------------------------------------------

LEAD = {"cable": "h07rn-f", "csa_mm2": 2.5, "length_m": 10}
TWO_BOARDS = [
    {"id": "main", "type": "three-row-32"},
    {"id": "side", "type": "three-row-32", "fed_from": {"board": "main", "outlet": "sub-1"}},
]
CIRCLE = [
    {"id": "a", "type": "three-row-32", "fed_from": {"board": "b", "outlet": "sub-1"}},
    {"id": "b", "type": "three-row-32", "fed_from": {"board": "a", "outlet": "sub-1"}},
]
CUSTOM = {"name": "tea urn", "power_w": 2400, "power_factor": 1.0}
ON_CUSTOM = a_body(a_body_load(fixture=None, custom=CUSTOM))


@pytest.mark.parametrize(
    ("body", "pointer", "said"),
    [
        (changed(a_body(), "/loads/0/fixture", "tungsten-open-fase-2000"), "/loads/0/fixture",
         "tungsten-open-face-2000"),
        (changed(a_body(), "/loads/0/fixture", 5), "/loads/0/fixture", ""),
        (changed(a_body(), "/loads/0/outlet", "l1-botom"), "/loads/0/outlet", "l1-bottom"),
        (changed(a_body(), "/loads/0/board", "mian"), "/loads/0/board", "main"),
        (a_body(a_body_load("a"), a_body_load("b")), "/loads/1/outlet", "four-way"),
        (a_body(a_body_load("a"), a_body_load("a", "l2-bottom")), "/loads/1/id", "a"),
        (a_body(a_body_load(outlet=None)), "/loads/0/outlet", ""),
        (a_body(boards=CIRCLE, loads=[]), "/boards/0/fed_from/board", "circle"),
        (a_body(boards=[TWO_BOARDS[0], TWO_BOARDS[0]]), "/boards/1/id", "main"),
        (changed(ON_CUSTOM, "/loads/0/custom/power_w", -5), "/loads/0/custom/power_w", "from 0.1"),
        (changed(ON_CUSTOM, "/loads/0/custom/power_w", 0), "/loads/0/custom/power_w", "from 0.1"),
        (changed(ON_CUSTOM, "/loads/0/custom/power_w", 1e300), "/loads/0/custom/power_w",
         "1000000"),
        (changed(ON_CUSTOM, "/loads/0/custom/power_w", "2400"), "/loads/0/custom/power_w",
         "number"),
        (changed(ON_CUSTOM, "/loads/0/custom/power_factor", 1.1), "/loads/0/custom/power_factor",
         "1"),
        (changed(ON_CUSTOM, "/loads/0/custom/power_factor", 0), "/loads/0/custom/power_factor",
         ""),
        (changed(ON_CUSTOM, "/loads/0/custom/power_factor", -0.5),
         "/loads/0/custom/power_factor", ""),
        (changed(a_body(), "/supply/voltage_v", 0), "/supply/voltage_v", "10"),
        (changed(a_body(), "/supply/voltage_v", 400), "/supply/voltage_v", "line to neutral"),
        (changed(a_body(), "/supply/rating_a", 0), "/supply/rating_a", "from 0.1"),
        (changed(a_body(), "/region", "uu"), "/region", "us"),
        (changed(a_body(), "/supply", None), "/supply", ""),
        (changed(a_body(), "/boards", None), "/boards", ""),
        (changed(a_body(), "/boards", []), "/loads/0/board", ""),
        (changed(a_body(), "/loads", {}), "/loads", "list"),
        (changed(a_body(), "/loads/0", 7), "/loads/0", "object"),
        (changed(a_body(), "/loads/0/count", 1.5), "/loads/0/count", "whole"),
        (changed(a_body(), "/loads/0/dimmed_to", 1.5), "/loads/0/dimmed_to", "1"),
        (changed(a_body(), "/loads/0/colour", "red"), "/loads/0/colour", "no field"),
        (changed(a_body(), "/nmae", "x"), "/nmae", "name"),
        (changed(a_body(), "/name", "a\0b"), "/name", "control character"),
        (changed(a_body(), "/name", "x" * 201), "/name", "200"),
        (changed(a_body(), "/ambient_c", 99), "/ambient_c", "60"),
        (changed(a_body(), "/loads/0/lead", {**LEAD, "csa_mm2": 2.4}), "/loads/0/lead/csa_mm2",
         "2.5"),
        (changed(a_body(), "/loads/0/lead", {**LEAD, "length_m": -1}), "/loads/0/lead/length_m",
         "0"),
        (changed(a_body(), "/loads/0/lead", {**LEAD, "cable": "h07rnf"}), "/loads/0/lead/cable",
         "h07rn-f"),
        # The plug of one standard, a board with outlets of another.
        (a_body(a_body_load(connector="as3112-10"), region="eu",
                boards=[{"id": "main", "type": "three-row-32-blue"}]), "/loads/0/connector",
         "16 A"),
    ],
)  # fmt: skip
def test_a_bad_layout_is_refused_with_the_place_and_what_would_be_right(
    client: FlaskClient, body: dict[str, Any], pointer: str, said: str
) -> None:
    problem = assert_problem(post(client, body), 422, pointer)

    details = [e["detail"] for e in problem["errors"] if e["pointer"] == pointer]
    assert any(said in detail for detail in details), details


def test_a_lamp_for_230_volts_on_120_is_no_bad_input_but_a_finding_about_that_lamp(
    client: FlaskClient,
) -> None:
    kettle = a_body_load(fixture="unit-base-kettle-3000", outlet="l1-middle-1")
    boards = [{"id": "main", "type": "band-100"}]

    answer = post(client, a_body(kettle, region="us", supply={"rating_a": 100}, boards=boards)).json

    [finding] = [f for f in answer["findings"] if f["code"] == "voltage-mismatch"]
    assert finding["where"]["load"] == "key"
    assert answer["verdict"] != "pass"


def test_all_faults_come_at_once_each_place_once(client: FlaskClient) -> None:
    body = a_body(
        a_body_load("a", "nowhere"),
        a_body_load("b", "l2-bottom", fixture="nothing", count="two"),
        region="au",
        nmae="x",
        ambient_c="hot",
    )

    problem = assert_problem(post(client, body), 422)

    places = [error["pointer"] for error in problem["errors"]]
    assert sorted(places) == [
        "/ambient_c", "/loads/0/outlet", "/loads/1/count", "/loads/1/fixture", "/nmae",
    ]  # fmt: skip
    assert problem["detail"].startswith("5 faults")


@pytest.mark.parametrize("word", ["NaN", "Infinity", "-Infinity", "1e999"])
def test_a_number_that_is_not_finite_is_refused(client: FlaskClient, word: str) -> None:
    text = json.dumps(ON_CUSTOM).replace("2400", word)

    response = client.post("/v1/balance", data=text, content_type="application/json")

    assert_problem(response, 400)


@pytest.mark.parametrize(
    "body",
    [b"", b"   ", b"null", b"[]", b"5", b'"text"', b"{}", b"{", b"\xff", b"{}{}", b"[" * 100_000],
)
def test_what_is_no_layout_at_all_is_refused(client: FlaskClient, body: bytes) -> None:
    response = client.post("/v1/balance", data=body, content_type="application/json")

    assert response.status_code in (400, 422)
    assert_problem(response, response.status_code)


@pytest.mark.parametrize(
    "content_type",
    [None, "", "text/plain", "application/x-www-form-urlencoded", "application/xml", "nonsense"],
)
def test_another_type_than_json_is_not_read(client: FlaskClient, content_type: str | None) -> None:
    response = client.post("/v1/balance", data=json.dumps(a_body()), content_type=content_type)

    assert_problem(response, 415)


@pytest.mark.parametrize("charset", ["latin1", "utf-16", '"ascii"', "nonsense"])
def test_json_in_another_charset_is_refused(client: FlaskClient, charset: str) -> None:
    # RFC 8259: JSON between systems is UTF-8; what is read otherwise than written is read wrong.
    response = client.post(
        "/v1/balance",
        data=json.dumps(a_body()),
        content_type=f"application/json; charset={charset}",
    )

    problem = assert_problem(response, 415)
    assert "utf-8" in problem["detail"]


def test_json_with_a_charset_is_json(client: FlaskClient) -> None:
    response = client.post(
        "/v1/balance", data=json.dumps(a_body()), content_type="application/json; charset=utf-8"
    )

    assert response.status_code == 200


def test_a_body_over_the_limit_is_too_large(client: FlaskClient) -> None:
    body = json.dumps(a_body()).encode() + b" " * 2**20

    assert_problem(client.post("/v1/balance", data=body, content_type="application/json"), 413)


@pytest.mark.parametrize("method", ["GET", "PUT", "DELETE", "PATCH"])
def test_another_method_is_told_which_ones_there_are(client: FlaskClient, method: str) -> None:
    response = client.open("/v1/balance", method=method)

    assert_problem(response, 405)
    assert "POST" in response.headers["Allow"]


def test_the_largest_layout_allowed_is_answered_with_finite_figures(client: FlaskClient) -> None:
    outlets = [{"id": f"o{i}", "lines": [f"L{i % 3 + 1}"], "rating_a": 63} for i in range(400)]
    loads = [
        {"id": f"k{i}", "custom": {"name": "x", "power_w": 10}, "board": "b", "outlet": f"o{i}"}
        for i in range(400)
    ]

    answer = post(client, a_body(*loads, boards=[{"id": "b", "outlets": outlets}])).json

    assert all(math.isfinite(phase["current_a"]) for phase in answer["phases"])
    assert sum(phase["power_w"] for phase in answer["phases"]) == pytest.approx(4000, rel=1e-3)
