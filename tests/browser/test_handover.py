"""Pass a board on and take one over: link, text, file, share; and what the phone remembers."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from support.phone import Phone, a_body, phone_on
from support.service import Service

pytestmark = pytest.mark.browser

BODY = a_body(
    {"id": "key", "fixture": "tungsten-open-face-2000", "outlet": "l1-bottom"},
    {"id": "føhn", "custom": {"name": "föhn 強", "power_w": 1800, "power_factor": 1},
     "outlet": "l2-bottom"},
    name="Quai nº 3, nuit",
)  # fmt: skip


def test_the_layout_survives_a_reload(phone: Phone) -> None:
    phone.put(BODY)
    phone.page.reload()
    phone.page.wait_for_selector(".tile")

    expect(phone.tile("l1-bottom")).to_contain_text("key")
    assert phone.layout() == BODY


def test_after_a_reload_without_the_service_the_last_answer_is_shown_with_its_age(
    phone: Phone,
) -> None:
    phone.put(BODY)
    verdict = phone.verdict
    amps = phone.gauge("L1").locator(".big").inner_text()
    # The page itself comes from the service; its data does not.
    phone.page.route("**/v1/**", lambda route: route.abort())

    phone.page.reload()
    phone.page.wait_for_selector(".tile")

    assert phone.gauge("L1").locator(".big").inner_text() == amps
    assert phone.verdict == verdict
    expect(phone.page.locator(".age")).to_contain_text("Checked")


def test_a_link_carries_the_layout_to_another_phone(
    browser: Browser, server: Service, phone: Phone
) -> None:
    phone.put(BODY)
    link = phone.run("link", "return m.packed(v[0], location.href)", phone.layout())
    assert "quai" not in link.lower()

    with phone_on(browser, server.url) as other:
        other.page.goto(link)
        other.wait_for_verdict()
        assert other.layout() == BODY
        # A reload keeps what was worked on since, not what the link brought.
        assert "#/open" not in other.page.url


def test_a_link_that_was_cut_short_is_told(phone: Phone) -> None:
    phone.put(BODY)
    link = phone.run("link", "return m.packed(v[0], location.href)", phone.layout())
    phone.page.goto("about:blank")

    phone.page.goto(link[:-20])

    expect(phone.page.get_by_role("status")).to_contain_text("holds no layout")
    assert phone.layout() == BODY


def test_a_link_cannot_unpack_to_more_than_a_phone_can_hold(phone: Phone) -> None:
    phone.open()
    outcome = phone.run(
        "link",
        """const link = await m.packed("x".repeat(5_000_000), location.href);
        const data = link.split("/open/")[1];
        return [data.length, await m.unpacked(data).catch((error) => error.message)];""",
    )
    # Five million letters squeeze into a few kilobytes of link.
    assert outcome[0] < 20_000
    assert outcome[1] == "link too large"


def test_the_layout_is_copied_as_text(phone: Phone) -> None:
    phone.page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    phone.put(BODY)
    phone.tab("Hand over")

    phone.button("Copy as text").tap()

    expect(phone.page.get_by_role("status")).to_have_text("Layout copied as text.")
    assert json.loads(phone.page.evaluate("navigator.clipboard.readText()")) == BODY


def test_without_a_secure_context_copying_still_works(phone: Phone) -> None:
    phone.page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    # As on plain http in the set's own network: no clipboard, no sharing, no randomUUID.
    phone.page.add_init_script(
        """Object.defineProperty(navigator, "clipboard", { value: undefined });
        Object.defineProperty(crypto, "randomUUID", { value: undefined });
        Object.defineProperty(crypto, "subtle", { value: undefined });"""
    )
    phone.put(BODY)
    phone.tab("Hand over")

    phone.button("Copy as text").tap()

    expect(phone.page.get_by_role("status")).to_have_text("Layout copied as text.")


def test_the_layout_is_saved_as_a_file_and_opened_from_it(
    phone: Phone, browser: Browser, server: Service, tmp_path: Path
) -> None:
    phone.put(BODY)
    phone.tab("Hand over")
    with phone.page.expect_download() as download:
        phone.button("Save a file").tap()
    file = tmp_path / download.value.suggested_filename
    download.value.save_as(file)
    assert file.name == "quai-nº-3-nuit.json"
    assert json.loads(file.read_text(encoding="utf-8")) == BODY

    with phone_on(browser, server.url) as other:
        other.open("#/hand-over")
        other.page.get_by_label("From a file").set_input_files(file)
        other.wait_for_verdict()
        assert other.layout() == BODY


def test_sharing_hands_the_phone_a_file(phone: Phone) -> None:
    phone.page.add_init_script(
        """navigator.canShare = () => true;
        navigator.share = async ({ title, files: [file] }) => {
          window.shared = { title, text: await file.text() };
        };"""
    )
    phone.put(BODY)
    phone.tab("Hand over")

    phone.button("Share").tap()

    shared = phone.page.evaluate(
        """new Promise((done) => {
          const look = () => (window.shared ? done(window.shared) : setTimeout(look, 20));
          look();
        })"""
    )
    assert shared["title"] == "Quai nº 3, nuit"
    assert json.loads(shared["text"]) == BODY


def test_pasted_text_opens_and_what_cannot_be_read_stays(phone: Phone) -> None:
    phone.open("#/hand-over")
    pasted = phone.page.get_by_label("Or paste its text")
    text = json.dumps(BODY)

    pasted.fill(text[:-1])
    phone.button("Open what is pasted").tap()
    expect(phone.page.locator("#pasted-fault")).to_contain_text("bracket or quotation mark")
    assert pasted.input_value() == text[:-1]

    pasted.fill('{"lamps": []}')
    phone.button("Open what is pasted").tap()
    expect(phone.page.locator("#pasted-fault")).to_contain_text("supply and a list of boards")

    pasted.fill(text)
    phone.button("Open what is pasted").tap()
    phone.wait_for_verdict()
    assert phone.layout() == BODY


def test_a_layout_that_another_replaced_can_be_had_back(phone: Phone) -> None:
    phone.put(BODY)
    phone.put(a_body({"id": "panel", "fixture": "led-panel-200", "outlet": "l1-top"}))

    phone.tab("Hand over")
    phone.page.get_by_role("button", name="Quai nº 3, nuit").tap()

    phone.wait_for_verdict()
    assert phone.layout() == BODY


def test_markup_in_a_name_is_text(phone: Phone) -> None:
    nasty = "<img src=x onerror=window.hurt=1>"
    body = a_body({"id": nasty, "name": nasty, "fixture": "led-panel-200", "outlet": "l1-top"},
                  name=nasty)  # fmt: skip
    phone.put(body)

    expect(phone.tile("l1-top")).to_contain_text(nasty)
    phone.tile("l1-top").tap()
    expect(phone.sheet().get_by_role("heading", name=nasty)).to_be_visible()
    assert phone.page.evaluate("window.hurt") is None


def test_where_the_browser_keeps_nothing_the_work_still_goes_on(phone: Phone) -> None:
    phone.page.add_init_script(
        "Object.defineProperty(window, 'indexedDB', { get() { throw new Error('denied'); } });"
    )
    phone.put(BODY)

    assert phone.verdict
    assert phone.run("memory", "return m.lasting") is False
