"""The supply in words: what it is, what is behind it, and the colours of its conductors."""

from __future__ import annotations

from evenboard.reports.figures import listed, ohms, trimmed
from evenboard.reports.given import Given, Json
from evenboard.reports.model import Fact
from evenboard.reports.words import KINDS, SYSTEMS

__all__ = ["supply_facts"]


def supply_facts(given: Given) -> tuple[Fact, ...]:
    """The facts of the supply, those that are there."""
    resolved = given.resolved
    supply = resolved["supply"]
    facts = [
        Fact("Supply", f"{KINDS[supply['kind']]}, {SYSTEMS[supply['system']]}"),
        Fact("Rating", f"{trimmed(supply['rating_a'])} A on each of {listed(supply['lines'])}"),
        Fact("Voltage", _voltage(supply)),
    ]
    if supply["generator"] is not None:
        facts.append(Fact("Generator", _generator(supply["generator"])))
    loop = supply["loop_impedance_ohm"]
    facts.append(Fact("Loop impedance", "not given" if loop is None else ohms(loop)))
    given_word = "" if resolved["ambient_given"] else ", usual there"
    facts.append(Fact("Hottest air", f"{trimmed(resolved['ambient_c'])} °C{given_word}"))
    facts.append(Fact("Region", resolved["region"]["name"]))
    colours = next((c for c in resolved["region"]["colours"] if c["in_force"]), None)
    if colours is not None:
        shown = [
            f"{conductor} {colour}"
            for conductor, colour in colours["colours"].items()
            if conductor in supply["lines"] or conductor == "N"
        ]
        facts.append(Fact("Colours", f"{', '.join(shown)} ({colours['code']}); go by the letters"))
    boards, loads = len(given.boards), len(given.loads)
    counts = [_counted(boards, "board"), _counted(loads, "load")]
    if len(given.setups) > 1:
        counts.append(_counted(len(given.setups), "set-up"))
    facts.append(Fact("Checked", listed(counts)))
    return tuple(facts)


def _counted(amount: int, noun: str) -> str:
    return f"{amount} {noun}{'' if amount == 1 else 's'}"


def _voltage(supply: Json) -> str:
    volts = trimmed(supply["voltage_v"])
    if supply["line_line_v"] is not None:
        volts += f"/{trimmed(supply['line_line_v'], 0)}"
    words = f"{volts} V, {trimmed(supply['frequency_hz'])} Hz"
    return words if supply["neutral"] else f"{words}, no neutral"


def _generator(generator: Json) -> str:
    kva, factor = trimmed(generator["rating_kva"]), trimmed(generator["rated_power_factor"])
    return f"{kva} kVA at power factor {factor}"
