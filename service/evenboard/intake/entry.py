"""One JSON object of the body: its typed fields, its place, and the list that its faults go to.

A getter returns the value, the default where the field is missing or null, or None after it has
noted a fault. Whoever reads on after a fault must be content with None: the layout is refused
anyway, and reading on is what finds all faults at once.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping
from typing import Any

from evenboard.intake.fault import Fault, Path, pointer
from evenboard.intake.nearest import listed, nearest, quoted
from evenboard.intake.text import is_printable

__all__ = ["MAX_SUGGESTIONS", "Entry"]

MAX_TEXT = 200
MAX_ID = 64
MAX_FAULTS = 1000
"""Faults listed for one body; a body with more is told so once."""
MAX_SUGGESTIONS = 200
"""Faults that come with a nearest name; looking for one takes longer than all else."""


class Entry:
    """A JSON object being read. ``faults`` is shared by all entries of a body."""

    __slots__ = ("faults", "path", "values")

    def __init__(self, values: Mapping[str, Any], path: Path, faults: list[Fault]) -> None:
        self.values = values
        self.path = path
        self.faults = faults

    def fault(self, detail: str, *names: str | int) -> None:
        """Note a fault of this object, or of the field that ``names`` leads to."""
        if len(self.faults) < MAX_FAULTS:
            self.faults.append(Fault(pointer((*self.path, *names)), detail))
        elif len(self.faults) == MAX_FAULTS:
            more = f"More than {MAX_FAULTS} faults: the rest is not listed."
            self.faults.append(Fault("", more))

    def suggest(self, name: object, choices: Collection[str], noun: str, count: int = 3) -> str:
        """The sentence after "there is no such thing": the nearest names, or what there is."""
        if len(self.faults) > MAX_SUGGESTIONS:
            return ""
        close = nearest(name, choices, count)
        if close:
            return f" Nearest: {listed(close)}."
        if not choices:
            return f" There is no {noun} here at all."
        return f" There is: {listed(sorted(choices), 'and')}."

    def has(self, name: str) -> bool:
        """Whether the field is there and not null."""
        return self.values.get(name) is not None

    def only(self, names: Collection[str], noun: str) -> None:
        """Note every field that is not among ``names``."""
        for name in self.values:
            if name not in names:
                known = self.suggest(name, names, "field", 1)
                self.fault(f"{noun} has no field {quoted(name)}.{known}", str(name))

    def number(
        self,
        name: str,
        unit: str,
        default: float | None = None,
        *,
        least: float = 0.0,
        most: float,
        above: bool = False,
        required: bool = False,
    ) -> float | None:
        """A finite number from ``least`` (or above it) to ``most``."""
        value = self.values.get(name)
        if value is None:
            if required:
                self.fault(f"{name} is missing: {_range(least, most, above, unit)}.", name)
            return default
        number = _as_number(value)
        if number is None:
            wanted = _range(least, most, above, unit)
            self.fault(f"{name} is {quoted(value)}, which is no number: {wanted}.", name)
            return None
        if not math.isfinite(number):
            wanted = _range(least, most, above, unit)
            self.fault(f"{name} is not finite: {wanted}.", name)
            return None
        if number < least or number > most or (above and number == least):
            wanted = _range(least, most, above, unit)
            self.fault(f"{name} is {number:.9g}: {wanted}.", name)
            return None
        return number

    def whole(self, name: str, default: int, *, least: int, most: int, noun: str) -> int | None:
        """A whole number from ``least`` to ``most``."""
        value = self.values.get(name)
        if value is None:
            return default
        number = _as_number(value)
        if number is None or not number.is_integer() or not least <= number <= most:
            self.fault(
                f"{name} is {quoted(value)}: a whole number of {noun} from {least} to {most}.",
                name,
            )
            return None
        return int(number)

    def text(self, name: str, default: str | None = None) -> str | None:
        """A line of text for people."""
        value = self.values.get(name)
        if value is None:
            return default
        if not isinstance(value, str):
            self.fault(f"{name} is {quoted(value)}: text in quotation marks.", name)
            return None
        if len(value) > MAX_TEXT:
            self.fault(f"{name} has {len(value)} characters: at most {MAX_TEXT}.", name)
            return None
        if not is_printable(value):
            self.fault(f"{name} has a control character in it: plain text on one line.", name)
            return None
        return value

    def id(self, name: str, *, required: bool = False, noun: str = "id") -> str | None:
        """A name that other parts of the body refer to: 1 to 64 printable characters."""
        value = self.values.get(name)
        if value is None:
            if required:
                self.fault(
                    f"{name} is missing: 1 to {MAX_ID} characters that name the {noun}.", name
                )
            return None
        if (
            not isinstance(value, str)
            or not value.strip()
            or len(value) > MAX_ID
            or not is_printable(value)
        ):
            wanted = f"1 to {MAX_ID} printable characters that name the {noun}"
            self.fault(f"{name} is {quoted(value)}: {wanted}.", name)
            return None
        return value

    def choice(self, name: str, choices: Collection[str], default: str | None = None) -> str | None:
        """One of the names that the field may hold."""
        value = self.values.get(name)
        if value is None:
            return default
        if not isinstance(value, str) or value not in choices:
            close = [] if len(self.faults) > MAX_SUGGESTIONS else nearest(value, choices, 1)
            hint = f" Nearest: {close[0]}." if close else ""
            self.fault(f"{name} is {quoted(value)}: one of {listed(list(choices))}.{hint}", name)
            return None
        return value

    def flag(self, name: str, default: bool) -> bool:
        """True or false."""
        value = self.values.get(name)
        if value is None:
            return default
        if not isinstance(value, bool):
            self.fault(f"{name} is {quoted(value)}: true or false.", name)
            return default
        return value

    def entry(self, name: str, noun: str) -> Entry | None:
        """The object in a field, None where there is none."""
        value = self.values.get(name)
        if value is None:
            return None
        if not isinstance(value, Mapping):
            self.fault(f"{name} is {quoted(value)}: an object that describes the {noun}.", name)
            return None
        return Entry(value, (*self.path, name), self.faults)

    def entries(self, name: str, noun: str, most: int) -> Iterator[Entry]:
        """The objects of a list; past ``most`` the list is refused and nothing of it is read."""
        value = self.values.get(name)
        if value is None:
            return
        if not isinstance(value, list | tuple):
            self.fault(f"{name} is {quoted(value)}: a list of {noun}s.", name)
            return
        if len(value) > most:
            self.fault(f"{name} has {len(value)} entries: at most {most} {noun}s.", name)
            return
        for index, item in enumerate(value):
            if isinstance(item, Mapping):
                yield Entry(item, (*self.path, name, index), self.faults)
            else:
                self.fault(
                    f"This is {quoted(item)}: an object that describes a {noun}.", name, index
                )

    def names(self, name: str, noun: str, most: int) -> list[str] | None:
        """A list of names; None where there is none or where it cannot be read."""
        value = self.values.get(name)
        if value is None:
            return None
        if not isinstance(value, list | tuple) or len(value) > most:
            self.fault(f"{name} is {quoted(value)}: a list of at most {most} {noun}s.", name)
            return None
        sound = True
        for index, item in enumerate(value):
            if not isinstance(item, str):
                self.fault(f"This is {quoted(item)}: the name of a {noun}.", name, index)
                sound = False
        return list(value) if sound else None


def _as_number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        return float(value)
    except OverflowError:
        return math.inf


def _range(least: float, most: float, above: bool, unit: str) -> str:
    after = f" {unit}" if unit else ""
    if above:
        return f"above {least:.9g} and at most {most:.9g}{after}"
    return f"from {least:.9g} to {most:.9g}{after}"
