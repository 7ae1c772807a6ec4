"""The desk's practice and its calendar: how often it tests, and which day it is there."""

from __future__ import annotations

from datetime import date, datetime

from evenboard.api.state import current_catalogue, state
from evenboard.desk.equipment import Seen
from evenboard.desk.testing import Practice

__all__ = ["practice", "seen", "today"]

STRICTEST_MONTHS = 3
"""Where a region's practice names no interval: the shortest that one of the regions asks for."""


def practice() -> Practice:
    """How often a piece without an interval of its own is tested, and on whose word."""
    config = state().config
    region = current_catalogue().regions[config.region]
    if config.test_interval_months is not None:
        return Practice(config.test_interval_months, "the desk's own setting")
    said = region.bases.get("test_interval_months")
    why = f"{region.name}: {said.text}" if said else region.name
    if region.test_interval_months is None:
        until = f"{STRICTEST_MONTHS} months until the desk sets its own"
        return Practice(STRICTEST_MONTHS, f"{until}, the strictest practice known here. {why}")
    return Practice(region.test_interval_months, why)


def today() -> date:
    """The day it is where the service runs: days are what is written on a test tag."""
    return datetime.now().astimezone().date()


def seen(by: str) -> Seen:
    """Somebody who does something now."""
    return Seen(by, datetime.now().astimezone())
