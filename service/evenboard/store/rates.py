"""How often an address calls, counted for all workers together."""

from __future__ import annotations

from sqlalchemy import delete
from sqlalchemy.orm import Session

from evenboard.store.inserting import inserted
from evenboard.store.rows import RateRow

__all__ = ["count"]


def count(session: Session, caller: str, minute: int) -> int:
    """Count one more call in that minute and say how many there are now."""
    one = inserted(session, RateRow, caller=caller, minute=minute, count=1)
    one_more = one.on_conflict_do_update(
        index_elements=[RateRow.caller, RateRow.minute], set_={"count": RateRow.count + 1}
    ).returning(RateRow.count)
    calls: int = session.execute(one_more).scalar_one()
    if calls == 1:
        # The first call of a minute clears away the minutes that are over.
        session.execute(delete(RateRow).where(RateRow.minute < minute - 1))
    return calls
