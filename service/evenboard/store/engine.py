"""The way to the database: one door for readers, one for writers, on SQLite and PostgreSQL."""

from __future__ import annotations

import fcntl
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from alembic import command
from alembic.config import Config as AlembicConfig
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.engine import make_url
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.exc import ArgumentError, InterfaceError, OperationalError, TimeoutError
from sqlalchemy.orm import Session
from sqlalchemy.pool import ConnectionPoolEntry

from evenboard.store.errors import StoreUnavailable

__all__ = ["Store", "driver_url"]

_MIGRATIONS = Path(__file__).parent / "migrations"
_MIGRATION_LOCK = 0x45564E42
"""Key of PostgreSQL's advisory lock while migrating; any number of our own will do."""


def driver_url(address: str) -> str:
    """The database address with our driver's name in it; empty stays empty.

    Raises ``ValueError`` where it is neither PostgreSQL nor a SQLite file.
    """
    if not address:
        return ""
    try:
        url = make_url(address)
    except (ArgumentError, ValueError):
        raise ValueError("must look like postgresql://user@host/name or sqlite:///path") from None
    if url.drivername in ("postgres", "postgresql", "postgresql+psycopg"):
        url = url.set(drivername="postgresql+psycopg")
    elif url.drivername != "sqlite" or url.database in (None, "", ":memory:"):
        # A database in memory would be another one in every worker.
        raise ValueError("must be a PostgreSQL address or a SQLite file (sqlite:///path)")
    return url.render_as_string(hide_password=False)


class Store:
    """The service's database; makes its engine at the first use, so never before a fork.

    ``patience_s`` is how long a writer waits for another on SQLite.
    """

    def __init__(self, url: str, patience_s: float = 5.0) -> None:
        self.url = driver_url(url)
        self.patience_s = patience_s
        self._lock = threading.Lock()
        self._engine: Engine | None = None
        self._writer: Engine | None = None

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A session that only reads; nothing of it is kept. Raises ``StoreUnavailable``."""
        with _available(), Session(self._engines()[0]) as session:
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """One unit of work: all of it is stored at the end, or nothing if it raises.

        On SQLite it takes the write lock at once: a transaction that reads first and upgrades
        later fails with "database is locked" as soon as two do so together. Raises
        ``StoreUnavailable``.
        """
        with _available(), Session(self._engines()[1]) as session, session.begin():
            yield session

    def migrate(self) -> None:
        """Bring the tables up to date; whoever comes second waits and then has nothing to do."""
        engine = self._engines()[1]
        if engine.dialect.name == "sqlite":
            Path(str(engine.url.database)).parent.mkdir(parents=True, exist_ok=True)
        with _available(), self._migrating(), engine.connect() as connection:
            config = _alembic()
            config.attributes["connection"] = connection
            command.upgrade(config, "head")
            connection.commit()

    def up_to_date(self) -> bool:
        """Whether the tables are those this version of the service works with."""
        head = ScriptDirectory.from_config(_alembic()).get_current_head()
        with _available(), self._engines()[0].connect() as connection:
            return MigrationContext.configure(connection).get_current_revision() == head

    def close(self) -> None:
        """Give all connections back."""
        with self._lock:
            if self._engine is not None:
                self._engine.dispose()
            self._engine = self._writer = None

    def _engines(self) -> tuple[Engine, Engine]:
        with self._lock:
            if self._engine is None or self._writer is None:
                self._engine = _engine(self.url, self.patience_s)
                self._writer = self._engine.execution_options(begin="BEGIN IMMEDIATE")
            return self._engine, self._writer

    @contextmanager
    def _migrating(self) -> Iterator[None]:
        engine = self._engines()[1]
        if engine.dialect.name == "sqlite":
            # Beside the file, since SQLite's own lock is taken and given back by each statement
            # that alembic commits.
            with Path(f"{engine.url.database}.migrating").open("w") as lock:
                fcntl.flock(lock, fcntl.LOCK_EX)
                yield
        else:
            with engine.connect() as connection:
                connection.execute(text(f"SELECT pg_advisory_lock({_MIGRATION_LOCK})"))
                try:
                    yield
                finally:
                    connection.execute(text(f"SELECT pg_advisory_unlock({_MIGRATION_LOCK})"))


@contextmanager
def _available() -> Iterator[None]:
    try:
        yield
    except (OperationalError, InterfaceError, TimeoutError) as error:
        raise StoreUnavailable(str(error.__cause__ or error)) from error


def _alembic() -> AlembicConfig:
    config = AlembicConfig()
    config.set_main_option("script_location", str(_MIGRATIONS).replace("%", "%%"))
    return config


def _engine(url: str, patience_s: float) -> Engine:
    engine = create_engine(url, pool_pre_ping=not url.startswith("sqlite"))
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", partial(_prepare_sqlite, patience_s))
        event.listen(engine, "begin", _begin_sqlite)
    return engine


def _prepare_sqlite(
    patience_s: float, connection: DBAPIConnection, _entry: ConnectionPoolEntry
) -> None:
    # The driver's own BEGIN comes only before a write, so that read-then-write loses updates:
    # it is switched off here, and _begin_sqlite says BEGIN.
    connection.isolation_level = None
    for pragma in ("journal_mode=WAL", "synchronous=NORMAL", "foreign_keys=ON"):
        connection.execute(f"PRAGMA {pragma}")
    connection.execute(f"PRAGMA busy_timeout={round(patience_s * 1000)}")


def _begin_sqlite(connection: Connection) -> None:
    connection.exec_driver_sql(connection.get_execution_options().get("begin", "BEGIN"))
