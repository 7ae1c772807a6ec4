"""Setting pages: a document's plain data and a template in, PDF bytes out.

Nothing of the machine goes in: no system font, no clock, no network. The same document gives the
same bytes with the same version of the typesetter; a newer one may not, so that issued bytes are
kept, not made again.
"""

from __future__ import annotations

import io
import json
import re
from collections.abc import Mapping
from dataclasses import asdict
from datetime import UTC, datetime
from functools import lru_cache
from importlib.resources import files
from typing import Any, Final

import font_source_sans_pro
import noto_cjk_sans_jp_regular
import segno
import typst

from evenboard.reports.glyphs import printable_values
from evenboard.reports.model import ReportDocument

__all__ = ["PAPERS", "RenderFailed", "qr_svg", "render_report", "typeset"]

PAPERS: Final = ("a4", "letter")
"""Sheet sizes: ISO 216 A4, 210 x 297 mm, and US Letter, 216 x 279 mm."""
STANDARDS: Final = ("a-3a", "ua-1")
"""Kept for long, with the layout attached (ISO 19005-3), and read aloud (ISO 14289-1)."""
TRIES = 50
"""Signs that the table of glyphs believed in and the fonts turn out to lack, at most."""
_LACKING = re.compile(r'the text `"(.*?)"` could not be displayed')


class RenderFailed(RuntimeError):
    """The typesetter refused a page, or warned about one: a fault of the template or the fonts."""


def render_report(
    document: ReportDocument, *, content: bytes | None = None, proof: bytes | None = None
) -> bytes:
    """A report as PDF.

    Parameters
    ----------
    document : ReportDocument
        What ``report_document`` gave.
    content : bytes, optional
        The canonical bytes of the content, the ones that were hashed. Attached as
        ``report.json``, so that the paper's file can be verified without a network.
    proof : bytes, optional
        Hash and signature of the content, as JSON. Attached as ``proof.json``.

    Returns
    -------
    bytes
        PDF/A-3a, tagged, with ``layout.json`` attached.

    Raises
    ------
    RenderFailed
        If a page cannot be set.
    """
    values = asdict(document)
    layout = values.pop("layout_json")
    issued_at: datetime = values.pop("issued_at")
    attached = {"layout.json": layout.encode()}
    if content is not None:
        attached["report.json"] = content
    if proof is not None:
        attached["proof.json"] = proof
    values["attached"] = list(attached)
    return typeset(
        "report.typ",
        values,
        {
            "qr.svg": qr_svg(document.proof.verify_url),
            "verify.txt": document.proof.verify_url.encode(),
            **attached,
        },
        issued_at=issued_at,
    )


def typeset(
    template: str,
    values: Mapping[str, Any],
    others: Mapping[str, bytes],
    *,
    issued_at: datetime,
) -> bytes:
    """Pages of one of our templates.

    Parameters
    ----------
    template : str
        File name in ``templates``.
    values : mapping
        Plain values that the template reads as ``data.json``.
    others : mapping of str to bytes
        Further files that the template reads or attaches.
    issued_at : datetime
        The moment that the file says it was made.

    Returns
    -------
    bytes
        The PDF.

    Raises
    ------
    RenderFailed
        If a page cannot be set, or not without a warning.
    """
    lacking: frozenset[str] = frozenset()
    for _ in range(TRIES):
        shown, replaced = printable_values(dict(values), lacking)
        data = json.dumps({**shown, "replaced": replaced}, ensure_ascii=False).encode()
        # A mapping of file names to bytes is taken, though the stubs do not say so.
        source: Any = {"main": _templates()[template], **_templates(), "data.json": data, **others}
        try:
            pdf, warnings = typst.compile_with_warnings(
                source,
                font_paths=_fonts(),
                ignore_system_fonts=True,
                pdf_standards=list(STANDARDS),
                timestamp=int(issued_at.astimezone(UTC).timestamp()),
            )
        except typst.TypstError as error:
            missing = _LACKING.search(str(error))
            new = frozenset(missing[1] if missing else "") - lacking
            if not new:
                raise RenderFailed(f"{template}: {error}") from error
            lacking |= {sign for sign in new if not sign.isascii()}
            continue
        if warnings:
            raise RenderFailed(f"{template}: {warnings[0].message}")
        return pdf
    raise RenderFailed(f"{template}: more than {TRIES} signs that no font has")


def qr_svg(text: str, *, ground: bool = False) -> bytes:
    """A QR code as SVG, one unit a module.

    With ``ground`` it stands on white with the quiet zone that readers need (ISO/IEC 18004, four
    modules); without, whoever places it leaves that.
    """
    code = segno.make(text, error="m", micro=False)
    picture = io.BytesIO()
    look = {"border": 4, "light": "#fff"} if ground else {"border": 0}
    code.save(picture, kind="svg", omitsize=True, xmldecl=False, nl=False, **look)
    return picture.getvalue()


@lru_cache(maxsize=1)
def _templates() -> dict[str, bytes]:
    folder = files(__package__) / "templates"
    return {file.name: file.read_bytes() for file in folder.iterdir() if file.name.endswith(".typ")}


@lru_cache(maxsize=1)
def _fonts() -> Any:
    """The sans of the page, one for Chinese, Japanese and Korean, and the typesetter's own."""
    cjk = noto_cjk_sans_jp_regular.FONT_PATH.parent
    return typst.Fonts(
        include_system_fonts=False,
        font_paths=[font_source_sans_pro.font_directory, str(cjk)],
    )
