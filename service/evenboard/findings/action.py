"""What mends a finding, in a form that a program can carry out.

A remedy is a sentence for a person; its actions say the same to a client, to the planning room and
to the tests, which apply them to the layout and solve again. Ids are those of the layout. An action
about a run of cable names the board that the run feeds, or the load whose lead it is; never both.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

__all__ = [
    "Action",
    "ConnectNeutral",
    "LayOut",
    "Move",
    "Replace",
    "Resize",
    "SeparateRuns",
    "StartInOrder",
    "UndimmedSupply",
    "Unplug",
]


@dataclass(frozen=True, slots=True)
class Move:
    """Plug a load into another outlet."""

    kind: ClassVar[str] = "move"

    load: str
    board: str
    outlet: str


@dataclass(frozen=True, slots=True)
class Unplug:
    """Take a load off this supply."""

    kind: ClassVar[str] = "unplug"

    load: str


@dataclass(frozen=True, slots=True)
class Resize:
    """Use a thicker run: ``csa_mm2`` for all conductors, the neutral too.

    A run that is spelled out by its conductor has no size to name; ``r_ohm_per_km`` is then the
    highest resistance, and ``capacity_a`` the least capacity, that will do.
    """

    kind: ClassVar[str] = "resize"

    board: str | None = None
    load: str | None = None
    csa_mm2: float | None = None
    r_ohm_per_km: float | None = None
    capacity_a: float | None = None


@dataclass(frozen=True, slots=True)
class LayOut:
    """Take a run off its drum or out of its coil and lay it out on the ground."""

    kind: ClassVar[str] = "lay-out"

    board: str | None = None
    load: str | None = None


@dataclass(frozen=True, slots=True)
class SeparateRuns:
    """Lay a bunched run apart from its neighbours."""

    kind: ClassVar[str] = "separate-runs"

    board: str | None = None
    load: str | None = None


@dataclass(frozen=True, slots=True)
class ConnectNeutral:
    """Feed a board, or a load, by a run and an outlet that have a neutral; with neither, all."""

    kind: ClassVar[str] = "connect-neutral"

    board: str | None = None
    load: str | None = None


@dataclass(frozen=True, slots=True)
class StartInOrder:
    """Switch loads on group after group; what is in no group comes last, one by one."""

    kind: ClassVar[str] = "start-in-order"

    groups: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Replace:
    """Leave a tagged piece out and take another of the same kind."""

    kind: ClassVar[str] = "replace"

    tag: str


@dataclass(frozen=True, slots=True)
class UndimmedSupply:
    """Feed a load directly instead of through a phase-cut dimmer."""

    kind: ClassVar[str] = "undimmed-supply"

    load: str


Action = (
    Move
    | Unplug
    | Resize
    | LayOut
    | SeparateRuns
    | ConnectNeutral
    | StartInOrder
    | Replace
    | UndimmedSupply
)
