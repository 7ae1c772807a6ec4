"""Pages by an opaque cursor."""

from __future__ import annotations

import base64
import json

import pytest

from evenboard.api.paging import page
from evenboard.api.problem import Problem

NAMES = [f"n{i:02}" for i in range(10)]
QUESTION = {"q": "lamp"}


def pages(names: list[str], limit: int) -> list[list[str]]:
    found, cursor = [], None
    while True:
        part = page(names, str, limit, cursor, QUESTION)
        found.append(list(part.items))
        cursor = part.next_cursor
        if cursor is None:
            return found


@pytest.mark.parametrize("limit", [1, 3, 5, 9, 10, 200])
def test_all_pages_together_are_the_list(limit: int) -> None:
    parts = pages(NAMES, limit)

    assert [name for part in parts for name in part] == NAMES
    assert all(len(part) == limit for part in parts[:-1])


def test_an_empty_list_is_one_empty_page() -> None:
    assert pages([], 5) == [[]]


def test_an_item_added_in_front_moves_nothing_on_the_next_page() -> None:
    first = page(NAMES, str, 4, None, QUESTION)

    second = page(["new", *NAMES], str, 4, first.next_cursor, QUESTION)

    assert list(second.items) == NAMES[4:8]


def test_where_the_last_item_seen_is_gone_its_place_counts() -> None:
    first = page(NAMES, str, 4, None, QUESTION)

    second = page([n for n in NAMES if n != "n03"], str, 4, first.next_cursor, QUESTION)

    assert list(second.items) == NAMES[5:9]


def test_a_cursor_of_another_question_is_refused() -> None:
    cursor = page(NAMES, str, 4, None, QUESTION).next_cursor

    with pytest.raises(Problem) as refused:
        page(NAMES, str, 4, cursor, {"q": "cable"})

    assert refused.value.status == 422
    assert "another question" in refused.value.detail


def _encoded(value: object) -> str:
    return base64.urlsafe_b64encode(json.dumps(value).encode()).decode().rstrip("=")


@pytest.mark.parametrize(
    "cursor",
    [
        "",
        "nonsense",
        "é",
        "AAAA",
        _encoded({}),
        _encoded([1, 2]),
        _encoded(["x", -1, "n"]),
        _encoded(["x", "1", "n"]),
        _encoded(["x", 1, None]),
        _encoded("[" * 50),
        "W" * 499,
    ],
)
def test_what_is_no_cursor_is_refused(cursor: str) -> None:
    with pytest.raises(Problem) as refused:
        page(NAMES, str, 4, cursor, QUESTION)

    assert refused.value.status == 422
    assert refused.value.errors[0]["parameter"] == "cursor"
