"""The names of the lines, on supplies and boards alike."""

from __future__ import annotations

from evenboard.electrics.equipment import System

__all__ = ["LINES", "LINES_OF_SYSTEM", "in_words"]

LINES = ("L1", "L2", "L3")
LINES_OF_SYSTEM: dict[System, tuple[str, ...]] = {
    "three-phase": LINES,
    "three-wire": LINES[:2],
    "single-phase": LINES[:1],
}
NUMBERS = {1: "one", 2: "two", 3: "three"}


def in_words(number: int, noun: str) -> str:
    """A small number with its noun: ``one line``, ``three lines``."""
    return f"{NUMBERS.get(number, number)} {noun}{'' if number == 1 else 's'}"
