"""A load that the body spells out instead of naming a fixture type."""

from __future__ import annotations

import math
from dataclasses import dataclass

from evenboard.electrics.equipment import Displacement, LoadModel, SizeClass
from evenboard.electrics.load import contradiction
from evenboard.intake.bounds import MAX_POWER_W, MAX_VOLTS, MIN_POWER_W, MIN_VOLTS
from evenboard.intake.entry import Entry

__all__ = ["Custom", "read_custom"]

CUSTOM_FIELDS = (
    "name",
    "power_w",
    "power_factor",
    "displacement_factor",
    "displacement",
    "load_model",
    "rated_voltage_v",
    "input_voltage_v",
    "third_harmonic_pct",
    "inrush_multiple",
    "inrush_ms",
    "leakage_ma",
    "size_class",
)
DISPLACEMENTS: dict[str, Displacement] = {
    "lagging": "lagging",
    "leading": "leading",
    "none": "none",
}
LOAD_MODELS: dict[str, LoadModel] = {
    "tungsten": "tungsten",
    "constant-power": "constant-power",
    "constant-impedance": "constant-impedance",
    "constant-current": "constant-current",
}
SIZES: dict[str, SizeClass] = {"large": "large", "medium": "medium", "small": "small"}
LEAST_FACTOR = 0.05
"""Power factor below which a figure is a slip: nothing on a set is that poor (estimate)."""
MAX_INRUSH = 100.0
MAX_INRUSH_MS = 10_000.0
MAX_LEAKAGE_MA = 1000.0


@dataclass(frozen=True, slots=True)
class Custom:
    """A spelled-out load: as a fixture type, but without a voltage where none was given."""

    name: str
    power_w: float
    power_factor: float
    displacement_factor: float
    displacement: Displacement
    third_harmonic_pct: float
    load_model: LoadModel
    rated_voltage_v: float | None
    input_range_v: tuple[float, float] | None
    inrush_multiple: float
    inrush_ms: float
    leakage_ma: float
    size_class: SizeClass | None


def read_custom(entry: Entry) -> Custom | None:
    """A spelled-out load; None after a fault."""
    before = len(entry.faults)
    entry.only(CUSTOM_FIELDS, "A custom load")
    name = entry.text("name")
    if not entry.has("name"):
        entry.fault("name is missing: what the crew calls the load.", "name")
    power_w = entry.number(
        "power_w", "W at the plug", least=MIN_POWER_W, most=MAX_POWER_W, required=True
    )
    factor = entry.number("power_factor", "", 1.0, least=LEAST_FACTOR, most=1.0)
    cosine = entry.number("displacement_factor", "", factor, least=LEAST_FACTOR, most=1.0)
    harmonic_pct = entry.number("third_harmonic_pct", "% of the fundamental", 0.0, most=100.0)
    usual = "none" if cosine is None or cosine == 1.0 else "lagging"
    displacement = entry.choice("displacement", DISPLACEMENTS, usual)
    model = entry.choice("load_model", LOAD_MODELS, "constant-power")
    if factor is not None and cosine is not None:
        _check_factors(entry, factor, cosine, harmonic_pct, displacement, model)
    rated_v = entry.number(
        "rated_voltage_v", "V across one branch", least=MIN_VOLTS, most=MAX_VOLTS
    )
    range_v = _range(entry)
    if range_v and rated_v and not range_v[0] <= rated_v <= range_v[1]:
        entry.fault(
            f"rated_voltage_v is {rated_v:g}, outside input_voltage_v {range_v[0]:g} to "
            f"{range_v[1]:g}.",
            "rated_voltage_v",
        )
    inrush = entry.number("inrush_multiple", "times the rated peak", 1.0, most=MAX_INRUSH)
    inrush_ms = entry.number("inrush_ms", "ms", 0.0, most=MAX_INRUSH_MS)
    leakage_ma = entry.number("leakage_ma", "mA", 0.0, most=MAX_LEAKAGE_MA)
    size = entry.choice("size_class", SIZES)
    if len(entry.faults) > before or power_w is None or factor is None or cosine is None:
        return None
    return Custom(
        name=name or "",
        power_w=power_w,
        power_factor=factor,
        displacement_factor=cosine,
        displacement=DISPLACEMENTS[displacement or "none"],
        third_harmonic_pct=harmonic_pct or 0.0,
        load_model=LOAD_MODELS[model or "constant-power"],
        rated_voltage_v=rated_v,
        input_range_v=range_v,
        inrush_multiple=1.0 if inrush is None else inrush,
        inrush_ms=inrush_ms or 0.0,
        leakage_ma=leakage_ma or 0.0,
        size_class=SIZES[size] if size else None,
    )


def _check_factors(
    entry: Entry,
    factor: float,
    cosine: float,
    harmonic_pct: float | None,
    displacement: str | None,
    model: str | None,
) -> None:
    """Figures that contradict each other cannot be solved with, so they are refused."""
    wrong = contradiction(
        factor, cosine, DISPLACEMENTS[displacement or "lagging"], harmonic_pct or 0.0
    )
    if wrong is not None:
        entry.fault(
            f"{wrong[0].upper()}{wrong[1:]}: {_remedy(factor, cosine, harmonic_pct)}.",
            _culprit(factor, cosine, harmonic_pct),
        )
    if model == "tungsten" and factor < 1.0:
        entry.fault(
            f"power_factor is {factor:g}, but a filament is a plain resistance: 1, or another "
            "load_model.",
            "power_factor",
        )


def _culprit(factor: float, cosine: float, harmonic_pct: float | None) -> str:
    """The field to point at, where two contradict each other."""
    if factor > cosine:
        return "power_factor"
    return "third_harmonic_pct" if harmonic_pct else "displacement"


def _remedy(factor: float, cosine: float, harmonic_pct: float | None) -> str:
    """What would be right, in figures."""
    if factor > cosine:
        return f"distortion only lowers it, so displacement_factor is from {factor:g} to 1"
    if not harmonic_pct:
        return "say which"
    per_unit = math.sqrt(1.0 + (harmonic_pct / 100.0) ** 2)
    if factor * per_unit <= 1.0:
        return f"displacement_factor is then {factor * per_unit:.3f} or more"
    return f"power_factor is then at most {1.0 / per_unit:.3f}"


def _range(entry: Entry) -> tuple[float, float] | None:
    """The voltages that the load is made for, [low, high]."""
    value = entry.values.get("input_voltage_v")
    if value is None:
        return None
    if not isinstance(value, list | tuple) or len(value) != 2:
        entry.fault("input_voltage_v is two voltages, such as [220, 240].", "input_voltage_v")
        return None
    pair = Entry({"low": value[0], "high": value[1]}, entry.path, [])
    low = pair.number("low", "V", least=MIN_VOLTS, most=MAX_VOLTS, required=True)
    high = pair.number("high", "V", least=MIN_VOLTS, most=MAX_VOLTS, required=True)
    if low is None or high is None or low > high:
        entry.fault(
            f"input_voltage_v is a low and a high voltage from {MIN_VOLTS:g} to {MAX_VOLTS:g} V, "
            "such as [220, 240].",
            "input_voltage_v",
        )
        return None
    return low, high
