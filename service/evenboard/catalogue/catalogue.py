"""The catalogue: every type that is known, by its name, with one version for all of it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from evenboard.catalogue.errors import CatalogueFault, CatalogueInvalid
from evenboard.catalogue.families import Change, Family, SizeClasses
from evenboard.catalogue.search import SearchIndex, branch_voltage_v
from evenboard.electrics.equipment import BoardType, CableType, FixtureType, Region
from evenboard.electrics.load import plug_current_a, version_for

__all__ = ["AtVoltage", "Catalogue"]


@dataclass(frozen=True, slots=True)
class AtVoltage:
    """What a fixture draws at a voltage: current per line and apparent power over all lines."""

    voltage_v: float
    current_a: float
    apparent_va: float


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Fixtures, boards, cables and regions by id. Made once, never changed.

    ``version`` is the version in the data with a short hash of the content behind it: it differs
    whenever any figure differs. ``families`` stand in the order of the lists, ``changes`` newest
    first.
    """

    version: str
    fixtures: Mapping[str, FixtureType]
    boards: Mapping[str, BoardType]
    cables: Mapping[str, CableType]
    regions: Mapping[str, Region]
    families: tuple[Family, ...]
    size_classes: SizeClasses
    changes: tuple[Change, ...]
    search: SearchIndex

    def with_fixtures(self, extra: Iterable[FixtureType]) -> Catalogue:
        """This catalogue with further fixture types, for a house that has its own.

        Raises
        ------
        CatalogueInvalid
            If a slug is taken already.
        """
        added = tuple(extra)
        if not added:
            return self
        fixtures = dict(self.fixtures)
        faults = []
        for fixture in added:
            if fixture.slug in fixtures:
                faults.append(
                    CatalogueFault("further fixtures", fixture.slug, "slug is taken: use another")
                )
            fixtures[fixture.slug] = fixture
        if faults:
            raise CatalogueInvalid(faults)
        digest = hashlib.sha256(repr((self.version, added)).encode()).hexdigest()[:8]
        return replace(
            self,
            version=f"{self.version}.{digest}",
            fixtures=MappingProxyType(fixtures),
            search=SearchIndex(fixtures.values(), self.families),
        )

    def version_for(self, fixture: FixtureType, voltage_v: float) -> tuple[float, float] | None:
        """The voltage version of a fixture that is meant for a voltage across a branch, or None."""
        return version_for(fixture, voltage_v)

    def at_voltage(self, fixture: FixtureType, voltage_v: float) -> AtVoltage | None:
        """What a fixture draws on lines of a line-to-neutral voltage, or None if not made for it.

        A three-phase type without neutral gets the root of three of ``voltage_v`` across a branch.
        """
        branch_v = branch_voltage_v(fixture, voltage_v)
        if version_for(fixture, branch_v) is None:
            return None
        current_a = plug_current_a(fixture, branch_v)
        lines = 1 if fixture.connection == "single" else 3
        return AtVoltage(voltage_v, current_a, lines * voltage_v * current_a)
