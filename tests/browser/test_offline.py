"""The client on the phone without a line: it opens, shows what it has, goes over to a newer one."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from support.client_copy import client_copy
from support.phone import Phone, a_body, phone_on
from support.ports import any_port
from support.service import Service, desk_key, running_service
from support.shared import at, shared_board

pytestmark = pytest.mark.browser

LAMP = {"id": "key", "fixture": "tungsten-open-face-2000", "outlet": "l1-top"}


def test_it_opens_without_a_line_with_the_board_and_the_last_answer(phone: Phone) -> None:
    phone.put(a_body(LAMP))
    amps = phone.gauge("L1").inner_text()

    phone.lose_the_line()
    phone.page.reload()
    phone.page.wait_for_selector("main:not([aria-busy]) h1")

    assert phone.page.locator("h1").inner_text() == "Test board"
    assert phone.gauge("L1").inner_text() == amps
    assert phone.verdict
    for tab, title in (("Lamps", "What does it draw?"), ("Hand over", "Hand over")):
        phone.tab(tab)
        assert phone.page.locator("h1").inner_text() == title


def test_another_page_of_the_service_leads_back_to_the_client_without_a_line(phone: Phone) -> None:
    phone.open()
    phone.lose_the_line()

    phone.page.goto(f"{phone.url}/verify/x")
    phone.page.wait_for_selector("main:not([aria-busy]) h1")

    assert phone.page.url.startswith(f"{phone.url}/")
    assert "verify" not in phone.page.url


def test_what_the_service_computes_is_never_out_of_the_workers_memory(phone: Phone) -> None:
    phone.put(a_body(LAMP))
    phone.wait_until_kept()

    kept = phone.page.evaluate(
        "caches.keys().then((names) => Promise.all(names.map((name) => caches.open(name)"
        ".then((cache) => cache.keys()))).then((all) => all.flat().map((request) => request.url)))"
    )

    assert len(kept) > 40
    assert not [address for address in kept if "/v1/" in address]


def test_it_can_be_put_on_the_home_screen(phone: Phone) -> None:
    phone.open()
    phone.wait_until_kept()

    client = phone.page.context.new_cdp_session(phone.page)
    errors = client.send("Page.getInstallabilityErrors")["installabilityErrors"]
    found = client.send("Page.getAppManifest")

    # A headless browser has nowhere to install to; anything else would be ours.
    assert [error["errorId"] for error in errors if error["errorId"] != "in-incognito"] == []
    assert found["errors"] == []
    icons = json.loads(found["data"])["icons"]
    assert {"any", "maskable"} == {icon.get("purpose", "any") for icon in icons}


def test_maskable_icons_keep_their_drawing_where_no_mask_cuts(phone: Phone) -> None:
    phone.open()
    far = phone.page.evaluate(
        """async () => {
          const image = new Image();
          image.src = "/icons/maskable-512.png";
          await image.decode();
          const canvas = document.createElement("canvas");
          [canvas.width, canvas.height] = [512, 512];
          const drawn = canvas.getContext("2d");
          drawn.drawImage(image, 0, 0);
          const { data } = drawn.getImageData(0, 0, 512, 512);
          let far = 0;
          for (let i = 0; i < data.length; i += 4) {
            const [x, y] = [(i / 4) % 512, Math.floor(i / 4 / 512)];
            if (data[i] > 100) far = Math.max(far, Math.hypot(x - 255.5, y - 255.5));
          }
          return far;
        }"""
    )
    # The safe zone: a circle of 40 % of the width.
    assert 100 < far <= 0.4 * 512


def test_a_newer_version_waits_until_it_is_asked_for_and_keeps_what_was_typed(
    browser: Browser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with (
        client_copy(tmp_path, monkeypatch) as served,
        phone_on(browser, served.url) as phone,
    ):
        phone.put(a_body(LAMP))
        phone.wait_until_kept()
        phone.tab("Hand over")
        phone.page.get_by_label("Or paste its text").fill("half typed")

        served.change("js/words-offline.js", "Not sent yet", "Not yet sent")
        served.change("js/text.js", '"tab.lamps": "Lamps"', '"tab.lamps": "Fixtures"')
        phone.page.evaluate("navigator.serviceWorker.getRegistration().then((r) => r.update())")

        bar = phone.page.locator('.bar[data-kind="version"]')
        expect(bar).to_contain_text("newer")
        # Until then the page is of one version.
        phone.page.reload()
        expect(bar).to_be_visible()
        assert phone.page.get_by_role("link", name="Lamps", exact=True).count() == 1

        phone.page.get_by_label("Or paste its text").fill("half typed")
        bar.get_by_role("button", name="Use it").tap()
        expect(phone.page.get_by_role("link", name="Fixtures", exact=True)).to_be_visible()
        expect(phone.page.get_by_label("Or paste its text")).to_have_value("half typed")
        expect(bar).to_have_count(0)
        assert phone.layout()["name"] == "Test board"
        assert len(phone.page.evaluate("caches.keys()")) == 1

        phone.lose_the_line()
        phone.page.reload()
        expect(phone.page.get_by_role("link", name="Fixtures", exact=True)).to_be_visible()


def test_another_tab_is_told_when_the_newer_version_is_used(
    browser: Browser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with (
        client_copy(tmp_path, monkeypatch) as served,
        phone_on(browser, served.url) as phone,
    ):
        phone.open()
        phone.wait_until_kept()
        other = phone.page.context.new_page()
        other.goto(f"{served.url}/")
        other.evaluate("import('/js/screens/news.js')")
        served.change("js/text.js", '"tab.lamps": "Lamps"', '"tab.lamps": "Fixtures"')
        phone.page.evaluate("navigator.serviceWorker.getRegistration().then((r) => r.update())")

        phone.page.locator('[data-key="version-use"]').tap()
        expect(phone.page.get_by_role("link", name="Fixtures", exact=True)).to_be_visible()

        other.locator('[data-key="version-use"]').tap()
        expect(other.get_by_role("link", name="Fixtures", exact=True)).to_be_visible()


def test_where_workers_are_turned_off_it_works_as_long_as_there_is_a_line(
    browser: Browser, server: Service
) -> None:
    with phone_on(browser, server.url, service_workers="block") as phone:
        phone.put(a_body(LAMP))
        phone.run("version", "await m.keepOnPhone({ offer() {}, full() {} });")
        assert phone.verdict


def test_a_phone_without_room_for_the_client_says_so(browser: Browser, server: Service) -> None:
    with phone_on(browser, server.url) as phone:
        client = phone.page.context.new_cdp_session(phone.page)
        client.send("Storage.overrideQuotaForOrigin", {"origin": server.url, "quotaSize": 20_000})
        phone.open()

        expect(phone.page.locator('.bar[data-kind="full"]')).to_contain_text("no room")
        # It works all the same, as long as there is a line.
        phone.put(a_body(LAMP))
        assert phone.verdict


def test_the_strip_says_what_is_not_sent_and_the_sheet_what_to_do(
    phone: Phone, server: Service, desk: str
) -> None:
    board = shared_board(server, desk, a_body(LAMP | {"board": "main"}))
    phone.open()
    phone.lose_the_line()
    change = {"op": "move", "load": "key", "from": at("l1-top"), "to": at("l2-top")}
    phone.run(
        "outbox",
        'await m.send("changes", v[0]);',
        {
            "path": f"layouts/{board.id}/changes",
            "body": {"changes": [change], "by": "Ana"},
            "secret": board.secret,
            "words": "key to L2 top",
        },
    )

    strip = phone.page.get_by_role("region", name="News of this phone")
    expect(strip).to_contain_text("1 thing not sent yet")
    expect(strip).to_contain_text("No reception")
    strip.get_by_role("button", name="Show").tap()
    expect(phone.sheet()).to_contain_text("key to L2 top")

    # Somebody else was there first; the phone hears it when the line is back.
    board.change({"op": "move", "load": "key", "from": at("l1-top"), "to": at("l3-top")}, by="Bo")
    phone.find_the_line()
    expect(phone.sheet()).to_contain_text("Bo")
    expect(strip).to_contain_text("1 thing was refused")
    phone.sheet().get_by_role("button", name="Give it up").tap()
    expect(phone.sheet()).to_contain_text("All is sent")
    expect(strip).to_be_hidden()
    assert board.outlet_of("key") == "l3-top"


def test_the_service_is_started_anew_between_doing_and_sending(
    browser: Browser, tmp_path: Path
) -> None:
    port = str(any_port())
    with running_service(tmp_path, EVENBOARD_PORT=port) as first:
        board = shared_board(first, desk_key(first.environment), a_body(LAMP))
        with phone_on(browser, first.url) as phone:
            phone.open()
            phone.wait_until_kept()
            first.stop()
            change = {"op": "move", "load": "key", "from": at("l1-top"), "to": at("l2-top")}
            request = {
                "path": f"layouts/{board.id}/changes",
                "body": {"changes": [change], "by": "Ana"},
                "secret": board.secret,
            }
            outcome = phone.run("outbox", 'return m.send("changes", v[0]);', request)
            assert outcome["state"] == "waiting"

            with running_service(tmp_path, EVENBOARD_PORT=port):
                # Nobody does anything: it tries by itself.
                strip = phone.page.get_by_role("region", name="News of this phone")
                expect(strip).to_be_hidden(timeout=30_000)
                assert board.outlet_of("key") == "l2-top"
