"""What is kept: keys, the desk's own fixture types, answers to repeated posts. The only SQL.

``Store.reading()`` and ``Store.writing()`` are the whole unit of work; the functions of ``keys``,
``fixtures``, ``idempotency`` and ``rates`` take the session and return frozen objects.
"""

from sqlalchemy.orm import Session

from evenboard.store.engine import Store, driver_url
from evenboard.store.errors import StoreUnavailable

__all__ = ["Session", "Store", "StoreUnavailable", "driver_url"]
