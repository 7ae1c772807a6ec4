"""Every bad input gets a pointer to its place and a sentence that says what would be right."""

from __future__ import annotations

import math
from typing import Any

import pytest

from evenboard.catalogue import Catalogue
from evenboard.intake import Fault, faults
from support.bodies import Body, changed, the_night_exterior

# Where in the example body, the bad value, and what the answer must say.
BAD_VALUES: list[tuple[str, Any, str]] = [
    # names that the catalogue does not have: the nearest is offered
    ("/region", "uk2", "Nearest: uk"),
    ("/region", None, "au, eu, jp, uk or us"),
    ("/boards/0/type", "three-row-23", "three-row-32"),
    ("/boards/0/feeder/cable", "h07rnf", "h07rn-f"),
    ("/boards/0/feeder/csa_mm2", 5, "nearest 4 or 6 mm2"),
    ("/boards/0/feeder/csa_mm2", None, "is rated in"),
    ("/boards/0/feeder/table", "bs7671", "bs7671-4f1a"),
    ("/loads/0/fixture", "discharge-par-1800-electronc-pfc", "discharge-par-1800-electronic-pfc"),
    ("/loads/0/fixture", "1.8 kw hmi", "discharge-par-1800"),
    ("/loads/0/fixture", 7, "slug of a type"),
    ("/loads/0/connector", "as3112", "as3112-10"),
    ("/boards/1/outlets/0/connector", "as3112-51", "as3112-15"),
    ("/boards/1/outlets/0/rcd", "r2", "There is: r1"),
    # references inside the layout
    ("/loads/0/board", "mian", "Nearest: main"),
    ("/loads/0/outlet", "l1-botom", "l1-bottom"),
    ("/boards/1/fed_from/board", "mane", "Nearest: main"),
    ("/boards/1/fed_from/outlet", "sub1", "Nearest: sub-1"),
    ("/loads/0/setups/0", "wiide", "Nearest: wide"),
    ("/loads/0/outlet", None, "not plugged in"),
    ("/loads/0/board", None, "main has an outlet of that name"),
    # duplicates and plugs
    ("/boards/1/id", "main", "second board"),
    ("/loads/1/id", "key", "second load"),
    ("/setups/1/id", "wide", "second set-up"),
    ("/loads/1/outlet", "l1-bottom", 'board of type "four-way" with fed_from {"board": "main"'),
    ("/loads/1/outlet", "sub-1", "already takes board stage-left"),
    # numbers
    ("/supply/rating_a", 0, "from 0.1 to 10000 A"),
    ("/supply/rating_a", -32, "from 0.1"),
    ("/supply/rating_a", math.nan, "not finite"),
    ("/supply/rating_a", "32", "no number"),
    ("/supply/rating_a", True, "no number"),
    ("/supply/rating_a", None, "amps per line"),
    ("/supply/voltage_v", 0, "from 10 to 1000 V, line to neutral"),
    ("/supply/voltage_v", 400, "a line-to-line voltage: give line to neutral, nominally 230 V"),
    ("/supply/frequency_hz", 500, "from 45 to 65 Hz"),
    ("/supply/loop_impedance_ohm", -1, "from 0"),
    ("/supply/system", "two-phase", "three-phase"),
    ("/supply/system", "three-wire", "three-phase and single-phase"),
    ("/supply/kind", "wall", "outlet, generator or service"),
    ("/ambient_c", 200, "from -40 to 60 deg C"),
    ("/boards/0/feeder/length_m", -5, "from 0 to 20000 m"),
    ("/boards/0/feeder/length_m", None, "missing"),
    ("/boards/0/feeder/coil_layers", 1, "say coiled, or 0 layers"),
    ("/boards/1/feeder/coil_layers", 9, "from 0 to 8"),
    ("/boards/1/feeder/coil_layers", -1, "from 0 to 8"),
    ("/boards/1/feeder/coil_layers", 0, "how many layers"),
    ("/boards/0/feeder/grouped_circuits", 0, "from 1 to 20"),
    ("/boards/0/feeder/laid", "coild", "Nearest: coiled"),
    ("/loads/0/count", 0, "whole number of like lamps from 1"),
    ("/loads/0/count", 1.5, "whole number"),
    ("/loads/0/count", -2, "whole number"),
    ("/loads/0/dimmed_to", 80, "from 0 to 1 of full power"),
    ("/loads/0/dimmed_to", -0.1, "from 0 to 1"),
    ("/loads/0/keep", "yes", "true or false"),
    ("/loads/1/custom/power_w", -2400, "from 0.1"),
    ("/loads/1/custom/power_w", 0, "from 0.1"),
    ("/loads/1/custom/power_w", 1e12, "to 1000000 W"),
    ("/loads/1/custom/power_w", 10**400, "not finite"),
    ("/loads/1/custom/power_w", math.nan, "not finite"),
    ("/loads/1/custom/power_w", math.inf, "not finite"),
    ("/loads/1/custom/power_w", None, "missing"),
    ("/loads/1/custom/power_factor", 0, "from 0.05 to 1"),
    ("/loads/1/custom/power_factor", 1.1, "from 0.05 to 1"),
    ("/loads/1/custom/power_factor", -0.9, "from 0.05 to 1"),
    ("/loads/1/custom/rated_voltage_v", 0, "from 10 to 1000 V"),
    ("/loads/1/custom/load_model", "tungstn", "Nearest: tungsten"),
    ("/loads/1/custom/name", None, "what the crew calls the load"),
    ("/boards/1/outlets/0/rating_a", None, "missing"),
    ("/boards/1/outlets/0/lines", [], "each once"),
    ("/boards/1/outlets/0/lines", ["L1", "L1"], "each once"),
    ("/boards/1/outlets/0/breaker/curve", "A", "one of B, C or D"),
    ("/boards/1/outlets/0/row", "side", "bottom, middle or top"),
    ("/boards/1/rcds/0/rated_residual_ma", 0, "from 1 to 10000 mA"),
    ("/boards/1/fed_from/phase_order", ["L1", "L1", "L2"], "each once"),
    ("/limits/phase_loading_pct", 0, "from 0.1 to 200 %"),
    # figures so small that what is divided by them is no number any more
    ("/supply/rating_a", 1e-300, "from 0.1"),
    ("/loads/1/custom/power_w", 1e-300, "from 0.1"),
    ("/boards/1/outlets/0/rating_a", 1e-300, "from 0.1"),
    ("/boards/1/outlets/0/breaker/rating_a", 1e-300, "from 0.1"),
    ("/boards/1/rcds/0/rated_residual_ma", 1e-300, "from 1"),
    ("/boards/0/feeder/conductor/capacity_a", 1e-300, "from 0.1"),
    ("/limits/neutral_loading_pct", 1e-300, "from 0.1"),
    ("/limits/phase_loading_pct", 1000, "to 200 %"),
    # fields that are not there
    ("/limits/phase_loading", 80, "phase_loading_pct"),
    ("/suply", {}, "Nearest: supply"),
    ("/loads/0/watts", 5, "A load has no field"),
    ("/loads/1/custom/watts", 5, "A custom load has no field"),
    ("/boards/0/feeder/lenght_m", 5, "Nearest: length_m"),
    ("/supply/amps", 5, "A supply has no field"),
    ("/setups/0/loads", [], "A set-up has no field"),
    # either one thing or the other
    ("/loads/0/custom", {"name": "a", "power_w": 5}, "not both"),
    ("/loads/0/fixture", None, "needs a fixture"),
    ("/boards/0/outlets", [], "not both"),
    ("/boards/0/feeder/conductor/r_ohm_per_km", None, "missing"),
    ("/boards/0/feeder/conductor/capacity_a", 0, "from 0.1"),
]

# The same, told at a neighbour: the field that mends it.
TOLD_ELSEWHERE: list[tuple[str, Any, str, str]] = [
    ("/boards/0/feeder/laid", "grouped", "/boards/0/feeder/grouped_circuits", "2 to 20"),
    ("/boards/0/feeder/cable", None, "/boards/0/feeder/csa_mm2", "name the cable too"),
    ("/boards/1/outlets/0/lines", ["L4"], "/boards/1/outlets/0/lines/0", "L1, L2 or L3"),
    (
        "/boards/1/fed_from/phase_order",
        ["L1", "L2", "L4"],
        "/boards/1/fed_from/phase_order/2",
        "it has L1, L2 and L3",
    ),
    ("/supply/kind", "generator", "/supply/generator", "rating_kva"),
    ("/boards/1/incomer", {"rating_a": 1e-300}, "/boards/1/incomer/rating_a", "from 0.1"),
    ("/supply/generator", {"rating_kva": 1e-300}, "/supply/generator/rating_kva", "from 0.1"),
    (
        "/supply/generator",
        {"rating_kva": 60, "rated_power_factor": 1e-300},
        "/supply/generator/rated_power_factor",
        "from 0.1 to 1",
    ),
    ("/supply/generator", {"rating_kva": 60}, "/supply/kind", "is outlet, yet it has"),
]


def said_at(pointer: str, found: list[Fault]) -> str:
    details = [f.detail for f in found if f.pointer == pointer]
    assert details, f"nothing at {pointer}: {[(f.pointer, f.detail) for f in found]}"
    return " ".join(details)


@pytest.mark.parametrize(
    ("pointer", "value", "said"), BAD_VALUES, ids=[f"{p} {str(v)[:24]}" for p, v, _ in BAD_VALUES]
)
def test_a_bad_value_is_pointed_at_and_told_what_would_be_right(
    catalogue: Catalogue, pointer: str, value: Any, said: str
) -> None:
    body = changed(with_a_conductor(the_night_exterior(), pointer), pointer, value)

    found = faults(body, catalogue)

    assert said in said_at(pointer, found)


def with_a_conductor(body: Body, pointer: str) -> Body:
    if "/conductor/" in pointer:
        body["boards"][0]["feeder"]["conductor"] = {"r_ohm_per_km": 3.0}
    return body


@pytest.mark.parametrize(
    ("pointer", "value", "elsewhere", "said"),
    TOLD_ELSEWHERE,
    ids=[f"{p} {str(v)[:24]}" for p, v, _, _ in TOLD_ELSEWHERE],
)
def test_where_another_field_mends_it_that_field_is_pointed_at(
    catalogue: Catalogue, pointer: str, value: Any, elsewhere: str, said: str
) -> None:
    body = changed(the_night_exterior(), pointer, value)
    if elsewhere.endswith("csa_mm2"):
        body["boards"][0]["feeder"]["conductor"] = {"r_ohm_per_km": 3.0}

    found = faults(body, catalogue)

    assert said in said_at(elsewhere, found)
