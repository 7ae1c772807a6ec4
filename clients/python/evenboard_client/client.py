"""The client: one method a route."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from evenboard_client.calls import Json, part
from evenboard_client.equipment import EquipmentCalls
from evenboard_client.layouts import LayoutCalls
from evenboard_client.orders import OrderCalls

__all__ = ["Client"]


class Client(LayoutCalls, OrderCalls, EquipmentCalls):
    """An Evenboard service at ``base_url``.

    ``token`` is the rental desk's key, needed only to change things. ``timeout`` is in seconds, for
    each try. A call is tried again, up to three times, after a lost connection, a 429 or a 503,
    where that cannot do a thing twice: reads, sums, and creations (they carry an Idempotency-Key).
    Changes and removals are tried once.

    Every method raises :class:`~evenboard_client.Refused` where the service says no and
    :class:`~evenboard_client.Unreachable` where it does not answer.
    """

    def fixtures(self, q: str = "", **filters: Any) -> Iterator[Json]:
        """All fixture types that fit, best first, fetched page by page as they are looked at.

        ``filters`` are those of the route: ``family``, ``size_class``, ``min_power_w``,
        ``max_power_w``, ``max_current_a``, ``voltage_v``, ``region``, ``limit`` (of a page).
        """
        return self._pages("/v1/fixtures", {"q": q, **filters})

    def fixture(self, slug: str, **query: Any) -> Json:
        """One fixture type; ``voltage_v`` or ``region`` say for which voltage."""
        return self._json("GET", f"/v1/fixtures/{part(slug)}", params=query)

    def add_fixture(self, fixture: Mapping[str, Any], idempotency_key: str | None = None) -> Json:
        """Add a fixture type of the desk's own. Give a key of your own to repeat it later."""
        return self._post("/v1/fixtures", fixture, idempotency_key)

    def replace_fixture(self, slug: str, fixture: Mapping[str, Any], etag: str) -> Json:
        """Replace a fixture type of the desk's own; ``etag`` as :meth:`fixture_etag` gave it."""
        path = f"/v1/fixtures/{part(slug)}"
        return self._json("PUT", path, json=dict(fixture), headers={"If-Match": etag})

    def remove_fixture(self, slug: str, etag: str) -> None:
        """Take a fixture type of the desk's own out."""
        path = f"/v1/fixtures/{part(slug)}"
        self._send("DELETE", path, headers={"If-Match": etag})

    def fixture_etag(self, slug: str) -> str:
        """The tag of a fixture type as it is now, for a change against just that."""
        return self._send("GET", f"/v1/fixtures/{part(slug)}").headers["ETag"]

    def regions(self) -> Iterator[Json]:
        """All region profiles: voltages, colours, outlets, limits."""
        return self._pages("/v1/regions", {})

    def boards(self, region: str | None = None) -> Iterator[Json]:
        """All generic board types, or those of one region."""
        return self._pages("/v1/boards", {"region": region})

    def cables(self) -> Iterator[Json]:
        """All cable types with their rating tables."""
        return self._pages("/v1/cables", {})

    def demo_layouts(self) -> Iterator[Json]:
        """The layouts to try things with; none where the service leaves the demo out."""
        return self._pages("/v1/demo/layouts", {})

    def balance(self, layout: Mapping[str, Any]) -> Json:
        """What a layout as plugged does: phases, neutral, boards, cables, findings."""
        return self._json("POST", "/v1/balance", json=dict(layout))

    def plan(self, layout: Mapping[str, Any], **options: Any) -> Json:
        """Which load goes on which outlet; loads may be loose or plugged.

        ``options`` are those of the route: ``objective`` (``even`` or ``fewest-moves``),
        ``max_moves``, ``target_current_unbalance_pct``, ``spare_a``.
        """
        return self._json("POST", "/v1/plan", json={**layout, "options": options})

    def suitable_boards(
        self, lamps: Mapping[str, Any], system: str | None = None, spare_pct: float | None = None
    ) -> Json:
        """The smallest boards and supplies for a lighting list: region, loads, perhaps set-ups."""
        asked = {"system": system, "spare_pct": spare_pct}
        own = {name: value for name, value in lamps.items() if name not in ("supply", "boards")}
        given = {name: value for name, value in asked.items() if value is not None}
        return self._json("POST", "/v1/plan/boards", json={**own, **given})

    def room_for(
        self,
        layout: Mapping[str, Any],
        lamp: Mapping[str, Any],
        may_move: bool = False,
        spare_a: float = 0.0,
    ) -> Json:
        """How many more of a lamp (``{"fixture": slug}`` or custom) a layout takes, and where."""
        asked = {"more": dict(lamp), "may_move": may_move, "spare_a": spare_a}
        return self._json("POST", "/v1/plan/more", json={**layout, **asked})

    def startup(self, layout: Mapping[str, Any], setup: str | None = None) -> Json:
        """The order of starting a set-up of a layout, and of stopping it, step by step."""
        query = {} if setup is None else {"setup": setup}
        return self._json("POST", "/v1/startup", params=query, json=dict(layout))

    def explain_reading(self, layout: Mapping[str, Any], **measured: Any) -> Json:
        """What a clamp-meter reading means: expected amps beside it, what would explain it.

        ``measured`` as in the route: ``phases``, ``neutral``, ``meter``, ``setup``, ``board``.
        """
        return self._json("POST", "/v1/readings", json={**measured, "layout": dict(layout)})

    def phase_table(self, layout: Mapping[str, Any]) -> str:
        """The phase table of a layout as CSV text."""
        headers = {"Accept": "text/csv"}
        return self._send("POST", "/v1/balance", json=dict(layout), headers=headers).text
