"""An accessibility checker finds nothing on any screen, in both themes."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from support.desk_pages import places
from support.phone import Phone, a_body, phone_on
from support.service import Service
from support.shared import at, join, shared_board

pytestmark = pytest.mark.browser

CHECKER = Path(__file__).parents[1] / "node_modules" / "axe-core" / "axe.min.js"
LAMPS = [
    {"id": "key", "fixture": "tungsten-open-face-2000", "outlet": "l1-top"},
    {"id": "fill", "fixture": "tungsten-open-face-2000", "outlet": "l1-middle", "dimmed_to": 0.5},
    {"id": "back", "fixture": "discharge-par-1800-electronic-pfc", "outlet": "l1-bottom"},
]
BODY = a_body(*LAMPS, setups=[{"id": "wide"}, {"id": "close"}])


@pytest.fixture(params=["dark", "light"])
def checked(request: pytest.FixtureRequest, browser: Browser, server: Service) -> Iterator[Phone]:
    """A phone in each theme, with the checker in reach."""
    with phone_on(browser, server.url, color_scheme=request.param) as one:
        yield one


def faults(phone: Phone) -> list[str]:
    """What the checker finds on what is shown now: the rule and where."""
    if not phone.page.evaluate("'axe' in window"):
        phone.page.evaluate(CHECKER.read_text())
    # What fades or slides has another contrast on the way.
    phone.page.evaluate("Promise.all(document.getAnimations().map((each) => each.finished))")
    found: list[str] = phone.page.evaluate(
        """axe.run(document).then(({ violations }) => violations.flatMap(({ id, nodes }) =>
          nodes.map(({ target, failureSummary }) => `${id}: ${target} ${failureSummary}`)))"""
    )
    return found


@pytest.mark.parametrize(
    "place", ["#/lamps", "#/lamps/tungsten-open-face-2000", "#/board", "#/hand-over", "#/cautions"]
)
def test_screens_without_a_board(checked: Phone, place: str) -> None:
    checked.open(place)
    if place == "#/lamps":
        expect(checked.page.locator("ul.lamps li").first).to_be_visible()

    assert faults(checked) == []


def test_screens_of_a_board(checked: Phone) -> None:
    checked.put(BODY)
    assert faults(checked) == []

    for place in ("#/meter", "#/start", "#/log", "#/join", "#/hand-over"):
        checked.open(place)
        assert faults(checked) == [], place

    # It asks for a first plan by itself.
    checked.open("#/plan")
    expect(checked.page.locator(".steps li").first).to_be_visible()
    assert faults(checked) == []


def test_sheets_of_a_board(checked: Phone) -> None:
    checked.put(BODY)
    for outlet in ("l1-top", "l2-top"):
        checked.tile(outlet).tap()
        expect(checked.sheet()).to_be_visible()
        assert faults(checked) == [], outlet
        checked.sheet().get_by_role("button", name="Done").tap()
    for key in ("supply", "setups"):
        checked.page.locator(f'[data-key="{key}"]').first.tap()
        expect(checked.sheet()).to_be_visible()
        assert faults(checked) == [], key
        checked.sheet().get_by_role("button", name="Done").tap()


def test_a_shared_board_with_what_waits_and_what_was_refused(
    checked: Phone, server: Service, desk: str
) -> None:
    board = shared_board(server, desk, BODY)
    join(checked, board)
    assert faults(checked) == []

    checked.run("outbox", "await m.ready;")
    checked.page.evaluate("import('/js/screens/news.js')")
    checked.lose_the_line()
    change = {"op": "move", "load": "key", "from": at("l1-top"), "to": at("l2-top")}
    checked.run(
        "outbox",
        'await m.send("reading", v[0]);',
        {
            "path": f"layouts/{board.id}/readings",
            "target": f"layouts/{board.id}/readings",
            "body": {"phases": {"L1": 12.5}, "setup": "wide"},
            "secret": board.secret,
            "words": "L1 12.5 A",
        },
    )
    strip = checked.page.get_by_role("region", name="News of this phone")
    expect(strip).to_contain_text("not sent yet")
    assert faults(checked) == []
    strip.get_by_role("button", name="Show").tap()
    expect(checked.sheet()).to_be_visible()
    assert faults(checked) == []

    checked.find_the_line()
    expect(strip).to_be_hidden()
    board.change(change)
    checked.run(
        "outbox",
        'await m.send("changes", v[0]);',
        {
            "path": f"layouts/{board.id}/changes",
            "body": {"changes": [change | {"to": at("l3-top")}], "by": "Ana"},
            "secret": board.secret,
            "words": "key to L3 top",
        },
    )
    expect(checked.page.locator('.unsent-list [data-state="refused"]')).to_be_visible()
    assert faults(checked) == []


def test_pages_of_the_desk(checked: Phone, furnished_desk: str) -> None:
    for place in places(checked, furnished_desk):
        assert faults(checked) == [], place


def test_the_checker_finds_what_is_wrong(checked: Phone) -> None:
    checked.open("#/cautions")
    checked.page.evaluate("document.querySelector('main').append(new Image())")

    assert any(fault.startswith("image-alt") for fault in faults(checked))
