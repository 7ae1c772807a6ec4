"""One board on several phones: links, what others do, conflicts, names, undo."""

from __future__ import annotations

import re
import time
from typing import Any

import pytest
import requests
from playwright.sync_api import expect

from support.phone import Phone, a_body
from support.service import Service
from support.shared import SharedBoard, at, join, shared_board

pytestmark = pytest.mark.browser

BODY = a_body(
    {"id": "key", "fixture": "tungsten-open-face-2000", "outlet": "l1-bottom"},
    {"id": "fill", "fixture": "tungsten-open-face-2000", "outlet": "l2-bottom"},
    {"id": "panel", "fixture": "led-panel-200", "outlet": "l3-top", "setups": ["wide"]},
    setups=[{"id": "wide"}, {"id": "close"}],
)
"""What one phone does the others see within this."""


@pytest.fixture
def board(server: Service, desk: str) -> SharedBoard:
    return shared_board(server, desk, BODY)


def move(phone: Phone, source: str, lamp: str, target: str) -> None:
    """Tap a lamp, Move, and another outlet."""
    phone.tile(source).tap()
    phone.sheet().get_by_role("button", name="Move").tap()
    phone.tile(target).tap()
    expect(phone.tile(target)).to_contain_text(lamp)


def test_a_link_opens_the_board_and_leaves_no_secret_behind(
    phone: Phone, board: SharedBoard
) -> None:
    asked: list[str] = []
    phone.page.on("request", lambda request: asked.append(request.url + str(request.headers)))

    join(phone, board)

    expect(phone.tile("l1-bottom")).to_contain_text("key")
    assert board.secret not in phone.page.url
    sent = [each for each in asked if board.secret in each]
    assert sent
    assert all(f"Bearer {board.secret}" in each for each in sent)
    assert not any(f"{board.secret}" in each.split("{")[0] for each in sent)
    # A reload goes on with the board, and asks for no name again.
    phone.page.reload()
    phone.wait_for_verdict()
    expect(phone.page.locator(".shared-bar")).to_contain_text("Shared board")
    expect(phone.sheet()).to_have_count(0)


def test_what_one_phone_plugs_the_other_shows_by_itself(
    phone: Phone, other: Phone, board: SharedBoard
) -> None:
    join(phone, board)
    join(other, board, "Ben")

    move(phone, "l1-bottom", "key", "l3-bottom")

    expect(other.tile("l3-bottom")).to_contain_text("key")
    expect(other.tile("l1-bottom")).to_contain_text("free")
    expect(other.page.locator(".deed")).to_contain_text(
        "Ana: Moved key from L1 bottom to L3 bottom."
    )
    assert board.outlet_of("key") == "l3-bottom"


def test_phones_on_different_lamps_keep_both_changes(
    phone: Phone, other: Phone, board: SharedBoard
) -> None:
    join(phone, board)
    join(other, board, "Ben")

    move(phone, "l1-bottom", "key", "l3-bottom")
    move(other, "l2-bottom", "fill", "l1-middle")

    for each in (phone, other):
        expect(each.tile("l3-bottom")).to_contain_text("key")
        expect(each.tile("l1-middle")).to_contain_text("fill")


@pytest.mark.parametrize("choice", ["theirs", "mine"])
def test_two_on_one_lamp_get_a_choice_and_nothing_is_lost(
    phone: Phone, board: SharedBoard, choice: str
) -> None:
    join(phone, board)
    # The line is gone while somebody else is quicker.
    phone.lose_the_line()
    move(phone, "l1-bottom", "key", "l3-bottom")
    expect(phone.page.locator(".news")).to_contain_text("1 thing not sent yet")
    assert board.change(
        {"op": "move", "load": "key", "from": at("l1-bottom"), "to": at("l2-top")}, by="Ben"
    ).ok
    phone.find_the_line()

    sheet = phone.sheet()
    expect(sheet).to_contain_text("You and Ben changed the same")
    expect(sheet).to_contain_text("Moved key from L1 bottom to L3 bottom.")
    expect(sheet).to_contain_text("key: L2 top")
    phone.button("Look at the board first").tap()
    expect(phone.tile("l2-top")).to_contain_text("key")
    phone.button("1 change to decide on").tap()
    phone.button("Do mine after all" if choice == "mine" else "Leave it as it is now").tap()

    kept = "l3-bottom" if choice == "mine" else "l2-top"
    expect(phone.tile(kept)).to_contain_text("key")
    expect(phone.page.locator(".shared-bar .main-key")).to_have_count(0)
    assert wait_for(lambda: board.outlet_of("key"), kept)


def test_mine_after_all_puts_what_is_in_the_way_on_the_table(
    phone: Phone, board: SharedBoard
) -> None:
    join(phone, board)
    phone.lose_the_line()
    move(phone, "l1-bottom", "key", "l3-bottom")
    board.change({"op": "move", "load": "fill", "from": at("l2-bottom"), "to": at("l3-bottom")})
    phone.find_the_line()

    expect(phone.sheet()).to_contain_text("L3 bottom: fill")
    phone.button("Do mine after all").tap()

    expect(phone.tile("l3-bottom")).to_contain_text("key")
    assert wait_for(lambda: board.outlet_of("key"), "l3-bottom")
    assert board.outlet_of("fill") is None


def test_undo_takes_back_ones_own_last_change_and_leaves_the_others(
    phone: Phone, other: Phone, board: SharedBoard
) -> None:
    join(phone, board)
    join(other, board, "Ben")
    move(phone, "l1-bottom", "key", "l3-bottom")
    move(other, "l2-bottom", "fill", "l1-middle")
    expect(phone.tile("l1-middle")).to_contain_text("fill")

    phone.button("Undo").tap()

    expect(phone.tile("l1-bottom")).to_contain_text("key")
    expect(phone.tile("l1-middle")).to_contain_text("fill")
    expect(other.tile("l1-bottom")).to_contain_text("key")


def test_who_did_what_is_a_list_and_an_own_deed_can_be_undone_there(
    phone: Phone, board: SharedBoard
) -> None:
    join(phone, board)
    move(phone, "l1-bottom", "key", "l3-bottom")
    # The own change is at the service before the other one is made: what came last is then sure.
    assert wait_for(lambda: board.outlet_of("key"), "l3-bottom")
    assert board.change({"op": "dim", "load": "fill", "was": None, "to": 0.5}, by="Ben").ok
    expect(phone.page.locator(".deed")).to_contain_text("Ben: Dimmed fill to 50 %.")
    # The figures follow the deed and move what is below them: a finger waits for that.
    expect(phone.page.get_by_role("list", name="Load per phase").first).to_contain_text("6.8")

    phone.page.get_by_role("link", name="Who did what").tap()

    rows = phone.page.locator(".deed-row")
    expect(rows.nth(0)).to_contain_text("Ben")
    expect(rows.nth(0).get_by_role("button")).to_have_count(0)
    expect(rows.nth(1)).to_contain_text("Ana (you)")
    phone.button("Undo: Moved key from L1 bottom to L3 bottom.").tap()
    expect(rows.nth(0)).to_contain_text("Moved key from L3 bottom to L1 bottom.")
    assert wait_for(lambda: board.outlet_of("key"), "l1-bottom")


def test_boards_leads_and_set_ups_are_shared_as_well(phone: Phone, board: SharedBoard) -> None:
    """A multi-way lead on a used outlet, its lamp moved into it, and a set-up more."""
    join(phone, board)

    changes = phone.run(
        "worksheet",
        """const layout = await import('/js/layout.js');
        m.worksheet.edit((x) => {
          let next = layout.addBoard(x, { type: "four-way", stem: "strip",
            fedFrom: { board: "main", outlet: "l1-bottom" } })[0];
          next = layout.plug(next, "key", "strip", "1");
          next = layout.addSetup(next, "night")[0];
          return layout.changeBoard(next, "main", { name: "truck" });
        });""",
    )
    assert changes is None

    def made() -> tuple[list[str], str | None, list[str]]:
        body = board.get()["body"]
        [key] = [load for load in body["loads"] if load["id"] == "key"]
        return (
            [each["id"] for each in body["boards"]],
            key["board"],
            [each["id"] for each in body["setups"]],
        )

    assert wait_for(made, (["main", "strip"], "strip", ["wide", "close", "night"]))
    # The undo takes all of it back in one go.
    phone.button("Undo").tap()
    assert wait_for(made, (["main"], "main", ["wide", "close"]))


def test_a_link_that_only_looks_changes_nothing_and_offers_a_copy(
    phone: Phone, board: SharedBoard, server: Service
) -> None:
    secret = link(board, "read")
    phone.open(f"#/open/{secret}")
    phone.wait_for_verdict()
    # Who only looks is not asked for a name.
    expect(phone.sheet()).to_have_count(0)

    phone.tile("l1-bottom").tap()
    phone.sheet().get_by_role("button", name="Unplug").tap()

    bar = phone.page.locator(".shared-bar")
    expect(bar).to_contain_text("This link only looks")
    expect(phone.tile("l1-bottom")).to_contain_text("key")
    phone.button("Take a copy").tap()
    expect(bar).to_be_hidden()
    phone.tile("l1-bottom").tap()
    phone.sheet().get_by_role("button", name="Unplug").tap()
    expect(phone.tile("l1-bottom")).to_contain_text("free")
    assert board.outlet_of("key") == "l1-bottom"


def test_a_crew_s_link_offers_its_boards_and_takes_readings_but_no_changes(
    phone: Phone, server: Service, desk: str
) -> None:
    headers = {"Authorization": f"Bearer {desk}"}
    for name in ("Quay", "Boathouse"):
        sent = {"body": {**BODY, "name": name}, "order_ref": f"crew/{id(phone)}"}
        requests.post(f"{server.url}/v1/layouts", json=sent, headers=headers, timeout=20)
    made = requests.post(
        f"{server.url}/v1/orders/crew/{id(phone)}/links",
        json={"name": "crew"},
        headers=headers,
        timeout=20,
    )

    phone.open(f"#/open/{made.json()['token']}")
    phone.button(re.compile("Boathouse")).tap()

    phone.wait_for_verdict()
    expect(phone.page.get_by_role("heading", level=1)).to_have_text("Boathouse")
    phone.tile("l1-bottom").tap()
    phone.sheet().get_by_role("button", name="Unplug").tap()
    expect(phone.page.locator(".shared-bar")).to_contain_text("This link only looks")
    phone.page.get_by_role("link", name="Readings").tap()
    expect(phone.button("Enter the reading")).to_be_visible()


def test_a_link_that_is_withdrawn_says_so_and_the_board_stays_as_a_copy(
    phone: Phone, board: SharedBoard, desk: str
) -> None:
    headers = {"Authorization": f"Bearer {desk}"}
    join(phone, board)
    [made] = board.get("/links")["items"]

    requests.delete(f"{board.url}/v1/links/{made['id']}", headers=headers, timeout=20)

    bar = phone.page.locator(".shared-bar")
    expect(bar).to_contain_text("opens the board no more")
    phone.button("Take a copy").tap()
    expect(phone.tile("l1-bottom")).to_contain_text("key")
    phone.open(f"#/open/{board.secret}")
    expect(phone.page.get_by_role("alert")).to_contain_text("This link opens nothing")


def test_the_desk_shares_a_board_and_the_code_on_the_box_opens_it(
    phone: Phone, other: Phone, desk: str
) -> None:
    phone.put(BODY)
    phone.tab("Hand over")
    field = phone.page.get_by_label("Key of the rental desk")
    field.fill("not a key")
    phone.button("Use this key").tap()
    expect(phone.page.get_by_text("That is no key")).to_be_visible()
    field.fill(desk)
    phone.button("Use this key").tap()

    phone.button("Share this board").tap()
    phone.sheet().get_by_label("Your name or job").fill("Desk")
    phone.button("That is me").tap()

    code = phone.page.get_by_role("img", name="QR code of this board's link")
    expect(code).to_be_visible()
    assert code.evaluate("(image) => image.decode().then(() => image.naturalWidth > 20)")
    secret = phone.run("together", "return m.shared.link.secret;")
    assert secret.startswith("evl_")
    other.open(f"#/open/{secret}")
    other.button("Without a name").tap()
    expect(other.tile("l1-bottom")).to_contain_text("key")


def link(board: SharedBoard, may: str) -> str:
    """Another link of the board."""
    answer = requests.post(
        f"{board.url}/v1/layouts/{board.id}/links",
        json={"may": may, "name": may},
        headers={"Authorization": f"Bearer {board.desk}"},
        timeout=20,
    )
    secret: str = answer.json()["token"]
    return secret


def wait_for(what: Any, wanted: Any, within_s: float = 8.0) -> bool:
    """Whether something is so soon enough: the service hears of it when it is sent."""
    end = time.monotonic() + within_s
    while time.monotonic() < end:
        if what() == wanted:
            return True
        time.sleep(0.1)
    assert what() == wanted
    return True
