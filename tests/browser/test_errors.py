"""When the service refuses, breaks or is away, what was typed stays and one is told where."""

from __future__ import annotations

import json
import re

import pytest
from playwright.sync_api import Locator, Route, expect

from support.phone import Phone, a_body, broken

pytestmark = pytest.mark.browser

BODY = a_body({"id": "key", "fixture": "tungsten-open-face-2000", "outlet": "l1-bottom"})


def fault_of(field: Locator) -> Locator:
    """What is written under a field."""
    return field.page.locator(f"#{field.get_attribute('id')}-fault")


def test_a_refused_figure_is_told_under_its_field_and_stays_as_typed(phone: Phone) -> None:
    phone.put(BODY)
    phone.page.locator(".supply").tap()
    field = phone.sheet().get_by_label(re.compile("^Volts"))

    field.fill("23000")
    field.blur()

    fault = fault_of(field)
    expect(fault).to_be_visible()
    expect(fault).to_contain_text("voltage_v is 23000")
    assert field.input_value() == "23000"
    expect(field).to_have_attribute("aria-invalid", "true")

    field.fill("231")
    field.blur()
    expect(fault).to_be_hidden()
    phone.button("Done").tap()
    phone.wait_for_verdict()


def test_an_unknown_fixture_is_told_at_its_lamp_with_the_nearest_name(phone: Phone) -> None:
    body = json.loads(json.dumps(BODY))
    body["loads"].append(
        {"id": "odd", "fixture": "tungsten-open-face-2001", "board": "main", "outlet": "l2-top"}
    )
    phone.put(body, checked=False)

    fault = phone.page.locator(".fault-list .item")
    expect(fault).to_contain_text("odd")
    expect(fault).to_contain_text("tungsten-open-face-2000")
    expect(phone.tile("l2-top")).to_contain_text("Not read")
    fault.tap()
    expect(phone.sheet()).to_contain_text("There is no fixture")


def test_all_faults_are_told_at_once(phone: Phone) -> None:
    body = json.loads(json.dumps(BODY))
    body["supply"]["rating_a"] = -1
    body["loads"][0]["count"] = 0
    body["boards"][0]["feeder"] = {"cable": "h07rn-f", "csa_mm2": 6, "length_m": -5}
    phone.put(body, checked=False)

    expect(phone.page.locator(".fault-list li")).to_have_count(3)
    expect(phone.page.locator("eb-verdict")).to_contain_text("cannot read 3 things")


def test_words_where_a_number_belongs_stay_and_are_not_sent(phone: Phone) -> None:
    phone.put(BODY)
    phone.page.locator(".supply").tap()
    field = phone.sheet().get_by_label("Rating, A")

    field.fill("thirty-two")
    field.blur()

    expect(fault_of(field)).to_contain_text("A number")
    assert field.input_value() == "thirty-two"
    assert phone.layout()["supply"]["rating_a"] == 32


def test_a_broken_service_is_told_and_the_layout_kept(phone: Phone) -> None:
    phone.put(BODY)
    with phone.refused_balance(broken):
        phone.tile("l1-bottom").tap()
        phone.button("How many on this plug: 1 more").tap()
        phone.button("Done").tap()

        expect(phone.page.locator("eb-verdict")).to_contain_text("trouble of its own")
        assert phone.layout()["loads"][0]["count"] == 2
        expect(phone.page.locator("eb-verdict")).to_contain_text("Figures are older")

    phone.button("Check now").tap()
    phone.wait_for_verdict()


def test_away_from_the_service_the_work_goes_on_and_is_checked_on_return(phone: Phone) -> None:
    phone.put(BODY)
    phone.lose_the_line()

    phone.tile("l1-bottom").tap()
    phone.button("Move").tap()
    phone.tile("l2-bottom").tap()

    expect(phone.tile("l2-bottom")).to_contain_text("key")
    expect(phone.page.locator("eb-verdict")).to_contain_text("does not answer")
    expect(phone.page.locator(".verdict-word")).to_have_text("Not checked")

    phone.find_the_line()
    phone.wait_for_verdict()
    expect(phone.page.locator("eb-verdict")).not_to_contain_text("does not answer")


def test_a_page_that_is_no_answer_counts_as_no_answer(phone: Phone) -> None:
    phone.put(BODY)

    def portal(route: Route) -> None:
        route.fulfill(status=200, content_type="text/html", body="<h1>Welcome, guest</h1>")

    with phone.refused_balance(portal):
        phone.button("Check now").tap()
        expect(phone.page.locator("eb-verdict")).to_contain_text("does not answer")


def test_while_it_is_checked_the_old_figures_are_marked_old(phone: Phone) -> None:
    phone.put(BODY)
    held: list[Route] = []
    with phone.refused_balance(lambda route: held.append(route)):
        phone.tile("l1-bottom").tap()
        phone.button("How many on this plug: 1 more").tap()
        phone.button("Done").tap()

        expect(phone.page.locator("eb-verdict")).to_contain_text("Working")
        expect(phone.page.locator("eb-gauges")).to_have_attribute("data-old", "true")
        phone.page.wait_for_timeout(600)
        held[-1].continue_()
        phone.wait_for_verdict()
    expect(phone.page.locator("eb-gauges")).to_have_attribute("data-old", "false")


def test_a_screen_without_its_data_says_so_and_can_be_tried_again(phone: Phone) -> None:
    phone.open()
    phone.page.wait_for_load_state("networkidle")
    phone.page.route("**/v1/boards*", lambda route: route.abort())
    phone.tab("Board")
    expect(phone.page.get_by_role("alert")).to_contain_text("does not answer")

    phone.page.unroute("**/v1/boards*")
    phone.button("Try again").tap()
    expect(phone.page.get_by_label("Kind of board")).to_be_visible()


def test_a_lamp_that_is_not_in_the_catalogue_is_told_as_the_service_says_it(phone: Phone) -> None:
    phone.open("#/lamps/tungsten-open-face-2001")

    expect(phone.page.get_by_role("alert")).to_contain_text("Nearest: tungsten-open-face-2000")
