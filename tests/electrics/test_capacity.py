"""Capacity in place, against the tables of BS 7671, DIN VDE 0298-4 and the NEC."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from evenboard.electrics.capacity import loaded_core_count, run_capacity, smallest_size
from evenboard.electrics.equipment import Conductor
from evenboard.electrics.layout import Run
from support.cables import a_cable_run, a_cable_table, rated_a, run_of


def uk(csa_mm2: float, **changes: object) -> Run:
    return run_of("h07rn-f", "bs7671-4f1a", csa_mm2, **changes)


# Check set A no. 9 and 11 and section 4: BS 7671:2018 Table 4F1A with its ambient and drum notes.
@pytest.mark.parametrize(
    ("csa_mm2", "ambient_c", "place", "expected_a"),
    [
        (16, 30, {}, 63.0),
        (10, 45, {}, 33.4),
        (10, 30, {"laid": "coiled", "coil_layers": 2}, 30.6),
        (10, 45, {"laid": "coiled", "coil_layers": 2}, 21.7),
        (6, 35, {"laid": "coiled", "coil_layers": 3}, 13.9),
        (16, 40, {"laid": "grouped", "grouped_circuits": 2}, 41.3),
    ],
)
def test_rating_times_the_printed_factors(
    csa_mm2: float, ambient_c: float, place: dict[str, object], expected_a: float
) -> None:
    # Tolerance: the expected values are rounded to 0.1 A.
    assert rated_a(uk(csa_mm2, **place), ambient_c=ambient_c) == pytest.approx(expected_a, abs=0.1)


# BS 7671:2018 notes to Tables 4F3A (60 deg C) and 4F2A (90 deg C), as reproduced.
@pytest.mark.parametrize(
    ("ambient_c", "at_60", "at_90"),
    [
        (35, 0.91, 0.95),
        (40, 0.82, 0.91),
        (45, 0.71, 0.86),
        (50, 0.58, 0.82),
        (55, 0.41, 0.76),
        (60, 0.0, 0.70),
        (70, 0.0, 0.57),
        (85, 0.0, 0.28),
        (90, 0.0, 0.0),
    ],
)
def test_ambient_factors_are_the_printed_ones_not_the_square_root(
    ambient_c: float, at_60: float, at_90: float
) -> None:
    assert rated_a(uk(16), ambient_c=ambient_c) == pytest.approx(63 * at_60, rel=1e-12)
    run = run_of("h07bn4-f", "bs7671-4f2a", 16)
    assert rated_a(run, ambient_c=ambient_c) == pytest.approx(89 * at_90, rel=1e-12)


@pytest.mark.parametrize(
    ("ambient_c", "factor"), [(30.0, 1.0), (30.1, 0.91), (37.0, 0.82), (54.9, 0.41), (-10.0, 1.0)]
)
def test_between_listed_ambients_the_hotter_is_read(ambient_c: float, factor: float) -> None:
    assert rated_a(uk(16), ambient_c=ambient_c) == pytest.approx(63 * factor, rel=1e-12)


def test_at_the_rated_temperature_nothing_is_left_and_the_answer_says_why() -> None:
    capacity = run_capacity(uk(16), loaded_cores=3, ambient_c=60.0)

    assert capacity is not None
    assert capacity.capacity_a == 0.0
    assert capacity.reason == "ambient 60 °C is not below the cable's 60 °C"


def test_above_the_last_listed_ambient_nothing_is_made_up() -> None:
    capacity = run_capacity(uk(16), loaded_cores=3, ambient_c=57.0)

    assert capacity is not None
    assert capacity.capacity_a == 0.0
    assert capacity.reason is not None
    assert "no factor above 55 °C ambient" in capacity.reason


# DIN VDE 0298-4 Table 21, as reproduced by a cable distributor and a cable maker.
@pytest.mark.parametrize(
    ("circuits", "bunched", "surface"),
    [
        (1, 1.00, 1.00),
        (2, 0.80, 0.85),
        (3, 0.70, 0.79),
        (5, 0.60, 0.73),
        (9, 0.50, 0.70),
        (10, 0.48, 0.70),
        (11, 0.45, 0.70),
        (20, 0.38, 0.70),
    ],
)
def test_grouping_is_that_of_vde_0298_4(circuits: int, bunched: float, surface: float) -> None:
    heap = run_of("h07rn-f", "vde0298-4-t11", 16, laid="grouped", grouped_circuits=circuits)
    layer = replace(heap, laid="surface")

    assert rated_a(heap) == pytest.approx(82 * bunched, rel=1e-12)
    assert rated_a(layer) == pytest.approx(82 * surface, rel=1e-12)


def test_circuits_that_lie_together_in_free_air_count_as_bunched() -> None:
    assert rated_a(uk(16, grouped_circuits=3)) == pytest.approx(63 * 0.70, rel=1e-12)


# BS 7671:2018 note 2 to Table 4F1A, as reproduced; DIN VDE 0298-4 Table 27 (from memory).
@pytest.mark.parametrize(
    ("layers", "british", "german"),
    [(1, 0.85, 0.80), (2, 0.65, 0.61), (3, 0.45, 0.49), (4, 0.35, 0.42)],
)
def test_layers_on_a_drum_cost_what_the_standards_print(
    layers: int, british: float, german: float
) -> None:
    wound = {"laid": "coiled", "coil_layers": layers}

    assert rated_a(uk(16, **wound)) == pytest.approx(63 * british, rel=1e-12)
    assert rated_a(run_of("h07rn-f", "vde0298-4-t11", 16, **wound)) == pytest.approx(
        82 * german, rel=1e-12
    )


@pytest.mark.parametrize("layers", [5, 6, 20, 99])
def test_more_layers_than_the_table_lists_only_ever_cost_more_and_the_answer_says_so(
    layers: int,
) -> None:
    fewer = run_capacity(
        uk(16, laid="coiled", coil_layers=layers - 1), loaded_cores=3, ambient_c=30
    )
    capacity = run_capacity(uk(16, laid="coiled", coil_layers=layers), loaded_cores=3, ambient_c=30)

    assert capacity is not None
    assert fewer is not None
    assert 0.0 < capacity.capacity_a < fewer.capacity_a
    assert capacity.reason is not None
    assert "estimate" in capacity.reason


def test_coiled_without_a_number_of_layers_is_refused() -> None:
    with pytest.raises(ValueError, match="layers on a drum or in a coil must be 1 or more, not 0"):
        run_capacity(uk(16, laid="coiled"), loaded_cores=3, ambient_c=30)


@pytest.mark.parametrize(
    ("third_harmonic_pct", "factor", "core"),
    [(15.0, 1.0, "line"), (20.0, 0.86, "line"), (40.0, 0.86, "neutral"), (50.0, 1.0, "neutral")],
)
def test_a_third_harmonic_loads_the_neutral_of_three_lines(
    third_harmonic_pct: float, factor: float, core: str
) -> None:
    # IEC 60364-5-52:2009 annex E, factors as reproduced.
    capacity = run_capacity(
        uk(16), loaded_cores=3, ambient_c=30, third_harmonic_pct=third_harmonic_pct
    )

    assert capacity is not None
    assert capacity.capacity_a == pytest.approx(63 * factor, rel=1e-12)
    assert capacity.governed_by == core


def test_a_single_phase_run_knows_no_harmonic_factor() -> None:
    assert rated_a(uk(16), cores=2, third_harmonic_pct=80.0) == 73.0


def test_the_nec_takes_a_fifth_off_for_a_fourth_loaded_conductor() -> None:
    # NFPA 70 Table 400.5(A)(3): 4 to 6 conductors 80 % (from memory).
    run = run_of("us-extra-hard-usage", "nec-400.5-a1", 13.3)

    assert rated_a(run, third_harmonic_pct=30.0) == pytest.approx(36.0)
    assert rated_a(run, cores=4) == pytest.approx(36.0)


def test_the_answer_names_its_table_and_every_factor() -> None:
    run = uk(6, laid="coiled", coil_layers=2, grouped_circuits=2)

    capacity = run_capacity(run, loaded_cores=3, ambient_c=40, third_harmonic_pct=20)

    assert capacity is not None
    assert capacity.table == "BS 7671:2018 Tables 4F1A and 4F3A"
    assert capacity.table_rating_a == 34
    assert [(f.name, f.value) for f in capacity.factors] == [
        ("ambient", 0.82),
        ("grouping", 0.80),
        ("coil", 0.65),
        ("loaded neutral", 0.86),
    ]
    assert all(f.basis.text for f in capacity.factors)
    assert capacity.capacity_a == pytest.approx(34 * 0.82 * 0.80 * 0.65 * 0.86)
    assert capacity.factor == pytest.approx(capacity.capacity_a / 34)


def test_a_given_capacity_is_taken_as_it_is() -> None:
    run = Run(10.0, conductor=Conductor(1.0, 0.1, 1.0, 0.1, 55.0), laid="coiled", coil_layers=3)

    capacity = run_capacity(run, loaded_cores=3, ambient_c=45, third_harmonic_pct=40)

    assert capacity is not None
    assert capacity.capacity_a == capacity.neutral_capacity_a == 55.0
    assert capacity.table == "as given"


def test_a_given_neutral_of_four_times_the_resistance_carries_half() -> None:
    run = Run(10.0, conductor=Conductor(1.0, 0.1, 4.0, 0.1, 60.0))

    capacity = run_capacity(run, loaded_cores=3, ambient_c=30)

    assert capacity is not None
    assert capacity.neutral_capacity_a == pytest.approx(30.0)


def test_a_given_capacity_goes_before_the_table_and_the_table_before_none() -> None:
    cable = uk(16)

    given = replace(cable, conductor=Conductor(1.2, 0.1, 1.2, 0.1, 50.0))
    silent = replace(cable, conductor=Conductor(1.2, 0.1, 1.2, 0.1))

    assert rated_a(given) == 50.0
    assert rated_a(silent) == 63.0


def test_without_table_or_capacity_there_is_no_answer() -> None:
    given = Run(10.0, conductor=Conductor(1.0, 0.1, 1.0, 0.1))

    assert run_capacity(given, loaded_cores=3, ambient_c=30) is None
    assert run_capacity(replace(uk(6), table=None), loaded_cores=3, ambient_c=30) is None
    cord = run_of("h05rr-f", "bs7671-4f3a", 1.25)  # Table 4F3A has no three-phase rating for it
    assert run_capacity(cord, loaded_cores=3, ambient_c=30) is None


@pytest.mark.parametrize(("neutral_mm2", "expected_a"), [(16, 63), (10, 47), (3.31, 20), (0.5, 4)])
def test_a_thinner_neutral_has_the_rating_of_its_own_size(
    neutral_mm2: float, expected_a: float
) -> None:
    # 3.31 mm2 reads the next smaller of Table 4F3A, 2.5 mm2; 0.5 mm2 a share of 0.75 mm2's 6 A.
    capacity = run_capacity(uk(16, neutral_csa_mm2=neutral_mm2), loaded_cores=3, ambient_c=30)

    assert capacity is not None
    assert capacity.neutral_capacity_a == pytest.approx(expected_a)


def test_a_size_that_the_table_lacks_is_refused_with_its_neighbours() -> None:
    with pytest.raises(ValueError, match=r"has no 5 mm2; the nearest sizes are 4 mm2 and 6 mm2"):
        run_capacity(uk(5), loaded_cores=3, ambient_c=30)


@pytest.mark.parametrize(
    ("cores", "ambient_c", "harmonic", "message"),
    [
        (1, 30.0, 0.0, "2, 3 or 4 cores"),
        (5, 30.0, 0.0, "2, 3 or 4 cores"),
        (3, math.nan, 0.0, "ambient temperature"),
        (3, 30.0, -1.0, "third harmonic"),
        (3, 30.0, math.inf, "third harmonic"),
    ],
)
def test_nonsense_is_refused(cores: int, ambient_c: float, harmonic: float, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        rated_a(uk(16), cores=cores, ambient_c=ambient_c, third_harmonic_pct=harmonic)


@pytest.mark.parametrize(
    ("lines", "neutral", "expected"), [(1, True, 2), (2, True, 3), (2, False, 2), (3, True, 3)]
)
def test_loaded_cores_are_counted_as_rating_tables_do(
    lines: int, neutral: bool, expected: int
) -> None:
    assert loaded_core_count(lines, neutral=neutral) == expected


# Check set A no. 5: IEC 60364-5-52 annex E, 39 A, reference method C (example from memory).
@pytest.mark.parametrize(
    ("third_harmonic_pct", "governing_a", "expected_mm2"),
    [(0, 39.0, 6), (20, 39.0, 10), (40, 46.8, 10), (50, 58.5, 16)],
)
def test_annex_e_example_asks_for_the_standards_sizes(
    third_harmonic_pct: float, governing_a: float, expected_mm2: float
) -> None:
    run = a_cable_run(6, a_cable_table((6, 41), (10, 57), (16, 76)))

    size = smallest_size(
        run,
        current_a=governing_a,
        loaded_cores=3,
        ambient_c=30,
        third_harmonic_pct=third_harmonic_pct,
    )

    assert size is not None
    assert size.csa_mm2 == expected_mm2


def test_the_smallest_size_keeps_the_place_of_the_run() -> None:
    wound = uk(4, laid="coiled", coil_layers=2)

    size = smallest_size(wound, current_a=32, loaded_cores=3, ambient_c=30)

    assert size is not None
    assert size.csa_mm2 == 16  # 47 * 0.65 = 30.6 A is too little, 63 * 0.65 = 41 A is enough


def test_the_smallest_size_can_be_asked_for_a_resistance() -> None:
    wanted = 1.5

    size = smallest_size(uk(4), current_a=10, loaded_cores=3, ambient_c=30, max_ohm_per_km=wanted)

    # 16 mm2, tinned, 60 deg C: 1.435 ohm/km; 10 mm2: 2.257 ohm/km (IEC 60228 class 5).
    assert size is not None
    assert size.csa_mm2 == 16


def test_no_size_is_better_than_a_wrong_one() -> None:
    assert smallest_size(uk(4), current_a=500, loaded_cores=3, ambient_c=30) is None
    assert smallest_size(uk(4), current_a=1, loaded_cores=3, ambient_c=60) is None
