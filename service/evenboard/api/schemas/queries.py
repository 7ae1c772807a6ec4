"""Query parameters: text by nature, read into numbers and words, and bounded like all else."""

from __future__ import annotations

import re
from typing import Any

from evenboard.api.fields import Number, Schema, Text, Whole

__all__ = ["PageQuerySchema", "QueryNumber", "QueryWhole"]

_NUMBER = re.compile(r"[+-]?[0-9]{1,15}(\.[0-9]{1,15})?([eE][+-]?[0-9]{1,2})?")
_WHOLE = re.compile(r"[0-9]{1,9}")


class QueryNumber(Number):
    """A decimal number as text."""

    def _validated(self, value: Any) -> float:
        if not isinstance(value, str) or not _NUMBER.fullmatch(value):
            raise self.make_error("invalid", input=value)
        return super()._validated(float(value))


class QueryWhole(Whole):
    """A whole number as text."""

    def _validated(self, value: Any) -> int:
        if not isinstance(value, str) or not _WHOLE.fullmatch(value):
            raise self.make_error("invalid", input=value)
        return super()._validated(int(value))


class PageQuerySchema(Schema):
    """Which part of a list."""

    limit = QueryWhole("Items on a page, 50 by default.", least=1, most=200)
    cursor = Text("`next_cursor` of the page before.", most=500)
