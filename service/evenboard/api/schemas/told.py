"""Fields of answers: text and moments that are always there."""

from __future__ import annotations

from marshmallow import fields

__all__ = ["day", "moment", "text", "whole"]


def text(description: str = "", *, nullable: bool = False) -> fields.String:
    """A text; ``nullable`` where it may be null."""
    return fields.String(required=True, allow_none=nullable, metadata={"description": description})


def moment(description: str = "", *, nullable: bool = False) -> fields.String:
    """A moment as RFC 3339 writes it."""
    metadata = {"description": description, "format": "date-time"}
    return fields.String(required=True, allow_none=nullable, metadata=metadata)


def day(description: str = "") -> fields.String:
    """A day, or null."""
    metadata = {"description": description, "format": "date"}
    return fields.String(required=True, allow_none=True, metadata=metadata)


def whole(description: str = "", *, nullable: bool = False) -> fields.Integer:
    """A whole number."""
    return fields.Integer(required=True, allow_none=nullable, metadata={"description": description})
