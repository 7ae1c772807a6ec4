"""Creating posts that can be sent again: the same key and body get the answer of the first.

After the IETF draft "The Idempotency-Key HTTP Header Field": the key is a quoted string (a bare
one is taken too), another body under the same key is refused with 422. The draft's 409 for a
request that is still running is not needed: the second waits for the first and gets its answer.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable

from flask import Response, request

from evenboard.api.access import caller
from evenboard.api.problem import Problem
from evenboard.api.state import state
from evenboard.api.writing import record
from evenboard.store import Session, idempotency
from evenboard.store.idempotency import Answer

__all__ = ["IDEMPOTENCY_KEY", "once"]

IDEMPOTENCY_KEY = {
    "in": "header",
    "name": "Idempotency-Key",
    "required": False,
    "description": "A unique string for this request, the same when it is sent again: it is then "
    "answered as before and not done twice. Kept for seven days.",
    "schema": {"type": "string", "minLength": 1, "maxLength": 255},
}
"""Parameter of a creating post, for the OpenAPI document."""

_KEY = re.compile(r'"[\x20\x21\x23-\x7e]{1,255}"|[!#-~]{1,255}')
_KEPT_HEADERS = ("Content-Type", "Location", "ETag")


def once(
    create: Callable[[Session], Response],
    *,
    kept: Callable[[bytes], bytes] = bytes,
    growing: str | None = None,
    first: Callable[[], None] | None = None,
) -> Response:
    """Do ``create`` in one unit of work and answer; with a key, never twice.

    The answer is stored together with what it tells of, so neither is there without the other; so
    is its line in the trail. ``kept`` takes out of the stored answer what is told only once.
    ``growing`` is a field of the body that is another in each repeat: how long ago it was done.
    ``first`` is what takes long and needs no unit of work: it is not done for a repeat.
    """
    key = _key()
    if first is not None:
        if key is not None:
            with state().store.reading() as session:
                known = idempotency.known(session, caller().repeats, key, _fingerprint(growing))
            if known is not None:
                return _replayed(known)
        first()
    with state().store.writing() as session:
        if key is None:
            response = create(session)
            record(session)
            return response
        who = caller().repeats
        known = idempotency.claim(session, who, key, _fingerprint(growing))
        if known is not None:
            return _replayed(known)
        response = create(session)
        record(session)
        headers = {
            name: response.headers[name] for name in _KEPT_HEADERS if name in response.headers
        }
        answer = Answer(response.status_code, headers, kept(response.get_data()))
        idempotency.keep(session, who, key, answer)
        return response


def _key() -> str | None:
    key = request.headers.get("Idempotency-Key")
    if key is None:
        return None
    if not _KEY.fullmatch(key):
        raise Problem(
            400,
            'Idempotency-Key must be 1 to 255 printable ASCII characters, best in quotes "…".',
        )
    return key.strip('"')


def _fingerprint(growing: str | None) -> str:
    body = request.get_data(cache=True)
    if growing is not None:
        document = json.loads(body)
        document.pop(growing, None)
        body = json.dumps(document, sort_keys=True).encode()
    parts = (request.method.encode(), request.path.encode(), body)
    return hashlib.sha256(b"\0".join(parts)).hexdigest()


def _replayed(answer: Answer) -> Response:
    response = Response(answer.body, status=answer.status)
    for name, value in answer.headers.items():
        response.headers[name] = value
    response.headers["Cache-Control"] = "no-store"
    response.headers["Idempotency-Replayed"] = "true"
    return response
