"""Reports made the real way for tests: a body resolved, balanced and set on paper."""

from __future__ import annotations

import hashlib
import io
import json
import re
from datetime import UTC, date, datetime
from typing import Any

from pypdf import PdfReader

from evenboard.balance import balance, balance_document, common_types
from evenboard.catalogue import Catalogue
from evenboard.electrics.layout import Layout
from evenboard.intake import resolve
from evenboard.reports import Issue, ReportDocument, report_document, report_json

__all__ = [
    "VERIFY_URL",
    "a_content",
    "a_document",
    "an_issue",
    "content_of",
    "page_texts",
    "squeezed",
    "village",
]

VERIFY_URL = "https://desk.example/verify/7KQ2M9X4TB3RHV0D"
LAMPS = (
    "led-panel-200",
    "tungsten-open-face-800",
    "led-soft-600",
    "tungsten-fresnel-1000",
    "discharge-par-1200-electronic-pfc",
)


def an_issue(**changes: Any) -> Issue:
    """A third report on an invented order."""
    values: dict[str, Any] = {
        "id": "7KQ2M9X4TB3RHV0D",
        "number": 3,
        "order_ref": "NX-2207/4",
        "issued_at": datetime(2026, 11, 25, 9, 31, tzinfo=UTC),
        "issued_by": "Rental desk, bench 2",
        "production": "The Long Quay",
        "starts_on": date(2026, 12, 1),
        "ends_on": date(2026, 12, 5),
        "contact": "the gaffer, on the quay",
    }
    return Issue(**(values | changes))


def a_content(
    body: dict[str, Any],
    catalogue: Catalogue,
    *,
    issue: Issue | None = None,
    equipment: list[dict[str, Any]] | None = None,
    readings: list[dict[str, Any]] | None = None,
) -> dict[str, Any]:
    """The content of a report on a body, through JSON text as it is kept."""
    layout = resolve(body, catalogue, loose=True)
    return content_of(layout, body, catalogue, issue, equipment, readings)


def content_of(
    layout: Layout,
    body: dict[str, Any],
    catalogue: Catalogue,
    issue: Issue | None = None,
    equipment: list[dict[str, Any]] | None = None,
    readings: list[dict[str, Any]] | None = None,
) -> dict[str, Any]:
    """The same of a layout that is resolved already."""
    content = report_json(
        issue or an_issue(),
        body,
        layout,
        balance_document(balance(layout, common=common_types(catalogue, layout))),
        catalogue_version=catalogue.version,
        equipment=equipment or [],
        readings=readings or [],
    )
    return dict(json.loads(json.dumps(content, allow_nan=False)))


def a_document(content: dict[str, Any], **changes: Any) -> ReportDocument:
    """The pages of a content."""
    text = json.dumps(content, sort_keys=True).encode()
    values: dict[str, Any] = {
        "content_sha256": hashlib.sha256(text).hexdigest(),
        "verify_url": VERIFY_URL,
    }
    return report_document(content, **(values | changes))


def squeezed(text: str) -> str:
    """Text without its spaces and line ends, which a page sets as it needs."""
    return re.sub(r"[\s\u200b]+", "", text)


def page_texts(pdf: bytes) -> list[str]:
    """The text of every page, squeezed."""
    return [squeezed(page.extract_text()) for page in PdfReader(io.BytesIO(pdf)).pages]


def village(catalogue: Catalogue, loads: int) -> dict[str, Any]:
    """A body of that many loads, up to 360: a big supply, three rows of boards, multi-way leads."""
    run = {"cable": "h07rn-f", "laid": "surface"}
    boards: list[dict[str, Any]] = [
        {
            "id": "main",
            "type": "distribution-400",
            "feeder": {"cable": "h07rn-f-single", "csa_mm2": 95, "length_m": 20, "laid": "surface"},
        }
    ]
    places: list[tuple[str, str]] = []
    for place, side in enumerate(("north", "east", "south"), start=1):
        boards.append(
            {
                "id": side,
                "type": "distribution-125",
                "fed_from": {"board": "main", "outlet": f"sub-{place}"},
                "feeder": {**run, "csa_mm2": 35, "length_m": 20},
            }
        )
        for number in (1, 2):
            row = f"{side}-{number}"
            boards.append(
                {
                    "id": row,
                    "type": "three-row-63",
                    "fed_from": {"board": side, "outlet": f"sub-{number}", "adaptor": True},
                    "feeder": {**run, "csa_mm2": 16, "length_m": 15},
                }
            )
            for outlet in catalogue.boards["three-row-63"].outlets:
                if len(outlet.lines) != 1:
                    continue
                lead = f"{row}-{outlet.id}"
                boards.append(
                    {
                        "id": lead,
                        "type": "four-way-16",
                        "fed_from": {"board": row, "outlet": outlet.id, "adaptor": True},
                        "feeder": {**run, "csa_mm2": 2.5, "length_m": 5},
                    }
                )
                places += [(lead, str(way)) for way in range(1, 5)]
    return {
        "name": "Harbour night",
        "region": "eu",
        "supply": {"kind": "service", "rating_a": 400},
        "boards": boards,
        "loads": [
            {
                "id": f"lamp-{index}",
                "name": f"lamp number {index}",
                "fixture": LAMPS[index % len(LAMPS)],
                "board": board,
                "outlet": outlet,
                "setups": ["wide"] if index % 3 else ["wide", "close"],
            }
            for index, (board, outlet) in enumerate(places[:loads])
        ],
        "setups": [{"id": "wide"}, {"id": "close"}],
    }
