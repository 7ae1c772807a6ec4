"""Layouts that name equipment by its tag: its data fill them in, and its state is judged.

Whoever may look a tag up (a key or a link) gets the record's cable, size and length where the
layout says nothing of them; where it says something else, one of the two is wrong and that is a
fault. What must not go out is a finding in a balance and never gets into an issued report.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from datetime import date
from typing import Any

from evenboard.desk.equipment import found_words, unfit
from evenboard.desk.testing import Practice, due_on, tested_on
from evenboard.findings import EquipmentStatus
from evenboard.intake import Fault
from evenboard.intake.fault import pointer
from evenboard.intake.nearest import quoted
from evenboard.intake.runs import SAME_SIZE
from evenboard.store import Session, tags
from evenboard.store.piece import Piece, Record
from evenboard.store.tags import Days, Place, Use

__all__ = [
    "Claim",
    "EquipmentWithdrawn",
    "check_equipment",
    "claims",
    "filled",
    "pieces_on_paper",
    "statuses",
]

SAME_LENGTH_M = 0.05
"""Lengths closer than this are one: nobody measures a lead to the centimetre (estimate)."""
FITS: Mapping[Use, tuple[str, ...]] = {
    "board": ("board", "adapter", "multi-way", "other"),
    "run": ("cable", "adapter", "multi-way", "other"),
    "load": ("fixture", "other"),
}
"""Which kinds of pieces may stand where."""
NOUNS: Mapping[Use, str] = {"board": "board", "run": "run of cable", "load": "lamp or appliance"}


class EquipmentWithdrawn(ValueError):
    """Pieces that must not go out are in a layout; ``faults`` says which, where and why."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        count = "A piece" if len(faults) == 1 else f"{len(faults)} pieces"
        super().__init__(f"{count} of this layout must not go out; see errors.")
        self.faults = tuple(faults)


@dataclass(frozen=True, slots=True)
class Claim:
    """Somebody else who counts on a piece: an order it is out on, or a layout that names it."""

    tag: str
    order_ref: str | None
    layout_id: str | None
    words: str


def filled(body: Any, pieces: Mapping[str, Piece], *, strict: bool) -> tuple[Any, list[Fault]]:
    """A layout's body with what its tags stand for filled in, and where the two contradict.

    Where not ``strict`` the layout's own words go before the record's and nothing is a fault: so
    is read what was saved before the record changed.
    """
    found = [place for place in tags.places(body) if place.tag in pieces]
    if not found:
        return body, []
    body = deepcopy(body)
    faults: list[Fault] = []
    for place in tags.places(body):
        piece = pieces.get(place.tag)
        if piece is None:
            continue
        if piece.record.kind not in FITS[place.use]:
            detail = f"{quoted(place.tag)} is a {piece.record.kind} on record, not a "
            faults.append(_fault(place, "tag", f"{detail}{NOUNS[place.use]}."))
            continue
        # The body is a copy of our own.
        values: dict[str, Any] = place.values  # type: ignore[assignment]
        for name, recorded in _recorded(place.use, values, piece.record):
            said = values.get(name)
            if said is None:
                values[name] = recorded
            elif not _same(name, said, recorded):
                faults.append(_fault(place, name, _contradiction(place.tag, name, said, recorded)))
    return body, faults if strict else []


def _recorded(use: Use, values: Mapping[str, Any], record: Record) -> Iterable[tuple[str, Any]]:
    """The fields of a place that a record speaks of, where they may stand there."""
    told: list[tuple[str, Any]] = []
    if use == "run":
        spelled_out = values.get("conductor") is not None and values.get("cable") is None
        told = [("length_m", record.length_m)]
        if not spelled_out:
            told += [("cable", record.cable), ("csa_mm2", record.csa_mm2)]
    elif use == "board" and values.get("outlets") is None:
        told = [("type", record.board)]
    elif use == "load" and values.get("custom") is None:
        told = [("fixture", record.fixture)]
    return [(name, value) for name, value in told if value is not None]


def _same(name: str, said: Any, recorded: Any) -> bool:
    if name not in ("csa_mm2", "length_m"):
        return bool(said == recorded)
    if isinstance(said, bool) or not isinstance(said, int | float):
        # What is no number at all, intake refuses in its own words.
        return True
    apart = abs(said - recorded)
    return bool(apart <= (SAME_LENGTH_M if name == "length_m" else SAME_SIZE * recorded))


def _contradiction(tag: str, name: str, said: Any, recorded: Any) -> str:
    unit = {"csa_mm2": " mm2", "length_m": " m"}.get(name, "")
    was, is_now = (f"{v:g}" if isinstance(v, float | int) else str(v) for v in (recorded, said))
    return (
        f"{quoted(tag)} is on record with {was}{unit}, this says {is_now}{unit}: leave it out, or "
        "correct the record."
    )


def _fault(place: Place, name: str, detail: str) -> Fault:
    return Fault(pointer((*place.path, name)), detail)


def statuses(
    pieces: Mapping[str, Piece],
    practice: Practice,
    today: date,
    claimed: Mapping[str, Sequence[str]] | None = None,
    needed_until: date | None = None,
) -> dict[str, EquipmentStatus]:
    """What the findings need to know of each piece.

    ``claimed`` says who else counts on it, ``needed_until`` when the order that it is for is over.
    """
    return {
        tag: EquipmentStatus(
            tag=tag,
            as_of=today,
            withdrawn=piece.state in ("withdrawn", "missing", "retired"),
            reason=_reason(piece),
            test_due=due_on(piece, practice),
            claimed_by=tuple((claimed or {}).get(tag, ())),
            needed_until=needed_until,
        )
        for tag, piece in pieces.items()
    }


def _reason(piece: Piece) -> str:
    withdrawal = piece.standing.withdrawal
    if piece.standing.retired_at is not None:
        return "retired"
    return "" if withdrawal is None else found_words(withdrawal)


def claims(
    session: Session,
    pieces: Mapping[str, Piece],
    *,
    order_ref: str | None,
    layout_id: str | None = None,
) -> list[Claim]:
    """Who else counts on these pieces: orders they are out on, layouts of orders at that time.

    Two orders whose days are known and lie apart do not meet. A layout that belongs to no order
    claims nothing: it is a sketch until then.
    """
    found = []
    for tag, piece in sorted(pieces.items()):
        hire = piece.standing.hire
        if hire is not None and hire.order_ref != order_ref:
            until = f" until {hire.until}" if hire.until else ""
            words = f"it is out on order {hire.order_ref}{until}"
            found.append(Claim(tag, hire.order_ref, None, words))
    naming = [
        n
        for n in tags.naming(session, list(pieces))
        if n.order_ref not in (None, order_ref) and n.layout_id != layout_id
    ]
    orders = {n.order_ref for n in naming if n.order_ref} | ({order_ref} if order_ref else set())
    days = tags.order_days(session, orders) if naming else {}
    mine = days.get(order_ref) if order_ref else None
    for n in naming:
        theirs = days.get(n.order_ref or "")
        if not _apart(mine, theirs):
            words = f"layout {quoted(n.layout)} of order {n.order_ref}{_days(theirs)} names it"
            found.append(Claim(n.tag, n.order_ref, n.layout_id, words))
    return found


def _apart(one: Days | None, other: Days | None) -> bool:
    if one is None or other is None:
        return False
    (one_starts, one_ends), (other_starts, other_ends) = one, other
    return bool(
        (one_ends and other_starts and one_ends < other_starts)
        or (other_ends and one_starts and other_ends < one_starts)
    )


def _days(days: Days | None) -> str:
    if days is None or days == (None, None):
        return ""
    starts, ends = days
    if starts and ends:
        return f" ({starts} to {ends})"
    return f" (from {starts})" if starts else f" (to {ends})"


def check_equipment(
    body: Any,
    pieces: Mapping[str, Piece],
    *,
    order_ref: str,
    practice: Practice,
    today: date,
    at: str = "/layout",
) -> None:
    """Let a layout into a report only where all of its known pieces may go out on that order.

    ``at`` is the place of the layout in what was sent; where that names a saved one, all faults are
    there. Raises :class:`EquipmentWithdrawn` where a piece is withdrawn, missing, retired, overdue,
    or out on another order.
    """
    found = list(tags.places(body))
    faults = []
    for place in found:
        piece = pieces.get(place.tag)
        if piece is None:
            continue
        reasons = [reason.detail for reason in unfit(piece, practice, today)]
        hire = piece.standing.hire
        if hire is not None and hire.order_ref != order_ref:
            reasons.append(f"{piece.tag} is out on order {hire.order_ref}.")
        if reasons:
            inside = pointer((*place.path, "tag")) if at == "/layout" else ""
            faults.append(Fault(at + inside, " ".join(reasons)))
    if faults:
        raise EquipmentWithdrawn(list(dict.fromkeys(faults)))


def pieces_on_paper(pieces: Iterable[Piece], practice: Practice) -> list[dict[str, Any]]:
    """The pieces as a report lists them."""
    listed = []
    for piece in sorted(pieces, key=lambda piece: piece.tag):
        record, tested = piece.record, tested_on(piece)
        listed.append(
            {
                "tag": piece.tag,
                "kind": record.kind,
                "name": record.name,
                "cable": record.cable,
                "csa_mm2": record.csa_mm2,
                "length_m": record.length_m,
                "board": record.board,
                "tested_on": tested.isoformat() if tested else None,
                "test_due_on": due_on(piece, practice).isoformat(),
                "state": piece.state,
            }
        )
    return listed
