"""What is done without a line is kept on the phone and sent once, in order, when there is one."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route

from support.layouts import a_body, a_body_load
from support.phone import Phone, phone_on
from support.service import Service
from support.shared import SharedBoard, at, shared_board

pytestmark = pytest.mark.browser

HOUR_MS = 3_600_000


@pytest.fixture
def board(server: Service, desk: str) -> SharedBoard:
    return shared_board(server, desk, a_body(a_body_load("key", "l1-bottom")))


def move(board: SharedBoard, source: str, target: str, **more: Any) -> dict[str, Any]:
    """The request that moves the key light."""
    change = {"op": "move", "load": "key", "from": at(source), "to": at(target)}
    return {
        "path": f"layouts/{board.id}/changes",
        "body": {"changes": [change], "by": "Ana"},
        "secret": board.secret,
        "words": f"key to {target}",
        **more,
    }


def open_with_outbox(phone: Phone) -> None:
    """Open the client and wait until its own idle moment has brought the outbox."""
    phone.open()
    status(phone)


def send(phone: Phone, *requests: dict[str, Any]) -> list[dict[str, Any]]:
    """Do things one after the other; what came of each."""
    outcome: list[dict[str, Any]] = phone.run(
        "outbox",
        'const all = []; for (const each of v) all.push(m.send("changes", each));'
        "return Promise.all(all);",
        *requests,
    )
    return outcome


def status(phone: Phone) -> dict[str, Any]:
    found: dict[str, Any] = phone.run("outbox", "await m.ready; return m.status();")
    return found


def wait_until_empty(phone: Phone) -> None:
    phone.run(
        "outbox",
        "await m.ready; await new Promise((done) => m.subscribe("
        "({ entries }) => entries.length || done()));",
    )


def moves(board: SharedBoard) -> list[str]:
    """Where the key light was put, in order."""
    return [e["changes"][0]["to"]["outlet"] for e in board.get("/events?after=1")["items"]]


def test_with_a_line_it_is_sent_at_once(phone: Phone, board: SharedBoard) -> None:
    phone.open()

    [outcome] = send(phone, move(board, "l1-bottom", "l2-bottom"))

    assert outcome["state"] == "sent"
    assert outcome["answer"]["event"]["by"] == "Ana"
    assert status(phone)["entries"] == []
    assert board.outlet_of("key") == "l2-bottom"


def test_without_a_line_it_waits_and_is_sent_once_in_order(
    phone: Phone, board: SharedBoard
) -> None:
    open_with_outbox(phone)
    phone.lose_the_line()

    outcomes = send(
        phone,
        move(board, "l1-bottom", "l2-bottom"),
        move(board, "l2-bottom", "l3-bottom"),
        move(board, "l3-bottom", "l1-top"),
    )

    assert [outcome["state"] for outcome in outcomes] == ["waiting"] * 3
    now = status(phone)
    assert (now["waiting"], now["refused"], now["written"]) == (3, 0, True)
    assert now["entries"][0]["words"] == "key to l2-bottom"
    assert board.outlet_of("key") == "l1-bottom"

    phone.find_the_line()
    wait_until_empty(phone)

    assert moves(board) == ["l2-bottom", "l3-bottom", "l1-top"]


def test_an_answer_that_got_lost_does_nothing_twice(phone: Phone, board: SharedBoard) -> None:
    phone.open()
    lost: list[str] = []

    def lose(route: Route) -> None:
        if lost:
            route.continue_()
            return
        # The service hears it, the phone does not hear the answer.
        lost.append(route.fetch().text())
        route.abort()

    phone.page.route("**/changes", lose)
    [outcome] = send(phone, move(board, "l1-bottom", "l2-bottom"))
    assert outcome["state"] == "waiting"
    # Meanwhile somebody moved the lamp on: the repeat must not read as a conflict.
    assert board.change(
        {"op": "move", "load": "key", "from": at("l2-bottom"), "to": at("l3-top")}
    ).ok

    phone.run("outbox", "await m.flush();")

    assert status(phone)["entries"] == []
    assert json.loads(lost[0])["version"] == 2
    assert moves(board) == ["l2-bottom", "l3-top"]


def test_what_waits_outlives_the_page(phone: Phone, board: SharedBoard) -> None:
    phone.open()
    phone.page.route("**/changes", lambda route: route.abort())
    send(phone, move(board, "l1-bottom", "l2-bottom"))

    phone.page.reload()
    assert status(phone)["waiting"] == 1
    phone.page.unroute("**/changes")
    phone.run("outbox", "m.flush();")
    wait_until_empty(phone)

    assert moves(board) == ["l2-bottom"]


def test_a_refused_one_is_kept_until_a_person_says_what_to_do(
    phone: Phone, board: SharedBoard
) -> None:
    phone.open()
    board.change(
        {"op": "move", "load": "key", "from": at("l1-bottom"), "to": at("l3-top")}, by="Bo"
    )

    mine, next_one = send(
        phone,
        move(board, "l1-bottom", "l2-bottom"),
        move(board, "l3-top", "l2-top"),
    )

    assert (mine["state"], mine["problem"]["status"]) == ("refused", 409)
    [conflict] = mine["problem"]["conflicts"]
    assert conflict["theirs"]["by"] == "Bo"
    # It does not stand in the way of what still fits.
    assert next_one["state"] == "sent"
    assert status(phone)["refused"] == 1

    body = move(board, "l2-top", "l2-bottom")["body"]
    again = phone.run("outbox", "return m.retry(v[0], { body: v[1] });", mine["id"], body)

    assert again["state"] == "sent"
    assert status(phone)["entries"] == []
    assert board.outlet_of("key") == "l2-bottom"


def test_one_that_comes_while_the_queue_is_being_left_is_not_said_to_be_sent(
    phone: Phone, board: SharedBoard
) -> None:
    """Sent again by whoever hears that the queue is gone through, just before that ends."""
    phone.open()
    [refused] = send(phone, move(board, "l1-top", "l2-bottom"))
    body = move(board, "l1-bottom", "l2-bottom")["body"]

    again = phone.run(
        "outbox",
        "let heard = 0, outcome = null;"
        "const stop = m.subscribe(() => {"
        "  heard += 1; if (heard === 2) outcome = m.retry(v[0], { body: v[1] }); });"
        "await m.flush(); stop(); return outcome;",
        refused["id"],
        body,
    )

    assert again["state"] == "sent"
    assert again["answer"]["event"]["by"] == "Ana"
    assert status(phone)["entries"] == []
    assert board.outlet_of("key") == "l2-bottom"


def test_a_refused_one_may_be_given_up(phone: Phone, board: SharedBoard) -> None:
    phone.open()
    [refused] = send(phone, move(board, "l1-top", "l2-bottom"))

    phone.page.reload()
    assert status(phone)["refused"] == 1
    phone.run("outbox", "await m.discard(v[0]);", refused["id"])

    assert status(phone)["entries"] == []
    assert board.outlet_of("key") == "l1-bottom"


def test_trouble_with_one_board_does_not_hold_up_another(
    phone: Phone, server: Service, desk: str, board: SharedBoard
) -> None:
    other = shared_board(server, desk, a_body(a_body_load("key", "l1-bottom")))
    phone.open()
    phone.page.route(f"**/{board.id}/changes", lambda route: route.fulfill(status=503, body="{}"))

    stuck, through = send(
        phone, move(board, "l1-bottom", "l2-bottom"), move(other, "l1-bottom", "l2-bottom")
    )

    assert (stuck["state"], through["state"]) == ("waiting", "sent")
    assert status(phone)["trouble"]["status"] == 503


def test_a_clock_an_hour_wrong_and_put_right_meanwhile_tells_the_true_age(
    browser: Browser, server: Service, board: SharedBoard
) -> None:
    with phone_on(browser, server.url) as phone:
        # The phone's clock is an hour fast; then the network's time comes, with the line.
        phone.page.add_init_script(
            f"const real = Date.now; let wrong = {HOUR_MS}; Date.now = () => real() + wrong;"
            "globalThis.putRight = (ms) => { wrong = ms; };"
        )
        open_with_outbox(phone)
        phone.lose_the_line()
        send(phone, move(board, "l1-bottom", "l2-bottom"))
        # Ten minutes pass, and the clock is put right.
        phone.page.evaluate("putRight(600000)")
        now = format_datetime(datetime.now(UTC) + timedelta(minutes=10), usegmt=True)
        phone.page.route(
            "**/healthz",
            lambda route: route.fulfill(json={"status": "ok"}, headers={"Date": now}),
        )
        with phone.page.expect_request("**/changes") as sent:
            phone.find_the_line()

    assert sent.value.post_data_json["age_s"] == pytest.approx(600, abs=20)


def test_two_tabs_send_what_waits_once(browser: Browser, phone: Phone, board: SharedBoard) -> None:
    phone.open()
    other: Page = phone.page.context.new_page()
    other.goto(f"{phone.url}/")
    other.evaluate("import('/js/outbox.js').then((m) => m.ready)")
    status(phone)
    phone.lose_the_line()
    send(phone, move(board, "l1-bottom", "l2-bottom"), move(board, "l2-bottom", "l3-bottom"))
    sent: list[str] = []
    for page in (phone.page, other):
        page.on(
            "request",
            lambda request: sent.append(request.url) if "changes" in request.url else None,
        )

    # Both hear that the line is back; both try.
    seen = other.evaluate(
        "import('/js/outbox.js').then((m) => m.ready.then(() => m.status().waiting))"
    )
    phone.find_the_line()
    other.evaluate("import('/js/outbox.js').then((m) => m.flush())")
    wait_until_empty(phone)

    assert seen == 2
    assert len(sent) == 2
    assert moves(board) == ["l2-bottom", "l3-bottom"]


def test_a_full_phone_gives_up_what_it_can_fetch_again_and_keeps_what_was_done(
    phone: Phone, board: SharedBoard
) -> None:
    open_with_outbox(phone)
    phone.lose_the_line()
    phone.run("memory", 'await m.keep("catalogue", [1]); await m.keep("layout", { mine: 1 });')
    # The disk takes nothing more until something was deleted.
    phone.page.evaluate("""() => {
      const put = IDBObjectStore.prototype.put, free = IDBObjectStore.prototype.delete;
      let full = true;
      IDBObjectStore.prototype.delete = function (...rest) {
        full = false;
        return free.apply(this, rest);
      };
      IDBObjectStore.prototype.put = function (...rest) {
        if (full) throw new DOMException("full", "QuotaExceededError");
        return put.apply(this, rest);
      };
    }""")

    send(phone, move(board, "l1-bottom", "l2-bottom"))

    now = status(phone)
    assert (now["waiting"], now["written"]) == (1, True)
    assert phone.run("memory", 'return m.recall("catalogue");') is None
    assert phone.run("memory", 'return m.recall("layout");') == {"mine": 1}


def test_a_phone_with_no_room_at_all_says_so_and_still_sends(
    phone: Phone, board: SharedBoard
) -> None:
    open_with_outbox(phone)
    phone.lose_the_line()
    phone.page.evaluate("""() => { IDBObjectStore.prototype.put = () => {
      throw new DOMException("full", "QuotaExceededError"); }; }""")

    send(phone, move(board, "l1-bottom", "l2-bottom"), move(board, "l2-bottom", "l3-bottom"))

    now = status(phone)
    assert (now["waiting"], now["written"]) == (2, False)
    phone.find_the_line()
    phone.run("outbox", "await m.flush();")
    assert moves(board) == ["l2-bottom", "l3-bottom"]


def test_what_waited_longer_than_a_repeat_is_known_is_left_to_a_person(
    phone: Phone, board: SharedBoard
) -> None:
    open_with_outbox(phone)
    phone.lose_the_line()
    [outcome] = send(phone, move(board, "l1-bottom", "l2-bottom"))
    phone.page.evaluate("const real = Date.now; Date.now = () => real() + 8 * 86400000")
    phone.page.evaluate("localStorage.clear()")
    phone.page.route(
        "**/healthz", lambda route: route.fulfill(json={"status": "ok"}, headers={"Date": ""})
    )
    phone.find_the_line()
    phone.run("outbox", "await m.flush();")

    [kept] = status(phone)["entries"]
    assert (kept["state"], kept["problem"]["kind"]) == ("refused", "old")
    assert phone.run("outbox", "return m.retry(v[0]);", outcome["id"])["state"] == "sent"
