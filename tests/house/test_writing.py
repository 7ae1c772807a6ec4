"""Whatever changes the store on a request leaves its line in the trail."""

from __future__ import annotations

from pathlib import Path

import pytest

API = Path(__file__).resolve().parents[2] / "service" / "evenboard" / "api"
DOORS = {
    "writing.py": "the unit of work with its line in the trail",
    "idempotency.py": "the same, for posts that may be repeated",
    "limiting.py": "counts calls, which is nobody's change",
    "papers.py": "keeps what an issued report looks like on the other paper",
}
"""Files that may open the store's own door for writing, and why."""


@pytest.mark.parametrize("file", sorted(API.rglob("*.py")), ids=lambda file: file.name)
def test_a_view_changes_the_store_only_through_the_unit_that_writes_the_trail(file: Path) -> None:
    text = file.read_text(encoding="utf-8")

    assert "store.writing(" not in text or file.name in DOORS
