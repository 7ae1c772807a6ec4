"""Find a lamp's draw: as one types, at the region's voltage, with its basis."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, Route, expect

from support.phone import Phone, phone_on, shown_amps
from support.service import Service

pytestmark = pytest.mark.browser


def search(phone: Phone, words: str) -> None:
    phone.page.get_by_label("Lamp, watts or a nickname").fill(words)


def found(phone: Phone) -> None:
    expect(phone.page.locator('.search[aria-busy="true"]')).to_have_count(0)


def test_a_lamps_draw_is_found_in_two_taps(phone: Phone) -> None:
    phone.open()

    phone.page.get_by_label("Lamp, watts or a nickname").tap()
    phone.page.keyboard.type("2k open face")
    row = phone.page.locator(".lamp", has_text="2 kW tungsten open-face").first
    row.tap()

    # P / V with a power factor of 1 (a filament is a resistance): 2000 W / 230 V = 8.70 A.
    expect(phone.page.locator(".draws .here .big")).to_have_text("8.7 A")


def test_each_row_has_amps_watts_and_whose_word_it_is(phone: Phone) -> None:
    phone.open()
    search(phone, "2k open face")

    row = phone.page.locator(".lamp", has_text="2 kW tungsten open-face").first
    expect(row).to_contain_text("2,000 W")
    assert shown_amps(row.locator(".lamp-amps").inner_text()) == pytest.approx(2000 / 230, abs=0.05)
    # 2000 W / 120 V = 16.67 A, for those who reckon in 120 V.
    expect(row).to_contain_text("120 V: 16.7 A")
    assert re.search(r"handbook|estimate|from memory|standard", row.inner_text())


def test_what_fits_in_four_amps_leaves_out_what_draws_more(phone: Phone) -> None:
    phone.open()
    phone.page.get_by_label("Fits in").fill("4")
    search(phone, "tungsten")

    rows = phone.page.locator(".lamp-amps")
    found(phone)
    amps = [shown_amps(text) for text in rows.all_inner_texts()]
    assert max(amps) <= 4.0
    assert min(amps) > 0.0


def test_a_lamp_for_one_voltage_only_says_so(phone: Phone) -> None:
    phone.open()
    search(phone, "tea urn 3 kw")

    row = phone.page.locator(".lamp", has_text="tea urn, 30 litres, 3 kW").first
    expect(row.locator(".lamp-others")).to_have_text(re.compile(r"^\d+–\d+ V only$"))


def test_a_region_sets_the_volts(phone: Phone) -> None:
    phone.open()
    search(phone, "2k open face")

    phone.page.get_by_label("Region").select_option("jp")

    row = phone.page.locator(".lamp", has_text="2 kW tungsten open-face").first
    # 2000 W / 100 V.
    expect(row.locator(".lamp-amps")).to_have_text("20.0 A")


def test_nothing_found_says_what_to_try(phone: Phone) -> None:
    phone.open()
    search(phone, "zzzzqqqq")

    expect(phone.page.get_by_role("status").filter(has_text="No lamp of that name")).to_be_visible()


def test_a_stale_answer_never_replaces_a_newer_one(phone: Phone) -> None:
    phone.open()
    phone.page.wait_for_selector(".lamp")
    late: list[Route] = []

    def hold_back(route: Route) -> None:
        if "q=urn" in route.request.url:
            late.append(route)
        else:
            route.continue_()

    phone.page.route("**/v1/fixtures?*", hold_back)
    search(phone, "urn")
    phone.page.wait_for_timeout(400)
    search(phone, "kettle")
    expect(phone.page.locator(".lamp").first).to_contain_text("kettle")

    # The held answer comes when nobody waits for it any more.
    assert len(late) == 1
    late[0].abort()
    phone.page.wait_for_timeout(200)
    expect(phone.page.locator(".lamp").first).to_contain_text("kettle")
    expect(phone.page.locator(".trouble")).to_have_count(0)


def test_without_the_service_the_list_stays_and_trouble_is_told(phone: Phone) -> None:
    # Before the whole list, which is fetched in pages of 200, is on the phone.
    phone.page.route("**/v1/fixtures?*limit=200*", lambda route: route.abort())
    phone.open()
    phone.page.wait_for_selector(".lamp")
    before = phone.page.locator(".lamp").count()

    phone.page.context.set_offline(True)
    search(phone, "2k")

    expect(phone.page.locator(".search-status")).to_contain_text("does not answer")
    assert phone.page.locator(".lamp").count() == before
    assert phone.page.get_by_label("Lamp, watts or a nickname").input_value() == "2k"


def test_every_family_of_the_catalogue_has_a_name_in_the_list(
    phone: Phone, server: Service
) -> None:
    phone.open()

    named = phone.run("text", "return Object.keys(m.families)")
    used = phone.run(
        "api",
        """const families = new Set(); let cursor;
        do {
          const page = await m.fixtures({ limit: 100, cursor });
          for (const each of page.items) families.add(each.family);
          cursor = page.next_cursor;
        } while (cursor);
        return [...families];""",
    )
    assert set(used) == set(named)


def test_a_lamp_of_a_low_power_factor_is_not_taken_for_its_watts(phone: Phone) -> None:
    phone.open("#/lamps/discharge-par-1800-electronic-no-pfc")

    facts = phone.page.locator(".facts")
    expect(facts).to_contain_text("draws more amps than its watts suggest")
    expect(facts).to_contain_text("adds up in the neutral")


def test_the_phones_language_chooses_the_first_region(browser: Browser, server: Service) -> None:
    with phone_on(browser, server.url, locale="en-US") as phone:
        phone.open()
        expect(phone.page.get_by_label("Region")).to_have_value("us")
        expect(phone.page.locator(".at")).to_contain_text("120 V")
