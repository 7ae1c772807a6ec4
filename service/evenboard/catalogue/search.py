"""Finding a fixture by what a crew types: words with slips, watts, amps, family and size."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from rapidfuzz import fuzz

from evenboard.catalogue.families import Family
from evenboard.electrics.equipment import FixtureType

__all__ = ["Hit", "SearchIndex"]


@dataclass(frozen=True, slots=True)
class Hit:
    """A fixture found; ``version_v`` is its range at the voltage asked for, None if it has none."""

    fixture: FixtureType
    score: float
    version_v: tuple[float, float] | None


class SearchIndex:
    """All fixtures, ready to be searched."""

    def __init__(self, fixtures: Iterable[FixtureType], families: Iterable[Family]) -> None:
        order = {family.id: index for index, family in enumerate(families)}
        self._fixtures = sorted(
            fixtures, key=lambda f: (order.get(f.family, len(order)), f.power_w, f.slug)
        )

    @staticmethod
    def version_for(fixture: FixtureType, voltage_v: float) -> tuple[float, float] | None:
        """The range of a fixture in which a branch voltage lies, or None."""
        return next((r for r in fixture.input_ranges_v if r[0] <= voltage_v <= r[1]), None)

    @staticmethod
    def branch_voltage_v(fixture: FixtureType, voltage_v: float) -> float:
        """The voltage across a branch on lines of a line-to-neutral voltage. [V]"""
        return voltage_v * math.sqrt(3.0) if fixture.connection == "delta" else voltage_v

    @staticmethod
    def current_a(fixture: FixtureType, voltage_v: float) -> float:
        """The RMS current per line on lines of a line-to-neutral voltage. [A]"""
        lines = 1 if fixture.connection == "single" else 3
        return fixture.power_w / (lines * voltage_v * fixture.power_factor)

    def find(
        self,
        q: str = "",
        family: str | None = None,
        size_class: str | None = None,
        min_power_w: float | None = None,
        max_power_w: float | None = None,
        max_current_a: float | None = None,
        voltage_v: float = 230.0,
    ) -> list[Hit]:
        """The fixtures that fit, best first, in an order that is always the same."""
        hits = []
        for fixture in self._fixtures:
            version = self.version_for(fixture, self.branch_voltage_v(fixture, voltage_v))
            if (
                (family is not None and fixture.family != family)
                or (size_class is not None and fixture.size_class != size_class)
                or (min_power_w is not None and fixture.power_w < min_power_w)
                or (max_power_w is not None and fixture.power_w > max_power_w)
                or (
                    max_current_a is not None
                    and (version is None or self.current_a(fixture, voltage_v) > max_current_a)
                )
            ):
                continue
            words = " ".join((fixture.name, *fixture.also_known_as, fixture.slug))
            score = fuzz.token_set_ratio(q.lower(), words.lower()) / 100.0 if q.strip() else 1.0
            if score > 0.5:
                hits.append(Hit(fixture, score, version))
        hits.sort(key=lambda hit: (hit.version_v is None, -hit.score))
        return hits
