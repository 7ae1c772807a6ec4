"""The whole job by keyboard alone, and the keyboard is never lost."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, expect

from support.phone import Phone, a_body, phone_on
from support.service import Service

pytestmark = pytest.mark.browser

BODY = a_body({"id": "key", "fixture": "tungsten-open-face-2000", "outlet": "l1-bottom"})
STEPS = 80
"""More steps than any page here has controls."""


def tab_to(phone: Phone, key: str) -> None:
    """Press Tab until the element with this data-key, or a key that begins so, has the keyboard."""
    for _ in range(STEPS):
        phone.page.keyboard.press("Tab")
        at = phone.page.evaluate("document.activeElement?.dataset?.key ?? ''")
        if at.startswith(key):
            return
    raise AssertionError(f"Tab never reaches {key}")


def test_search_board_and_verdict_by_keyboard_alone(browser: Browser, server: Service) -> None:
    with phone_on(browser, server.url, is_mobile=False, has_touch=False) as phone:
        phone.open()
        keys = phone.page.keyboard

        tab_to(phone, "q")
        keys.type("2k open face")
        expect(phone.page.locator(".lamp", has_text="2 kW tungsten open-face")).to_be_visible()
        expect(phone.page.locator('.search[aria-busy="true"]')).to_have_count(0)
        tab_to(phone, "lamp:tungsten-open-face-2000")
        keys.press("Enter")
        expect(phone.page.locator(".draws")).to_be_visible()
        for _ in range(STEPS):
            keys.press("Tab")
            if "Start a board" in phone.page.evaluate("document.activeElement.textContent"):
                break
        keys.press("Enter")

        # In a field of the form, Enter sets the board up with what is proposed.
        expect(phone.page.get_by_label("Name of this layout")).to_be_visible()
        phone.page.get_by_label("Name of this layout").focus()
        keys.press("Enter")
        expect(phone.page.locator(".placing-bar")).to_be_visible()
        tab_to(phone, "outlet:main/l2-bottom")
        keys.press("Enter")

        phone.wait_for_verdict()
        expect(phone.tile("l2-bottom")).to_contain_text("2 kW tungsten open-face")


def test_tab_goes_along_a_row_of_the_box(browser: Browser, server: Service) -> None:
    with phone_on(browser, server.url, is_mobile=False, has_touch=False) as phone:
        phone.put(BODY)
        phone.tile("l1-top").focus()
        phone.page.keyboard.press("Tab")
        assert phone.page.evaluate("document.activeElement.dataset.key") == "outlet:main/l2-top"


def test_a_sheet_takes_the_keyboard_and_gives_it_back(phone: Phone) -> None:
    phone.put(BODY)
    phone.tile("l1-bottom").focus()
    phone.page.keyboard.press("Enter")
    expect(phone.sheet()).to_be_visible()
    assert phone.page.evaluate("document.activeElement.closest('dialog') !== null")

    phone.page.keyboard.press("Escape")

    expect(phone.sheet()).to_have_count(0)
    assert phone.page.evaluate("document.activeElement.dataset.key") == "outlet:main/l1-bottom"


def test_the_keyboard_stays_where_it_was_when_an_answer_comes(phone: Phone) -> None:
    phone.put(BODY)
    phone.button("Check now").focus()

    with phone.page.expect_response("**/v1/balance"):
        phone.page.keyboard.press("Enter")

    expect(phone.page.locator(".age")).to_have_text("Checked just now")
    assert phone.page.evaluate("document.activeElement.dataset.key") == "check"


def test_escape_gives_a_placing_up(phone: Phone) -> None:
    phone.put(BODY)
    phone.tile("l1-bottom").tap()
    phone.button("Move").tap()
    expect(phone.page.locator(".placing-bar")).to_be_visible()

    phone.page.keyboard.press("Escape")

    expect(phone.page.locator(".placing-bar")).to_have_count(0)
    expect(phone.tile("l1-bottom")).to_contain_text("key")


def test_the_first_key_skips_to_the_content(phone: Phone) -> None:
    phone.open()
    phone.page.keyboard.press("Tab")
    assert phone.page.evaluate("document.activeElement.textContent") == "Skip to content"
    phone.page.keyboard.press("Enter")
    assert phone.page.evaluate("document.activeElement.localName") == "main"


def test_a_new_screen_takes_the_keyboard_to_its_heading(phone: Phone) -> None:
    phone.open()
    phone.tab("Hand over")
    assert phone.page.evaluate("document.activeElement.textContent") == "Hand over"
    assert phone.page.title() == "Hand over – Evenboard"
