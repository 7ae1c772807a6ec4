"""What can be wrong with a wish to the store; none of these knows HTTP."""

from __future__ import annotations

__all__ = ["AlreadyThere", "ChangedMeanwhile", "KeyReused", "NotThere", "StoreUnavailable"]


class StoreUnavailable(RuntimeError):
    """The database cannot be reached or does not answer in time; nothing was changed."""


class NotThere(LookupError):
    """There is no such thing in the store."""


class AlreadyThere(ValueError):
    """There is one of that name already."""


class ChangedMeanwhile(ValueError):
    """Somebody else has changed the thing since it was read."""


class KeyReused(ValueError):
    """An idempotency key came back with another request."""
