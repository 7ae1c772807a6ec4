"""What a run of cable may carry where it lies: a table's rating times the factors of the place.

Ratings of different standards differ by a third for the same cable, so every answer names its
table. A published factor is read as its table says: between two arguments the higher, never a
formula instead of the table, and nothing from beyond the table except where said below.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from evenboard.electrics.conductor import is_same_size, resistance_ohm_per_km
from evenboard.electrics.equipment import Basis, CableSize, CableTable, Conductor, FactorTable
from evenboard.electrics.harmonic_rating import ANNEX_E, Core, governing_core
from evenboard.electrics.layout import Run

__all__ = [
    "AS_GIVEN",
    "Capacity",
    "Factor",
    "loaded_core_count",
    "run_capacity",
    "smallest_size",
]

AS_GIVEN = "as given"
"""What stands for a table's name where the capacity came with the layout."""

_GIVEN = Basis("common-practice", "capacity given with the layout, taken for the place as it is")
_BEYOND = "beyond the table, which ends at"
_ROUNDING = 1e-9

FactorName = Literal["ambient", "grouping", "coil", "loaded neutral"]


@dataclass(frozen=True, slots=True)
class Factor:
    """One factor on a rating: its value, what it was read for, and whose word it is."""

    name: FactorName
    value: float
    read_for: str
    basis: Basis


@dataclass(frozen=True, slots=True)
class Capacity:
    """What each core of a run may carry where it lies.

    ``capacity_a`` is for a line core; the neutral's is ``neutral_share`` of it, less than 1 where
    it is thinner. ``table_rating_a`` is the line core's rating before the ``factors``. ``table``
    names the standard and its table. ``governed_by`` is the core whose current sizes the cable by
    the third harmonic. ``reason`` says why where the capacity is 0 or a bound, else None.
    """

    capacity_a: float
    table_rating_a: float
    factors: tuple[Factor, ...]
    table: str
    basis: Basis
    governed_by: Core = "line"
    reason: str | None = None
    neutral_share: float = 1.0

    @property
    def neutral_capacity_a(self) -> float:
        """What the neutral may carry. [A]"""
        return self.capacity_a * self.neutral_share

    @property
    def factor(self) -> float:
        """Product of the factors."""
        return math.prod(factor.value for factor in self.factors)


def loaded_core_count(lines: int, *, neutral: bool = True) -> int:
    """Loaded cores of a run as rating tables count them.

    Parameters
    ----------
    lines : int
        Lines in the run, 1 to 3.
    neutral : bool
        Whether the run has a neutral.

    Returns
    -------
    int
        2 or 3. A balanced three-phase neutral is not counted (its harmonics are, by annex E); two
        lines with a neutral are taken as three, since all three carry current as a rule.

    Raises
    ------
    ValueError
        If the number of lines is not 1, 2 or 3.

    References
    ----------
    .. [1] IEC 60364-5-52:2009, 523.6, number of loaded conductors in a circuit (from memory).

    Examples
    --------
    >>> [loaded_core_count(lines) for lines in (1, 2, 3)], loaded_core_count(2, neutral=False)
    ([2, 3, 3], 2)
    """
    if lines not in (1, 2, 3):
        raise ValueError(f"a run has 1, 2 or 3 lines, not {lines}")
    return 3 if lines == 3 or (lines == 2 and neutral) else 2


def run_capacity(
    run: Run, *, loaded_cores: int, ambient_c: float, third_harmonic_pct: float = 0.0
) -> Capacity | None:
    """What each core of a run may carry where it lies, and how that comes about.

    Parameters
    ----------
    run : Run
        The run. A spelled-out conductor's ``capacity_a`` is taken as given, for its place, before
        any table; its neutral of more resistance gets the current of equal heat (estimate).
    loaded_cores : int
        2, 3, or 4 where the neutral of three lines is to be counted whatever its harmonics.
    ambient_c : float
        Ambient temperature. [deg C]
    third_harmonic_pct : float
        Third harmonic in percent of the line current; counts for three lines only. [%]

    Returns
    -------
    Capacity or None
        None where neither a rating for that many loaded cores nor a capacity is known. At or above
        the rated conductor temperature, and above the last ambient that the table lists, the
        capacity is 0. For more layers or circuits than the table lists, its last factor is reduced
        in proportion to the number, a bound that the result's ``reason`` states.

    Raises
    ------
    ValueError
        If the table has no such size (the nearest are named), or a figure makes no sense.

    References
    ----------
    .. [1] The run's rating table and its factors; IEC 60364-5-52:2009 annex E for harmonics.
    .. [2] The bound beyond a table: estimate. With n times the heat behind the same surface and n
       times the path out of the middle, the rise goes with n squared at the most, the rating with
       1/n; the listed factors fall more slowly.

    Examples
    --------
    >>> from evenboard.electrics.equipment import Conductor
    >>> run_capacity(Run(10.0, conductor=Conductor(1, 0, 1, 0, 63.0)), loaded_cores=3, ambient_c=30)
    ... # doctest: +ELLIPSIS
    Capacity(capacity_a=63.0, table_rating_a=63.0, ...)
    """
    if loaded_cores not in (2, 3, 4):
        raise ValueError(f"2, 3 or 4 cores can be loaded, not {loaded_cores}")
    if not math.isfinite(ambient_c):
        raise ValueError(f"ambient temperature must be a number of deg C, not {ambient_c}")
    harmonic_factor, core = governing_core(third_harmonic_pct, 1.0)
    given_a = None if run.conductor is None else run.conductor.capacity_a
    if run.conductor is not None and given_a is not None:
        governed_by: Core = core if loaded_cores > 2 else "line"
        share = _equal_heat_share(run.conductor)
        return Capacity(given_a, given_a, (), AS_GIVEN, _GIVEN, governed_by, None, share)
    if run.cable is None or run.table is None or run.csa_mm2 is None:
        return None
    table = run.table
    rating_a = _rating(_size(table, run.csa_mm2), loaded_cores)
    if rating_a is None:
        return None
    factors, reasons = _place(run, table, ambient_c)
    if loaded_cores > 2:
        harmonic_factor, core = governing_core(third_harmonic_pct, table.four_loaded_factor)
        if loaded_cores == 4:
            harmonic_factor = table.four_loaded_factor
        if harmonic_factor != 1.0:
            text = f"{third_harmonic_pct:.0f} % third harmonic" if loaded_cores == 3 else "4 cores"
            factors.append(Factor("loaded neutral", harmonic_factor, text, ANNEX_E))
    else:
        core = "line"
    capacity_a = rating_a * math.prod(factor.value for factor in factors)
    if ambient_c >= run.cable.rated_temperature_c:
        capacity_a = 0.0
        rated_c = run.cable.rated_temperature_c
        reasons = [f"ambient {ambient_c:g} °C is not below the cable's {rated_c:g} °C"]
    return Capacity(
        capacity_a,
        rating_a,
        tuple(factors),
        table.standard,
        table.basis,
        core,
        "; ".join(reasons) or None,
        _neutral_share(run, table, loaded_cores, rating_a),
    )


def smallest_size(
    run: Run,
    *,
    current_a: float,
    loaded_cores: int,
    ambient_c: float,
    third_harmonic_pct: float = 0.0,
    max_ohm_per_km: float = math.inf,
) -> CableSize | None:
    """Smallest size of a run's cable, in its table, that would do where the run lies.

    Parameters
    ----------
    run : Run
        The run, of any size.
    current_a : float
        Current of the core that carries most, the neutral too. [A]
    loaded_cores : int
        As for :func:`run_capacity`.
    ambient_c : float
        Ambient temperature. [deg C]
    third_harmonic_pct : float
        As for :func:`run_capacity`. [%]
    max_ohm_per_km : float
        Resistance of a line at the rated temperature that must not be exceeded, where a voltage
        drop asks for a size. [ohm/km]

    Returns
    -------
    CableSize or None
        None where no listed size does, or the run has no table.

    Raises
    ------
    ValueError
        If a figure makes no sense.

    References
    ----------
    .. [1] The run's rating table; IEC 60364-5-52:2009 annex E.

    Examples
    --------
    >>> from evenboard.electrics.equipment import Conductor
    >>> smallest_size(Run(10.0, conductor=Conductor(1, 0, 1, 0)), current_a=32, loaded_cores=3,
    ...               ambient_c=30) is None
    True
    """
    if not (math.isfinite(current_a) and current_a >= 0.0):
        raise ValueError(f"current must be 0 A or more, not {current_a} A")
    if run.cable is None or run.table is None:
        return None
    for size in run.table.sizes:
        trial = Run(
            run.length_m,
            run.cable,
            run.table,
            size.csa_mm2,
            laid=run.laid,
            coil_layers=run.coil_layers,
            grouped_circuits=run.grouped_circuits,
        )
        capacity = run_capacity(
            trial,
            loaded_cores=loaded_cores,
            ambient_c=ambient_c,
            third_harmonic_pct=third_harmonic_pct,
        )
        enough = capacity is not None and capacity.capacity_a >= current_a > 0.0
        if (enough or current_a == 0.0) and _resistance(run, size) <= max_ohm_per_km:
            return size
    return None


def _resistance(run: Run, size: CableSize) -> float:
    assert run.cable is not None
    return resistance_ohm_per_km(
        size.csa_mm2, tinned=run.cable.tinned, temperature_c=run.cable.rated_temperature_c
    )


def _size(table: CableTable, csa_mm2: float) -> CableSize:
    for size in table.sizes:
        if is_same_size(size.csa_mm2, csa_mm2):
            return size
    near = sorted(table.sizes, key=lambda size: abs(size.csa_mm2 - csa_mm2))[:2]
    names = " and ".join(f"{size.csa_mm2:g} mm2" for size in sorted(near, key=lambda s: s.csa_mm2))
    raise ValueError(f"{table.standard} has no {csa_mm2:g} mm2; the nearest sizes are {names}")


def _rating(size: CableSize, loaded_cores: int) -> float | None:
    return size.two_loaded_a if loaded_cores == 2 else size.three_loaded_a


def _equal_heat_share(conductor: Conductor) -> float:
    line, neutral = conductor.r_ohm_per_km, conductor.neutral_r_ohm_per_km
    return math.sqrt(line / neutral) if neutral > line > 0.0 else 1.0


def _neutral_share(run: Run, table: CableTable, loaded_cores: int, rating_a: float) -> float:
    """Rating of the neutral over a line's: by its own size, or the next smaller that is listed.

    Below the smallest listed size the rating falls with the area, faster than tables do.
    """
    if run.neutral_csa_mm2 is None:
        return 1.0
    listed = [(s.csa_mm2, r) for s in table.sizes if (r := _rating(s, loaded_cores)) is not None]
    own_mm2 = run.neutral_csa_mm2
    smaller = [r for csa, r in listed if csa <= own_mm2 or is_same_size(csa, own_mm2)]
    if smaller:
        return max(smaller) / rating_a
    smallest_mm2, smallest_a = listed[0]
    return smallest_a * own_mm2 / smallest_mm2 / rating_a


def _place(run: Run, table: CableTable, ambient_c: float) -> tuple[list[Factor], list[str]]:
    """The factors of the place, and why where one is 0 or a bound."""
    factors: list[Factor] = []
    reasons: list[str] = []
    ambient = table.ambient
    last = ambient.arguments[-1]
    if ambient_c > last + _ROUNDING and not ambient.open_ended:
        reasons.append(f"no factor above {last:g} °C ambient in {table.standard}")
        factors.append(Factor("ambient", 0.0, f"{ambient_c:g} °C", ambient.basis))
    else:
        factors.append(
            Factor("ambient", _read(ambient, ambient_c), f"{ambient_c:g} °C", ambient.basis)
        )
    together = run.grouped_circuits
    if run.laid == "grouped" or (run.laid != "surface" and together > 1):
        _count("grouping", table.grouping_bunched, together, "circuits bunched", factors, reasons)
    elif run.laid == "surface":
        _count(
            "grouping", table.grouping_surface, together, "circuits side by side", factors, reasons
        )
    if run.laid == "coiled" or run.coil_layers > 0:
        what = "layers on a drum or in a coil"
        _count("coil", table.drum_layers, run.coil_layers, what, factors, reasons)
    return factors, reasons


def _count(
    name: FactorName,
    table: FactorTable,
    number: int,
    what: str,
    factors: list[Factor],
    reasons: list[str],
) -> None:
    if number < 1:
        raise ValueError(f"{what} must be 1 or more, not {number}")
    last = table.arguments[-1]
    if number > last and not table.open_ended:
        value = table.factors[-1] * last / number
        reasons.append(f"{number} {what} are {_BEYOND} {last:g}: bounded at {value:.2f} (estimate)")
    else:
        value = _read(table, number)
    factors.append(Factor(name, value, f"{number} {what}", table.basis))


def _read(table: FactorTable, argument: float) -> float:
    """The factor of the argument, or of the next higher that is listed; else the last."""
    for listed, factor in zip(table.arguments, table.factors, strict=True):
        if argument <= listed + _ROUNDING:
            return factor
    return table.factors[-1]
