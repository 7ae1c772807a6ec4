"""Reading a whole body: every part once, every fault noted, a layout only where there is none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from evenboard.catalogue import Catalogue
from evenboard.electrics.equipment import OutletStandard
from evenboard.electrics.layout import Layout
from evenboard.intake.boards import read_boards
from evenboard.intake.bounds import MAX_AMBIENT_C, MAX_SETUPS, MAX_SWITCHES, MIN_AMBIENT_C
from evenboard.intake.entry import Entry
from evenboard.intake.fault import Fault, LayoutInvalid
from evenboard.intake.limits import read_limits
from evenboard.intake.loads import Scene, read_loads
from evenboard.intake.nearest import quoted
from evenboard.intake.starting import read_start_order
from evenboard.intake.supply import outline, read_region, read_supply
from evenboard.intake.tree import plant

__all__ = ["faults", "resolve"]

LAYOUT_FIELDS = (
    "name",
    "region",
    "supply",
    "ambient_c",
    "boards",
    "loads",
    "setups",
    "start_order",
    "limits",
)
ALL_ON = "all"
"""Name of the one set-up of a layout that lists none."""


def resolve(body: Mapping[str, Any], catalogue: Catalogue, *, loose: bool = False) -> Layout:
    """The layout that a body describes.

    Parameters
    ----------
    body : mapping
        The layout as plain JSON values. Its shape is checked too: any JSON value will do.
    catalogue : Catalogue
        What is known of fixtures, boards, cables and regions.
    loose : bool
        Whether a load may be without an outlet, as the planner's loads are.

    Returns
    -------
    Layout
        Complete and solvable.

    Raises
    ------
    LayoutInvalid
        If anything in the body is wrong; it holds every fault.
    """
    layout, found = _read(body, catalogue, loose)
    if layout is None or found:
        raise LayoutInvalid(found)
    return layout


def faults(body: Mapping[str, Any], catalogue: Catalogue, *, loose: bool = False) -> list[Fault]:
    """Every fault of a body, in the order in which it is read; empty where there is none."""
    return _read(body, catalogue, loose)[1]


def _read(body: object, catalogue: Catalogue, loose: bool) -> tuple[Layout | None, list[Fault]]:
    if not isinstance(body, Mapping):
        return None, [Fault("", f"The body is {quoted(body)}: an object that describes a layout.")]
    found: list[Fault] = []
    entry = Entry(body, (), found)
    entry.only(LAYOUT_FIELDS, "A layout")
    name = entry.text("name", "")
    region = read_region(entry, catalogue)
    supply = read_supply(entry, region)
    ambient_c = entry.number(
        "ambient_c",
        "deg C",
        region.default_ambient_c if region else 30.0,
        least=MIN_AMBIENT_C,
        most=MAX_AMBIENT_C,
    )
    setup_names, setup_hours_h = _setups(entry)
    setups = tuple(dict.fromkeys(name for name in setup_names if name is not None))
    connectors = _connectors(catalogue)
    if not entry.has("boards"):
        entry.fault(
            "boards is missing: at least the board that the loads are plugged into.", "boards"
        )
    drafts = read_boards(entry, catalogue, region, connectors)
    tree = plant(
        drafts,
        supply or outline(entry),
        connectors,
        complete=_all_named(body.get("boards"), [draft.id for draft in drafts]),
    )
    scene = Scene(
        catalogue=catalogue,
        region=region,
        supply=supply,
        tree=tree,
        connectors=connectors,
        setups=setups or (ALL_ON,),
        setups_given=bool(setups) or entry.has("setups"),
        setups_complete=_all_named(body.get("setups"), setup_names),
        loose=loose,
    )
    loads = read_loads(entry, scene)
    if len(loads) * len(setups) > MAX_SWITCHES:
        entry.fault(
            f"{len(loads)} loads in {len(setups)} set-ups are too much for one answer: at most "
            f"{MAX_SWITCHES // len(loads)} set-ups with so many loads.",
            "setups",
        )
    start_order = read_start_order(entry, [load.id for load in loads], complete=not found)
    limits = read_limits(entry, region.limits) if region is not None else None
    if found or region is None or supply is None or limits is None or ambient_c is None:
        return None, found
    return (
        Layout(
            name=name or "",
            region=region,
            supply=supply,
            ambient_c=ambient_c,
            boards=tuple(tree.boards),
            loads=tuple(loads),
            setups=tuple(scene.setups),
            limits=limits,
            start_order=start_order,
            setup_hours_h=setup_hours_h,
        ),
        found,
    )


def _setups(body: Entry) -> tuple[list[str | None], tuple[float, ...]]:
    """Names of the set-ups in their order, None for one that cannot be read; hours, if any has."""
    names: list[str | None] = []
    hours: list[float | None] = []
    for entry in body.entries("setups", "set-up", MAX_SETUPS):
        entry.only(("id", "name", "hours_h"), "A set-up")
        hours.append(entry.number("hours_h", "h", most=24.0))
        entry.text("name")
        name = entry.id("id", required=True, noun="set-up")
        if name is not None and name in names:
            entry.fault(f"A second set-up is called {quoted(name)}.", "id")
        names.append(name)
    said = any(each is not None for each in hours)
    return names, tuple(each or 0.0 for each in hours) if said else ()


def _all_named(items: object, names: Sequence[str | None]) -> bool:
    """Whether each thing that a list of the body holds has a name that could be read."""
    if items is None:
        return True
    return isinstance(items, list | tuple) and len(items) == len(names) and None not in names


def _connectors(catalogue: Catalogue) -> Mapping[str, OutletStandard]:
    """Every plug and outlet that any region uses."""
    return {outlet.id: outlet for r in catalogue.regions.values() for outlet in r.outlets}
