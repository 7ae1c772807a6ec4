"""One board, many phones: small changes over HTTP, conflicts, history, undo."""

from __future__ import annotations

import threading
from datetime import datetime, timedelta
from typing import Any

import pytest
from flask import Flask

from evenboard.api.access import DESK, PLUG, READ
from support.callers import headers_of
from support.layouts import a_body, a_body_load
from support.problems import assert_problem

Json = dict[str, Any]


def at(outlet: str) -> Json:
    return {"board": "main", "outlet": outlet}


WIDE_AND_CLOSE = [{"id": "wide"}, {"id": "close"}]


class Board:
    """A saved layout and a phone on it."""

    def __init__(self, app: Flask) -> None:
        self.app, self.client = app, app.test_client()
        self.desk = headers_of(app, DESK)
        lamps = [a_body_load("key", "l1-bottom"), a_body_load("fill", "l2-bottom")]
        body = a_body(*lamps, setups=WIDE_AND_CLOSE)
        made = self.client.post("/v1/layouts", json={"body": body}, headers=self.desk)
        self.id = made.json["id"]
        self.address = made.headers["Location"]
        self.phone = headers_of(app, PLUG, layout_id=self.id)

    def change(self, *changes: Json, key: str | None = None, **more: Any) -> Any:
        headers = self.phone | ({"Idempotency-Key": f'"{key}"'} if key else {})
        sent = {"changes": list(changes), **more}
        return self.client.post(f"{self.address}/changes", json=sent, headers=headers)

    def events(self, after: int = 0, **query: int) -> Json:
        told: Json = self.client.get(
            f"{self.address}/events", query_string={"after": after, **query}, headers=self.phone
        ).json
        return told

    def load(self, load_id: str) -> Json:
        body = self.client.get(self.address, headers=self.phone).json["body"]
        [found] = [load for load in body["loads"] if load["id"] == load_id]
        return found


@pytest.fixture
def app(app_on_both: Flask) -> Flask:
    """On each database in turn: they keep changes apart in different ways."""
    return app_on_both


@pytest.fixture
def board(app: Flask) -> Board:
    return Board(app)


MOVE_KEY = {"op": "move", "load": "key", "from": at("l1-bottom"), "to": at("l3-bottom")}


def test_what_one_phone_does_the_others_hear_with_who_and_when(board: Board) -> None:
    answer = board.change(MOVE_KEY, by="Ana")

    assert answer.status_code == 200
    heard = board.events(after=1)
    assert heard == {"items": [answer.json["event"]], "version": 2}
    [event] = heard["items"]
    assert event["changes"] == [MOVE_KEY]
    assert (event["by"], event["role"], event["kind"]) == ("Ana", "plug-link", "changed")
    assert event["words"] == ["Moved key from main L1 bottom to main L3 bottom."]
    assert board.load("key")["outlet"] == "l3-bottom"


def test_a_phone_that_has_heard_all_hears_nothing_new(board: Board) -> None:
    board.change(MOVE_KEY)

    first = board.client.get(f"{board.address}/events?after=2", headers=board.phone)
    again = board.client.get(
        f"{board.address}/events?after=2",
        headers=board.phone | {"If-None-Match": first.headers["ETag"]},
    )

    assert first.json == {"items": [], "version": 2}
    assert again.status_code == 304


def test_a_long_history_is_heard_in_parts(board: Board) -> None:
    for share in (0.9, 0.8, 0.7, 0.6):
        board.change(
            {"op": "dim", "load": "key", "was": board.load("key").get("dimmed_to"), "to": share}
        )

    part = board.events(after=0, limit=3)
    rest = board.events(after=part["items"][-1]["version"], limit=3)

    assert [event["version"] for event in (*part["items"], *rest["items"])] == [1, 2, 3, 4, 5]
    assert part["version"] == 5


def test_undo_is_sent_as_it_came(board: Board) -> None:
    event = board.change(MOVE_KEY, {"op": "burning", "was": None, "to": "wide"}).json["event"]

    undone = board.change(*event["undo"])

    assert undone.status_code == 200
    assert board.load("key")["outlet"] == "l1-bottom"
    assert board.client.get(board.address, headers=board.phone).json["burning"] is None


def test_an_undo_of_what_somebody_has_changed_since_is_a_conflict(board: Board) -> None:
    event = board.change(MOVE_KEY).json["event"]
    board.change({"op": "unplug", "load": "key", "from": at("l3-bottom")}, by="Ben")

    problem = assert_problem(board.change(*event["undo"]), 409, "/changes/0")

    assert problem["conflicts"][0]["theirs"]["by"] == "Ben"
    assert "outlet" not in board.load("key")


def test_two_phones_on_the_same_outlet_see_both_versions_and_nothing_is_lost(board: Board) -> None:
    spare = {"id": "spare", "fixture": "tungsten-open-face-2000"}
    board.change({"op": "add", "new": spare})
    board.change(MOVE_KEY, by="Ana")
    mine = {"op": "plug", "load": "spare", "to": at("l3-bottom")}

    problem = assert_problem(board.change(mine, by="Ben"), 409, "/changes/0")

    assert problem["type"] == "/problems/colliding-changes"
    assert problem["version"] == 3
    [conflict] = problem["conflicts"]
    assert conflict["yours"] == mine
    assert conflict["now"] == {"load": "key"}
    assert (conflict["theirs"]["by"], conflict["theirs"]["version"]) == ("Ana", 3)
    assert conflict["detail"] == "main L3 bottom is taken by load key. Ana did that."
    assert "outlet" not in board.load("spare")
    # A clear choice: leave it, or take theirs out and plug mine in, in one go.
    instead = [{"op": "unplug", "load": "key", "from": at("l3-bottom")}, mine]
    assert board.change(*instead, by="Ben").status_code == 200
    assert board.load("spare")["outlet"] == "l3-bottom"


def test_phones_on_different_lamps_do_not_wait_for_each_other(board: Board) -> None:
    both_read = board.client.get(board.address, headers=board.phone).json

    one = board.change(MOVE_KEY)
    other = board.change({"op": "dim", "load": "fill", "was": 1, "to": 0.5})

    assert both_read["version"] == 1
    assert (one.status_code, other.status_code) == (200, 200)
    assert (board.load("key")["outlet"], board.load("fill")["dimmed_to"]) == ("l3-bottom", 0.5)


def test_many_phones_at_once_lose_nothing_and_do_nothing_twice(app: Flask, board: Board) -> None:
    names = [f"lamp-{i}" for i in range(8)]

    def phone(name: str) -> None:
        client = app.test_client()
        new = {"id": name, "fixture": "tungsten-open-face-2000"}
        for _ in range(3):
            # Each request is sent three times, as on a bad line.
            headers = board.phone | {"Idempotency-Key": f'"{name}"'}
            sent = {"changes": [{"op": "add", "new": new}], "by": name}
            answer = client.post(f"{board.address}/changes", json=sent, headers=headers)
            assert answer.status_code == 200

    threads = [threading.Thread(target=phone, args=(name,)) for name in names]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)

    body = board.client.get(board.address, headers=board.phone).json["body"]
    added = [load["id"] for load in body["loads"] if load["id"].startswith("lamp-")]
    assert sorted(added) == names
    heard = board.events(after=1)["items"]
    assert [event["version"] for event in heard] == list(range(2, 10))
    assert sorted(event["by"] for event in heard) == names


def test_a_repeat_with_its_key_is_answered_as_before(board: Board) -> None:
    first = board.change(MOVE_KEY, key="k1")
    board.change({"op": "move", "load": "key", "from": at("l3-bottom"), "to": at("l1-top")})

    again = board.change(MOVE_KEY, key="k1")

    # Not a conflict, though the lamp has moved on: it is the same request.
    assert (again.status_code, again.data) == (200, first.data)
    assert board.load("key")["outlet"] == "l1-top"
    assert_problem(board.change({"op": "burning", "was": None, "to": None}, key="k1"), 422)


def test_a_repeat_may_say_that_more_time_has_passed(board: Board) -> None:
    first = board.change(MOVE_KEY, key="k1", age_s=3)

    again = board.change(MOVE_KEY, key="k1", age_s=900)
    other = board.change(MOVE_KEY, key="k1", age_s=3, by="Ana")

    assert (again.status_code, again.data) == (200, first.data)
    assert_problem(other, 422)


def test_a_conflict_does_not_use_its_key_up(board: Board) -> None:
    board.change(MOVE_KEY)
    refused = board.change(MOVE_KEY | {"to": at("l1-top")}, key="k2")
    board.change({"op": "move", "load": "key", "from": at("l3-bottom"), "to": at("l1-bottom")})

    again = board.change(MOVE_KEY | {"to": at("l1-top")}, key="k2")

    assert (refused.status_code, again.status_code) == (409, 200)


def test_a_change_that_is_so_already_makes_no_event(board: Board) -> None:
    board.change(MOVE_KEY)

    again = board.change(MOVE_KEY)

    assert again.json == {"version": 2, "event": None}


def test_what_waited_for_reception_is_told_with_the_time_it_was_done(board: Board) -> None:
    event = board.change(MOVE_KEY, age_s=3600).json["event"]

    made, done = (datetime.fromisoformat(event[name]) for name in ("at", "done_at"))
    # A minute of grace for a slow machine.
    assert timedelta(0) <= (made - done) - timedelta(hours=1) < timedelta(minutes=1)


@pytest.mark.parametrize(
    ("changes", "pointer", "said"),
    [
        ([], "/changes", "1 to 100"),
        ([MOVE_KEY] * 101, "/changes", "at most 100"),
        ([5], "/changes/0", "object"),
        ([{}], "/changes/0/op", "missing"),
        ([{"op": "swp"}], "/changes/0/op", "Nearest: swap"),
        ([{"op": "move", "load": "key"}], "/changes/0/from", "move has load, from, to"),
        ([MOVE_KEY | {"was": 1}], "/changes/0/was", "no was in move"),
        ([MOVE_KEY | {"form": 1}], "/changes/0/form", "Nearest: from"),
        ([MOVE_KEY | {"to": None}], "/changes/0/to", "place"),
        ([MOVE_KEY | {"to": {"board": "main"}}], "/changes/0/to/outlet", "missing"),
        ([MOVE_KEY | {"to": at("l9")}], "/changes/0", "l1-bottom"),
        ([MOVE_KEY, {"op": "dim", "load": "key", "was": 1, "to": 2}], "/changes/1/to", "at most 1"),
        ([{"op": "dim", "load": "key", "was": "1", "to": 0}], "/changes/0/was", "number"),
        ([{"op": "burning", "was": None, "to": "wid"}], "/changes/0/to", "Nearest: wide"),
        ([{"op": "add", "new": {"id": "x"}}], "/changes/0/new/fixture", "fixture"),
        ([{"op": "add", "new": []}], "/changes/0/new", "object"),
        ([{"op": "add", "new": {}}], "/changes/0/new/id", "missing"),
        (
            [{"op": "set", "load": "key", "field": "count", "was": None, "to": -1}],
            "/changes/0",
            "count",
        ),
        (
            [{"op": "set", "load": "key", "field": "name", "was": None, "to": "a\0b"}],
            "/changes/0",
            "control character",
        ),
        (
            [{"op": "set", "load": "key", "field": "id", "was": "key", "to": "x"}],
            "/changes/0/field",
            "id",
        ),
        (
            [
                {
                    "op": "swap",
                    "load": "key",
                    "from": at("l1-bottom"),
                    "with": "key",
                    "to": at("l1-bottom"),
                }
            ],
            "/changes/0/with",
            "two loads swap",
        ),
        (
            [{"op": "plug", "load": "key", "to": at("l1-top"), "beside": "x"}],
            "/changes/0/beside",
            "list",
        ),
        (
            [{"op": "dim", "load": "key", "was": 1, "to": 0, "beside": []}],
            "/changes/0/beside",
            "no",
        ),
        ([{"op": "add-board", "new": {"type": "four-way"}}], "/changes/0/new/id", "missing"),
        ([{"op": "add-board", "new": 3}], "/changes/0/new", "a board with its id"),
        (
            [{"op": "add-board", "new": {"id": "x", "type": "four-wey", "fed_from": at("l3-top")}}],
            "/changes/0/new/type",
            "four-way",
        ),
        ([{"op": "add-board", "new": {"id": "x", "fed_from": 3}}], "/changes/0/new", "a place"),
        ([{"op": "remove-board", "board": "sub"}], "/changes/0/from", "missing"),
        ([{"op": "remove-board", "board": None, "from": None}], "/changes/0/board", "missing"),
        (
            [{"op": "set-board", "board": "main", "field": "fed_from", "was": None, "to": "x"}],
            "/changes/0/to",
            "a place",
        ),
        (
            [{"op": "set-board", "board": "main", "field": "count", "was": None, "to": 2}],
            "/changes/0/field",
            "set-board has no",
        ),
        (
            [{"op": "set-board", "board": "main", "field": "feeder", "was": None, "to": [3]}],
            "/changes/0",
            "feeder",
        ),
        (
            [{"op": "set-layout", "field": "boards", "was": None, "to": []}],
            "/changes/0/field",
            "Nearest",
        ),
        (
            [{"op": "set-layout", "field": "ambient_c", "was": None, "to": 900}],
            "/changes/0/to",
            "900",
        ),
        (
            [{"op": "set-layout", "field": "setups", "was": WIDE_AND_CLOSE, "to": [{"x": 1}, 7]}],
            "/changes/0/to/0/id",
            "missing",
        ),
        (
            [{"op": "set-layout", "field": "setups", "was": WIDE_AND_CLOSE, "to": 7}],
            "/changes/0/to",
            "list",
        ),
    ],
)
def test_a_fault_is_placed_and_told_and_nothing_is_made(
    board: Board, changes: list[Any], pointer: str, said: str
) -> None:
    problem = assert_problem(board.change(*changes), 422, pointer)

    assert said in str(problem["errors"])
    assert board.events()["version"] == 1


@pytest.mark.parametrize("age_s", [-1, 7 * 86_400 + 1, "1"])
def test_a_change_is_not_from_the_future_nor_older_than_a_repeat_is_known(
    board: Board, age_s: Any
) -> None:
    assert_problem(board.change(MOVE_KEY, age_s=age_s), 422, "/age_s")


def test_every_kind_of_change_may_be_asked_for_over_http(board: Board) -> None:
    place = at("l3-top")
    new = {"id": "new", "fixture": "tungsten-open-face-2000"}
    sent = [
        {"op": "add", "new": new},
        {"op": "plug", "load": "new", "to": place},
        {"op": "move", "load": "new", "from": place, "to": at("l1-top")},
        {"op": "swap", "load": "new", "from": at("l1-top"), "with": "key", "to": at("l1-bottom")},
        {"op": "unplug", "load": "new", "from": at("l1-bottom")},
        {"op": "dim", "load": "new", "was": 1, "to": 0.5},
        {"op": "set", "load": "new", "field": "setups", "was": None, "to": ["close"]},
        {"op": "remove", "load": "new", "from": None},
        {"op": "burning", "was": None, "to": "close"},
        {"op": "add-board", "new": {"id": "strip", "type": "four-way", "fed_from": place}},
        {"op": "set-board", "board": "strip", "field": "name", "was": None, "to": "by the door"},
        {"op": "remove-board", "board": "strip", "from": place},
        {"op": "set-layout", "field": "name", "was": "test", "to": "Quay"},
    ]

    answer = board.change(*sent)

    assert answer.status_code == 200, answer.text
    assert answer.json["event"]["changes"] == sent
    assert board.load("key")["outlet"] == "l1-top"
    # A board's name is the one that lists show.
    assert board.client.get(board.address, headers=board.phone).json["name"] == "Quay"
    # The undo of all of it in one go brings all of it back.
    assert board.change(*answer.json["event"]["undo"]).status_code == 200
    assert board.load("key")["outlet"] == "l1-bottom"


def test_a_link_that_reads_hears_and_does_not_change(app: Flask, board: Board) -> None:
    reader = headers_of(app, READ, layout_id=board.id)

    heard = board.client.get(f"{board.address}/events", headers=reader)
    refused = board.client.post(
        f"{board.address}/changes", json={"changes": [MOVE_KEY]}, headers=reader
    )

    assert heard.status_code == 200
    assert "a link of the layout that may plug" in assert_problem(refused, 403)["detail"]


def test_listening_is_not_counted_against_the_limit_of_requests(tmp_path: Any) -> None:
    from evenboard.api import create_app

    app = create_app({"EVENBOARD_DATA": str(tmp_path), "EVENBOARD_REQUESTS_PER_MINUTE": "5"})
    board = Board(app)

    heard = {
        board.client.get(f"{board.address}/events", headers=board.phone).status_code
        for _ in range(20)
    }
    counted = [board.client.get("/v1/whoami", headers=board.phone).status_code for _ in range(10)]

    assert heard == {200}
    assert 429 in counted
    app.extensions["evenboard"].store.close()


def test_the_trail_tells_each_change_once(board: Board) -> None:
    board.change(MOVE_KEY, key="k", by="Ana")
    board.change(MOVE_KEY, key="k", by="Ana")

    trail = board.client.get(
        "/v1/audit", query_string={"path": board.address}, headers=board.desk
    ).json["items"]

    [line] = trail
    assert line["what"] == "Moved key from main L1 bottom to main L3 bottom."
    assert (line["role"], line["method"]) == ("plug-link", "POST")
