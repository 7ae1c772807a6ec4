"""Pages by an opaque cursor."""

from __future__ import annotations

import base64
import json
from datetime import UTC, datetime, timedelta, timezone

import pytest

from evenboard.api.paging import keyed_page, moment_key, moment_of_key, page
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


def fetched(last: str | None, limit: int) -> list[str]:
    return [name for name in NAMES if last is None or name > last][:limit]


@pytest.mark.parametrize("limit", [1, 3, 9, 10, 11])
def test_a_list_that_is_fetched_in_parts_is_whole(limit: int) -> None:
    found: list[str] = []
    cursor = None
    while True:
        part = keyed_page(fetched, str, limit, cursor, QUESTION)
        assert len(part.items) <= limit
        found += part.items
        cursor = part.next_cursor
        if cursor is None:
            break

    assert found == NAMES


def test_a_cursor_of_another_question_is_refused_by_both_kinds_of_pages() -> None:
    cursor = keyed_page(fetched, str, 2, None, QUESTION).next_cursor

    with pytest.raises(Problem, match="another question"):
        keyed_page(fetched, str, 2, cursor, {"q": "urn"})


def test_the_key_of_a_moment_leads_back_to_it() -> None:
    local = datetime(2026, 11, 25, 21, 15, tzinfo=timezone(timedelta(hours=10, minutes=30)))

    assert moment_of_key(moment_key(local, "a|b")) == (local.astimezone(UTC), "a|b")
    assert moment_of_key(None) is None


@pytest.mark.parametrize("key", ["", "a|b", "2026-99-99T00:00:00|x"])
def test_another_key_is_no_moment(key: str) -> None:
    with pytest.raises(Problem, match="no cursor of this list"):
        moment_of_key(key)
