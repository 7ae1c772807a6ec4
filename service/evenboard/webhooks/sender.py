"""The thread that sends what is due, in every worker; the store sees to it that one does at a time.

A message is tried for five days, ever more seldom, and can then be sent again by hand. A sender
that dies in between loses nothing: its hold runs out, and another sends the message, perhaps for
the second time. A receiver tells the two apart by ``webhook-id``.
"""

from __future__ import annotations

import logging
import random
import secrets
import threading
from collections.abc import Collection
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

from evenboard.store import Store, StoreUnavailable, deliveries
from evenboard.store.deliveries import Due
from evenboard.webhooks.address import AddressRefused, resolved
from evenboard.webhooks.message import headers
from evenboard.webhooks.posting import DEADLINE_S, post

__all__ = ["RETRY_S", "Sender"]

RETRY_S = (5, 30, 120, 600, 1800, 3600, 7200, 14400, *(28800,) * 14)
"""How long after each failed try the next one comes: five days in all. [s]"""
AT_ONCE = 4
"""Messages that a worker sends at a time: one slow receiver holds up no other (estimate)."""
LOOK_S = 2.0
"""How often a worker looks for what others have written (estimate). [s]"""
LEASE = timedelta(seconds=3 * DEADLINE_S)
"""How long a sender holds a message: thrice the longest try, so that a hold outlasts it."""
_log = logging.getLogger("evenboard.webhooks")


class Sender:
    """Sends messages of a store; ``inside`` are the internal hosts that may be told."""

    def __init__(self, store: Store, inside: Collection[str] = ()) -> None:
        self.store = store
        self.inside = frozenset(inside)
        self.name = secrets.token_hex(8)
        self._wake = threading.Event()
        self._over = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin, in a thread of its own; after a fork, never before one."""
        self._thread = threading.Thread(target=self._run, name="webhooks", daemon=True)
        self._thread.start()

    def wake(self) -> None:
        """Say that something is due now."""
        self._wake.set()

    def stop(self, patience_s: float = 5.0) -> None:
        """End after what is being sent; what takes longer, another sender takes over."""
        self._over.set()
        self._wake.set()
        if self._thread is not None:
            self._thread.join(patience_s)

    def _run(self) -> None:
        with ThreadPoolExecutor(AT_ONCE, "webhook") as pool:
            while not self._over.is_set():
                try:
                    while not self._over.is_set() and self.send_due(pool):
                        pass
                except StoreUnavailable as error:
                    _log.warning("webhooks wait for the database: %s", error)
                except Exception:
                    # A fault of ours must not end the thread: messages would wait for a restart.
                    _log.exception("webhooks: unforeseen")
                self._wake.wait(LOOK_S)
                self._wake.clear()

    def send_due(self, pool: ThreadPoolExecutor) -> int:
        """Send some of what is due, each once; how many that were."""
        with self.store.reading() as session:
            if not deliveries.due(session):
                return 0
        with self.store.writing() as session:
            taken = deliveries.claim(session, self.name, LEASE, AT_ONCE)
        list(pool.map(self._send, taken))
        return len(taken)

    def _send(self, message: Due) -> None:
        delivered, answer = self._posted(message)
        next_at = None
        if not delivered and message.attempt <= len(RETRY_S):
            # Not all at the same moment, where a receiver comes back for many.
            wait_s = RETRY_S[message.attempt - 1] * random.uniform(0.9, 1.1)
            next_at = datetime.now(UTC) + timedelta(seconds=wait_s)
        with self.store.writing() as session:
            deliveries.settle(
                session,
                message.id,
                self.name,
                delivered=delivered,
                answer=answer,
                next_at=next_at,
            )
        if not delivered:
            _log.warning("webhook message %s, try %d: %s", message.id, message.attempt, answer)

    def _posted(self, message: Due) -> tuple[bool, str]:
        body = message.body.encode()
        try:
            target = resolved(message.url, self.inside)
            signed = headers(message.id, datetime.now(UTC), body, message.secret)
            status = post(target, body, signed)
        except AddressRefused as error:
            return False, str(error)
        except OSError as error:
            return False, f"No answer: {error}"
        if 200 <= status < 300:
            return True, f"Answered {status}."
        if 300 <= status < 400:
            return False, f"Answered {status}: a redirect, which is not followed."
        return False, f"Answered {status}."
