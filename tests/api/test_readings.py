"""Clamp-meter readings over HTTP; what they mean is tested in ``tests/desk``."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from evenboard.api.access import CREW
from support.callers import headers_of
from support.layouts import a_body, a_body_load
from support.problems import assert_problem

BODY = a_body(
    a_body_load("key", "l1-bottom"),
    a_body_load("fill", "l2-bottom"),
    a_body_load("rim", "l3-bottom", setups=["wide"]),
    setups=[{"id": "wide"}, {"id": "close"}],
)


@pytest.fixture
def address(client: FlaskClient, desk: dict[str, str]) -> str:
    sent = {"body": BODY, "order_ref": "A/12", "burning": "wide"}
    location: str = client.post("/v1/layouts", json=sent, headers=desk).headers["Location"]
    return f"{location}/readings"


@pytest.fixture
def crew(app: Flask) -> dict[str, str]:
    return headers_of(app, CREW, order_ref="A/12")


def test_a_crew_posts_a_reading_and_hears_what_it_means(
    client: FlaskClient, address: str, crew: dict[str, str]
) -> None:
    sent = {"phases": {"L1": 8.6, "L2": 14.9, "L3": 8.8}, "by": "Ana", "note": "after lunch"}

    made = client.post(address, json=sent, headers=crew)

    assert made.status_code == 201, made.text
    told = made.json
    # 2 kW at 230 V on each line.
    assert told["expected"]["phases"] == pytest.approx({"L1": 8.7, "L2": 8.7, "L3": 8.7}, abs=0.05)
    assert told["true_rms"] == told["expected"]
    assert told["fits"] is False
    assert told["summary"].startswith("6.2 A more on L2 than planned: something unlisted")
    assert told["explanations"] == [told["summary"]]
    assert [d["fits"] for d in told["differences"]] == [True, False, True]
    assert (told["setup"], told["board"], told["meter"]) == ("wide", None, "true-rms")
    assert (told["by"], told["role"], told["note"], told["version"]) == (
        "Ana",
        "crew",
        "after lunch",
        1,
    )
    assert told["notice"]
    assert client.get(made.headers["Location"], headers=crew).json == told
    assert client.get(address, headers=crew).json == {"items": [told], "next_cursor": None}


def test_a_reading_is_kept_as_it_was_answered_though_the_layout_changes(
    client: FlaskClient, address: str, desk: dict[str, str]
) -> None:
    made = client.post(address, json={"phases": {"L1": 8.7}}, headers=desk)
    change = {"op": "dim", "load": "key", "was": 1, "to": 0.2}
    changes = address.replace("/readings", "/changes")
    client.post(changes, json={"changes": [change]}, headers=desk)

    assert client.get(made.headers["Location"], headers=desk).json == made.json


def test_the_set_up_that_burns_is_what_is_expected(
    client: FlaskClient, address: str, desk: dict[str, str]
) -> None:
    burning = client.post(address, json={"phases": {"L3": 0.0}}, headers=desk).json
    said = client.post(address, json={"phases": {"L3": 0.0}, "setup": "close"}, headers=desk).json

    assert burning["expected"]["phases"]["L3"] == pytest.approx(8.7, abs=0.05)
    assert said["expected"]["phases"]["L3"] == 0.0
    assert (burning["fits"], said["fits"]) == (False, True)


def test_a_board_is_read_in_its_own_lines(
    client: FlaskClient, address: str, desk: dict[str, str]
) -> None:
    told = client.post(address, json={"phases": {"L1": 8.7}, "board": "main"}, headers=desk).json

    assert told["board"] == "main"
    assert told["fits"] is True
    assert told["summary"] == "As planned, as far as a clamp meter can tell."


def test_a_set_up_without_a_solution_is_said_and_the_reading_is_kept(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    feeder = {"conductor": {"r_ohm_per_km": 1000}, "length_m": 100}
    load = {
        "id": "a",
        "custom": {"name": "a", "power_w": 3000},
        "board": "main",
        "outlet": "l1-top",
    }
    body = a_body(load, boards=[{"id": "main", "type": "three-row-32", "feeder": feeder}])
    made = client.post("/v1/layouts", json={"body": body}, headers=desk)

    told = client.post(
        f"{made.headers['Location']}/readings", json={"phases": {"L1": 3.0}}, headers=desk
    )

    assert told.status_code == 201
    assert (told.json["expected"], told.json["fits"]) == (None, None)
    assert "no solution" in told.json["summary"]


@pytest.mark.parametrize(
    ("changes", "pointer", "said"),
    [
        ({"phases": {}}, "/phases", "One line at least"),
        ({"phases": {"L1": None}}, "/phases", "One line at least"),
        ({"phases": None}, "/phases", "null"),
        ({"phases": {"L4": 1}}, "/phases/L4", "no field"),
        ({"phases": {"L1": "8"}}, "/phases/L1", "number"),
        ({"phases": {"L1": -1}}, "/phases/L1", "at least 0"),
        ({"phases": {"L1": 1e9}}, "/phases/L1", "at most"),
        ({"neutral": -0.1}, "/neutral", "at least 0"),
        ({"meter": "true"}, "/meter", "Nearest: true-rms"),
        ({"setup": "wid"}, "/setup", "Nearest: wide"),
        ({"board": "man"}, "/board", "Nearest: main"),
        ({"at": "2026-11-25T09:30:00"}, "/at", "with its zone"),
        ({"at": "yesterday"}, "/at", "with its zone"),
        ({"at": "2026-02-30T09:30:00Z"}, "/at", "with its zone"),
        ({"at": "2199-01-01T00:00:00Z"}, "/at", "not yet"),
        ({"age_s": 7 * 86_400 + 1}, "/age_s", "at most 604800"),
        ({"age_s": 5, "at": "2026-11-25T09:30:00Z"}, "/age_s", "Either at or age_s"),
    ],
)
def test_a_fault_is_placed_and_told(
    client: FlaskClient, address: str, desk: dict[str, str], changes: Any, pointer: str, said: str
) -> None:
    response = client.post(address, json={"phases": {"L1": 8.7}, **changes}, headers=desk)

    problem = assert_problem(response, 422, pointer)
    assert said in str(problem["errors"])
    assert client.get(address, headers=desk).json["items"] == []


def test_without_a_set_up_said_the_reading_asks_which(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    made = client.post("/v1/layouts", json={"body": BODY}, headers=desk)

    response = client.post(
        f"{made.headers['Location']}/readings", json={"phases": {"L1": 8.7}}, headers=desk
    )

    problem = assert_problem(response, 422, "/setup")
    assert "This layout has wide, close" in str(problem["errors"])


def test_lines_and_neutral_that_are_not_there_are_named(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    supply = {"system": "single-phase", "rating_a": 32}
    outlets = [{"id": "a", "lines": ["L1"], "rating_a": 16}]
    body = a_body(
        a_body_load("key", "a"), supply=supply, boards=[{"id": "main", "outlets": outlets}]
    )
    made = client.post("/v1/layouts", json={"body": body}, headers=desk)
    assert made.status_code == 201, made.text

    response = client.post(
        f"{made.headers['Location']}/readings",
        json={"phases": {"L1": 8.7, "L2": 1, "L3": 0}},
        headers=desk,
    )

    problem = assert_problem(response, 422, "/phases/L2")
    assert {e["pointer"] for e in problem["errors"]} == {"/phases/L2", "/phases/L3"}


@pytest.mark.parametrize("hours", [-1, 1])
def test_a_phone_whose_clock_is_an_hour_off_is_believed_by_how_long_ago_it_was(
    client: FlaskClient, address: str, desk: dict[str, str], hours: int
) -> None:
    wrong = datetime.now(UTC) + timedelta(hours=hours)

    said = client.post(
        address, json={"phases": {"L1": 8.7}, "at": wrong.isoformat()}, headers=desk
    ).json
    aged = client.post(address, json={"phases": {"L1": 8.7}, "age_s": 600}, headers=desk).json

    assert datetime.fromisoformat(said["at"]) == pytest.approx(wrong, abs=timedelta(seconds=1))
    ago = datetime.fromisoformat(aged["received_at"]) - datetime.fromisoformat(aged["at"])
    # A minute of grace for a slow machine.
    assert timedelta(0) <= ago - timedelta(minutes=10) + timedelta(seconds=1) < timedelta(minutes=1)


def test_a_reading_sent_twice_is_kept_once(
    client: FlaskClient, address: str, crew: dict[str, str]
) -> None:
    headers = crew | {"Idempotency-Key": '"r1"'}
    first = client.post(address, json={"phases": {"L1": 8.7}}, headers=headers)

    again = client.post(address, json={"phases": {"L1": 8.7}}, headers=headers)

    assert (again.status_code, again.data) == (201, first.data)
    assert len(client.get(address, headers=crew).json["items"]) == 1


def test_readings_are_listed_by_when_they_were_taken_page_by_page(
    client: FlaskClient, address: str, desk: dict[str, str]
) -> None:
    for age_s in (100, 300, 200):
        sent = {"phases": {"L1": float(age_s)}, "age_s": age_s}
        client.post(address, json=sent, headers=desk)

    first = client.get(f"{address}?limit=2", headers=desk).json
    rest = client.get(f"{address}?limit=2&cursor={first['next_cursor']}", headers=desk).json

    amps = [item["phases"]["L1"] for item in (*first["items"], *rest["items"])]
    assert amps == [100.0, 200.0, 300.0]
    assert rest["next_cursor"] is None


def test_a_reading_of_another_layout_is_not_there(
    client: FlaskClient, address: str, desk: dict[str, str]
) -> None:
    made = client.post(address, json={"phases": {"L1": 8.7}}, headers=desk).json
    other = client.post("/v1/layouts", json={"body": BODY}, headers=desk).headers["Location"]

    assert_problem(client.get(f"{other}/readings/{made['id']}", headers=desk), 404)


def test_anybody_holds_a_reading_against_a_layout_that_is_sent_along(client: FlaskClient) -> None:
    sent = {"layout": BODY, "setup": "wide", "phases": {"L1": 8.6, "L2": 14.9, "L3": 8.8}}

    told = client.post("/v1/readings", json=sent)

    assert told.status_code == 200, told.text
    assert told.json["summary"].startswith("6.2 A more on L2 than planned: something unlisted")
    assert [d["fits"] for d in told.json["differences"]] == [True, False, True]
    assert "id" not in told.json


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"setup": None}, "/setup"),
        ({"layout": None}, "/layout"),
        ({"layout": BODY | {"region": "a"}}, "/layout/region"),
        ({"phases": {}}, "/phases"),
        ({"board": "mian"}, "/board"),
        ({"by": "Ana"}, "/by"),
    ],
)
def test_a_fault_of_a_reading_with_its_layout_is_placed(
    client: FlaskClient, change: dict[str, Any], pointer: str
) -> None:
    sent = {"layout": BODY, "setup": "wide", "phases": {"L1": 8.6}} | change

    assert_problem(client.post("/v1/readings", json=sent), 422, pointer)
