"""On the day: readings beside what is expected, the set-up that burns, starting and stopping."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from support.phone import Phone, a_body
from support.service import Service
from support.shared import SharedBoard, join, shared_board

pytestmark = pytest.mark.browser

GENERATOR = {
    "kind": "generator",
    "system": "three-phase",
    "rating_a": 32,
    "voltage_v": 230,
    "frequency_hz": 50,
    "generator": {"rating_kva": 22},
}
BODY = a_body(
    {"id": "key", "fixture": "tungsten-open-face-2000", "outlet": "l1-bottom"},
    {"id": "fill", "fixture": "tungsten-open-face-2000", "outlet": "l2-bottom"},
    {"id": "sun", "fixture": "discharge-par-1800-electronic-pfc", "outlet": "l3-bottom"},
    # 2 kW more on L1 than its outlet's 16 A stand, in this set-up only.
    {
        "id": "rain",
        "custom": {"name": "rain pump", "power_w": 4600, "power_factor": 1.0},
        "outlet": "l1-middle",
        "setups": ["storm"],
    },
    setups=[{"id": "calm"}, {"id": "storm"}],
)


@pytest.fixture
def board(server: Service, desk: str) -> SharedBoard:
    return shared_board(server, desk, BODY)


def clamp(phone: Phone, **amps: str) -> None:
    """Type what the meter shows, core by core, as the keyboard's own key leads on."""
    for name, shown in amps.items():
        phone.page.locator(f"#clamp-{name}").fill(shown)
        if name != list(amps)[-1]:
            phone.page.keyboard.press("Enter")
            # On to the next core.
            assert phone.page.evaluate("document.activeElement.id") != f"clamp-{name}"


def test_a_reading_is_entered_and_explained_with_expected_beside_measured(
    phone: Phone, board: SharedBoard
) -> None:
    join(phone, board)
    phone.page.get_by_role("link", name="Readings").tap()
    phone.page.get_by_label("What burns").select_option("calm")

    # Two lamps of 2 kW and an 1.8 kW one; the key is off, and the comma is a decimal one.
    expect(phone.page.locator("#clamp-L2-expected")).to_contain_text("expected 8.7 A")
    clamp(phone, L1="0", L2="8,7", L3="8.2")
    phone.button("Enter the reading").tap()

    meaning = phone.page.locator(".meaning")
    expect(meaning).to_contain_text("Not as planned")
    expect(meaning).to_contain_text("8.7 A less on L1 than planned: key")
    expect(meaning).to_contain_text("is off.")
    row = meaning.get_by_role("row", name="L1")
    expect(row).to_contain_text("8.7 A")
    expect(row).to_contain_text("0.0 A")
    expect(meaning.get_by_role("row", name="L2")).to_contain_text("fits")
    [kept] = board.get("/readings")["items"]
    assert (kept["by"], kept["setup"], kept["phases"]["L2"]) == ("Ana", "calm", 8.7)
    # The next one starts with empty fields.
    assert phone.page.locator("#clamp-L1").input_value() == ""


def test_what_cannot_be_read_stays_in_its_field_and_is_told(
    phone: Phone, board: SharedBoard
) -> None:
    join(phone, board)
    phone.page.get_by_role("link", name="Readings").tap()
    phone.page.get_by_label("What burns").select_option("calm")

    phone.button("Enter the reading").tap()
    expect(phone.page.get_by_role("alert")).to_contain_text("One phase at least.")
    clamp(phone, L1="8,x")
    phone.button("Enter the reading").tap()

    expect(phone.page.get_by_role("alert")).to_contain_text("A number, please")
    field = phone.page.locator("#clamp-L1")
    assert (field.input_value(), field.get_attribute("aria-invalid")) == ("8,x", "true")
    assert board.get("/readings")["items"] == []


def test_earlier_readings_are_a_chart_in_shapes_and_words_and_a_table(
    phone: Phone, board: SharedBoard
) -> None:
    join(phone, board)
    phone.page.get_by_role("link", name="Readings").tap()
    phone.page.get_by_label("What burns").select_option("calm")
    for l2, count in (("8.7", 0), ("14.7", 2)):
        clamp(phone, L1="8.7", L2=l2, L3="8.2")
        phone.button("Enter the reading").tap()
        expect(phone.page.locator(".chart")).to_have_count(count and 3)
        expect(phone.page.locator(".meaning")).to_contain_text(f"{float(l2):.1f} A")

    chart = phone.page.get_by_role("img", name="L2 over the last readings")
    assert "from 8.7 to 14.7 A, last 14.7 A" in (chart.get_attribute("aria-label") or "")
    expect(chart.locator("rect")).to_have_count(2)
    phone.page.get_by_text("The same as a table").tap()
    table = phone.page.locator("details table")
    expect(table.get_by_role("row")).to_have_count(3)
    expect(table).to_contain_text("14.7")


def test_a_reading_without_a_line_is_kept_and_sent_later(phone: Phone, board: SharedBoard) -> None:
    join(phone, board)
    phone.page.get_by_role("link", name="Readings").tap()
    phone.page.get_by_label("What burns").select_option("calm")
    expect(phone.page.locator("#clamp-L2-expected")).to_contain_text("expected 8.7 A")
    phone.lose_the_line()

    clamp(phone, L1="8.7", L2="8.7", L3="8.2", N="2.1")
    phone.button("Enter the reading").tap()
    expect(phone.page.locator(".said")).to_contain_text("kept on this phone")
    assert board.get("/readings")["items"] == []
    phone.find_the_line()

    expect(phone.page.locator(".meaning")).to_be_visible(timeout=25_000)
    assert board.get("/readings")["items"][0]["neutral"] == 2.1


def test_a_board_on_one_phone_is_clamped_as_well_and_figures_outlast_a_lost_line(
    phone: Phone,
) -> None:
    phone.put(BODY)
    phone.page.get_by_role("link", name="Readings").tap()
    phone.page.get_by_label("What burns").select_option("calm")
    phone.lose_the_line()
    clamp(phone, L1="8.7", L2="14.7", L3="8.6")
    phone.button("Enter the reading").tap()
    expect(phone.page.get_by_role("alert")).to_contain_text("stay in their fields")
    assert phone.page.locator("#clamp-L2").input_value() == "14.7"
    phone.find_the_line()

    phone.button("Enter the reading").tap()

    meaning = phone.page.locator(".meaning")
    expect(meaning).to_contain_text("6.0 A more on L2 than planned: something unlisted")
    phone.page.reload()
    expect(meaning).to_contain_text("6.0 A more on L2")
    expect(phone.page.get_by_text("stay on this phone")).to_be_visible()


def test_a_set_up_that_holds_burns_at_once_on_every_phone_and_the_bars_follow(
    phone: Phone, other: Phone, board: SharedBoard
) -> None:
    join(phone, board)
    join(other, board, "Ben")
    expect(phone.page.locator(".burn-now")).to_contain_text("Which set-up burns now?")

    phone.page.locator('[data-key="see:calm"]').tap()
    phone.button("Switch to calm").tap()

    for each in (phone, other):
        # Told by itself, though the storm does not hold.
        expect(each.page.locator(".burn-now")).to_have_text("calm burns now: it holds.")
        expect(each.page.locator('[data-key="see:calm"]')).to_have_attribute("aria-pressed", "true")
        expect(each.page.locator(".code")).to_contain_text("Set-up calm.")
        expect(each.gauge("L1")).to_contain_text("8.7")
    expect(other.page.locator(".deed")).to_contain_text("Ana: calm burns.")


def test_a_set_up_that_breaks_something_is_warned_of_before_it_burns(
    phone: Phone, board: SharedBoard
) -> None:
    join(phone, board)
    phone.page.locator('[data-key="see:calm"]').tap()
    phone.button("Switch to calm").tap()
    expect(phone.page.locator(".burn-now")).to_contain_text(re.compile("calm burns now"))
    phone.page.locator('[data-key="see:storm"]').tap()

    phone.button("Switch to storm").tap()

    sheet = phone.sheet()
    expect(sheet).to_contain_text("storm does not hold")
    expect(sheet.locator('[data-severity="fail"]').first).to_contain_text("20")
    phone.button("Stay with calm").tap()
    expect(phone.page.locator(".burn-now")).to_contain_text(re.compile("calm burns now"))
    assert board.get()["burning"] == "calm"
    phone.button("Switch to storm").tap()
    phone.button("Switch all the same").tap()
    expect(phone.page.locator(".burn-now")).to_contain_text("storm burns now: it does not hold.")
    expect(phone.gauge("L1")).to_contain_text("28.")


def test_starting_is_ticked_step_by_step_with_the_next_one_offered(phone: Phone) -> None:
    phone.put({**BODY, "supply": GENERATOR})
    phone.page.get_by_role("link", name="Start and stop").tap()
    steps = phone.page.locator(".start-step")
    now = phone.page.locator(".step-now")
    expect(now).to_contain_text("All lamps off")

    for expected in ("person responsible", "generator operator", "measures", "Main breaker"):
        phone.button("Done: next").tap()
        expect(now).to_contain_text(expected)
    # The wait of an earlier step counts down and bars nobody.
    phone.button("Take the last tick back").tap()
    phone.button("Take the last tick back").tap()
    expect(now).to_contain_text("starts the set")
    phone.button("Done: next").tap()
    expect(phone.page.get_by_role("timer")).to_contain_text("more")
    phone.button("Done: next").tap()
    phone.button("Done: next").tap()
    phone.button("Done: next").tap()
    expect(now).to_contain_text("On:")
    expect(now).to_contain_text("After it: L1")
    expect(now).to_contain_text("of the generator in one step")

    # A reload forgets no tick.
    done = phone.page.locator('.start-step[data-done="true"]').count()
    phone.page.reload()
    expect(phone.page.locator('.start-step[data-done="true"]')).to_have_count(done)
    assert done == 6
    while now.count():
        phone.button("Done: next").tap()
    expect(phone.page.locator(".said")).to_have_text("All is on.")
    assert steps.count() > done


def test_stopping_is_the_other_way_round_and_begins_without_old_ticks(phone: Phone) -> None:
    phone.put({**BODY, "supply": GENERATOR})
    phone.page.get_by_role("link", name="Start and stop").tap()
    phone.button("Done: next").tap()
    started = [text.removeprefix("On: ") for text in on_steps(phone, "On:")]

    phone.button("Stop").tap()

    expect(phone.page.locator(".step-now")).to_contain_text("Off:")
    stopped = [text.removeprefix("Off: ") for text in on_steps(phone, "Off:")]
    # Within a step too, so only who is in which step is compared.
    assert [sorted(each.split(" and ")) for each in stopped] == [
        sorted(each.split(" and ")) for each in started[::-1]
    ]
    texts = phone.page.locator(".start-step .step-text").all_inner_texts()
    tail = [each.split(". ", 1)[1] for each in texts[-4:]]
    assert [words.split(" ")[0] for words in tail] == ["The", "Main", "The", "Only"]
    # A new set-up has its own list; the pump is on in the storm only.
    phone.button("Start").tap()
    phone.button("storm").tap()
    expect(phone.page.locator(".start-steps")).to_contain_text("rain")


def on_steps(phone: Phone, word: str) -> list[str]:
    """The steps that begin with a word, without their numbers."""
    phone.page.wait_for_selector(".step-now")
    texts = phone.page.locator(".start-step .step-text").all_inner_texts()
    said = [text.split(". ", 1)[-1].strip().rstrip(".") for text in texts]
    return [each for each in said if each.startswith(word)]
