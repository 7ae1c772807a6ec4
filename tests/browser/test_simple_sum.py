"""The one sum that the browser does is the service's own arithmetic sum, and says what it is."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, expect

from support.phone import Phone, a_body, answer_of, phone_on
from support.service import Service

pytestmark = pytest.mark.browser

CASES = sorted((Path(__file__).parents[1] / "cases").glob("*/layout.json"))
ROUNDING_A = 0.006
"""The service says a sum to two places."""


def of_all_kinds() -> dict[str, Any]:
    """A board with every kind of load that the sum has a rule for."""
    urn = {"name": "urn", "power_w": 2400, "load_model": "constant-impedance"}
    motor = {
        "name": "winch",
        "power_w": 3000,
        "power_factor": 0.7,
        "displacement_factor": 0.8,
        "third_harmonic_pct": 20,
        "rated_voltage_v": 380,
    }
    outlets = [
        {"id": "one", "lines": ["L1"], "rating_a": 32},
        {"id": "two", "lines": ["L2"], "rating_a": 32},
        {"id": "three", "lines": ["L3"], "rating_a": 32},
        {"id": "pair", "lines": ["L2", "L3"], "rating_a": 32, "neutral": True},
        {"id": "all", "lines": ["L1", "L2", "L3"], "rating_a": 63, "neutral": True},
        {"id": "all-2", "lines": ["L1", "L2", "L3"], "rating_a": 63, "neutral": True},
        {"id": "all-3", "lines": ["L1", "L2", "L3"], "rating_a": 63, "neutral": True},
        {"id": "all-4", "lines": ["L1", "L2", "L3"], "rating_a": 63, "neutral": True},
    ]
    sub = [
        {"id": "a", "lines": ["L1"], "rating_a": 16},
        {"id": "b", "lines": ["L2"], "rating_a": 16},
        {"id": "c", "lines": ["L3"], "rating_a": 16},
    ]
    rolled = {"board": "main", "outlet": "all", "phase_order": ["L2", "L3", "L1"]}
    return a_body(
        {"id": "plain", "fixture": "tungsten-open-face-2000", "outlet": "one", "count": 2},
        {"id": "dimmed", "fixture": "tungsten-open-face-2000", "outlet": "two", "dimmed_to": 0.4},
        {"id": "led", "fixture": "led-panel-200", "outlet": "three", "dimmed_to": 0.5},
        {"id": "urn", "custom": urn, "outlet": "pair"},
        {"id": "star", "custom": motor | {"rated_voltage_v": 220}, "outlet": "all-2"},
        {"id": "delta", "custom": motor, "outlet": "all-3", "connection": "delta"},
        {"id": "some", "custom": urn, "outlet": "all-4", "lines": ["L3"], "setups": ["close"]},
        {"id": "far", "fixture": "tungsten-open-face-800", "board": "sub", "outlet": "a"},
        {
            "id": "off",
            "fixture": "tungsten-open-face-800",
            "board": "sub",
            "outlet": "b",
            "setups": ["wide"],
        },
        {"id": "always", "custom": urn, "board": "sub", "outlet": "c", "count": 2},
        supply={"kind": "service", "system": "three-phase", "rating_a": 125},
        boards=[
            {"id": "main", "outlets": outlets, "fed_from": None},
            {"id": "sub", "outlets": sub, "fed_from": rolled},
        ],
        setups=[{"id": "wide"}, {"id": "close"}],
    )


def of_two_legs() -> dict[str, Any]:
    """A board on two legs, with a load across both."""
    outlets = [
        {"id": "a", "lines": ["L1"], "rating_a": 20},
        {"id": "b", "lines": ["L1", "L2"], "rating_a": 50, "neutral": True},
    ]
    return a_body(
        {"id": "key", "fixture": "tungsten-open-face-2000", "outlet": "a"},
        {"id": "oven", "custom": {"name": "oven", "power_w": 6000}, "outlet": "b"},
        region="us",
        supply={"kind": "service", "system": "three-wire", "rating_a": 100},
        boards=[{"id": "main", "outlets": outlets, "fed_from": None}],
    )


LAYOUTS = {path.parent.name: json.loads(path.read_text()) for path in CASES}
LAYOUTS |= {"of all kinds": of_all_kinds(), "of two legs": of_two_legs()}


@pytest.fixture(scope="module")
def page_of(browser: Browser, server: Service) -> Iterator[Phone]:
    """One page for all sums."""
    with phone_on(browser, server.url) as one:
        one.open()
        yield one


def summed(phone: Phone, layout: dict[str, Any], setup: str | None) -> dict[str, Any]:
    """The browser's sum of a layout, by board."""
    found: dict[str, Any] = phone.run(
        "simple-sum",
        """const { fixturesNamed, boardTypes, regions } = await import("/js/reference.js");
        const fixtures = await fixturesNamed(v[0].loads.map((l) => l.fixture).filter(Boolean));
        const region = (await regions()).get(v[0].region);
        const types = await boardTypes();
        const sum = m.simpleSum(v[0], { fixtures, types, region, setup: v[1] });
        return { ...sum, boards: Object.fromEntries(sum.boards) };""",
        layout,
        setup,
    )
    return found


@pytest.mark.parametrize("name", LAYOUTS)
def test_it_is_the_services_own_arithmetic_sum(page_of: Phone, server: Service, name: str) -> None:
    layout = LAYOUTS[name]
    answer = answer_of(server.url, layout)

    fullest = summed(page_of, layout, None)

    assert fullest["unknown"] == []
    for node, amps in [
        (answer, fullest["supply"]),
        *((board, fullest["boards"][board["id"]]) for board in answer["boards"]),
    ]:
        for phase in node["phases"]:
            taken = phase["rating_a"] - phase["headroom_a"]
            assert amps[phase["phase"]] == pytest.approx(taken, abs=ROUNDING_A), node.get("id")
    for setup in answer["setups"] if layout.get("setups") else []:
        one = summed(page_of, layout, setup["id"])["supply"]
        for phase in setup["phases"]:
            assert one[phase["phase"]] == pytest.approx(phase["sum_a"], abs=ROUNDING_A)


@pytest.mark.parametrize("voltage_v", [100, 120, 208, 220, 230, 240])
def test_a_lamps_amps_at_a_voltage_are_the_services(
    page_of: Phone, server: Service, voltage_v: int
) -> None:
    told = page_of.run("api", "return m.fixtures({ limit: 200, voltage_v: v[0] });", voltage_v)[
        "items"
    ]

    own = page_of.run(
        "simple-sum",
        "return v[0].map((f) => (m.versionFor(f, v[1]) ? m.plugCurrentA(f, v[1]) : null));",
        told,
        voltage_v,
    )

    assert len(told) == 200
    for fixture, amps in zip(told, own, strict=True):
        said = fixture["at_voltage"]
        assert (said is None) == (amps is None), fixture["slug"]
        if said:
            assert amps == pytest.approx(said["current_a"], abs=ROUNDING_A), fixture["slug"]


def test_a_lamp_whose_figures_are_not_known_is_named_and_not_guessed(page_of: Phone) -> None:
    layout = a_body({"id": "key", "fixture": "no-such", "outlet": "l1-top"})
    found = page_of.run(
        "simple-sum",
        """const { boardTypes, regions } = await import("/js/reference.js");
        const region = (await regions()).get("uk");
        const types = await boardTypes();
        return m.simpleSum(v[0], { fixtures: new Map(), types, region }).unknown;""",
        layout,
    )
    assert found == ["key"]


def test_without_a_line_a_phase_shows_the_simple_sum_until_the_service_answers(
    phone: Phone,
) -> None:
    phone.put(
        a_body(
            {"id": "key", "fixture": "tungsten-open-face-2000", "outlet": "l1-top"},
            {"id": "fill", "fixture": "tungsten-open-face-2000", "outlet": "l2-top"},
        )
    )
    expect(phone.gauge("L1")).not_to_contain_text("simple sum")
    phone.lose_the_line()

    phone.tile("l2-top").tap()
    phone.sheet().get_by_role("button", name="Unplug").tap()
    phone.page.evaluate("import('/js/worksheet.js').then(({ worksheet: w }) => w.undo())")
    phone.page.evaluate(
        """import('/js/worksheet.js').then(({ worksheet: w }) => w.edit((layout) => ({
          ...layout,
          loads: layout.loads.map((l) => (l.id === "fill" ? { ...l, outlet: "l1-middle" } : l)),
        })))"""
    )

    expect(phone.gauge("L1")).to_contain_text("17.4")
    expect(phone.gauge("L1")).to_contain_text("simple sum")
    expect(phone.gauge("L2")).to_contain_text("0.0")
    expect(phone.page.locator(".code")).to_contain_text("has not answered")
    expect(phone.gauge("N")).to_have_count(0)

    phone.find_the_line()
    phone.wait_for_verdict()
    expect(phone.gauge("L1")).not_to_contain_text("simple sum")
    expect(phone.gauge("N")).to_have_count(1)
