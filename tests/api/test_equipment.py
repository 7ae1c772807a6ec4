"""Equipment by tag over HTTP: recorded, handed out, looked over, withdrawn, brought back."""

from __future__ import annotations

import threading
from datetime import datetime, timedelta
from typing import Any
from urllib.parse import quote

import pytest
from flask import Flask
from flask.testing import FlaskClient

from support.desk import desk_headers
from support.equipment import MEASURED, a_body_piece, add_piece, withdraw
from support.problems import assert_problem

TAGS = [
    "C-12",
    "C/12/b",
    "👍",
    "a b?#&%2F\\",
    "Ω½",
    "..x",
    "=1+1",
    "check-outs",
    "due",
    "~/x",
]


def path(tag: str, rest: str = "") -> str:
    return f"/v1/equipment/{quote(tag, safe='')}{rest}"


def today(days: int = 0) -> str:
    return (datetime.now().astimezone().date() + timedelta(days=days)).isoformat()


def post(client: FlaskClient, desk: dict[str, str], rest: str, body: Any, tag: str = "C-12") -> Any:
    return client.post(path(tag, rest), json=body, headers=desk)


@pytest.mark.parametrize("tag", TAGS)
def test_a_piece_of_any_tag_is_added_found_and_led_through_its_life(
    client: FlaskClient, desk: dict[str, str], tag: str
) -> None:
    added = client.post("/v1/equipment", json=a_body_piece(tag), headers=desk)
    assert added.status_code == 201, added.text
    assert client.get(added.headers["Location"], headers=desk).json == added.json

    for rest, body in (
        ("/check-outs", {"order_ref": "A/12 👍"}),
        ("/inspections", {"found": ["kinked"], "returned": True}),
        ("/causes", {"cause": "twist"}),
        ("/tests", {"passed": True, "competent_person": "Ben Okafor", **MEASURED}),
        ("/releases", {}),
        ("/withdrawals", {"note": "smells"}),
    ):
        answer = post(client, desk, rest, body, tag)
        assert answer.status_code == 201, (rest, answer.text)
        assert answer.json["piece"]["tag"] == tag

    history = client.get(path(tag, "/history"), headers=desk).json
    assert [event["kind"] for event in history["events"]] == [
        "added",
        "checked-out",
        "inspected",
        "cause-recorded",
        "tested",
        "released",
        "withdrawn",
    ]
    assert [order["order_ref"] for order in history["orders"]] == ["A/12 👍"]
    listed = client.get("/v1/equipment", query_string={"q": tag}, headers=desk).json["items"]
    assert [piece["tag"] for piece in listed] == [tag]


@pytest.mark.parametrize(
    "tag",
    [
        "",
        " ",
        " C",
        "C ",
        "/C",
        "C/",
        "a//b",
        "a/./b",
        "..",
        "a/history",
        "x" * 65,
        "a\nb",
        "a\x00",
    ],
)
def test_a_tag_that_could_not_be_found_again_is_refused(
    client: FlaskClient, desk: dict[str, str], tag: str
) -> None:
    answer = client.post("/v1/equipment", json=a_body_piece(tag), headers=desk)

    assert_problem(answer, 422, "/tag")


def test_all_faults_of_a_record_are_told_at_once(client: FlaskClient, desk: dict[str, str]) -> None:
    body = a_body_piece(
        cable="h07rnf", length_m=-1, kind="cabel", bought_on="25/11/2026", colour="red"
    )

    problem = assert_problem(client.post("/v1/equipment", json=body, headers=desk), 422)
    sized = a_body_piece(csa_mm2=7.5, board="three-row-33", tested_on=today(2))
    meaning = assert_problem(client.post("/v1/equipment", json=sized, headers=desk), 422)

    assert {e["pointer"] for e in problem["errors"]} == {
        "/length_m",
        "/kind",
        "/bought_on",
        "/colour",
    }
    assert {e["pointer"] for e in meaning["errors"]} == {"/csa_mm2", "/board", "/tested_on"}


def test_a_piece_shows_what_it_is_and_when_it_is_due_and_why(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    piece = add_piece(client, desk, note="blue ring", connector="as3123-32-5")

    assert (piece["state"], piece["fit"], piece["version"]) == ("in-service", True, 1)
    assert piece["test_interval"]["months"] == 3
    assert "AS/NZS 3760" in piece["test_interval"]["basis"]
    assert piece["days_overdue"] == 0
    assert 85 <= (datetime.fromisoformat(piece["test_due_on"]).date() - _today()).days <= 92


def _today() -> Any:
    return datetime.now().astimezone().date()


def test_of_two_desks_that_edit_a_piece_at_once_one_is_told_what_the_other_did(
    app_on_both: Flask,
) -> None:
    desk = desk_headers(app_on_both)
    client = app_on_both.test_client()
    add_piece(client, desk, "C/12")
    read = client.get(path("C/12"), headers=desk)
    start = threading.Barrier(2)
    answers: list[Any] = []

    def edit(name: str) -> None:
        mine = app_on_both.test_client()
        start.wait(30)
        body = a_body_piece(name=name, by=name)
        del body["tag"]
        headers = {**desk, "If-Match": read.headers["ETag"]}
        answers.append(mine.put(path("C/12"), json=body, headers=headers))

    threads = [threading.Thread(target=edit, args=(name,)) for name in ("Ana", "Ben")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)

    winner, loser = sorted(answers, key=lambda answer: answer.status_code)
    assert winner.status_code == 200, winner.text
    problem = assert_problem(loser, 412)
    assert problem["type"] == "/problems/changed-meanwhile"
    [change] = problem["changes"]
    assert change["by"] == winner.json["name"]
    assert change["more"]["changed"] == {"name": {"was": "", "now": winner.json["name"]}}
    assert client.get(path("C/12"), headers=desk).json["name"] == winner.json["name"]


def test_of_two_desks_that_hand_a_piece_out_at_once_one_is_told_where_it_went(
    app_on_both: Flask,
) -> None:
    desk = desk_headers(app_on_both)
    add_piece(app_on_both.test_client(), desk)
    start = threading.Barrier(2)
    answers: dict[str, Any] = {}

    def hand_out(order: str) -> None:
        mine = app_on_both.test_client()
        start.wait(30)
        body = {"order_ref": order, "until": today(9), "by": "Ana"}
        answers[order] = post(mine, desk, "/check-outs", body)

    threads = [threading.Thread(target=hand_out, args=(order,)) for order in ("A/1", "B/2")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)

    (got, won), (_, lost) = sorted(answers.items(), key=lambda item: item[1].status_code)
    assert won.json["piece"]["hire"]["order_ref"] == got
    problem = assert_problem(lost, 409)
    [reason] = problem["reasons"]
    assert reason["code"] == "out-elsewhere"
    assert got in reason["detail"]
    assert problem["changes"][-1]["order_ref"] == got


def test_a_change_wants_the_tag_of_what_was_read(client: FlaskClient, desk: dict[str, str]) -> None:
    add_piece(client, desk)
    body = {"kind": "cable"}

    assert_problem(client.put(path("C-12"), json=body, headers=desk), 428)
    assert_problem(client.delete(path("C-12"), headers=desk), 428)
    for etag in ('"7.abc"', '"0.x"', '"' + "9" * 400 + '.x"', 'W/"1.x"'):
        headers = {**desk, "If-Match": etag}
        assert_problem(client.put(path("C-12"), json=body, headers=headers), 412)
    stale = {**desk, "If-Match": '"9.x"'}
    answer = client.post(path("C-12", "/withdrawals"), json={"note": "x"}, headers=stale)
    assert_problem(answer, 412)


def test_a_retired_piece_keeps_its_history_and_its_tag(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)
    etag = client.get(path("C-12"), headers=desk).headers["ETag"]

    gone = client.delete(path("C-12"), headers={**desk, "If-Match": etag})

    assert (gone.status_code, gone.json["state"]) == (200, "retired")
    assert client.get("/v1/equipment", headers=desk).json["items"] == []
    retired = client.get("/v1/equipment?state=retired", headers=desk).json["items"]
    assert [piece["tag"] for piece in retired] == ["C-12"]
    again = client.post("/v1/equipment", json=a_body_piece(), headers=desk)
    assert "history" in assert_problem(again, 409)["detail"]
    refused = assert_problem(post(client, desk, "/check-outs", {"order_ref": "A"}), 409)
    assert refused["reasons"][0]["code"] == "retired"
    assert post(client, desk, "/restorations", {}).json["piece"]["state"] == "in-service"
    assert len(client.get(path("C-12", "/history"), headers=desk).json["events"]) == 3


def test_a_defect_withdraws_at_once_and_every_step_back_is_wanted(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)
    withdraw(client, desk)

    out = assert_problem(post(client, desk, "/check-outs", {"order_ref": "A/1"}), 409)
    assert out["type"] == "/problems/equipment-refused"
    assert [reason["code"] for reason in out["reasons"]] == ["withdrawn"]
    assert "kinked" in out["detail"]
    back = assert_problem(post(client, desk, "/releases", {}), 409)
    assert [reason["code"] for reason in back["reasons"]] == ["no-cause", "no-test"]

    post(client, desk, "/causes", {"cause": "unknown"})
    test = {"passed": True, "competent_person": "Ben Okafor", **MEASURED}
    post(client, desk, "/tests", test)
    unknown = assert_problem(post(client, desk, "/releases", {}), 409)
    assert "cause-unknown" in [reason["code"] for reason in unknown["reasons"]]

    post(client, desk, "/causes", {"cause": "twist", "note": "over the elbow"})
    assert_problem(post(client, desk, "/releases", {}), 409)
    tested = post(client, desk, "/tests", test).json["piece"]
    assert tested["withdrawal"]["passed"]["competent_person"] == "Ben Okafor"
    released = post(client, desk, "/releases", {}).json
    assert released["piece"]["fit"] is True
    assert released["event"]["more"] == {
        "cause": "twist",
        "competent_person": "Ben Okafor",
        "note": "",
    }


def test_a_test_has_a_person_and_figures_that_can_be_a_pass(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)
    person = {"passed": True, "competent_person": "Ben Okafor"}

    assert_problem(post(client, desk, "/tests", {"passed": True, **MEASURED}), 422)
    bare = assert_problem(post(client, desk, "/tests", person), 422)
    wet = {**person, **MEASURED, "insulation_mohm": 0.2, "polarity": "wrong"}
    bad = assert_problem(post(client, desk, "/tests", wet), 422)
    tomorrow = {**person, **MEASURED, "tested_on": today(1)}
    assert_problem(post(client, desk, "/tests", tomorrow), 422, "/tested_on")
    failed = post(client, desk, "/tests", {**wet, "passed": False})

    assert {e["pointer"] for e in bare["errors"]} == {
        "/continuity_ohm",
        "/insulation_mohm",
        "/polarity",
    }
    assert {e["pointer"] for e in bad["errors"]} == {"/insulation_mohm", "/polarity"}
    assert failed.json["piece"]["state"] == "withdrawn"
    assert failed.json["piece"]["withdrawal"]["found"] == ["failed-test"]


def test_an_overdue_piece_does_not_go_out_until_it_is_tested(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk, tested_on=today(-200), bought_on=today(-900))

    refused = assert_problem(post(client, desk, "/check-outs", {"order_ref": "A/1"}), 409)
    listed = client.get("/v1/equipment-due", headers=desk).json["items"]
    post(client, desk, "/tests", {"passed": True, "competent_person": "Ben Okafor", **MEASURED})
    out = post(client, desk, "/check-outs", {"order_ref": "A/1", "until": today(120)})

    assert [reason["code"] for reason in refused["reasons"]] == ["overdue"]
    assert [piece["tag"] for piece in listed] == ["C-12"]
    assert listed[0]["days_overdue"] > 100
    assert out.status_code == 201
    assert "before it is back" in out.json["warnings"][0]
    assert client.get("/v1/equipment-due", headers=desk).json["items"] == []


def test_the_due_list_begins_with_the_longest_overdue_and_goes_on_by_cursor(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    for number, days in enumerate((-100, -300, -200, 0)):
        add_piece(client, desk, f"C-{number}", tested_on=today(days))

    first = client.get("/v1/equipment-due?limit=2", headers=desk).json
    rest = client.get(
        "/v1/equipment-due", query_string={"limit": 2, "cursor": first["next_cursor"]}, headers=desk
    ).json
    wide = client.get("/v1/equipment-due?within_days=100", headers=desk).json

    assert [piece["tag"] for piece in first["items"]] == ["C-1", "C-2"]
    assert [piece["tag"] for piece in rest["items"]] == ["C-0"]
    assert rest["next_cursor"] is None
    assert [piece["tag"] for piece in wide["items"]] == ["C-1", "C-2", "C-0", "C-3"]


def test_an_inspection_is_fine_or_says_what_it_found(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)

    for found in ([], ["fine", "wet"], ["bent"], None):
        assert_problem(post(client, desk, "/inspections", {"found": found}), 422)
    not_out = post(client, desk, "/inspections", {"found": ["fine"], "returned": True})
    assert assert_problem(not_out, 409)["reasons"][0]["code"] == "not-out"
    fine = post(client, desk, "/inspections", {"found": ["fine"], "note": "as new"})
    assert fine.json["piece"]["state"] == "in-service"
    assert fine.json["event"]["more"]["found"] == ["fine"]
    strange = post(client, desk, "/inspections", {"found": ["wet"], "photos": ["nope"]})
    assert_problem(strange, 422, "/photos/0")


def test_an_event_that_is_sent_again_happens_once(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)
    headers = {**desk, "Idempotency-Key": '"scan-1"'}
    body = {"found": ["wet"], "note": "from the river"}

    first = client.post(path("C-12", "/inspections"), json=body, headers=headers)
    second = client.post(path("C-12", "/inspections"), json=body, headers=headers)
    other = client.post(path("C-12", "/inspections"), json={"found": ["fine"]}, headers=headers)

    assert second.json == first.json
    assert second.headers["Idempotency-Replayed"] == "true"
    assert_problem(other, 422)
    assert len(client.get(path("C-12", "/history"), headers=desk).json["events"]) == 2


def test_a_piece_is_not_expected_back_in_the_past(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)

    body = {"order_ref": "A/1", "until": today(-1)}
    assert_problem(post(client, desk, "/check-outs", body), 422, "/until")


def test_a_check_out_that_is_so_already_is_no_event(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)

    first = post(client, desk, "/check-outs", {"order_ref": "A/1"})
    again = post(client, desk, "/check-outs", {"order_ref": "A/1"})

    assert first.json["event"]["words"] == ["C-12 went out on order A/1."]
    assert again.json["event"] is None
    assert again.json["piece"] == first.json["piece"]


def test_what_is_done_to_equipment_stands_in_the_trail(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)
    withdraw(client, desk)

    lines = client.get("/v1/audit?path=/v1/equipment", headers=desk).json["items"]

    assert [line["what"] for line in lines] == [
        "Looked over C-12: kinked. Withdrew C-12.",
        "Added equipment C-12.",
    ]


def test_a_tag_in_other_letters_is_told_the_right_one(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk, "Cable/Ä_12")
    add_piece(client, desk, "CABLE/ä_120")

    problem = assert_problem(client.get(path("cable/ä_12"), headers=desk), 404)

    assert "Nearest: Cable/Ä_12." in problem["detail"]


def test_pieces_are_listed_page_by_page(client: FlaskClient, desk: dict[str, str]) -> None:
    for number in range(5):
        add_piece(client, desk, f"C-{number}")
    found, cursor = [], None
    while True:
        page = client.get(
            "/v1/equipment",
            query_string={"limit": 2, "cursor": cursor} if cursor else "limit=2",
            headers=desk,
        ).json
        found += [piece["tag"] for piece in page["items"]]
        cursor = page["next_cursor"]
        if cursor is None:
            break

    assert found == [f"C-{number}" for number in range(5)]


def test_the_desk_s_own_interval_goes_before_the_region_s(tmp_path: Any) -> None:
    from evenboard.api import create_app

    for settings, months, words in (
        ({"EVENBOARD_REGION": "uk"}, 3, "strictest"),
        ({"EVENBOARD_REGION": "eu"}, 6, "DGUV"),
        ({"EVENBOARD_TEST_INTERVAL_MONTHS": "12"}, 12, "own setting"),
    ):
        app = create_app({"EVENBOARD_DATA": str(tmp_path / str(months)), **settings})
        piece = add_piece(app.test_client(), desk_headers(app))
        assert piece["test_interval"]["months"] == months
        assert words in piece["test_interval"]["basis"]
        app.extensions["evenboard"].store.close()
