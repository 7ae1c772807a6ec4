"""A request's unit of work: the change and its line in the trail, both or neither.

Every view that changes the store goes through :func:`writing` or through ``once``; the store's own
door is only for what is no change of anybody's, such as counting calls.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from flask import current_app, g, request

from evenboard.api.access import caller
from evenboard.api.state import state
from evenboard.store import Session, audit

__all__ = ["record", "say", "writing"]


@contextmanager
def writing() -> Iterator[Session]:
    """One unit of work of this request. Raises what the store raises; then nothing is kept."""
    with state().store.writing() as session:
        yield session
        record(session)


def say(what: str) -> None:
    """Tell the trail in words what this request did; without, the view's first sentence stands."""
    g.told = what


def record(session: Session) -> None:
    """Write this request's line of the trail."""
    view = current_app.view_functions[str(request.endpoint)]
    sentence = (view.__doc__ or "").strip().partition("\n")[0].rstrip(".")
    audit.record(session, caller().who, request.method, request.path, g.get("told", sentence))
