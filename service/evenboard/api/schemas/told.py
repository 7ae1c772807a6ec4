"""Fields of answers: text, moments, days and whole numbers that are always there."""

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


def day(description: str = "", *, nullable: bool = True) -> fields.String:
    """A day as RFC 3339 writes it; null unless it is always known."""
    metadata = {"description": description, "format": "date"}
    return fields.String(required=True, allow_none=nullable, metadata=metadata)


def whole(description: str = "", *, nullable: bool = False) -> fields.Integer:
    """A whole number; ``nullable`` where it may be null."""
    return fields.Integer(required=True, allow_none=nullable, metadata={"description": description})
