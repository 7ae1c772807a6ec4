"""The desk's orders in the client: signing in, an order, its reports, its crew, two desks."""

from __future__ import annotations

import re
import uuid
from datetime import date

import pytest
import requests
from playwright.sync_api import Browser, Page, Route, expect

from support.desk_pages import Desk, sign_in
from support.phone import Phone, a_body, phone_on
from support.service import Service
from support.shared import shared_board

pytestmark = pytest.mark.browser

BODY = a_body(
    {"id": "key", "fixture": "tungsten-open-face-2000", "outlet": "l1-bottom"},
    {"id": "fill", "fixture": "tungsten-open-face-2000", "outlet": "l2-bottom"},
    {"id": "back", "fixture": "tungsten-open-face-2000", "outlet": "l3-bottom"},
    name="Quay night",
)
FAILING = a_body(
    *(
        {"id": f"key {n}", "fixture": "tungsten-open-face-2000", "outlet": f"l1-{row}", "count": 2}
        for n, row in enumerate(("bottom", "middle", "top"))
    ),
    name="All on one line",
)


@pytest.fixture
def ref() -> str:
    """A reference that no other test has, with a slash as some desks write them."""
    return f"H-{uuid.uuid4().hex[:8]}/A"


def value_of(page: Page, label: str) -> str:
    """What stands beside a label in a list of facts."""
    return page.locator(f'dt:has-text("{label}") + dd').inner_text()


def test_a_wrong_key_is_told_and_stays_typed_and_the_right_one_opens_the_page(
    phone: Phone, server: Service, desk: str
) -> None:
    phone.open("#/equipment")
    field = phone.page.get_by_label("Key of the rental desk")
    for wrong in ("evb_not-one-of-ours", "schlüssel"):
        field.fill(wrong)
        phone.button("Sign in").tap()
        expect(phone.page.get_by_text("No desk has this key")).to_be_visible()
        expect(field).to_have_value(wrong)
        assert field.get_attribute("aria-invalid") == "true"
    link = shared_board(server, desk, BODY).secret
    field.fill(link)
    phone.button("Sign in").tap()
    expect(phone.page.get_by_text("This is a link")).to_be_visible()

    field.fill(f" {desk}\n")
    phone.button("Sign in").tap()

    # The page that was asked for, not another one.
    expect(phone.page.get_by_role("heading", name="Equipment", exact=True)).to_be_visible()
    kept = phone.run("memory", 'return m.recall("desk-key");')
    assert not kept
    phone.page.reload()
    expect(phone.button("Sign in")).to_be_visible()


def test_the_key_stays_where_it_was_asked_for_and_signing_out_forgets_it(
    phone: Phone, desk: str
) -> None:
    phone.open("#/desk")
    phone.page.get_by_label("Key of the rental desk").fill(desk)
    phone.page.get_by_label("Keep the key on this device").check()
    phone.button("Sign in").tap()
    expect(phone.page.get_by_role("heading", name="Orders")).to_be_visible()
    phone.page.reload()
    expect(phone.page.get_by_role("heading", name="Orders")).to_be_visible()

    phone.button("Sign out").tap()

    expect(phone.button("Sign in")).to_be_visible()
    assert not phone.run("memory", 'return m.recall("desk-key");')
    phone.page.reload()
    expect(phone.button("Sign in")).to_be_visible()


def test_a_key_that_is_revoked_leads_back_to_the_door(phone: Phone, elsewhere: Desk) -> None:
    made = elsewhere.ask("POST", "/v1/keys", json={"name": "for a day"}).json()
    sign_in(phone, made["secret"])
    elsewhere.ask("DELETE", f"/v1/keys/{made['id']}")

    phone.page.get_by_role("link", name="Equipment").tap()

    expect(phone.page.get_by_role("alert")).to_contain_text("not in force any more")
    expect(phone.button("Sign in")).to_be_visible()


def test_an_order_is_made_and_found_by_day_and_by_words(
    phone: Phone, desk: str, elsewhere: Desk, ref: str
) -> None:
    today = date.today().isoformat()
    sign_in(phone, desk)
    phone.button("New order").tap()
    sheet = phone.sheet()
    sheet.get_by_label("Order reference").fill(ref)
    sheet.get_by_label("Production").fill("Тихая гавань 静かな港")
    sheet.get_by_label("Contact").fill("Ana, 0400 000 000")
    sheet.get_by_label("First day").fill("2031-02-03")
    sheet.get_by_label("Last day").fill("2031-02-01")
    phone.button("Make the order").tap()
    # The service says which day is wrong, under that day, and all that was typed is there.
    expect(sheet.locator(".field", has_text="Last day").locator(".fault")).to_contain_text(
        "2031-02-03"
    )
    expect(sheet.get_by_label("Production")).to_have_value("Тихая гавань 静かな港")
    sheet.get_by_label("First day").fill(today)
    sheet.get_by_label("Last day").fill(today)
    phone.button("Make the order").tap()

    expect(phone.page.locator("h1")).to_contain_text(ref)
    assert value_of(phone.page, "Production") == "Тихая гавань 静かな港"
    told = elsewhere.get(f"/v1/orders/{ref}")
    assert (told["starts_on"], told["ends_on"]) == (today, today)
    phone.page.get_by_role("link", name="Orders").tap()
    expect(phone.page.get_by_role("link", name=ref)).to_be_visible()
    phone.page.get_by_label("On this day").fill("2031-02-02")
    expect(phone.page.get_by_role("link", name=ref)).to_have_count(0)
    phone.button("Any day").tap()
    phone.page.get_by_label("Reference, production or contact").fill(f"静かな港 {ref[:6]}")
    expect(phone.page.get_by_role("link", name=ref)).to_be_visible()


def test_an_order_that_is_there_already_is_not_written_over(
    phone: Phone, desk: str, elsewhere: Desk, ref: str
) -> None:
    elsewhere.order(ref, production="Theirs", contact="Sam")
    sign_in(phone, desk)
    phone.button("New order").tap()
    phone.sheet().get_by_label("Order reference").fill(ref)
    phone.sheet().get_by_label("Production").fill("Mine")
    phone.button("Make the order").tap()

    expect(phone.sheet()).to_contain_text(f"There is an order {ref} already")
    assert elsewhere.get(f"/v1/orders/{ref}")["production"] == "Theirs"
    phone.button("Leave it as it is now").tap()
    expect(phone.page.locator("h1")).to_contain_text(ref)
    assert value_of(phone.page, "Production") == "Theirs"


def test_two_desks_at_one_order_see_each_others_change_and_choose(
    phone: Phone, desk: str, elsewhere: Desk, ref: str
) -> None:
    elsewhere.order(ref, production="Tin Roof", contact="Sam", note="Dry")
    sign_in(phone, desk, f"#/order/{requests.utils.quote(ref, safe='')}")
    phone.button("Change the order").tap()
    phone.page.get_by_label("Contact").fill("Ben")
    phone.page.get_by_label("Production").fill("Tin Roof II")
    elsewhere.order(ref, production="Tin Roof", contact="Cy", note="Wet")

    phone.button("Save").tap()

    box = phone.page.locator(".clash")
    expect(box).to_contain_text("This order was changed meanwhile")
    expect(box).to_contain_text("test desk saved it")
    # What one of the two changed alone needs no choice; for what both changed, both are shown.
    expect(box.get_by_role("group")).to_have_count(3)
    expect(box.get_by_label("Yours: Tin Roof II")).to_be_checked()
    expect(box.get_by_label("test desk: Wet")).to_be_checked()
    box.get_by_label("test desk: Cy").check()
    # Somebody is faster once more: asked again, with what was chosen as mine.
    elsewhere.order(ref, production="Tin Roof", contact="Cy", note="Very wet")
    phone.button("Save what is chosen").tap()
    expect(box.get_by_label("test desk: Very wet")).to_be_checked()
    phone.button("Save what is chosen").tap()

    expect(phone.button("Change the order")).to_be_focused()
    told = elsewhere.get(f"/v1/orders/{ref}")
    assert [told[name] for name in ("production", "contact", "note")] == [
        "Tin Roof II",
        "Cy",
        "Very wet",
    ]


def test_a_report_is_issued_opened_as_a_pdf_and_superseded(
    phone: Phone, desk: str, elsewhere: Desk, ref: str
) -> None:
    elsewhere.order(ref, production="Tin Roof")
    phone.put(BODY)
    sign_in(phone, desk, f"#/order/{requests.utils.quote(ref, safe='')}")
    phone.button(re.compile("Save the open board here")).tap()
    expect(phone.page.get_by_text("Quay night is saved to this order.")).to_be_visible()
    assert [each["name"] for each in elsewhere.get(f"/v1/layouts?order_ref={ref}")["items"]] == [
        "Quay night"
    ]

    for source in ("Quay night, as saved", "Quay night, the board open here"):
        phone.button("Issue a report").tap()
        phone.sheet().get_by_label("Of which board").select_option(label=source)
        phone.sheet().get_by_label("Who answers for it", exact=True).fill("Kim Duty")
        phone.sheet().get_by_label("Paper").select_option("letter")
        if "open here" in source:
            instead = phone.sheet().get_by_label("Takes the place of")
            instead.select_option(label="No. 1, Quay night")
        phone.button("Issue it").tap()
        expect(phone.sheet()).to_have_count(0)

    expect(phone.page.get_by_text("Report No. 2 is issued.")).to_be_visible()
    first = phone.page.locator('[data-row="1"]')
    expect(first).to_contain_text("superseded by No. 2")
    expect(phone.page.locator('[data-row="2"]')).to_contain_text("current")
    for paper, size in (("letter", "612"), ("a4", "595")):
        link = first.locator(f'[data-key="pdf:{paper}:1"]')
        assert link.get_attribute("target") == "_blank"
        answer = requests.get(str(link.get_attribute("href")), timeout=30)
        assert answer.headers["Content-Type"] == "application/pdf"
        assert answer.content.startswith(b"%PDF")
        assert re.search(rb"/MediaBox\s*\[\s*0\s+0\s+" + size.encode(), answer.content)
    verify = first.get_by_role("link", name=re.compile("whether report 1 is genuine"))
    phone.page.goto(str(verify.get_attribute("href")))
    expect(phone.page.locator("body")).to_contain_text(re.compile("superseded", re.I))


def test_a_board_that_fails_is_issued_only_with_a_name_and_a_reason(
    phone: Phone, desk: str, elsewhere: Desk, ref: str
) -> None:
    elsewhere.order(ref, production="Tin Roof")
    phone.put(FAILING)
    sign_in(phone, desk, f"#/order/{requests.utils.quote(ref, safe='')}")
    phone.button("Issue a report").tap()
    sheet = phone.sheet()
    sheet.get_by_label("Note").fill("For the night only")
    phone.button("Issue it").tap()

    expect(sheet.get_by_role("heading", name="This board fails")).to_be_focused()
    assert sheet.locator(".against li").count() > 0
    assert elsewhere.get(f"/v1/orders/{ref}/reports")["items"] == []
    phone.button("Issue it").tap()
    expect(sheet.locator(".accept", has_text="Competent person").locator(".fault")).to_be_visible()
    sheet.get_by_label("Competent person who answers for it").fill("Kim Duty")
    sheet.get_by_label("Why it may go out all the same").fill("Lamps are lit one after another")
    expect(sheet.get_by_label("Note")).to_have_value("For the night only")
    phone.button("Issue it").tap()

    expect(phone.page.get_by_text("Report No. 1 is issued.")).to_be_visible()
    expect(phone.page.locator('[data-row="1"]')).to_contain_text("It does not hold")


def test_the_crews_link_is_shown_as_a_code_and_opens_the_orders_boards(
    browser: Browser, phone: Phone, desk: str, elsewhere: Desk, ref: str
) -> None:
    elsewhere.order(ref, production="Tin Roof")
    elsewhere.ask("POST", "/v1/layouts", json={"body": BODY, "order_ref": ref})
    sign_in(phone, desk, f"#/order/{requests.utils.quote(ref, safe='')}")
    phone.page.get_by_label("Whom it is for").fill("Night crew")
    phone.button("Make a link").tap()

    code = phone.page.get_by_role("img", name=f"QR code of the crew's link to order {ref}")
    expect(code).to_be_visible()
    assert code.evaluate("(image) => image.decode().then(() => image.naturalWidth > 20)")
    address = phone.page.locator(".address").inner_text()
    with phone_on(browser, phone.url) as other:
        other.open(address.removeprefix(f"{phone.url}/"))
        expect(other.page.get_by_text("Quay night").first).to_be_visible()

    phone.button("End the link Night crew").tap()
    expect(phone.page.locator(".desk-row", has_text="Night crew")).to_contain_text("ended")
    secret = address.rsplit("/", 1)[1]
    answer = requests.get(
        f"{phone.url}/v1/whoami", headers={"Authorization": f"Bearer {secret}"}, timeout=20
    )
    assert answer.status_code == 401


def test_without_a_line_what_was_typed_stays_and_a_second_try_does_it_once(
    phone: Phone, desk: str, elsewhere: Desk, ref: str
) -> None:
    elsewhere.order(ref, production="Tin Roof")
    sign_in(phone, desk, f"#/order/{requests.utils.quote(ref, safe='')}")
    phone.page.get_by_label("Whom it is for").fill("Day crew")
    # The service does it, but its answer is lost on the way.
    lost = []

    def lose(route: Route) -> None:
        if lost or route.request.method != "POST":
            route.continue_()
            return
        lost.append(route.fetch().status)
        route.abort()

    phone.page.route("**/links", lose)
    phone.button("Make a link").tap()
    expect(phone.page.get_by_role("alert").filter(has_text="does not answer")).to_be_visible()
    expect(phone.page.get_by_label("Whom it is for")).to_have_value("Day crew")
    phone.button("Make a link").tap()

    expect(phone.page.locator(".desk-row", has_text="Day crew")).to_have_count(1)
    assert lost == [201]
    assert len(elsewhere.get(f"/v1/orders/{ref}/links")["items"]) == 1
