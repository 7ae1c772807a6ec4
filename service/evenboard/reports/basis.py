"""On what the figures rest: versions, tables, assumptions."""

from __future__ import annotations

from evenboard.reports.figures import trimmed
from evenboard.reports.given import Given
from evenboard.reports.model import Fact
from evenboard.reports.words import ASSUMPTIONS

__all__ = ["assumptions", "basis_facts"]


def basis_facts(given: Given) -> tuple[Fact, ...]:
    """The versions of what computed and of what it looked up."""
    tables = {table["standard"] for table in given.resolved["cable_tables"]}
    return (
        Fact("Engine", given.content["engine_version"]),
        Fact("Catalogue", given.content["catalogue_version"]),
        Fact("Cable tables", "; ".join(sorted(tables)) or "none: no cable by type on this layout"),
    )


def assumptions(given: Given) -> tuple[str, ...]:
    """What was assumed of every layout, then of this one."""
    resolved = given.resolved
    own = []
    if not resolved["ambient_given"]:
        own.append(
            f"No ambient was given: {trimmed(resolved['ambient_c'])} °C, usual in "
            f"{resolved['region']['name']}, is taken for every cable."
        )
    supply = resolved["supply"]
    if supply["source_impedance"] is None:
        own.append(
            "No source impedance was given: the voltage at the supply’s terminals is taken as "
            "steady. What the mains or a generator loses up to there is not in the volts."
        )
    if supply["loop_impedance_ohm"] is None and supply["source_impedance"] is None:
        own.append("No loop impedance of the supply was given: fault loops are not judged.")
    bare = [board["id"] for board in resolved["boards"] if board["feeder"] is None]
    if bare:
        own.append(
            f"No cable is counted to {', '.join(bare)}: neither its drop nor its heat is judged."
        )
    return (*ASSUMPTIONS, *own)
