"""A run of cable: a board's feeder or a load's lead."""

from __future__ import annotations

from evenboard.catalogue import Catalogue
from evenboard.electrics.conductor import conductor_sizes_mm2
from evenboard.electrics.equipment import CableTable, CableType, Conductor, Region
from evenboard.electrics.layout import Laid, Run
from evenboard.intake.bounds import (
    MAX_AMPS,
    MAX_CIRCUITS,
    MAX_COIL_LAYERS,
    MAX_CSA_MM2,
    MAX_LENGTH_M,
    MAX_OHM_PER_KM,
    MIN_AMPS,
)
from evenboard.intake.entry import Entry
from evenboard.intake.nearest import listed, nearest_numbers, quoted

__all__ = ["read_run"]

LAID: dict[str, Laid] = {
    "free-air": "free-air",
    "surface": "surface",
    "grouped": "grouped",
    "coiled": "coiled",
}
RUN_FIELDS = (
    "cable",
    "csa_mm2",
    "table",
    "neutral_csa_mm2",
    "conductor",
    "length_m",
    "laid",
    "coil_layers",
    "grouped_circuits",
    "neutral_connected",
    "tag",
)
CONDUCTOR_FIELDS = (
    "r_ohm_per_km",
    "x_ohm_per_km",
    "neutral_r_ohm_per_km",
    "neutral_x_ohm_per_km",
    "capacity_a",
)
SAME_SIZE = 0.02
"""Sizes closer than this share are one: 3.3 and 3.31 mm2 are both 12 AWG."""


def read_run(entry: Entry, catalogue: Catalogue, region: Region | None) -> Run | None:
    """A feeder or lead; None after a fault.

    A spelled-out conductor may stand beside a cable type: its impedance, and its capacity where it
    has one, then go before the type's.
    """
    before = len(entry.faults)
    entry.only(RUN_FIELDS, "A cable run")
    length_m = entry.number("length_m", "m", most=MAX_LENGTH_M, required=True)
    laid, layers, circuits = _laid(entry)
    neutral_connected = entry.flag("neutral_connected", True)
    tag = entry.id("tag", noun="piece of equipment")
    cable, table, csa_mm2, neutral_csa_mm2 = None, None, None, None
    conductor = None
    spelled_out = entry.entry("conductor", "conductor")
    if entry.has("conductor"):
        conductor = _conductor(spelled_out) if spelled_out is not None else None
    if not entry.has("conductor") or entry.has("cable"):
        cable, table, csa_mm2 = _cable(entry, catalogue, region)
        neutral_csa_mm2 = _neutral_size(entry)
    else:
        for name in ("csa_mm2", "table", "neutral_csa_mm2"):
            if entry.has(name):
                entry.fault(f"{name} is that of a cable type: name the cable too.", name)
    if len(entry.faults) > before or length_m is None:
        return None
    return Run(
        length_m=length_m,
        cable=cable,
        table=table,
        csa_mm2=csa_mm2,
        neutral_csa_mm2=neutral_csa_mm2,
        conductor=conductor,
        laid=laid,
        coil_layers=layers,
        grouped_circuits=circuits,
        neutral_connected=neutral_connected,
        tag=tag,
    )


def _laid(entry: Entry) -> tuple[Laid, int, int]:
    """How the run lies. What contradicts itself is a fault: layers make all the difference."""
    layers = entry.whole("coil_layers", 0, least=0, most=MAX_COIL_LAYERS, noun="layers")
    circuits = entry.whole("grouped_circuits", 1, least=1, most=MAX_CIRCUITS, noun="circuits")
    laid = entry.choice("laid", LAID, "coiled" if layers else "free-air")
    if laid == "coiled" and layers == 0:
        entry.fault(
            "The run is coiled: say in coil_layers how many layers lie on each other, 1 to "
            f"{MAX_COIL_LAYERS}; or lay it out and say so in laid.",
            "coil_layers",
        )
    if laid is not None and laid != "coiled" and layers:
        entry.fault(
            f"coil_layers is {layers} but the run is laid {laid}: say coiled, or 0 layers.",
            "coil_layers",
        )
    if laid == "grouped" and circuits == 1:
        entry.fault(
            "The run is grouped: say in grouped_circuits how many circuits lie together, 2 to "
            f"{MAX_CIRCUITS}.",
            "grouped_circuits",
        )
    return LAID.get(laid or "", "free-air"), layers or 0, circuits or 1


def _conductor(entry: Entry) -> Conductor | None:
    entry.only(CONDUCTOR_FIELDS, "A conductor")

    def ohm(name: str, default: float | None, required: bool = False) -> float | None:
        return entry.number(name, "ohm/km", default, most=MAX_OHM_PER_KM, required=required)

    r = ohm("r_ohm_per_km", None, required=True)
    x = ohm("x_ohm_per_km", 0.0)
    neutral_r = ohm("neutral_r_ohm_per_km", r)
    neutral_x = ohm("neutral_x_ohm_per_km", x)
    capacity_a = entry.number("capacity_a", "A", least=MIN_AMPS, most=MAX_AMPS)
    if r is None or x is None or neutral_r is None or neutral_x is None:
        return None
    return Conductor(r, x, neutral_r, neutral_x, capacity_a)


def _cable(
    entry: Entry, catalogue: Catalogue, region: Region | None
) -> tuple[CableType | None, CableTable | None, float | None]:
    wanted_mm2 = entry.number("csa_mm2", "mm2", most=MAX_CSA_MM2, above=True)
    name = entry.values.get("cable")
    if name is None:
        entry.fault(
            "cable is missing: a cable type with its csa_mm2, or a conductor spelled out. "
            f"Types: {listed(sorted(catalogue.cables), 'and')}.",
            "cable",
        )
        return None, None, None
    cable = catalogue.cables.get(name) if isinstance(name, str) else None
    if cable is None:
        hint = entry.suggest(name, catalogue.cables, "cable type")
        entry.fault(f"There is no cable type {quoted(name)}.{hint}", "cable")
        return None, None, None
    table = _table(entry, cable, region)
    if table is None:
        return cable, None, None
    if not entry.has("csa_mm2"):
        sizes = [size.csa_mm2 for size in table.sizes]
        entry.fault(
            f"csa_mm2 is missing: {cable.id} is rated in {table.standard} for "
            f"{listed(sorted(sizes), 'and', 24)} mm2.",
            "csa_mm2",
        )
    if wanted_mm2 is None:
        return cable, table, None
    return cable, table, _size(entry, cable, table, wanted_mm2)


def _table(entry: Entry, cable: CableType, region: Region | None) -> CableTable | None:
    """The rating table asked for, else the region's for this cable, else the cable's first."""
    tables = {table.id: table for table in cable.tables}
    name = entry.values.get("table")
    if name is not None:
        if not isinstance(name, str) or name not in tables:
            hint = entry.suggest(name, tables, "rating table")
            entry.fault(f"{cable.id} has no rating table {quoted(name)}.{hint}", "table")
            return None
        return tables[name]
    usual = region.cable_tables.get(cable.id) if region is not None else None
    if usual in tables:
        return tables[usual]
    return cable.tables[0]


def _size(entry: Entry, cable: CableType, table: CableTable, wanted_mm2: float) -> float | None:
    for size in table.sizes:
        if abs(size.csa_mm2 - wanted_mm2) <= SAME_SIZE * size.csa_mm2:
            return size.csa_mm2
    near = nearest_numbers(wanted_mm2, {size.csa_mm2 for size in table.sizes})
    others = [
        other.id
        for other in cable.tables
        if any(abs(s.csa_mm2 - wanted_mm2) <= SAME_SIZE * s.csa_mm2 for s in other.sizes)
    ]
    hint = f" Rated in table {listed(others)}." if others else ""
    entry.fault(
        f"{cable.id} is not rated for {wanted_mm2:g} mm2 in {table.standard}: nearest "
        f"{listed(near)} mm2.{hint}",
        "csa_mm2",
    )
    return None


def _neutral_size(entry: Entry) -> float | None:
    wanted = entry.number("neutral_csa_mm2", "mm2", most=MAX_CSA_MM2, above=True)
    if wanted is None:
        return None
    known = conductor_sizes_mm2()
    for size in known:
        if abs(size - wanted) <= SAME_SIZE * size:
            return size
    entry.fault(
        f"neutral_csa_mm2 is {wanted:g}: the resistance of that size is not known; nearest "
        f"{listed(nearest_numbers(wanted, known))} mm2.",
        "neutral_csa_mm2",
    )
    return None
