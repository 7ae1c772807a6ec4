"""Moments and documents mean the same on both databases."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from sqlalchemy import literal, select, text
from sqlalchemy.exc import StatementError

from evenboard.store import Store
from evenboard.store.columns import JsonText
from evenboard.store.rows import DeskKeyRow, IdempotencyRow

EASTERN = timezone(timedelta(hours=10, minutes=30))


def test_a_moment_comes_back_aware_and_in_utc(store: Store) -> None:
    local = datetime(2026, 11, 25, 21, 15, 30, 123456, tzinfo=EASTERN)

    with store.writing() as session:
        session.add(_key(created_at=local))
    with store.reading() as session:
        read = session.execute(select(DeskKeyRow.created_at)).scalar_one()

    assert read == local
    assert read.tzinfo is UTC


def test_moments_compare_in_sql_whatever_zone_they_were_given_in(store: Store) -> None:
    early = datetime(2026, 11, 25, 20, 0, tzinfo=EASTERN)
    later_in_utc = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)

    with store.writing() as session:
        session.add(_key(id="early", secret_hash="1", created_at=early))
        session.add(_key(id="later", secret_hash="2", created_at=later_in_utc))
    with store.reading() as session:
        found = session.scalars(select(DeskKeyRow.id).where(DeskKeyRow.created_at < later_in_utc))

        assert list(found) == ["early"]


def test_a_naive_moment_is_refused(store: Store) -> None:
    with pytest.raises(StatementError, match="time zone"), store.writing() as session:
        session.add(_key(created_at=datetime(2026, 11, 25, 12, 0)))


def test_a_document_comes_back_as_it_was(store: Store) -> None:
    document = {"Ω": [1, 2.5, None, True], "nested": {"a": "1.8 kW – é"}}

    with store.writing() as session:
        session.add(
            IdempotencyRow(
                caller="c",
                key="k",
                fingerprint="f",
                status=201,
                headers=document,
                body=b"\0\xff",
                created_at=datetime.now(UTC),
            )
        )
    with store.reading() as session:
        row = session.get_one(IdempotencyRow, ("c", "k"))

        assert row.headers == document
        assert row.body == b"\0\xff"


def _key(**changes: object) -> DeskKeyRow:
    values: dict[str, object] = {
        "id": "a",
        "name": "desk",
        "secret_hash": "h",
        "created_at": datetime.now(UTC),
    }
    return DeskKeyRow(**(values | changes))


ODD = {"z": 1.0, "a": [1e-7, 1e22, -0.0, 12345678901234567890, True, None], "Ω": "½ 👍 \u2028"}


def test_a_document_kept_as_text_has_the_same_letters_in_both_databases(store: Store) -> None:
    with store.reading() as session:
        kept = session.execute(select(literal(ODD, JsonText))).scalar_one()
        letters = session.execute(
            text("SELECT :it"),
            {"it": JsonText().process_bind_param(ODD, None)},  # type: ignore[arg-type]
        ).scalar_one()

    assert kept == ODD
    # Names in order, numbers as they were written: what a hash or a tag is made from.
    assert letters == (
        '{"a":[1e-07,1e+22,-0.0,12345678901234567890,true,null],"z":1.0,"Ω":"½ 👍 \u2028"}'
    )


def test_a_number_that_json_has_no_word_for_is_not_kept(store: Store) -> None:
    with store.reading() as session, pytest.raises(StatementError):
        session.execute(select(literal({"a": float("nan")}, JsonText)))
