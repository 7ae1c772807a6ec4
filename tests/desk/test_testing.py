"""When a piece is due, to the day, and what no passed test can show."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenboard.desk.testing import (
    Measured,
    Practice,
    days_overdue,
    due_by,
    due_on,
    faults_of_pass,
    months_after,
)
from support.equipment import MEASURED, PRACTICE, TODAY, a_piece, later


@pytest.mark.parametrize(
    ("day", "months", "then"),
    [
        (date(2026, 11, 30), 3, date(2027, 2, 28)),
        (date(2027, 11, 30), 3, date(2028, 2, 29)),
        (date(2026, 12, 31), 6, date(2027, 6, 30)),
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2026, 11, 25), 12, date(2027, 11, 25)),
        (date(2026, 3, 31), -1, date(2026, 2, 28)),
    ],
)
def test_months_are_those_of_the_calendar(day: date, months: int, then: date) -> None:
    assert months_after(day, months) == then


def test_the_interval_counts_from_the_last_test_else_from_when_it_was_bought() -> None:
    tested = a_piece(tested_on=date(2026, 10, 1), bought_on=date(2026, 1, 1))
    bought = a_piece(tested_on=None, bought_on=date(2026, 10, 1))

    assert due_on(tested, PRACTICE) == due_on(bought, PRACTICE) == date(2027, 1, 1)


def test_a_piece_of_which_nothing_is_known_is_due_at_once() -> None:
    piece = a_piece(tested_on=None, test_interval_months=12)

    assert due_on(piece, PRACTICE) == TODAY
    assert days_overdue(piece, PRACTICE, TODAY) == 0
    assert days_overdue(piece, PRACTICE, later(2)) == 2


def test_its_own_interval_goes_before_the_desk_s() -> None:
    piece = a_piece(tested_on=date(2026, 10, 1), test_interval_months=1)

    assert due_on(piece, PRACTICE) == date(2026, 11, 1)
    assert days_overdue(piece, PRACTICE, TODAY) == 24


@given(
    st.dates(date(2020, 1, 1), date(2040, 1, 1)),
    st.integers(1, 60),
    st.integers(-40, 40),
)
def test_the_store_is_asked_for_those_and_only_those_that_are_due(
    day: date, months: int, near: int
) -> None:
    practice = Practice(months, "")
    asked = due_by(day, practice)
    tested = asked.counted_from + timedelta(days=near)

    assert (months_after(tested, months) <= day) == (tested <= asked.counted_from)


def test_a_passed_test_has_its_figures_and_they_are_good() -> None:
    assert faults_of_pass("cable", Measured(**MEASURED)) == {}  # type: ignore[arg-type]
    assert faults_of_pass("cable", Measured()).keys() == {
        "continuity_ohm",
        "insulation_mohm",
        "polarity",
    }
    bad = Measured(continuity_ohm=1.1, insulation_mohm=0.9, polarity="wrong")
    assert faults_of_pass("board", bad).keys() == {
        "continuity_ohm",
        "insulation_mohm",
        "polarity",
    }
    # A lamp of class II has no protective conductor to measure.
    assert faults_of_pass("fixture", Measured(insulation_mohm=2.0)) == {}
