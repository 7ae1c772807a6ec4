"""``POST /v1/balance``: what a layout as plugged does. Needs no account, changes nothing."""

from __future__ import annotations

import csv
import io

from flask import Response

from evenboard import ENGINE_VERSION
from evenboard.api.access import PUBLIC, may
from evenboard.api.answer import as_json, wanted
from evenboard.api.schemas.balance import BalanceSchema
from evenboard.api.schemas.layouts import LayoutSchema
from evenboard.api.spec import Blueprint
from evenboard.api.state import current_catalogue
from evenboard.balance import (
    NOTICE,
    PHASE_TABLE_HEAD,
    balance,
    balance_document,
    common_types,
    phase_table,
)
from evenboard.electrics.layout import Layout

__all__ = ["blueprint"]

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
    wrong with a remedy. Nothing is stored. `Accept: text/csv` gives the phase table.
    """
    form = wanted((JSON, CSV))
    catalogue = current_catalogue()
    result = balance(layout, common=common_types(catalogue, layout))
    if form == CSV:
        return _table(phase_table(result))
    return as_json(
        {
            **balance_document(result),
            "engine_version": ENGINE_VERSION,
            "catalogue_version": catalogue.version,
            "notice": NOTICE,
        }
    )


def _table(rows: list[tuple[str | float | None, ...]]) -> Response:
    text = io.StringIO()
    table = csv.writer(text)
    table.writerow(PHASE_TABLE_HEAD)
    table.writerows([_cell(cell) for cell in row] for row in rows)
    response = Response(text.getvalue(), content_type=f"{CSV}; charset=utf-8; header=present")
    response.headers["Cache-Control"] = "no-store"
    return response


def _cell(cell: str | float | None) -> str | float | None:
    # A name that begins like a formula would be run by a spreadsheet; a leading quote stops that.
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(("=", "+", "-", "@")) else cell
