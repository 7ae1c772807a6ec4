"""Orders and reports from Python, against the real service, and verifying without it."""

from __future__ import annotations

import copy
import io
import json
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader, PdfWriter

from evenboard_client import Client, Refused
from evenboard_client.verify import NotGenuine, main, verify_pdf, verify_report
from support.layouts import a_body, a_body_load
from support.service import Service

REF = "NX-2207/4 🎬"


@dataclass(frozen=True)
class Issued:
    """A report that was issued, as JSON and as PDF, and the desk's public keys."""

    report: dict[str, Any]
    pdf: bytes
    keys: dict[str, Any]


@pytest.fixture(scope="module")
def desk(server: Service, desk_secret: str) -> Iterator[Client]:
    with Client(server.url, token=desk_secret, timeout=60) as client:
        yield client


@pytest.fixture(scope="module")
def issued(desk: Client) -> Issued:
    loads = [a_body_load(f"lamp-{n}", f"l{n}-bottom", name="Ключ") for n in (1, 2, 3)]
    made = desk.issue_report(REF, a_body(*loads, name="Quay"), note="night, rain")
    return Issued(desk.report(made["id"]), desk.report_pdf(made["id"]), desk.public_keys())


def test_an_outside_system_does_all_with_an_order_reference(desk: Client) -> None:
    order = desk.put_order("B/1 🎬", production="The Long Quay", starts_on="2026-12-01")
    first = desk.issue_report("B/1 🎬", a_body(), idempotency_key="b-1")
    again = desk.issue_report("B/1 🎬", a_body(), idempotency_key="b-1")
    saved = desk.save_layout(a_body(), order_ref="B/1 🎬")
    second = desk.issue_report("B/1 🎬", layout_id=saved["id"], supersedes=first["id"])

    assert again == first
    assert [r["id"] for r in desk.reports("B/1 🎬")] == [second["id"], first["id"]]
    assert [r["id"] for r in desk.reports("B/1 🎬", status="superseded")] == [first["id"]]
    assert second["id"] in [r["id"] for r in desk.reports()]
    assert desk.verify(first["id"])["status"] == "superseded"
    assert desk.verify(second["id"])["status"] == "genuine"
    assert desk.order("B/1 🎬")["reports"] == 2
    assert [o["ref"] for o in desk.orders(q="long quay", on="2026-12-01")] == ["B/1 🎬"]
    with pytest.raises(Refused) as refused:
        desk.put_order("B/1 🎬", production="Other")
    assert refused.value.status == 428
    changed = desk.put_order("B/1 🎬", etag=desk.order_etag("B/1 🎬"), production="Other")
    assert (order["production"], changed["production"]) == ("The Long Quay", "Other")


def test_a_new_signing_key_and_webhooks_from_python(desk: Client) -> None:
    key = desk.rotate_signing_key()

    assert desk.public_keys()["keys"][-1]["kid"] == key["kid"]
    with pytest.raises(Refused) as refused:
        desk.add_webhook("orders", "https://127.0.0.1/")
    assert refused.value.errors[0]["pointer"] == "/url"
    assert list(desk.webhooks()) == []


def test_json_and_paper_verify_without_the_service(issued: Issued) -> None:
    by_json = verify_report(issued.report, issued.keys)
    by_paper = verify_pdf(issued.pdf, issued.keys)

    assert by_json.content == by_paper.content == issued.report["content"]
    assert by_json.content_sha256 == by_paper.content_sha256 == issued.report["content_sha256"]


@pytest.mark.parametrize(
    "pointer",
    [
        ("balance", "verdict"),
        ("balance", "phases", 0, "current_a"),
        ("layout", "loads", 0, "name"),
        ("issue", "issued_at"),
        ("issue", "accepted_by"),
    ],
)
def test_one_changed_figure_or_word_is_found(
    issued: Issued, pointer: tuple[str | int, ...]
) -> None:
    report = copy.deepcopy(issued.report)
    place: Any = report["content"]
    for step in pointer[:-1]:
        place = place[step]
    place[pointer[-1]] = 1.25 if isinstance(place[pointer[-1]], int | float) else "changed"

    with pytest.raises(NotGenuine, match="has been changed"):
        verify_report(report, issued.keys)


def test_a_content_that_was_changed_and_hashed_anew_lacks_the_signature(issued: Issued) -> None:
    import hashlib

    import rfc8785

    report = copy.deepcopy(issued.report)
    report["content"]["balance"]["verdict"] = "caution"
    report["content_sha256"] = hashlib.sha256(rfc8785.dumps(report["content"])).hexdigest()

    with pytest.raises(NotGenuine, match="signature"):
        verify_report(report, issued.keys)


def test_a_key_that_is_not_the_desks_proves_nothing(issued: Issued) -> None:
    with pytest.raises(NotGenuine, match="is not the desk's"):
        verify_report(issued.report, {"keys": []})
    # Another key under the right name.
    other = [{**key, "x": "A" * 43} for key in issued.keys["keys"]]
    with pytest.raises(NotGenuine, match="signature"):
        verify_report(issued.report, {"keys": other})


@pytest.mark.parametrize("content", [{}, [], None, {"a": 2**60}, {"signature": 1}])
def test_what_is_no_report_is_said_to_be_none(issued: Issued, content: Any) -> None:
    for report in (content, {**issued.report, "content": content}):
        with pytest.raises(NotGenuine):
            verify_report(report, issued.keys)


def test_a_paper_whose_attachment_was_changed_is_found(issued: Issued) -> None:
    reader = PdfReader(io.BytesIO(issued.pdf))
    writer = PdfWriter()
    for page in reader.pages:
        writer.add_page(page)
    content = reader.attachments["report.json"][0].replace(b"night, rain", b"night, fine")
    writer.add_attachment("report.json", content)
    writer.add_attachment("proof.json", reader.attachments["proof.json"][0])
    forged = io.BytesIO()
    writer.write(forged)

    with pytest.raises(NotGenuine, match="has been changed"):
        verify_pdf(forged.getvalue(), issued.keys)
    with pytest.raises(NotGenuine, match="no report's PDF"):
        verify_pdf(b"%PDF-1.7 torn", issued.keys)


def test_the_command_says_genuine_or_not_and_exits_so(
    issued: Issued, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    keys, paper, report = (tmp_path / name for name in ("keys.json", "report.pdf", "report.json"))
    keys.write_text(json.dumps(issued.keys))
    paper.write_bytes(issued.pdf)
    report.write_text(json.dumps(issued.report | {"content_sha256": "0" * 64}))

    done = subprocess.run(
        [sys.executable, "-m", "evenboard_client.verify", str(paper), "--keys", str(keys)],
        capture_output=True,
        text=True,
        timeout=60,
    )

    assert (done.returncode, done.stderr) == (0, "")
    assert "GENUINE" in done.stdout
    assert issued.report["content_sha256"] in done.stdout
    assert REF in done.stdout
    assert main([str(report), "--keys", str(keys)]) == 1
    assert "NOT GENUINE" in capsys.readouterr().err
    assert main([str(tmp_path / "none"), "--keys", str(keys)]) == 2
