"""What one application holds: its settings, its store and the catalogue as it is now."""

from __future__ import annotations

import logging
import threading
from dataclasses import dataclass, field
from typing import cast

from flask import current_app, g, request

from evenboard.api.config import Config
from evenboard.catalogue import Catalogue
from evenboard.store import Store, fixtures
from evenboard.webhooks import Sender

__all__ = ["State", "base_url", "current_catalogue", "state"]

_log = logging.getLogger("evenboard.api")


@dataclass
class State:
    """The one object on ``app.extensions["evenboard"]``; reached by :func:`state`."""

    config: Config
    store: Store
    shipped: Catalogue
    sender: Sender
    _revision: int = 0
    _catalogue: Catalogue | None = None
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def catalogue(self) -> Catalogue:
        """The shipped catalogue with the desk's own types, as they are at this moment.

        The store counts the changes; as long as the count is the same, so is the catalogue. One
        short read a request is what it costs that a change in one worker is live in all.
        """
        with self.store.reading() as session:
            revision = fixtures.revision(session)
            if self._catalogue is not None and revision == self._revision:
                return self._catalogue
            own = fixtures.listing(session)
            # What was listed may be newer than the revision read before it: then the next request
            # reads once more, which does no harm.
        with self._lock:
            taken = [f.slug for f in own if f.slug in self.shipped.fixtures]
            if taken:
                # A newer catalogue may ship a slug that the desk had used for its own type.
                _log.warning("own types hidden by shipped ones: %s", ", ".join(taken))
            self._catalogue = self.shipped.with_fixtures(
                f for f in own if f.slug not in self.shipped.fixtures
            )
            self._revision = revision
            return self._catalogue


def state() -> State:
    """The state of the application that serves this request."""
    return cast(State, current_app.extensions["evenboard"])


def base_url() -> str:
    """Where people find this service: as the settings say, else as this request found it."""
    return state().config.public_url or request.host_url.rstrip("/")


def current_catalogue() -> Catalogue:
    """The catalogue of this request: the same one from its first use to the answer."""
    if "catalogue" not in g:
        g.catalogue = state().catalogue()
    return cast(Catalogue, g.catalogue)
