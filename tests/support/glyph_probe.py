"""Which characters the paper's fonts have a sign for, found by setting each.

``python tests/support/glyph_probe.py`` writes ``reports/glyphs.txt`` anew, for new fonts or a newer
typesetter; it takes some minutes.
"""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Sequence
from importlib.resources import files

import typst

from evenboard.reports.render import _fonts

__all__ = ["with_sign"]

SOURCE = b"""#import "parts.typ": families
#set document(title: "probe")
#set text(font: families)
#for sign in json("data.json") [#box[#sign] ]
"""
UNSHOWN = ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")
END = 0x30000
"""Past this no font here has a sign."""
BATCH = 64


def with_sign(signs: Sequence[str]) -> set[str]:
    """Those of the characters that can be set: PDF/A refuses a page with one that cannot."""
    if not signs:
        return set()
    parts = (files("evenboard.reports") / "templates" / "parts.typ").read_bytes()
    source = {"main": SOURCE, "parts.typ": parts, "data.json": json.dumps(list(signs)).encode()}
    try:
        typst.compile(
            source,
            font_paths=_fonts(),
            ignore_system_fonts=True,
            pdf_standards=["a-3b"],
            timestamp=0,
        )
    except typst.TypstError as error:
        if "could not be displayed" not in str(error):
            raise
        if len(signs) == 1:
            return set()
        half = len(signs) // 2
        return with_sign(signs[:half]) | with_sign(signs[half:])
    return set(signs)


def _table() -> str:
    signs = [chr(c) for c in range(0x20, END) if unicodedata.category(chr(c)) not in UNSHOWN]
    codes: list[int] = []
    for start in range(0, len(signs), BATCH):
        codes += sorted(map(ord, with_sign(signs[start : start + BATCH])))
    spans: list[list[int]] = []
    for code in codes:
        if spans and code == spans[-1][1] + 1:
            spans[-1][1] = code
        else:
            spans.append([code, code])
    words = [f"{a:x}" if a == b else f"{a:x}-{b:x}" for a, b in spans]
    lines = [" ".join(words[start : start + 10]) for start in range(0, len(words), 10)]
    head = "# Characters that the paper's fonts have a sign for: tests/support/glyph_probe.py."
    return "\n".join((head, *lines)) + "\n"


if __name__ == "__main__":
    from pathlib import Path

    Path(str(files("evenboard.reports") / "glyphs.txt")).write_text(_table(), "ascii")
