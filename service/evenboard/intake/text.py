"""Text on one line, in any script."""

from __future__ import annotations

__all__ = ["is_printable"]

JOINERS = ("\u200c", "\u200d")
"""Signs without a width that Persian, Indian scripts and joined emoji are written with."""


def is_printable(text: str) -> bool:
    """Whether a text has neither control characters nor line ends, nor spaces that look alike."""
    # The language's own test takes the joiners for control characters.
    if not text.isprintable():
        for joiner in JOINERS:
            text = text.replace(joiner, "")
    return text.isprintable()
