"""Lists as answers: paged and tagged; those of the catalogue are the same for everybody."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any, Protocol, TypeVar

from flask import Response

from evenboard.api.answer import json_bytes
from evenboard.api.etag import tagged
from evenboard.api.paging import Page, page
from evenboard.api.problem import Problem
from evenboard.intake.nearest import nearest, quoted
from evenboard.store.errors import NotThere

__all__ = ["PAGE", "known_parameter", "listed", "one_of", "page_answer"]

PAGE = 50
"""Items on a page where the caller does not say."""


Thing = TypeVar("Thing")


class _Named(Protocol):
    @property
    def id(self) -> str: ...


def listed(items: Sequence[_Named], version: str, query: Mapping[str, Any]) -> Response:
    """A page of catalogue objects, their fields by their names."""
    question = {k: v for k, v in query.items() if k not in ("limit", "cursor")}
    limit = query.get("limit") or PAGE
    part = page(items, lambda item: item.id, limit, query.get("cursor"), question)
    return tagged(
        json_bytes(
            {
                "items": [dataclasses.asdict(item) for item in part.items],  # type: ignore[call-overload]
                "next_cursor": part.next_cursor,
                "catalogue_version": version,
            }
        ),
        pack=True,
    )


def page_answer(part: Page[Any], items: Sequence[Mapping[str, Any]]) -> Response:
    """A page with its items as they are shown."""
    return tagged(json_bytes({"items": items, "next_cursor": part.next_cursor}))


def one_of(things: Mapping[str, Thing], name: str, noun: str) -> Thing:
    """The thing of that name; ``NotThere``, with the nearest names, where there is none."""
    if name not in things:
        raise NotThere(_unknown(things, name, noun))
    return things[name]


def known_parameter(things: Mapping[str, Thing], name: str, parameter: str) -> Thing:
    """The thing that a query parameter names; a 422 problem where there is none."""
    if name not in things:
        detail = _unknown(things, name, parameter)
        fault = {"parameter": parameter, "detail": detail}
        raise Problem(422, detail, kind="invalid-query", errors=[fault])
    return things[name]


def _unknown(things: Mapping[str, Any], name: str, noun: str) -> str:
    close = nearest(name, things)
    hint = f" Nearest: {', '.join(close)}." if close else ""
    return f"There is no {noun} {quoted(name)}.{hint}"
