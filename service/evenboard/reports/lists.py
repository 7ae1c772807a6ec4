"""What is plugged and what it draws: loads, outlets, set-ups, room left, order of switching on."""

from __future__ import annotations

from evenboard.reports.figures import NONE, figure, kilo, listed, ohms, trimmed, watts
from evenboard.reports.given import Given, Json
from evenboard.reports.model import Column, Section
from evenboard.reports.pictures import device_words, lead_words
from evenboard.reports.tables import plain_table
from evenboard.reports.words import DIMMERS

__all__ = ["loads", "outlets", "room", "setups", "starting"]


def _named(thing: Json) -> str:
    """An id with the name behind it, where the name says more."""
    return thing["id"] if thing["name"] in ("", thing["id"]) else f"{thing['id']}: {thing['name']}"


def loads(given: Given) -> Section:
    """Every load, board by board in the order of the outlets, loose ones last."""
    places = {
        (board["id"], outlet["id"]): (i, k)
        for i, board in enumerate(given.balance["boards"])
        for k, outlet in enumerate(board["outlets"])
    }
    last = (len(given.boards), 0)
    ordered = sorted(
        given.resolved["loads"], key=lambda load: places.get((load["board"], load["outlet"]), last)
    )
    columns = (
        Column("Load", share=2.4),
        Column("Draws", "right"),
        Column("PF", "right"),
        Column("Plugged at", share=1.3),
        Column("Phase"),
        Column("A", "right"),
        Column("V", "right"),
        Column("Light", "right"),
        Column("Lead", share=1.3),
        Column("Burns in", share=0.9),
        Column("Tag"),
    )
    one_board, one_setup = len(given.boards) == 1, len(given.setups) == 1
    rows = []
    for load in ordered:
        figures = given.load_figures[load["id"]]
        light, loose = figures["light_pct"], load["board"] is None
        at = load["outlet"] if one_board else f"{load['board']}, {load['outlet']}"
        rows.append(
            (
                _named(load) + _level(load),
                (f"{load['count']} × " if load["count"] > 1 else "") + watts(load["power_w"]),
                figure(load["power_factor"], 2),
                "not plugged" if loose else at,
                "+".join(load["lines"]),
                NONE if loose else figure(figures["current_a"], 1),
                NONE if loose else figure(figures["voltage_v"]),
                "" if light is None else f"{figure(light)} %",
                "" if load["lead"] is None else lead_words(load["lead"]),
                "" if one_setup else _burns(given, load),
                load["tag"] or "",
            )
        )
    unplugged = [load["id"] for load in ordered if load["board"] is None]
    notes = [
        "Amps and volts where the load gets least volts; light of tungsten against full voltage."
    ]
    if unplugged:
        notes.append(f"Not plugged, counted as off: {listed(unplugged, most=400)}.")
    return Section("Loads", table=plain_table(columns, rows), notes=tuple(notes))


def _level(load: Json) -> str:
    if load["dimmed_to"] >= 1.0:
        return ""
    by = DIMMERS.get(load["dimmer"], "")
    return f" (dimmed to {trimmed(load['dimmed_to'] * 100, 0)} %{', ' + by if by else ''})"


def _burns(given: Given, load: Json) -> str:
    if len(load["setups"]) == len(given.setups):
        return "all"
    return listed(load["setups"], most=8) or "none"


def outlets(given: Given) -> Section | None:
    """The outlets in use: connector, protection, amps, volts, inrush, fault loop."""
    columns = (
        Column("Outlet", share=1.2),
        Column("Used by", share=1.4),
        Column("Connector", share=1.6),
        Column("Rated", "right"),
        Column("Breaker", "right"),
        Column("RCD"),
        Column("A", "right"),
        Column("V", "right"),
        Column("Inrush, A", "right"),
        Column("Loop, Ω", "right"),
    )
    one_board = len(given.boards) == 1
    rows = []
    for board in given.balance["boards"]:
        known = {outlet["id"]: outlet for outlet in given.boards[board["id"]]["outlets"]}
        for outlet in board["outlets"]:
            if outlet["used_by"] is None:
                continue
            place = (board["id"], outlet["id"])
            kind = known[outlet["id"]]
            breaker = kind["breaker"]
            users = [load["id"] for load in given.plugged.get(place, ())]
            users += [f"board {child['id']}" for child in given.children.get(place, ())]
            rows.append(
                (
                    outlet["id"] if one_board else f"{board['id']}, {outlet['id']}",
                    listed(users, most=40),
                    kind["connector_name"] or "",
                    f"{trimmed(outlet['rating_a'])} A",
                    "" if breaker is None else f"{breaker['curve']}{trimmed(breaker['rating_a'])}",
                    ""
                    if kind["rcd"] is None
                    else device_words(given.boards[board["id"]], outlet["id"], kind["rcd"]),
                    figure(outlet["current_a"], 1),
                    figure(outlet["voltage_v"]),
                    figure(outlet["inrush_a"] or None),
                    figure(outlet["loop_impedance_ohm"], 2),
                )
            )
    if not rows:
        return None
    given_ohm = given.resolved["supply"]["loop_impedance_ohm"]
    note = (
        "Loop impedance of the supply was not given: fault loops were not judged."
        if given_ohm is None
        else f"Fault loop from {ohms(given_ohm)} at the supply, as given."
    )
    return Section("Outlets in use", table=plain_table(columns, rows), notes=(note,))


def setups(given: Given) -> Section | None:
    """The supply in each set-up; nothing to add where there is only one."""
    figures = given.balance["setups"]
    if len(figures) < 2:
        return None
    has_neutral = any(setup["neutral"] for setup in figures)
    columns = [Column("Set-up", share=1.0)]
    columns += [Column(f"{line}, A", "right") for line in given.lines]
    columns += [Column("N, A", "right")] if has_neutral else []
    columns += [
        Column(head, "right")
        for head in ("Apart, A", "of rating", "Power", "Apparent", "Lost in cable")
    ]
    worst = given.balance["worst_setup"]
    rows = []
    for setup in figures:
        uneven = setup["unbalance"] or {}
        marks = [name for name, place in worst.items() if place == setup["id"]]
        row = [setup["id"] + (f" (worst for {listed(marks)})" if marks else "")]
        if not setup["solved"]:
            row[0] += ": NO SOLUTION"
        row += [figure(phase["current_a"], 1) for phase in setup["phases"]]
        row += [figure((setup["neutral"] or {}).get("current_a"), 1)] if has_neutral else []
        spread = uneven.get("spread_pct")
        row += [
            figure(uneven.get("spread_a"), 1),
            NONE if spread is None else f"{figure(spread)} %",
            kilo(setup["power_w"], "W"),
            kilo(setup["apparent_va"], "VA"),
            "" if setup["loss_w"] is None else watts(setup["loss_w"]),
        ]
        rows.append(tuple(row))
    return Section("Set-ups", table=plain_table(columns, rows))


def room(given: Given) -> Section | None:
    """How many more of the common types fit on each phase."""
    phases = given.balance["phases"]
    kinds = phases[0]["room_for"] if phases else []
    if not kinds:
        return None
    columns = [Column("One more", share=1.0), Column("A each", "right")]
    columns += [Column(phase["phase"], "right") for phase in phases]
    rows = [
        (
            kind["name"],
            figure(kind["current_a"], 1),
            *(str(phase["room_for"][index]["count"]) for phase in phases),
        )
        for index, kind in enumerate(kinds)
    ]
    note = "Of one kind at a time, in every set-up, by ratings and free outlets alone."
    return Section("Room left, in lamps", table=plain_table(columns, rows), notes=(note,))


def starting(given: Given) -> Section | None:
    """The order of switching on, where the layout gives one."""
    order = given.resolved["start_order"]
    if not order:
        return None
    rows = [(str(step), listed(group, most=40)) for step, group in enumerate(order, start=1)]
    columns = (Column("Step", "right"), Column("Switch on together", share=1.0))
    note = "What is in no step comes last, one by one. Off in the opposite order."
    return Section("Order of switching on", table=plain_table(columns, rows), notes=(note,))
