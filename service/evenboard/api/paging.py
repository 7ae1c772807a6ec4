"""Pages of a list by an opaque cursor that holds its place though the list changes."""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Generic, TypeVar

from evenboard.api.problem import Problem

__all__ = ["Page", "keyed_page", "moment_key", "moment_of_key", "moment_page", "page"]

Item = TypeVar("Item")


@dataclass(frozen=True, slots=True)
class Page(Generic[Item]):
    """Some items of a list, and where the next ones begin; None at the end."""

    items: Sequence[Item]
    next_cursor: str | None


def page(
    items: Sequence[Item],
    key: Callable[[Item], str],
    limit: int,
    cursor: str | None,
    question: Mapping[str, Any],
) -> Page[Item]:
    """The page after the cursor.

    The cursor names the last item seen by its key, so that one added before it moves nothing; if
    that item is gone, its old place counts. ``question`` is what was asked for: a cursor of
    another question is refused, since it would skip or repeat items without a word.
    """
    mark = _mark(question)
    start = 0
    if cursor is not None:
        place, last = _read(cursor, mark)
        keys = [key(item) for item in items]
        start = keys.index(last) + 1 if last in keys else min(place, len(items))
    found = items[start : start + limit]
    after = start + len(found)
    following = _write(mark, after, key(found[-1])) if found and after < len(items) else None
    return Page(found, following)


def keyed_page(
    fetch: Callable[[str | None, int], Sequence[Item]],
    key: Callable[[Item], str],
    limit: int,
    cursor: str | None,
    question: Mapping[str, Any],
) -> Page[Item]:
    """The page after the cursor of a list that is too long to be read whole.

    ``fetch`` reads up to so many items after the one with that key (from the beginning for None),
    in the order of the list; the key says all that this order goes by.
    """
    mark = _mark(question)
    last = None if cursor is None else _read(cursor, mark)[1]
    found = fetch(last, limit + 1)
    more = len(found) > limit
    return Page(found[:limit], _write(mark, 0, key(found[limit - 1])) if more else None)


def moment_page(
    fetch: Callable[[tuple[datetime, str] | None, int], Sequence[Item]],
    key: Callable[[Item], tuple[datetime, str]],
    limit: int,
    cursor: str | None,
    question: Mapping[str, Any],
) -> Page[Item]:
    """As :func:`keyed_page`, of a list that goes by time, and by name within a moment."""
    return keyed_page(
        lambda last, most: fetch(moment_of_key(last), most),
        lambda item: moment_key(*key(item)),
        limit,
        cursor,
        question,
    )


def moment_key(at: datetime, name: str) -> str:
    """The key of an item in a list that goes by time, and by name within a moment."""
    return f"{at.isoformat()}|{name}"


def moment_of_key(key: str | None) -> tuple[datetime, str] | None:
    """What :func:`moment_key` made the key of; a 422 problem for another."""
    if key is None:
        return None
    at, _, name = key.partition("|")
    try:
        return datetime.fromisoformat(at).astimezone(UTC), name
    except (ValueError, OverflowError):
        raise _refused("is no cursor of this list; take next_cursor as it came.") from None


def _mark(question: Mapping[str, Any]) -> str:
    text = json.dumps(question, sort_keys=True, default=str)
    return hashlib.blake2b(text.encode(), digest_size=6).hexdigest()


def _write(mark: str, place: int, last: str) -> str:
    text = json.dumps([mark, place, last])
    return base64.urlsafe_b64encode(text.encode()).decode().rstrip("=")


def _read(cursor: str, mark: str) -> tuple[int, str]:
    try:
        raw = base64.b64decode(cursor + "=" * (-len(cursor) % 4), altchars=b"-_", validate=True)
        theirs, place, last = json.loads(raw)
    except (binascii.Error, ValueError, TypeError):
        raise _refused("is no cursor of this service; take next_cursor as it came.") from None
    sound = isinstance(place, int) and place >= 0 and isinstance(last, str) and last.isprintable()
    if not sound:
        raise _refused("is no cursor of this service; take next_cursor as it came.")
    if theirs != mark:
        raise _refused("belongs to another question; begin again without it.")
    return place, last


def _refused(detail: str) -> Problem:
    return Problem(
        422,
        f"The cursor {detail}",
        kind="invalid-query",
        errors=[{"parameter": "cursor", "detail": f"This {detail}"}],
    )
