"""Figures as the paper prints them: rounded for a reader, with a true minus, a dash for none."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime

__all__ = [
    "NONE",
    "amps",
    "day",
    "figure",
    "kilo",
    "listed",
    "metres",
    "moment",
    "ohms",
    "percent",
    "span",
    "trimmed",
    "volts",
    "watts",
]

NONE = "–"
"""What stands where there is no figure."""
MINUS = "−"
MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def figure(value: float | None, decimals: int = 0) -> str:
    """A bare figure: ``57.7``, ``−0.6``; a dash where there is none."""
    if value is None:
        return NONE
    # Adding 0.0 turns the -0.0 that rounding leaves of a tiny negative into 0.0.
    return f"{round(value, decimals) + 0.0:.{decimals}f}".replace("-", MINUS)


def trimmed(value: float | None, decimals: int = 2) -> str:
    """A figure without idle zeros: ``16``, ``2.5``."""
    text = figure(value, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _with(value: float | None, decimals: int, unit: str) -> str:
    return NONE if value is None else f"{figure(value, decimals)} {unit}"


def amps(value: float | None) -> str:
    """Amps as a clamp meter shows them."""
    return _with(value, 1, "A")


def volts(value: float | None) -> str:
    """Volts to the volt."""
    return _with(value, 0, "V")


def percent(value: float | None, decimals: int = 0) -> str:
    """A percentage."""
    return _with(value, decimals, "%")


def ohms(value: float | None) -> str:
    """Ohms to the hundredth."""
    return _with(value, 2, "Ω")


def metres(value: float) -> str:
    """A length."""
    return f"{trimmed(value, 1)} m"


def watts(value: float) -> str:
    """Watts, in thousands from ten thousand upward."""
    return f"{trimmed(value / 1e3, 1)} kW" if abs(value) >= 1e4 else f"{trimmed(value, 0)} W"


def kilo(value: float | None, unit: str) -> str:
    """Thousands of a unit, to the tenth: ``13.3 kW``."""
    return NONE if value is None else f"{figure(value / 1e3, 1)} k{unit}"


def listed(names: Iterable[str], most: int = 6) -> str:
    """``a, b and c``; beyond ``most``, ``a, b and 5 more``."""
    words = list(names)
    if len(words) > most:
        return f"{', '.join(words[: most - 1])} and {len(words) - most + 1} more"
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def day(value: date) -> str:
    """A date that no reader can turn round: the month in letters."""
    return f"{value.day} {MONTHS[value.month - 1]} {value.year}"


def span(first: str | None, last: str | None) -> str:
    """A span of ISO dates; empty where none is given."""
    days = [day(date.fromisoformat(text)) for text in (first, last) if text]
    if len(days) == 2 and days[0] != days[1]:
        return f"{days[0]} to {days[1]}"
    return days[0] if days else ""


def moment(text: str) -> str:
    """An ISO moment, said in UTC; what is none is given back as it is."""
    try:
        when = datetime.fromisoformat(text)
    except ValueError:
        return text
    if when.tzinfo is None:
        return f"{day(when.date())}, {when:%H:%M}"
    when = when.astimezone(UTC)
    return f"{day(when.date())}, {when:%H:%M} UTC"
