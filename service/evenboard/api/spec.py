"""The OpenAPI document: made from the schemas and docstrings of the resources, never by hand."""

from __future__ import annotations

import http
from typing import Any

import flask_smorest
from flask_smorest.utils import prepare_response
from marshmallow import Schema, fields

from evenboard.api.problem import CONTENT_TYPE
from evenboard.api.reader import StrictParser

__all__ = ["Api", "Blueprint"]


class FaultSchema(Schema):
    """One fault: where it is, and what would be right there."""

    pointer = fields.String(
        metadata={"description": "Place in the body, RFC 6901.", "example": "/loads/3/fixture"}
    )
    parameter = fields.String(metadata={"description": "Parameter of the query."})
    line = fields.Integer(metadata={"description": "Line of a file, from 1."})
    column = fields.Integer(metadata={"description": "Column of a file, from 1."})
    field = fields.String(allow_none=True, metadata={"description": "What that column holds."})
    detail = fields.String(required=True)


class ConflictSchema(Schema):
    """One change that collides with what somebody else did."""

    pointer = fields.String(required=True, metadata={"example": "/changes/0"})
    detail = fields.String(required=True)
    yours = fields.Dict(required=True, metadata={"description": "The change as it was sent."})
    now = fields.Raw(required=True, allow_none=True, metadata={"description": "What is there."})
    theirs = fields.Dict(
        required=True,
        allow_none=True,
        metadata={"description": "The event that put it there: version, by, at, words."},
    )


class ProblemSchema(Schema):
    """What went wrong (RFC 9457), with all faults of the request at once."""

    type = fields.String(required=True, metadata={"format": "uri-reference"})
    title = fields.String(required=True)
    status = fields.Integer(required=True)
    detail = fields.String(required=True)
    errors = fields.List(fields.Nested(FaultSchema))
    reasons = fields.List(
        fields.Dict(), metadata={"description": "Every obstacle: `code` and `detail`."}
    )
    version = fields.Integer(metadata={"description": "The version that is now."})
    conflicts = fields.List(fields.Nested(ConflictSchema))
    changes = fields.List(
        fields.Dict(), metadata={"description": "What others did since the version that was read."}
    )


class Blueprint(flask_smorest.Blueprint):
    """A resource: strict bodies, problem documents for every refusal."""

    ARGUMENTS_PARSER = StrictParser()

    def arguments(self, schema: Any, *, location: str = "json", **options: Any) -> Any:
        """As the library has it; a body's own refusals are documented too."""
        parsed = super().arguments(schema, location=location, **options)
        if location != "json":
            return parsed

        def documented(view: Any) -> Any:
            return parsed(self.refuses(400, 413, 415)(view))

        return documented

    def refuses(self, *statuses: int) -> Any:
        """Document with which statuses a view may refuse."""

        def documented(view: Any) -> Any:
            told = getattr(view, "_apidoc", {}).get("response", {}).get("responses", {})
            for status in set(statuses) - set(told):
                view = self.alt_response(status, http.HTTPStatus(status).name)(view)
            return view

        return documented


class Api(flask_smorest.Api):
    """The description of all resources; errors are ``problem.py``'s."""

    ERROR_SCHEMA = ProblemSchema

    def _register_error_handlers(self) -> None:
        # The application has its own, for every error and not only for those of resources.
        pass

    def _register_doc_blueprint(self) -> None:
        # ops.py serves the document, with a tag.
        pass

    def _register_etag_headers(self) -> None:
        # etag.py describes them.
        pass

    def _register_pagination_header(self) -> None:
        # Pages go by cursor.
        pass

    def _register_responses(self) -> None:
        # As the library does it, but errors are problem documents and say so.
        named: list[tuple[str, str, int]] = [
            (status.name, status.phrase, status.value) for status in http.HTTPStatus
        ]
        for name, phrase, status in [*named, ("DEFAULT_ERROR", "Any other refusal", 500)]:
            response: dict[str, Any] = {"description": phrase}
            if status >= 400:
                response["schema"] = self.ERROR_SCHEMA
                prepare_response(response, self.spec, CONTENT_TYPE)
            self.spec.components.response(name, response, lazy=True)
