"""The desk's door: ``Authorization: Bearer`` with a key that ``evenboard key new`` printed once."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from flask import g, request

from evenboard.api.problem import Problem
from evenboard.api.spec import Blueprint
from evenboard.api.state import state
from evenboard.store import keys
from evenboard.store.keys import DeskKey

__all__ = ["desk_key", "desk_only"]


def desk_only(view: Callable[..., Any]) -> Callable[..., Any]:
    """Let only holders of a key in force through, and say so in the OpenAPI document."""

    @wraps(view)
    def guarded(*arguments: Any, **options: Any) -> Any:
        g.desk_key = _recognised()
        return view(*arguments, **options)

    documented: Callable[..., Any] = Blueprint.doc(security=[{"deskKey": []}])(guarded)
    return documented


def desk_key() -> DeskKey:
    """The key that this request came with; for views behind :func:`desk_only`."""
    key: DeskKey = g.desk_key
    return key


def _recognised() -> DeskKey:
    given = request.authorization
    if given is None or given.type != "bearer" or not given.token:
        raise Problem(
            401,
            "This is for the rental desk: send its key as Authorization: Bearer <key>.",
            headers={"WWW-Authenticate": 'Bearer realm="evenboard"'},
        )
    with state().store.reading() as session:
        key = keys.holder(session, given.token)
    if key is None:
        raise Problem(
            401,
            "This key is not in force: it was never made here, or it was revoked.",
            headers={"WWW-Authenticate": 'Bearer realm="evenboard", error="invalid_token"'},
        )
    return key
