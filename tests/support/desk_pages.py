"""The rental desk's pages in tests: signing in, each of them, what the desk does from elsewhere."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

import requests
from playwright.sync_api import expect

from support.equipment import a_body_piece
from support.phone import Phone, a_body

__all__ = ["BACK", "ORDER", "OUT", "Desk", "furnish", "piece_place", "places", "sign_in"]

PATIENCE_S = 30
ORDER = "L-1"
OUT, BACK = "L-out long-distance feeder/17", "L-back"
"""What `furnish` makes: an order, a piece that is out on it, and one that came back deformed."""


@dataclass(frozen=True)
class Desk:
    """Another program or person of the desk, over the wire."""

    url: str
    key: str

    def ask(self, method: str, path: str, **more: Any) -> requests.Response:
        """The answer to a request that must be taken."""
        headers = {"Authorization": f"Bearer {self.key}", **more.pop("headers", {})}
        answer = requests.request(
            method, f"{self.url}{path}", headers=headers, timeout=PATIENCE_S, **more
        )
        assert answer.ok, (path, answer.status_code, answer.text)
        return answer

    def get(self, path: str) -> Any:
        """What the service says, as JSON."""
        return self.ask("GET", path).json()

    def order(self, ref: str, **details: str) -> None:
        """Tell the service of an order, over whatever is there."""
        self.ask("PUT", f"/v1/orders/{ref}", json=details, headers={"If-Match": "*"})

    def piece(self, body: dict[str, Any]) -> None:
        """Put a piece on the list."""
        self.ask("POST", "/v1/equipment", json=body)

    def happen(self, tag: str, what: str, **body: Any) -> None:
        """Let something happen to a piece."""
        self.ask("POST", f"/v1/equipment/{tag}/{what}", json=body)


def sign_in(phone: Phone, key: str, place: str = "#/desk") -> None:
    """Open a page of the desk and give the key."""
    phone.open(place)
    phone.page.get_by_label("Key of the rental desk").fill(key)
    phone.button("Sign in").click()
    expect(phone.page.get_by_role("navigation", name="Rental desk")).to_be_visible()


def piece_place(tag: str) -> str:
    """Where a label's code leads."""
    return f"#/equipment/{quote(tag, safe='')}"


def furnish(elsewhere: Desk) -> None:
    """Let there be something on every page of the desk."""
    elsewhere.order(ORDER, production="Длинная набережная", contact="Ana", note="Wet location")
    body = a_body({"id": "key", "fixture": "tungsten-open-face-2000", "outlet": "l1-bottom"})
    saved = elsewhere.ask("POST", "/v1/layouts", json={"body": body, "order_ref": ORDER}).json()
    for _ in range(2):
        elsewhere.ask("POST", f"/v1/orders/{ORDER}/reports", json={"layout_id": saved["id"]})
    elsewhere.ask("POST", f"/v1/orders/{ORDER}/links", json={"name": "Crew"})
    for tag in (OUT, BACK):
        elsewhere.piece(a_body_piece(tag))
        elsewhere.happen(tag, "check-outs", order_ref=ORDER)
    elsewhere.happen(BACK, "inspections", found=["deformed", "heat-marks"], returned=True)


def places(phone: Phone, desk: str) -> Iterator[str]:
    """Every page of the desk, and the sheets with the most in them."""
    phone.open("#/desk")
    yield "door"
    sign_in(phone, desk)
    phone.button("Any day").click()
    expect(phone.page.get_by_role("link", name=ORDER)).to_be_visible()
    yield "orders"
    for place, sheets in (
        (f"#/order/{ORDER}", ("Issue a report", f"Take back {OUT}")),
        ("#/equipment", ("Add a piece",)),
        (piece_place(OUT), ("Return inspection", "Print its label")),
        (piece_place(BACK), ("Record the cause",)),
        ("#/stock", ()),
    ):
        phone.open(place)
        yield place
        for name in sheets:
            phone.button(name).click()
            expect(phone.sheet()).to_be_visible()
            yield name
            phone.page.keyboard.press("Escape")
