"""``/v1/startup``: the lists to tick, of a layout that is sent and of a saved one."""

from __future__ import annotations

from typing import Any

from flask import Flask
from flask.testing import FlaskClient

from evenboard.api.access import DESK, PLUG, READ
from support.callers import headers_of
from support.layouts import a_body, a_body_load
from support.problems import assert_problem

TWO = {"setups": [{"id": "wide"}, {"id": "close"}]}


def two_lamps() -> dict[str, Any]:
    return a_body(
        a_body_load("key", "l1-bottom", setups=["wide"]),
        a_body_load("fill", "l2-bottom", setups=["close"]),
        **TWO,
    )


def lamps(told: dict[str, Any]) -> list[list[str]]:
    return [step["loads"] for step in told["start"] if step["kind"] == "lamps"]


def test_anybody_gets_the_list_of_a_layout_that_is_sent(client: FlaskClient) -> None:
    first = client.post("/v1/startup", json=two_lamps())
    close = client.post("/v1/startup?setup=close", json=two_lamps())

    assert first.status_code == 200, first.text
    assert (first.json["setup"], lamps(first.json)) == ("wide", [["key"]])
    assert (close.json["setup"], lamps(close.json)) == ("close", [["fill"]])
    assert first.json["notice"]
    assert first.json["engine_version"]
    assert first.json["stop"][0]["kind"] == "lamps-off"


def test_a_set_up_that_is_not_there_is_named_with_the_nearest(client: FlaskClient) -> None:
    problem = assert_problem(client.post("/v1/startup?setup=clos", json=two_lamps()), 422, "/setup")

    assert "Nearest: close" in problem["errors"][0]["detail"]
    assert_problem(client.post("/v1/startup?set=close", json=two_lamps()), 422)
    assert_problem(client.post("/v1/startup", json={"region": "au"}), 422, "/boards")


def test_a_saved_layout_is_started_in_the_set_up_that_burns(app: Flask) -> None:
    client, desk = app.test_client(), headers_of(app, DESK)
    loose = {"id": "spare", "fixture": "tungsten-open-face-2000"}
    body = two_lamps()
    body["loads"].append(loose)
    sent = {"body": body, "burning": "close"}
    made = client.post("/v1/layouts", json=sent, headers=desk).json
    reader = headers_of(app, READ, layout_id=made["id"])
    path = f"/v1/layouts/{made['id']}/startup"

    burning = client.get(path, headers=reader)
    wide = client.get(f"{path}?setup=wide", headers=reader)
    again = client.get(path, headers=reader | {"If-None-Match": burning.headers["ETag"]})

    assert (burning.json["setup"], lamps(burning.json)) == ("close", [["fill"]])
    assert lamps(wide.json) == [["key"]]
    assert again.status_code == 304
    assert_problem(client.get(path), 401)


def test_a_link_is_drawn_for_the_next_phone_to_scan(app: Flask) -> None:
    client, desk = app.test_client(), headers_of(app, DESK)
    made = client.post("/v1/layouts", json={"body": a_body()}, headers=desk).json
    phone = headers_of(app, PLUG, layout_id=made["id"])

    drawn = client.get("/v1/link/qr", headers=phone)
    other = client.get("/v1/link/qr", headers=headers_of(app, PLUG, layout_id=made["id"]))

    assert (drawn.status_code, drawn.mimetype) == (200, "image/svg+xml")
    assert drawn.headers["Cache-Control"] == "no-store"
    assert drawn.data.startswith(b"<svg")
    assert drawn.data != other.data
    # The desk's key opens everything: it is never put on a box.
    assert_problem(client.get("/v1/link/qr", headers=desk), 403)
