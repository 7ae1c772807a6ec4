"""To be read at night, in the sun and on the smallest phone: width, contrast, targets, colours."""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from support.look import CONTRAST, CUT, LEAST_CONTRAST, SMALLEST_PX, TARGETS
from support.phone import SMALL_PHONE, Phone, a_body, boards_behind_a_coil, phone_on
from support.service import Service
from support.shared import SharedBoard, at, shared_board

pytestmark = pytest.mark.browser

BODY = a_body(
    {"id": "key", "fixture": "tungsten-open-face-2000", "count": 2, "outlet": "l1-bottom"},
    {"id": "the director's monitors", "fixture": "village-video-village-600", "outlet": "l2-top"},
    {"id": "fill", "fixture": "discharge-par-1800-electronic-no-pfc", "outlet": "l3-middle"},
    {
        "id": "panel",
        "fixture": "led-panel-200",
        "board": "strip",
        "outlet": "1",
        "setups": ["wide"],
    },
    boards=boards_behind_a_coil(4),
    setups=[{"id": "wide"}, {"id": "close on the table"}],
)


def places(phone: Phone) -> Iterator[str]:
    """Every screen and sheet in turn."""
    yield "board"
    phone.page.get_by_text("All figures").tap()
    yield "figures"
    for name, open_it in (
        ("free outlet", lambda: phone.tile("l3-top").tap()),
        ("plate", lambda: phone.sheet().get_by_text("Something with a plate").tap()),
        ("boards", lambda: phone.sheet().get_by_text("Multi-way lead or sub-board").tap()),
        ("lamp on board", lambda: (phone.button("Done").tap(), phone.tile("l1-bottom").tap())),
        ("its lead", lambda: phone.sheet().get_by_text("Its own lead").tap()),
        ("supply", lambda: (phone.button("Done").tap(), phone.page.locator(".supply").tap())),
        (
            "feeder",
            lambda: (phone.button("Done").tap(), phone.button(re.compile("Board and")).tap()),
        ),
        ("set-ups", lambda: (phone.button("Done").tap(), phone.button("Edit set-ups").tap())),
        ("one set-up", lambda: phone.sheet().get_by_text("close on the table").tap()),
        ("placing", lambda: (phone.button("Done").tap(), phone.tile("l1-bottom").tap(),
                             phone.button("Move").tap())),
        ("lamps", lambda: (phone.page.keyboard.press("Escape"), phone.tab("Lamps"),
                           phone.page.wait_for_selector(".lamp"))),
        ("lamp", lambda: phone.open("#/lamps/discharge-fresnel-12000-magnetic")),
        ("hand over", lambda: phone.tab("Hand over")),
        ("cautions", lambda: phone.open("#/cautions")),
        ("plan", lambda: (phone.open("#/plan"), phone.page.wait_for_selector(".step"))),
        ("start", lambda: (phone.open("#/start"), phone.page.wait_for_selector(".step-now"),
                           phone.button("Done: next").tap())),
        ("stop", lambda: phone.button("Stop").tap()),
    ):  # fmt: skip
        open_it()
        yield name


def shared_places(phone: Phone, board: SharedBoard) -> Iterator[str]:
    """Every screen and sheet of a shared board."""
    phone.open(f"#/open/{board.secret}")
    phone.button("That is me").wait_for()
    yield "name"
    phone.page.get_by_label("Your name or job").fill("Ana of the second unit's night crew")
    phone.button("That is me").tap()
    phone.wait_for_verdict()
    yield "shared board"
    phone.page.locator('[data-key="see:wide"]').tap()
    phone.button("Switch to wide").tap()
    phone.button(re.compile("Switch all the same|Switch to wide")).last.tap()
    expect(phone.page.locator(".burn-now")).to_contain_text("wide burns now")
    yield "burning"
    phone.open("#/log")
    yield "deeds"
    phone.open("#/meter")
    for typed, shown in (("8.7", "8.7 A"), ("1014,7", "1,014.7 A")):
        phone.page.locator("#clamp-L1").fill(typed)
        phone.page.locator("#clamp-L3").fill("100")
        phone.button("Enter the reading").tap()
        expect(phone.page.locator(".meaning")).to_contain_text(shown)
    phone.page.get_by_text("The same as a table").tap()
    yield "readings"
    phone.tab("Hand over")
    phone.page.locator(".qr").wait_for()
    yield "shared hand-over"
    phone.tab("Board")
    phone.wait_for_verdict()
    phone.lose_the_line()
    phone.tile("l1-bottom").tap()
    phone.button("Unplug").tap()
    board.change(
        {"op": "dim", "load": "key", "was": None, "to": 0.5},
        {"op": "move", "load": "key", "from": at("l1-bottom"), "to": at("l1-top")},
        by="Ben of the first unit",
    )
    phone.find_the_line()
    phone.button("Do mine after all").wait_for()
    yield "choice"
    phone.button("Look at the board first").tap()
    yield "to decide"


@pytest.mark.parametrize("theme", ["dark", "light"])
def test_a_shared_board_is_as_easy_to_read_and_tap(
    browser: Browser, server: Service, desk: str, theme: str
) -> None:
    """Width, targets and contrast of what many phones see, in one go through it."""
    board = shared_board(server, desk, BODY)
    with phone_on(browser, server.url, SMALL_PHONE, color_scheme=theme) as phone:
        for place in shared_places(phone, board):
            assert phone.overflow_px() <= 0, place
            for width, height, what in phone.page.evaluate(TARGETS):
                assert min(width, height) >= SMALLEST_PX - 0.01, (place, width, height, what)
            if phone.sheet().count():
                continue  # Behind a sheet the page is dimmed on purpose.
            for ratio, what in phone.page.evaluate(CONTRAST):
                assert ratio >= LEAST_CONTRAST, (place, ratio, what)


def test_nothing_can_be_pushed_sideways_at_360_px(small_phone: Phone) -> None:
    small_phone.put(BODY)
    for place in places(small_phone):
        assert small_phone.overflow_px() <= 0, place
        assert all(px <= 0 for px in small_phone.overflow_of_sheets_px()), place
        assert small_phone.page.evaluate(CUT) == [], place


def test_every_target_is_as_large_as_a_thumb_in_a_glove(small_phone: Phone) -> None:
    small_phone.put(BODY)
    for place in places(small_phone):
        for width, height, what in small_phone.page.evaluate(TARGETS):
            assert min(width, height) >= SMALLEST_PX - 0.01, (place, width, height, what)


@pytest.mark.parametrize("theme", ["dark", "light"])
def test_text_stands_out_from_its_ground(browser: Browser, server: Service, theme: str) -> None:
    with phone_on(browser, server.url, SMALL_PHONE, color_scheme=theme) as phone:
        phone.put(BODY)
        for place in places(phone):
            if phone.sheet().count():
                continue  # Behind a sheet the page is dimmed on purpose.
            for ratio, what in phone.page.evaluate(CONTRAST):
                assert ratio >= LEAST_CONTRAST, (place, ratio, what)


def luminance(page: Page) -> float:
    """Mean of the ground's channels, 0 to 255."""
    channels = page.evaluate(
        "getComputedStyle(document.body).backgroundColor.match(/\\d+/g).map(Number)"
    )
    return float(sum(channels[:3]) / 3)


def test_night_is_dark_and_sunlight_is_white(browser: Browser, server: Service) -> None:
    with phone_on(browser, server.url, color_scheme="dark") as phone:
        phone.open()
        assert luminance(phone.page) < 32
    with phone_on(browser, server.url, color_scheme="light") as phone:
        phone.open()
        assert luminance(phone.page) == 255


def test_one_tap_changes_the_theme_and_it_is_remembered(phone: Phone) -> None:
    phone.open()
    dark = luminance(phone.page)

    phone.button("Sunlight").tap()
    assert luminance(phone.page) == 255
    phone.page.reload()
    phone.page.wait_for_selector("main h1")

    assert luminance(phone.page) == 255
    phone.button("Night").tap()
    assert luminance(phone.page) == dark


def test_at_night_no_large_bright_patch_blinds(phone: Phone) -> None:
    phone.put(BODY)
    # The share of the picture that is brighter than half: text and a few keys, no more.
    bright = phone.page.evaluate(
        """async (png) => {
          const image = new Image();
          image.src = "data:image/png;base64," + png;
          await image.decode();
          const canvas = new OffscreenCanvas(image.width, image.height).getContext("2d");
          canvas.drawImage(image, 0, 0);
          const { data } = canvas.getImageData(0, 0, image.width, image.height);
          let count = 0;
          for (let i = 0; i < data.length; i += 4)
            count += data[i] + data[i + 1] + data[i + 2] > 382;
          return count / (data.length / 4);
        }""",
        base64.b64encode(phone.page.screenshot()).decode(),
    )
    # A fifth is an estimate of ours: on the light theme it is more than three quarters.
    assert bright < 0.2


def test_a_phase_is_never_told_by_colour_alone(phone: Phone) -> None:
    phone.put(BODY)

    for line, colour in (("L1", "brown"), ("L2", "black"), ("L3", "grey"), ("N", "blue")):
        gauge = phone.gauge(line)
        # IEC 60445: brown, black, grey and a blue neutral.
        expect(gauge).to_contain_text(line)
        expect(gauge.locator(".colour-name")).to_have_text(colour)
    expect(phone.page.locator(".code").last).to_contain_text("IEC 60445")


def test_a_black_conductor_shows_at_night_by_its_outline(phone: Phone) -> None:
    phone.put(BODY)

    core, outline, ground = phone.page.evaluate(
        """() => {
          const dab = getComputedStyle(document.querySelector('.dab[data-colour="black"]'));
          const { backgroundColor } = getComputedStyle(document.body);
          return [dab.backgroundColor, dab.borderTopColor, backgroundColor];
        }"""
    )
    assert core == "rgb(0, 0, 0)"
    bright = [int(n) for n in re.findall(r"\d+", outline)[:3]]
    dark = [int(n) for n in re.findall(r"\d+", ground)[:3]]
    assert min(b - d for b, d in zip(bright, dark, strict=True)) > 100


def test_the_colour_code_can_be_changed_and_is_named(phone: Phone) -> None:
    phone.put(BODY)
    phone.page.locator(".supply").tap()
    codes = phone.sheet().get_by_label("Conductor colours shown")
    older = codes.locator("option").filter(has_text=re.compile("before|older|old", re.I)).first
    name = older.inner_text()
    codes.select_option(label=name)
    phone.button("Done").tap()

    # British fixed wiring before 2004/06: red, yellow, blue, and black for the neutral.
    for line, colour in (("L1", "red"), ("L2", "yellow"), ("L3", "blue"), ("N", "black")):
        expect(phone.gauge(line).locator(".colour-name")).to_have_text(colour)
    expect(phone.page.locator(".code").last).to_contain_text(name)


def test_every_conductor_colour_of_the_regions_has_a_word_and_a_paint(phone: Phone) -> None:
    phone.open()
    missing = phone.run(
        "text",
        """const api = await import('/js/api.js');
        const { slug, dab } = await import('/js/parts/conductor.js');
        const bad = [];
        for (const region of await api.regions()) for (const code of region.colours)
          for (const conductor of ["L1", "L2", "L3", "N"]) {
            const colour = code.colours[conductor];
            if (colour === undefined) continue;
            const mark = dab(colour);
            document.body.append(mark);
            const painted = getComputedStyle(mark).backgroundColor !== "rgba(0, 0, 0, 0)";
            mark.remove();
            if (m.t(`colour.${slug(colour)}`) !== colour || !painted) bad.push(colour);
          }
        return bad;""",
    )
    assert missing == []


def test_it_is_usable_on_a_desk_too(browser: Browser, server: Service) -> None:
    with phone_on(
        browser, server.url, {"width": 1280, "height": 900}, is_mobile=False, has_touch=False
    ) as phone:
        phone.put(BODY)
        face = phone.page.locator("eb-face").bounding_box()
        gauges = phone.page.locator("eb-gauges").last.bounding_box()
        assert face
        assert gauges
        # Side by side: the board left, what it says right.
        assert face["x"] + face["width"] < gauges["x"]
        assert phone.overflow_px() <= 0


def test_the_first_load_is_small(browser: Browser, server: Service) -> None:
    with phone_on(browser, server.url) as phone:
        phone.open()
        phone.page.wait_for_selector(".lamp")
        phone.page.wait_for_load_state("networkidle")
        first, rest = phone.page.evaluate(
            """() => {
              const after = performance.getEntriesByName("rest")[0].startTime;
              const all = ["resource", "navigation"]
                .flatMap((kind) => performance.getEntriesByType(kind));
              const sum = (some) => some.reduce((n, each) => n + each.transferSize, 0);
              return [sum(all.filter((e) => e.startTime <= after)),
                sum(all.filter((e) => e.startTime > after))];
            }"""
        )
    # 100 kB at 400 kbit/s are two seconds.
    assert 10_000 < first < 100_000
    # Every other screen and the whole lamp list, in quiet, for where there is no line.
    assert first + rest < 200_000
