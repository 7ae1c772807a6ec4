"""What webhooks are told of a report: one message to each, in the unit of work that it tells of."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

from evenboard.desk import proof
from evenboard.store import Session, deliveries, signing, webhooks
from evenboard.store.reports import Report

__all__ = ["EVENTS", "PING", "addresses", "tell_issued", "tell_ping"]

EVENTS = ("report.issued", "report.superseded")
PING = "ping"
"""What the desk sends to see whether an address listens."""


def addresses(session: Session, report: Report, base_url: str) -> dict[str, str]:
    """Where a report is found: for programs, for a browser, and for whoever doubts the paper."""
    word = proof.opens(signing.get(session, report.key_id), report.id)
    return {
        "json": f"{base_url}/v1/reports/{report.id}",
        "pdf": f"{base_url}/paper/{report.id}/{word}.pdf",
        "verify": report.verify_url,
    }


def tell_issued(session: Session, report: Report, superseded: Report | None, base_url: str) -> None:
    """Tell every webhook that a report was issued and, where it was, another superseded."""
    for webhook in webhooks.in_force(session):
        told = _told(session, report, base_url)
        deliveries.add(
            session, webhook.id, "report.issued", _message("report.issued", told), report.id
        )
        if superseded is not None:
            data = _told(session, superseded, base_url) | {"superseded_by": report.id}
            body = _message("report.superseded", data)
            deliveries.add(session, webhook.id, "report.superseded", body, superseded.id)


def tell_ping(session: Session, webhook_id: str) -> str:
    """Send a message that tells of nothing, to see whether somebody listens; its id."""
    return deliveries.add(session, webhook_id, PING, _message(PING, {}))


def _told(session: Session, report: Report, base_url: str) -> dict[str, Any]:
    return {
        "report_id": report.id,
        "order_ref": report.order_ref,
        "number": report.number,
        "title": report.title,
        "verdict": report.verdict,
        "issued_at": _moment(report.issued_at),
        "issued_by": report.issued_by,
        "supersedes": report.supersedes,
        "superseded_by": report.superseded_by,
        "content_sha256": report.content_sha256,
        "links": addresses(session, report, base_url),
    }


def _message(event: str, data: dict[str, Any]) -> str:
    message = {"type": event, "timestamp": _moment(datetime.now(UTC)), "data": data}
    return json.dumps(message, ensure_ascii=False, separators=(",", ":"))


def _moment(at: datetime) -> str:
    text = at.astimezone(UTC).isoformat(timespec="milliseconds")
    return text.replace("+00:00", "Z")
