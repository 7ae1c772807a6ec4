"""How a figure of the electrics carries its source: constants and small published tables.

A module that uses a figure keeps it as a module-level :class:`Constant` or :class:`Table` (or, for
a factor by argument, an equipment ``FactorTable`` inside a :class:`Table`). The page of sources
(``fixtures_catalog/SOURCES.md``) finds them there, so that no figure is without its word.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import ModuleType

from evenboard.electrics.equipment import Basis

__all__ = ["Constant", "Table", "figures_of"]


@dataclass(frozen=True, slots=True)
class Constant:
    """One figure: what it is, its value, its unit ("" for a plain ratio) and where it is from."""

    name: str
    value: float
    unit: str
    basis: Basis


@dataclass(frozen=True, slots=True)
class Table:
    """A published table: a heading for each column, the rows as printed, and where it is from.

    A column's heading ends with its unit in brackets where it has one. A cell that the source
    leaves empty is None.
    """

    name: str
    columns: tuple[str, ...]
    rows: tuple[tuple[float | None, ...], ...]
    basis: Basis

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) != len(self.columns):
                raise ValueError(f"{self.name}: row {row} has not {len(self.columns)} cells")

    def column(self, heading: str) -> dict[float, float]:
        """First column to the column of that heading, empty cells left out.

        Raises
        ------
        ValueError
            If there is no column of that heading.
        """
        index = self.columns.index(heading)
        pairs = ((row[0], row[index]) for row in self.rows)
        return {key: value for key, value in pairs if key is not None and value is not None}


def figures_of(module: ModuleType) -> tuple[Constant | Table, ...]:
    """The constants and tables that a module defines at its top, in the order they are written.

    What it has from another module is left out: its own figures are in ``__all__`` or private.

    Parameters
    ----------
    module : module
        A module of the electrics.

    Returns
    -------
    tuple of Constant or Table
        What the page of sources lists for it; empty for a module without figures.

    References
    ----------
    .. [1] None: a rule of this house.

    Examples
    --------
    >>> from evenboard.electrics import conductor
    >>> figures_of(conductor)[0].value
    0.00393
    """
    return tuple(
        value
        for name, value in vars(module).items()
        if isinstance(value, Constant | Table) and (name.startswith("_") or name in module.__all__)
    )
