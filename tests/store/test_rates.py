"""Calls counted by address and minute."""

from __future__ import annotations

from sqlalchemy import select

from evenboard.store import Store, rates
from evenboard.store.rows import RateRow


def test_calls_are_counted_by_address_and_minute(store: Store) -> None:
    counts = []
    for caller, minute in [("a", 1), ("a", 1), ("b", 1), ("a", 2), ("a", 1)]:
        with store.writing() as session:
            counts.append(rates.count(session, caller, minute))

    assert counts == [1, 2, 1, 1, 3]


def test_minutes_that_are_over_are_cleared_away(store: Store) -> None:
    for minute in (1, 2, 9):
        with store.writing() as session:
            rates.count(session, "a", minute)

    with store.reading() as session:
        assert list(session.scalars(select(RateRow.minute))) == [9]
