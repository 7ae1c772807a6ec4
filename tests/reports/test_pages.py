"""The PDF read back: what is on its pages, in its file, and that it is the same each time."""

from __future__ import annotations

import hashlib
import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader
from pypdf.generic import ContentStream

from evenboard.catalogue import Catalogue
from evenboard.paths import demo_folder
from evenboard.reports import render_report
from support.papers import (
    VERIFY_URL,
    a_content,
    a_document,
    an_issue,
    page_texts,
    squeezed,
    village,
)

POINTS_PER_MM = 72 / 25.4
COLOURED = {b"rg", b"RG", b"k", b"K", b"sh"}
ONE_COMPONENT = {b"sc", b"SC", b"scn", b"SCN"}


def demo(name: str) -> dict[str, Any]:
    text = (Path(demo_folder()) / f"boathouse-{name}.json").read_text(encoding="utf-8")
    return dict(json.loads(text)["layout"])


@pytest.fixture(scope="module")
def content(catalogue: Catalogue) -> dict[str, Any]:
    return a_content(demo("one-phase"), catalogue)


@pytest.fixture(scope="module")
def pdf(content: dict[str, Any]) -> bytes:
    return render_report(a_document(content))


def test_every_load_outlet_board_and_finding_is_on_the_pages(
    content: dict[str, Any], pdf: bytes
) -> None:
    text = "".join(page_texts(pdf))

    for load in content["resolved"]["loads"]:
        assert squeezed(load["name"]) in text
    for board in content["balance"]["boards"]:
        assert squeezed(board["id"]) in text
        for outlet in board["outlets"]:
            assert squeezed(outlet["id"]) in text
    for finding in content["balance"]["findings"]:
        for words in ("message", "remedy", "basis"):
            assert squeezed(finding[words]) in text


def test_the_head_the_cautions_and_the_lines_to_sign_on_are_there(
    content: dict[str, Any], pdf: bytes
) -> None:
    pages = page_texts(pdf)
    text = "".join(pages)

    assert "FAIL" in pages[0]
    for words in ("NX-2207/4", "The Long Quay", "25 November 2026, 09:31 UTC"):
        assert squeezed(words) in pages[0]
    assert squeezed(content["notice"]) in text
    assert squeezed("Licence or qualification") in pages[-1]
    assert "Signature" in pages[-1]
    for version in (content["engine_version"], content["catalogue_version"]):
        assert squeezed(version) in text


def test_each_page_says_which_of_how_many_and_whose_it_is(pdf: bytes) -> None:
    pages = page_texts(pdf)

    assert len(pages) > 2
    for number, text in enumerate(pages, start=1):
        assert f"Page{number}of{len(pages)}" in text
        assert "7KQ2M9X4TB3RHV0D" in text


def test_the_hash_is_printed_in_full_and_the_address_is_a_link(
    content: dict[str, Any], pdf: bytes
) -> None:
    digest = hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()

    assert digest in page_texts(pdf)[-1]
    assert squeezed(VERIFY_URL) in page_texts(pdf)[-1]
    links = [
        annotation.get_object()["/A"]["/URI"]
        for page in PdfReader(io.BytesIO(pdf)).pages
        for annotation in page.get("/Annots", ())
    ]
    assert links == [VERIFY_URL, VERIFY_URL]


@pytest.mark.parametrize(
    ("paper", "width_mm", "height_mm"),
    [
        ("a4", 210.0, 297.0),
        ("letter", 215.9, 279.4),
    ],
)
def test_both_papers_have_their_size(
    paper: str, width_mm: float, height_mm: float, content: dict[str, Any]
) -> None:
    # ISO 216 A4 and ANSI Letter; a tenth of a millimetre is finer than any printer.
    box = PdfReader(io.BytesIO(render_report(a_document(content, paper=paper)))).pages[0].mediabox

    assert float(box.width) / POINTS_PER_MM == pytest.approx(width_mm, abs=0.1)
    assert float(box.height) / POINTS_PER_MM == pytest.approx(height_mm, abs=0.1)


def test_the_same_content_is_the_same_file(content: dict[str, Any], pdf: bytes) -> None:
    assert render_report(a_document(json.loads(json.dumps(content)))) == pdf


def test_another_process_makes_the_same_file(
    content: dict[str, Any], pdf: bytes, tmp_path: Path
) -> None:
    (tmp_path / "content.json").write_text(json.dumps(content), encoding="utf-8")
    program = (
        "import hashlib, json, sys\n"
        "from support.papers import a_document\n"
        "from evenboard.reports import render_report\n"
        "content = json.load(open(sys.argv[1], encoding='utf-8'))\n"
        "print(hashlib.sha256(render_report(a_document(content))).hexdigest())\n"
    )

    done = subprocess.run(
        [sys.executable, "-c", program, str(tmp_path / "content.json")],
        env={
            **os.environ,
            "PYTHONPATH": os.pathsep.join(filter(None, sys.path)),
            "PYTHONHASHSEED": "7",
            "TZ": "Asia/Tokyo",
        },
        capture_output=True,
        text=True,
        check=True,
    )

    assert done.stdout.strip() == hashlib.sha256(pdf).hexdigest()


def test_nothing_on_the_pages_has_a_colour(pdf: bytes) -> None:
    reader = PdfReader(io.BytesIO(pdf))
    painted = []

    def walk(stream: Any, resources: Any) -> None:
        for operands, operator in ContentStream(stream, reader).operations:
            assert operator not in COLOURED
            if operator in ONE_COMPONENT:
                assert len(operands) == 1
                painted.append(operands[0])
        resources = resources.get_object()
        for kind in ("/XObject", "/Pattern"):
            for item in resources.get(kind, {}).values():
                inner = item.get_object()
                assert inner.get("/Subtype") != "/Image"
                walk(inner, inner["/Resources"])

    for page in reader.pages:
        walk(page.get_contents(), page["/Resources"])
    assert painted


def test_the_file_is_an_archive_that_can_be_read_aloud(content: dict[str, Any], pdf: bytes) -> None:
    # ISO 19005-3 clause 6.6 and ISO 14289-1 clause 5: the identification in the metadata.
    reader = PdfReader(io.BytesIO(pdf))
    metadata = reader.trailer["/Root"]["/Metadata"].get_data().decode()

    assert "<pdfaid:part>3</pdfaid:part>" in metadata
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in metadata
    assert "<pdfuaid:part>1</pdfuaid:part>" in metadata
    assert reader.metadata is not None
    assert "Boathouse kitchen" in str(reader.metadata.title)
    assert reader.trailer["/Root"]["/Lang"] == "en"


def test_the_layout_and_the_signed_bytes_travel_in_the_file(content: dict[str, Any]) -> None:
    canonical = json.dumps(content, sort_keys=True, ensure_ascii=False).encode()

    attached = PdfReader(
        io.BytesIO(render_report(a_document(content), content=canonical))
    ).attachments

    assert json.loads(attached["layout.json"][0]) == content["layout"]
    assert attached["report.json"] == [canonical]


def test_markup_in_a_name_is_text(catalogue: Catalogue) -> None:
    name = "#panic() $x^2$ *bold* _it_ <label> @ref // \\ `raw` #set page(fill: red)"
    body = demo("even")
    body["name"] = name
    body["loads"][0]["name"] = name
    issue = an_issue(order_ref='#import/"x"', production=name, note=name, contact=name)

    text = "".join(page_texts(render_report(a_document(a_content(body, catalogue, issue=issue)))))

    assert text.count(squeezed(name)) > 4
    assert squeezed('#import/"x"') in text


def test_names_of_all_scripts_are_there_or_spelled_out(catalogue: Catalogue) -> None:
    body = demo("even")
    body["loads"][0]["name"] = "山田スタジオ"
    body["loads"][1]["name"] = "인천 부두"
    body["loads"][2]["name"] = "Ключевой свет"
    body["loads"][3]["name"] = "🔥 gag"
    body["name"] = "ไฟหลัก"
    issue = an_issue(order_ref="A/12 🎬 夏", production="می\u200cخواهم")

    text = "".join(page_texts(render_report(a_document(a_content(body, catalogue, issue=issue)))))

    for words in (
        "山田スタジオ",
        "인천 부두",
        "Ключевой свет",
        "[fire] gag",
        "A/12 [clapper board] 夏",
        "می\u200cخواهم",
    ):
        assert squeezed(words) in text
    assert "[U+0E44U+0E1F" in text
    assert squeezed("Signs that this paper's fonts lack") in text


# Setting a page takes a tenth of a second, so that few examples must do and no deadline holds.
@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(name=st.text(min_size=1, max_size=120))
def test_no_text_keeps_a_report_from_being_set(name: str, catalogue: Catalogue) -> None:
    content = a_content(demo("even"), catalogue)
    content["issue"] |= {"production": name, "note": name, "order_ref": name}
    content["layout"]["name"] = name

    assert render_report(a_document(content)).startswith(b"%PDF-")


def test_three_hundred_loads_fill_pages_whose_tables_repeat_their_heads(
    catalogue: Catalogue,
) -> None:
    content = a_content(village(catalogue, 300), catalogue)

    pages = page_texts(render_report(a_document(content)))

    text = "".join(pages)
    assert len(pages) > 10
    for index in range(300):
        assert f"lamp-{index}:lampnumber{index}" in text
    assert sum("PluggedatPhase" in page for page in pages) > 3
    assert sum("VoltshereDrop" in page for page in pages) > 3
    assert f"Page{len(pages)}of{len(pages)}" in pages[-1]
