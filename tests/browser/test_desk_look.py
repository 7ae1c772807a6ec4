"""The desk's pages at 360 px and on a desk, in both themes: width, targets, contrast, words."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, expect

from evenboard.desk.equipment import CAUSES, FOUND, KINDS, STATES
from evenboard.paths import web_folder
from support.desk_pages import ORDER, places, sign_in
from support.look import CONTRAST, CUT, LEAST_CONTRAST, SMALLEST_PX, TARGETS
from support.phone import SMALL_PHONE, Phone, phone_on
from support.service import Service

pytestmark = pytest.mark.browser

WIDE = {"width": 1280, "height": 900}


@pytest.mark.parametrize("theme", ["dark", "light"])
def test_every_page_fits_can_be_hit_and_read_on_the_smallest_phone(
    browser: Browser, server: Service, furnished_desk: str, theme: str
) -> None:
    with phone_on(browser, server.url, SMALL_PHONE, color_scheme=theme) as phone:
        for place in places(phone, furnished_desk):
            assert phone.overflow_px() <= 0, place
            assert all(px <= 0 for px in phone.overflow_of_sheets_px()), place
            assert phone.page.evaluate(CUT) == [], place
            for width, height, what in phone.page.evaluate(TARGETS):
                assert min(width, height) >= SMALLEST_PX - 0.01, (place, width, height, what)
            if not phone.sheet().count():
                for ratio, what in phone.page.evaluate(CONTRAST):
                    assert ratio >= LEAST_CONTRAST, (place, ratio, what)


def test_on_a_desk_a_list_is_a_table_and_on_paper_it_stands_alone(
    browser: Browser, server: Service, furnished_desk: str
) -> None:
    with phone_on(browser, server.url, WIDE, is_mobile=False, has_touch=False) as phone:
        sign_in(phone, furnished_desk, f"#/order/{ORDER}")
        table = phone.page.get_by_role("table", name="Check reports")
        expect(table.get_by_role("columnheader")).to_have_count(5)
        first, second = (table.locator("tbody td").nth(n).bounding_box() for n in (0, 1))
        assert first is not None
        assert second is not None
        assert first["y"] == second["y"]
        assert phone.overflow_px() <= 0
        phone.page.emulate_media(media="print")
        expect(table).to_be_visible()
        for hidden in (".desk-nav", ".tabs nav", "form", ".desk .keys"):
            assert not phone.page.locator(hidden).first.is_visible(), hidden


def test_every_word_of_the_desk_is_in_the_catalogue(phone: Phone, desk: str) -> None:
    sign_in(phone, desk)
    folder = web_folder() / "js"
    files = [
        path.relative_to(folder).as_posix()
        for path in (*folder.glob("screens/desk/*.js"), *folder.glob("parts/desk-*.js"))
    ]
    assert len(files) > 15
    missing = phone.run(
        "text",
        """const asked = new Set();
        for (const file of v[0]) {
          const code = await (await fetch(`/js/${file}`)).text();
          for (const [, key] of code.matchAll(/\\bt\\(\\s*"([^"]+)"/g)) asked.add(key);
          for (const [, key] of code.matchAll(/words: "([^"]+)"/g)) asked.add(key);
        }
        const p = await import('/js/screens/desk/pieces.js');
        for (const [stem, codes] of [["kind.piece", p.KINDS], ["state", p.STATES],
          ["found", p.FOUND], ["cause", p.CAUSES]])
          for (const code of codes) asked.add(`${stem}.${code}`);
        return [asked.size, [...asked].filter((key) => m.t(key) === key)];""",
        files,
    )
    assert missing[0] > 150
    assert missing[1] == []


def test_the_pages_know_every_code_the_service_knows(phone: Phone) -> None:
    phone.open()
    known = phone.run("screens/desk/pieces", "return [m.KINDS, m.STATES, m.FOUND, m.CAUSES];")
    assert [set(codes) for codes in known] == [set(KINDS), set(STATES), set(FOUND), set(CAUSES)]
