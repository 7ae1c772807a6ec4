"""What the pages of a report say, from its content alone: the same content, the same pages."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from evenboard.reports import lists, records, sources
from evenboard.reports.basis import assumptions, basis_facts
from evenboard.reports.figures import moment, span, trimmed
from evenboard.reports.given import Given, Json
from evenboard.reports.model import (
    Fact,
    FindingEntry,
    Paper,
    Proof,
    ReportDocument,
    VerdictWords,
)
from evenboard.reports.phases import chart, key_figures
from evenboard.reports.pictures import board_picture
from evenboard.reports.runs import RUN_HEAD, run_entries, runs_notes
from evenboard.reports.supply import supply_facts
from evenboard.reports.words import CAUTIONS, PAGE, SEVERITIES, SIGNING, VERDICTS

__all__ = ["LANGUAGES", "report_document"]

LANGUAGES = ("en",)
"""Languages that the paper's words are there in; findings come in English."""
_SHA256 = re.compile(r"[0-9a-f]{64}")


def report_document(
    content: Mapping[str, Any],
    *,
    content_sha256: str,
    verify_url: str,
    key_id: str = "",
    paper: Paper = "a4",
    language: str = "en",
) -> ReportDocument:
    """The pages of a report.

    Parameters
    ----------
    content : mapping
        What ``report_json`` gave, also after a way through JSON text.
    content_sha256 : str
        Hash of the canonical content, 64 hexadecimal digits in lower case.
    verify_url : str
        Where a reader asks whether the paper is genuine; the QR code holds it.
    key_id : str, optional
        Which key signed the content.
    paper : {"a4", "letter"}
        Sheet size.
    language : str
        One of ``LANGUAGES``.

    Returns
    -------
    ReportDocument
        Frozen, finished text.

    Raises
    ------
    ValueError
        If paper, language or hash is not one that there is.
    """
    if paper not in ("a4", "letter"):
        raise ValueError(f"paper is a4 or letter, not {paper!r}")
    if language not in LANGUAGES:
        raise ValueError(f"language is one of {', '.join(LANGUAGES)}, not {language!r}")
    if not _SHA256.fullmatch(content_sha256):
        raise ValueError("content_sha256 is 64 hexadecimal digits in lower case")
    given = Given(content)
    issue = given.issue
    findings = _findings(given)
    verdict = _verdict(given)
    sections = (
        lists.loads(given),
        lists.outlets(given),
        lists.setups(given),
        lists.room(given),
        lists.starting(given),
        records.equipment(given),
        records.readings(given),
    )
    basis_sections = (sources.types(given), sources.tables_used(given), sources.limits(given))
    return ReportDocument(
        paper=paper,
        language=language,
        issued_at=datetime.fromisoformat(issue["issued_at"]),
        title=issue["title"] or content["layout"].get("name") or "Layout without a name",
        subtitle=f"Order {issue['order_ref']}, report {issue['number']}",
        running=f"Order {issue['order_ref']} · report {issue['number']} · {verdict.word}",
        supersedes=_supersedes(issue),
        note=issue["note"],
        verdict=verdict,
        accepted=_accepted(issue),
        order=_order(given),
        supply=supply_facts(given),
        chart=chart(given),
        figures=key_figures(given),
        findings_lead=_findings_lead(findings),
        findings=findings,
        boards=tuple(board_picture(given, board) for board in given.balance["boards"]),
        run_head=RUN_HEAD,
        runs=run_entries(given),
        runs_notes=runs_notes(given),
        sections=tuple(section for section in sections if section is not None),
        basis=basis_facts(given),
        basis_sections=tuple(section for section in basis_sections if section is not None),
        assumptions=assumptions(given),
        cautions=CAUTIONS,
        notice=content["notice"],
        signing=SIGNING,
        proof=_proof(issue["id"], content_sha256, verify_url, key_id),
        words=dict(PAGE),
        layout_json=json.dumps(content["layout"], ensure_ascii=False, indent=1, allow_nan=False),
    )


def _groups(text: str, size: int = 4) -> tuple[str, ...]:
    return tuple(text[start : start + size] for start in range(0, len(text), size))


def _proof(report_id: str, sha256: str, verify_url: str, key_id: str) -> Proof:
    return Proof(
        id=report_id,
        id_groups=_groups(report_id.replace("-", "")),
        sha256=sha256,
        sha256_groups=_groups(sha256, 8),
        sha256_prefix=" ".join(_groups(sha256[:16])),
        verify_url=verify_url,
        key_id=key_id,
    )


def _supersedes(issue: Json) -> str:
    if issue["supersedes"] is None:
        return ""
    number = issue["supersedes_number"]
    which = " ".join(_groups(issue["supersedes"].replace("-", "")))
    return f"Supersedes report {number} ({which})" if number else f"Supersedes report {which}"


def _accepted(issue: Json) -> str:
    # Content of before there was such a word has none.
    if not issue.get("accepted_by"):
        return ""
    return f"{issue['accepted_by']}: {issue['accepted_reason']}"


def _order(given: Given) -> tuple[Fact, ...]:
    issue = given.issue
    facts = (
        ("Order", issue["order_ref"]),
        ("Production", issue["production"]),
        ("Dates", span(issue["starts_on"], issue["ends_on"])),
        ("Contact", issue["contact"]),
        ("Report", f"{issue['number']} of this order"),
        ("Issued", moment(issue["issued_at"])),
        ("Issued by", issue["issued_by"]),
    )
    return tuple(Fact(label, value) for label, value in facts if value)


def _counts(given: Given) -> dict[str, int]:
    severities = [finding["severity"] for finding in given.balance["findings"]]
    return {severity: severities.count(severity) for severity in SEVERITIES}


def _verdict(given: Given) -> VerdictWords:
    kind = given.balance["verdict"]
    word, sentence = VERDICTS[kind]
    counts = [
        f"{count} {SEVERITIES[severity].lower()}"
        for severity, count in _counts(given).items()
        if count
    ]
    found = (
        f"Findings: {', '.join(counts)}." if counts else "Nothing was found against this layout."
    )
    return VerdictWords(kind, word, sentence, found)


def _findings_lead(findings: tuple[FindingEntry, ...]) -> str:
    if not findings:
        return "None."
    return (
        "Stop: a rating is broken, or somebody may get hurt. Mend: a rule of practice is broken. "
        "Know: good to know. The marks F1, F2 … stand on the outlets further on."
    )


def _findings(given: Given) -> tuple[FindingEntry, ...]:
    entries = []
    for index, finding in enumerate(given.findings):
        severity = finding["severity"]
        entries.append(
            FindingEntry(
                mark=given.mark(index),
                severity=severity,
                word=SEVERITIES[severity],
                place=_place(given, finding["where"]),
                message=finding["message"],
                against=_against(finding),
                remedy=finding["remedy"],
                basis=finding["basis"],
                code=finding["code"],
            )
        )
    return tuple(entries)


def _place(given: Given, where: Json) -> str:
    parts = [f"board {where['board']}" if where["board"] else "supply"]
    parts += [where["phase"]] if where["phase"] else []
    parts += [f"outlet {where['outlet']}"] if where["outlet"] else []
    parts += [where["load"]] if where["load"] else []
    if where["setup"] and len(given.setups) > 1:
        parts.append(f"set-up {where['setup']}")
    words = ", ".join(parts)
    return words[0].upper() + words[1:]


def _against(finding: Json) -> str:
    value, limit, unit = finding["value"], finding["limit"], finding["unit"]
    if value is None:
        return ""
    amount = f"{_brief(value)} {unit}".strip()
    return amount if limit is None else f"{amount} against {_brief(limit)} {unit}".strip()


def _brief(value: float) -> str:
    """A figure to about three digits."""
    return trimmed(value, 1 if abs(value) >= 10.0 else 2)
