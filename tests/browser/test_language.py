"""The client in the reader's language: every word, figures as written at home, nothing cut."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect

from evenboard.paths import web_folder
from support.desk_pages import Desk, piece_place
from support.equipment import a_body_piece
from support.look import CUT
from support.phone import SMALL_PHONE, Phone, a_body, boards_behind_a_coil, phone_on
from support.service import Service
from support.shared import shared_board

pytestmark = pytest.mark.browser

LANGUAGES = ["de"]
BODY = a_body(
    {"id": "key", "fixture": "tungsten-open-face-2000", "count": 2, "outlet": "l1-bottom"},
    {"id": "Monitore der Regie", "fixture": "village-video-village-600", "outlet": "l2-top"},
    {"id": "fill", "fixture": "discharge-par-1800-electronic-no-pfc", "outlet": "l1-middle"},
    {"id": "panel", "fixture": "led-panel-200", "board": "strip", "outlet": "1"},
    boards=boards_behind_a_coil(2.5),
    setups=[{"id": "wide"}, {"id": "nah am Tisch"}],
    region="eu",
)
"""A coiled feeder too thin, so that there are findings and remedies, and a plan with moves."""
BODY["loads"].append({"id": "spare", "fixture": "led-panel-200"})


@pytest.fixture
def german(browser: Browser, server: Service) -> Iterator[Phone]:
    """The narrowest phone, set to German."""
    with phone_on(browser, server.url, SMALL_PHONE, locale="de-DE") as one:
        yield one


COMPARE = """const language = v[0];
const holes = (said) => [...new Set(Object.values(typeof said === "string" ? [said] : said)
  .flatMap((form) => form.match(/\\{\\w+\\}/g) ?? []))].sort().join(" ");
const forms = new Intl.PluralRules(language).resolvedOptions().pluralCategories;
const wrong = [];
for (const [key, said] of Object.entries(m.english)) {
  const there = m.messages[key];
  if (there === undefined) { wrong.push(`${key} is not translated`); continue; }
  if (holes(said) !== holes(there)) wrong.push(`${key} has other placeholders`);
  if (typeof said !== typeof there) wrong.push(`${key} counts in one language only`);
  if (typeof there === "object") for (const form of forms)
    if (!there[form]) wrong.push(`${key} has no form "${form}"`);
}
for (const key of Object.keys(m.messages))
  if (!(key in m.english)) wrong.push(`${key} is not in English`);
return [Object.keys(m.english).length, m.messages === m.english, wrong];"""


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_word_is_in_every_language_with_the_same_places_to_fill_in(
    browser: Browser, server: Service, language: str
) -> None:
    with phone_on(browser, server.url, locale=language) as phone:
        phone.open()
        # Words that come later, with the pages that say them.
        for path in sorted((web_folder() / "js").glob("words-*.js")):
            phone.page.evaluate(f"import('/js/{path.name}')")

        count, same, wrong = phone.run("text", COMPARE, language)

    assert count > 400
    assert not same
    assert wrong == []


def test_the_phones_language_decides_until_another_is_chosen_and_that_is_remembered(
    browser: Browser, server: Service
) -> None:
    with phone_on(browser, server.url, locale="de-AT") as phone:
        phone.open("#/hand-over")
        page = phone.page
        expect(page.locator("html")).to_have_attribute("lang", "de")
        expect(page.get_by_role("link", name="Verteiler", exact=True)).to_be_visible()
        page.get_by_label("Oder seinen Text einfügen").fill("halb getippt")

        phone.button("EN: English").tap()

        expect(page.locator("html")).to_have_attribute("lang", "en")
        expect(page.get_by_label("Or paste its text")).to_have_value("halb getippt")
        phone.open("#/lamps")
        expect(page.locator("html")).to_have_attribute("lang", "en")
        phone.button("DE: Deutsch").tap()
        expect(page.locator("html")).to_have_attribute("lang", "de")


def test_a_language_that_is_not_there_is_spoken_in_english(
    browser: Browser, server: Service
) -> None:
    with phone_on(browser, server.url, locale="is-IS") as phone:
        phone.open()
        expect(phone.page.locator("html")).to_have_attribute("lang", "en")
        expect(phone.page.get_by_role("heading", level=1)).to_have_text("What does it draw?")


def test_an_english_phone_is_not_sent_the_words_of_another_language(
    browser: Browser, server: Service
) -> None:
    with phone_on(browser, server.url) as phone:
        asked: list[str] = []
        phone.page.context.on("request", lambda request: asked.append(request.url))
        phone.open()
        phone.page.evaluate("navigator.serviceWorker.ready.then(() => null)")
        phone.page.reload()
        phone.page.wait_for_selector(".lamp")
        phone.page.wait_for_load_state("networkidle")

        kept = phone.page.evaluate(
            """caches.keys().then(([name]) => caches.open(name)).then((cache) => cache.keys())
              .then((all) => all.map((each) => each.url))"""
        )
    assert any("/js/text.js" in url for url in asked)
    assert any("/js/text.js" in url for url in kept)
    for url in [*asked, *kept]:
        assert "/js/de/" not in url


def test_a_phone_without_reception_goes_on_in_its_own_language(
    browser: Browser, server: Service
) -> None:
    with phone_on(browser, server.url, locale="de-DE") as phone:
        phone.open()
        page = phone.page
        page.evaluate("navigator.serviceWorker.ready.then(() => null)")
        page.wait_for_function(
            """async () => Boolean(navigator.serviceWorker.controller)
              && Boolean(await caches.match("/js/de/words-plan.js"))
              && Boolean(await caches.match("/js/de/text.js"))"""
        )
        phone.lose_the_line()
        page.reload()

        expect(page.get_by_role("heading", level=1)).to_have_text("Was zieht sie?")
        phone.find_the_line()


def test_without_the_words_of_its_language_a_phone_speaks_english_throughout(
    browser: Browser, server: Service
) -> None:
    with phone_on(browser, server.url, locale="de-DE", service_workers="block") as phone:
        phone.page.route("**/js/de/*", lambda route: route.fulfill(status=503))
        phone.open()

        expect(phone.page.locator("html")).to_have_attribute("lang", "en")
        expect(phone.page.get_by_role("heading", level=1)).to_have_text("What does it draw?")
        assert phone.run("format", "return m.plain(1234.5);") == "1,234.5"


def test_figures_and_counts_are_written_as_the_reader_does(german: Phone) -> None:
    german.open()

    assert german.run("format", "return [m.amps(1014.7), m.plain(0.25), m.forField(2.5)];") == [
        "1.014,7",
        "0,25",
        "2,5",
    ]
    assert german.run("text", 'return [1, 2].map((n) => m.t("age.days", { n }));') == [
        "vor 1 Tag",
        "vor 2 Tagen",
    ]


TYPED = ["8,7", "8.7", "1.014,7", "1014,7", "0.125", "0,125", "1 200", "1.200", "1,200", "8,,7"]


@pytest.mark.parametrize(
    ("locale", "read"),
    [
        # A point before three digits is a thousand to one reader and a decimal to the other.
        ("de-DE", [8.7, 8.7, 1014.7, 1014.7, 0.125, 0.125, 1200, "no", 1.2, "no"]),
        ("en-GB", [8.7, 8.7, "no", 1014.7, 0.125, 0.125, 1200, 1.2, "no", "no"]),
    ],
)
def test_comma_and_point_are_read_unless_they_may_mean_thousands(
    browser: Browser, server: Service, locale: str, read: list[object]
) -> None:
    with phone_on(browser, server.url, locale=locale) as phone:
        phone.open()
        found = phone.run(
            "format",
            'return v[0].map(m.typedNumber).map((n) => (Number.isNaN(n) ? "no" : n));',
            TYPED,
        )
    assert found == read


def test_readings_are_typed_with_a_comma(german: Phone, server: Service, desk: str) -> None:
    board = shared_board(server, desk, BODY)
    german.open(f"#/open/{board.secret}")
    german.page.get_by_label("Ihr Name oder Ihre Aufgabe").fill("Ana")
    german.button("Das bin ich").tap()
    german.wait_for_verdict()
    german.open("#/meter")
    german.page.get_by_label("Was brennt").select_option("wide")
    german.page.locator("#clamp-L1").fill("8,7")
    german.page.locator("#clamp-L2").fill("1.200")
    german.button("Messung eintragen").tap()
    expect(german.page.get_by_role("alert")).to_contain_text("ohne Tausenderpunkt")
    german.page.locator("#clamp-L2").fill("12,25")
    german.button("Messung eintragen").tap()

    meaning = german.page.locator(".meaning")
    expect(meaning).to_contain_text("8,7 A")
    expect(meaning.locator(".summary")).to_have_attribute("lang", "en")
    expect(meaning).to_contain_text("Texte vom Dienst sind Englisch.")
    assert german.overflow_px() <= 0
    [reading] = board.get("/readings")["items"]
    assert [d["measured_a"] for d in reading["differences"][:2]] == [8.7, 12.25]
    # A field filled by the client has the reader's comma too.
    german.open("#/board")
    german.wait_for_verdict()
    german.button(re.compile("Verteiler, Kabel")).tap()
    length = german.sheet().get_by_label("Länge, m")
    length.fill("12,5")
    length.press("Tab")
    german.button("Fertig").tap()
    german.button(re.compile("Verteiler, Kabel")).tap()
    expect(german.sheet().get_by_label("Länge, m")).to_have_value("12,5")


def places(phone: Phone) -> Iterator[str]:
    """Every screen and the sheets of a board in turn."""
    yield "board"
    phone.page.get_by_text("Alle Werte").tap()
    yield "figures"

    def sheet(key: str) -> None:
        if phone.sheet().count():
            phone.button("Fertig").tap()
        phone.page.locator(f'[data-key="{key}"]').first.tap()
        for summary in phone.sheet().locator("summary").all():
            summary.tap()

    for key in (
        "outlet:main/l3-top",
        "outlet:main/l1-bottom",
        "supply",
        "board",
        "setups",
    ):
        sheet(key)
        yield key
    phone.button("Fertig").tap()
    phone.page.locator('[data-key="loose:spare"]').tap()
    yield "placing"
    phone.page.keyboard.press("Escape")
    for place, shown in (
        ("#/lamps", ".lamp"),
        ("#/lamps/discharge-fresnel-12000-magnetic", ".facts"),
        ("#/hand-over", "h2"),
        ("#/cautions", ".points"),
        ("#/plan", ".steps"),
        ("#/start", ".step-now"),
        ("#/log", "h1"),
        ("#/meter", "h1"),
    ):
        phone.open(place)
        phone.page.wait_for_selector(shown)
        yield place


ENGLISH = """() => [...document.querySelectorAll("main *, header *, .tabs *, dialog *")]
  .filter((e) => e.checkVisibility() && !e.closest('[lang="en"]') && e.tagName !== "OPTION")
  .flatMap((e) => [...e.childNodes].filter((n) => n.nodeType === 3).map((n) => n.textContent))
  .filter((words) => /\\b(the|and|is|are|of|with|this|your|all)\\b/i.test(words))"""
"""Words that no German sentence has, outside what is marked as English."""


def test_every_screen_shows_in_german_and_nothing_is_cut_or_pushed_sideways(
    german: Phone,
) -> None:
    german.put(BODY)
    for place in places(german):
        assert german.overflow_px() <= 0, place
        assert german.page.evaluate(CUT) == [], place
        assert german.page.evaluate(ENGLISH) == [], place


def test_what_the_service_says_is_marked_as_english(german: Phone) -> None:
    german.put(BODY)
    findings = german.page.locator("eb-findings").last

    expect(findings.locator(".english")).to_have_text("Texte vom Dienst sind Englisch.")
    for message in findings.locator(".message").all():
        expect(message).to_have_attribute("lang", "en")
    expect(german.page.locator("eb-verdict")).to_contain_text("Hält nicht")


def test_the_desks_pages_mark_what_the_service_says_and_only_that(
    german: Phone, desk: str, elsewhere: Desk
) -> None:
    elsewhere.piece(a_body_piece("L-deutsch"))
    elsewhere.happen("L-deutsch", "withdrawals", note="riecht verbrannt")
    page = german.page
    german.open(piece_place("L-deutsch"))
    page.get_by_label("Schlüssel des Verleihs").fill("evb_falsch")
    german.button("Anmelden").tap()
    expect(page.locator(".fault").first).to_contain_text("Diesen Schlüssel hat kein Verleih")
    assert page.locator(".fault").first.get_attribute("lang") is None
    page.get_by_label("Schlüssel des Verleihs").fill(desk)
    german.button("Anmelden").tap()

    expect(page.locator(".events [lang=en]").first).to_contain_text("Withdrew")
    for place, shown in (
        (piece_place("L-deutsch"), ".events"),
        ("#/equipment", ".desk-table"),
        ("#/equipment/nirgends", ".trouble"),
        ("#/desk", ".chips"),
        ("#/stock", "textarea"),
    ):
        german.open(place)
        page.wait_for_selector(shown)
        for summary in page.locator("main summary").all():
            summary.tap()
        assert page.evaluate(ENGLISH) == [], place
        assert page.evaluate(CUT) == [], place
        assert german.overflow_px() <= 0, place
    german.open("#/equipment")
    german.button("Verformung droht").tap()
    expect(page.locator(".hint [lang=en]")).to_contain_text("Estimate")
    assert page.evaluate(ENGLISH) == []


@pytest.mark.parametrize(("locale", "blue"), [("de-DE", "blau"), ("en-GB", "blue")])
def test_a_phase_has_its_letter_and_its_colours_name_in_every_region(
    browser: Browser, server: Service, locale: str, blue: str
) -> None:
    told = set()
    with phone_on(browser, server.url, SMALL_PHONE, locale=locale) as phone:
        regions = phone.page.request.get(f"{server.url}/v1/regions").json()["items"]
        for region in regions:
            supply = {
                "kind": "outlet",
                "system": region["systems"][0]["system"],
                "rating_a": 32,
                "frequency_hz": region["frequency_hz"][0],
            }
            outlets = [{"id": "one", "lines": ["L1"], "rating_a": 16}]
            boards = [{"id": "main", "outlets": outlets, "fed_from": None}]
            phone.put(a_body(region=region["id"], supply=supply, boards=boards), checked=False)
            gauges = phone.page.locator(".gauge")
            gauges.first.wait_for()
            for gauge in gauges.all():
                letter = (gauge.get_attribute("data-key") or "").split(":")[1]
                expect(gauge.locator(".conductor b")).to_have_text(letter)
                expect(gauge.locator(".conductor .colour-name")).to_have_text(re.compile(r"\w"))
                told.add(gauge.locator(".colour-name").inner_text())
    assert len(regions) > 2
    assert blue in told
