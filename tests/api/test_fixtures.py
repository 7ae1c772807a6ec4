"""Finding fixtures, and the desk's own."""

from __future__ import annotations

from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from evenboard.catalogue import Catalogue
from support.desk import a_fixture_body, desk_headers
from support.problems import assert_problem

TWO_KW = "tungsten-open-face-2000"


def test_a_lamp_is_found_by_what_a_crew_calls_it(client: FlaskClient) -> None:
    found = client.get("/v1/fixtures?q=2k&family=tungsten").json["items"]

    assert TWO_KW in [fixture["slug"] for fixture in found[:5]]


def test_a_fixture_has_the_fields_of_the_contract_and_its_current(client: FlaskClient) -> None:
    fixture = client.get(f"/v1/fixtures/{TWO_KW}").json

    assert {
        "slug", "name", "family", "size_class", "power_w", "power_factor", "displacement_factor",
        "displacement", "third_harmonic_pct", "current_thd_pct", "load_model", "inrush_multiple",
        "inrush_ms", "leakage_ma", "input_voltage_v", "at_voltage", "also_known_as", "basis",
    } <= fixture.keys()  # fmt: skip
    assert fixture["basis"].keys() == {"kind", "text"}
    # 2000 W over 230 V, a resistance.
    assert fixture["at_voltage"] == {"voltage_v": 230.0, "current_a": 8.7, "apparent_va": 2000.0}


@pytest.mark.parametrize(
    ("query", "voltage_v", "current_a"),
    [
        ("region=us", 120.0, 16.67),
        ("region=jp", 100.0, 20.0),
        ("region=us&voltage_v=115", 115.0, 17.39),
        ("voltage_v=240", 240.0, 8.33),
    ],
)
def test_figures_are_for_the_voltage_or_the_region_asked_for(
    client: FlaskClient, query: str, voltage_v: float, current_a: float
) -> None:
    at = client.get(f"/v1/fixtures/{TWO_KW}?{query}").json["at_voltage"]

    assert (at["voltage_v"], at["current_a"]) == (voltage_v, current_a)


def test_filters_narrow_the_list(client: FlaskClient) -> None:
    query = "size_class=small&min_power_w=100&max_power_w=500&max_current_a=2"

    found = client.get(f"/v1/fixtures?{query}&limit=200").json["items"]

    assert found
    assert all(f["size_class"] == "small" and 100 <= f["power_w"] <= 500 for f in found)
    assert all(f["at_voltage"]["current_a"] <= 2 for f in found)


def test_the_pages_together_hold_every_fixture_once(
    client: FlaskClient, catalogue: Catalogue
) -> None:
    slugs: list[str] = []
    cursor = ""
    while cursor is not None:
        page = client.get("/v1/fixtures", query_string={"limit": 60, **_given(cursor)}).json
        slugs += [fixture["slug"] for fixture in page["items"]]
        cursor = page["next_cursor"]

    assert sorted(slugs) == sorted(catalogue.fixtures)


def _given(cursor: str) -> dict[str, str]:
    return {"cursor": cursor} if cursor else {}


@pytest.mark.parametrize(
    ("query", "parameter", "said"),
    [
        ("limit=0", "limit", "at least 1"),
        ("limit=201", "limit", "at most 200"),
        ("limit=2.5", "limit", "whole number"),
        ("limit=1_0", "limit", "whole number"),
        ("limit=%D9%A2", "limit", "whole number"),
        ("limit=5&limit=6", "limit", "twice"),
        ("limitt=5", "limitt", "Nearest: limit"),
        ("voltage_v=0", "voltage_v", "at least 10"),
        ("voltage_v=nan", "voltage_v", "must be a number"),
        ("voltage_v=1e99", "voltage_v", "at most 1000"),
        ("max_power_w=-1", "max_power_w", "at least 0"),
        ("family=tungstn", "family", "tungsten"),
        ("size_class=larg", "size_class", "Nearest: large"),
        ("region=uu", "region", "region"),
        ("cursor=abc", "cursor", "cursor"),
        ("q=%00", "q", "control character"),
        ("q=" + "x" * 201, "q", "200"),
    ],
)
def test_a_wrong_parameter_is_named_with_what_would_be_right(
    client: FlaskClient, query: str, parameter: str, said: str
) -> None:
    problem = assert_problem(client.get(f"/v1/fixtures?{query}"), 422, parameter)

    assert said in str(problem["errors"])


def test_an_unknown_fixture_is_answered_with_the_nearest_names(client: FlaskClient) -> None:
    problem = assert_problem(client.get("/v1/fixtures/tungsten-open-fase-2000"), 404)

    assert TWO_KW in problem["detail"]


def test_what_was_read_is_not_sent_again(client: FlaskClient) -> None:
    first = client.get("/v1/fixtures?q=2k")

    again = client.get("/v1/fixtures?q=2k", headers={"If-None-Match": first.headers["ETag"]})

    assert not first.headers["ETag"].startswith("W/")
    assert (again.status_code, again.data) == (304, b"")
    assert again.headers["ETag"] == first.headers["ETag"]


# --- the desk's own ---------------------------------------------------------------------------


def test_an_own_type_can_be_found_read_and_used_at_once(app: Flask, client: FlaskClient) -> None:
    body = a_fixture_body(also_known_as=["zebra panel"])

    made = client.post("/v1/fixtures", json=body, headers=desk_headers(app))

    assert made.status_code == 201
    assert made.headers["Location"] == f"/v1/fixtures/{body['slug']}"
    read = client.get(made.headers["Location"])
    assert read.json == made.json
    assert read.headers["ETag"] == made.headers["ETag"]
    assert read.json["own"] is True
    # 350 W / (230 V x 0.95)
    assert read.json["at_voltage"]["current_a"] == 1.6
    found = client.get("/v1/fixtures?q=zebra+panel").json["items"]
    assert found[0]["slug"] == body["slug"]


def test_the_catalogue_version_changes_with_an_own_type(app: Flask, client: FlaskClient) -> None:
    before = client.get("/v1/fixtures").json["catalogue_version"]

    client.post("/v1/fixtures", json=a_fixture_body(), headers=desk_headers(app))

    assert client.get("/v1/fixtures").json["catalogue_version"] != before


def test_defaults_follow_from_the_power_factors(app: Flask, client: FlaskClient) -> None:
    body = a_fixture_body(power_factor=0.6, displacement_factor=0.96, third_harmonic_pct=75)

    made = client.post("/v1/fixtures", json=body, headers=desk_headers(app)).json

    # THD = sqrt((0.96 / 0.6)^2 - 1), IEEE 1459 with a sinusoidal voltage.
    assert made["current_thd_pct"] == pytest.approx(124.9, abs=0.05)
    assert made["displacement"] == "lagging"
    assert made["size_class"] == "small"
    assert made["load_model"] == "constant-power"


@pytest.mark.parametrize("headers", [{}, {"Authorization": "Basic ZGVzazp4"}])
def test_a_stranger_is_asked_for_a_key(client: FlaskClient, headers: dict[str, str]) -> None:
    response = client.post("/v1/fixtures", json=a_fixture_body(), headers=headers)

    assert_problem(response, 401)
    assert response.headers["WWW-Authenticate"].startswith("Bearer")


@pytest.mark.parametrize("token", ["evb_wrong", "x", "é", "a" * 5000])
def test_a_wrong_key_is_not_in_force(client: FlaskClient, token: str) -> None:
    headers = {"Authorization": f"Bearer {token}"}

    response = client.delete("/v1/fixtures/x", headers=headers)

    assert_problem(response, 401)


def test_a_stranger_learns_nothing_of_the_faults_of_a_body(client: FlaskClient) -> None:
    assert_problem(client.post("/v1/fixtures", data=b"{", content_type="application/json"), 401)


def test_all_faults_of_an_own_type_come_in_one_answer(app: Flask, client: FlaskClient) -> None:
    body = {
        "slug": "Not A Slug",
        "famly": "led",
        "family": "ledd",
        "power_w": -1,
        "power_factor": 0.9,
        "displacement_factor": 0.8,
        "displacement": "none",
        "third_harmonic_pct": 60,
        "current_thd_pct": 99,
        "input_voltage_v": [240, 100],
        "basis": {"kind": "guess"},
    }

    response = client.post("/v1/fixtures", json=body, headers=desk_headers(app))

    problem = assert_problem(response, 422)
    assert {error["pointer"] for error in problem["errors"]} == {
        "/slug", "/name", "/famly", "/family", "/power_w", "/power_factor", "/displacement",
        "/third_harmonic_pct", "/current_thd_pct", "/input_voltage_v", "/basis/kind",
        "/basis/text",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "pointer", "said"),
    [
        ({"power_factor": 1.2}, "/power_factor", "at most 1"),
        ({"power_factor": 0}, "/power_factor", "at least 0.05"),
        ({"power_w": "350"}, "/power_w", "must be a number"),
        ({"power_w": 1e9}, "/power_w", "at most 500000"),
        ({"lamp_power_w": 440}, "/lamp_power_w", "437.5 W"),
        ({"family": "leds"}, "/family", "Nearest: led"),
        ({"load_model": "tungsten"}, "/power_factor", "resistance"),
        ({"displacement_factor": None, "third_harmonic_pct": 30}, "/third_harmonic_pct", "0.0 %"),
        ({"input_voltage_v": None}, "/input_voltage_v", "lowest and highest"),
        ({"input_voltage_v": [230]}, "/input_voltage_v", "2 to 2"),
        ({"input_voltage_v": [0, 240]}, "/input_voltage_v/0", "at least 10"),
        ({"input_ranges_v": [[100, 120], [240, 220]]}, "/input_ranges_v/1", "lowest first"),
        ({"basis": None}, "/basis", "null"),
        ({"also_known_as": ["a", 5]}, "/also_known_as/1", "text"),
        ({"name": "a\0"}, "/name", "control character"),
        ({"slug": "a--b"}, "/slug", "match"),
    ],
)
def test_a_fault_of_an_own_type_is_placed_and_told(
    app: Flask, client: FlaskClient, changes: dict[str, Any], pointer: str, said: str
) -> None:
    body = a_fixture_body(**changes)

    response = client.post("/v1/fixtures", json=body, headers=desk_headers(app))

    problem = assert_problem(response, 422, pointer)
    assert said in str(problem["errors"])


@pytest.mark.parametrize("slug", [TWO_KW, "led-house-panel-350"])
def test_a_slug_that_is_taken_is_a_conflict(app: Flask, client: FlaskClient, slug: str) -> None:
    headers = desk_headers(app)
    client.post("/v1/fixtures", json=a_fixture_body(), headers=headers)

    assert_problem(
        client.post("/v1/fixtures", json=a_fixture_body(slug=slug), headers=headers), 409
    )


def test_a_repeated_post_with_its_key_is_answered_and_not_done_again(
    app: Flask, client: FlaskClient
) -> None:
    headers = desk_headers(app) | {"Idempotency-Key": '"5c1e"'}
    first = client.post("/v1/fixtures", json=a_fixture_body(), headers=headers)

    again = client.post("/v1/fixtures", json=a_fixture_body(), headers=headers)

    assert (again.status_code, again.data) == (201, first.data)
    assert again.headers["Location"] == first.headers["Location"]
    assert again.headers["ETag"] == first.headers["ETag"]
    assert again.headers["Content-Type"] == first.headers["Content-Type"]


def test_a_key_with_another_body_is_refused(app: Flask, client: FlaskClient) -> None:
    headers = desk_headers(app) | {"Idempotency-Key": '"5c1e"'}
    client.post("/v1/fixtures", json=a_fixture_body(), headers=headers)

    again = client.post("/v1/fixtures", json=a_fixture_body(power_w=351), headers=headers)

    problem = assert_problem(again, 422)
    assert problem["type"] == "/problems/key-reused"


@pytest.mark.parametrize("key", ["", "x" * 256, "a b", '"unclosed', "\xe9"])
def test_a_key_of_another_form_is_refused(app: Flask, client: FlaskClient, key: str) -> None:
    headers = desk_headers(app) | {"Idempotency-Key": key}

    assert_problem(client.post("/v1/fixtures", json=a_fixture_body(), headers=headers), 400)


def test_what_was_read_can_be_changed_and_sent_back(app: Flask, client: FlaskClient) -> None:
    headers = desk_headers(app)
    client.post("/v1/fixtures", json=a_fixture_body(), headers=headers)
    read = client.get("/v1/fixtures/led-house-panel-350")

    changed = client.put(
        "/v1/fixtures/led-house-panel-350",
        json=read.json | {"power_w": 300},
        headers=headers | {"If-Match": read.headers["ETag"]},
    )

    assert changed.status_code == 200
    again = client.get("/v1/fixtures/led-house-panel-350")
    assert again.json["power_w"] == 300
    assert again.headers["ETag"] == changed.headers["ETag"] != read.headers["ETag"]


@pytest.mark.parametrize("method", ["PUT", "DELETE"])
def test_a_change_needs_the_tag_of_what_was_read(
    app: Flask, client: FlaskClient, method: str
) -> None:
    headers = desk_headers(app)
    body = a_fixture_body()
    made = client.post("/v1/fixtures", json=body, headers=headers)
    address = made.headers["Location"]

    def change(**more: str) -> Any:
        sent = body if method == "PUT" else None
        return client.open(address, method=method, json=sent, headers=headers | more)

    assert_problem(change(), 428)
    assert_problem(change(**{"If-Match": '"other"'}), 412)
    weak = f"W/{made.headers['ETag']}"
    assert_problem(change(**{"If-Match": weak}), 412)
    assert change(**{"If-Match": made.headers["ETag"]}).status_code in (200, 204)


def test_of_two_people_who_read_the_same_the_second_to_write_is_told(
    app: Flask, client: FlaskClient
) -> None:
    headers = desk_headers(app)
    made = client.post("/v1/fixtures", json=a_fixture_body(), headers=headers)
    both_read = headers | {"If-Match": made.headers["ETag"]}
    address = made.headers["Location"]

    first = client.put(address, json=a_fixture_body(power_w=300), headers=both_read)
    second = client.put(address, json=a_fixture_body(power_w=400), headers=both_read)

    assert first.status_code == 200
    assert_problem(second, 412)
    assert client.get(address).json["power_w"] == 300


def test_a_removed_type_is_gone(app: Flask, client: FlaskClient) -> None:
    headers = desk_headers(app)
    made = client.post("/v1/fixtures", json=a_fixture_body(), headers=headers)

    removed = client.delete(made.headers["Location"], headers=headers | {"If-Match": "*"})

    assert removed.status_code == 204
    assert_problem(client.get(made.headers["Location"]), 404)


@pytest.mark.parametrize("method", ["PUT", "DELETE"])
def test_a_shipped_type_is_nobodys_to_change(app: Flask, client: FlaskClient, method: str) -> None:
    headers = desk_headers(app) | {"If-Match": "*"}

    response = client.open(
        f"/v1/fixtures/{TWO_KW}", method=method, json=a_fixture_body(slug=TWO_KW), headers=headers
    )

    assert_problem(response, 403)


@pytest.mark.parametrize("method", ["PUT", "DELETE"])
def test_what_the_desk_does_not_have_is_not_found(
    app: Flask, client: FlaskClient, method: str
) -> None:
    headers = desk_headers(app) | {"If-Match": "*"}
    body = a_fixture_body(slug="nowhere")

    response = client.open("/v1/fixtures/nowhere", method=method, json=body, headers=headers)

    assert_problem(response, 404)


def test_the_slug_of_a_type_stays_as_it_is(app: Flask, client: FlaskClient) -> None:
    headers = desk_headers(app)
    made = client.post("/v1/fixtures", json=a_fixture_body(), headers=headers)

    response = client.put(
        made.headers["Location"],
        json=a_fixture_body(slug="other"),
        headers=headers | {"If-Match": "*"},
    )

    assert_problem(response, 422, "/slug")
