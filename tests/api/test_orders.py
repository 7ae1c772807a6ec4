"""Orders over HTTP, on both databases. Who may use which route: ``test_access.py``."""

from __future__ import annotations

from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from support.layouts import a_body
from support.problems import assert_problem

REF = "NX-2207/4 🎬"


@pytest.fixture
def app(app_on_both: Flask) -> Flask:
    return app_on_both


def put(client: FlaskClient, desk: dict[str, str], ref: str = REF, **details: Any) -> Any:
    return client.put(f"/v1/orders/{ref}", json=details, headers=desk)


def refs(client: FlaskClient, desk: dict[str, str], query: str) -> list[str]:
    items = client.get(f"/v1/orders?{query}", headers=desk).json["items"]
    return [order["ref"] for order in items]


def test_an_order_is_told_and_read_by_the_desks_own_reference(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    details = {
        "production": "The Long Quay",
        "contact": "the gaffer, on the quay",
        "note": "night, rain",
        "starts_on": "2026-12-01",
        "ends_on": "2026-12-05",
    }
    told = put(client, desk, **details)

    read = client.get(told.json["links"]["self"], headers=desk)

    assert (told.status_code, read.status_code) == (200, 200)
    assert told.json == read.json
    assert {name: read.json[name] for name in details} == details
    assert (read.json["ref"], read.json["reports"]) == (REF, 0)
    assert read.headers["ETag"] == told.headers["ETag"]
    [order] = client.get("/v1/orders", headers=desk).json["items"]
    assert order == read.json


def test_details_are_not_overwritten_unseen_and_the_same_again_do_no_harm(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    first = put(client, desk, production="One")

    again = put(client, desk, production="One")
    unseen = put(client, desk, production="Two")
    seen = put(client, desk | {"If-Match": first.headers["ETag"]}, production="Two")
    late = put(client, desk | {"If-Match": first.headers["ETag"]}, production="Three")

    assert again.json == first.json
    assert_problem(unseen, 428)
    assert (seen.status_code, seen.json["production"]) == (200, "Two")
    assert_problem(late, 412)


def test_an_order_that_a_layout_or_a_link_named_first_takes_its_details_freely(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    client.post("/v1/layouts", json={"body": a_body(), "order_ref": REF}, headers=desk)
    client.post("/v1/orders/other/links", json={"name": "crew"}, headers=desk)

    told = put(client, desk, production="One")

    assert told.json["production"] == "One"
    assert refs(client, desk, "") == ["other", REF]


def test_orders_are_found_by_words_in_any_script_and_by_day(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    put(client, desk, "A/1", production="Ångström Straße", starts_on="2026-11-20")
    put(client, desk, "A/2", contact="Ключевой", starts_on="2026-11-24", ends_on="2026-11-26")
    put(client, desk, "B_3", note="100 % rain", ends_on="2026-11-25")

    assert refs(client, desk, "q=ÅNGSTRÖM strasse") == ["A/1"]
    assert refs(client, desk, "q=ключевой") == ["A/2"]
    assert refs(client, desk, "q=a/") == ["A/2", "A/1"]
    assert refs(client, desk, "q=%25 rain") == ["B_3"]
    assert refs(client, desk, "q=_") == ["B_3"]
    assert refs(client, desk, "on=2026-11-25") == ["B_3", "A/2"]
    assert refs(client, desk, "on=2026-11-20") == ["A/1"]
    assert refs(client, desk, "on=2026-11-23") == []


def test_a_list_goes_on_page_by_page(client: FlaskClient, desk: dict[str, str]) -> None:
    for number in range(5):
        put(client, desk, f"O/{number}")

    first = client.get("/v1/orders?limit=3", headers=desk).json
    rest = client.get(f"/v1/orders?limit=3&cursor={first['next_cursor']}", headers=desk).json

    found = [order["ref"] for order in first["items"] + rest["items"]]
    assert found == ["O/4", "O/3", "O/2", "O/1", "O/0"]
    assert rest["next_cursor"] is None


@pytest.mark.parametrize(
    ("details", "pointer"),
    [
        ({"starts_on": "2026-12-05", "ends_on": "2026-12-01"}, "/ends_on"),
        ({"starts_on": "soon"}, "/starts_on"),
        ({"production": "a\tb"}, "/production"),
        ({"prodution": "a"}, "/prodution"),
        ({"note": "n" * 1001}, "/note"),
    ],
)
def test_a_fault_is_placed(
    client: FlaskClient, desk: dict[str, str], details: dict[str, Any], pointer: str
) -> None:
    assert_problem(put(client, desk, **details), 422, pointer)
    assert_problem(client.get(f"/v1/orders/{REF}", headers=desk), 404)


@pytest.mark.parametrize("path", ["a%2F%2Fb", "a/reports/reports", "%20", "x" * 121])
def test_a_reference_that_cannot_be_one_is_refused(
    client: FlaskClient, desk: dict[str, str], path: str
) -> None:
    assert_problem(client.put(f"/v1/orders/{path}", json={}, headers=desk), 422, "order_ref")
    assert_problem(client.get(f"/v1/orders/{path}", headers=desk), 422, "order_ref")


def test_an_order_is_one_whatever_form_its_accents_come_in(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    put(client, desk, "Cafe\u0301", production="One")

    read = client.get("/v1/orders/Caf\u00e9", headers=desk)

    assert read.json["production"] == "One"
    assert refs(client, desk, "") == ["Caf\u00e9"]
