"""The browser, and phones on the live service."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, sync_playwright

from support.desk_pages import Desk, furnish
from support.phone import SMALL_PHONE, Phone, chromium, phone_on
from support.service import Service


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for all browser tests."""
    with sync_playwright() as playwright:
        running = chromium(playwright)
        yield running
        running.close()


@pytest.fixture
def phone(browser: Browser, server: Service) -> Iterator[Phone]:
    """A phone of common size, at night."""
    with phone_on(browser, server.url) as one:
        yield one


@pytest.fixture
def small_phone(browser: Browser, server: Service) -> Iterator[Phone]:
    """The narrowest phone, at night."""
    with phone_on(browser, server.url, SMALL_PHONE) as one:
        yield one


@pytest.fixture(scope="session")
def desk(desk_secret: str) -> str:
    """A key of the live service's desk."""
    return desk_secret


@pytest.fixture
def elsewhere(server: Service, desk: str) -> Desk:
    """The same desk at another place."""
    return Desk(server.url, desk)


@pytest.fixture(scope="session")
def furnished_desk(server: Service, desk: str) -> str:
    """The same key, of a desk with something on every page."""
    furnish(Desk(server.url, desk))
    return desk


@pytest.fixture
def other(browser: Browser, server: Service) -> Iterator[Phone]:
    """A second phone."""
    with phone_on(browser, server.url) as one:
        yield one
