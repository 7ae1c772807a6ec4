"""What may happen to a piece of equipment, as functions of what it is and what is done to it.

A piece goes out on one order at a time and only while it is fit. Whatever is found on it withdraws
it at once. It comes back into service only with a recorded cause and a test passed after that;
while the cause is unknown it stays where it is. Nothing here asks a clock, a request or a database.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from evenboard.desk.testing import Practice, dated, days_overdue, due_on
from evenboard.store.piece import Cause, Hire, Piece, Record, Standing, Test, Withdrawal

__all__ = [
    "CAUSES",
    "FOUND",
    "KINDS",
    "STATES",
    "UNKNOWN",
    "PieceRefused",
    "Reason",
    "Seen",
    "amend",
    "check_out",
    "enter",
    "found_words",
    "inspect",
    "obstacles",
    "record_cause",
    "record_test",
    "release",
    "restore",
    "retire",
    "unfit",
    "withdraw",
]

KINDS = ("cable", "board", "adapter", "multi-way", "fixture", "other")
STATES = ("in-service", "out", "withdrawn", "missing", "retired")
FOUND = (
    "deformed",
    "kinked",
    "heat-marks",
    "sheath-cut",
    "connector-burnt",
    "wet",
    "missing",
    "failed-test",
    "other",
)
"""What an inspection may find."""
CAUSES = {
    "uneven-phases": "uneven phases",
    "overload": "overload",
    "coiled-under-load": "coiled under load",
    "contact-heat": "contact heat",
    "crush": "crushed, or run over",
    "cut": "cut or abrasion",
    "pull": "pull",
    "twist": "twist, from coiling",
    "water": "water",
    "chemical-uv": "chemicals or sunlight",
    "age": "age",
    "mislaid": "mislaid and found again",
    "no-defect": "looked at again: nothing is wrong with it",
    "unknown": "unknown",
}
"""What makes a piece unfit, by code."""
UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Reason:
    """Why something cannot be done with a piece: a code and a sentence."""

    code: str
    detail: str


class PieceRefused(ValueError):
    """A piece is not in a state for what was wanted; ``reasons`` has every obstacle."""

    def __init__(self, piece: Piece, reasons: Sequence[Reason]) -> None:
        super().__init__(" ".join(reason.detail for reason in reasons))
        self.piece = piece
        self.reasons = tuple(reasons)


@dataclass(frozen=True, slots=True)
class Seen:
    """Who did something and when; the moment has the desk's own zone, for the day it is there."""

    by: str
    at: datetime


def enter(piece: Piece, today: date) -> Piece:
    """A new piece: in service, and due for its test as what is known of it says."""
    return dated(replace(piece, standing=Standing()), today)


def amend(piece: Piece, record: Record, today: date) -> Piece:
    """A piece with its record written anew, and its due day after that.

    Raises :class:`PieceRefused` where it is retired, or where the record would move the day of its
    last test though tests are recorded as such once a piece is on the list.
    """
    reasons = _retired(piece)
    known, said = piece.record.tested_on, record.tested_on
    if said != known:
        entered = piece.created_at.date()
        if piece.standing.tested is not None or (said is not None and said > entered):
            detail = (
                f"tested_on is the last test before {piece.tag} was put on the list, {entered}: "
                "record later ones as tests."
            )
            reasons.append(Reason("tested-on", detail))
    if reasons:
        raise PieceRefused(piece, reasons)
    return dated(replace(piece, record=record, test_by=None), today)


def unfit(piece: Piece, practice: Practice, today: date) -> list[Reason]:
    """Why a piece must not go out or be put in a report; empty where it is fit."""
    standing = piece.standing
    reasons = []
    if standing.retired_at is not None:
        reasons.append(Reason("retired", f"{piece.tag} was retired on {_day(standing.retired_at)}"))
    if standing.withdrawal is not None:
        found = found_words(standing.withdrawal)
        since = _day(standing.withdrawal.since)
        if piece.state == "missing":
            reasons.append(Reason("missing", f"{piece.tag} is missing since {since}"))
        else:
            reasons.append(Reason("withdrawn", f"{piece.tag} is withdrawn since {since}: {found}"))
    days = days_overdue(piece, practice, today)
    if days:
        due = due_on(piece, practice)
        reasons.append(
            Reason("overdue", f"{piece.tag} was due for its test on {due}, {_days(days)} ago")
        )
    return [Reason(reason.code, f"{reason.detail}.") for reason in reasons]


def obstacles(piece: Piece, order_ref: str, practice: Practice, today: date) -> list[Reason]:
    """Why a piece cannot go out on an order; empty where it can."""
    reasons = unfit(piece, practice, today)
    hire = piece.standing.hire
    if hire is not None and hire.order_ref != order_ref:
        until = f", until {hire.until}" if hire.until else ""
        reasons.append(
            Reason(
                "out-elsewhere",
                f"{piece.tag} is out on order {hire.order_ref} since {_day(hire.since)}{until}, "
                f"handed out by {hire.by}.",
            )
        )
    return reasons


def check_out(
    piece: Piece,
    order_ref: str,
    until: date | None,
    seen: Seen,
    practice: Practice,
    today: date,
) -> Piece:
    """Hand a piece out on an order. On that order already, only its last day may change.

    Raises :class:`PieceRefused` where it is unfit or out on another order.
    """
    reasons = obstacles(piece, order_ref, practice, today)
    if reasons:
        raise PieceRefused(piece, reasons)
    hire = piece.standing.hire or Hire(order_ref, seen.at, until, seen.by)
    return _stands(piece, hire=replace(hire, until=until or hire.until))


def inspect(piece: Piece, found: Sequence[str], note: str, returned: bool, seen: Seen) -> Piece:
    """Look a piece over; what is found withdraws it, and nothing found changes nothing of that.

    ``returned`` says that it came home from its order with this. Raises :class:`PieceRefused`
    where it is to come home and is not out, or is retired.
    """
    reasons = _retired(piece)
    if returned and piece.standing.hire is None:
        reasons.append(Reason("not-out", f"{piece.tag} is not out on an order."))
    if reasons:
        raise PieceRefused(piece, reasons)
    if returned or "missing" in found:
        # What is missing is on no order any more: the order is over without it.
        piece = _stands(piece, hire=None)
    withdrawal = piece.standing.withdrawal
    if withdrawal is not None and "missing" in withdrawal.found and "missing" not in found:
        # It is here to be looked at, so it is no longer missing; it stays withdrawn.
        here = tuple("was-missing" if code == "missing" else code for code in withdrawal.found)
        piece = _stands(piece, withdrawal=replace(withdrawal, found=here))
    return _withdrawn(piece, found, note, seen) if found else piece


def withdraw(piece: Piece, note: str, seen: Seen) -> Piece:
    """Take a piece out of service by hand. Raises :class:`PieceRefused` where it is retired."""
    reasons = _retired(piece)
    if reasons:
        raise PieceRefused(piece, reasons)
    return _withdrawn(piece, (), note, seen)


def record_cause(piece: Piece, code: str, note: str, seen: Seen) -> Piece:
    """Record what made a withdrawn piece unfit. A test passed before that counts no more.

    Raises :class:`PieceRefused` where it is not withdrawn.
    """
    withdrawal = piece.standing.withdrawal
    if withdrawal is None or piece.standing.retired_at is not None:
        raise PieceRefused(piece, _retired(piece) or [_not_withdrawn(piece)])
    before = withdrawal.cause
    if before is not None and (before.code, before.note) == (code, note):
        return piece
    cause = Cause(code, note, seen.by, seen.at)
    return _stands(piece, withdrawal=replace(withdrawal, cause=cause, passed=None))


def record_test(
    piece: Piece, on: date, passed: bool, competent_person: str, note: str, seen: Seen
) -> Piece:
    """Record a test. A failed one withdraws at once; a passed one sets the next due day.

    A test counts for coming back into service where it was made on the day of the recorded cause
    or later. Raises :class:`PieceRefused` where the piece is retired.
    """
    reasons = _retired(piece)
    if reasons:
        raise PieceRefused(piece, reasons)
    if not passed:
        return _withdrawn(piece, ("failed-test",), note, seen)
    test = Test(on, competent_person, seen.at)
    withdrawal, latest = piece.standing.withdrawal, piece.standing.tested
    if latest is None or latest.on <= on:
        piece = _stands(piece, tested=test)
    if withdrawal is not None:
        cause = withdrawal.cause
        if cause is not None and cause.code != UNKNOWN and on >= cause.at.date():
            piece = _stands(piece, withdrawal=replace(withdrawal, passed=test))
    return dated(piece, on)


def release(piece: Piece, practice: Practice, today: date) -> Piece:
    """Put a withdrawn piece back into service.

    Raises :class:`PieceRefused` where its cause is not recorded or unknown, where no test was
    passed since, or where that test is overdue again.
    """
    withdrawal = piece.standing.withdrawal
    if withdrawal is None or piece.standing.retired_at is not None:
        raise PieceRefused(piece, _retired(piece) or [_not_withdrawn(piece)])
    reasons = []
    if withdrawal.cause is None:
        reasons.append(
            Reason("no-cause", f"What made {piece.tag} unfit is not recorded: record the cause.")
        )
    elif withdrawal.cause.code == UNKNOWN:
        reasons.append(
            Reason(
                "cause-unknown",
                f"What made {piece.tag} unfit is unknown: it stays withdrawn until that is found.",
            )
        )
    if withdrawal.passed is None:
        since = "it was withdrawn" if withdrawal.cause is None else "its cause was recorded"
        reasons.append(Reason("no-test", f"{piece.tag} has passed no test since {since}: test it."))
    back = _stands(piece, withdrawal=None)
    if not reasons and days_overdue(back, practice, today):
        due = due_on(back, practice)
        reasons.append(Reason("overdue", f"{piece.tag} was due for its test on {due}: test it."))
    if reasons:
        raise PieceRefused(piece, reasons)
    return back


def retire(piece: Piece, seen: Seen) -> Piece:
    """Take a piece out of the stock for good, its history kept.

    Raises :class:`PieceRefused` while it is out on an order.
    """
    hire = piece.standing.hire
    if hire is not None:
        detail = f"{piece.tag} is out on order {hire.order_ref}: take it back first."
        raise PieceRefused(piece, [Reason("out", detail)])
    return _stands(piece, retired_at=piece.standing.retired_at or seen.at)


def restore(piece: Piece) -> Piece:
    """Take a retired piece back into the stock, withdrawn if it was. Raises PieceRefused."""
    if piece.standing.retired_at is None:
        raise PieceRefused(piece, [Reason("not-retired", f"{piece.tag} is not retired.")])
    return _stands(piece, retired_at=None)


def found_words(withdrawal: Withdrawal) -> str:
    """What was found on a withdrawn piece and what the desk wrote, in words."""
    words = ", ".join(code.replace("-", " ") for code in withdrawal.found) or "taken out by hand"
    return f"{words}; {withdrawal.note}" if withdrawal.note else words


def _withdrawn(piece: Piece, found: Sequence[str], note: str, seen: Seen) -> Piece:
    """Withdraw, or add to what was found; a cause recorded before that explains it no more."""
    before = piece.standing.withdrawal
    if before is None:
        return _stands(piece, withdrawal=Withdrawal(seen.at, seen.by, tuple(found), note))
    return _stands(
        piece,
        withdrawal=replace(
            before,
            found=tuple(dict.fromkeys((*before.found, *found))),
            note=note or before.note,
            cause=None,
            passed=None,
        ),
    )


def _stands(piece: Piece, **changes: object) -> Piece:
    return replace(piece, standing=replace(piece.standing, **changes))  # type: ignore[arg-type]


def _retired(piece: Piece) -> list[Reason]:
    when = piece.standing.retired_at
    if when is None:
        return []
    return [Reason("retired", f"{piece.tag} was retired on {_day(when)}: restore it first.")]


def _not_withdrawn(piece: Piece) -> Reason:
    return Reason("not-withdrawn", f"{piece.tag} is in service; there is nothing to put right.")


def _day(moment: datetime) -> str:
    return moment.date().isoformat()


def _days(number: int) -> str:
    return "1 day" if number == 1 else f"{number} days"
