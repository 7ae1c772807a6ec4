"""Every folder here is a case: a layout, what is expected of its answer, and who says so.

``expected.json`` holds ``checks`` (a pointer into the answer with the expected ``value``, and
``rtol`` or ``atol``), and may hold ``verdict``, ``null`` (pointers that must be null), ``present``
(findings that must be there), ``absent`` (codes that must not). In a pointer a list is entered by
``id``, ``phase`` or place. ``SOURCE.md`` names the source and the reason of each tolerance.
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest

from evenboard.balance import balance, balance_document
from evenboard.catalogue import Catalogue
from evenboard.intake import resolve

FOLDERS = sorted(path.parent for path in Path(__file__).parent.glob("*/layout.json"))


def at(document: Any, pointer: str) -> Any:
    """What stands at a pointer of an answer."""
    for name in pointer.strip("/").split("/"):
        if isinstance(document, list):
            named = [item for item in document if name in (item.get("id"), item.get("phase"))]
            document = named[0] if named else document[int(name)]
        else:
            document = document[name]
    return document


def answer(folder: Path, catalogue: Catalogue) -> dict[str, Any]:
    """The answer to a case's layout, through the same way as a request's."""
    body = json.loads((folder / "layout.json").read_text())
    document = balance_document(balance(resolve(body, catalogue)))
    return dict(json.loads(json.dumps(document, allow_nan=False)))


def test_there_are_cases() -> None:
    assert len(FOLDERS) >= 15


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_case(folder: Path, catalogue: Catalogue) -> None:
    expected = json.loads((folder / "expected.json").read_text())

    document = answer(folder, catalogue)

    for check in expected["checks"]:
        found = at(document, check["pointer"])
        assert found is not None, check["pointer"]
        tolerances = {"rel_tol": check.get("rtol", 0.0), "abs_tol": check.get("atol", 0.0)}
        assert math.isclose(found, check["value"], **tolerances), (check, found)
    for pointer in expected.get("null", ()):
        assert at(document, pointer) is None, pointer
    codes = {finding["code"] for finding in document["findings"]}
    assert not codes & set(expected.get("absent", ()))
    for wanted in expected.get("present", ()):
        assert any(fits(finding, wanted) for finding in document["findings"]), (wanted, codes)
    assert expected.get("verdict", document["verdict"]) == document["verdict"]


def fits(finding: dict[str, Any], wanted: dict[str, Any]) -> bool:
    """Whether a finding has one of the codes, and the severity and place where they are given."""
    return (
        finding["code"] in wanted["codes"]
        and finding["severity"] == wanted.get("severity", finding["severity"])
        and finding["where"]["board"] == wanted.get("board", finding["where"]["board"])
    )


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_a_case_names_its_source(folder: Path) -> None:
    text = (folder / "SOURCE.md").read_text()

    assert text.startswith("# ")
    assert "olerance" in text or "held exactly" in text
