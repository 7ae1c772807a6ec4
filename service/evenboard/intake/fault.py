"""A fault: where a layout cannot be read, and what would be right there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["Fault", "LayoutInvalid", "Path", "pointer"]

Path = tuple[str | int, ...]
"""A place in the body: field names and list indices from the root."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that keeps a layout from being read.

    ``pointer`` is the place in the body (RFC 6901, empty for the body itself); ``detail`` says what
    stands there, what would be right, and the nearest valid value where there is one.
    """

    pointer: str
    detail: str


class LayoutInvalid(Exception):
    """The layout cannot be read; ``faults`` holds every reason, in the order of reading."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("; ".join(f"{f.pointer or '(body)'}: {f.detail}" for f in self.faults[:5]))


def pointer(path: Path) -> str:
    """The RFC 6901 pointer of a path: ``("loads", 3, "fixture")`` is ``/loads/3/fixture``."""
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in path)
