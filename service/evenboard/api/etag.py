"""Strong entity tags: what was read, said in a few letters, for reading less and losing nothing."""

from __future__ import annotations

import functools
import gzip
import hashlib

from flask import Response, request

from evenboard.api.problem import Problem
from evenboard.store.errors import ChangedMeanwhile

__all__ = [
    "CHANGED",
    "IF_MATCH",
    "TAGGED",
    "require_if_match",
    "require_match",
    "tag",
    "tagged",
    "versions_read",
]

TAGGED = {"ETag": {"description": "Strong tag of this answer.", "schema": {"type": "string"}}}
"""Header of a tagged answer, for the OpenAPI document."""

IF_MATCH = {
    "in": "header",
    "name": "If-Match",
    "required": True,
    "description": "The `ETag` that was read, so that a change made meanwhile is not lost.",
    "schema": {"type": "string", "pattern": '^(\\*|"[!#-~]+")$'},
}
"""Parameter of a change, for the OpenAPI document."""


CHANGED = "It was changed since you read it. Read it again, then decide."
"""Said with every 412."""


def tag(body: bytes) -> str:
    """The tag of these bytes, without quotes."""
    return hashlib.blake2b(body, digest_size=16).hexdigest()


def tagged(
    body: bytes,
    content_type: str = "application/json",
    status: int = 200,
    *,
    pack: bool = False,
    mark: str | None = None,
) -> Response:
    """An answer with its tag; 304 without a body where the caller has it already.

    ``mark`` is the tag where it is not made from the bytes alone.

    ``pack`` is for what is long and only read, never changed under its tag: the packed bytes have
    a tag of their own, which ``If-Match`` would not know.
    """
    packed = pack and request.accept_encodings.quality("gzip") > 0
    response = Response(_packed(body) if packed else body, status=status, content_type=content_type)
    mark = mark or tag(body)
    response.set_etag(f"{mark}-gzip" if packed else mark)
    if packed:
        response.headers["Content-Encoding"] = "gzip"
    if pack:
        response.headers["Vary"] = "Accept-Encoding"
    response.headers["Cache-Control"] = "no-cache"
    if request.method in ("GET", "HEAD"):
        response.make_conditional(request)
    return response


@functools.lru_cache(maxsize=64)
def _packed(body: bytes) -> bytes:
    # Without a time in it, the same bytes in every worker, hence the same tag.
    return gzip.compress(body, compresslevel=6, mtime=0)


def require_match(current: str) -> None:
    """Refuse a change that was not made against the thing as it is now.

    Raises a 428 problem without ``If-Match``, :class:`ChangedMeanwhile` where it does not match.
    """
    require_if_match()
    if not request.if_match.contains(current):
        raise ChangedMeanwhile(CHANGED)


def require_if_match() -> None:
    """Refuse with a 428 problem a change that does not say what it was made against."""
    if "If-Match" not in request.headers:
        raise Problem(
            428,
            "Send the ETag of what you read as If-Match, so that nobody's change is lost.",
            kind="if-match-needed",
        )


def versions_read() -> list[int]:
    """The versions in front of the tags of ``If-Match``, for tags that begin with one."""
    read = [mark.partition(".")[0] for mark in request.if_match.as_set()]
    return [int(v) for v in read if v.isascii() and v.isdigit() and len(v) < 10]
