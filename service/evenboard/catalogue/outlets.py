"""Outlets by open standard and the boards that carry them."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from evenboard.catalogue.entry import Entry, nearest
from evenboard.electrics.equipment import (
    BoardType,
    Breaker,
    Curve,
    OutletStandard,
    OutletType,
    RcdType,
    Row,
    System,
)

__all__ = ["LINES", "check_accepts", "read_board", "read_outlet_standards"]

LINES: Mapping[str, tuple[str, ...]] = {
    "three-phase": ("L1", "L2", "L3"),
    "three-wire": ("L1", "L2"),
    "single-phase": ("L1",),
}
"""Names of the lines of each system, on supplies and boards alike."""


def read_outlet_standards(file: Entry) -> list[OutletStandard]:
    """The outlets of one file of standards."""
    outlets = []
    for entry in file.children("outlet"):
        outlet = OutletStandard(
            id=entry.slug("id"),
            name=entry.text("name"),
            standard=entry.text("standard"),
            lines=entry.integer("lines", at_least=1, at_most=3),
            neutral=entry.flag("neutral"),
            rating_a=entry.number("rating_a", above=0.0, at_most=1000.0),
            voltage_v=entry.span("voltage_v"),
            accepts=entry.texts("accepts"),
            basis=entry.basis(),
        )
        if outlet.lines == 1 and not outlet.neutral:
            entry.fault("an outlet of one line must have a neutral")
        if outlet.accepts and outlet.id not in outlet.accepts:
            entry.fault(f"accepts must hold the outlet's own plug, {outlet.id!r}")
        if entry.close():
            outlets.append(outlet)
    file.close()
    return outlets


def check_accepts(
    entry: Entry, outlet: OutletStandard, known: Mapping[str, OutletStandard]
) -> None:
    """Record plugs that are unknown or that their outlet could not feed safely."""
    for plug_id in outlet.accepts:
        plug = known.get(plug_id)
        if plug is None:
            entry.one_of("accepts", plug_id, known)
        elif plug.rating_a > outlet.rating_a:
            entry.fault(
                f"accepts {plug_id} of {plug.rating_a:g} A: a plug goes into an outlet "
                f"of its own rating or more, not of {outlet.rating_a:g} A"
            )
        elif plug.lines != outlet.lines:
            entry.fault(f"accepts {plug_id}, which has {plug.lines} line(s), not {outlet.lines}")


def read_board(
    file: Entry,
    outlets_of: Mapping[str, Collection[str] | None],
    known: Mapping[str, OutletStandard],
) -> BoardType | None:
    """The board type of one file, or None where it has faults.

    ``outlets_of`` has the outlet ids of each region, None for a region that could not be read;
    ``known`` has every outlet standard.
    """
    regions = file.texts("regions")
    for region in regions:
        file.one_of("regions", region, outlets_of)
    system: System = file.choice("system", System)
    inlet = file.optional_text("inlet")
    inlet_rating_a = file.number("inlet_rating_a", above=0.0)
    if inlet is not None:
        _check_connector(file, "inlet", inlet, regions, outlets_of, known)
        if inlet in known and known[inlet].rating_a < inlet_rating_a:
            file.fault(
                f"inlet_rating_a {inlet_rating_a:g} must be at most that of the inlet {inlet}, "
                f"{known[inlet].rating_a:g}"
            )
    rcds = tuple(_rcd(entry) for entry in file.children("rcds"))
    rcd_ids = [rcd.id for rcd in rcds]
    if len(set(rcd_ids)) != len(rcd_ids):
        file.fault("rcds must have different ids")
    outlets: list[OutletType] = []
    unused = set(rcd_ids)
    for entry in file.children("outlets"):
        outlet = _outlet(entry, system, rcd_ids, known)
        unused.discard(outlet.rcd or "")
        if outlet.connector is not None:
            _check_connector(entry, "connector", outlet.connector, regions, outlets_of, known)
        if outlet.rating_a > inlet_rating_a:
            entry.fault(
                f"rating_a {outlet.rating_a:g} must be at most the inlet's, {inlet_rating_a:g}"
            )
        if any(outlet.id == other.id for other in outlets):
            entry.fault(f"outlet {outlet.id!r} is there twice: give each its own id")
        if entry.close():
            outlets.append(outlet)
    if not outlets:
        file.fault("outlets must list at least one outlet")
    for rcd in sorted(unused):
        file.fault(f"rcd {rcd!r} covers no outlet: name it at one or leave it out")
    board = BoardType(
        id=file.slug("id"),
        name=file.text("name"),
        regions=regions,
        system=system,
        inlet=inlet,
        inlet_rating_a=inlet_rating_a,
        outlets=tuple(outlets),
        rcds=rcds,
        incomer=_breaker(file.child("incomer")) if file.has("incomer") else None,
        incomer_rcd=_rcd(file.child("incomer_rcd")) if file.has("incomer_rcd") else None,
        basis=file.basis(),
    )
    return board if file.close() else None


def _outlet(
    entry: Entry, system: System, rcds: Collection[str], known: Mapping[str, OutletStandard]
) -> OutletType:
    lines = entry.texts("lines")
    for line in lines:
        entry.one_of("lines", line, LINES[system])
    rcd = entry.optional_text("rcd")
    if rcd is not None:
        entry.one_of("rcd", rcd, rcds)
    connector = entry.optional_text("connector")
    standard = known.get(connector) if connector is not None else None
    rating_a = entry.number("rating_a", above=0.0)
    if standard is not None:
        if standard.lines != len(lines):
            entry.fault(
                f"{connector} has {standard.lines} line(s), so lines cannot be {list(lines)}"
            )
        if rating_a > standard.rating_a:
            entry.fault(
                f"rating_a {rating_a:g} must be at most that of {connector}, {standard.rating_a:g}"
            )
    row: Row | None = entry.choice("row", Row) if entry.has("row") else None
    return OutletType(
        id=entry.slug("id"),
        lines=lines,
        rating_a=rating_a,
        row=row,
        breaker=_breaker(entry.child("breaker")) if entry.has("breaker") else None,
        rcd=rcd,
        connector=connector,
        neutral=entry.flag("neutral", default=standard.neutral if standard else True),
    )


def _breaker(entry: Entry) -> Breaker:
    curve: Curve = entry.choice("curve", Curve, "C")
    breaker = Breaker(entry.number("rating_a", above=0.0, at_most=2000.0), curve)
    entry.close()
    return breaker


def _rcd(entry: Entry) -> RcdType:
    rcd = RcdType(
        id=entry.slug("id"),
        rated_residual_ma=entry.number("rated_residual_ma", above=0.0, at_most=3000.0),
        delayed=entry.flag("delayed", default=False),
    )
    entry.close()
    return rcd


def _check_connector(
    entry: Entry,
    key: str,
    connector: str,
    regions: Collection[str],
    outlets_of: Mapping[str, Collection[str] | None],
    known: Mapping[str, OutletStandard],
) -> None:
    if connector not in known:
        entry.one_of(key, connector, known)
        return
    for region in regions:
        there = outlets_of.get(region)
        if there is not None and connector not in there:
            entry.fault(
                f"{key} {connector!r} is not in use in region {region}, {nearest(connector, there)}"
            )
