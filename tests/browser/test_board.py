"""Put lamps on a board and read what each phase carries, as the service says it."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from support.phone import Phone, a_body, answer_of, shown_amps
from support.service import Service

pytestmark = pytest.mark.browser

TENTH = 0.051
"""Figures are shown to a tenth: half of it, and a hair for the rounding of the half itself."""
TWO_KW = "tungsten-open-face-2000"


def two_kw(name: str, outlet: str, **changes: object) -> dict[str, object]:
    return {"id": name, "fixture": TWO_KW, "outlet": outlet} | changes


def pick(phone: Phone, words: str, name: str) -> None:
    """In the sheet of a free outlet, find a lamp and plug it."""
    phone.sheet().get_by_label("Lamp, watts or a nickname").fill(words)
    phone.sheet().get_by_role("button", name=re.compile(name)).first.tap()
    expect(phone.sheet()).to_have_count(0)


def test_from_nothing_to_a_verdict_by_taps_alone(phone: Phone) -> None:
    phone.open()
    phone.tab("Board")
    phone.page.get_by_label("Kind of board").select_option("three-row-32-blue")
    phone.button("Set up the board").tap()

    phone.tile("l1-bottom").tap()
    pick(phone, "2k open face", "2 kW tungsten open-face")
    phone.wait_for_verdict()

    # 2000 W / 230 V = 8.70 A, on L1 alone; the drop along nothing changes that.
    assert shown_amps(phone.gauge("L1").inner_text()) == pytest.approx(8.7, abs=0.1)
    assert shown_amps(phone.gauge("L2").inner_text()) == 0.0
    # One lamp line to neutral: what goes in by L1 comes back by N.
    assert shown_amps(phone.gauge("N").inner_text()) == pytest.approx(8.7, abs=0.1)
    expect(phone.tile("l1-bottom")).to_contain_text("2 kW tungsten open-face")


def test_every_figure_of_the_columns_is_the_services(phone: Phone, server: Service) -> None:
    body = a_body(
        two_kw("a", "l1-bottom"),
        two_kw("b", "l2-bottom", dimmed_to=0.5),
        {"id": "c", "fixture": "discharge-par-1800-electronic-no-pfc", "outlet": "l3-bottom"},
    )
    answer = answer_of(server.url, body)

    phone.put(body)

    for said in answer["phases"]:
        text = phone.gauge(said["phase"]).inner_text()
        assert shown_amps(text) == pytest.approx(said["current_a"], abs=TENTH)
        assert f"{said['headroom_a']:.1f} A free" in text
        shown = re.search(r"([\d.]+) %", text)
        assert shown
        assert float(shown[1]) == pytest.approx(said["loading_pct"], abs=0.5)
    text = phone.gauge("N").inner_text()
    assert shown_amps(text) == pytest.approx(answer["neutral"]["current_a"], abs=TENTH)
    assert f"of {answer['neutral']['rating_a']:.0f} A" in text


def test_room_is_told_in_lamps_per_phase(phone: Phone, server: Service) -> None:
    body = a_body(two_kw("a", "l1-bottom"))
    first, second, _ = (phase["room_for"] for phase in answer_of(server.url, body)["phases"])

    phone.put(body)

    table = phone.page.locator("section", has=phone.page.get_by_text("Room left, in lamps")).last
    for one, other in zip(first, second, strict=True):
        row = table.get_by_role("row", name=re.compile(re.escape(one["name"]))).first
        cells = row.locator("td").all_inner_texts()
        assert [int(cell) for cell in cells[:2]] == [one["count"], other["count"]]
    assert first


def test_a_lamp_from_the_list_is_plugged_by_tapping_an_outlet(phone: Phone) -> None:
    phone.put(a_body(two_kw("a", "l1-bottom")))
    phone.open("#/lamps/tungsten-fresnel-1000")
    phone.button("Put on the board").tap()

    expect(phone.page.locator(".placing-bar")).to_contain_text("1 kW tungsten fresnel")
    phone.tile("l2-middle").tap()

    expect(phone.tile("l2-middle")).to_contain_text("1 kW tungsten fresnel")
    phone.wait_for_verdict()
    assert shown_amps(phone.gauge("L2").inner_text()) == pytest.approx(1000 / 230, abs=0.1)


def test_a_lamp_is_moved_to_another_phase(phone: Phone) -> None:
    phone.put(a_body(two_kw("a", "l1-bottom")))

    phone.tile("l1-bottom").tap()
    phone.button("Move").tap()
    phone.tile("l3-bottom").tap()

    phone.wait_for_verdict()
    expect(phone.tile("l1-bottom")).to_contain_text("free")
    assert shown_amps(phone.gauge("L1").inner_text()) == 0.0
    assert shown_amps(phone.gauge("L3").inner_text()) == pytest.approx(8.7, abs=0.1)


def test_two_plugs_for_one_outlet_can_be_swapped(phone: Phone) -> None:
    phone.put(a_body(two_kw("left", "l1-bottom"), two_kw("right", "l2-bottom")))

    phone.tile("l1-bottom").tap()
    phone.button("Move").tap()
    phone.tile("l2-bottom").tap()
    phone.button("Swap left and right").tap()

    expect(phone.tile("l1-bottom")).to_contain_text("right")
    expect(phone.tile("l2-bottom")).to_contain_text("left")


def test_a_lamp_on_the_table_is_not_counted_and_the_verdict_says_so(phone: Phone) -> None:
    phone.put(a_body(two_kw("a", "l1-bottom"), two_kw("b", "l2-bottom")))

    phone.tile("l2-bottom").tap()
    phone.button("Unplug").tap()

    phone.wait_for_verdict()
    assert shown_amps(phone.gauge("L2").inner_text()) == 0.0
    expect(phone.page.locator("eb-verdict")).to_contain_text("1 lamp on the table is not counted")
    expect(phone.page.locator(".table")).to_contain_text("b 2 kW tungsten open-face")


def test_count_and_level_change_the_draw(phone: Phone, server: Service) -> None:
    phone.put(a_body({"id": "p", "fixture": "led-panel-200", "outlet": "l1-top"}))

    phone.tile("l1-top").tap()
    phone.button("How many on this plug: 1 more").tap()
    phone.button("Dimmed to: 5 less").tap()
    phone.button("Dimmed to: 5 less").tap()
    phone.button("Done").tap()

    phone.wait_for_verdict()
    assert phone.layout()["loads"][0]["count"] == 2
    assert phone.layout()["loads"][0]["dimmed_to"] == 0.9
    said = answer_of(server.url, phone.layout())["phases"][0]["current_a"]
    assert shown_amps(phone.gauge("L1").inner_text()) == pytest.approx(said, abs=TENTH)
    expect(phone.tile("l1-top")).to_contain_text("90 %")


def test_a_plate_can_be_typed_in(phone: Phone) -> None:
    phone.put(a_body(two_kw("a", "l1-bottom")))

    phone.tile("l3-top").tap()
    phone.sheet().get_by_text("Something with a plate").tap()
    phone.sheet().get_by_label("What is it").fill("soup kettle")
    phone.sheet().get_by_label("Power on the plate").fill("1150")
    phone.button("Plug it in").tap()

    phone.wait_for_verdict()
    expect(phone.tile("l3-top")).to_contain_text("soup kettle")
    # 1150 W / 230 V.
    assert shown_amps(phone.tile("l3-top").locator(".tile-foot").inner_text()) == pytest.approx(
        5.0, abs=TENTH
    )


def test_a_multi_way_lead_takes_over_what_was_in_the_outlet(phone: Phone) -> None:
    phone.put(a_body(two_kw("a", "l1-bottom"), two_kw("b", "l2-bottom")))
    phone.tile("l2-bottom").tap()
    phone.button("Unplug").tap()

    phone.tile("l2-bottom").tap()
    phone.sheet().get_by_text("Multi-way lead or sub-board").tap()
    phone.sheet().get_by_role("button", name=re.compile("^multi-way lead, four outlets")).tap()

    # The new board is shown: a lamp from the table goes into it.
    expect(
        phone.page.get_by_role("heading", name=re.compile("Board four-way")).last
    ).to_be_visible()
    phone.tile("1").tap()
    phone.sheet().get_by_role("button", name=re.compile("^b 2 kW")).tap()
    phone.wait_for_verdict()
    assert shown_amps(phone.gauge("L1").inner_text()) == pytest.approx(8.7, abs=0.1)

    # On its own board it is L1; it hangs on L2 of the one that feeds it, and has that one's colour.
    expect(phone.gauge("L1").locator(".colour-name")).to_have_text("black")
    phone.button(re.compile("^main")).first.tap()
    assert shown_amps(phone.gauge("L2").inner_text()) == pytest.approx(8.7, abs=0.1)
    expect(phone.tile("l2-bottom")).to_contain_text("four-way")


def test_the_feeder_and_how_it_lies_are_told(phone: Phone) -> None:
    phone.put(a_body(two_kw("a", "l1-bottom")))

    phone.button(re.compile("Board and cable")).tap()
    sheet = phone.sheet()
    sheet.get_by_label("Cable", exact=True).select_option("h07rn-f")
    sheet.get_by_label("Conductor size").select_option("2.5")
    sheet.get_by_label("Length").fill("50")
    sheet.get_by_label("How it lies").select_option("coiled")
    sheet.get_by_label("Layers on the drum or coil").fill("3")
    phone.button("Done").tap()

    phone.wait_for_verdict()
    assert phone.layout()["boards"][0]["feeder"] == {
        "cable": "h07rn-f",
        "csa_mm2": 2.5,
        "length_m": 50,
        "laid": "coiled",
        "coil_layers": 3,
    }
    expect(phone.page.locator(".pane-face")).to_contain_text("50 m of 2.5 mm²")
    expect(phone.page.locator(".pane-face")).to_contain_text(re.compile(r"cable carries \d+ A"))
    expect(phone.page.locator(".pane-more")).to_contain_text("Lay out the feeder")


def test_set_ups_are_switched_lamp_by_lamp(phone: Phone) -> None:
    phone.put(a_body(two_kw("a", "l1-bottom"), two_kw("b", "l2-bottom")))

    phone.button("Set-ups …").tap()
    phone.button("Add a set-up").tap()
    phone.sheet().get_by_label("Name of the set-up").fill("wide")
    phone.sheet().get_by_label("Name of the set-up").blur()
    phone.button("Add a set-up").tap()
    phone.sheet().get_by_label("b · 2 kW tungsten open-face").last.uncheck()
    phone.button("Done").tap()

    assert phone.layout()["setups"] == [{"id": "wide"}, {"id": "set-up"}]
    assert phone.layout()["loads"][1]["setups"] == ["wide"]
    phone.wait_for_verdict()
    phone.button("set-up").tap()
    assert shown_amps(phone.gauge("L2").inner_text()) == 0.0
    expect(phone.tile("l2-bottom")).to_contain_text("off")
    phone.button("worst").tap()
    assert shown_amps(phone.gauge("L2").inner_text()) == pytest.approx(8.7, abs=0.1)


def test_another_supply_is_chosen(phone: Phone) -> None:
    phone.put(a_body(two_kw("a", "l1-bottom")))

    phone.page.locator(".supply").tap()
    phone.button("63 A").tap()
    phone.sheet().get_by_label(re.compile("^Volts")).fill("236")
    phone.sheet().get_by_label("Fed by").select_option("generator")
    phone.sheet().get_by_label(re.compile("Generator rating")).fill("45")
    phone.button("Done").tap()

    phone.wait_for_verdict()
    supply = phone.layout()["supply"]
    assert (supply["rating_a"], supply["voltage_v"]) == (63, 236)
    assert supply["generator"] == {"rating_kva": 45}
    expect(phone.page.locator(".supply")).to_contain_text("63 A")
    expect(phone.page.locator(".supply")).to_contain_text("236 V")


def test_another_region_keeps_the_lamps(phone: Phone) -> None:
    phone.put(a_body(two_kw("a", "l1-bottom"), two_kw("b", "l2-bottom")))

    phone.page.locator(".supply").tap()
    phone.sheet().get_by_label("Region").select_option("us")
    phone.button("Done").tap()

    layout = phone.layout()
    assert layout["region"] == "us"
    assert layout["supply"]["voltage_v"] == 120
    assert [load["id"] for load in layout["loads"]] == ["a", "b"]
    phone.wait_for_verdict()


def test_undo_takes_the_last_step_back(phone: Phone) -> None:
    phone.put(a_body(two_kw("a", "l1-bottom")))
    phone.tile("l1-bottom").tap()
    phone.button("Take it off the list").tap()
    expect(phone.tile("l1-bottom")).to_contain_text("free")

    phone.button("Undo").tap()

    expect(phone.tile("l1-bottom")).to_contain_text("2 kW tungsten open-face")


def test_a_single_phase_supply_has_one_column(phone: Phone) -> None:
    body = a_body(
        {"id": "a", "fixture": "led-panel-200", "outlet": "1"},
        supply={"kind": "outlet", "system": "single-phase", "rating_a": 13, "voltage_v": 230},
        boards=[{"id": "main", "type": "four-way-13", "fed_from": None}],
    )
    phone.put(body)

    expect(phone.page.locator(".gauges .columns .gauge")).to_have_count(1)
    expect(phone.page.locator("eb-findings").last).not_to_contain_text("L2")


def test_three_phase_and_line_to_line_outlets_span_the_columns(phone: Phone) -> None:
    phone.put(a_body(two_kw("a", "l1-bottom")))

    face = phone.page.locator("eb-face").bounding_box()
    wide = phone.tile("sub-1").bounding_box()
    assert face
    assert wide
    assert wide["width"] > 0.8 * face["width"]
    expect(phone.tile("sub-1")).to_contain_text("L1–L2–L3")


def test_two_boards_on_one_supply_show_the_whole_supply_too(phone: Phone, server: Service) -> None:
    body = a_body(
        two_kw("a", "l1-bottom"),
        two_kw("b", "l1-bottom", board="other"),
        boards=[
            {"id": "main", "type": "three-row-32-blue", "fed_from": None},
            {"id": "other", "type": "three-row-32-blue", "fed_from": None},
        ],
    )
    phone.put(body)

    expect(phone.page.get_by_role("heading", name="Whole supply")).to_be_visible()
    whole = phone.page.locator('[data-key="gauge:L1"]').first.inner_text()
    said = answer_of(server.url, body)["phases"][0]["current_a"]
    assert shown_amps(whole) == pytest.approx(said, abs=TENTH)
    assert shown_amps(phone.gauge("L1").inner_text()) == pytest.approx(said / 2, abs=TENTH)
