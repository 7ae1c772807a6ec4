"""How a load sits on the lines of an outlet: its connection and its rated voltage.

The rule, told in full in ``README.md``: the number of lines decides. One line is line to neutral,
two are line to line, three are a star (or a delta where the load says so). Nothing is guessed from
a voltage; a voltage that does not suit the lamp is a finding, since the plug does go in.
"""

from __future__ import annotations

from dataclasses import replace

from evenboard.electrics.equipment import Connection, FixtureType, Region, System
from evenboard.electrics.layout import Layout, Load, Outlet
from evenboard.electrics.load import rated_voltage_v, version_for

__all__ = ["branch_voltage_v", "connection_on", "needs_neutral", "plugged", "rated_and_range_v"]

LINES_OF: dict[Connection, tuple[int, ...]] = {
    "single": (1, 2),
    "line-to-line": (2,),
    "star": (3,),
    "delta": (3,),
}
"""How many lines a fixture type of each connection can be plugged into."""


def connection_on(lines: int, own: Connection | None, wished: str | None) -> Connection | None:
    """The connection of a load on so many lines; None where it cannot be.

    ``own`` is the fixture type's, None for a spelled-out load; ``wished`` is what the body says.
    """
    if own is not None and lines not in LINES_OF[own]:
        return None
    by_lines: Connection = "single" if lines == 1 else "line-to-line" if lines == 2 else "star"
    if lines == 3 and (own == "delta" or (own is None and wished == "delta")):
        by_lines = "delta"
    return by_lines if wished in (None, by_lines) else None


def needs_neutral(connection: Connection) -> bool:
    """Whether the current of a load returns in the neutral."""
    return connection in ("single", "star")


def branch_voltage_v(connection: Connection, region: Region, system: System) -> float:
    """Nominal voltage across one branch in a region's system. [V]"""
    kind = region.system(system)
    if kind is None:
        raise ValueError(f"region {region.id} has no {system} supply")
    if not needs_neutral(connection) and kind.line_to_line_v is not None:
        return kind.line_to_line_v
    return kind.line_to_neutral_v


def rated_and_range_v(
    fixture: FixtureType, nominal_v: float
) -> tuple[float, tuple[float, float] | None]:
    """A fixture's rated voltage in a place of that nominal voltage, and its version's range. [V]"""
    rated_v = rated_voltage_v(fixture, nominal_v)
    return rated_v, version_for(fixture, rated_v)


def plugged(load: Load, board: int, outlet: Outlet, layout: Layout) -> Load:
    """A load moved to an outlet, with the connection and the rated voltage that it has there.

    ``board`` is the board's index. A spelled-out load keeps the voltage it was spelled out with.

    Raises
    ------
    ValueError
        If the load cannot sit on that many lines.
    """
    own = load.fixture.connection if load.fixture is not None else None
    wished = "delta" if own is None and load.connection == "delta" else None
    connection = connection_on(len(outlet.supply_lines), own, wished)
    if connection is None:
        raise ValueError(
            f"load {load.id!r} is {own or wished} and outlet {outlet.id!r} has "
            f"{len(outlet.supply_lines)} line(s)"
        )
    rated_v, range_v = load.rated_voltage_v, load.input_range_v
    if load.fixture is not None and connection != load.connection:
        nominal_v = branch_voltage_v(connection, layout.region, layout.supply.system)
        rated_v, range_v = rated_and_range_v(load.fixture, nominal_v)
    return replace(
        load,
        board=board,
        outlet=outlet.id,
        supply_lines=outlet.supply_lines,
        connection=connection,
        rated_voltage_v=rated_v,
        input_range_v=range_v,
    )
