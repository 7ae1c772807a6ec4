"""Layout bodies for tests, as a client sends them: only what matters to a test is written in it."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

__all__ = ["Body", "a_body", "a_custom", "changed", "the_night_exterior"]

Body = dict[str, Any]


def a_body(**changes: Any) -> Body:
    """One 32 A three-row board on a stiff 32 A outlet in Australia, without loads."""
    body: Body = {
        "region": "au",
        "supply": {"rating_a": 32},
        "boards": [{"id": "main", "type": "three-row-32"}],
        "loads": [],
    }
    return body | changes


def a_custom(load_id: str, outlet: str | None, board: str = "main", **changes: Any) -> Body:
    """A plain 2 kW load in an outlet of ``main``; loose where ``outlet`` is None.

    Names of a custom load's figures go into it, all others into the load.
    """
    figures = {"name": load_id, "power_w": 2000}
    load: Body = {"id": load_id}
    if outlet is not None:
        load |= {"board": board, "outlet": outlet}
    for name, value in changes.items():
        (figures if name in FIGURES else load)[name] = value
    return load | {"custom": figures}


FIGURES = {
    "power_w",
    "power_factor",
    "displacement_factor",
    "displacement",
    "load_model",
    "rated_voltage_v",
    "input_voltage_v",
    "third_harmonic_pct",
    "inrush_multiple",
    "leakage_ma",
}


def changed(body: Body, pointer: str, value: Any) -> Body:
    """A copy of a body with another value at a pointer; the last name may be new."""
    body = deepcopy(body)
    *way, last = pointer.strip("/").split("/")
    target: Any = body
    for name in way:
        target = target[int(name)] if isinstance(target, list) else target[name]
    if isinstance(target, list):
        target[int(last)] = value
    else:
        target[last] = value
    return body


def the_night_exterior() -> Body:
    """The example body of the API's own description, choices made where it lists them."""
    return deepcopy(NIGHT_EXTERIOR)


NIGHT_EXTERIOR: Body = {
    "name": "Quay night exterior",
    "region": "au",
    "supply": {
        "kind": "outlet",
        "system": "three-phase",
        "rating_a": 32,
        "voltage_v": 230,
        "frequency_hz": 50,
        "loop_impedance_ohm": 0.35,
        "generator": None,
    },
    "ambient_c": 30,
    "boards": [
        {
            "id": "main",
            "type": "three-row-32",
            "fed_from": None,
            "feeder": {
                "cable": "h07rn-f",
                "csa_mm2": 6,
                "length_m": 30,
                "laid": "free-air",
                "coil_layers": 0,
                "grouped_circuits": 1,
            },
        },
        {
            "id": "stage-left",
            "outlets": [
                {
                    "id": "a1",
                    "lines": ["L1"],
                    "rating_a": 16,
                    "row": "bottom",
                    "breaker": {"rating_a": 16, "curve": "C"},
                    "rcd": "r1",
                }
            ],
            "rcds": [{"id": "r1", "rated_residual_ma": 30}],
            "fed_from": {"board": "main", "outlet": "sub-1"},
            "feeder": {
                "cable": "h07rn-f",
                "csa_mm2": 4,
                "length_m": 20,
                "laid": "coiled",
                "coil_layers": 2,
            },
        },
    ],
    "loads": [
        {
            "id": "key",
            "fixture": "discharge-par-1800-electronic-pfc",
            "count": 1,
            "board": "main",
            "outlet": "l1-bottom",
            "dimmed_to": 1.0,
            "lead": {"cable": "h07rn-f", "csa_mm2": 2.5, "length_m": 15, "laid": "surface"},
            "setups": ["wide", "close"],
            "keep": False,
        },
        {
            "id": "urn",
            "custom": {"name": "tea urn", "power_w": 2400, "power_factor": 1.0},
            "board": "main",
            "outlet": "l3-top",
        },
    ],
    "setups": [{"id": "wide"}, {"id": "close"}],
    "limits": {"phase_loading_pct": 80, "spread_pct": 25, "voltage_drop_pct": 5},
}
