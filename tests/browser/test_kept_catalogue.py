"""Finding a lamp without a line, in the phone's own list."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import requests
from playwright.sync_api import Browser, expect

from support.phone import Phone, phone_on
from support.service import Service

pytestmark = pytest.mark.browser

QUERIES = [
    "2k",
    "tungsten 2000",
    "800w",
    "1.8 kw par",
    "1k8",
    "kettle",
    "tungsen fresnel",
    "fresnels 5k",
    "led panel",
    "hazer",
    "650",
    "daylight 1200",
    "1,2 kw",
    "flourescent",
    "dimer",
    "prjector",
]


@pytest.fixture(scope="module")
def page_of(browser: Browser, server: Service) -> Iterator[Phone]:
    """One page, with the list on the phone."""
    with phone_on(browser, server.url) as one:
        one.open()
        one.run("catalogue", "await m.refreshCatalogue();")
        yield one


def found(phone: Phone, query: dict[str, Any], voltage_v: float = 230) -> list[dict[str, Any]]:
    """The lamps out of the phone's list, best first."""
    items: list[dict[str, Any]] = phone.run(
        "catalogue", "return (await m.findKept(v[0], v[1])).items;", query, voltage_v
    )
    return items


def told(server: Service, **query: Any) -> list[str]:
    """The slugs that the service finds."""
    answer = requests.get(f"{server.url}/v1/fixtures", params=query, timeout=20).json()
    return [item["slug"] for item in answer["items"]]


@pytest.mark.parametrize("q", QUERIES)
def test_of_the_services_best_one_is_among_the_first(
    page_of: Phone, server: Service, q: str
) -> None:
    own = [item["slug"] for item in found(page_of, {"q": q})]

    # Several may answer equally well: it is enough that one of the service's best is there.
    best = set(told(server, q=q, limit=3))
    assert best & set(own[:8]), (best, own[:8])


def test_the_whole_list_is_there_in_the_services_order(page_of: Phone, server: Service) -> None:
    own = [item["slug"] for item in found(page_of, {})]

    assert len(own) > 250
    assert own[:200] == told(server, limit=200)


def test_kind_size_and_amps_are_asked_for_as_with_the_service(
    page_of: Phone, server: Service
) -> None:
    query = {"family": "led", "size_class": "small", "max_current_a": 2}

    own = {item["slug"] for item in found(page_of, {"q": "", **query})}

    assert own == set(told(server, limit=200, **query))


def test_amps_are_those_of_the_voltage_asked_for(page_of: Phone) -> None:
    [lamp, *_] = found(page_of, {"q": "tungsten open face 2000"}, 120)

    assert lamp["slug"] == "tungsten-open-face-2000"
    assert lamp["at_voltage"]["current_a"] == pytest.approx(2000 / 120, abs=0.01)


@pytest.mark.parametrize("q", ["", "zzzzqqq", "<b>", "\\", "((((", "9" * 300, "k" * 300])
def test_whatever_is_typed_is_answered(page_of: Phone, q: str) -> None:
    assert isinstance(found(page_of, {"q": q}), list)


def test_without_a_line_the_search_says_whose_list_it_is(phone: Phone) -> None:
    phone.open()
    phone.run("catalogue", "await m.refreshCatalogue();")
    phone.page.evaluate("import('/js/screens/lamp.js')")
    phone.lose_the_line()

    phone.page.get_by_role("searchbox").fill("2k open face")

    status = phone.page.locator(".search-status")
    expect(status).to_contain_text("phone's own list")
    row = phone.page.locator('[data-key="lamp:tungsten-open-face-2000"]')
    expect(row).to_contain_text("8.7")
    row.tap()
    expect(phone.page.locator("h1")).to_have_text("2 kW tungsten open-face")
    expect(phone.page.locator(".caution").first).to_contain_text("phone's own list")

    phone.find_the_line()
    phone.page.go_back()
    expect(phone.page.locator("ul.lamps li").first).to_be_visible()
    expect(status).not_to_contain_text("phone's own list")
