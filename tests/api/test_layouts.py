"""Saved layouts over HTTP: save, read, replace, remove, look back, balance."""

from __future__ import annotations

from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from evenboard.api.access import CREW, PLUG
from evenboard.store import fixtures as own_fixtures
from support.callers import headers_of
from support.desk import a_fixture_body
from support.layouts import a_body, a_body_load
from support.problems import assert_problem


def save(client: FlaskClient, desk: dict[str, str], **changes: Any) -> Any:
    return client.post("/v1/layouts", json={"body": a_body(), **changes}, headers=desk)


def test_a_saved_layout_is_read_back_as_it_was_sent(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    body = a_body(a_body_load(dimmed_to=0.5), setups=[{"id": "wide"}])

    made = save(client, desk, body=body, order_ref="A/12 👍", burning="wide", by="Ana")

    assert made.status_code == 201
    assert made.json["body"] == body
    assert made.json | {"body": None} == {
        "id": made.json["id"],
        "order_ref": "A/12 👍",
        "name": "test",
        "version": 1,
        "burning": "wide",
        "body": None,
        "created_at": made.json["created_at"],
        "created_by": "Ana",
        "updated_at": made.json["created_at"],
        "updated_by": "Ana",
    }
    read = client.get(made.headers["Location"], headers=desk)
    assert read.data == made.data
    assert read.headers["ETag"] == made.headers["ETag"]


def test_loads_may_be_loose_in_a_saved_layout(client: FlaskClient, desk: dict[str, str]) -> None:
    loose = a_body_load("spare", outlet=None, board=None)  # type: ignore[arg-type]

    made = save(client, desk, body=a_body(a_body_load(), loose))
    told = client.get(f"/v1/layouts/{made.json['id']}/balance", headers=desk).json

    # The loose one is off: one 2 kW lamp at 230 V.
    assert made.status_code == 201
    assert told["phases"][0]["current_a"] == pytest.approx(8.7, abs=0.05)
    assert told["phases"][1]["current_a"] == 0.0


def test_all_faults_of_a_layout_have_their_places_in_the_body_that_was_sent(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    body = a_body(a_body_load(fixture="tungsten-open-fase-2000", dimmed_to="half"))

    response = save(client, desk, body=body, name="a\0", burnin="x")

    problem = assert_problem(response, 422, "/body/loads/0/fixture")
    pointers = {error["pointer"] for error in problem["errors"]}
    assert {"/body/loads/0/fixture", "/body/loads/0/dimmed_to", "/name", "/burnin"} <= pointers
    assert "tungsten-open-face-2000" in str(problem["errors"])


@pytest.mark.parametrize(
    ("changes", "pointer", "said"),
    [
        ({"body": None}, "/body", "null"),
        ({"body": []}, "/body", "object"),
        ({"body": {}}, "/body/region", "region"),
        ({"order_ref": " A"}, "/order_ref", "begin or end with a space"),
        ({"order_ref": "x" * 121}, "/order_ref", "120"),
        ({"order_ref": "A\n1"}, "/order_ref", "control character"),
        ({"burning": "wide"}, "/burning", "Nearest: all"),
        ({"by": ""}, "/by", "1 to 60"),
    ],
)
def test_a_fault_is_placed_and_told(
    client: FlaskClient, desk: dict[str, str], changes: Any, pointer: str, said: str
) -> None:
    problem = assert_problem(save(client, desk, **changes), 422, pointer)

    assert said in str(problem["errors"])


def test_a_repeated_post_saves_once(client: FlaskClient, desk: dict[str, str]) -> None:
    headers = desk | {"Idempotency-Key": '"k1"'}
    first = save(client, headers)

    again = save(client, headers)

    assert again.data == first.data
    assert again.headers["ETag"] == first.headers["ETag"]
    assert len(client.get("/v1/layouts", headers=desk).json["items"]) == 1


def test_layouts_are_listed_without_bodies_latest_first(
    app: Flask, client: FlaskClient, desk: dict[str, str]
) -> None:
    for i in range(5):
        save(client, desk, name=f"n{i}", order_ref="A" if i % 2 else "B")

    names: list[str] = []
    cursor: str | None = ""
    while cursor is not None:
        query = {"limit": 2, **({"cursor": cursor} if cursor else {})}
        page = client.get("/v1/layouts", query_string=query, headers=desk).json
        names += [item["name"] for item in page["items"]]
        assert all("body" not in item for item in page["items"])
        cursor = page["next_cursor"]

    assert names == ["n4", "n3", "n2", "n1", "n0"]
    found = client.get("/v1/layouts?q=N3", headers=desk).json["items"]
    assert [item["name"] for item in found] == ["n3"]
    crew = headers_of(app, CREW, order_ref="A")
    assert [i["name"] for i in client.get("/v1/layouts", headers=crew).json["items"]] == [
        "n3",
        "n1",
    ]
    assert_problem(client.get("/v1/layouts?order_ref=B", headers=crew), 404)


@pytest.mark.parametrize("cursor", ["abc", "W10", "WyJhIiwwLCJiIl0"])
def test_a_cursor_of_something_else_is_refused(
    client: FlaskClient, desk: dict[str, str], cursor: str
) -> None:
    assert_problem(client.get(f"/v1/layouts?cursor={cursor}", headers=desk), 422, "cursor")


def test_a_whole_layout_is_replaced_and_the_history_says_what_differs(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    made = save(client, desk, order_ref="A")
    address = made.headers["Location"]

    replaced = client.put(
        address,
        json={"body": a_body(a_body_load("key", "l2-top")), "name": "Quay", "by": "Ben"},
        headers=desk | {"If-Match": made.headers["ETag"]},
    )

    assert replaced.status_code == 200
    assert (replaced.json["version"], replaced.json["name"]) == (2, "Quay")
    # What is not sent stays as it was; null takes it away.
    assert replaced.json["order_ref"] == "A"
    [event] = client.get(f"{address}/events?after=1", headers=desk).json["items"]
    assert (event["kind"], event["by"]) == ("replaced", "Ben")
    assert event["words"] == [
        "Moved key from main L1 bottom to main L2 top.",
        "Changed name to Quay.",
    ]


def test_of_two_who_replace_a_layout_the_second_hears_what_the_first_did(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    made = save(client, desk)
    address, both_read = made.headers["Location"], desk | {"If-Match": made.headers["ETag"]}
    mine = {"body": a_body(a_body_load("key", "l2-top")), "by": "Ana"}
    client.put(address, json=mine, headers=both_read)

    response = client.put(address, json={"body": a_body()}, headers=both_read)

    problem = assert_problem(response, 412)
    assert problem["type"] == "/problems/changed-meanwhile"
    assert problem["version"] == 2
    [theirs] = problem["changes"]
    assert (theirs["by"], theirs["words"]) == (
        "Ana",
        ["Moved key from main L1 bottom to main L2 top."],
    )


@pytest.mark.parametrize("method", ["PUT", "DELETE"])
def test_a_whole_change_needs_the_tag_of_what_was_read(
    client: FlaskClient, desk: dict[str, str], method: str
) -> None:
    address = save(client, desk).headers["Location"]
    sent = {"body": a_body()} if method == "PUT" else None

    def change(**more: str) -> Any:
        return client.open(address, method=method, json=sent, headers=desk | more)

    assert_problem(change(), 428)
    for other in ('"other"', '"99999999999999999999.x"', '"1.0"', '"²"'):
        assert_problem(change(**{"If-Match": other}), 412)
    assert change(**{"If-Match": "*"}).status_code in (200, 204)


def test_a_set_up_that_is_gone_no_longer_burns(client: FlaskClient, desk: dict[str, str]) -> None:
    made = save(client, desk, body=a_body(setups=[{"id": "wide"}]), burning="wide")

    replaced = client.put(
        made.headers["Location"], json={"body": a_body()}, headers=desk | {"If-Match": "*"}
    )

    assert replaced.json["burning"] is None


def test_a_removed_layout_is_gone_for_everybody(
    app: Flask, client: FlaskClient, desk: dict[str, str]
) -> None:
    made = save(client, desk)
    phone = headers_of(app, PLUG, layout_id=made.json["id"])

    removed = client.delete(
        made.headers["Location"], headers=desk | {"If-Match": made.headers["ETag"]}
    )

    assert removed.status_code == 204
    for headers in (desk, phone):
        assert_problem(client.get(made.headers["Location"], headers=headers), 404)
        assert_problem(client.get(f"{made.headers['Location']}/events", headers=headers), 404)


def test_an_earlier_version_is_as_it_was(client: FlaskClient, desk: dict[str, str]) -> None:
    made = save(client, desk)
    address = made.headers["Location"]
    other = a_body(a_body_load("key", "l2-top"), a_body_load("fill", "l3-top"))
    client.put(address, json={"body": other, "by": "Ben"}, headers=desk | {"If-Match": "*"})
    change = {"op": "dim", "load": "fill", "was": 1, "to": 0.3}
    client.post(f"{address}/changes", json={"changes": [change]}, headers=desk)

    versions = [client.get(f"{address}/versions/{v}", headers=desk).json for v in (1, 2, 3)]

    assert versions[0] == made.json
    assert versions[1]["body"] == other
    assert versions[1]["updated_by"] == "Ben"
    assert versions[2] == client.get(address, headers=desk).json
    for beyond in (0, 4, 10**20):
        assert_problem(client.get(f"{address}/versions/{beyond}", headers=desk), 404)


def test_the_balance_is_that_of_the_route_and_is_not_worked_out_again(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    address = save(client, desk).headers["Location"]

    told = client.get(f"{address}/balance", headers=desk)
    again = client.get(f"{address}/balance", headers=desk | {"If-None-Match": told.headers["ETag"]})

    assert told.json == client.post("/v1/balance", json=a_body()).json
    assert (again.status_code, again.data) == (304, b"")
    change = {"op": "dim", "load": "key", "was": 1, "to": 0.3}
    client.post(f"{address}/changes", json={"changes": [change]}, headers=desk)
    after = client.get(f"{address}/balance", headers=desk | {"If-None-Match": told.headers["ETag"]})
    assert after.status_code == 200
    assert after.json["phases"] != told.json["phases"]


def test_a_layout_whose_lamp_has_left_the_catalogue_is_still_there_to_be_mended(
    app: Flask, client: FlaskClient, desk: dict[str, str]
) -> None:
    fixture = client.post("/v1/fixtures", json=a_fixture_body(), headers=desk).json
    made = save(client, desk, body=a_body(a_body_load(fixture=fixture["slug"])))
    with app.extensions["evenboard"].store.writing() as session:
        own_fixtures.remove(session, fixture["slug"], lambda _: None)
    address = made.headers["Location"]

    assert client.get(address, headers=desk).status_code == 200
    assert_problem(client.get(f"{address}/balance", headers=desk), 422, "/loads/0/fixture")
    mended = client.post(
        f"{address}/changes",
        json={
            "changes": [
                {
                    "op": "set",
                    "load": "key",
                    "field": "fixture",
                    "was": fixture["slug"],
                    "to": "tungsten-open-face-2000",
                }
            ]
        },
        headers=desk,
    )
    assert mended.status_code == 200
    assert client.get(f"{address}/balance", headers=desk).status_code == 200
