"""Layouts that name equipment by tag: filled in and judged for key and link, for nobody else."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from evenboard.api.access import CREW, PLUG, READ
from support.callers import bearer, headers_of
from support.equipment import add_piece, withdraw
from support.layouts import a_body, a_body_load
from support.problems import assert_problem


def a_tagged(tag: str = "C-12", **feeder: Any) -> dict[str, Any]:
    """A board on a feeder of which the layout says no more than its tag."""
    board = {"id": "main", "type": "three-row-32", "feeder": {"tag": tag, **feeder}}
    return a_body(boards=[board])


def balance(client: FlaskClient, body: Any, headers: dict[str, str]) -> Any:
    return client.post("/v1/balance", json=body, headers=headers)


def codes(answer: Any) -> list[str]:
    assert answer.status_code == 200, answer.text
    return [finding["code"] for finding in answer.json["findings"]]


def ago(days: int) -> str:
    return (datetime.now().astimezone().date() - timedelta(days=days)).isoformat()


def save(client: FlaskClient, desk: dict[str, str], body: Any, order: str | None) -> Any:
    answer = client.post("/v1/layouts", json={"body": body, "order_ref": order}, headers=desk)
    assert answer.status_code == 201, answer.text
    return answer.json


def test_a_feeder_is_filled_in_from_its_record(client: FlaskClient, desk: dict[str, str]) -> None:
    add_piece(client, desk)
    spelled_out = a_tagged(cable="h07rn-f", csa_mm2=6, length_m=30)

    filled = balance(client, a_tagged(), desk)

    assert filled.status_code == 200, filled.text
    assert filled.json == balance(client, spelled_out, desk).json
    feeder = filled.json["boards"][0]["feeder"]
    assert feeder["length_m"] == 30


def test_the_public_learns_nothing_of_the_stock(client: FlaskClient, desk: dict[str, str]) -> None:
    add_piece(client, desk)
    withdraw(client, desk)
    known = a_tagged(cable="h07rn-f", csa_mm2=6, length_m=30)
    unknown = a_tagged("C-99", cable="h07rn-f", csa_mm2=6, length_m=30)
    wrong = a_tagged(cable="h07rn-f", csa_mm2=4, length_m=30)

    for headers in ({}, bearer("evb_of_nobody"), bearer("evl_of_nobody")):
        assert balance(client, known, headers).json == balance(client, unknown, headers).json
        assert balance(client, wrong, headers).status_code == 200
        bare = assert_problem(balance(client, a_tagged(), headers), 422)
        stranger = assert_problem(balance(client, a_tagged("C-99"), headers), 422)
        assert bare["errors"] == stranger["errors"]


@pytest.mark.parametrize("role", [CREW, READ, PLUG])
def test_whoever_has_a_link_gets_tags_looked_up(
    app: Flask, client: FlaskClient, desk: dict[str, str], role: Any
) -> None:
    add_piece(client, desk)
    withdraw(client, desk)
    saved = save(client, desk, a_tagged(), "order-1")
    link = headers_of(app, role, layout_id=saved["id"])

    posted = balance(client, a_tagged(), link)
    stored = client.get(f"/v1/layouts/{saved['id']}/balance", headers=link)

    assert "withdrawn-equipment" in codes(posted)
    assert "withdrawn-equipment" in codes(stored)


@pytest.mark.parametrize(
    ("said", "pointer"),
    [
        ({"csa_mm2": 4}, "/boards/0/feeder/csa_mm2"),
        ({"length_m": 25}, "/boards/0/feeder/length_m"),
        ({"cable": "h05rr-f"}, "/boards/0/feeder/cable"),
    ],
)
def test_what_contradicts_the_record_is_a_fault_in_its_place(
    client: FlaskClient, desk: dict[str, str], said: Any, pointer: str
) -> None:
    add_piece(client, desk)

    problem = assert_problem(balance(client, a_tagged(**said), desk), 422, pointer)

    detail = next(e["detail"] for e in problem["errors"] if e["pointer"] == pointer)
    assert "on record" in detail
    for route in ("/v1/plan", "/v1/layouts"):
        body = a_tagged(**said)
        sent = {"body": body} if route == "/v1/layouts" else body
        refused = client.post(route, json=sent, headers=desk)
        assert_problem(refused, 422, ("/body" if "body" in sent else "") + pointer)


def test_sizes_that_are_one_by_another_name_do_not_contradict(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk, cable="us-hard-usage", csa_mm2=3.3, length_m=30.02)

    answer = balance(client, a_tagged(csa_mm2=3.31, length_m=30), desk)

    assert answer.status_code == 200, answer.text


def test_a_piece_stands_only_where_its_kind_fits(client: FlaskClient, desk: dict[str, str]) -> None:
    add_piece(client, desk, "B-1", kind="board", cable=None, csa_mm2=None, length_m=None)
    body = a_tagged("B-1", cable="h07rn-f", csa_mm2=6, length_m=30)

    problem = assert_problem(balance(client, body, desk), 422, "/boards/0/feeder/tag")

    assert "is a board on record, not a run of cable" in problem["errors"][0]["detail"]


def test_boards_leads_and_fixtures_are_filled_in_too(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    none: Any = {"cable": None, "csa_mm2": None, "length_m": None}
    add_piece(client, desk, "B-1", kind="board", board="three-row-32", **none)
    add_piece(client, desk, "L-1", csa_mm2=2.5, length_m=15)
    add_piece(client, desk, "F-1", kind="fixture", fixture="tungsten-open-face-2000", **none)
    body = a_body(a_body_load(fixture=None, tag="F-1", lead={"tag": "L-1"}))
    body["boards"] = [{"id": "main", "tag": "B-1"}]
    full = a_body(
        a_body_load(
            tag="F-1", lead={"tag": "L-1", "cable": "h07rn-f", "csa_mm2": 2.5, "length_m": 15}
        )
    )
    full["boards"] = [{"id": "main", "type": "three-row-32", "tag": "B-1"}]

    answer = balance(client, body, desk)

    assert answer.status_code == 200, answer.text
    assert answer.json == balance(client, full, desk).json
    wrong = {**full, "boards": [{"id": "main", "type": "four-way", "tag": "B-1"}]}
    assert_problem(balance(client, wrong, desk), 422, "/boards/0/type")


def test_what_must_not_go_out_is_a_finding(client: FlaskClient, desk: dict[str, str]) -> None:
    add_piece(client, desk, "C-1", tested_on=ago(200))
    add_piece(client, desk, "C-2")
    withdraw(client, desk, "C-2")
    add_piece(client, desk, "C-3")
    path = "/v1/equipment/C-3/inspections"
    client.post(path, json={"found": ["missing"]}, headers=desk)
    add_piece(client, desk, "C-4")

    assert "overdue-test" in codes(balance(client, a_tagged("C-1"), desk))
    assert "withdrawn-equipment" in codes(balance(client, a_tagged("C-2"), desk))
    assert "withdrawn-equipment" in codes(balance(client, a_tagged("C-3"), desk))
    fine = codes(balance(client, a_tagged("C-4"), desk))
    assert not {"withdrawn-equipment", "overdue-test", "claimed-elsewhere"} & set(fine)


def test_a_test_that_falls_due_before_the_order_is_over_is_told(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk, tested_on=ago(60))
    due = client.get("/v1/equipment/C-12", headers=desk).json["test_due_on"]
    saved = save(client, desk, a_tagged(), "A/1")
    path = f"/v1/layouts/{saved['id']}/balance"

    told = {}
    for ends_on in (due, ago(-90)):
        order = {"starts_on": ago(0), "ends_on": ends_on}
        etag = client.get("/v1/orders/A%2F1", headers=desk).headers["ETag"]
        put = client.put("/v1/orders/A%2F1", json=order, headers={**desk, "If-Match": etag})
        assert put.status_code == 200, put.text
        told[ends_on] = codes(client.get(path, headers=desk))

    assert "test-falls-due" not in told[due]
    assert "test-falls-due" in told[ago(-90)]


def test_a_tag_that_is_not_on_the_list_is_noted(client: FlaskClient, desk: dict[str, str]) -> None:
    body = a_tagged("C-99", cable="h07rn-f", csa_mm2=6, length_m=30)
    without_a_list = codes(balance(client, body, desk))
    add_piece(client, desk)

    assert "unknown-tag" not in without_a_list
    assert "unknown-tag" in codes(balance(client, body, desk))
    assert "unknown-tag" not in codes(balance(client, a_tagged(), desk))
    assert "unknown-tag" not in codes(balance(client, body, {}))


def test_a_saved_layout_is_told_when_its_cable_is_withdrawn_meanwhile(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)
    saved = save(client, desk, a_tagged(), "A/1")
    path = f"/v1/layouts/{saved['id']}/balance"
    before = client.get(path, headers=desk)
    unchanged = client.get(path, headers={**desk, "If-None-Match": before.headers["ETag"]})

    withdraw(client, desk)
    after = client.get(path, headers={**desk, "If-None-Match": before.headers["ETag"]})

    assert "withdrawn-equipment" not in codes(before)
    assert unchanged.status_code == 304
    assert "withdrawn-equipment" in codes(after)


def test_a_saved_layout_stays_readable_when_the_record_is_corrected(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)
    bare = save(client, desk, a_tagged(), "A/1")
    said = save(client, desk, a_tagged(length_m=30), "A/1")
    piece = client.get("/v1/equipment/C-12", headers=desk)
    record = {"kind": "cable", "cable": "h07rn-f", "csa_mm2": 6, "length_m": 25}
    record["tested_on"] = piece.json["tested_before_on"]
    headers = {**desk, "If-Match": piece.headers["ETag"]}
    assert client.put("/v1/equipment/C-12", json=record, headers=headers).status_code == 200

    lengths = [
        client.get(f"/v1/layouts/{layout['id']}/balance", headers=desk).json["boards"][0]["feeder"]
        for layout in (bare, said)
    ]
    change = {"op": "dim", "load": "key", "was": 1.0, "to": 0.5}
    changed = client.post(
        f"/v1/layouts/{said['id']}/changes", json={"changes": [change]}, headers=desk
    )

    assert [feeder["length_m"] for feeder in lengths] == [25, 30]
    assert changed.status_code in (200, 201), changed.text


def test_two_orders_that_count_on_one_piece_are_told_of_each_other(
    app: Flask, client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)
    mine = save(client, desk, a_tagged(), "A/1")
    alone = client.get(f"/v1/layouts/{mine['id']}/balance", headers=desk)
    theirs = save(client, desk, a_tagged(), "B/2")
    save(client, desk, a_tagged(), None)

    told = client.get(f"/v1/layouts/{mine['id']}/balance", headers=desk)
    crew = headers_of(app, CREW, order_ref="A/1")
    to_crew = client.get(f"/v1/layouts/{mine['id']}/balance", headers=crew)
    out = client.post("/v1/equipment/C-12/check-outs", json={"order_ref": "A/1"}, headers=desk)
    other = client.get(f"/v1/layouts/{theirs['id']}/balance", headers=desk)

    assert "claimed-elsewhere" not in codes(alone)
    message = words(told)
    assert "B/2" in message
    assert "B/2" not in words(to_crew)
    assert "another order" in words(to_crew)
    assert "B/2" in out.json["warnings"][0]
    assert "out on order A/1" in words(other)


def words(answer: Any) -> str:
    [found] = [f for f in answer.json["findings"] if f["code"] == "claimed-elsewhere"]
    return str(found["message"])


def test_the_most_hostile_of_tags_are_only_words(client: FlaskClient, desk: dict[str, str]) -> None:
    for tag in ("' OR 1=1 --", "👍", "../..", "a/history", "x" * 64):
        body = a_tagged(tag, cable="h07rn-f", csa_mm2=6, length_m=30)
        assert balance(client, body, desk).status_code == 200
    for tag in (7, [], {}, None, "", "x" * 65, "a\nb"):
        body = a_tagged("x", cable="h07rn-f", csa_mm2=6, length_m=30)
        body["boards"][0]["feeder"]["tag"] = tag
        assert balance(client, body, desk).status_code in (200, 422)
    for odd in ([], {"boards": 7}, {"boards": [7, {"feeder": []}], "loads": {"a": 1}}):
        assert_problem(balance(client, odd, desk), 422)
