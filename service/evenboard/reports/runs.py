"""Boards and what feeds them: amps, volts, drop, capacity and heat, conductor by conductor."""

from __future__ import annotations

from evenboard.reports.figures import NONE, figure, listed, trimmed, watts
from evenboard.reports.given import Given, Json
from evenboard.reports.model import RunEntry
from evenboard.reports.pictures import run_words

__all__ = ["RUN_HEAD", "run_entries", "runs_notes"]

RUN_HEAD = ("", "A", "of rating", "of cable", "Volts here", "Drop", "Core")
"""What the figures of a conductor are, in their order."""


def run_entries(given: Given) -> tuple[RunEntry, ...]:
    """Every board, in the order of the layout."""
    return tuple(_entry(given, board) for board in given.balance["boards"])


def _entry(given: Given, figures: Json) -> RunEntry:
    board, feeder = given.boards[figures["id"]], figures["feeder"]
    capacity = None if feeder is None else feeder["capacity_a"]
    rows = []
    for phase in figures["phases"]:
        name = phase["phase"]
        rows.append(
            (
                name,
                figure(phase["current_a"], 1),
                _percent(phase["loading_pct"]),
                _share(phase["current_a"], capacity),
                figure((figures["voltage_v"] or {}).get(name), 1),
                _percent((figures["voltage_drop_pct"] or {}).get(name), 1),
                _core(feeder, name),
            )
        )
    neutral = figures["neutral"]
    if neutral is not None:
        rows.append(
            (
                "N",
                figure(neutral["current_a"], 1),
                _percent(neutral["loading_pct"]),
                _share(neutral["current_a"], capacity) if _full_neutral(board) else NONE,
                figure(figures["neutral_to_earth_v"], 1),
                NONE,
                _core(feeder, "N"),
            )
        )
    return RunEntry(board["id"], _words(board, figures), tuple(rows))


def _full_neutral(board: Json) -> bool:
    run = board["feeder"]
    thin = None if run is None else run["neutral_csa_mm2"]
    return thin is None or thin == run["csa_mm2"]


def _percent(value: float | None, decimals: int = 0) -> str:
    return NONE if value is None else f"{figure(value, decimals)} %"


def _share(current_a: float | None, capacity_a: float | None) -> str:
    if current_a is None or not capacity_a:
        return NONE
    return _percent(100.0 * current_a / capacity_a)


def _core(feeder: Json | None, name: str) -> str:
    cores = None if feeder is None else feeder["core_temperature_c"]
    celsius = (cores or {}).get(name)
    return NONE if celsius is None else f"{figure(celsius)} °C"


def _words(board: Json, figures: Json) -> tuple[str, ...]:
    run, feeder = board["feeder"], figures["feeder"]
    if run is None or feeder is None:
        return ("No cable counted.",)
    words = [f"{run_words(run)}."]
    if feeder["capacity_a"] is None:
        words.append("Capacity not known: no rating table has this cable.")
    else:
        carries = trimmed(feeder["capacity_a"], 1)
        words.append(f"May carry {carries} A a core here ({feeder['capacity_basis']}).")
    heat = []
    if len(figures["phases"]) > 1 and feeder["core_spread_k"] is not None:
        heat.append(f"cores {trimmed(feeder['core_spread_k'], 1)} K apart")
        heat.append(f"the warmest grows {trimmed(feeder['differential_expansion_mm'], 1)} mm more")
    if feeder["loss_w"] is not None:
        heat.append(f"{watts(feeder['loss_w'])} lost as heat")
    if heat:
        text = listed(heat)
        words.append(f"{text[0].upper()}{text[1:]}.")
    return tuple(words)


def runs_notes(given: Given) -> tuple[str, ...]:
    """How to read the figures."""
    notes = (
        "Amps, of the board’s own worst set-up, are what it takes in. Volts are line to the "
        "board’s own neutral; of the neutral itself, against earth. A drop below 0 % is a rise, as "
        "an uneven neutral gives it to the other phases. Core is the steady temperature of that "
        "conductor in the hottest set-up.",
    )
    rolled = [
        board["id"] for board in given.balance["boards"] if board["lines"] != board["supply_lines"]
    ]
    if not rolled:
        return notes
    return (
        *notes,
        f"Lines of {listed(rolled, most=20)} have names of their own: see the board’s picture.",
    )
