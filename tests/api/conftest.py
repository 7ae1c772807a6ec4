"""What tests of the API share: the desk's key for the application they call."""

from __future__ import annotations

import pytest
from flask import Flask

from evenboard.api.access import DESK
from support.callers import headers_of


@pytest.fixture
def desk(app: Flask) -> dict[str, str]:
    """The headers of a caller with a key of the application's desk."""
    return headers_of(app, DESK)
