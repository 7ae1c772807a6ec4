"""The nearest valid value to one that is not, for the sentence that says what would be right."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from rapidfuzz import fuzz, process, utils

__all__ = ["MAX_COMPARED", "listed", "nearest", "nearest_numbers", "quoted"]

MAX_QUOTED = 48
"""Characters of a wrong value that are repeated in the answer."""
MAX_COMPARED = 100
"""Characters of a wrong value that are compared; ids are shorter."""
CLOSE_ENOUGH = 55.0
"""Likeness, 0 to 100, below which a name is no suggestion. Found by trying typing errors."""


def quoted(value: object) -> str:
    """A wrong value as it is repeated in the answer: short, printable, in quotation marks."""
    if isinstance(value, str):
        text = "".join(c if c.isprintable() else "?" for c in value[: MAX_QUOTED + 1])
    elif value is None:
        return "null"
    elif isinstance(value, bool):
        return "true" if value else "false"
    elif isinstance(value, dict):
        return "an object"
    elif isinstance(value, list | tuple):
        return "a list"
    elif isinstance(value, int) and abs(value) >= 10**20:
        return "a number of more than 20 digits"
    else:
        return repr(value)[:MAX_QUOTED]
    return f'"{text[:MAX_QUOTED]}{"…" if len(text) > MAX_QUOTED else ""}"'


def nearest(name: object, choices: Collection[str], count: int = 3) -> list[str]:
    """The ``count`` names most like ``name``, best first; none where nothing is like it.

    Case, hyphens and word order do not count: ``"Stage left"`` finds ``"stage-left"``. Ties go by
    the order of the alphabet, so that the same fault always reads the same.
    """
    if not isinstance(name, str) or not choices or not name.strip():
        return []
    found = process.extract(
        name[:MAX_COMPARED],
        sorted(choices),
        scorer=fuzz.WRatio,
        processor=_plain,
        limit=count,
        score_cutoff=CLOSE_ENOUGH,
    )
    return [str(choice) for choice, _score, _index in found]


def _plain(text: str) -> str:
    return utils.default_process(text.replace("-", " ").replace("_", " "))


def nearest_numbers(value: float, choices: Iterable[float], count: int = 2) -> list[float]:
    """The ``count`` numbers closest to ``value``, in rising order."""
    return sorted(sorted(choices, key=lambda x: (abs(x - value), x))[:count])


def listed(names: Sequence[object], word: str = "or", most: int = 8) -> str:
    """Names as a phrase: ``a, b or c``; past ``most`` the rest is counted."""
    shown = [f"{name:g}" if isinstance(name, float) else str(name) for name in names[:most]]
    if len(names) > most:
        return f"{', '.join(shown)} and {len(names) - most} more"
    if len(shown) < 2:
        return "".join(shown)
    return f"{', '.join(shown[:-1])} {word} {shown[-1]}"
