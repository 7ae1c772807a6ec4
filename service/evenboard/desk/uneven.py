"""How unevenly a cable ran: core spread times hours, and when that is enough to deform it.

A cable whose cores run at different temperatures pulls itself out of shape over weeks. What a
layout says of one day is the spread between its cores in each set-up (kelvin) times the hours of
that set-up; a cable's history is the sum over its orders. Which of the cores was the hot one is
not followed: two orders that heated different ones evened the cable out, and are added all the
same. So the sum is the worst case, and a reason to look at a cable, not a measurement of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from evenboard.balance.summary import SHOOTING_DAY_H
from evenboard.electrics.solution import Solution
from evenboard.findings import View
from evenboard.store.tags import Days

__all__ = ["ASSUMED", "DEFORMS_BASIS", "DEFORMS_KH", "Day", "Ran", "days_of", "ran", "ran_each"]

DEFORMS_K = 10.0
"""Between the cores, from where a layout's own finding speaks: ``Limits.core_spread_k``. [K]"""
DEFORMS_DAYS = 25
"""Five weeks of shooting: from 10 K through 250 h on, 2500 K h, a cable deforms (estimate). [d]"""
DEFORMS_KH = DEFORMS_K * SHOOTING_DAY_H * DEFORMS_DAYS
"""From here on a cable is likely to deform: 10 K through 250 hours; estimate. [K h]"""
DEFORMS_BASIS = (
    f"Estimate: {DEFORMS_K:g} K between the cores, from where a layout's own finding speaks, for a "
    f"shooting day of {SHOOTING_DAY_H:g} h on {DEFORMS_DAYS} days, which is five weeks."
)
ASSUMED = (
    "Hours are those of the set-ups; where none are said, the worst set-up for "
    f"{SHOOTING_DAY_H:g} h a day. Days are the order's; where it has none, those that the piece "
    "was out; else one. Which core was the hot one is not followed, so this is the worst case."
)


@dataclass(frozen=True, slots=True)
class Day:
    """A cable in a layout on one day.

    ``spread_k`` is the widest spread of a set-up, ``setup``. ``hours_said`` tells whether the
    layout says how long its set-ups burn; else its worst one is taken for a shooting day.
    """

    tag: str
    board: str
    setup: str
    spread_k: float
    hours_h: float
    hours_said: bool
    spread_kh: float


@dataclass(frozen=True, slots=True)
class Ran:
    """A cable on an order: one day of it times the days, and where these are from."""

    day: Day
    days: int
    days_from: str

    @property
    def spread_kh(self) -> float:
        """Core spread times hours, over all days. [K h]"""
        return self.day.spread_kh * self.days

    @property
    def document(self) -> Mapping[str, Any]:
        """What went into the sum, to be kept beside it."""
        day = self.day
        return {
            "board": day.board,
            "setup": day.setup,
            "core_spread_k": round(day.spread_k, 3),
            "hours_per_day_h": day.hours_h,
            "hours_from": "set-ups" if day.hours_said else "assumed",
            "spread_kh_per_day": round(day.spread_kh, 3),
            "days": self.days,
            "days_from": self.days_from,
        }


def ran(solution: Solution) -> list[Day]:
    """What one day of a layout does to each of its tagged feeders; of a tag named twice, the worse.

    A feeder whose cores' temperatures are not known is left out.
    """
    view = View(solution)
    layout = solution.layout
    said = layout.setup_hours_h
    found: dict[str, Day] = {}
    for figures in view.feeders:
        tag, spread = figures.run.tag, figures.core_spread_k
        if tag is None or spread is None or figures.board is None:
            continue
        kelvin = np.where(view.solved & np.isfinite(spread), spread, 0.0)
        worst = int(np.argmax(kelvin))
        hours = np.array(said) if said else np.zeros(len(kelvin))
        if not said:
            hours[worst] = SHOOTING_DAY_H
        day = Day(
            tag=tag,
            board=layout.boards[figures.board].id,
            setup=layout.setups[worst],
            spread_k=float(kelvin[worst]),
            hours_h=float(hours.sum()),
            hours_said=bool(said),
            spread_kh=float(kelvin @ hours),
        )
        if tag not in found or found[tag].spread_kh < day.spread_kh:
            found[tag] = day
    return list(found.values())


def days_of(order: Days | None, out: tuple[date, date] | None = None) -> tuple[int, str]:
    """How many days a cable ran, and by whose word.

    The order's own days where both ends are known; else the days it was out, ``out``; else one.
    """
    starts, ends = order or (None, None)
    if starts is not None and ends is not None and starts <= ends:
        return (ends - starts).days + 1, "order"
    if out is not None:
        return max(1, (out[1] - out[0]).days), "out"
    return 1, "assumed"


def ran_each(
    solution: Solution, order: Days | None, out: tuple[date, date] | None = None
) -> list[Ran]:
    """Each tagged feeder of a layout over the days of an order."""
    days, days_from = days_of(order, out)
    return [Ran(day, days, days_from) for day in ran(solution)]
