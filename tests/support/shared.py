"""A saved layout on the live service, and what the desk and a phone do with it over the wire."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import requests

from support.phone import Phone
from support.service import Service

__all__ = ["SharedBoard", "at", "join", "shared_board"]

PATIENCE_S = 20


def at(outlet: str) -> dict[str, str]:
    """An outlet of the main board as a place."""
    return {"board": "main", "outlet": outlet}


@dataclass(frozen=True)
class SharedBoard:
    """A saved layout with a link that plugs on it."""

    url: str
    id: str
    desk: str
    secret: str

    def change(self, *changes: dict[str, Any], by: str = "desk") -> requests.Response:
        """Make changes as the desk, from elsewhere."""
        return requests.post(
            f"{self.url}/v1/layouts/{self.id}/changes",
            json={"changes": list(changes), "by": by},
            headers={"Authorization": f"Bearer {self.desk}"},
            timeout=PATIENCE_S,
        )

    def get(self, what: str = "") -> Any:
        """What the desk reads of it: the layout, or ``/events``, ``/readings``."""
        response = requests.get(
            f"{self.url}/v1/layouts/{self.id}{what}",
            headers={"Authorization": f"Bearer {self.desk}"},
            timeout=PATIENCE_S,
        )
        response.raise_for_status()
        return response.json()

    def outlet_of(self, load_id: str) -> str | None:
        """The outlet where a load is now."""
        [found] = [each for each in self.get()["body"]["loads"] if each["id"] == load_id]
        outlet: str | None = found.get("outlet")
        return outlet


def shared_board(service: Service, desk: str, body: dict[str, Any]) -> SharedBoard:
    """Save a layout as the desk and make a link that plugs on it."""
    headers = {"Authorization": f"Bearer {desk}"}

    def post(path: str, sent: dict[str, Any]) -> dict[str, Any]:
        answer = requests.post(
            f"{service.url}{path}", json=sent, headers=headers, timeout=PATIENCE_S
        )
        answer.raise_for_status()
        made: dict[str, Any] = answer.json()
        return made

    layout_id = post("/v1/layouts", {"body": body})["id"]
    link = post(f"/v1/layouts/{layout_id}/links", {"may": "plug", "name": "board phones"})
    return SharedBoard(service.url, layout_id, desk, link["token"])


def join(phone: Phone, board: SharedBoard, name: str = "Ana") -> None:
    """Open the board's link on a phone and say who it is."""
    phone.open(f"#/open/{board.secret}")
    phone.sheet().get_by_label("Your name or job").fill(name)
    phone.button("That is me").tap()
    phone.wait_for_verdict()
