"""Orders of the desk, check reports on them, the keys that sign, whether a paper is genuine."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from evenboard_client.calls import Calls, Json, part

__all__ = ["OrderCalls"]

TYPESETTING_S = 60.0
"""Time for a report of hundreds of lamps on a busy machine."""


class OrderCalls(Calls):
    """Methods of the client about orders and reports."""

    def orders(self, **filters: Any) -> Iterator[Json]:
        """All orders, the latest made first; ``filters``: ``q``, ``on`` (a day), ``limit``."""
        return self._pages("/v1/orders", filters)

    def order(self, order_ref: str) -> Json:
        """One order."""
        return self._json("GET", _order(order_ref))

    def order_etag(self, order_ref: str) -> str:
        """The tag of an order as it is now, for a change against just that."""
        return self._etag(_order(order_ref))

    def put_order(self, order_ref: str, etag: str | None = None, **details: Any) -> Json:
        """Tell what is known of an order, whether the service knows it or not.

        ``details``: ``production``, ``contact``, ``note``, ``starts_on``, ``ends_on``. Without
        ``etag`` an order that has other details already is not overwritten: ``Refused``, 428.
        """
        headers = {} if etag is None else {"If-Match": etag}
        return self._json("PUT", _order(order_ref), json=details, headers=headers)

    def issue_report(
        self,
        order_ref: str,
        layout: Mapping[str, Any] | None = None,
        *,
        layout_id: str | None = None,
        idempotency_key: str | None = None,
        **fields: Any,
    ) -> Json:
        """Issue a check report of a layout, or of a saved one by its id.

        ``fields``: ``title``, ``note``, ``issued_by``, ``paper``, ``supersedes``, ``accept_fail``.
        The answer has ``id``, ``content_sha256`` and ``links`` (``json``, ``pdf``, ``verify``). A
        minute is allowed for it, or the client's timeout if that is more: hundreds of lamps take
        seconds to typeset.
        """
        body = dict(fields)
        if layout is not None:
            body["layout"] = dict(layout)
        if layout_id is not None:
            body["layout_id"] = layout_id
        timeout = max(self.timeout, TYPESETTING_S)
        return self._post(f"{_order(order_ref)}/reports", body, idempotency_key, timeout)

    def reports(self, order_ref: str | None = None, **filters: Any) -> Iterator[Json]:
        """The reports of an order, or of all, the latest first.

        ``filters``: ``status`` (``current`` or ``superseded``), ``layout_id``, ``limit``.
        """
        path = "/v1/reports" if order_ref is None else f"{_order(order_ref)}/reports"
        return self._pages(path, filters)

    def report(self, report_id: str) -> Json:
        """A report with its content; what ``evenboard_client.verify.verify_report`` takes."""
        return self._json("GET", f"/v1/reports/{part(report_id)}")

    def report_pdf(self, report_id: str, paper: str | None = None) -> bytes:
        """A report's paper, ``a4`` or ``letter``; the one it was issued on by default."""
        headers = {"Accept": "application/pdf"}
        path = f"/v1/reports/{part(report_id)}"
        timeout = max(self.timeout, TYPESETTING_S)
        return self._send(
            "GET", path, headers=headers, params={"paper": paper}, timeout=timeout
        ).content

    def verify(self, report_id: str) -> Json:
        """Whether a report is ``genuine``, ``superseded`` or ``unknown`` (``status``)."""
        return self._json("GET", f"/verify/{part(report_id)}")

    def public_keys(self) -> Json:
        """The keys that reports are verified by (a JWK set); keep it to verify offline."""
        return self._json("GET", "/.well-known/jwks.json")

    def rotate_signing_key(self, idempotency_key: str | None = None) -> Json:
        """Make a new key that signs from now on."""
        return self._post("/v1/signing-keys", {}, idempotency_key)

    def add_webhook(self, name: str, url: str, idempotency_key: str | None = None) -> Json:
        """Have an address told of every report; ``secret`` signs what it is told, shown once.

        It is None where a first answer was lost on the way: remove that one and make another.
        """
        return self._post("/v1/webhooks", {"name": name, "url": url}, idempotency_key)

    def webhooks(self) -> Iterator[Json]:
        """The addresses that are told, the removed ones too."""
        return self._pages("/v1/webhooks", {})

    def remove_webhook(self, webhook_id: str) -> Json:
        """Tell an address nothing any more."""
        return self._json("DELETE", f"/v1/webhooks/{part(webhook_id)}")

    def deliveries(self, webhook_id: str, **filters: Any) -> Iterator[Json]:
        """The messages to a webhook, the latest first; ``filters``: ``status``, ``limit``."""
        return self._pages(f"/v1/webhooks/{part(webhook_id)}/deliveries", filters)

    def ping_webhook(self, webhook_id: str, idempotency_key: str | None = None) -> Json:
        """Send a webhook a message that tells of nothing, to see whether somebody listens."""
        return self._post(f"/v1/webhooks/{part(webhook_id)}/deliveries", {}, idempotency_key)

    def resend_delivery(self, webhook_id: str, delivery_id: str) -> Json:
        """Send a message once more, from its first try on."""
        path = f"/v1/webhooks/{part(webhook_id)}/deliveries/{part(delivery_id)}/resend"
        return self._json("POST", path)


def _order(order_ref: str) -> str:
    return f"/v1/orders/{part(order_ref)}"
