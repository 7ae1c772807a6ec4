"""Whatever is plugged where: the rules answer, once a place, in finite figures and plain words."""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random

import pytest

from evenboard.electrics.equipment import Breaker, Generator, RcdType, SupplySystem
from evenboard.electrics.layout import Board, Layout, Load, Run, SourceImpedance
from evenboard.electrics.powerflow import solve
from evenboard.findings import View, find
from evenboard.findings.action import Move, Unplug
from evenboard.findings.loadflow import rms_of
from findings.scenarios.common import rubber
from support.builders import a_board, a_layout, a_load, a_region, a_run, a_supply, an_outlet
from support.remedies import carried_out

LINES = {"three-phase": 3, "three-wire": 2, "single-phase": 1}


def any_run(random: Random) -> Run:
    if random.random() < 0.3:
        return a_run(length_m=random.choice([0.0, 5.0, 40.0]))
    return rubber(
        random.choice([2.5, 4.0, 6.0, 16.0]),
        random.choice([0.0, 10.0, 60.0, 200.0]),
        laid=random.choice(["free-air", "surface", "grouped", "coiled"]),
        coil_layers=random.choice([1, 2, 3]),
        grouped_circuits=random.choice([1, 1, 3]),
        neutral_csa_mm2=random.choice([None, None, 2.5]),
        neutral_connected=random.random() > 0.05,
        tag=random.choice([None, "C-1"]),
    )


def any_board(random: Random, index: int, boards: list[Board], lines: tuple[int, ...]) -> Board:
    parent, feeding = None, None
    if boards and random.random() < 0.7:
        taken = {(b.parent, b.parent_outlet) for b in boards}
        free = [
            (p, o)
            for p, board in enumerate(boards)
            for o in board.outlets
            if (p, o.id) not in taken
        ]
        if free:
            parent, feeding = random.choice(free)
    own = feeding.supply_lines if feeding is not None else lines
    outlets = tuple(
        an_outlet(
            f"{row}-{k}-{'-'.join(str(line) for line in chosen)}",
            *chosen,
            row=row,
            rating_a=random.choice([10.0, 16.0, 32.0]),
            breaker=random.choice([None, Breaker(16.0, random.choice("BCD"))]),  # type: ignore[arg-type]
            rcd=random.choice([None, "r1"]),
            neutral=random.random() > 0.05,
        )
        for k, row in enumerate(("bottom", "middle", "top", "top"))
        for chosen in sorted({*[(line,) for line in own], own, own[:2]})
    )
    return a_board(
        f"b{index}",
        parent=parent,
        parent_outlet=feeding.id if feeding is not None else None,
        feeder=any_run(random) if random.random() < 0.7 else None,
        lines=tuple(f"L{i + 1}" for i in range(len(own))),
        supply_lines=own,
        neutral=random.random() > 0.05,
        inlet_rating_a=random.choice([16.0, 32.0, 63.0]),
        outlets=outlets,
        rcds=(RcdType("r1", random.choice([30.0, 300.0])),),
        incomer=random.choice([None, Breaker(32.0, "C")]),
        incomer_rcd=random.choice([None, RcdType("main", 100.0, delayed=True)]),
    )


def any_load(random: Random, index: int, boards: list[Board], setups: int) -> Load:
    board = random.randrange(len(boards)) if boards and random.random() < 0.95 else None
    outlet = random.choice(boards[board].outlets) if board is not None else None
    lines = outlet.supply_lines if outlet is not None else ()
    model = random.choice(["tungsten", "constant-power", "constant-impedance", "constant-current"])
    third, displacement = random.choice([(0.0, "none"), (60.0, "leading"), (10.0, "lagging")])
    connection = {0: "single", 1: "single", 2: "line-to-line"}.get(len(lines))
    return replace(
        a_load(f"x{index}"),
        name=random.choice(["lamp", f"lamp {index}"]),
        power_w=random.choice([0.5, 100.0, 1000.0, 5000.0]),
        count=random.choice([1, 1, 4]),
        power_factor=1.0 if displacement == "none" else 0.6,
        displacement_factor=1.0 if displacement == "none" else 0.9,
        displacement=displacement,
        third_harmonic_pct=third,
        load_model=model,
        rated_voltage_v=random.choice([120.0, 230.0, 230.0, 400.0]),
        input_range_v=random.choice([None, (90.0, 260.0), (220.0, 240.0)]),
        inrush_multiple=random.choice([1.0, 12.0, 40.0]),
        leakage_ma=random.choice([0.0, 3.5]),
        size_class=random.choice(["large", "medium", "small"]),
        connection=connection or random.choice(["star", "delta"]),
        dimmed_to=random.choice([0.0, 0.5, 1.0, 1.0]),
        dimmer=random.choice(["none", "built-in", "phase-cut"]),
        board=board,
        outlet=outlet.id if outlet is not None else None,
        supply_lines=lines,
        lead=any_run(random) if random.random() < 0.3 else None,
        on=tuple(random.random() < 0.7 for _ in range(setups)),
        keep=random.random() < 0.1,
        tag=random.choice([None, None, f"T-{index}"]),
    )


def any_layout(seed: int) -> Layout:
    random = Random(seed)
    system = random.choice(["three-phase", "three-phase", "three-phase", *LINES])
    lines = tuple(range(LINES[system]))
    names = tuple(f"L{i + 1}" for i in lines)
    boards: list[Board] = []
    for index in range(random.randrange(4)):
        boards.append(any_board(random, index, boards, lines))
    setups = random.randrange(1, 4)
    supply = a_supply(
        kind=random.choice(["outlet", "generator"]),
        system=system,
        lines=names,
        rating_a=random.choice([16.0, 32.0, 125.0]),
        loop_impedance_ohm=random.choice([None, 0.4]),
        source_impedance=random.choice([None, SourceImpedance(0.2, 0.1, 0.2, 0.1)]),
        generator=random.choice([None, Generator(30.0)]),
        neutral=random.random() > 0.05,
    )
    region = a_region(systems=(SupplySystem(system, names, 230.0, 400.0),))  # type: ignore[arg-type]
    loads = tuple(any_load(random, i, boards, setups) for i in range(random.randrange(14)))
    return a_layout(
        region=region,
        supply=supply,
        ambient_c=random.choice([20.0, 45.0, 65.0]),
        boards=tuple(boards),
        loads=loads,
        setups=tuple(f"s{i}" for i in range(setups)),
    )


@pytest.mark.parametrize("seed", range(80))
def test_the_rules_answer(seed: int) -> None:
    layout = any_layout(seed)

    findings = find(View(solve(layout)))

    places = [
        (f.code, f.where.board, f.where.phase, f.where.outlet, f.where.load) for f in findings
    ]
    assert len(places) == len(set(places))
    for finding in findings:
        assert finding.severity in ("fail", "caution", "note")
        for number in (finding.value, finding.limit):
            assert number is None or math.isfinite(number), finding
        for text in (finding.message, finding.remedy, finding.basis):
            assert text.endswith(".")
            assert not {"nan", "inf"} & set(text.replace(",", " ").replace(";", " ").split()), text


@pytest.mark.parametrize("seed", range(20))
def test_every_action_can_be_carried_out(seed: int) -> None:
    layout = any_layout(seed)

    for finding in find(View(solve(layout))):
        after = carried_out(layout, finding.actions)

        assert find(View(solve(after))) is not None
        kept = {load.id for load in layout.loads if load.keep}
        moved = {a.load for a in finding.actions if isinstance(a, Move)}
        assert not moved & kept
        assert after != layout or not finding.actions


@pytest.mark.parametrize("seed", range(80))
def test_what_flows_into_a_board_is_what_its_loads_draw(seed: int) -> None:
    """The estimate that remedies stand on: Kirchhoff's law, from the loads alone.

    A three-phase load is taken as three equal branches, so that layouts with such are left out; so
    are floating neutrals, where a load's current does not come back by the neutral.
    """
    layout = any_layout(seed)
    loads = tuple(load for load in layout.loads if len(load.supply_lines) != 3)
    layout = replace(layout, loads=loads)
    view = View(solve(layout))

    for node in range(len(view.lines)):
        below = view.is_below[:, node]
        if not view.has_neutral.all() or any(loads[i].lead is not None for i in below.nonzero()[0]):
            continue
        drawn = sum(
            (view.parts(i, loads[i].supply_lines) for i in below.nonzero()[0].tolist()),
            start=0.0 * view.node_parts[node],
        )
        # Relative 1e-6 of the largest current: the power flow's own accuracy is 1e-9.
        largest = max(1.0, float(view.rms_a.max()))
        assert abs(rms_of(drawn) - view.rms_a[:, node]).max() < 1e-6 * largest


def rolled(layout: Layout) -> Layout:
    """The same layout with every line moved on by one: L1 to L2, L2 to L3, L3 to L1."""

    def on(lines: tuple[int, ...]) -> tuple[int, ...]:
        return tuple((line + 1) % 3 for line in lines)

    boards = tuple(
        replace(
            board,
            supply_lines=on(board.supply_lines),
            outlets=tuple(replace(o, supply_lines=on(o.supply_lines)) for o in board.outlets),
        )
        for board in layout.boards
    )
    loads = tuple(replace(load, supply_lines=on(load.supply_lines)) for load in layout.loads)
    return replace(layout, boards=boards, loads=loads)


@pytest.mark.parametrize(
    "seed", [seed for seed in range(80) if len(any_layout(seed).supply.lines) == 3]
)
def test_it_is_the_same_whichever_phase_is_called_the_first(seed: int) -> None:
    layout = any_layout(seed)

    plain, moved = (
        sorted((f.code, f.severity, f.where.board or "") for f in find(View(solve(each))))
        for each in (layout, rolled(layout))
    )

    assert plain == moved


def test_an_empty_layout_is_quiet() -> None:
    assert find(View(solve(a_layout()))) == ()


def test_unplugging_is_only_asked_for_where_a_rating_is_broken() -> None:
    asked = {
        finding.code
        for seed in range(80)
        for finding in find(View(solve(any_layout(seed))))
        if any(isinstance(action, Unplug) for action in finding.actions)
    }

    assert asked <= {
        "phase-overload",
        "neutral-overload",
        "breaker-overload",
        "outlet-overload",
        "feeder-overload",
        "core-overheating",
        "generator-overload",
        "voltage-mismatch",
        "no-neutral",
        "no-solution",
    }
