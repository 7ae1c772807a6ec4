"""The room's README says of every code what it means, and of every limit its default."""

from __future__ import annotations

import re
from dataclasses import fields
from pathlib import Path

import evenboard.findings
from evenboard.electrics.equipment import Limits
from evenboard.findings import RULES
from evenboard.findings.rules import code_of

README = Path(evenboard.findings.__file__).parent / "README.md"
SENTENCES = dict(re.findall(r"^- `([a-z-]+)`: (.+)$", README.read_text("utf-8"), re.MULTILINE))


def test_every_code_has_its_sentence_and_no_sentence_is_left_over() -> None:
    assert set(SENTENCES) == {code_of(rule) for rule in RULES}


def test_a_sentence_names_the_severity_of_its_code() -> None:
    for code, sentence in SENTENCES.items():
        assert re.match(r"(fail|caution|note)\b", sentence), code


def test_every_limit_is_named_with_its_default() -> None:
    text = README.read_text("utf-8")

    for limit in fields(Limits):
        paragraph = next((s for s in SENTENCES.values() if f"`{limit.name}`" in s), None)
        assert paragraph is not None, limit.name
        assert re.search(rf"\b{limit.default:g}\b", paragraph), limit.name
    assert "leakage_share_pct" in text
