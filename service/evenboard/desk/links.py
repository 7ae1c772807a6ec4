"""Until when a link opens its order or layout."""

from __future__ import annotations

from datetime import datetime, timedelta

__all__ = ["LASTS", "LONGEST", "EndInvalid", "end_of"]

LASTS = timedelta(days=30)
"""How long a link opens where nobody says: longer than most hires (common practice, no source)."""
LONGEST = timedelta(days=366)
"""A link is passed on and forgotten; a year is the longest that one opens."""


class EndInvalid(ValueError):
    """The end that was wished is past, or too far away."""


def end_of(wished: datetime | None, now: datetime) -> datetime:
    """When a link made now ends. Raises :class:`EndInvalid`."""
    if wished is None:
        return now + LASTS
    if wished <= now:
        raise EndInvalid(f"This is past: it is {now:%Y-%m-%dT%H:%M:%SZ} here.")
    if wished > now + LONGEST:
        raise EndInvalid(f"This is too far away: {LONGEST.days} days at most.")
    return wished
