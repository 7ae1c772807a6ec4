"""Reports of layouts that name equipment by tag, on both databases."""

from __future__ import annotations

from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from support.equipment import add_piece, withdraw
from support.layouts import a_body, a_body_load
from support.papers import page_texts, squeezed
from support.problems import assert_problem


@pytest.fixture
def app(app_on_both: Flask) -> Flask:
    return app_on_both


def tagged_layout() -> dict[str, Any]:
    """A board on a tagged cable with one of three lines loaded."""
    body = a_body(a_body_load("key", "l1-bottom"), name="Quay")
    body["boards"][0]["feeder"] = {"tag": "C-12", "laid": "surface"}
    return body


def issue(client: FlaskClient, desk: dict[str, str], ref: str = "A/7", **fields: Any) -> Any:
    body = fields if "layout_id" in fields else {"layout": tagged_layout()} | fields
    return client.post(f"/v1/orders/{ref}/reports", json=body, headers=desk)


def test_the_paper_lists_the_piece_by_its_record_and_its_history_tells_the_order(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)

    made = issue(client, desk)

    assert made.status_code == 201, made.text
    content = client.get(f"/v1/reports/{made.json['id']}", headers=desk).json["content"]
    [piece] = content["equipment"]
    assert (piece["tag"], piece["state"]) == ("C-12", "in-service")
    # What the record says stands in the layout as checked, so that it stands for itself.
    assert content["layout"]["boards"][0]["feeder"]["cable"] == piece["cable"]
    text = "".join(page_texts(client.get(made.json["links"]["pdf"]).data))
    assert squeezed("Equipment by tag") in text
    assert squeezed("C-12") in text
    history = client.get("/v1/equipment/C-12/history", headers=desk).json
    [order] = history["orders"]
    assert order["order_ref"] == "A/7"
    assert order["spread_kh"] > 0


def test_a_superseded_reports_run_of_a_cable_is_not_counted_twice(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)
    issue(client, desk)
    once = client.get("/v1/equipment/C-12/history", headers=desk).json["spread_kh"]

    issue(client, desk)

    assert client.get("/v1/equipment/C-12/history", headers=desk).json["spread_kh"] == once


def test_a_withdrawn_piece_keeps_a_report_from_being_issued(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)
    saved = client.post("/v1/layouts", json={"body": tagged_layout()}, headers=desk).json
    withdraw(client, desk)

    refused = assert_problem(issue(client, desk), 409, "/layout/boards/0/feeder/tag")
    by_id = assert_problem(issue(client, desk, layout_id=saved["id"]), 409, "/layout_id")

    assert refused["type"] == by_id["type"] == "/problems/equipment-withdrawn"
    accept = {"by": "R. Okafor", "reason": "looks sound to me"}
    assert_problem(issue(client, desk, accept_fail=accept), 409)
    assert client.get("/v1/reports", headers=desk).json["items"] == []


def test_a_piece_that_is_out_on_another_order_is_not_in_this_ones_report(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)
    out = client.post("/v1/equipment/C-12/check-outs", json={"order_ref": "A/7"}, headers=desk)
    assert out.status_code == 201

    assert issue(client, desk).status_code == 201
    refused = assert_problem(issue(client, desk, "other"), 409, "/layout/boards/0/feeder/tag")

    assert "A/7" in refused["errors"][0]["detail"]


def test_an_order_that_equipment_went_out_on_is_known(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)

    client.post("/v1/equipment/C-12/check-outs", json={"order_ref": "A/7"}, headers=desk)

    assert client.get("/v1/orders/A/7", headers=desk).status_code == 200
