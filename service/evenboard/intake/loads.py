"""The loads of the body: what each is, where it is plugged in, and when it burns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from evenboard.catalogue import Catalogue
from evenboard.electrics.equipment import Connection, FixtureType, OutletStandard, Region
from evenboard.electrics.layout import Dimmer, Load, Supply
from evenboard.electrics.load import version_for
from evenboard.intake.bounds import MAX_COUNT, MAX_LOADS, MAX_SETUPS
from evenboard.intake.custom import Custom, read_custom
from evenboard.intake.entry import MAX_SUGGESTIONS, Entry
from evenboard.intake.nearest import MAX_COMPARED, listed, quoted
from evenboard.intake.place import Place, read_place
from evenboard.intake.plug import branch_voltage_v, needs_neutral, rated_and_range_v
from evenboard.intake.runs import read_run
from evenboard.intake.tree import Tree

__all__ = ["read_loads"]

LOAD_FIELDS = (
    "id",
    "name",
    "fixture",
    "custom",
    "count",
    "board",
    "outlet",
    "lines",
    "connection",
    "connector",
    "dimmed_to",
    "dimmer",
    "lead",
    "setups",
    "keep",
    "tag",
)
DIMMERS: dict[str, Dimmer] = {
    "none": "none",
    "built-in": "built-in",
    "phase-cut": "phase-cut",
    "variable-transformer": "variable-transformer",
}


@dataclass(frozen=True, slots=True)
class Scene:
    """What all loads are read against. ``region`` and ``supply`` are None after a fault there."""

    catalogue: Catalogue
    region: Region | None
    supply: Supply | None
    tree: Tree
    connectors: Mapping[str, OutletStandard]
    setups: Sequence[str]
    setups_given: bool
    setups_complete: bool
    loose: bool


def read_loads(body: Entry, scene: Scene) -> list[Load]:
    """All loads that could be read, in the order of the body."""
    loads: list[Load] = []
    first: dict[str, int] = {}
    items = body.values.get("loads")
    if isinstance(items, list | tuple):
        for item in items[:MAX_LOADS]:
            if isinstance(item, Mapping):
                place = (item.get("board"), item.get("outlet"))
                if all(isinstance(name, str) for name in place):
                    scene.tree.wanted.add(place)
    for entry in body.entries("loads", "load", MAX_LOADS):
        name = entry.values.get("id")
        if isinstance(name, str) and name in first:
            entry.fault(
                f"A second load is called {quoted(name)} (the first is /loads/{first[name]}): give "
                "each load a name of its own.",
                "id",
            )
        elif isinstance(name, str):
            first[name] = int(entry.path[-1])
        load = _load(entry, scene)
        if load is not None:
            loads.append(load)
    return loads


def _load(entry: Entry, scene: Scene) -> Load | None:
    before = len(entry.faults)
    entry.only(LOAD_FIELDS, "A load")
    name = entry.id("id", required=True, noun="load")
    kind = _kind(entry, scene.catalogue)
    count = entry.whole("count", 1, least=1, most=MAX_COUNT, noun="like lamps")
    dimmed_to = entry.number("dimmed_to", "of full power", 1.0, most=1.0)
    dimmer = _dimmer(entry, kind, 1.0 if dimmed_to is None else dimmed_to)
    on = _on(entry, scene)
    keep = entry.flag("keep", False)
    tag = entry.id("tag", noun="piece of equipment")
    shown = entry.text("name")
    own = kind.connection if isinstance(kind, FixtureType) else None
    place = read_place(entry, name, own, scene.tree, scene.connectors, scene.loose)
    lead_entry = entry.entry("lead", "lead")
    lead = read_run(lead_entry, scene.catalogue, scene.region) if lead_entry else None
    if len(entry.faults) > before or kind is None or name is None or place is None:
        return None
    if scene.region is None or scene.supply is None:
        return None
    if lead is not None and not lead.neutral_connected and needs_neutral(place.connection):
        entry.fault(
            "The lead's neutral is open, so the load gets no current: connect it, or leave the "
            "load out.",
            "lead",
            "neutral_connected",
        )
        return None
    figures = _figures(kind, place, scene.region, scene.supply)
    return Load(
        id=name,
        name=shown or kind.name,
        fixture=kind if isinstance(kind, FixtureType) else None,
        count=count or 1,
        power_w=kind.power_w,
        power_factor=kind.power_factor,
        displacement_factor=kind.displacement_factor,
        displacement=kind.displacement,
        third_harmonic_pct=kind.third_harmonic_pct,
        load_model=kind.load_model,
        rated_voltage_v=figures.rated_v,
        input_range_v=figures.range_v,
        inrush_multiple=kind.inrush_multiple,
        inrush_ms=kind.inrush_ms,
        leakage_ma=kind.leakage_ma,
        size_class=kind.size_class
        or scene.catalogue.size_classes.of(kind.power_w / figures.branches),
        connection=figures.connection,
        dimmed_to=1.0 if dimmed_to is None else dimmed_to,
        dimmer=dimmer,
        board=place.board,
        outlet=place.outlet,
        supply_lines=place.supply_lines,
        lead=lead,
        on=on,
        keep=keep,
        connector=place.connector,
        tag=tag,
    )


def _kind(entry: Entry, catalogue: Catalogue) -> FixtureType | Custom | None:
    """The fixture type that the load names, or the load that it spells out."""
    spelled_out = entry.entry("custom", "load")
    if entry.has("fixture") and entry.has("custom"):
        entry.fault(
            "custom stands beside fixture: name a type or spell one out, not both.", "custom"
        )
        return None
    if entry.has("custom"):
        return read_custom(spelled_out) if spelled_out is not None else None
    slug = entry.values.get("fixture")
    if slug is None:
        entry.fault(
            'A load needs a fixture, the name of a type, or custom: {"name": "tea urn", '
            '"power_w": 2400}.',
            "fixture",
        )
        return None
    fixture = catalogue.fixtures.get(slug) if isinstance(slug, str) else None
    if fixture is None:
        hint = _like(entry, slug, catalogue)
        entry.fault(f"There is no fixture {quoted(slug)}.{hint}", "fixture")
    return fixture


def _like(entry: Entry, slug: object, catalogue: Catalogue) -> str:
    """The nearest fixtures: by what a crew would call it, else by the letters of the name."""
    if not isinstance(slug, str):
        return ' The slug of a type, such as "tungsten-open-face-2000".'
    if len(entry.faults) <= MAX_SUGGESTIONS:
        hits = catalogue.search.find(q=slug[:MAX_COMPARED])[:3]
        if hits:
            return f" Nearest: {listed([hit.fixture.slug for hit in hits])}."
    return entry.suggest(slug, catalogue.fixtures, "fixture")


def _dimmer(entry: Entry, kind: FixtureType | Custom | None, dimmed_to: float) -> Dimmer:
    """How the load is dimmed: as it says, else phase-cut for tungsten and built-in for the rest."""
    name = entry.choice("dimmer", DIMMERS)
    if kind is None:
        return "none"
    if name is None:
        if dimmed_to == 1.0:
            return "none"
        return "phase-cut" if kind.load_model == "tungsten" else "built-in"
    if name == "none" and dimmed_to < 1.0:
        entry.fault(
            f"dimmed_to is {dimmed_to:g}, so something dims it: phase-cut, built-in or "
            "variable-transformer.",
            "dimmer",
        )
    resistive = kind.load_model in ("tungsten", "constant-impedance") and kind.power_factor == 1.0
    if name == "phase-cut" and not resistive:
        entry.fault(
            f"{kind.name} has electronics or a winding in front of the lamp: never behind a "
            "phase-cut dimmer. Say built-in, or leave dimmer out.",
            "dimmer",
        )
    return DIMMERS[name]


def _on(entry: Entry, scene: Scene) -> tuple[bool, ...]:
    """In which set-ups the load burns: all of them where nothing is said, none by an empty list."""
    names = entry.names("setups", "set-up", MAX_SETUPS)
    if not names:
        off = entry.has("setups") and scene.setups_given
        return (not off,) * len(scene.setups)
    for index, name in enumerate(names):
        if name not in scene.setups and not scene.setups_complete:
            continue
        if not scene.setups_given:
            entry.fault(
                f"The layout has no set-ups, so there is no {quoted(name)}: list them in setups, "
                f'such as [{{"id": {quoted(name)}}}].',
                "setups",
                index,
            )
        elif name not in scene.setups:
            hint = entry.suggest(name, scene.setups, "set-up")
            entry.fault(f"There is no set-up {quoted(name)}.{hint}", "setups", index)
    wanted = set(names)
    return tuple(setup in wanted for setup in scene.setups)


@dataclass(frozen=True, slots=True)
class _Figures:
    connection: Connection
    branches: int
    rated_v: float
    range_v: tuple[float, float] | None


def _loose_connection(kind: FixtureType, region: Region, supply: Supply) -> Connection:
    """Line to neutral where the lamp is made for that voltage, else line to line where for that."""
    ways: tuple[Connection, ...] = ("single", "line-to-line")
    for connection in ways:
        nominal_v = branch_voltage_v(connection, region, supply.system)
        if version_for(kind, nominal_v) is not None:
            return connection
    return "single"


def _figures(kind: FixtureType | Custom, place: Place, region: Region, supply: Supply) -> _Figures:
    """Connection, rated voltage and version as the place makes them."""
    connection = place.connection
    branches = 3 if connection in ("star", "delta") else 1
    nominal_v = branch_voltage_v(connection, region, supply.system)
    if isinstance(kind, FixtureType):
        if place.board is None and kind.connection == "single":
            connection = _loose_connection(kind, region, supply)
            nominal_v = branch_voltage_v(connection, region, supply.system)
        return _Figures(connection, branches, *rated_and_range_v(kind, nominal_v))
    return _Figures(connection, branches, kind.rated_voltage_v or nominal_v, kind.input_range_v)
