"""The content of a report: what is hashed, signed and printed."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from evenboard.balance import NOTICE
from evenboard.catalogue import Catalogue
from evenboard.electrics.equipment import Limits
from evenboard.paths import demo_folder
from support.papers import a_content, an_issue


@pytest.fixture
def body() -> dict[str, Any]:
    file = Path(demo_folder()) / "boathouse-one-phase.json"
    return dict(json.loads(file.read_text(encoding="utf-8"))["layout"])


def test_the_content_says_all_that_the_paper_rests_on(
    body: dict[str, Any], catalogue: Catalogue
) -> None:
    content = a_content(body, catalogue)

    assert content["layout"] == body
    assert content["catalogue_version"] == catalogue.version
    assert content["notice"] == NOTICE
    assert content["issue"]["order_ref"] == "NX-2207/4"
    assert content["issue"]["issued_at"] == "2026-11-25T09:31:00.000+00:00"


def test_every_type_and_cable_on_the_layout_has_its_basis_in_it(
    body: dict[str, Any], catalogue: Catalogue
) -> None:
    resolved = a_content(body, catalogue)["resolved"]

    slugs = {load["fixture"] for load in body["loads"]}
    assert {kind["slug"] for kind in resolved["fixtures"]} == slugs
    assert all(kind["basis"]["text"] for kind in resolved["fixtures"])
    assert [table["cable"] for table in resolved["cable_tables"]] == ["h07rn-f"]
    assert resolved["cable_tables"][0]["standard"]


def test_a_limit_that_the_layout_sets_is_told_from_those_of_the_region(
    body: dict[str, Any], catalogue: Catalogue
) -> None:
    body["limits"] = {"voltage_drop_pct": 3}

    limits = {limit["name"]: limit for limit in a_content(body, catalogue)["resolved"]["limits"]}

    assert set(limits) == set(Limits.__slots__)
    assert limits["voltage_drop_pct"]["value"] == 3.0
    assert limits["voltage_drop_pct"]["set_by"] == "layout"
    assert limits["core_spread_k"]["set_by"] == "general"
    assert limits["core_spread_k"]["basis"]["kind"] == "estimate"


@pytest.mark.parametrize(
    ("changes", "word"),
    [({"issued_at": datetime(2026, 11, 25)}, "time zone"), ({"number": 0}, "number")],
)
def test_an_issue_without_a_clear_moment_or_number_is_refused(
    changes: dict[str, Any], word: str
) -> None:
    with pytest.raises(ValueError, match=word):
        an_issue(**changes)
