"""Keys, links and the trail over HTTP. Who may use which route: ``test_access.py``."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from evenboard.api import create_app
from evenboard.api.access import DESK
from support.callers import bearer, headers_of
from support.desk import a_fixture_body
from support.layouts import a_body
from support.problems import assert_problem


def soon(**ago: float) -> str:
    return (datetime.now(UTC) + timedelta(**ago)).isoformat(timespec="seconds")


# --- keys -------------------------------------------------------------------------------------


def test_a_key_made_over_the_api_opens_the_desk_until_it_is_revoked(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    made = client.post("/v1/keys", json={"name": "back desk"}, headers=desk)
    mine = bearer(made.json["secret"])

    assert made.status_code == 201
    whoami = client.get("/v1/whoami", headers=mine).json
    assert whoami == {"role": "desk", "name": "back desk", "order_ref": None, "layout_id": None}
    revoked = client.delete(made.headers["Location"], headers=desk)
    assert revoked.json["revoked_at"] is not None
    assert_problem(client.get("/v1/whoami", headers=mine), 401)
    listed = client.get("/v1/keys", headers=desk).json["items"]
    assert [key["name"] for key in listed] == ["test desk", "back desk"]
    assert all("secret" not in key for key in listed)


def test_a_repeated_post_does_not_keep_the_secret(
    app: Flask, client: FlaskClient, desk: dict[str, str]
) -> None:
    headers = desk | {"Idempotency-Key": '"k"'}
    first = client.post("/v1/keys", json={"name": "back desk"}, headers=headers)

    again = client.post("/v1/keys", json={"name": "back desk"}, headers=headers)

    assert again.json == first.json | {"secret": None}
    assert len(client.get("/v1/keys", headers=desk).json["items"]) == 2


def test_a_key_is_given_another_name_and_end(client: FlaskClient, desk: dict[str, str]) -> None:
    address = client.post("/v1/keys", json={"name": "a"}, headers=desk).headers["Location"]
    read = client.get(address, headers=desk)
    match = desk | {"If-Match": read.headers["ETag"]}
    end = soon(days=2)

    changed = client.put(address, json={"name": "b", "expires_at": end}, headers=match)

    assert changed.json["name"] == "b"
    assert datetime.fromisoformat(changed.json["expires_at"]) == datetime.fromisoformat(end)
    assert_problem(client.put(address, json={"name": "c"}, headers=match), 412)
    assert_problem(client.put(address, json={"name": "c"}, headers=desk), 428)
    # Its own end may be sent back as it is, even once it has passed; another one may not.
    endless = client.put(
        address, json={"name": "b"}, headers=desk | {"If-Match": changed.headers["ETag"]}
    )
    assert endless.json["expires_at"] is None


@pytest.mark.parametrize(
    ("body", "pointer", "said"),
    [
        ({}, "/name", "missing"),
        ({"name": ""}, "/name", "1 to 100"),
        ({"name": "a", "expires_at": "2020-01-01T00:00:00Z"}, "/expires_at", "past"),
        ({"name": "a", "expires_at": "2000-01-01"}, "/expires_at", "zone"),
        ({"name": "a", "expires": 1}, "/expires", "Nearest: expires_at"),
    ],
)
def test_a_fault_of_a_key_is_placed_and_told(
    client: FlaskClient, desk: dict[str, str], body: Any, pointer: str, said: str
) -> None:
    problem = assert_problem(client.post("/v1/keys", json=body, headers=desk), 422, pointer)

    assert said in str(problem["errors"])


def test_an_unknown_key_is_not_found(client: FlaskClient, desk: dict[str, str]) -> None:
    assert_problem(client.get("/v1/keys/abcd", headers=desk), 404)
    assert_problem(client.delete("/v1/keys/abcd", headers=desk), 404)


# --- links ------------------------------------------------------------------------------------


@pytest.mark.parametrize("ref", ["A-12", "A/12", "Über/Größe 3", "nacht 🎬/2"])
def test_a_crew_link_opens_its_order_whatever_its_reference(
    client: FlaskClient, desk: dict[str, str], ref: str
) -> None:
    layout = client.post("/v1/layouts", json={"body": a_body(), "order_ref": ref}, headers=desk)
    made = client.post(f"/v1/orders/{ref}/links", json={"name": "night crew"}, headers=desk)

    assert made.status_code == 201, made.text
    assert (made.json["order_ref"], made.json["may"]) == (ref, "crew")
    crew = bearer(made.json["token"])
    assert client.get("/v1/whoami", headers=crew).json["order_ref"] == ref
    [found] = client.get("/v1/layouts", headers=crew).json["items"]
    assert found["id"] == layout.json["id"]
    assert client.get(layout.headers["Location"], headers=crew).status_code == 200
    [listed] = client.get(f"/v1/orders/{ref}/links", headers=desk).json["items"]
    assert listed["id"] == made.json["id"]


def test_a_link_is_an_address_whose_secret_no_server_is_told(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    made = client.post("/v1/orders/A/links", json={"name": "crew"}, headers=desk).json

    # What stands behind the # stays in the browser.
    assert made["url"] == f"http://localhost/#/open/{made['token']}"


def test_the_address_of_a_link_is_the_one_that_people_open(tmp_path: Any) -> None:
    settings = {"EVENBOARD_DATA": str(tmp_path), "EVENBOARD_PUBLIC_URL": "https://board.example"}
    app = create_app(settings)
    client = app.test_client()

    made = client.post(
        "/v1/orders/A/links", json={"name": "crew"}, headers=headers_of(app, DESK)
    ).json

    assert made["url"].startswith("https://board.example/#/open/evl_")
    app.extensions["evenboard"].store.close()


def test_a_layout_link_opens_its_layout_until_it_is_revoked(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    layout = client.post("/v1/layouts", json={"body": a_body()}, headers=desk)
    address = layout.headers["Location"]
    made = client.post(f"{address}/links", json={"name": "box", "may": "plug"}, headers=desk).json
    phone = bearer(made["token"])

    opened = client.get("/v1/whoami", headers=phone).json
    read = client.get(address, headers=phone)
    revoked = client.delete(f"/v1/links/{made['id']}", headers=desk)

    assert (opened["role"], opened["layout_id"]) == ("plug-link", layout.json["id"])
    assert (read.status_code, revoked.status_code) == (200, 200)
    assert_problem(client.get(address, headers=phone), 401)
    [listed] = client.get(f"{address}/links", headers=desk).json["items"]
    assert listed["revoked_at"] == revoked.json["revoked_at"]


def test_a_link_without_an_end_ends_in_thirty_days(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    made = client.post("/v1/orders/A/links", json={"name": "crew"}, headers=desk).json

    lasts = datetime.fromisoformat(made["expires_at"]) - datetime.fromisoformat(made["created_at"])
    assert lasts == pytest.approx(timedelta(days=30), abs=timedelta(minutes=1))


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"may": "read"}, "/name"),
        ({"name": "a"}, "/may"),
        ({"name": "a", "may": "write"}, "/may"),
        ({"name": "a", "may": "read", "expires_at": "2020-01-01T00:00:00Z"}, "/expires_at"),
        ({"name": "a", "may": "read", "expires_at": "2199-01-01T00:00:00Z"}, "/expires_at"),
    ],
)
def test_a_fault_of_a_link_is_placed(
    client: FlaskClient, desk: dict[str, str], body: Any, pointer: str
) -> None:
    address = client.post("/v1/layouts", json={"body": a_body()}, headers=desk).headers["Location"]

    assert_problem(client.post(f"{address}/links", json=body, headers=desk), 422, pointer)


def test_a_repeated_post_makes_one_link_and_does_not_keep_its_secret(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    headers = desk | {"Idempotency-Key": '"l1"'}
    first = client.post("/v1/orders/A/links", json={"name": "crew"}, headers=headers)

    again = client.post("/v1/orders/A/links", json={"name": "crew"}, headers=headers)

    assert again.json == first.json | {"token": None, "url": None}
    assert again.headers["Idempotency-Replayed"] == "true"


def test_a_link_of_a_layout_that_is_not_there_is_refused(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    sent = {"name": "a", "may": "read"}

    assert_problem(client.post("/v1/layouts/none/links", json=sent, headers=desk), 404)
    assert_problem(client.get("/v1/layouts/none/links", headers=desk), 404)
    assert_problem(client.delete("/v1/links/none", headers=desk), 404)


# --- the trail --------------------------------------------------------------------------------


def test_every_write_of_the_desk_leaves_its_line(client: FlaskClient, desk: dict[str, str]) -> None:
    fixture = client.post("/v1/fixtures", json=a_fixture_body(), headers=desk)
    client.put(
        fixture.headers["Location"],
        json=a_fixture_body(power_w=300),
        headers=desk | {"If-Match": "*"},
    )
    client.delete(fixture.headers["Location"], headers=desk | {"If-Match": "*"})
    layout = client.post("/v1/layouts", json={"body": a_body()}, headers=desk)
    client.post("/v1/orders/A/links", json={"name": "crew"}, headers=desk)
    client.delete(layout.headers["Location"], headers=desk | {"If-Match": "*"})

    trail = client.get("/v1/audit", headers=desk).json["items"]

    assert [(line["method"], line["path"]) for line in reversed(trail)] == [
        ("POST", "/v1/fixtures"),
        ("PUT", fixture.headers["Location"]),
        ("DELETE", fixture.headers["Location"]),
        ("POST", "/v1/layouts"),
        ("POST", "/v1/orders/A/links"),
        ("DELETE", layout.headers["Location"]),
    ]
    assert {(line["role"], line["name"]) for line in trail} == {("desk", "test desk")}
    assert all(line["what"] for line in trail)
    assert trail[0]["what"] == "Removed layout test."


def test_what_was_refused_leaves_no_line(client: FlaskClient, desk: dict[str, str]) -> None:
    client.post("/v1/fixtures", json=a_fixture_body(slug="Not A Slug"), headers=desk)
    client.delete("/v1/links/none", headers=desk)

    assert client.get("/v1/audit", headers=desk).json["items"] == []


def test_the_trail_is_read_page_by_page_and_filtered(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    for i in range(5):
        client.post(f"/v1/orders/o{i}/links", json={"name": f"crew {i}"}, headers=desk)

    told: list[str] = []
    cursor: str | None = ""
    while cursor is not None:
        query = {"limit": 2, **({"cursor": cursor} if cursor else {})}
        page = client.get("/v1/audit", query_string=query, headers=desk).json
        told += [line["what"] for line in page["items"]]
        cursor = page["next_cursor"]

    assert told == [f"Made link crew {i}, crew." for i in (4, 3, 2, 1, 0)]
    one = client.get("/v1/audit?path=/v1/orders/o3", headers=desk).json["items"]
    assert [line["path"] for line in one] == ["/v1/orders/o3/links"]
    assert client.get("/v1/audit?caller=nobody", headers=desk).json["items"] == []
    for cursor in ("abc", "WyJhIiwwLCJiIl0"):
        assert_problem(client.get(f"/v1/audit?cursor={cursor}", headers=desk), 422, "cursor")
