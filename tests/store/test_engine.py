"""Units of work, migrations and locks, on both databases."""

from __future__ import annotations

from pathlib import Path

import pytest
from alembic import command
from sqlalchemy import inspect, select, text

from evenboard.store import Session, Store, StoreUnavailable, driver_url
from evenboard.store.engine import _alembic
from evenboard.store.rows import CatalogueRow, Row
from support.ports import free_port
from support.stores import Interrupted, add_one, in_processes, interrupted, migrate


def test_an_empty_database_gets_all_tables_and_a_second_migration_changes_nothing(
    database_url: str,
) -> None:
    store = Store(database_url)

    store.migrate()
    store.migrate()

    assert store.up_to_date()
    with store.reading() as session:
        tables = set(inspect(session.connection()).get_table_names())
    assert set(Row.metadata.tables) <= tables
    store.close()


def test_the_migrations_make_exactly_the_tables_that_the_code_works_with(store: Store) -> None:
    config = _alembic()

    with store.reading() as session:
        config.attributes["connection"] = session.connection()
        command.check(config)


def test_a_database_of_an_older_version_is_not_called_up_to_date(store: Store) -> None:
    with store.writing() as session:
        session.execute(text("UPDATE alembic_version SET version_num = '0000'"))

    assert not store.up_to_date()


def test_all_migrations_can_be_taken_back(store: Store) -> None:
    config = _alembic()

    with store.writing() as session:
        config.attributes["connection"] = session.connection()
        command.downgrade(config, "base")

    with store.reading() as session:
        assert set(inspect(session.connection()).get_table_names()) <= {"alembic_version"}


def test_what_raises_in_a_unit_of_work_leaves_nothing_behind(store: Store) -> None:
    def change(session: Session) -> None:
        session.execute(select(CatalogueRow)).scalar_one().revision = 7

    with pytest.raises(Interrupted):
        interrupted(store, change)

    assert _revision(store) == 0


def test_four_processes_that_read_and_then_write_lose_no_update(
    store: Store, database_url: str
) -> None:
    assert in_processes(4, add_one, database_url, 50) == [0] * 4

    assert _revision(store) == 200


def test_workers_that_start_together_migrate_once(database_url: str) -> None:
    assert in_processes(4, migrate, database_url) == [0] * 4

    store = Store(database_url)
    assert store.up_to_date()
    assert _revision(store) == 0
    store.close()


def test_a_database_that_does_not_answer_is_said_to_be_unavailable() -> None:
    store = Store(f"postgresql://nobody@127.0.0.1:{free_port()}/none?connect_timeout=2")

    with pytest.raises(StoreUnavailable), store.reading() as session:
        session.execute(text("SELECT 1"))
    store.close()


def test_a_locked_sqlite_file_is_said_to_be_unavailable(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'store.sqlite'}"
    store, other = Store(url), Store(url, patience_s=0.05)
    store.migrate()

    with store.writing() as session:
        session.execute(select(CatalogueRow)).scalar_one()
        with pytest.raises(StoreUnavailable), other.writing() as second:
            second.connection()
    store.close()
    other.close()


@pytest.mark.parametrize(
    ("address", "expected"),
    [
        ("postgres://u@h/d", "postgresql+psycopg://u@h/d"),
        ("postgresql://u:p%40ss@h:5433/d", "postgresql+psycopg://u:p%40ss@h:5433/d"),
        ("postgresql+psycopg://u@h/d", "postgresql+psycopg://u@h/d"),
        ("sqlite:////var/lib/x.sqlite", "sqlite:////var/lib/x.sqlite"),
        ("", ""),
    ],
)
def test_a_database_address_gets_the_driver_that_is_installed(address: str, expected: str) -> None:
    assert driver_url(address) == expected


@pytest.mark.parametrize(
    "address", ["mysql://u@h/d", "sqlite://", "sqlite:///:memory:", "nonsense"]
)
def test_an_address_of_another_kind_is_refused(address: str) -> None:
    with pytest.raises(ValueError, match="must"):
        driver_url(address)


def _revision(store: Store) -> int:
    with store.reading() as session:
        return session.execute(select(CatalogueRow.revision)).scalar_one()
