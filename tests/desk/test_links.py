"""Until when a link opens its order or layout."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from evenboard.desk.links import LASTS, LONGEST, EndInvalid, end_of

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


def test_a_link_without_an_end_has_one_all_the_same() -> None:
    assert end_of(None, NOW) == NOW + LASTS


def test_a_link_ends_when_it_is_wished_to() -> None:
    wished = NOW + timedelta(days=3)

    assert end_of(wished, NOW) == wished


@pytest.mark.parametrize("wished", [NOW, NOW - timedelta(days=1)])
def test_an_end_that_is_past_is_refused(wished: datetime) -> None:
    with pytest.raises(EndInvalid, match="past"):
        end_of(wished, NOW)


def test_no_link_opens_for_more_than_a_year() -> None:
    assert end_of(NOW + LONGEST, NOW) == NOW + LONGEST
    with pytest.raises(EndInvalid, match="366 days at most"):
        end_of(NOW + LONGEST + timedelta(seconds=1), NOW)
