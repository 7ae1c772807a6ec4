"""What a screen reader says: names, roles, live words."""

from __future__ import annotations

import itertools
import re

import pytest
from playwright.sync_api import expect

from support.phone import Phone, a_body

pytestmark = pytest.mark.browser

BODY = a_body(
    {"id": "key", "fixture": "tungsten-open-face-2000", "count": 2, "outlet": "l1-bottom"}
)
NAMELESS = """() => [...document.querySelectorAll(
  "a[href], button, input:not([type=hidden]), select, textarea, summary, [role=button]")]
  .filter((e) => e.checkVisibility())
  .filter((e) => !(e.getAttribute("aria-label") || e.textContent.trim()
    || [...(e.labels ?? [])].some((l) => l.textContent.trim()) || e.title))
  .map((e) => e.outerHTML)"""


def test_every_control_has_a_name(phone: Phone) -> None:
    phone.put(BODY)
    for step in (
        lambda: phone.tab("Lamps"),
        lambda: phone.open("#/lamps/tungsten-open-face-2000"),
        lambda: phone.open("#/board"),
        lambda: phone.tile("l2-top").tap(),
        lambda: (phone.button("Done").tap(), phone.tile("l1-bottom").tap()),
        lambda: (phone.button("Done").tap(), phone.page.locator(".supply").tap()),
        lambda: (phone.button("Done").tap(), phone.button(re.compile("Board and cable")).tap()),
        lambda: (phone.button("Done").tap(), phone.tab("Hand over")),
    ):
        step()
        assert phone.page.evaluate(NAMELESS) == []


def test_a_phase_is_read_with_letter_colour_amps_and_room(phone: Phone) -> None:
    phone.put(BODY)

    snapshot = phone.page.locator(".gauges .columns").last.aria_snapshot()

    said = " ".join(re.sub(r"^\s*- \w+( \".*?\")?:?", " ", snapshot, flags=re.M).split())
    assert re.search(r"L1 brown .*17\.\d A \d+ % 1\d\.\d A free", said), snapshot
    assert "L2 black" in said
    assert "L3 grey" in said


def test_an_outlet_is_read_with_place_rating_lamp_and_trouble(phone: Phone) -> None:
    phone.put(BODY)

    name = phone.page.get_by_role("button", name=re.compile(r"^Outlet L1 bottom 16 A L1"))
    expect(name).to_have_accessible_name(
        re.compile(r"key 2 × 2 kW tungsten open-face 17\.\d A Stop$")
    )
    # The rows are named regions, so that a reader can jump along the box.
    expect(phone.page.get_by_role("region", name="Bottom row")).to_be_visible()


def test_the_answer_is_said_when_it_comes(phone: Phone) -> None:
    phone.put(BODY)
    phone.tile("l1-bottom").tap()
    phone.button("How many on this plug: 1 less").tap()
    phone.button("Done").tap()
    phone.wait_for_verdict()

    status = phone.page.locator("[role=status].heard")
    expect(status).to_contain_text(phone.verdict)


def test_headings_go_down_one_step_at_a_time(phone: Phone) -> None:
    phone.put(BODY)
    for place in ("#/lamps", "#/board", "#/hand-over", "#/cautions"):
        phone.open(place)
        levels = phone.page.evaluate(
            "[...document.querySelectorAll('h1, h2, h3')].filter((e) => e.checkVisibility())"
            ".map((e) => Number(e.localName[1]))"
        )
        assert levels[0] == 1
        assert levels.count(1) == 1
        assert all(b - a <= 1 for a, b in itertools.pairwise(levels)), (place, levels)


def test_the_page_says_its_language(phone: Phone) -> None:
    phone.open()
    assert phone.page.evaluate("document.documentElement.lang") == "en"
