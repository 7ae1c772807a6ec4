"""The split of a core's rise, against heat conduction over the cross-section of a cable.

Two-dimensional finite volumes: round conductors of copper in rubber of 3.5 K m/W, the surface in
still air with 10 W/(m2 K) (both as IEC 60287 takes them, from memory). Diameters of heavy rubber
cable to EN 50525-2-21 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from evenboard.electrics.solution import FloatArray
from evenboard.electrics.thermal import OWN_SHARE, core_temperature_c

pytestmark = pytest.mark.reference

RUBBER_W_PER_MK = 1.0 / 3.5
COPPER_W_PER_MK = 200.0  # as good as isothermal; the true 390 makes no difference
SURFACE_W_PER_M2K = 10.0
CELLS = 51


@dataclass(frozen=True)
class Section:
    """A cable's cross-section: outer and conductor diameter, insulation, cores. [mm]"""

    outer_mm: float
    conductor_mm: float
    insulation_mm: float
    cores: int


SECTIONS = [
    Section(13.3, 2.2, 0.9, 5),  # 2.5 mm2
    Section(23.5, 5.9, 1.2, 4),  # 16 mm2
    Section(25.5, 5.9, 1.2, 5),
    Section(35.0, 9.0, 1.4, 5),  # 35 mm2
]


@cache
def thermal_resistances(section: Section) -> FloatArray:
    """Rise of each core for one watt a metre in each core, shape (cores, cores). [K m/W]"""
    side = np.linspace(-0.51, 0.51, CELLS) * section.outer_mm
    x, y = np.meshgrid(side, side, indexing="ij")
    inside = np.hypot(x, y) <= section.outer_mm / 2.0
    pitch = (section.conductor_mm / 2.0 + section.insulation_mm) / np.sin(np.pi / section.cores)
    angles = 2.0 * np.pi * np.arange(section.cores) / section.cores
    core_cells = [
        np.hypot(x - pitch * np.cos(a), y - pitch * np.sin(a)) <= section.conductor_mm / 2.0
        for a in angles
    ]
    conductivity = np.where(np.any(core_cells, axis=0), COPPER_W_PER_MK, RUBBER_W_PER_MK)
    number = np.full(x.shape, -1)
    number[inside] = np.arange(inside.sum())
    matrix = np.zeros((inside.sum(), inside.sum()))
    edges = []
    for axis, step in ((0, 1), (0, -1), (1, 1), (1, -1)):
        beside = np.roll(number, step, axis)
        there = np.roll(conductivity, step, axis)
        between = 2.0 * conductivity * there / (conductivity + there)
        pair = inside & (beside >= 0)
        matrix[number[pair], beside[pair]] -= between[pair]
        matrix[number[pair], number[pair]] += between[pair]
        edges.append(number[inside & (beside < 0)])
    edge = np.concatenate(edges)
    # A staircase is longer than its circle: each edge gets its share of the true circumference.
    share = SURFACE_W_PER_M2K * np.pi * section.outer_mm / 1000.0 / len(edge)
    np.add.at(matrix, (edge, edge), share)
    heat = np.zeros((inside.sum(), section.cores))
    for core, cells in enumerate(core_cells):
        heat[number[cells], core] = 1.0 / cells.sum()
    rise = np.linalg.solve(matrix, heat)
    return np.array([rise[number[cells]].mean(axis=0) for cells in core_cells])


@pytest.mark.parametrize("section", SECTIONS, ids=str)
def test_conduction_gives_a_core_less_of_its_own_than_is_taken(section: Section) -> None:
    rises = thermal_resistances(section)

    shared = np.mean(rises[0, 1:])
    own = rises[0, 0] - shared
    share = own / (own + 3.0 * shared)

    assert 0.05 < share < OWN_SHARE.value


@pytest.mark.parametrize("section", SECTIONS, ids=str)
def test_the_estimate_never_shows_less_spread_or_a_cooler_core(section: Section) -> None:
    rises = thermal_resistances(section)
    three = rises[:3, :3]
    rated_w = 30.0 / three.sum(axis=1).max()  # so that three equal cores reach 60 from 30 deg C

    for currents in ([1.0, 0.0, 0.0], [1.0, 1.0, 0.0], [1.0, 0.6, 0.3]):
        squares = np.array(currents) ** 2
        conducted = 30.0 + three @ (rated_w * squares)
        estimate = core_temperature_c(
            np.array(currents), 1.0, ambient_c=30.0, rated_temperature_c=60.0, loaded_cores=3
        )

        assert np.ptp(estimate) > np.ptp(conducted)
        # The middle one of three cores in a circle of five runs warmer than the outer two.
        assert estimate.max() > conducted.max() - 0.7
