"""Reports of layouts with tagged equipment: what must not go out never gets into one."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from evenboard.api import issue as issuing
from support.equipment import add_piece, withdraw
from support.layouts import a_body, a_body_load
from support.problems import assert_problem

REF = "A/7"


@pytest.fixture
def app(app_on_both: Flask) -> Flask:
    return app_on_both


def a_tagged(*loads: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """An even board on the feeder C-12, of which the layout says no more."""
    even = [a_body_load(f"lamp-{n}", f"l{n}-bottom") for n in (1, 2, 3)]
    body = a_body(*(loads or even), **changes)
    body["boards"][0]["feeder"] = {"tag": "C-12", "laid": "surface"}
    return body


def uneven(hours_h: float | None = None) -> dict[str, Any]:
    """Ten kilowatts on one line, nothing on the others."""
    body = a_tagged(a_body_load("row", "l1-bottom", count=3), name="Uneven")
    if hours_h is not None:
        body["setups"] = [{"id": "all", "hours_h": hours_h}]
    return body


def issue(client: FlaskClient, desk: dict[str, str], body: Any = None, **fields: Any) -> Any:
    sent = fields if "layout_id" in fields else {"layout": body or a_tagged(), **fields}
    return client.post(f"/v1/orders/{REF}/reports", json=sent, headers=desk)


def issued(client: FlaskClient, desk: dict[str, str]) -> int:
    answer = client.get("/v1/reports", headers=desk)
    return len(answer.json["items"])


def day(days: int = 0) -> str:
    return (datetime.now().astimezone().date() + timedelta(days=days)).isoformat()


ACCEPT = {"accept_fail": {"by": "Ben Okafor", "reason": "checked by hand"}}


def overdue(client: FlaskClient, desk: dict[str, str]) -> None:
    add_piece(client, desk, tested_on=day(-200))


def withdrawn(client: FlaskClient, desk: dict[str, str]) -> None:
    add_piece(client, desk)
    withdraw(client, desk)


def missing(client: FlaskClient, desk: dict[str, str]) -> None:
    add_piece(client, desk)
    path = "/v1/equipment/C-12/inspections"
    assert client.post(path, json={"found": ["missing"]}, headers=desk).status_code == 201


def elsewhere(client: FlaskClient, desk: dict[str, str]) -> None:
    add_piece(client, desk)
    path = "/v1/equipment/C-12/check-outs"
    assert client.post(path, json={"order_ref": "B/9"}, headers=desk).status_code == 201


@pytest.mark.parametrize(
    ("make", "word"),
    [
        (overdue, "due for its test"),
        (withdrawn, "withdrawn"),
        (missing, "missing"),
        (elsewhere, "B/9"),
    ],
)
def test_what_must_not_go_out_is_in_no_report_whoever_answers_for_it(
    client: FlaskClient, desk: dict[str, str], make: Callable[..., None], word: str
) -> None:
    make(client, desk)
    saved = client.post("/v1/layouts", json={"body": a_tagged()}, headers=desk).json

    for fields in ({}, ACCEPT):
        problem = assert_problem(issue(client, desk, **fields), 409, "/layout/boards/0/feeder/tag")
        assert problem["type"] == "/problems/equipment-withdrawn"
        assert word in problem["errors"][0]["detail"]
        assert_problem(issue(client, desk, layout_id=saved["id"], **fields), 409, "/layout_id")
    assert issued(client, desk) == 0


def test_a_fit_piece_is_listed_with_its_data_and_the_layout_is_whole(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk, name="yellow")

    made = issue(client, desk)

    assert made.status_code == 201, made.text
    content = client.get(made.headers["Location"], headers=desk).json["content"]
    [piece] = content["equipment"]
    assert (piece["tag"], piece["csa_mm2"], piece["state"]) == ("C-12", 6.0, "in-service")
    assert piece["tested_on"] == day()
    feeder = content["layout"]["boards"][0]["feeder"]
    assert (feeder["cable"], feeder["csa_mm2"], feeder["length_m"]) == ("h07rn-f", 6.0, 30.0)


@pytest.mark.parametrize("what", ["withdrawn", "corrected"])
def test_a_piece_that_changes_while_the_report_is_being_set_is_noticed(
    app_on_both: Flask,
    client: FlaskClient,
    desk: dict[str, str],
    monkeypatch: pytest.MonkeyPatch,
    what: str,
) -> None:
    add_piece(client, desk)
    drafted = []

    def slow_draft(*arguments: Any, **options: Any) -> Any:
        made = issuing_draft(*arguments, **options)
        drafted.append(made)
        if len(drafted) == 1:
            other = app_on_both.test_client()
            if what == "withdrawn":
                withdraw(other, desk)
            else:
                read = other.get("/v1/equipment/C-12", headers=desk)
                record = {"kind": "cable", "cable": "h07rn-f", "csa_mm2": 6, "length_m": 30}
                record |= {"tested_on": day(), "name": "repainted"}
                headers = {**desk, "If-Match": read.headers["ETag"]}
                put = other.put("/v1/equipment/C-12", json=record, headers=headers)
                assert put.status_code == 200, put.text
        return made

    issuing_draft = issuing.draft
    monkeypatch.setattr(issuing, "draft", slow_draft)

    answer = issue(client, desk)

    if what == "withdrawn":
        assert_problem(answer, 409, "/layout/boards/0/feeder/tag")
        assert issued(client, desk) == 0
    else:
        content = client.get(answer.headers["Location"], headers=desk).json["content"]
        assert content["equipment"][0]["name"] == "repainted"
        assert len(drafted) == 2


def test_a_saved_layout_that_contradicts_the_record_is_not_issued(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    body = a_tagged()
    body["boards"][0]["feeder"] |= {"cable": "h07rn-f", "csa_mm2": 4, "length_m": 30}
    saved = client.post("/v1/layouts", json={"body": body}, headers=desk).json
    add_piece(client, desk)

    problem = assert_problem(issue(client, desk, layout_id=saved["id"]), 422, "/layout_id")

    assert "/boards/0/feeder/csa_mm2" in problem["errors"][0]["detail"]


def history(client: FlaskClient, desk: dict[str, str]) -> Any:
    return client.get("/v1/equipment/C-12/history", headers=desk).json


def test_a_report_adds_core_spread_times_hours_to_the_cable_s_history(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)
    order = {"starts_on": "2026-12-01", "ends_on": "2026-12-05"}
    assert client.put(f"/v1/orders/{REF}", json=order, headers=desk).status_code in (200, 201)

    made = issue_uneven(client, desk, hours_h=8)
    content = client.get(made.headers["Location"], headers=desk).json["content"]
    spread_k = content["balance"]["boards"][0]["feeder"]["core_spread_k"]
    told = history(client, desk)

    [on_order] = told["orders"]
    [run] = on_order["runs"]
    assert spread_k > 3.0
    # The report gives a tenth of a kelvin.
    assert run["core_spread_k"] == pytest.approx(spread_k, abs=0.06)
    assert (run["days"], run["days_from"]) == (5, "order")
    assert (run["hours_per_day_h"], run["hours_from"]) == (8.0, "set-ups")
    # Kelvin times hours times days, by hand.
    assert told["spread_kh"] == pytest.approx(run["core_spread_k"] * 8 * 5, rel=1e-3)
    assert "Hours are those of the set-ups" in told["basis"]


def test_a_report_that_is_superseded_is_not_added_twice(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)
    first = issue_uneven(client, desk)
    once = history(client, desk)["spread_kh"]
    second = issue_uneven(client, desk)
    assert second.json["supersedes"] == first.json["id"]

    told = history(client, desk)

    assert told["spread_kh"] == pytest.approx(once)
    runs = told["orders"][0]["runs"]
    assert sorted(run["counts"] for run in runs) == [False, True]
    assert {(run["days"], run["days_from"], run["hours_from"]) for run in runs} == {
        (1, "assumed", "assumed")
    }


def issue_uneven(client: FlaskClient, desk: dict[str, str], hours_h: float | None = None) -> Any:
    made = issue(client, desk, uneven(hours_h), **ACCEPT)
    assert made.status_code == 201, made.text
    return made


def test_cables_that_are_likely_to_deform_come_first(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)
    order = {"starts_on": "2026-10-01", "ends_on": "2027-03-31"}
    client.put(f"/v1/orders/{REF}", json=order, headers=desk)
    issue_uneven(client, desk)

    told = client.get("/v1/equipment-uneven", headers=desk).json
    path = "/v1/equipment/C-12/inspections"
    looked = client.post(path, json={"found": ["fine"]}, headers=desk)

    [cable] = told["items"]
    assert cable["piece"]["tag"] == "C-12"
    assert cable["likely_to_deform"] is True
    assert cable["spread_kh"] > told["deforms_kh"] == 2500.0
    assert told["basis"].startswith("Estimate:")
    assert "run uneven" in looked.json["warnings"][0]
    assert client.get("/v1/equipment-uneven?least_kh=99999999", headers=desk).json["items"] == []


def test_an_order_without_a_report_counts_by_its_layouts_and_the_days_it_was_out(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)
    body = {"body": uneven(hours_h=6), "order_ref": REF}
    assert client.post("/v1/layouts", json=body, headers=desk).status_code == 201
    path = "/v1/equipment/C-12"
    client.post(f"{path}/check-outs", json={"order_ref": REF}, headers=desk)

    while_out = history(client, desk)
    back = {"found": ["fine"], "returned": True}
    assert client.post(f"{path}/inspections", json=back, headers=desk).status_code == 201
    after = history(client, desk)

    for told in (while_out, after):
        [run] = told["orders"][0]["runs"]
        assert (run["source"], run["days"], run["days_from"]) == ("layout", 1, "out")
        assert told["spread_kh"] == pytest.approx(run["core_spread_k"] * 6, rel=1e-3)
    assert while_out["orders"][0]["back_at"] is None
    assert after["orders"][0]["found"] == ["fine"]
