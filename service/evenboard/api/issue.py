"""What happens between a request for a report and the desk's rule: the layout read and weighed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from evenboard.api.access import caller
from evenboard.api.balance import balanced
from evenboard.api.problem import invalid_body
from evenboard.api.readings import document as reading_document
from evenboard.api.saved_layout import read_layout
from evenboard.api.state import base_url, current_catalogue, state
from evenboard.api.tagged import equipment_to_issue, keep_runs_of_report
from evenboard.api.writing import say, writing
from evenboard.balance import balance_document
from evenboard.desk import proof
from evenboard.desk.issuing import (
    UNSAID,
    Acceptance,
    Draft,
    Outdated,
    Wish,
    draft,
    issue,
    judge,
    survey,
)
from evenboard.electrics.layout import Layout
from evenboard.electrics.solution import Solution
from evenboard.intake import Fault, LayoutInvalid
from evenboard.intake.nearest import quoted
from evenboard.store import Session, layouts, orders, readings, signing
from evenboard.store.errors import NotThere
from evenboard.store.reports import Report
from evenboard.store.signing import SigningKey

__all__ = ["Issuing"]

READINGS = 60
"""Readings of a layout that a report holds at most, the latest: two pages of them."""
_OF_READING = (
    "setup", "board", "at", "by", "meter", "version", "phases", "neutral", "expected", "fits",
    "summary", "explanations", "cautions", "note",
)  # fmt: skip


class Issuing:
    """One request for a report, from its body to the row in the store."""

    def __init__(self, order_ref: str, body: Mapping[str, Any]) -> None:
        self.order_ref = order_ref
        self.body = body
        self._drafted: tuple[Wish, Draft] | None = None
        self._solution: Solution | None = None

    def prepare(self) -> None:
        """Draft the report with nothing held: seconds of sums and typesetting.

        Raises what stands against the report: ``LayoutInvalid``, ``FailingLayout`` and others.
        """
        with state().store.reading() as session:
            wish = self._wish(session)
            on = survey(session, wish)
            key = signing.in_force(session)
        self._drafted = wish, draft(wish, on, key or _first_key())

    def issue(self, session: Session) -> Report:
        """Issue what was prepared. Raises ``Outdated`` where it has to be prepared anew."""
        if self._drafted is None:
            raise ValueError("prepare() comes first")
        wish, drafted = self._drafted
        # The order first, then its pieces: in this order wherever both are held.
        orders.hold(session, self.order_ref, caller().name)
        if self._equipment(session, wish) != wish.equipment:
            raise Outdated
        return self._issued(session, wish, drafted)

    def issue_held(self, session: Session) -> Report:
        """Draft and issue with the order held, where others were faster time and again."""
        orders.hold(session, self.order_ref, caller().name)
        key = proof.key_in_force(session, caller().name)
        wish = self._wish(session, held=True)
        return self._issued(session, wish, draft(wish, survey(session, wish), key))

    def _issued(self, session: Session, wish: Wish, drafted: Draft) -> Report:
        report = issue(session, wish, drafted, caller().name)
        if self._solution is not None:
            keep_runs_of_report(
                session,
                self._solution,
                report_id=report.id,
                order_ref=report.order_ref,
                supersedes=report.supersedes,
            )
        return report

    def _equipment(self, session: Session, wish: Wish) -> tuple[Mapping[str, Any], ...]:
        """The tagged pieces as they are now, held until all is done; refused if one is unfit."""
        at = "/layout" if wish.layout_id is None else "/layout_id"
        return equipment_to_issue(session, wish.body, order_ref=self.order_ref, at=at, held=True)[1]

    def _wish(self, session: Session, *, held: bool = False) -> Wish:
        body = self.body
        accepted = body.get("accept_fail")
        common: dict[str, Any] = {
            "order_ref": self.order_ref,
            "issued_by": body.get("issued_by") or caller().name,
            "base_url": base_url(),
            "note": body.get("note") or "",
            "paper": body.get("paper") or "a4",
            "supersedes": body.get("supersedes", UNSAID),
            "accepted": None
            if accepted is None
            else Acceptance(accepted["by"], accepted["reason"]),
            "catalogue_version": current_catalogue().version,
        }
        if body.get("layout_id") is None:
            given = body["layout"]
            layout, source, at = given.layout, given.body, "/layout"
            title = layout.name
        else:
            saved = self._saved(session, body["layout_id"])
            layout, source, at = _read(saved), saved.body, "/layout_id"
            title = saved.name
            common |= {
                "layout_id": saved.id,
                "layout_version": saved.version,
                "readings": _readings(session, saved.id),
            }
        # Before the verdict: for what must not go out nobody can answer.
        source, pieces = equipment_to_issue(
            session, source, order_ref=self.order_ref, at=at, held=held
        )
        result = balanced(layout, order_ref=self.order_ref, layout_id=body.get("layout_id"))
        self._solution = result.solution
        answer = balance_document(result)
        judge(source, answer, common["accepted"], at)
        title = body.get("title") or title or ""
        common["equipment"] = pieces
        return Wish(body=source, layout=layout, answer=answer, title=title, **common)

    def _saved(self, session: Session, layout_id: str) -> layouts.SavedLayout:
        try:
            saved = layouts.get(session, layout_id)
        except NotThere as error:
            raise invalid_body([Fault("/layout_id", str(error))]) from None
        if saved.order_ref not in (None, self.order_ref):
            detail = (
                f"This layout belongs to order {quoted(str(saved.order_ref))}: issue its report "
                "there, or give the layout to this order first."
            )
            raise invalid_body([Fault("/layout_id", detail)])
        return saved


def _read(saved: layouts.SavedLayout) -> Layout:
    """A saved layout, read; what it names may have gone out of the catalogue since."""
    try:
        return read_layout(saved.body)
    except LayoutInvalid as error:
        told = [Fault("/layout_id", f"{f.pointer}: {f.detail}") for f in error.faults]
        raise LayoutInvalid(told) from None


def _readings(session: Session, layout_id: str) -> tuple[dict[str, Any], ...]:
    """What was measured on a layout, in the order in which it was."""
    taken = readings.listing(session, layout_id, limit=READINGS)
    shown = [reading_document(reading) for reading in reversed(taken)]
    return tuple({name: reading.get(name) for name in _OF_READING} for reading in shown)


def _first_key() -> SigningKey:
    with writing() as session:
        key = proof.key_in_force(session, caller().name)
        say(f"Made signing key {key.id}.")
    return key
