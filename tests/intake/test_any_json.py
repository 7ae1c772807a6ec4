"""Whatever JSON comes in, intake answers with a layout or with faults, and with nothing else."""

from __future__ import annotations

import math
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evenboard.catalogue import Catalogue
from evenboard.electrics.layout import Layout
from evenboard.electrics.powerflow import solve
from evenboard.intake import faults, resolve
from support.bodies import a_custom, changed, the_night_exterior

SCALARS = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.just(10**400)
    | st.floats()
    | st.text(max_size=12)
    | st.sampled_from(["main", "sub-1", "l1-bottom", "L1", "L2", "au", "wide", "key", "four-way"])
)
JSON = st.recursive(
    SCALARS,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text(max_size=8) | st.sampled_from(["id", "type"]), inner, max_size=4)
    ),
    max_leaves=12,
)


def pointers(value: Any, at: str = "") -> list[str]:
    """Every place in a body."""
    found = [at] if at else []
    if isinstance(value, dict):
        for name, inner in value.items():
            found += pointers(inner, f"{at}/{name}")
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            found += pointers(inner, f"{at}/{index}")
    return found


PLACES = pointers(the_night_exterior())


def resolved(body: Any, catalogue: Catalogue) -> Layout | None:
    """The layout, or None where it is refused with at least one fault that says something."""
    found = faults(body, catalogue, loose=True)
    assert all(fault.detail and fault.pointer[:1] in ("", "/") for fault in found)
    return None if found else resolve(body, catalogue, loose=True)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(body=JSON)
def test_any_json_is_answered(catalogue: Catalogue, body: Any) -> None:
    resolved(body, catalogue)


@settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=300
)
@given(place=st.sampled_from(PLACES), value=JSON)
def test_any_json_anywhere_in_a_sound_body_is_answered(
    catalogue: Catalogue, place: str, value: Any
) -> None:
    resolved(changed(the_night_exterior(), place, value), catalogue)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    name=st.sampled_from(["region", "supply", "boards", "loads", "setups", "limits", "name"]),
    value=JSON,
)
def test_any_json_in_place_of_a_part_is_answered(
    catalogue: Catalogue, name: str, value: Any
) -> None:
    resolved(the_night_exterior() | {name: value}, catalogue)


FIGURES = st.fixed_dictionaries(
    {
        "power_w": st.floats(1e-3, 1e6),
        "power_factor": st.floats(0.05, 1.0),
        "load_model": st.sampled_from(
            ["constant-power", "constant-current", "constant-impedance", "tungsten"]
        ),
        "rated_voltage_v": st.floats(10.0, 1000.0),
        "count": st.integers(1, 1000),
        "dimmed_to": st.floats(0.0, 1.0),
    }
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    figures=FIGURES,
    outlet=st.sampled_from(["l1-bottom", "l2-top", "sub-1"]),
    length_m=st.floats(0.0, 2000.0),
    volts=st.floats(10.0, 300.0),
    layers=st.integers(1, 8),
    ambient_c=st.floats(-40.0, 60.0),
)
def test_what_passes_is_solved_without_a_figure_that_is_no_number(
    catalogue: Catalogue,
    figures: dict[str, Any],
    outlet: str,
    length_m: float,
    volts: float,
    layers: int,
    ambient_c: float,
) -> None:
    body = the_night_exterior()
    body["boards"].pop()
    body["supply"]["voltage_v"] = volts
    body["ambient_c"] = ambient_c
    body["boards"][0]["feeder"] |= {"length_m": length_m, "laid": "coiled", "coil_layers": layers}
    body["loads"] = [a_custom("a", outlet, **figures)]

    layout = resolved(body, catalogue)

    if layout is not None:
        solution = solve(layout)
        assert math.isfinite(float(abs(solution.voltage_v).sum()))
        assert math.isfinite(float(solution.inflow.rms_a.sum()))
