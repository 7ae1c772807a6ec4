"""What a migration does with what was there before, on both databases."""

from __future__ import annotations

import pytest
from alembic import command
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from evenboard.store import Session, Store
from evenboard.store.engine import _alembic

MOMENT = "2026-11-25 09:00:00+00:00"


def _to(store: Store, revision: str) -> None:
    config = _alembic()
    with store.writing() as session:
        config.attributes["connection"] = session.connection()
        if revision == "head":
            command.upgrade(config, revision)
        else:
            command.downgrade(config, revision)


def _layout(session: Session, layout_id: str, order_ref: str | None) -> None:
    session.execute(
        text(
            "INSERT INTO layout (id, order_ref, name, body, version, created_at, created_by, "
            "updated_at, updated_by) VALUES (:id, :ref, 'n', '{}', 1, :at, 'a', :at, 'a')"
        ),
        {"id": layout_id, "ref": order_ref, "at": MOMENT},
    )


def test_orders_that_layouts_spoke_of_before_are_there_once_and_in_one_form(store: Store) -> None:
    _to(store, "0002_layouts")
    with store.writing() as session:
        _layout(session, "one", "Cafe\u0301 7/9")
        _layout(session, "two", "Caf\u00e9 7/9")
        _layout(session, "three", None)

    _to(store, "head")

    with store.reading() as session:
        orders = session.execute(text("SELECT ref, sought, version FROM desk_order")).all()
        layouts = session.execute(text("SELECT order_ref FROM layout ORDER BY id")).scalars().all()
    assert orders == [("Caf\u00e9 7/9", "caf\u00e9 7/9", 1)]
    assert layouts == ["Caf\u00e9 7/9", None, "Caf\u00e9 7/9"]


REPORT = (
    "INSERT INTO report (id, order_ref, number, title, verdict, paper, issued_at, issued_by, "
    "content, content_sha256, signature, key_id, verify_url) "
    "VALUES ('r', 'o', 1, 't', 'pass', 'a4', :at, 'a', :bytes, 'h', 's', 'k', 'u')"
)


@pytest.mark.parametrize(
    "change",
    ["UPDATE report SET content = :bytes", "UPDATE report_paper SET pdf = :bytes"],
)
def test_the_database_itself_refuses_to_change_what_was_issued(store: Store, change: str) -> None:
    with store.writing() as session:
        for statement in (
            "INSERT INTO desk_order (ref, production, contact, note, reports, sought, version, "
            "created_at, created_by, updated_at, updated_by) "
            "VALUES ('o', '', '', '', 1, 'o', 1, :at, 'a', :at, 'a')",
            "INSERT INTO signing_key (id, public_key, private_key, created_at, created_by) "
            "VALUES ('k', 'p', 'q', :at, 'a')",
            REPORT,
            "INSERT INTO report_paper (report_id, paper, pdf, pdf_sha256, made_at) "
            "VALUES ('r', 'a4', :bytes, 'h', :at)",
        ):
            session.execute(text(statement), {"at": MOMENT, "bytes": b"before"})

    with pytest.raises(DBAPIError, match="never changes"), store.writing() as session:
        session.execute(text(change), {"bytes": b"after"})

    with store.reading() as session:
        assert session.execute(text("SELECT content FROM report")).scalar_one() == b"before"
        assert session.execute(text("SELECT pdf FROM report_paper")).scalar_one() == b"before"
