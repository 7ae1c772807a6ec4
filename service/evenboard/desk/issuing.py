"""Issuing a check report: numbered on its order, signed, set on paper, never changed again.

Setting a page takes seconds and nobody shall wait for it with the database held. So a report is
drafted on what the order looks like, and issued only if the order still looks so; else it is
drafted again.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import Enum
from typing import Any, Final

from evenboard.desk import proof, telling
from evenboard.electrics.layout import Layout
from evenboard.intake import Fault
from evenboard.reports import Issue, render_report, report_document, report_json
from evenboard.store import Session, layouts, orders, reports
from evenboard.store.errors import NotThere
from evenboard.store.layouts import new_id
from evenboard.store.orders import Details
from evenboard.store.reports import Paper, Report
from evenboard.store.signing import SigningKey

__all__ = [
    "UNSAID",
    "Acceptance",
    "AlreadySuperseded",
    "Draft",
    "FailingLayout",
    "NothingToAccept",
    "Outdated",
    "SupersedesUnknown",
    "Survey",
    "Unsaid",
    "Wish",
    "draft",
    "issue",
    "judge",
    "set_on_paper",
    "survey",
]

Json = Mapping[str, Any]


class Unsaid(Enum):
    """Stands for what the desk leaves to the rule."""

    UNSAID = "unsaid"


UNSAID: Final = Unsaid.UNSAID


class Outdated(Exception):
    """The order has changed since the report was drafted; draft it again."""


class FailingLayout(Exception):
    """The layout fails and nobody has answered for it; ``faults`` say where and what to do."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        super().__init__(
            "This layout fails. Mend what errors lists, or let a competent person answer for it "
            "with a reason, in accept_fail: both are then printed on the paper."
        )
        self.faults = tuple(faults)


class NothingToAccept(ValueError):
    """Somebody answers for a failing layout that does not fail."""


class SupersedesUnknown(ValueError):
    """The report to be superseded is not one of this order."""


class AlreadySuperseded(ValueError):
    """The report to be superseded has been superseded already."""


@dataclass(frozen=True, slots=True)
class Acceptance:
    """The competent person who answers for a layout that fails, and why it may go out."""

    by: str
    reason: str


@dataclass(frozen=True, slots=True)
class Wish:
    """A report as the desk wants it.

    ``body`` is the layout as checked, ``layout`` what it was resolved to, ``answer`` its balance as
    plain values. ``supersedes`` is the id of a report, None for none, or left to the rule of
    :func:`survey`. ``base_url`` is where the desk's service is found.
    """

    order_ref: str
    body: Json
    layout: Layout
    answer: Json
    catalogue_version: str
    issued_by: str
    base_url: str
    title: str = ""
    note: str = ""
    paper: str = "a4"
    supersedes: str | Unsaid | None = UNSAID
    accepted: Acceptance | None = None
    layout_id: str | None = None
    layout_version: int | None = None
    equipment: tuple[Json, ...] = ()
    readings: tuple[Json, ...] = ()


@dataclass(frozen=True, slots=True)
class Survey:
    """What of an order goes into a report: its details, the number, what is superseded."""

    details: Details
    number: int
    supersedes: Report | None


@dataclass(frozen=True, slots=True)
class Draft:
    """A report that is ready to be issued, and on what it was drafted."""

    survey: Survey
    report: Report
    content: bytes
    paper: Paper
    key: SigningKey


def judge(body: Json, answer: Json, accepted: Acceptance | None, at: str = "/layout") -> None:
    """Let a failing layout through only where somebody answers for it.

    ``at`` is the place of the layout in what was sent; where that names a saved one, all faults are
    there.

    Raises
    ------
    FailingLayout
        If the verdict is fail and nobody answers for it.
    NothingToAccept
        If somebody does and it is not.
    """
    fails = answer["verdict"] == "fail"
    if fails and accepted is None:
        raise FailingLayout(
            [
                Fault(_place(body, finding["where"], at), _sentence(finding))
                for finding in answer["findings"]
                if finding["severity"] == "fail"
            ]
        )
    if accepted is not None and not fails:
        raise NothingToAccept(
            f"This layout does not fail, its verdict is {answer['verdict']}: leave this out."
        )


def _place(body: Json, where: Json, at: str) -> str:
    if at != "/layout":
        return at
    for one, many in (("load", "loads"), ("board", "boards")):
        ids = [thing["id"] for thing in body.get(many) or ()]
        if where[one] in ids:
            return f"{at}/{many}/{ids.index(where[one])}"
    return at


def _sentence(finding: Json) -> str:
    return f"{finding['message']} {finding['remedy']}".strip()


def survey(session: Session, wish: Wish) -> Survey:
    """What an order gives to a report at this moment.

    Where the desk does not say what is superseded, it is the order's current report of the same
    saved layout; of a layout that is not saved, the current one of the same title, and none where
    there is no title: two boards without a name are not the same board.

    Raises
    ------
    SupersedesUnknown, AlreadySuperseded
        If the report that the desk names cannot be superseded.
    """
    try:
        order = orders.get(session, wish.order_ref)
    except NotThere:
        return Survey(Details(), 1, _superseded(session, wish))
    return Survey(order.details, order.reports + 1, _superseded(session, wish))


def _superseded(session: Session, wish: Wish) -> Report | None:
    if isinstance(wish.supersedes, str):
        named = reports.find(session, wish.supersedes)
        if named is None or named.order_ref != wish.order_ref:
            raise SupersedesUnknown(
                "There is no such report on this order. null supersedes none; left out, it is the "
                "current report of the same layout."
            )
        if named.superseded_by is not None:
            raise AlreadySuperseded(
                f"Report {named.number} has been superseded already, by {named.superseded_by}."
            )
        return named
    if wish.supersedes is None or not (wish.layout_id or wish.title):
        return None
    return reports.current(session, wish.order_ref, layout_id=wish.layout_id, title=wish.title)


def draft(wish: Wish, on: Survey, key: SigningKey, *, report_id: str | None = None) -> Draft:
    """The report, signed and set on paper; nothing is stored yet.

    Raises
    ------
    RenderFailed
        If a page cannot be set.
    """
    report_id = report_id or new_id()
    # To the millisecond: what stands in the content, in the store and in answers is one moment.
    now = datetime.now(UTC)
    issued_at = now.replace(microsecond=now.microsecond // 1000 * 1000)
    content = proof.canonical(_content(wish, on, report_id, issued_at))
    report = Report(
        id=report_id,
        order_ref=wish.order_ref,
        number=on.number,
        layout_id=wish.layout_id,
        layout_version=wish.layout_version,
        title=wish.title,
        verdict=str(wish.answer["verdict"]),
        paper=wish.paper,
        issued_at=issued_at,
        issued_by=wish.issued_by,
        supersedes=None if on.supersedes is None else on.supersedes.id,
        content_sha256=proof.sha256(content),
        signature=proof.sign(key, content),
        key_id=key.id,
        verify_url=f"{wish.base_url}/verify/{report_id}",
    )
    return Draft(on, report, content, set_on_paper(report, content, wish.paper), key)


def _content(wish: Wish, on: Survey, report_id: str, issued_at: datetime) -> dict[str, Any]:
    issue = Issue(
        id=report_id,
        number=on.number,
        order_ref=wish.order_ref,
        issued_at=issued_at,
        issued_by=wish.issued_by,
        production=on.details.production,
        starts_on=on.details.starts_on,
        ends_on=on.details.ends_on,
        contact=on.details.contact,
        title=wish.title,
        note=wish.note,
        supersedes=None if on.supersedes is None else on.supersedes.id,
        supersedes_number=None if on.supersedes is None else on.supersedes.number,
        accepted_by="" if wish.accepted is None else wish.accepted.by,
        accepted_reason="" if wish.accepted is None else wish.accepted.reason,
    )
    return report_json(
        issue,
        wish.body,
        wish.layout,
        wish.answer,
        catalogue_version=wish.catalogue_version,
        equipment=wish.equipment,
        readings=wish.readings,
    )


def set_on_paper(report: Report, content: bytes, size: str) -> Paper:
    """A report on one size of paper, from its canonical content and nothing else.

    Raises
    ------
    ValueError
        If there is no such size.
    RenderFailed
        If a page cannot be set.
    """
    pages = report_document(
        json.loads(content),
        content_sha256=report.content_sha256,
        verify_url=report.verify_url,
        key_id=report.key_id,
        paper=size,  # type: ignore[arg-type]
    )
    pdf = render_report(pages, content=content, proof=proof.canonical(proof.statement(report)))
    return Paper(size, pdf, proof.sha256(pdf))


def issue(session: Session, wish: Wish, drafted: Draft, by: str) -> Report:
    """Issue a drafted report, and tell the webhooks, all in the caller's unit of work.

    Raises
    ------
    Outdated
        If order, saved layout or signing key are no longer those it was drafted on.
    """
    orders.hold(session, wish.order_ref, by)
    key = proof.key_in_force(session, by)
    if survey(session, wish) != drafted.survey or key.id != drafted.key.id:
        raise Outdated
    if wish.layout_id and layouts.get(session, wish.layout_id).version != wish.layout_version:
        raise Outdated
    orders.count_report(session, wish.order_ref)
    reports.add(session, drafted.report, drafted.content)
    reports.keep_paper(session, drafted.report.id, drafted.paper)
    telling.tell_issued(session, drafted.report, drafted.survey.supersedes, wish.base_url)
    return drafted.report
