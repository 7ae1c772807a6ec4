"""A layout told to power-grid-model, a fast distribution power flow without a neutral of its own.

It knows three lines and sequence impedances; a neutral that is earthed at the source alone is in
them: zero sequence line + 3 neutral. Only loads line to neutral, of constant power, impedance or
current, can be said in it.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from power_grid_model import LoadGenType, PowerGridModel, initialize_array

from evenboard.electrics.conductor import line_and_neutral_ohm
from evenboard.electrics.layout import Layout
from evenboard.electrics.solution import BoolArray, FloatArray

__all__ = ["MODELS", "grid_model", "line_a", "switched"]

MODELS = {
    "constant-power": LoadGenType.const_power,
    "constant-impedance": LoadGenType.const_impedance,
    "constant-current": LoadGenType.const_current,
}
_LINE, _LOAD, _SOURCE = 100_000, 200_000, 300_000
_SIGN = {"lagging": 1.0, "leading": -1.0, "none": 0.0}


def grid_model(layout: Layout, setup: int = 0) -> PowerGridModel:
    """The layout as a model, in one set-up; the node after the boards is the source."""
    boards, loads, supply = layout.boards, layout.loads, layout.supply
    count = len(boards) + 1
    node = initialize_array("input", "node", count + 1)
    node["id"] = np.arange(count + 1)
    node["u_rated"] = supply.voltage_v * np.sqrt(3.0)

    source_ohm = supply.source_impedance
    assert source_ohm is not None
    runs = [
        (
            complex(source_ohm.r_ohm, source_ohm.x_ohm),
            complex(source_ohm.neutral_r_ohm, source_ohm.neutral_x_ohm),
        )
    ]
    runs += [line_and_neutral_ohm(b.feeder, supply.frequency_hz) for b in boards if b.feeder]
    line_ohm, neutral_ohm = np.array(runs).T
    line = initialize_array("input", "line", count)
    line["id"] = _LINE + np.arange(count)
    line["from_node"] = [count, *(0 if b.parent is None else b.parent + 1 for b in boards)]
    line["to_node"] = np.arange(count)
    line["from_status"] = line["to_status"] = 1
    line["r1"], line["x1"] = line_ohm.real, line_ohm.imag
    zero_ohm = line_ohm + 3.0 * neutral_ohm
    line["r0"], line["x0"] = zero_ohm.real, zero_ohm.imag
    line["c1"] = line["c0"] = line["tan1"] = line["tan0"] = 0.0

    watts = np.array([load.power_w * load.count * load.dimmed_to for load in loads])
    cosine = np.array([load.displacement_factor for load in loads])
    sign = np.array([_SIGN[load.displacement] for load in loads])
    at = (np.arange(len(loads)), np.array([load.supply_lines[0] for load in loads], dtype=np.intp))
    active, reactive = np.zeros((len(loads), 3)), np.zeros((len(loads), 3))
    active[at] = watts
    reactive[at] = watts * np.sqrt(1.0 / cosine**2 - 1.0) * sign
    load_array = initialize_array("input", "asym_load", len(loads))
    load_array["id"] = _LOAD + np.arange(len(loads))
    load_array["node"] = [(load.board or 0) + 1 for load in loads]
    load_array["status"] = [load.on[setup] for load in loads]
    load_array["type"] = [MODELS[load.load_model] for load in loads]
    load_array["p_specified"], load_array["q_specified"] = active, reactive

    source = initialize_array("input", "source", 1)
    source["id"], source["node"], source["status"], source["u_ref"] = _SOURCE, count, 1, 1.0
    source["sk"] = 1e15
    return PowerGridModel(
        {"node": node, "line": line, "asym_load": load_array, "source": source},
        system_frequency=supply.frequency_hz,
    )


def switched(layout: Layout, on: BoolArray) -> dict[str, Any]:
    """The batch update that switches loads, a row a scenario."""
    update = initialize_array("update", "asym_load", on.shape)
    update["id"] = _LOAD + np.arange(len(layout.loads))
    update["status"] = on
    return {"asym_load": update}


def line_a(result: dict[str, Any]) -> FloatArray:
    """Current of each line into every node, (..., N, 3). [A]"""
    current: FloatArray = result["line"]["i_to"]
    return current
