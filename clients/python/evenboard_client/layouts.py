"""Saved layouts, their changes and readings, links, keys and the trail."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from evenboard_client.calls import Calls, Json, part

__all__ = ["LayoutCalls"]


class LayoutCalls(Calls):
    """Methods of the client about saved layouts and who may open them."""

    def save_layout(
        self, layout: Mapping[str, Any], *, idempotency_key: str | None = None, **fields: Any
    ) -> Json:
        """Save a layout; ``fields``: ``name``, ``order_ref``, ``burning``, ``by``."""
        return self._post("/v1/layouts", {"body": dict(layout), **fields}, idempotency_key)

    def layouts(self, **filters: Any) -> Iterator[Json]:
        """All saved layouts without their bodies, the latest first.

        ``filters``: ``order_ref``, ``q``, ``limit`` (of a page).
        """
        return self._pages("/v1/layouts", filters)

    def layout(self, layout_id: str, version: int | None = None) -> Json:
        """A saved layout as it is now, or as it was in a version."""
        path = f"/v1/layouts/{part(layout_id)}"
        return self._json("GET", path if version is None else f"{path}/versions/{version}")

    def layout_etag(self, layout_id: str) -> str:
        """The tag of a saved layout as it is now, for a change against just that."""
        return self._etag(f"/v1/layouts/{part(layout_id)}")

    def replace_layout(
        self, layout_id: str, layout: Mapping[str, Any], etag: str, **fields: Any
    ) -> Json:
        """Put a whole layout in place; ``fields`` as for :meth:`save_layout`."""
        body = {"body": dict(layout), **fields}
        return self._put(f"/v1/layouts/{part(layout_id)}", body, etag)

    def remove_layout(self, layout_id: str, etag: str) -> None:
        """Take a saved layout out of sight."""
        self._send("DELETE", f"/v1/layouts/{part(layout_id)}", headers={"If-Match": etag})

    def change_layout(
        self,
        layout_id: str,
        *changes: Mapping[str, Any],
        by: str | None = None,
        age_s: float = 0.0,
        idempotency_key: str | None = None,
    ) -> Json:
        """Make small changes, all or none: ``{"op": "move", "load": …, "from": …, "to": …}`` ….

        Where somebody else was there first, :class:`~evenboard_client.Refused` has ``status`` 409
        and ``conflicts`` with both versions. Give a key of your own to repeat it later.
        """
        body: Json = {"changes": [dict(change) for change in changes], "age_s": age_s}
        if by is not None:
            body["by"] = by
        return self._post(f"/v1/layouts/{part(layout_id)}/changes", body, idempotency_key)

    def undo(self, layout_id: str, event: Mapping[str, Any], **options: Any) -> Json:
        """Undo what an event did; refused where somebody has changed the same since."""
        return self.change_layout(layout_id, *event["undo"], **options)

    def layout_events(self, layout_id: str, after: int = 0) -> Iterator[Json]:
        """What happened to a layout after a version, in its order: who, when, what."""
        path = f"/v1/layouts/{part(layout_id)}/events"
        while True:
            told = self._json("GET", path, params={"after": after})
            yield from told["items"]
            if not told["items"] or told["items"][-1]["version"] >= told["version"]:
                return
            after = told["items"][-1]["version"]

    def layout_balance(self, layout_id: str) -> Json:
        """What a saved layout does as it is now; loads not plugged in are off."""
        return self._json("GET", f"/v1/layouts/{part(layout_id)}/balance")

    def add_reading(
        self,
        layout_id: str,
        phases: Mapping[str, float],
        neutral: float | None = None,
        *,
        idempotency_key: str | None = None,
        **fields: Any,
    ) -> Json:
        """Post clamp-meter amps; the answer has those expected and what would explain them.

        ``fields``: ``meter`` (``true-rms`` or ``averaging``), ``setup``, ``board``, ``at``,
        ``age_s``, ``by``, ``note``.
        """
        body = {"phases": dict(phases), "neutral": neutral, **fields}
        return self._post(f"/v1/layouts/{part(layout_id)}/readings", body, idempotency_key)

    def readings(self, layout_id: str) -> Iterator[Json]:
        """All readings of a layout, the latest taken first."""
        return self._pages(f"/v1/layouts/{part(layout_id)}/readings", {})

    def reading(self, layout_id: str, reading_id: str) -> Json:
        """One reading, as it was answered."""
        return self._json("GET", f"/v1/layouts/{part(layout_id)}/readings/{part(reading_id)}")

    def layout_startup(self, layout_id: str, setup: str | None = None) -> Json:
        """The order of starting a set-up of a saved layout, and of stopping it, step by step."""
        query = {} if setup is None else {"setup": setup}
        return self._json("GET", f"/v1/layouts/{part(layout_id)}/startup", params=query)

    def link_qr(self) -> str:
        """The QR code of the link that this client came with, as SVG text."""
        return self._send("GET", "/v1/link/qr", headers={"Accept": "image/svg+xml"}).text

    def add_layout_link(
        self, layout_id: str, name: str, may: str, expires_at: str | None = None
    ) -> Json:
        """Make a link to one layout that may ``read`` or ``plug``; ``token`` is shown once."""
        body = {"name": name, "may": may, "expires_at": expires_at}
        return self._post(f"/v1/layouts/{part(layout_id)}/links", body, None)

    def layout_links(self, layout_id: str) -> Sequence[Json]:
        """The links of a layout, those that are over too."""
        return list(self._pages(f"/v1/layouts/{part(layout_id)}/links", {}))

    def add_order_link(self, order_ref: str, name: str, expires_at: str | None = None) -> Json:
        """Make a link for the crew of an order; ``token`` is shown once."""
        body = {"name": name, "expires_at": expires_at}
        return self._post(f"/v1/orders/{part(order_ref)}/links", body, None)

    def order_links(self, order_ref: str) -> Sequence[Json]:
        """The links of an order, those that are over too."""
        return list(self._pages(f"/v1/orders/{part(order_ref)}/links", {}))

    def revoke_link(self, link_id: str) -> Json:
        """Make a link open nothing from now on."""
        return self._json("DELETE", f"/v1/links/{part(link_id)}")

    def whoami(self) -> Json:
        """What the key or link of this client opens."""
        return self._json("GET", "/v1/whoami")

    def add_key(self, name: str, expires_at: str | None = None) -> Json:
        """Make a key of the desk; ``secret`` is shown once.

        It is None where a first answer was lost on the way: revoke that key and make another.
        """
        return self._post("/v1/keys", {"name": name, "expires_at": expires_at}, None)

    def desk_keys(self) -> Sequence[Json]:
        """All keys of the desk without their secrets, those that are over too."""
        return list(self._pages("/v1/keys", {}))

    def key_etag(self, key_id: str) -> str:
        """The tag of a key as it is now, for a change against just that."""
        return self._etag(f"/v1/keys/{part(key_id)}")

    def change_key(self, key_id: str, etag: str, name: str, expires_at: str | None = None) -> Json:
        """Give a key another name and end; without ``expires_at`` it has no end."""
        return self._put(f"/v1/keys/{part(key_id)}", {"name": name, "expires_at": expires_at}, etag)

    def revoke_key(self, key_id: str) -> Json:
        """Make a key useless from now on."""
        return self._json("DELETE", f"/v1/keys/{part(key_id)}")

    def audit(self, **filters: Any) -> Iterator[Json]:
        """Who changed what, the latest first; ``filters``: ``caller``, ``path``, ``limit``."""
        return self._pages("/v1/audit", filters)
