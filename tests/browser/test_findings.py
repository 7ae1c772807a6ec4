"""What the service found: in plain words, worst first, with its place and a remedy to take."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from support.phone import Phone, a_body, answer_of, shown_amps
from support.service import Service

pytestmark = pytest.mark.browser

ALL_ON_ONE = a_body(
    {"id": "key", "fixture": "tungsten-open-face-2000", "outlet": "l1-bottom"},
    {"id": "fill", "fixture": "tungsten-open-face-2000", "outlet": "l1-middle"},
    {"id": "back", "fixture": "tungsten-open-face-2000", "outlet": "l1-top"},
)
TOO_MUCH = a_body(
    {"id": "key", "fixture": "tungsten-open-face-2000", "count": 2, "outlet": "l1-bottom"}
)


def cards(phone: Phone) -> list[str]:
    found: list[str] = phone.page.locator(".pane-more .finding").all_inner_texts()
    return found


def test_each_finding_is_told_with_message_remedy_and_basis(phone: Phone, server: Service) -> None:
    findings = answer_of(server.url, ALL_ON_ONE)["findings"]

    phone.put(ALL_ON_ONE)

    shown = cards(phone)
    assert len(shown) == len(findings) > 0
    for finding in findings:
        card = next(text for text in shown if finding["message"] in text)
        assert finding["remedy"] in card
        assert finding["basis"] in card


def test_the_worst_comes_first(phone: Phone) -> None:
    phone.put(ALL_ON_ONE)

    words = [text.split()[0] for text in cards(phone)]
    assert words == sorted(words, key=["Stop", "Mend", "Know"].index)


def test_what_breaks_a_rating_is_told_in_words_at_the_top(phone: Phone, server: Service) -> None:
    answer = answer_of(server.url, TOO_MUCH)
    # 2 x 2000 W / 230 V = 17.4 A on an outlet of 16 A.
    assert answer["verdict"] == "fail"

    phone.put(TOO_MUCH)

    assert phone.verdict == "It does not hold"
    first = phone.page.locator(".pane-says .finding")
    expect(first).to_contain_text("Stop")
    expect(first).to_contain_text("Do this:")
    expect(phone.tile("l1-bottom")).to_contain_text("Stop")


@pytest.mark.parametrize(
    ("words", "key"),
    [("its contacts overheat", "outlet:main/l1-bottom"), ("apart", "gauge:L1")],
    ids=["an outlet", "the board as a whole"],
)
def test_a_finding_leads_to_its_place(phone: Phone, words: str, key: str) -> None:
    phone.put(TOO_MUCH)

    card = phone.page.locator(".pane-more .finding", has_text=words).first
    card.get_by_role("button", name=re.compile("^Show where")).tap()

    place = phone.page.locator(f'[data-lit="true"][data-key="{key}"]')
    expect(place).to_be_in_viewport()
    expect(place).to_be_focused()


def test_a_finding_on_another_board_shows_that_board(phone: Phone) -> None:
    body = a_body(
        {"id": "key", "fixture": "tungsten-open-face-2000", "board": "strip", "outlet": "1"},
        {"id": "fill", "fixture": "tungsten-open-face-2000", "board": "strip", "outlet": "2"},
        boards=[
            {"id": "main", "type": "three-row-32-blue", "fed_from": None},
            {"id": "strip", "type": "four-way", "fed_from": {"board": "main", "outlet": "l2-top"}},
        ],
    )
    phone.put(body)

    card = phone.page.locator(".pane-more .finding", has_text="strip").first
    card.get_by_role("button", name=re.compile("^Show where")).tap()

    expect(phone.button(re.compile("strip")).first).to_have_attribute("aria-pressed", "true")


def test_a_remedy_is_entered_with_one_tap_and_holds_up(phone: Phone, server: Service) -> None:
    phone.put(ALL_ON_ONE)
    before = answer_of(server.url, phone.layout())
    highest = max(phase["current_a"] for phase in before["phases"])

    phone.page.locator(".pane-says .finding").get_by_role(
        "button", name=re.compile("^Enter this change")
    ).tap()
    phone.wait_for_verdict()

    assert phone.layout()["loads"] != ALL_ON_ONE["loads"]
    shown = [shown_amps(phone.gauge(line).inner_text()) for line in ("L1", "L2", "L3")]
    assert max(shown) < highest
    phone.button("Undo").tap()
    phone.wait_for_verdict()
    assert shown_amps(phone.gauge("L1").inner_text()) == pytest.approx(highest, abs=0.051)


def test_even_phases_do_not_hide_a_neutral_that_carries_too_much(phone: Phone) -> None:
    # Electronic ballasts without correction: their third harmonics add up in the neutral.
    body = a_body(
        *(
            {
                "id": f"par {line} {row}",
                "fixture": "discharge-par-1200-electronic-no-pfc",
                "outlet": f"l{line}-{row}",
            }
            for line in (1, 2, 3)
            for row in ("bottom", "middle", "top")
        )
    )

    phone.put(body)

    lines = [shown_amps(phone.gauge(line).inner_text()) for line in ("L1", "L2", "L3")]
    neutral = phone.gauge("N")
    assert max(lines) - min(lines) < 0.2
    assert shown_amps(neutral.inner_text()) > max(lines)
    expect(neutral).to_contain_text("Stop")
    assert phone.verdict == "It does not hold"


def test_a_sound_board_says_that_it_holds(phone: Phone, server: Service) -> None:
    body = a_body(
        *({"id": f"k{n}", "fixture": "led-panel-200", "outlet": f"l{n}-top"} for n in (1, 2, 3))
    )
    assert answer_of(server.url, body)["verdict"] == "pass"

    phone.put(body)

    assert phone.verdict == "It holds"
    expect(phone.page.locator(".pane-says .finding")).to_have_count(0)


def test_the_demo_has_a_board_that_holds_and_one_that_does_not(phone: Phone) -> None:
    phone.open("#/board")
    demos = phone.page.locator(".demos .item")
    expect(demos.first).to_be_visible()
    verdicts = set()
    for index in range(demos.count()):
        phone.tab("Hand over")
        demos.nth(index).tap()
        phone.wait_for_verdict()
        verdicts.add(phone.verdict)

    assert {"It holds", "It does not hold"} <= verdicts


def test_without_demos_nothing_is_offered(phone: Phone) -> None:
    phone.page.route("**/v1/demo/layouts", lambda route: route.fulfill(status=404, body="{}"))
    phone.open("#/board")
    phone.page.wait_for_load_state("networkidle")

    expect(phone.page.get_by_label("Kind of board")).to_be_visible()
    expect(phone.page.locator(".demos")).to_be_hidden()


def test_the_caution_stands_with_every_result(phone: Phone, server: Service) -> None:
    notice = answer_of(server.url, TOO_MUCH)["notice"]
    phone.put(TOO_MUCH)

    expect(phone.page.locator("aside.caution")).to_contain_text(notice)
    phone.page.locator("aside.caution").get_by_role("link").tap()
    expect(phone.page.get_by_role("heading", name="Cautions")).to_be_visible()
    expect(phone.page.locator("main")).to_contain_text("Local rules come first")
    expect(phone.page.locator("main")).to_contain_text("licensed")
