"""What a crew types, taken apart: words, watts, amps and ceilings.

``1.8 kw hmi``, ``800w``, ``2k``, ``1k8``, ``1,2 kw``, ``9 x 650``, ``under 4 a``: figures are read
with their units wherever they stand; what is left are words.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field

__all__ = ["Query", "parse_query", "words_of"]

MAX_QUERY = 200
"""Characters read of a query: nobody types more, and the time to answer stays bounded."""
MAX_TERMS = 12

NUMBER = r"(\d+(?:\.\d+)?)"
CEILING = (
    r"(?:under|below|within|up to|at most|less than|no more than|max(?:imum)?"
    r"|fits?(?: in| on| into)?|in|<=?)"
)
FLOOR = r"(?:over|above|at least|more than|from|min(?:imum)?|>=?)"
AMPS = r"(?:amperes?|amps?|a)\b"
WATTS = r"(kilowatts?|kw|k|watts?|w)\b"

CEILING_A = re.compile(rf"{CEILING}\s*{NUMBER}\s*{AMPS}")
CEILING_W = re.compile(rf"{CEILING}\s*{NUMBER}\s*{WATTS}")
FLOOR_W = re.compile(rf"{FLOOR}\s*{NUMBER}\s*{WATTS}")
TIMES = re.compile(rf"\b(\d+)\s*x\s*{NUMBER}\s*(?:{WATTS}|(a)\b)?")
SPLIT_K = re.compile(r"\b(\d+)k(\d)\b")
POWER = re.compile(rf"\b{NUMBER}\s*{WATTS}")
CURRENT = re.compile(rf"\b{NUMBER}\s*{AMPS}")
WORD = re.compile(r"[^\W\d_]+\d*[^\W\d_]*|\d+(?:\.\d+)?")
THOUSANDS = re.compile(r"(?<=\d),(?=\d{3}\b)")
DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")

STOP = frozenset(
    re.findall(
        r"\w+",
        "a an and any are at by draw draws else find fit fits for give have i in is it kind "
        "lamp lamps me more need of on one or please show some still take takes that the to type "
        "want what which will with",
    )
)
"""Words that say nothing about which lamp is meant."""


@dataclass(frozen=True, slots=True)
class Query:
    """What was asked for. ``numbers`` have no unit: they may be watts or part of a name."""

    words: tuple[str, ...] = ()
    watts: tuple[float, ...] = ()
    amps: tuple[float, ...] = ()
    numbers: tuple[float, ...] = ()
    multiples: tuple[tuple[str, float], ...] = ()
    max_current_a: float | None = None
    max_power_w: float | None = None
    min_power_w: float | None = None

    @property
    def terms(self) -> int:
        """How many things a fixture can match."""
        return sum(map(len, (self.words, self.watts, self.amps, self.numbers, self.multiples)))


@dataclass(slots=True)
class _Rest:
    """The text that is left while figures are taken out of it."""

    text: str
    taken: list[re.Match[str]] = field(default_factory=list)

    def take(self, pattern: re.Pattern[str]) -> list[re.Match[str]]:
        """All matches of a pattern, each replaced by a space."""
        matches = list(pattern.finditer(self.text))
        self.text = pattern.sub(" ", self.text)
        return matches


def parse_query(text: str) -> Query:
    """A query taken apart; whatever is typed, nothing is refused."""
    rest = _Rest(plain(text[:MAX_QUERY]))
    max_current = [float(m[1]) for m in rest.take(CEILING_A)]
    max_power = [_watts(m[1], m[2]) for m in rest.take(CEILING_W)]
    min_power = [_watts(m[1], m[2]) for m in rest.take(FLOOR_W)]
    multiples = [_multiple(m) for m in rest.take(TIMES)]
    watts = [1000.0 * float(f"{m[1]}.{m[2]}") for m in rest.take(SPLIT_K)]
    watts += [_watts(m[1], m[2]) for m in rest.take(POWER)]
    amps = [float(m[1]) for m in rest.take(CURRENT)]
    found = [word for word in WORD.findall(rest.text) if word not in STOP]
    numbers = [float(word) for word in found if word[0].isdigit()]
    words = [singular(word) for word in found if not word[0].isdigit()]
    return Query(
        words=tuple(dict.fromkeys(words))[:MAX_TERMS],
        watts=tuple(dict.fromkeys(watts))[:MAX_TERMS],
        amps=tuple(dict.fromkeys(amps))[:MAX_TERMS],
        numbers=tuple(dict.fromkeys(numbers))[:MAX_TERMS],
        multiples=tuple(dict.fromkeys(multiples))[:MAX_TERMS],
        max_current_a=min(max_current, default=None),
        max_power_w=min(max_power, default=None),
        min_power_w=max(min_power, default=None),
    )


def plain(text: str) -> str:
    """Lower case without accents; decimal points for commas, ``x`` for the multiplication sign."""
    lower = unicodedata.normalize("NFKD", text.casefold())
    lower = "".join(c for c in lower if not unicodedata.combining(c)).replace("×", "x")
    return DECIMAL_COMMA.sub(".", THOUSANDS.sub("", lower))


def words_of(text: str) -> list[str]:
    """The words of a name, in order, as a query's words are read; watts are left out."""
    rest = _Rest(plain(text))
    multiples = [_multiple(m)[0] for m in rest.take(TIMES)]
    rest.take(POWER)
    words = []
    for word in WORD.findall(rest.text):
        if word in STOP:
            continue
        words.append(singular(word))
        letters = word.rstrip("0123456789")
        if letters.isalpha() and letters != word:
            words += [letters, word[len(letters) :]]
    return words + multiples


def singular(word: str) -> str:
    """A word without its plural s, so that one form stands for both."""
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def _watts(number: str, unit: str) -> float:
    return float(number) * (1000.0 if unit.startswith("k") else 1.0)


def _multiple(match: re.Match[str]) -> tuple[str, float]:
    """``9 x 650 w`` as the token ``9x650`` and the watts of all, 0 where they are not watts."""
    count, each = int(match[1]), float(match[2])
    if match[4]:
        return f"{count}x{each:g}a", 0.0
    watts = _watts(match[2], match[3]) if match[3] else each
    return f"{count}x{watts:g}", count * watts
