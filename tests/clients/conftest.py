"""What tests of the Python client share: a client with a key of the live service's desk."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from evenboard_client import Client
from support.service import Service


@pytest.fixture
def desk(server: Service, desk_secret: str) -> Iterator[Client]:
    """A client of the desk."""
    with Client(server.url, token=desk_secret) as client:
        yield client
