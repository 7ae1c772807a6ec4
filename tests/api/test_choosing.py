"""``POST /v1/plan/boards`` and ``/v1/plan/more``: which board would do, what still goes in."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

from support.layouts import a_body, a_body_load
from support.problems import assert_problem

OPEN_FACE = {"fixture": "tungsten-open-face-2000"}


def a_list(count: int, region: str = "uk", **more: Any) -> dict[str, Any]:
    loads = [{"id": f"k{i}", **OPEN_FACE} for i in range(count)]
    return {"region": region, "loads": loads, **more}


def boards(client: FlaskClient, body: Any) -> Any:
    return client.post("/v1/plan/boards", json=body)


def more(client: FlaskClient, body: Any, lamp: Any = OPEN_FACE, **asked: Any) -> Any:
    return client.post("/v1/plan/more", json={**body, "more": lamp, **asked})


def test_the_smallest_board_that_carries_a_list_comes_first_of_those_that_do(
    client: FlaskClient,
) -> None:
    answer = boards(client, a_list(9)).json

    carrying = [choice for choice in answer["choices"] if choice["carries"]]
    # Nine lamps of 2 kW at 230 V are three a phase, 26.1 A; a fifth of 32 A kept leaves 25.6 A.
    assert carrying[0]["supply"]["rating_a"] == 63
    assert carrying[0]["worst_phase_a"] == pytest.approx(26.09, abs=0.005)
    assert carrying[0]["headroom_a"] == pytest.approx(63 - 26.09, abs=0.01)
    small = answer["choices"][: -len(carrying)]
    assert any(c["supply"]["rating_a"] == 32 and "25.6 A" in c["why"][0] for c in small)


def test_without_a_spare_the_same_list_fits_the_smaller_board(client: FlaskClient) -> None:
    answer = boards(client, a_list(9, spare_pct=0)).json

    carrying = next(choice for choice in answer["choices"] if choice["carries"])
    assert carrying["supply"]["rating_a"] == 32


def test_the_layout_of_a_choice_can_be_balanced_as_it_is(client: FlaskClient) -> None:
    choice = next(c for c in boards(client, a_list(12)).json["choices"] if c["carries"])

    answer = client.post("/v1/balance", json=choice["layout"]).json

    assert answer["verdict"] == choice["verdict"]
    worst = max(phase["current_a"] for phase in answer["phases"])
    assert worst == pytest.approx(choice["worst_phase_a"], rel=0.02)
    assert len({(x["board"], x["outlet"]) for x in choice["layout"]["loads"]}) == 12


@pytest.mark.parametrize("region", ["au", "uk", "eu", "us", "jp"])
def test_every_region_has_a_board_for_a_short_list(client: FlaskClient, region: str) -> None:
    loads = [{"id": "a", "fixture": "led-panel-200"}, {"id": "b", "fixture": "led-panel-200"}]

    answer = boards(client, {"region": region, "loads": loads})

    assert answer.status_code == 200
    assert any(choice["carries"] for choice in answer.json["choices"])


def test_only_what_burns_together_counts(client: FlaskClient) -> None:
    setups = [{"id": "day"}, {"id": "night"}]
    loads = [
        {"id": f"k{i}", **OPEN_FACE, "setups": ["day" if i < 6 else "night"]} for i in range(9)
    ]

    together = boards(client, a_list(9)).json["choices"]
    apart = boards(client, {"region": "uk", "loads": loads, "setups": setups}).json["choices"]

    def smallest(choices: list[dict[str, Any]]) -> float:
        return next(c["supply"]["rating_a"] for c in choices if c["carries"])

    assert smallest(apart) < smallest(together)


def test_a_list_that_no_board_carries_says_why(client: FlaskClient) -> None:
    answer = boards(client, a_list(300)).json

    assert answer["choices"]
    assert not any(choice["carries"] for choice in answer["choices"])
    assert all(choice["why"] for choice in answer["choices"])


@pytest.mark.parametrize(
    ("body", "pointer", "word"),
    [
        (
            {"region": "uk", "loads": [{"id": "a", "fixture": "led-panel-205"}]},
            "/loads/0/fixture",
            "led-panel-200",
        ),
        ({"region": "uc", "loads": []}, "/region", "uk"),
        ({"region": "uk", "loads": [], "system": "two-phase"}, "/system", "three-phase"),
        ({"region": "uk", "loads": [], "system": "three-wire"}, "/system", "three-phase"),
        ({"region": "uk", "loads": [], "spare_pct": 99}, "/spare_pct", "90"),
        ({"region": "uk", "loads": [], "supply": {}}, "/supply", "no field"),
        ({"region": "uk"}, "/loads", ""),
        ({"region": "uk", "loads": {}}, "/loads", ""),
        ([], "", "object"),
    ],
)
def test_a_list_that_cannot_be_read_says_where(
    client: FlaskClient, body: Any, pointer: str, word: str
) -> None:
    found = assert_problem(boards(client, body), 422, pointer)

    assert word in str(found)


def test_a_board_says_how_many_more_go_in_and_where(client: FlaskClient) -> None:
    # One lamp of 8.7 A on each phase of 32 A: two more fit on each, 26.1 A, a third would not.
    body = a_body(*(a_body_load(f"k{i}", f"l{i}-bottom") for i in (1, 2, 3)))

    answer = more(client, body).json

    assert answer["by_line"] == {"L1": 2, "L2": 2, "L3": 2}
    assert answer["count"] == 6
    assert answer["proven"] is True
    assert answer["moves"] == 0
    assert len({(o["board"], o["outlet"]) for o in answer["outlets"]}) == 6


def test_what_keeps_the_next_one_out_is_told(client: FlaskClient) -> None:
    body = a_body(*(a_body_load(f"k{i}", f"l{i}-bottom") for i in (1, 2, 3)))

    answer = more(client, body, {"custom": {"name": "heater", "power_w": 5000, "power_factor": 1}})

    assert answer.json["count"] == 0
    assert answer.json["why"]


def test_spare_leaves_room(client: FlaskClient) -> None:
    body = a_body(*(a_body_load(f"k{i}", f"l{i}-bottom") for i in (1, 2, 3)))

    assert more(client, body, spare_a=10).json["count"] == 3


def test_a_fault_of_the_lamp_is_told_at_the_lamp_and_once(client: FlaskClient) -> None:
    answer = more(client, a_body(), {"fixture": "tungsten-open-face-2001"})

    problem = assert_problem(answer, 422, "/more/fixture")
    assert [e["pointer"] for e in answer.json["errors"]] == ["/more/fixture"]
    assert "tungsten-open-face-2000" in str(problem)


@pytest.mark.parametrize("lamp", [None, [], {}, {"id": "x", **OPEN_FACE}, {"fixture": 3}])
def test_a_lamp_that_is_none_is_refused(client: FlaskClient, lamp: Any) -> None:
    assert more(client, a_body(), lamp).status_code == 422
