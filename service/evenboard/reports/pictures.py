"""The boards drawn: phase by phase and row by row, with what is plugged where."""

from __future__ import annotations

from evenboard.reports.figures import NONE, amps, listed, metres, trimmed, volts
from evenboard.reports.given import Given, Json
from evenboard.reports.model import (
    BoardPicture,
    OutletBox,
    PictureColumn,
    PictureRow,
    Plugged,
)
from evenboard.reports.words import LAID, ROWS

__all__ = ["board_picture", "device_words", "fed_words", "lead_words", "run_words"]

ACROSS = 4
"""Boxes side by side where a board has one phase only."""


def board_picture(given: Given, figures: Json) -> BoardPicture:
    """One board's face. ``figures`` is the board's part of the balance answer."""
    board = given.boards[figures["id"]]
    lines: list[str] = list(figures["lines"])
    known = {outlet["id"]: outlet for outlet in board["outlets"]}
    own_ma = _own_leakage(board, figures)
    single: list[tuple[str | None, int, OutletBox]] = []
    wide: list[OutletBox] = []
    for outlet in figures["outlets"]:
        box = _box(given, board, outlet, known[outlet["id"]], own_ma.get(outlet["id"]))
        if len(outlet["lines"]) == 1:
            single.append((outlet["row"], lines.index(outlet["lines"][0]), box))
        else:
            wide.append(box)
    return BoardPicture(
        id=board["id"],
        name="" if board["name"] == board["id"] else board["name"],
        fed=fed_words(given, board),
        columns=tuple(
            PictureColumn(
                name,
                given.pattern(behind),
                "" if name == behind else f"is {behind} of the supply",
            )
            for name, behind in zip(lines, figures["supply_lines"], strict=True)
        ),
        rows=_rows(single, len(lines)),
        wide=tuple(wide),
        notes=_notes(board, figures),
    )


def _rows(single: list[tuple[str | None, int, OutletBox]], lines: int) -> tuple[PictureRow, ...]:
    rows = []
    for row, name in ROWS.items():
        boxes = [(line, box) for where, line, box in single if where == row]
        if not boxes:
            continue
        if lines == 1:
            for start in range(0, len(boxes), ACROSS):
                part = boxes[start : start + ACROSS]
                rows.append(PictureRow(name, tuple((box,) for _, box in part)))
            continue
        cells = tuple(tuple(box for at, box in boxes if at == line) for line in range(lines))
        rows.append(PictureRow(name, cells))
    return tuple(rows)


def _box(
    given: Given, board: Json, outlet: Json, known: Json, leakage_ma: float | None
) -> OutletBox:
    place = (board["id"], outlet["id"])
    plugged = [
        Plugged(load["id"], _what(load), is_board=False) for load in given.plugged.get(place, ())
    ] + [Plugged(child["id"], "", is_board=True) for child in given.children.get(place, ())]
    protection = [f"{trimmed(outlet['rating_a'])} A"]
    breaker = known["breaker"]
    if breaker is not None:
        protection.append(f"{breaker['curve']}{trimmed(breaker['rating_a'])}")
    if known["rcd"] is not None:
        protection.append(device_words(board, outlet["id"], known["rcd"]))
    return OutletBox(
        id=outlet["id"],
        protection=" · ".join(protection),
        lines="+".join(outlet["lines"]) if len(outlet["lines"]) > 1 else "",
        plugged=tuple(plugged),
        figures=_figures(outlet, leakage_ma) if plugged else "",
        marks=tuple(dict.fromkeys(given.marks.get(place, ()))),
    )


def _figures(outlet: Json, leakage_ma: float | None) -> str:
    parts = [amps(outlet["current_a"]), volts(outlet["voltage_v"])]
    if leakage_ma:
        parts.append(f"leaks {trimmed(leakage_ma, 1)} mA")
    return " · ".join(parts)


def _own_leakage(board: Json, figures: Json) -> dict[str, float]:
    """What leaks behind the devices that serve one outlet alone, by that outlet."""
    served: dict[str, list[str]] = {}
    for outlet in board["outlets"]:
        if outlet["rcd"] is not None:
            served.setdefault(outlet["rcd"], []).append(outlet["id"])
    return {
        served[rcd["id"]][0]: rcd["leakage_ma"]
        for rcd in figures["rcds"]
        if len(served.get(rcd["id"], ())) == 1
    }


def device_words(board: Json, outlet_id: str, rcd_id: str) -> str:
    """An outlet's residual-current device: by name where others share it."""
    shared = sum(outlet["rcd"] == rcd_id for outlet in board["outlets"]) > 1
    rated = next((rcd["rated_residual_ma"] for rcd in board["rcds"] if rcd["id"] == rcd_id), None)
    milliamps = "" if rated is None else f"{trimmed(rated)} mA"
    named = shared or rcd_id != outlet_id
    return " ".join(part for part in (rcd_id if named else "", milliamps) if part)


def _what(load: Json) -> str:
    """A load's name with the number of like ones, and its level where it is dimmed."""
    name = load["name"] if load["name"] != load["id"] else ""
    if load["count"] > 1:
        name = f"{load['count']} × {name or load['id']}"
    if load["dimmed_to"] < 1.0:
        name = f"{name} at {trimmed(load['dimmed_to'] * 100, 0)}\u00a0%".strip()
    return name


def fed_words(given: Given, board: Json) -> str:
    """What feeds a board, and through what."""
    source, run = board["fed_from"], board["feeder"]
    words = (
        f"Fed from the supply ({trimmed(board['inlet_rating_a'])} A)"
        if source is None
        else f"Fed from board {source['board']}, outlet {source['outlet']}"
    )
    if run is not None:
        words += f", through {run_words(run)}"
    incomer = board["incomer"]
    if incomer is not None:
        words += f". Main breaker {incomer['curve']}{trimmed(incomer['rating_a'])}"
    if board["tag"]:
        words += f". Tag {board['tag']}"
    return f"{words}."


def lead_words(run: Json) -> str:
    """A lead in few words: length, size, type and how it lies."""
    parts = [metres(run["length_m"]), run["size"], run["cable"], LAID[run["laid"]]]
    if not run["neutral_connected"]:
        parts.append("NEUTRAL NOT CONNECTED")
    if run["tag"]:
        parts.append(f"tag {run['tag']}")
    return ", ".join(part for part in parts if part)


def run_words(run: Json) -> str:
    """A cable in words: length, kind, size, how it lies."""
    cable = run["cable_name"] or ("cable as spelled out" if run["spelled_out"] else "cable")
    if cable[1:2].islower():
        cable = cable[0].lower() + cable[1:]
    parts = [metres(run["length_m"]), "of", run["size"], cable]
    words = " ".join(part for part in parts if part)
    thin = run["neutral_csa_mm2"]
    if thin is not None and thin != run["csa_mm2"]:
        words += f", neutral {trimmed(thin)} mm²"
    if not run["neutral_connected"]:
        words += ", NEUTRAL NOT CONNECTED"
    words += f", {LAID[run['laid']]}"
    layers, circuits = run["coil_layers"], run["grouped_circuits"]
    if run["laid"] == "coiled" and layers:
        words += f" in {layers} layer{'' if layers == 1 else 's'}"
    if circuits > 1:
        words += f", {circuits} circuits together"
    if run["tag"]:
        words += f", tag {run['tag']}"
    return words


def _notes(board: Json, figures: Json) -> tuple[str, ...]:
    """The residual-current devices that several outlets share, and what leaks behind each."""
    if figures["setup"] is None:
        return (f"{NONE} no solution.",)
    devices = {rcd["id"]: rcd for rcd in [*board["rcds"], board["incomer_rcd"]] if rcd is not None}
    own = [outlet["rcd"] for outlet in board["outlets"]]
    shared = [
        f"{rcd['id']} ({trimmed(rcd['rated_residual_ma'])} mA"
        f"{', delayed' if devices.get(rcd['id'], {}).get('delayed') else ''}) with "
        f"{trimmed(rcd['leakage_ma'], 1)} mA standing"
        for rcd in figures["rcds"]
        if own.count(rcd["id"]) != 1
    ]
    return (f"Residual-current device {listed(shared, most=400)}.",) if shared else ()
