"""The cable tables of the data files, against BS 7671, DIN VDE 0298-4 and the NEC."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from evenboard.electrics.conductor import resistance_ohm_per_km
from evenboard.electrics.equipment import CableTable, CableType
from evenboard.electrics.layout import Run
from support.cables import all_cables, rated_a, run_of

TABLES = [(cable, table) for cable in all_cables() for table in cable.tables]
TEMPERATURE_OF_FACTORS = {
    "bs7671-4f3a": 60.0,
    "asnzs3008-cord": 60.0,
    "nec-520.44-75c": 75.0,
    "nec-400.5-a2-75c": 75.0,
}
"""Where a table's ambient factors are not those of the cable's rated temperature. [deg C]"""


def uk(csa_mm2: float) -> Run:
    return run_of("h07rn-f", "bs7671-4f1a", csa_mm2)


# BS 7671:2018 Table 4F1A, 60 deg C rubber, three-phase and two-core, as reproduced by two UK
# distributors (120 mm2 by a cable maker).
@pytest.mark.parametrize(
    ("csa_mm2", "two_a", "three_a"),
    [
        (4, 30, 26),
        (6, 39, 34),
        (10, 51, 47),
        (16, 73, 63),
        (25, 97, 83),
        (35, None, 102),
        (50, None, 124),
        (70, None, 158),
        (95, None, 192),
        (120, None, 222),
    ],
)
def test_60_degree_rubber_is_rated_as_in_bs_7671(
    csa_mm2: float, two_a: float | None, three_a: float
) -> None:
    assert rated_a(uk(csa_mm2)) == three_a
    if two_a is not None:
        assert rated_a(uk(csa_mm2), cores=2) == two_a


# BS 7671:2018 Table 4F2A, 90 deg C rubber, as reproduced by two UK distributors.
@pytest.mark.parametrize(
    ("csa_mm2", "two_a", "three_a"),
    [(4, 42, 37), (6, 55, 49), (10, 76, 66), (16, 103, 89), (25, 136, 119), (35, None, 146)],
)
def test_90_degree_rubber_is_rated_as_in_bs_7671(
    csa_mm2: float, two_a: float | None, three_a: float
) -> None:
    run = run_of("h07bn4-f", "bs7671-4f2a", csa_mm2)

    assert rated_a(run) == three_a
    if two_a is not None:
        assert rated_a(run, cores=2) == two_a


# BS 7671:2018 Table 4F3A, cords, as reproduced by a UK distributor.
@pytest.mark.parametrize(
    ("csa_mm2", "two_a", "three_a"), [(0.75, 6, 6), (1, 10, 10), (2.5, 25, 20), (4, 32, 25)]
)
def test_small_cords_are_rated_as_in_bs_7671(csa_mm2: float, two_a: float, three_a: float) -> None:
    run = run_of("h05rr-f", "bs7671-4f3a", csa_mm2)

    assert (rated_a(run, cores=2), rated_a(run)) == (two_a, three_a)


# DIN VDE 0298-4 Table 11 column 5 and column 2, Table 15, as reproduced by cable makers.
@pytest.mark.parametrize(
    ("csa_mm2", "multicore_a", "heavy_a", "single_a"),
    [
        (1.5, 18, 23, 24),
        (2.5, 26, 30, 32),
        (4, 34, 41, 42),
        (6, 44, 53, 54),
        (10, 61, 74, 73),
        (16, 82, 99, 98),
        (25, 108, 131, 129),
        (35, 135, 162, 158),
        (50, 168, 202, 198),
        (70, 207, 250, 245),
        (95, 250, 301, 292),
    ],
)
def test_rubber_is_rated_as_in_vde_0298_4(
    csa_mm2: float, multicore_a: float, heavy_a: float, single_a: float
) -> None:
    assert rated_a(run_of("h07rn-f", "vde0298-4-t11", csa_mm2)) == multicore_a
    assert rated_a(run_of("h07bn4-f", "vde0298-4-t15", csa_mm2)) == heavy_a
    assert rated_a(run_of("h07rn-f-single", "vde0298-4-t11-single", csa_mm2)) == single_a


# NFPA 70 Table 400.5(A)(1), columns A and B, as reproduced on a public page.
@pytest.mark.parametrize(
    ("csa_mm2", "two_a", "three_a"),
    [
        (2.08, 18, 15),
        (3.31, 25, 20),
        (5.26, 30, 25),
        (8.37, 40, 35),
        (13.3, 55, 45),
        (33.6, 95, 80),
    ],
)
def test_awg_cord_is_rated_as_in_the_nec(csa_mm2: float, two_a: float, three_a: float) -> None:
    run = run_of("us-extra-hard-usage", "nec-400.5-a1", csa_mm2)

    assert (rated_a(run, cores=2), rated_a(run)) == (two_a, three_a)


# NFPA 70 Table 520.44(C)(2), as reproduced by a public code reader.
@pytest.mark.parametrize(
    ("csa_mm2", "at_75_a", "at_90_a"),
    [
        (2.08, 24, 28),
        (3.31, 32, 35),
        (5.26, 41, 47),
        (8.37, 57, 65),
        (13.3, 77, 87),
        (21.2, 101, 114),
        (33.6, 133, 152),
    ],
)
def test_stage_cord_is_rated_as_in_the_nec(csa_mm2: float, at_75_a: float, at_90_a: float) -> None:
    assert rated_a(run_of("us-extra-hard-usage", "nec-520.44-75c", csa_mm2)) == at_75_a
    assert rated_a(run_of("us-extra-hard-usage", "nec-520.44-90c", csa_mm2)) == at_90_a


def test_the_same_cable_differs_by_a_third_between_standards() -> None:
    # BS 7671 Table 4F1A against DIN VDE 0298-4 Table 11, 16 mm2, three loaded.
    assert rated_a(uk(16)) == 63
    assert rated_a(run_of("h07rn-f", "vde0298-4-t11", 16)) == 82


def test_single_conductors_in_contact_lose_what_the_nec_says() -> None:
    # NFPA 70 Table 400.5(A)(2), 4/0 AWG, 90 deg C: column D 405 A, column F 316 A (from memory).
    apart = run_of("us-single-conductor", "nec-400.5-a2-90c", 107.0)

    assert rated_a(apart) == 405
    assert rated_a(replace(apart, laid="surface")) == pytest.approx(316, rel=0.005)


@pytest.mark.parametrize(("cable", "table"), TABLES, ids=lambda x: x.id)
def test_the_bound_beyond_a_table_lies_below_what_the_table_itself_lists(
    cable: CableType, table: CableTable
) -> None:
    # The bound says last factor * last / n; held against the listed factors from each of them on.
    for factors in (table.drum_layers, table.grouping_bunched):
        if factors.open_ended:
            continue
        for i, (n, value) in enumerate(zip(factors.arguments, factors.factors, strict=True)):
            rest = zip(factors.arguments[i:], factors.factors[i:], strict=True)
            assert all(value * n / more <= listed + 0.005 for more, listed in rest)


@pytest.mark.parametrize(("cable", "table"), TABLES, ids=lambda x: x.id)
def test_every_size_on_offer_has_a_resistance_and_a_larger_one_never_carries_less(
    cable: CableType, table: CableTable
) -> None:
    for size in table.sizes:
        assert resistance_ohm_per_km(size.csa_mm2, tinned=cable.tinned) > 0.0
    for cores in ("two_loaded_a", "three_loaded_a"):
        ratings = [r for size in table.sizes if (r := getattr(size, cores)) is not None]
        assert ratings == sorted(ratings)
    for size in table.sizes:
        if size.two_loaded_a is not None and size.three_loaded_a is not None:
            assert size.three_loaded_a <= size.two_loaded_a


@pytest.mark.parametrize(("cable", "table"), TABLES, ids=lambda x: x.id)
def test_printed_ambient_factors_follow_the_square_root_law(
    cable: CableType, table: CableTable
) -> None:
    # The law of IEC 60287 for the hottest column that the printed factors could belong to; BS 7671
    # truncates, so up to 0.015 below.
    limit_c = min(
        cable.rated_temperature_c, 60.0 if "cord" in table.id or "4f3a" in table.id else 999
    )
    if table.id in ("nec-520.44-75c", "nec-400.5-a2-75c"):
        limit_c = 75.0
    if table.id == "vde0298-4-t11-cord":
        limit_c = cable.rated_temperature_c
    for ambient_c, factor in zip(table.ambient.arguments, table.ambient.factors, strict=True):
        span = (limit_c - ambient_c) / (limit_c - table.reference_ambient_c)
        assert factor <= math.sqrt(span) + 0.006
        if ambient_c >= table.reference_ambient_c:
            assert factor >= math.sqrt(span) - 0.015
