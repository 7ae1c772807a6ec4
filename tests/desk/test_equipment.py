"""What may happen to a piece of equipment, without a server, a clock or a database."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from evenboard.desk.equipment import (
    CAUSES,
    FOUND,
    PieceRefused,
    amend,
    check_out,
    inspect,
    record_cause,
    record_test,
    release,
    restore,
    retire,
    unfit,
    withdraw,
)
from evenboard.desk.testing import due_on
from evenboard.store.piece import Piece
from support.equipment import PRACTICE, TODAY, a_piece, later, seen


def codes(refused: pytest.ExceptionInfo[PieceRefused]) -> list[str]:
    return [reason.code for reason in refused.value.reasons]


def out(piece: Piece, order: str = "A/12", days: int = 0) -> Piece:
    return check_out(piece, order, None, seen(days), PRACTICE, later(days))


def kinked(piece: Piece, days: int = 0) -> Piece:
    return inspect(piece, ["kinked"], "near the plug", False, seen(days))


def bench(piece: Piece, days: int = 0, passed: bool = True) -> Piece:
    return record_test(piece, later(days), passed, "Ben Okafor", "", seen(days))


def test_a_withdrawn_cable_returns_only_with_cause_and_test() -> None:
    piece = kinked(a_piece())

    with pytest.raises(PieceRefused) as neither:
        release(piece, PRACTICE, TODAY)
    caused = record_cause(piece, "crush", "a van", seen(1))
    with pytest.raises(PieceRefused) as no_test:
        release(caused, PRACTICE, later(1))
    back = release(bench(caused, 1), PRACTICE, later(1))

    assert codes(neither) == ["no-cause", "no-test"]
    assert codes(no_test) == ["no-test"]
    assert back.state == "in-service"
    assert unfit(back, PRACTICE, later(1)) == []


@pytest.mark.parametrize("found", [code for code in FOUND if code != "missing"])
def test_whatever_is_found_withdraws_at_once(found: str) -> None:
    piece = inspect(a_piece(), [found], "", False, seen())

    assert piece.state == "withdrawn"
    with pytest.raises(PieceRefused) as refused:
        out(piece)
    assert codes(refused) == ["withdrawn"]
    assert found.replace("-", " ") in str(refused.value)


def test_nothing_found_changes_nothing() -> None:
    piece = a_piece()

    assert inspect(piece, [], "", False, seen()) == piece


def test_an_unknown_cause_keeps_it_withdrawn_whatever_it_passes() -> None:
    piece = bench(record_cause(kinked(a_piece()), "unknown", "", seen()), 1)

    with pytest.raises(PieceRefused) as refused:
        release(piece, PRACTICE, later(1))

    assert codes(refused) == ["cause-unknown", "no-test"]


def test_a_test_before_the_cause_was_recorded_does_not_count() -> None:
    piece = record_cause(bench(kinked(a_piece())), "twist", "", seen())

    with pytest.raises(PieceRefused) as refused:
        release(piece, PRACTICE, TODAY)

    assert codes(refused) == ["no-test"]


def test_a_test_dated_before_the_cause_does_not_count_though_it_is_entered_after() -> None:
    piece = record_cause(kinked(a_piece(), 5), "twist", "", seen(5))
    piece = record_test(piece, later(4), True, "Ben Okafor", "", seen(6))

    with pytest.raises(PieceRefused) as refused:
        release(piece, PRACTICE, later(6))

    assert codes(refused) == ["no-test"]


def test_a_cause_that_is_corrected_wants_a_test_once_more() -> None:
    piece = bench(record_cause(kinked(a_piece()), "twist", "", seen()))
    same = record_cause(piece, "twist", "", seen(1))
    other = record_cause(piece, "overload", "", seen(1))

    assert release(same, PRACTICE, TODAY).state == "in-service"
    with pytest.raises(PieceRefused) as refused:
        release(other, PRACTICE, later(1))
    assert codes(refused) == ["no-test"]


def test_something_new_found_meanwhile_begins_it_all_again() -> None:
    ready = bench(record_cause(kinked(a_piece()), "twist", "", seen()))
    worse = inspect(ready, ["wet"], "", False, seen(1))

    with pytest.raises(PieceRefused) as refused:
        release(worse, PRACTICE, later(1))

    assert codes(refused) == ["no-cause", "no-test"]
    assert worse.standing.withdrawal is not None
    assert worse.standing.withdrawal.found == ("kinked", "wet")


def test_a_failed_test_withdraws_and_undoes_a_passed_one() -> None:
    fresh = bench(a_piece(), passed=False)
    ready = bench(record_cause(kinked(a_piece()), "twist", "", seen()))
    failed = bench(ready, 1, passed=False)

    assert fresh.state == failed.state == "withdrawn"
    with pytest.raises(PieceRefused) as refused:
        release(failed, PRACTICE, later(1))
    assert codes(refused) == ["no-cause", "no-test"]


def test_a_piece_goes_out_on_one_order_at_a_time() -> None:
    piece = check_out(a_piece(), "A/12", later(9), seen(), PRACTICE, TODAY)

    with pytest.raises(PieceRefused) as refused:
        out(piece, "B/7", 1)

    assert codes(refused) == ["out-elsewhere"]
    assert "A/12" in str(refused.value)
    assert "until 2026-12-04" in str(refused.value)
    assert "Ana" in str(refused.value)


def test_a_repeated_check_out_is_the_same_one() -> None:
    once = check_out(a_piece(), "A/12", later(9), seen(), PRACTICE, TODAY)

    assert out(once, "A/12", 2) == once


def test_an_overdue_piece_does_not_go_out_and_every_obstacle_is_named() -> None:
    last_day = due_on(a_piece(), PRACTICE)
    after = (last_day - TODAY).days + 1

    assert out(a_piece(), days=after - 1).state == "out"
    with pytest.raises(PieceRefused) as overdue:
        out(a_piece(), days=after)
    with pytest.raises(PieceRefused) as both:
        out(kinked(out(a_piece())), "B/7", after)
    assert codes(overdue) == ["overdue"]
    assert "1 day ago" in str(overdue.value)
    assert codes(both) == ["withdrawn", "overdue", "out-elsewhere"]


def test_it_comes_home_by_an_inspection_and_then_goes_out_again() -> None:
    home = inspect(out(a_piece()), [], "", True, seen(3))

    assert home.state == "in-service"
    assert out(home, "B/7", 3).standing.hire.order_ref == "B/7"  # type: ignore[union-attr]
    with pytest.raises(PieceRefused) as refused:
        inspect(home, [], "", True, seen(4))
    assert codes(refused) == ["not-out"]


def test_a_look_at_it_on_set_leaves_it_there() -> None:
    piece = inspect(out(a_piece()), ["heat-marks"], "", False, seen())

    assert piece.state == "withdrawn"
    assert piece.standing.hire is not None


def test_a_missing_piece_is_off_its_order_and_once_found_still_wants_cause_and_test() -> None:
    missing = inspect(out(a_piece()), ["missing"], "", True, seen())
    found = inspect(missing, [], "", False, seen(3))

    assert (missing.state, missing.standing.hire) == ("missing", None)
    assert found.state == "withdrawn"
    caused = record_cause(found, "mislaid", "", seen(3))
    assert release(bench(caused, 3), PRACTICE, later(3)).state == "in-service"


def test_it_is_withdrawn_by_hand_with_a_word_why() -> None:
    piece = withdraw(a_piece(), "smells burnt", seen())

    assert piece.state == "withdrawn"
    assert "smells burnt" in unfit(piece, PRACTICE, TODAY)[0].detail


def test_a_release_with_a_test_that_has_run_out_is_refused() -> None:
    piece = bench(record_cause(kinked(a_piece()), "twist", "", seen()))

    with pytest.raises(PieceRefused) as refused:
        release(piece, PRACTICE, later(120))

    assert codes(refused) == ["overdue"]


def test_what_is_in_service_has_nothing_to_put_right() -> None:
    for attempt in (
        lambda piece: release(piece, PRACTICE, TODAY),
        lambda piece: record_cause(piece, "age", "", seen()),
    ):
        with pytest.raises(PieceRefused) as refused:
            attempt(a_piece())
        assert codes(refused) == ["not-withdrawn"]


def test_a_retired_piece_does_nothing_but_come_back_as_it_was() -> None:
    retired = retire(kinked(a_piece()), seen())

    attempts: list[Any] = [
        lambda: out(retired),
        lambda: inspect(retired, ["wet"], "", False, seen()),
        lambda: withdraw(retired, "no", seen()),
        lambda: record_cause(retired, "age", "", seen()),
        lambda: bench(retired),
        lambda: release(retired, PRACTICE, TODAY),
        lambda: amend(retired, replace(retired.record, name="x"), TODAY),
    ]
    for attempt in attempts:
        with pytest.raises(PieceRefused) as refused:
            attempt()
        assert "retired" in codes(refused)
    assert restore(retired).state == "withdrawn"
    with pytest.raises(PieceRefused):
        restore(a_piece())


def test_a_piece_that_is_out_is_not_retired() -> None:
    with pytest.raises(PieceRefused) as refused:
        retire(out(a_piece()), seen())

    assert codes(refused) == ["out"]


def test_a_corrected_record_moves_the_due_day_and_nothing_else() -> None:
    piece = kinked(out(a_piece()))
    yearly = amend(piece, replace(piece.record, test_interval_months=12), TODAY)

    assert due_on(yearly, PRACTICE) == later(-7).replace(year=2027)
    assert yearly.standing == piece.standing


def test_a_record_does_not_stand_in_for_a_test() -> None:
    piece = a_piece()
    passed = bench(piece)

    for before, day in ((piece, later(1)), (passed, TODAY), (passed, later(-8))):
        with pytest.raises(PieceRefused) as refused:
            amend(before, replace(before.record, tested_on=day), later(1))
        assert codes(refused) == ["tested-on"]
    earlier = amend(piece, replace(piece.record, tested_on=later(-20)), TODAY)
    assert due_on(earlier, PRACTICE) < due_on(piece, PRACTICE)


def test_every_cause_but_the_unknown_one_lets_it_come_back() -> None:
    for code in CAUSES.keys() - {"unknown"}:
        piece = bench(record_cause(kinked(a_piece()), code, "", seen()))
        assert release(piece, PRACTICE, TODAY).state == "in-service", code
