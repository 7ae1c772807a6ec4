"""A phone in a test: a real Chromium page, what a person sees on it, and layouts to put on it."""

from __future__ import annotations

import base64
import copy
import json
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import requests
from playwright.sync_api import Browser, BrowserContext, Locator, Page, Playwright, Route, expect

__all__ = [
    "ARGUMENTS",
    "PHONE",
    "SMALL_PHONE",
    "Phone",
    "a_body",
    "answer_of",
    "boards_behind_a_coil",
    "broken",
    "chromium",
    "phone_on",
    "shown_amps",
]

PHONE = {"width": 390, "height": 844}
SMALL_PHONE = {"width": 360, "height": 740}
"""The narrowest phone in common use."""
NOT_NEEDED = (
    # What the browser's driver turns off by itself; the last list given counts.
    "AvoidUnnecessaryBeforeUnloadCheckSync",
    "DestroyProfileOnBrowserClose",
    "HttpsFirstBalancedModeAutoEnable",
    "HttpsUpgrades",
    "LensOverlay",
    "MediaRouter",
    "NetworkTimeServiceQuerying",
    "OptimizationHints",
    "PaintHolding",
    "PreconnectToSearch",
    "ThirdPartyStoragePartitioning",
    # The browser's own tool bar and address field are pages too, and took half of all the work.
    "InitialWebUI",
    "PreloadTopChromeWebUI",
    "WebUILocationBar",
    "WebUIOmniboxAimPopup",
    "WebUIOmniboxFullPopup",
    "WebUIOmniboxPopup",
    "WebUIReloadButton",
    "WebUIToolbar",
)
"""Features of the browser that no test is about."""
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    f"--disable-features={','.join(NOT_NEEDED)}",
]
PATIENCE_MS = 10_000
OF_THE_NETWORK = (
    "Failed to load",
    "An unknown error occurred when fetching the script.",
    "Service Worker registration blocked",
)
"""How the browser itself says that there is no line, or no worker where a test allows none; the
client tells the person in its own way."""
Layout = dict[str, Any]


def chromium(playwright: Playwright) -> Browser:
    """The system's own Chromium."""
    return playwright.chromium.launch(
        executable_path=shutil.which("chromium"), headless=True, args=ARGUMENTS
    )


@dataclass
class Phone:
    """A page of the client, and short names for what a person does and sees on it."""

    page: Page
    url: str
    complaints: list[str] = field(default_factory=list)

    def open(self, place: str = "") -> None:
        """Go to a place such as ``#/board`` and wait until it is drawn."""
        self.page.goto(f"{self.url}/{place}")
        self.page.wait_for_selector("main:not([aria-busy]) h1")

    def put(self, layout: Layout, *, checked: bool = True) -> None:
        """Open a layout by a link that carries it, and wait for the service's word on it."""
        text = base64.urlsafe_b64encode(json.dumps(layout).encode()).decode().rstrip("=")
        # From another page, since a change of the address behind the # loads nothing anew.
        self.page.goto("about:blank")
        self.open(f"#/open/p{text}")
        if checked:
            self.wait_for_verdict()

    def wait_until_kept(self) -> None:
        """Wait until the client and the lamp list are on the phone."""
        self.page.evaluate(
            """new Promise((done) => {
              const w = navigator.serviceWorker;
              w.controller ? done() : w.addEventListener("controllerchange", () => done());
            })"""
        )
        self.page.evaluate(
            """async () => {
              const { recall } = await import("/js/memory.js");
              while (!await recall("catalogue")) await new Promise((next) => setTimeout(next, 50));
            }"""
        )

    def lose_the_line(self) -> None:
        """From here on nothing reaches the phone; what it fetches ahead of need it has by then."""
        self.wait_until_kept()
        self.page.context.set_offline(True)

    def find_the_line(self) -> None:
        """The line is back."""
        self.page.context.set_offline(False)

    def wait_for_verdict(self) -> None:
        """Wait until the answer shown is for the layout as it stands."""
        self.page.wait_for_selector('eb-verdict:not([data-verdict="unknown"])')

    @property
    def verdict(self) -> str:
        """The word in large letters."""
        return self.page.locator(".verdict-word").inner_text()

    def tile(self, outlet: str) -> Locator:
        """An outlet on the board's face, by its id."""
        return self.page.locator(f'.tile[data-key$="/{outlet}"]')

    def gauge(self, line: str) -> Locator:
        """The column of a phase, or the bar of the neutral."""
        return self.page.locator(f'[data-key="gauge:{line}"]').last

    def button(self, name: str | re.Pattern[str]) -> Locator:
        """A button by the name that a screen reader says."""
        return self.page.get_by_role("button", name=name, exact=isinstance(name, str))

    def tab(self, name: str) -> None:
        """Go to one of the screens by its tab."""
        self.page.get_by_role("navigation").get_by_role("link", name=name).tap()
        self.page.wait_for_selector("main:not([aria-busy]) h1")

    def sheet(self) -> Locator:
        """The sheet that is open."""
        return self.page.get_by_role("dialog")

    def layout(self) -> Layout:
        """The layout that the phone holds."""
        found: Layout = self.page.evaluate(
            "import('/js/worksheet.js').then((module) => module.worksheet.layout)"
        )
        return found

    def run(self, module: str, body: str, *values: Any) -> Any:
        """What ``body`` returns, with a module of the client as ``m`` and the values as ``v``."""
        return self.page.evaluate(
            f"async (v) => {{ const m = await import('/js/{module}.js'); {body} }}", list(values)
        )

    def overflow_px(self) -> int:
        """How far the page can be pushed sideways."""
        width: int = self.page.evaluate("document.documentElement.scrollWidth - innerWidth")
        return width

    def overflow_of_sheets_px(self) -> list[int]:
        """The same of each open sheet: what it cuts off does not widen the page."""
        widths: list[int] = self.page.evaluate(
            "[...document.querySelectorAll('.sheet-body')]"
            ".map((e) => e.scrollWidth - e.clientWidth)"
        )
        return widths

    @contextmanager
    def refused_balance(self, answer: Any) -> Iterator[None]:
        """While open, checks are not answered by the service: ``answer`` gets the route."""
        pattern = "**/v1/balance"
        self.page.route(pattern, answer)
        try:
            yield
        finally:
            self.page.unroute(pattern)


def _of_the_network(words: str) -> bool:
    return any(line in words for line in OF_THE_NETWORK)


@contextmanager
def phone_on(
    browser: Browser, url: str, viewport: dict[str, int] | None = None, **settings: Any
) -> Iterator[Phone]:
    """A fresh phone with empty memory. At the end it must not have complained in its console."""
    options: dict[str, Any] = {
        "viewport": viewport or PHONE,
        "device_scale_factor": 1,
        "is_mobile": True,
        "has_touch": True,
        "locale": "en-GB",
        "color_scheme": "dark",
        **settings,
    }
    context: BrowserContext = browser.new_context(**options)
    context.set_default_timeout(PATIENCE_MS)
    expect.set_options(timeout=PATIENCE_MS)
    page = context.new_page()
    phone = Phone(page, url)
    page.on("pageerror", lambda error: phone.complaints.append(str(error)))
    page.on(
        "console",
        # What the network does is told to the person; the browser's own line on it is no fault.
        lambda message: (
            phone.complaints.append(message.text)
            if message.type in ("error", "warning") and not _of_the_network(message.text)
            else None
        ),
    )
    try:
        yield phone
        assert phone.complaints == [], phone.complaints
    finally:
        context.close()


def a_body(*loads: dict[str, Any], **changes: Any) -> Layout:
    """A 32 A board with nine 16 A outlets on a British 32 A outlet, with these loads on it."""
    body: Layout = {
        "name": "Test board",
        "region": "uk",
        "supply": {
            "kind": "outlet",
            "system": "three-phase",
            "rating_a": 32,
            "voltage_v": 230,
            "frequency_hz": 50,
        },
        "boards": [{"id": "main", "type": "three-row-32-blue", "fed_from": None}],
        "loads": [{"board": "main", **load} for load in loads],
    }
    return copy.deepcopy(body | changes)


def answer_of(url: str, layout: Layout) -> dict[str, Any]:
    """What the service says of a layout, asked without the client."""
    response = requests.post(f"{url}/v1/balance", json=layout, timeout=20)
    response.raise_for_status()
    answer: dict[str, Any] = response.json()
    return answer


def shown_amps(text: str) -> float:
    """The first figure followed by A in a text."""
    found = re.search(r"([\d.,]+)\s*A", text)
    assert found, text
    return float(found[1].replace(",", ""))


def boards_behind_a_coil(csa_mm2: float) -> list[dict[str, Any]]:
    """A box whose feeder lies coiled, and a strip on it."""
    return [
        {
            "id": "main",
            "type": "three-row-32-blue",
            "fed_from": None,
            "feeder": {
                "cable": "h07rn-f",
                "csa_mm2": csa_mm2,
                "length_m": 50,
                "laid": "coiled",
                "coil_layers": 2,
            },
        },
        {"id": "strip", "type": "four-way", "fed_from": {"board": "main", "outlet": "l2-bottom"}},
    ]


def broken(route: Route) -> None:
    """Answer as a service in trouble does."""
    route.fulfill(
        status=500,
        content_type="application/problem+json",
        body='{"title": "Internal Server Error", "status": 500}',
    )
