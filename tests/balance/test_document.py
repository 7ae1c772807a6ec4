"""The answer as plain JSON values and as a table: every field that was promised, nothing else."""

from __future__ import annotations

import json
from typing import Any

from evenboard.balance import Balance, balance, balance_document, phase_table
from evenboard.balance.table import PHASE_TABLE_HEAD
from evenboard.catalogue import Catalogue
from evenboard.intake import resolve
from support.bodies import Body, the_night_exterior


def balanced(catalogue: Catalogue, body: Body) -> Balance:
    return balance(resolve(body, catalogue))


def test_the_example_of_the_api_answers_with_every_field_that_it_promises(
    catalogue: Catalogue,
) -> None:
    document = balance_document(balanced(catalogue, the_night_exterior()))

    for name, promised in PROMISED.items():
        part: Any = document[name]
        part = part[0] if isinstance(part, list) else part
        missing = promised - set(part)
        assert not missing, (name, missing)
    board = document["boards"][0]
    assert set(board["feeder"]) >= FEEDER
    assert set(board["outlets"][0]) >= OUTLET
    assert set(document["boards"][1]["rcds"][0]) >= {"id", "leakage_ma"}
    assert set(board["voltage_v"]) == {"L1", "L2", "L3"}
    assert document["verdict"] in ("pass", "caution", "fail")


PHASE = {
    "phase",
    "current_a",
    "fundamental_a",
    "power_w",
    "reactive_var",
    "apparent_va",
    "power_factor",
    "rating_a",
    "loading_pct",
    "headroom_a",
}
NEUTRAL = {
    "current_a",
    "fundamental_a",
    "triplen_a",
    "rating_a",
    "loading_pct",
    "worst_switching_a",
    "worst_switching_on",
}
FEEDER = {
    "capacity_a",
    "loss_w",
    "core_temperature_c",
    "core_spread_k",
    "differential_expansion_mm",
}
OUTLET = {"id", "current_a", "voltage_v", "inrush_a", "loop_impedance_ohm"}
PROMISED = {
    "supply": {"rating_a", "total_rating_a", "voltage_v", "capacity_va"},
    "phases": PHASE | {"room_for"},
    "neutral": NEUTRAL,
    "open_neutral": {"voltage_v"},
    "unbalance": {
        "current_pct",
        "spread_a",
        "spread_pct",
        "negative_sequence_pct",
        "voltage_pct",
    },
    "boards": {
        "id",
        "phases",
        "neutral",
        "voltage_v",
        "neutral_to_earth_v",
        "voltage_drop_pct",
        "feeder",
        "outlets",
        "rcds",
    },
    "setups": {"id", "phases", "neutral", "unbalance"},
    "loads": {"id", "voltage_v", "current_a", "power_w", "light_pct", "colour_temperature_k"},
    "findings": {
        "code",
        "severity",
        "where",
        "value",
        "limit",
        "unit",
        "message",
        "remedy",
        "basis",
    },
}


def test_the_answer_is_plain_json_without_a_figure_that_is_no_number(catalogue: Catalogue) -> None:
    document = balance_document(balanced(catalogue, the_night_exterior()))

    assert json.loads(json.dumps(document, allow_nan=False)) == document


def test_the_phase_table_has_a_row_for_each_line_and_neutral(catalogue: Catalogue) -> None:
    result = balanced(catalogue, the_night_exterior())

    rows = phase_table(result)

    assert all(len(row) == len(PHASE_TABLE_HEAD) for row in rows)
    assert [row[:3] for row in rows[:4]] == [
        ("wide", "", "L1"),
        ("wide", "", "L2"),
        ("wide", "", "L3"),
        ("wide", "", "N"),
    ]
    assert {row[1] for row in rows} == {"", "main", "stage-left"}
