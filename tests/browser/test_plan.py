"""Even a board out from the phone: a plan, before and after, steps to tick while plugging."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
import requests
from playwright.sync_api import Locator, Route, expect

from support.phone import Phone, a_body, answer_of, broken, shown_amps
from support.service import Service

pytestmark = pytest.mark.browser

TENTH = 0.051
"""Figures are shown to a tenth: half of it, and a hair for the rounding of the half itself."""
TWO_KW = "tungsten-open-face-2000"
ONE_PHASE = a_body(
    {"id": "key", "fixture": TWO_KW, "outlet": "l1-bottom"},
    {"id": "fill", "fixture": TWO_KW, "outlet": "l1-middle"},
    {"id": "edge", "fixture": "tungsten-fresnel-1000", "outlet": "l1-top"},
)
"""Everything on L1."""
LARGE = [{"id": f"large {n}", "fixture": TWO_KW, "outlet": f"l1-{row}"}
         for n, row in enumerate(("top", "middle", "bottom"))]  # fmt: skip
SMALL = [{"id": f"small {n}", "fixture": "led-panel-200", "outlet": f"l{line}-{row}"}
         for n, (line, row) in enumerate(
             (line, row) for line in (2, 3) for row in ("top", "middle", "bottom"))]  # fmt: skip
NO_OUTLET_FREE = a_body(*LARGE, *SMALL)
"""Three large lamps on L1 and every other outlet taken: each move needs a lamp set aside."""


def plan_of(url: str, layout: dict[str, Any], **options: Any) -> dict[str, Any]:
    """What the service plans, asked without the client."""
    body = layout | {"options": {"objective": "even", **options}}
    response = requests.post(f"{url}/v1/plan", json=body, timeout=20)
    response.raise_for_status()
    answer: dict[str, Any] = response.json()
    return answer


def to_the_plan(phone: Phone, layout: dict[str, Any]) -> None:
    """Open a layout and go from its board to its plan, as a person does."""
    phone.put(layout)
    phone.page.get_by_role("link", name="Even it out").tap()
    phone.page.wait_for_selector(".sum")


def step(phone: Phone, number: int) -> Locator:
    """The tick box of a step."""
    return phone.page.locator(f'[data-key="step:{number}"]')


def places(layout: dict[str, Any]) -> dict[str, tuple[str | None, str | None]]:
    return {load["id"]: (load.get("board"), load.get("outlet")) for load in layout["loads"]}


def place(said: dict[str, str] | None) -> tuple[str | None, str | None]:
    return (said["board"], said["outlet"]) if said else (None, None)


def test_before_and_after_are_the_services_figures(phone: Phone, server: Service) -> None:
    planned = plan_of(server.url, ONE_PHASE)

    to_the_plan(phone, ONE_PHASE)

    for when in ("before", "after"):
        readings = {each["phase"]: each for each in planned[when]["phases"]}
        readings["N"] = planned[when]["neutral"]
        assert set(readings) == {"L1", "L2", "L3", "N"}
        for line, reading in readings.items():
            row = phone.page.locator(f'[data-key="compare:{line}"] .{when}')
            assert shown_amps(row.inner_text()) == pytest.approx(reading["current_a"], abs=TENTH)
    # All 5 kW hung on L1: 5000 W / 230 V = 21.7 A, a figure anyone can check.
    before = phone.page.locator('[data-key="compare:L1"] .before').inner_text()
    assert shown_amps(before) == pytest.approx(5000 / 230, abs=0.1)
    assert phone.layout() == ONE_PHASE, "looking at a plan changes nothing"


def test_why_and_how_sure_are_told_in_words(phone: Phone, server: Service) -> None:
    planned = plan_of(server.url, ONE_PHASE)
    assert planned["proven_optimal"]

    to_the_plan(phone, ONE_PHASE)

    for words in planned["why"]:
        expect(phone.page.locator(".why")).to_contain_text(words)
    expect(phone.page.locator(".proof")).to_contain_text("Proven: no plan does better.")


def test_what_is_not_proven_is_not_said_to_be(phone: Phone, server: Service) -> None:
    planned = plan_of(server.url, ONE_PHASE)
    planned["proven_optimal"] = False
    planned["proven"] |= {"largest_spread": False, "sum_of_spreads": False, "moves": False}
    phone.page.route("**/v1/plan", lambda route: route.fulfill(json=planned))

    to_the_plan(phone, ONE_PHASE)

    proof = phone.page.locator(".proof").inner_text()
    assert "no plan plugs more lamps or has a lower highest phase" in proof
    assert "Not proven: a plan that brings the phases closer together" in proof
    assert "does better" not in proof


def test_ticking_all_steps_one_by_one_carries_the_plan_out(phone: Phone, server: Service) -> None:
    planned = plan_of(server.url, ONE_PHASE)
    assert len(planned["steps"]) >= 2
    to_the_plan(phone, ONE_PHASE)

    for each in planned["steps"]:
        expect(phone.page.locator(".step").nth(each["number"] - 1)).to_contain_text(each["text"])
        step(phone, each["number"]).tap()
        expect(step(phone, each["number"])).to_be_checked()
        assert places(phone.layout())[each["load"]] == place(each["to"])

    expect(phone.page.get_by_text("The plan is carried out.")).to_be_visible()
    phone.tab("Board")
    phone.wait_for_verdict()
    for said in planned["after"]["phases"]:
        shown = shown_amps(phone.gauge(said["phase"]).inner_text())
        assert shown == pytest.approx(said["current_a"], abs=TENTH)


def test_each_tick_is_checked_by_the_service(phone: Phone, server: Service) -> None:
    to_the_plan(phone, ONE_PHASE)

    with phone.page.expect_response("**/v1/balance") as answered:
        step(phone, 1).tap()

    assert answered.value.json()["phases"] == answer_of(server.url, phone.layout())["phases"]


def test_all_at_once_is_one_change_and_one_undo(phone: Phone, server: Service) -> None:
    planned = plan_of(server.url, ONE_PHASE)
    to_the_plan(phone, ONE_PHASE)

    phone.button("All done: tick them all").tap()
    assigned = {a["load"]: (a["board"], a["outlet"]) for a in planned["assignments"]}
    assert places(phone.layout()) == assigned
    phone.button("Undo").tap()

    assert places(phone.layout()) == places(ONE_PHASE)
    expect(step(phone, 1)).not_to_be_checked()


def test_some_of_the_steps_may_be_taken_and_survive_a_reload(phone: Phone) -> None:
    to_the_plan(phone, ONE_PHASE)
    step(phone, 1).tap()
    expect(phone.page.locator(".steps-done")).to_contain_text("1 of")
    wanted = phone.layout()

    asked: list[str] = []
    phone.page.on("request", lambda request: asked.append(request.url))
    phone.page.reload()
    phone.page.wait_for_selector(".step")

    expect(step(phone, 1)).to_be_checked()
    expect(step(phone, 2)).not_to_be_checked()
    assert phone.layout() == wanted
    assert not [url for url in asked if url.endswith("/v1/plan")]


def test_a_step_is_taken_back_by_undo_or_by_its_own_tick(phone: Phone) -> None:
    to_the_plan(phone, ONE_PHASE)
    for back in (phone.button("Undo"), step(phone, 1)):
        step(phone, 1).tap()
        expect(step(phone, 1)).to_be_checked()

        back.tap()

        expect(step(phone, 1)).not_to_be_checked()
        assert places(phone.layout()) == places(ONE_PHASE)


def test_a_step_that_needs_an_unplugged_lamp_waits_and_says_for_which(
    phone: Phone, server: Service
) -> None:
    steps = plan_of(server.url, NO_OUTLET_FREE)["steps"]
    first = next(s for s in steps if s["action"] == "unplug")
    needs = next(s for s in steps if s["to"] == first["from"])
    to_the_plan(phone, NO_OUTLET_FREE)
    number = needs["number"]

    # Playwright would wait for it to be enabled; a person taps all the same.
    step(phone, number).tap(force=True)

    expect(step(phone, number)).not_to_be_checked()
    assert places(phone.layout()) == places(NO_OUTLET_FREE)
    why = step(phone, number).get_attribute("aria-describedby")
    expect(phone.page.locator(f"#{why}")).to_contain_text(f"Step {first['number']} comes first")
    step(phone, first["number"]).tap()
    step(phone, number).tap()
    expect(step(phone, number)).to_be_checked()
    # The way back is barred as well: the outlet it came from is taken now.
    step(phone, first["number"]).tap(force=True)
    expect(step(phone, first["number"])).to_be_checked()


def test_the_steps_of_a_full_board_can_all_be_ticked_in_order(
    phone: Phone, server: Service
) -> None:
    planned = plan_of(server.url, NO_OUTLET_FREE)
    to_the_plan(phone, NO_OUTLET_FREE)

    for each in planned["steps"]:
        step(phone, each["number"]).tap()
        expect(step(phone, each["number"])).to_be_checked()
        now = list(places(phone.layout()).values())
        plugged = [at for at in now if at != (None, None)]
        assert len(set(plugged)) == len(plugged), "two lamps in one outlet on the way"


def test_a_plan_that_the_layout_has_outrun_says_so_and_is_asked_anew(phone: Phone) -> None:
    to_the_plan(phone, ONE_PHASE)
    step(phone, 1).tap()
    phone.tab("Board")
    last = next(load for load in phone.layout()["loads"] if load["outlet"] == "l1-top")
    phone.tile("l1-top").tap()
    phone.sheet().get_by_role("button", name="Take it off the list").tap()

    phone.page.get_by_role("link", name="Even it out").tap()

    expect(phone.page.get_by_text("The layout has changed since")).to_be_visible()
    step(phone, 2).tap(force=True)
    expect(step(phone, 2)).not_to_be_checked()
    phone.button("Make a new plan").tap()
    expect(phone.page.get_by_text("The layout has changed since")).to_have_count(0)
    expect(phone.page.locator(".plan")).not_to_contain_text(f"Move {last['id']}")


def test_wishes_are_asked_of_the_service_and_pins_are_kept(phone: Phone, server: Service) -> None:
    to_the_plan(phone, ONE_PHASE)
    phone.page.get_by_text("Stay where they are").tap()
    phone.page.get_by_label(re.compile("^key")).check()
    phone.button("At most so many moves").tap()
    phone.page.get_by_label("Moves at most", exact=True).fill("1")
    phone.page.get_by_label("Amps to keep spare on each phase", exact=True).fill("4")
    phone.page.keyboard.press("Tab")

    with phone.page.expect_request("**/v1/plan") as asked:
        phone.button("Make a new plan").tap()

    body = asked.value.post_data_json
    assert body["options"] == {"objective": "even", "max_moves": 1, "spare_a": 4}
    assert next(load for load in body["loads"] if load["id"] == "key")["keep"] is True
    planned = plan_of(server.url, phone.layout(), max_moves=1, spare_a=4)
    expect(phone.page.locator(".step")).to_have_count(len(planned["steps"]))
    expect(phone.page.locator(".steps")).not_to_contain_text("Move key")
    phone.button("Fewest moves that will do").tap()
    with phone.page.expect_request("**/v1/plan") as asked:
        phone.button("Make a new plan").tap()
    assert asked.value.post_data_json["options"]["objective"] == "fewest-moves"


def test_one_more_lamp_finds_its_place_and_no_other_moves(phone: Phone, server: Service) -> None:
    phone.put(ONE_PHASE)
    phone.open("#/lamps/tungsten-fresnel-1000")

    phone.button("Find it a place").tap()

    expect(phone.page.locator(".sum")).to_contain_text("1 lamp from the table is plugged.")
    expect(phone.page.locator(".step")).to_have_count(1)
    (said,) = plan_of(server.url, phone.layout(), max_moves=0)["steps"]
    step(phone, 1).tap()
    expect(step(phone, 1)).to_be_checked()
    # L1 has all the others: one more goes to a phase that has none.
    outlet = places(phone.layout())[said["load"]][1]
    assert outlet == said["to"]["outlet"]
    assert outlet in {f"l{line}-{row}" for line in (2, 3) for row in ("top", "middle", "bottom")}


def test_what_finds_no_place_is_named_with_the_reason(phone: Phone, server: Service) -> None:
    layout = a_body(*LARGE, *SMALL)
    layout["loads"].append({"id": "one too many", "fixture": "tungsten-fresnel-1000"})
    (out,) = plan_of(server.url, layout)["unplaced"]

    to_the_plan(phone, layout)

    said = phone.page.locator(".unplaced")
    expect(said).to_contain_text("1 lamp finds no place")
    expect(said).to_contain_text(out["load"])
    expect(said).to_contain_text(out["why"])


@pytest.mark.parametrize("trouble", ["broken", "offline"])
def test_a_service_in_trouble_takes_nothing_away(phone: Phone, trouble: str) -> None:
    to_the_plan(phone, ONE_PHASE)
    step(phone, 1).tap()
    kept = phone.layout()

    def answer(route: Route) -> None:
        broken(route) if trouble == "broken" else route.abort()

    phone.page.route("**/v1/plan", answer)
    phone.button("Make a new plan").tap()

    expect(phone.page.locator(".trouble").first).to_contain_text("kept")
    expect(step(phone, 1)).to_be_checked()
    assert phone.layout() == kept
    phone.page.unroute("**/v1/plan")
    phone.button("Make a new plan").tap()
    expect(phone.page.get_by_text("The plan below is still the last one.")).to_have_count(0)


def test_what_the_service_cannot_read_is_named(phone: Phone) -> None:
    layout = json.loads(json.dumps(ONE_PHASE))
    layout["loads"][1]["fixture"] = "no-such-lamp"
    phone.put(layout, checked=False)
    phone.page.wait_for_selector(".fault-list")
    phone.page.get_by_role("link", name="Even it out").tap()

    said = phone.page.locator(".plan-state")
    expect(said).to_contain_text("The service cannot plan this")
    expect(said.locator("li")).to_contain_text("fill")
    expect(said.locator("li")).to_contain_text("no-such-lamp")


def test_steps_are_ticked_by_keyboard_and_heard(phone: Phone) -> None:
    to_the_plan(phone, ONE_PHASE)
    step(phone, 1).focus()

    phone.page.keyboard.press("Space")

    expect(step(phone, 1)).to_be_checked()
    expect(step(phone, 1)).to_be_focused()
    expect(phone.page.locator(".plan [role=status]").last).to_have_text("Step 1 entered.")


def test_the_verdict_counts_in_words_that_read(phone: Phone, server: Service) -> None:
    # 17 A on an outlet of 16 A, and a long thin feeder.
    feeder = {"cable": "h07rn-f", "csa_mm2": 2.5, "length_m": 60, "laid": "surface"}
    layout = a_body({"id": "key", "fixture": TWO_KW, "count": 2, "outlet": "l1-bottom"})
    layout["boards"][0]["feeder"] = feeder
    findings = answer_of(server.url, layout)["findings"]
    words = {"fail": "to stop for", "caution": "to mend", "note": "to know"}
    counts = {kind: sum(f["severity"] == kind for f in findings) for kind in words}
    assert sum(n > 0 for n in counts.values()) >= 2

    phone.put(layout)

    told = " · ".join(f"{n} {words[kind]}" for kind, n in counts.items() if n)
    expect(phone.page.locator("eb-verdict")).to_contain_text(told)


def test_where_lamps_find_no_place_a_larger_board_is_found_and_taken(phone: Phone) -> None:
    lamps = [
        {"id": f"lamp {n}", "fixture": TWO_KW, "board": None, "outlet": None} for n in range(12)
    ]
    to_the_plan(phone, a_body(*lamps))
    assert phone.page.locator(".unplaced li").count()

    phone.page.get_by_role("button", name="Which board would do?").tap()
    choices = phone.page.locator(".boards-that-do li")
    expect(choices.first).to_contain_text("Too small")
    choices.get_by_role("button", name="Put these lamps on it").first.tap()

    phone.page.wait_for_url(re.compile("#/board"))
    loads = phone.layout()["loads"]
    assert len({(load["board"], load["outlet"]) for load in loads}) == 12
    assert phone.overflow_px() == 0
