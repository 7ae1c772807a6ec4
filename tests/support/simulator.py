"""A layout told to OpenDSS, a general-purpose distribution simulator, with its own neutral."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from evenboard.electrics.conductor import run_impedance_ohm
from evenboard.electrics.layout import Layout, Load, Run
from evenboard.electrics.solution import ComplexArray

__all__ = ["commands", "simulated"]

MODEL = {"constant-power": 1, "constant-impedance": 2, "tungsten": 4, "constant-current": 5}


def commands(layout: Layout, setup: int, tolerance: float = 1e-13) -> list[str]:
    """The script that builds and solves one set-up of a layout."""
    supply = layout.supply
    source = supply.source_impedance
    assert source is not None, "the simulator needs a source impedance"
    kilovolt = supply.voltage_v * math.sqrt(3.0) / 1000.0
    script = [
        "clear",
        f"new circuit.layout basekv={kilovolt:.17g} pu=1 phases=3 bus1=source angle=0 "
        f"frequency={supply.frequency_hz} R1=1e-9 X1=1e-9 R0=1e-9 X0=1e-9",
        f"set defaultbasefrequency={supply.frequency_hz}",
        _line(
            "supply",
            "source.1.2.3.0",
            "node0.1.2.3.4",
            (complex(source.r_ohm, source.x_ohm),) * 3
            + (complex(source.neutral_r_ohm, source.neutral_x_ohm),),
        ),
    ]
    for index, board in enumerate(layout.boards, start=1):
        above = f"node{0 if board.parent is None else board.parent + 1}"
        assert board.feeder is not None
        script.append(_run(f"feeder{index}", above, f"node{index}", board.feeder))
    for index, load in enumerate(layout.loads):
        if load.board is None or not load.on[setup]:
            continue
        bus = f"node{load.board + 1}"
        if load.lead is not None:
            script.append(_run(f"lead{index}", bus, f"plug{index}", load.lead))
            bus = f"plug{index}"
        script.append(_load(index, load, bus))
    script += [
        f"set tolerance={tolerance}",
        "set maxiterations=2000",
        "set controlmode=off",
        "solve mode=snap",
    ]
    return script


def simulated(dss: Any, layout: Layout, setup: int) -> tuple[bool, ComplexArray, ComplexArray]:
    """Whether the simulator solves a set-up, its node voltages and feeder currents, (N, 4).

    It has no answer where a neutral floats and nothing at all is connected to it.
    """
    for command in commands(layout, setup):
        dss.Text.Command(command)
    voltage_v, inflow_a = _voltage_v(dss, layout), _inflow_a(dss, layout)
    is_solved = bool(dss.Solution.Converged()) and bool(np.isfinite(voltage_v).all())
    return is_solved, voltage_v, inflow_a


def _voltage_v(dss: Any, layout: Layout) -> ComplexArray:
    """Voltages of all nodes, shape (N, 4). [V]"""
    voltage = np.zeros((len(layout.boards) + 1, 4), dtype=np.complex128)
    for node in range(len(layout.boards) + 1):
        dss.Circuit.SetActiveBus(f"node{node}")
        pairs = np.array(dss.Bus.Voltages()).reshape(-1, 2)
        conductors = np.array(dss.Bus.Nodes()) - 1
        voltage[node, conductors] = pairs[:, 0] + 1j * pairs[:, 1]
    return voltage


def _inflow_a(dss: Any, layout: Layout) -> ComplexArray:
    """Currents into all nodes, the neutral's as it returns, shape (N, 4). [A]"""
    inflow = np.zeros((len(layout.boards) + 1, 4), dtype=np.complex128)
    for node in range(len(layout.boards) + 1):
        dss.Circuit.SetActiveElement("line.supply" if node == 0 else f"line.feeder{node}")
        pairs = np.array(dss.CktElement.Currents()).reshape(2, -1, 2)[0]
        current = pairs[:, 0] + 1j * pairs[:, 1]
        inflow[node, : len(current)] = current
    inflow[:, 3] *= -1.0
    return inflow


def _run(name: str, above: str, below: str, run: Run) -> str:
    impedance = tuple(run_impedance_ohm(run, 50.0).tolist())
    if run.neutral_connected:
        return _line(name, f"{above}.1.2.3.4", f"{below}.1.2.3.4", impedance)
    return _line(name, f"{above}.1.2.3", f"{below}.1.2.3", impedance[:3])


def _line(name: str, above: str, below: str, impedance: tuple[complex, ...]) -> str:
    return (
        f"new line.{name} phases={len(impedance)} bus1={above} bus2={below} length=1 units=none "
        f"rmatrix=({_diagonal([z.real for z in impedance])}) "
        f"xmatrix=({_diagonal([z.imag for z in impedance])}) "
        f"cmatrix=({_diagonal([0.0] * len(impedance))})"
    )


def _diagonal(values: list[float]) -> str:
    return "|".join(" ".join(["0"] * i + [f"{max(v, 0.0):.17g}"]) for i, v in enumerate(values))


def _load(index: int, load: Load, bus: str) -> str:
    lines = ".".join(str(line + 1) for line in load.supply_lines)
    is_to_neutral = load.connection in ("single", "star")
    phases = 3 if len(load.supply_lines) == 3 else 1
    kilovolt = load.rated_voltage_v / 1000.0
    if load.connection == "star":
        kilovolt *= math.sqrt(3.0)
    active_kw = load.power_w * load.count * load.dimmed_to / 1000.0
    reactive_kvar = active_kw * math.sqrt(1.0 / load.displacement_factor**2 - 1.0)
    if load.displacement == "leading":
        reactive_kvar = -reactive_kvar
    return (
        f"new load.load{index} phases={phases} bus1={bus}.{lines}{'.4' if is_to_neutral else ''} "
        f"conn={'wye' if is_to_neutral else 'delta'} kv={kilovolt:.17g} kw={active_kw:.17g} "
        f"kvar={reactive_kvar:.17g} model={MODEL[load.load_model]} cvrwatts=1.55 cvrvars=1.55 "
        "vminpu=0.001 vlowpu=0.0005 vmaxpu=10"
    )
