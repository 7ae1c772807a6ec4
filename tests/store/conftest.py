"""A migrated store on each database in turn."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from evenboard.store import Store


@pytest.fixture
def store(database_url: str) -> Iterator[Store]:
    made = Store(database_url)
    made.migrate()
    yield made
    made.close()
