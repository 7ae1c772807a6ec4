"""``POST /v1/balance``: what a layout as plugged does. Needs no account, changes nothing."""

from __future__ import annotations

import csv
import io
from typing import Any

from flask import Response

from evenboard import ENGINE_VERSION
from evenboard.api.access import PUBLIC, may
from evenboard.api.answer import as_json, wanted
from evenboard.api.schemas.balance import BalanceSchema
from evenboard.api.schemas.layouts import LayoutSchema
from evenboard.api.spec import Blueprint
from evenboard.api.state import current_catalogue
from evenboard.api.tagged import standing
from evenboard.balance import (
    NOTICE,
    PHASE_TABLE_HEAD,
    Balance,
    balance,
    balance_document,
    common_types,
    phase_table,
)
from evenboard.electrics.layout import Layout

__all__ = ["CSV", "JSON", "balance_answer", "balanced", "blueprint", "phase_table_answer"]

JSON, CSV = "application/json", "text/csv"

blueprint = Blueprint("balance", __name__, description="Which phase carries what, and what to do")


@blueprint.post("/v1/balance")
@may(PUBLIC)
@blueprint.arguments(LayoutSchema)
@blueprint.response(200, BalanceSchema)
@blueprint.alt_response(200, schema={"type": "string"}, content_type=CSV, success=True)
@blueprint.refuses(406)
def post_balance(layout: Layout) -> Response:
    """Balance a layout as plugged.

    Amps per phase and in the neutral, volts and cables board by board, every set-up, and what is
    wrong with a remedy. Nothing is stored. `Accept: text/csv` gives the phase table. With a key or
    a link, equipment that is named by `tag` is looked up: its size and length need not be sent, and
    what is withdrawn or overdue is a finding.
    """
    form = wanted((JSON, CSV))
    result = balanced(layout)
    return phase_table_answer(result) if form == CSV else as_json(balance_answer(result))


def balanced(
    layout: Layout, *, order_ref: str | None = None, layout_id: str | None = None
) -> Balance:
    """The balance of a layout, with the room left counted in the catalogue's common types.

    Whoever has a key or a link is told the state of tagged equipment too; who else counts on it,
    where the layout's own order is said.
    """
    common = common_types(current_catalogue(), layout)
    equipment = standing(layout, order_ref=order_ref, layout_id=layout_id)
    return balance(layout, common=common, equipment=equipment)


def balance_answer(result: Balance) -> dict[str, Any]:
    """A balance with what every computed answer carries."""
    return {
        **balance_document(result),
        "engine_version": ENGINE_VERSION,
        "catalogue_version": current_catalogue().version,
        "notice": NOTICE,
    }


def phase_table_answer(result: Balance) -> Response:
    """The phase table of a balance, for a spreadsheet."""
    text = io.StringIO()
    table = csv.writer(text)
    table.writerow(PHASE_TABLE_HEAD)
    table.writerows([_cell(cell) for cell in row] for row in phase_table(result))
    response = Response(text.getvalue(), content_type=f"{CSV}; charset=utf-8; header=present")
    response.headers["Cache-Control"] = "no-store"
    return response


def _cell(cell: str | float | None) -> str | float | None:
    # A name that begins like a formula would be run by a spreadsheet; a leading quote stops that.
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(("=", "+", "-", "@")) else cell
