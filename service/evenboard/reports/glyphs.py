"""Names as the paper can show them: a sign that no font has is said in words, never left out.

The paper is set from fonts that come with the package alone, so that it looks the same wherever it
is made. They hold Latin, Greek, Cyrillic, Hebrew, Arabic, Chinese, Japanese and Korean. Anything
else stands in square brackets: a symbol by its Unicode name, ``[fire]``, a letter by its number,
``[U+0E01]``. So do the invisible signs that turn text round or hide in it.
"""

from __future__ import annotations

import re
import unicodedata
from bisect import bisect_right
from functools import lru_cache
from importlib.resources import files
from typing import Any

__all__ = ["has_sign", "printable", "printable_values"]

LONG_WORD = 20
"""Letters without a place to break, from which places are put in (estimate: a narrow column)."""
BREAK = "\u200b"
_LONG = re.compile(rf"[^\s\-{BREAK}]{{{LONG_WORD},}}")
_PIECE = 10
_INVISIBLE = {BREAK, "\u00ad", "\u200c"}
"""Harmless ones: where a word may break, and where Persian letters do not join."""
_JOINERS = re.compile("[\ufe00-\ufe0f\u200d\U0001f3fb-\U0001f3ff]")
"""Variation selectors, joiners and skin tones: they alter a symbol that is spelled out anyway."""


@lru_cache(maxsize=1)
def _ranges() -> tuple[tuple[int, ...], tuple[int, ...]]:
    text = (files(__package__) / "glyphs.txt").read_text("ascii")
    spans = [span.partition("-") for span in text.partition("\n")[2].split()]
    return (
        tuple(int(first, 16) for first, _, _ in spans),
        tuple(int(last or first, 16) for first, _, last in spans),
    )


def has_sign(character: str) -> bool:
    """Whether the paper's fonts have a sign for a character."""
    firsts, lasts = _ranges()
    code = ord(character)
    place = bisect_right(firsts, code) - 1
    return place >= 0 and code <= lasts[place]


def _spelled(character: str) -> str:
    name = unicodedata.name(character, "").lower()
    if name and unicodedata.category(character) in ("So", "Sk", "Sm"):
        return f"[{name}]"
    return f"[U+{ord(character):04X}]"


def _joined(text: str) -> str:
    """Numbers side by side in one pair of brackets: ``[U+0E01 U+0E02]``."""
    return re.sub(r"(?<=[0-9A-F])\]\[(?=U\+)", " ", text)


def printable(text: str, lacking: frozenset[str] = frozenset()) -> tuple[str, bool]:
    """Text that the fonts can set, and whether anything in it had to be spelled out.

    ``lacking`` are further characters to spell out. Line ends become spaces: a name is one line.
    """
    if text.isascii() and text.isprintable():
        return _breakable(text), False
    text = unicodedata.normalize("NFC", " ".join(text.splitlines()))
    parts, replaced, symbol = [], False, False
    for character in text:
        if character in _INVISIBLE or (character not in lacking and has_sign(character)):
            parts.append(character)
            symbol = False
        elif symbol and _JOINERS.match(character):
            continue
        else:
            parts.append(_spelled(character))
            replaced = symbol = True
    return _breakable(_joined("".join(parts))), replaced


def _breakable(text: str) -> str:
    """Long words with places to break put in, so that none runs out of its column."""

    def broken(match: re.Match[str]) -> str:
        word = match[0]
        return BREAK.join(_pieces(word))

    return _LONG.sub(broken, text)


def _pieces(word: str) -> list[str]:
    """A word in pieces; a combining mark stays with its letter."""
    pieces = [""]
    for character in word:
        if len(pieces[-1]) >= _PIECE and not unicodedata.combining(character):
            pieces.append("")
        pieces[-1] += character
    return pieces


def printable_values(value: Any, lacking: frozenset[str] = frozenset()) -> tuple[Any, bool]:
    """The same of every text in nested lists and mappings; their keys are ours and stay."""
    if isinstance(value, str):
        return printable(value, lacking)
    if isinstance(value, dict):
        pairs = {key: printable_values(item, lacking) for key, item in value.items()}
        return {key: item for key, (item, _) in pairs.items()}, any(r for _, r in pairs.values())
    if isinstance(value, (list, tuple)):
        items = [printable_values(item, lacking) for item in value]
        return [item for item, _ in items], any(r for _, r in items)
    return value, False
