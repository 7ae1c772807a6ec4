"""Reading one table of a data file: each value checked, every fault kept, nothing guessed.

An :class:`Entry` hands out values by key. A value that is missing or wrong becomes a fault and is
replaced by a stand-in of the right kind, so that the remaining keys are still read; the caller
makes an object only where :attr:`Entry.sound` is still true after :meth:`Entry.close`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Mapping
from itertools import pairwise
from typing import Any, TypeVar, cast, get_args

from rapidfuzz import process

from evenboard.catalogue.errors import CatalogueFault
from evenboard.electrics.equipment import Basis, BasisKind

__all__ = ["Entry", "nearest"]

SLUG = re.compile(r"[a-z0-9]+(?:[-.][a-z0-9]+)*")
Choice = TypeVar("Choice", bound=str)


def nearest(word: str, known: Collection[str]) -> str:
    """A clause that names the likeliest of the known words, or all of them where few."""
    if len(known) <= 6:
        return "use one of " + ", ".join(sorted(known)) if known else "none is known"
    found = process.extractOne(word, sorted(known))
    return f"did you mean {found[0]}?" if found else ""


class Entry:
    """One table of a data file and the faults found in it."""

    def __init__(
        self, table: Mapping[str, Any], file: str, name: str, faults: list[CatalogueFault]
    ) -> None:
        self.table = table
        self.file = file
        self.name = name
        self.sound = True
        self._faults = faults
        self._read: set[str] = set()
        self._children: list[Entry] = []

    def fault(self, detail: str) -> None:
        """Record that something in this entry is wrong."""
        self.sound = False
        self._faults.append(CatalogueFault(self.file, self.name, detail))

    def has(self, key: str) -> bool:
        """Whether the key is given."""
        return key in self.table

    def text(self, key: str, default: str | None = None) -> str:
        """A text that is not blank."""
        value = self._value(key, default)
        if value is None:
            return ""
        if not isinstance(value, str) or (not value.strip() and value != default):
            self.fault(f"{key} must be a text, not {value!r}")
            return ""
        return value

    def optional_text(self, key: str) -> str | None:
        """A text, or None where the key is absent."""
        return self.text(key) if self.has(key) else None

    def slug(self, key: str) -> str:
        """A name for addresses: lower-case letters, digits, single hyphens or dots between."""
        value = self.text(key)
        if value and not SLUG.fullmatch(value):
            self.fault(
                f"{key} {value!r} must be lower-case letters and digits with single hyphens between"
            )
        return value

    def table_of_tables(self, key: str) -> dict[str, Mapping[str, Any]]:
        """A table whose values are tables; absent is empty."""
        value = self._value(key, {})
        if not isinstance(value, dict) or not all(isinstance(v, dict) for v in value.values()):
            self.fault(f"{key} must be a table of tables")
            return {}
        return dict(value)

    def replaced(self, table: Mapping[str, Any]) -> Entry:
        """This entry with another table, in the same place; ``class`` is read already."""
        entry = Entry(table, self.file, self.name, self._faults)
        entry.sound = self.sound
        entry._read = set(self._read)
        return entry

    def has_read(self, key: str) -> None:
        """Count a key as a known field though its value was not asked for."""
        self._read.add(key)

    def flag(self, key: str, default: bool | None = None) -> bool:
        """True or false."""
        value = self._value(key, default)
        if value is None:
            return False
        if not isinstance(value, bool):
            self.fault(f"{key} must be true or false, not {value!r}")
            return False
        return value

    def number(
        self,
        key: str,
        *,
        above: float | None = None,
        at_least: float | None = None,
        at_most: float | None = None,
        default: float | None = None,
    ) -> float:
        """A finite number inside the bounds given."""
        value = self._value(key, default)
        if value is None:
            return math.nan
        return self._bounded(key, value, above, at_least, at_most)

    def optional_number(self, key: str, *, above: float = 0.0) -> float | None:
        """A number greater than ``above``, or None where the key is absent."""
        return self.number(key, above=above) if self.has(key) else None

    def integer(self, key: str, *, at_least: int, at_most: int) -> int:
        """A whole number inside the bounds."""
        value = self._value(key, None)
        if value is None:
            return at_least
        if isinstance(value, bool) or not isinstance(value, int):
            self.fault(f"{key} must be a whole number, not {value!r}")
            return at_least
        self._bounded(key, value, None, at_least, at_most)
        return value

    def numbers(self, key: str, *, above: float | None = None) -> tuple[float, ...]:
        """A list of at least one number."""
        value = self._value(key, None)
        if value is None:
            return ()
        if not isinstance(value, list) or not value:
            self.fault(f"{key} must be a list of numbers, not {value!r}")
            return ()
        return tuple(
            self._bounded(f"{key}[{i}]", item, above, None, None) for i, item in enumerate(value)
        )

    def span(self, key: str, value: Any = None) -> tuple[float, float]:
        """A pair ``[low, high]`` of positive numbers, low first."""
        pair = self._value(key, None) if value is None else value
        if pair is None:
            return (0.0, 0.0)
        if not isinstance(pair, list) or len(pair) != 2:
            self.fault(f"{key} must be [low, high], not {pair!r}")
            return (0.0, 0.0)
        low, high = (self._bounded(key, item, 0.0, None, None) for item in pair)
        if low > high:
            self.fault(f"{key} must be [low, high], so [{high:g}, {low:g}]")
        return (low, high)

    def spans(self, key: str) -> tuple[tuple[float, float], ...]:
        """A list of at least one pair ``[low, high]``, none reaching into another."""
        value = self._value(key, None)
        if value is None:
            return ()
        if not isinstance(value, list) or not value:
            self.fault(f"{key} must be a list of [low, high], not {value!r}")
            return ()
        spans = tuple(self.span(f"{key}[{i}]", item) for i, item in enumerate(value))
        ordered = sorted(spans)
        for (_, high), (low, _) in pairwise(ordered):
            if low <= high:
                self.fault(f"{key} overlap at {low:g}: make one range of them")
        return spans

    def texts(self, key: str, *, optional: bool = False) -> tuple[str, ...]:
        """A list of texts without repeats; empty only where optional."""
        value = self._value(key, [] if optional else None)
        if value is None:
            return ()
        if not isinstance(value, list) or not all(isinstance(t, str) and t.strip() for t in value):
            self.fault(f"{key} must be a list of texts, not {value!r}")
            return ()
        if not value and not optional:
            self.fault(f"{key} must have at least one text")
        if len(set(value)) != len(value):
            self.fault(f"{key} repeats {sorted({t for t in value if value.count(t) > 1})}")
        return tuple(value)

    def choice(self, key: str, kind: Any, default: Choice | None = None) -> Choice:
        """One of the words of a ``Literal``."""
        known: tuple[Choice, ...] = get_args(kind)
        value = self._value(key, default)
        if value is None:
            return known[0]
        if value not in known:
            self.fault(f"{key} {value!r} is unknown, {nearest(str(value), known)}")
            return known[0]
        return cast(Choice, value)

    def one_of(self, key: str, word: str, known: Collection[str]) -> None:
        """Record a fault unless the word is among the known ones."""
        if word not in known:
            self.fault(f"{key} {word!r} is unknown, {nearest(word, known)}")

    def mapping(self, key: str, *, optional: bool = False) -> dict[str, str]:
        """A table of texts."""
        value = self._value(key, {} if optional else None)
        if value is None:
            return {}
        if not isinstance(value, dict) or not all(isinstance(v, str) for v in value.values()):
            self.fault(f"{key} must be a table of texts, not {value!r}")
            return {}
        return dict(value)

    def child(self, key: str) -> Entry:
        """The table under a key."""
        value = self._value(key, None)
        if not isinstance(value, dict):
            if value is not None:
                self.fault(f"{key} must be a table, not {value!r}")
            child = Entry({}, self.file, self._place(key), [])
            child.sound = False
            return child
        return self._adopt(value, key)

    def children(self, key: str, label: str = "id") -> list[Entry]:
        """The list of tables under a key, each named by its ``label`` where it has one."""
        value = self._value(key, [])
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            self.fault(f"{key} must be a list of tables")
            return []
        return [
            self._adopt(item, f"{key}[{item.get(label, index)}]")
            for index, item in enumerate(value)
        ]

    def basis(self, key: str = "basis") -> Basis:
        """Where the figures come from; no entry is taken without it."""
        entry = self.child(key)
        basis = Basis(entry.choice("kind", BasisKind), entry.text("text"))
        entry.close()
        return basis

    def close(self) -> bool:
        """Report keys that nobody read, and say whether the entry can be used."""
        for key in self.table:
            if key not in self._read:
                self.fault(f"{key} is not a field here, {nearest(key, self._read)}")
        self.sound = self.sound and all(child.sound for child in self._children)
        return self.sound

    def _place(self, key: str) -> str:
        return f"{self.name} {key}" if self.name else key

    def _adopt(self, table: Mapping[str, Any], key: str) -> Entry:
        child = Entry(table, self.file, self._place(key), self._faults)
        self._children.append(child)
        return child

    def _value(self, key: str, default: Any) -> Any:
        self._read.add(key)
        value = self.table.get(key, default)
        if value is None:
            self.fault(f"{key} is missing")
        return value

    def _bounded(
        self,
        key: str,
        value: Any,
        above: float | None,
        at_least: float | None,
        at_most: float | None,
    ) -> float:
        if (
            isinstance(value, bool)
            or not isinstance(value, int | float)
            or not math.isfinite(value)
        ):
            self.fault(f"{key} must be a number, not {value!r}")
            return math.nan
        if above is not None and value <= above:
            self.fault(f"{key} {value:g} must be greater than {above:g}")
        if at_least is not None and value < at_least:
            self.fault(f"{key} {value:g} must be at least {at_least:g}")
        if at_most is not None and value > at_most:
            self.fault(f"{key} {value:g} must be at most {at_most:g}")
        return float(value)
