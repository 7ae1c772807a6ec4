"""From the desk's entry to a fixture type: defaults filled in, contradictions told."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from evenboard.catalogue import Catalogue
from evenboard.catalogue.fixtures import implied_thd_pct
from evenboard.electrics.equipment import Basis, FixtureType
from evenboard.intake import Fault
from evenboard.intake.nearest import nearest, quoted

__all__ = ["contradictions", "own_fixture"]

LAMP_SHARE = 1.25
"""How much more than the plug's power a lamp's own may be said to be: plates name the lamp that
goes in, and a driver may run it below that; estimate."""

THD_TOLERANCE_PCT = 2.0
"""How far a stated distortion may stand from what the power factors imply: plates are rounded."""


def own_fixture(body: Mapping[str, Any], slug: str, catalogue: Catalogue) -> FixtureType:
    """The fixture type of a body without faults, its defaults filled in."""
    given = _given(body)
    power_factor = given["power_factor"]
    displacement_factor = given.get("displacement_factor", power_factor)
    connection = given.get("connection", "single")
    lines = 1 if connection == "single" else 3
    power_w = given["power_w"]
    ranges = given.get("input_ranges_v") or [given["input_voltage_v"]]
    return FixtureType(
        slug=slug,
        name=given["name"],
        family=given["family"],
        size_class=given.get("size_class") or catalogue.size_classes.of(power_w / lines),
        power_w=power_w,
        lamp_power_w=given.get("lamp_power_w"),
        power_factor=power_factor,
        displacement_factor=displacement_factor,
        displacement=given.get("displacement")
        or ("none" if displacement_factor == 1.0 else "lagging"),
        third_harmonic_pct=given.get("third_harmonic_pct", 0.0),
        current_thd_pct=round(implied_thd_pct(power_factor, displacement_factor), 1),
        load_model=given.get("load_model", "constant-power"),
        inrush_multiple=given.get("inrush_multiple", 1.0),
        inrush_ms=given.get("inrush_ms", 10.0),
        leakage_ma=given.get("leakage_ma", 0.0),
        input_ranges_v=tuple((low, high) for low, high in ranges),
        connection=connection,
        also_known_as=tuple(given.get("also_known_as", ())),
        basis=Basis(**given["basis"]),
        smooth_dc_leakage=given.get("smooth_dc_leakage", False),
    )


def contradictions(body: Mapping[str, Any], catalogue: Catalogue) -> list[Fault]:
    """Faults of meaning in the fields of a body whose shape is sound; others may be missing."""
    given = _given(body)
    faults = []
    families = {family.id for family in catalogue.families}
    if "family" in given and given["family"] not in families:
        close = nearest(given["family"], families, 1) or sorted(families)
        detail = f"There is no family {quoted(given['family'])}. Nearest: {close[0]}."
        faults.append(Fault("/family", detail))
    faults += _lamp_faults(given)
    if "power_factor" in given:
        faults += _factor_faults(given)
    return faults + _range_faults(given)


def _lamp_faults(given: Mapping[str, Any]) -> list[Fault]:
    lamp_w, power_w = given.get("lamp_power_w"), given.get("power_w")
    if lamp_w is None or power_w is None or lamp_w <= LAMP_SHARE * power_w:
        return []
    return [
        Fault(
            "/lamp_power_w",
            f"{lamp_w:g} W is more than the plug gives: power_w is {power_w:g} W with all losses, "
            f"so at most {LAMP_SHARE * power_w:g} W, or correct power_w.",
        )
    ]


def _given(body: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in body.items() if value is not None}


def _factor_faults(given: Mapping[str, Any]) -> list[Fault]:
    power_factor = given["power_factor"]
    displacement_factor = given.get("displacement_factor", power_factor)
    faults = _displacement_faults(given, power_factor, displacement_factor)
    if given.get("load_model") == "tungsten" and power_factor < 1.0:
        detail = (
            f"{power_factor:g}, but a filament is a plain resistance: 1, or another load_model."
        )
        faults.append(Fault("/power_factor", detail))
    return faults + _distortion_faults(given, implied_thd_pct(power_factor, displacement_factor))


def _displacement_faults(
    given: Mapping[str, Any], power_factor: float, displacement_factor: float
) -> list[Fault]:
    faults = []
    if power_factor > displacement_factor:
        faults.append(
            Fault(
                "/power_factor",
                f"{power_factor:g} is above the displacement_factor, {displacement_factor:g}: "
                "distortion only lowers it.",
            )
        )
    said = given.get("displacement")
    if said is not None and (said == "none") != (displacement_factor == 1.0):
        faults.append(
            Fault(
                "/displacement",
                f"{quoted(said)} contradicts the displacement_factor, {displacement_factor:g}: "
                '"none" goes with 1, "lagging" or "leading" with less.',
            )
        )
    return faults


def _distortion_faults(given: Mapping[str, Any], thd_pct: float) -> list[Fault]:
    faults = []
    third_pct = given.get("third_harmonic_pct", 0.0)
    if third_pct > thd_pct + 0.05:
        faults.append(
            Fault(
                "/third_harmonic_pct",
                f"{third_pct:g} is more than the distortion that the power factors leave, "
                f"{thd_pct:.1f} %: a distorting load has a power_factor below its "
                "displacement_factor.",
            )
        )
    stated = given.get("current_thd_pct")
    if stated is not None and abs(stated - thd_pct) > THD_TOLERANCE_PCT:
        faults.append(
            Fault(
                "/current_thd_pct",
                f"{stated:g} contradicts the power factors, which give {thd_pct:.1f} %. Leave it "
                "out, or correct one of the three.",
            )
        )
    return faults


def _range_faults(given: Mapping[str, Any]) -> list[Fault]:
    if "input_ranges_v" in given:
        listed, place = given["input_ranges_v"], "/input_ranges_v/{}"
    elif "input_voltage_v" in given:
        listed, place = [given["input_voltage_v"]], "/input_voltage_v"
    else:
        wanted = "This field is missing: the lowest and highest voltage it is made for."
        return [Fault("/input_voltage_v", wanted)]
    return [
        Fault(place.format(index), f"{low:g} is above {high:g}: lowest first, then highest.")
        for index, (low, high) in enumerate(listed)
        if low > high
    ]
