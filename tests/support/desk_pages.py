"""The rental desk's pages in tests: signing in, and what the desk does from elsewhere."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import requests
from playwright.sync_api import expect

from support.phone import Phone

__all__ = ["Desk", "sign_in"]

PATIENCE_S = 30


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
