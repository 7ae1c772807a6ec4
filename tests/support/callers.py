"""Callers of every role, with secrets that an application really knows."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from flask import Flask

from evenboard.api.access import CREW, DESK, PLUG, PUBLIC, READ, Role
from evenboard.store import keys, links

__all__ = ["bearer", "headers_of"]

SOON = timedelta(days=1)
_MAY = {CREW: "crew", READ: "read", PLUG: "plug"}


def bearer(secret: str) -> dict[str, str]:
    """The headers that show a secret."""
    return {"Authorization": f"Bearer {secret}"}


def headers_of(
    app: Flask, role: Role, *, order_ref: str = "order-1", layout_id: str | None = None
) -> dict[str, str]:
    """Headers of a new caller of that role; a link opens that order or that layout."""
    if role is PUBLIC:
        return {}
    with app.extensions["evenboard"].store.writing() as session:
        if role is DESK:
            return bearer(keys.create(session, "test desk")[1])
        crew = role is CREW
        _, secret = links.create(
            session,
            f"test {role}",
            _MAY[role],  # type: ignore[arg-type]
            order_ref=order_ref if crew else None,
            layout_id=None if crew else layout_id,
            created_by="test desk",
            expires_at=datetime.now(UTC) + SOON,
        )
    return bearer(secret)
