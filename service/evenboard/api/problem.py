"""Every error as a problem document (RFC 9457); the one place that maps an exception to a status.

Views and the rooms below raise, nothing else formats an error. ``errors`` holds all faults of a
request at once, each with the place (``pointer`` into the body by RFC 6901, ``parameter`` of the
query or ``header``) and what would be right.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any

from flask import Flask, Response, request
from werkzeug.exceptions import HTTPException, RequestEntityTooLarge

from evenboard.desk import issuing
from evenboard.desk.tagged import EquipmentWithdrawn
from evenboard.intake import Fault, LayoutInvalid
from evenboard.store import StoreUnavailable, errors, webhooks

__all__ = [
    "CONTENT_TYPE",
    "TYPES",
    "Problem",
    "ProblemType",
    "document",
    "invalid_body",
    "register",
]

CONTENT_TYPE = "application/problem+json"
_DRAIN_BYTES = 64 * 2**20
_log = logging.getLogger("evenboard.api")


@dataclass(frozen=True, slots=True)
class ProblemType:
    """A kind of problem that a program may want to tell from others of the same status."""

    slug: str
    status: int
    title: str
    sentence: str


TYPES: dict[str, ProblemType] = {
    kind.slug: kind
    for kind in (
        ProblemType(
            "malformed-json", 400, "The body is not JSON", "Send one JSON text, UTF-8, no repeats."
        ),
        ProblemType(
            "invalid-body", 422, "The body has faults", "`errors` lists every fault and its place."
        ),
        ProblemType(
            "invalid-query",
            422,
            "The query has faults",
            "`errors` lists every fault and the parameter it is in.",
        ),
        ProblemType(
            "key-reused",
            422,
            "The Idempotency-Key belongs to another request",
            "Use a new key for a new request; repeat a request with the very same body.",
        ),
        ProblemType(
            "changed-meanwhile",
            412,
            "Somebody else was faster",
            "Read the thing again, look at what changed, then send the new `ETag` as `If-Match`.",
        ),
        ProblemType(
            "colliding-changes",
            409,
            "Somebody else changed the same",
            "`conflicts` says of each change what is there now, who did it and when. Nothing was "
            "made. Let a person choose, then send the change again from what is there now.",
        ),
        ProblemType(
            "failing-layout",
            409,
            "The layout fails",
            "`errors` lists what fails and what to do. A report of it is issued only where "
            "`accept_fail` names a competent person and a reason.",
        ),
        ProblemType(
            "already-superseded",
            409,
            "The report has been superseded",
            "Supersede the order's current report, or leave `supersedes` out.",
        ),
        ProblemType(
            "equipment-refused",
            409,
            "The piece of equipment is not in a state for that",
            "`reasons` lists every obstacle, `changes` what happened to the piece last. A piece "
            "goes out only while it is fit and in nobody else's hands; a withdrawn one comes back "
            "with a recorded cause and a test passed after that.",
        ),
        ProblemType(
            "equipment-withdrawn",
            409,
            "Equipment of the layout must not go out",
            "`errors` names each piece and its place. Nothing was issued: take other pieces, or "
            "have these tested and released first.",
        ),
        ProblemType(
            "invalid-file",
            422,
            "The file has faults",
            "`errors` lists every fault with its line and column. Nothing was taken from the file.",
        ),
        ProblemType(
            "invalid-photo",
            422,
            "This is no photo that is kept here",
            "Send a JPEG, PNG or WebP picture.",
        ),
        ProblemType(
            "if-match-needed",
            428,
            "The change needs If-Match",
            "Send the `ETag` of what you read as `If-Match`, so that no change is lost.",
        ),
        ProblemType(
            "rate-limit",
            429,
            "Too many requests",
            "Wait as many seconds as `Retry-After` says.",
        ),
    )
}


class Problem(Exception):
    """A refusal, with all that the caller needs to do better."""

    def __init__(
        self,
        status: int,
        detail: str,
        *,
        kind: str | None = None,
        errors: Iterable[Mapping[str, Any]] = (),
        headers: Mapping[str, str] | None = None,
        more: Mapping[str, Any] | None = None,
    ) -> None:
        super().__init__(detail)
        self.status = status
        self.detail = detail
        self.kind = kind
        self.errors = [dict(error) for error in errors]
        self.headers = dict(headers or {})
        self.more = dict(more or {})


def document(
    status: int,
    detail: str,
    *,
    kind: str | None = None,
    errors: Iterable[Mapping[str, Any]] = (),
    headers: Mapping[str, str] | None = None,
    more: Mapping[str, Any] | None = None,
) -> Response:
    """The problem document as a response; ``more`` are members of its kind."""
    body: dict[str, Any] = {
        "type": f"/problems/{kind}" if kind else "about:blank",
        "title": TYPES[kind].title if kind else HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
    }
    listed = list(errors)
    if listed:
        body["errors"] = listed
    body |= more or {}
    # Whatever half characters a request put in the text come out as JSON escapes of themselves.
    text = json.dumps(body, ensure_ascii=False).encode("utf-8", "backslashreplace")
    response = Response(text, status=status, content_type=CONTENT_TYPE)
    response.headers.extend(dict(headers or {}))
    response.headers["Cache-Control"] = "no-store"
    return response


def invalid_body(faults: Iterable[Fault]) -> Problem:
    """All faults of a body as one problem."""
    listed = [{"pointer": fault.pointer, "detail": fault.detail} for fault in faults]
    return Problem(422, _count(len(listed)), kind="invalid-body", errors=listed)


def _count(faults: int) -> str:
    return "One fault; see errors." if faults == 1 else f"{faults} faults; see errors."


def register(app: Flask) -> None:
    """Make the application answer every error with a problem document."""

    def problem(error: Problem) -> Response:
        return document(
            error.status,
            error.detail,
            kind=error.kind,
            errors=error.errors,
            headers=error.headers,
            more=error.more,
        )

    def layout_invalid(error: LayoutInvalid) -> Response:
        return problem(invalid_body(error.faults))

    def failing_layout(error: issuing.FailingLayout) -> Response:
        errors = invalid_body(error.faults).errors
        return document(409, str(error), kind="failing-layout", errors=errors)

    def at(pointer: str, status: int, kind: str) -> Callable[[Exception], Response]:
        return lambda error: document(
            status, str(error), kind=kind, errors=[{"pointer": pointer, "detail": str(error)}]
        )

    def equipment_withdrawn(error: EquipmentWithdrawn) -> Response:
        listed = [{"pointer": fault.pointer, "detail": fault.detail} for fault in error.faults]
        return document(409, str(error), kind="equipment-withdrawn", errors=listed)

    def plain(status: int, kind: str | None = None) -> Callable[[Exception], Response]:
        return lambda error: document(status, str(error), kind=kind)

    app.register_error_handler(Problem, problem)
    app.register_error_handler(LayoutInvalid, layout_invalid)
    app.register_error_handler(EquipmentWithdrawn, equipment_withdrawn)
    app.register_error_handler(errors.NotThere, plain(404))
    app.register_error_handler(errors.AlreadyThere, plain(409))
    app.register_error_handler(webhooks.WebhookRemoved, plain(409))
    app.register_error_handler(errors.ChangedMeanwhile, plain(412, "changed-meanwhile"))
    app.register_error_handler(errors.KeyReused, plain(422, "key-reused"))
    app.register_error_handler(issuing.FailingLayout, failing_layout)
    app.register_error_handler(issuing.NothingToAccept, at("/accept_fail", 422, "invalid-body"))
    app.register_error_handler(issuing.SupersedesUnknown, at("/supersedes", 422, "invalid-body"))
    app.register_error_handler(
        issuing.AlreadySuperseded, at("/supersedes", 409, "already-superseded")
    )
    app.register_error_handler(StoreUnavailable, _store_unavailable)
    app.register_error_handler(HTTPException, _http)
    app.register_error_handler(Exception, _unforeseen)


def _http(error: HTTPException) -> Response:
    status = error.code or 500
    detail = _DETAILS.get(status) or error.description or HTTPStatus(status).phrase
    headers = {}
    if error.code == 405:
        allowed = error.get_response().headers.get("Allow", "")
        detail = f"{request.method} is not for this path; it takes {allowed}."
        headers["Allow"] = allowed
    if error.code in (301, 302, 307, 308):
        headers["Location"] = error.get_response().headers["Location"]
    if isinstance(error, RequestEntityTooLarge):
        _drain()
    return document(status, detail, headers=headers)


_DETAILS = {
    404: "There is nothing at this address.",
    413: "The body is larger than this service reads.",
}


def _drain() -> None:
    # A client that is still sending when the connection closes sees a reset instead of the
    # answer. Reading on, up to a limit, lets it finish and learn why it was refused.
    stream = request.environ["wsgi.input"]
    left = _DRAIN_BYTES
    while left > 0 and (chunk := stream.read(min(left, 65536))):
        left -= len(chunk)


def _store_unavailable(error: Exception) -> Response:
    _log.error("database: %s", error)
    return document(
        503,
        "The database does not answer just now. Nothing was changed; try again.",
        headers={"Retry-After": "5"},
    )


def _unforeseen(error: Exception) -> Response:
    # A fault of ours. The trace goes to the log, never to the caller.
    _log.exception("unforeseen: %s %s", request.method, request.path, exc_info=error)
    return document(500, "This is a fault of the service, not of the request. It is in the log.")
