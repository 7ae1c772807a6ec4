"""Reading the folder of data files, once, with everything that is wrong in one answer."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

from evenboard.catalogue.cables import read_cable
from evenboard.catalogue.catalogue import Catalogue
from evenboard.catalogue.entry import Entry
from evenboard.catalogue.errors import CatalogueFault, CatalogueInvalid
from evenboard.catalogue.families import read_changes, read_families, read_sizes
from evenboard.catalogue.fixtures import read_fixtures
from evenboard.catalogue.outlets import check_accepts, read_board, read_outlet_standards
from evenboard.catalogue.regions import read_region
from evenboard.catalogue.search import SearchIndex
from evenboard.electrics.equipment import FixtureType, OutletStandard

__all__ = ["load_catalogue"]

Thing = TypeVar("Thing")


def load_catalogue(folder: Path) -> Catalogue:
    """Read every data file under a folder.

    Parameters
    ----------
    folder : Path
        Has ``catalogue.toml`` and the folders ``fixtures``, ``outlets``, ``regions``, ``boards``
        and ``cables``; the last may be empty.

    Returns
    -------
    Catalogue
        Everything read and held against itself.

    Raises
    ------
    CatalogueInvalid
        If anything is wrong, with every fault: file, entry and what would be right.
    """
    return _Reading(folder).catalogue()


class _Reading:
    """One pass over the folder; the faults gather here."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.faults: list[CatalogueFault] = []
        self.digest = hashlib.sha256()

    def catalogue(self) -> Catalogue:
        own = self._file(self.folder / "catalogue.toml")
        families = read_families(own)
        sizes = read_sizes(own)
        changes = read_changes(own)
        own.close()

        cables = self._one_each("cables", read_cable, lambda cable: cable.id)
        outlets: dict[str, OutletStandard] = {}
        file_of: dict[str, str] = {}
        for file in self._files("outlets"):
            for outlet in read_outlet_standards(file):
                self._put(outlets, outlet.id, outlet, file)
                file_of[outlet.id] = file.file
        for outlet in outlets.values():
            entry = Entry({}, file_of[outlet.id], f"outlet[{outlet.id}]", self.faults)
            check_accepts(entry, outlet, outlets)
        regions = self._one_each(
            "regions", lambda file: read_region(file, outlets, cables), lambda region: region.id
        )
        outlets_of: dict[str, list[str] | None] = {
            path.stem: None for path in (self.folder / "regions").glob("*.toml")
        }
        outlets_of.update({r.id: [outlet.id for outlet in r.outlets] for r in regions.values()})
        boards = self._one_each(
            "boards", lambda file: read_board(file, outlets_of, outlets), lambda board: board.id
        )
        fixtures: dict[str, FixtureType] = {}
        names = {family.id: family.name for family in families}
        for file in self._files("fixtures"):
            for fixture in read_fixtures(file, names, sizes):
                self._put(fixtures, fixture.slug, fixture, file)
        for folder, found in (("fixtures", fixtures), ("regions", regions)):
            if not found and not self.faults:
                self.faults.append(CatalogueFault(folder, "", "has no entry: add at least one"))
        if self.faults:
            raise CatalogueInvalid(self.faults)
        return Catalogue(
            version=f"{changes[0].version}+{self.digest.hexdigest()[:12]}",
            fixtures=MappingProxyType(fixtures),
            boards=boards,
            cables=cables,
            regions=regions,
            families=families,
            size_classes=sizes,
            changes=changes,
            search=SearchIndex(fixtures.values(), families),
        )

    def _one_each(
        self, name: str, read: Callable[[Entry], Thing | None], id_of: Callable[[Thing], str]
    ) -> Mapping[str, Thing]:
        """The things of a folder that has one of them in each file, named as the file is."""
        things: dict[str, Thing] = {}
        for file in self._files(name):
            thing = read(file)
            if thing is None:
                continue
            stem = file.file.rsplit("/", 1)[-1].removesuffix(".toml")
            if id_of(thing) != stem:
                file.fault(f"id {id_of(thing)!r} must be the file's name, {stem!r}")
            self._put(things, id_of(thing), thing, file)
        return MappingProxyType(things)

    def _put(self, things: dict[str, Thing], name: str, thing: Thing, file: Entry) -> None:
        if name in things:
            self.faults.append(
                CatalogueFault(
                    file.file, name, f"{name!r} is taken by an earlier entry: rename one"
                )
            )
        things[name] = thing

    def _files(self, name: str) -> list[Entry]:
        folder = self.folder / name
        return [self._file(path) for path in sorted(folder.glob("*.toml"))]

    def _file(self, path: Path) -> Entry:
        """A file as an entry; what cannot be read is a fault and an empty table."""
        place = path.relative_to(self.folder).as_posix()
        try:
            content = path.read_bytes()
            self.digest.update(place.encode() + b"\0" + content + b"\0")
            return Entry(tomllib.loads(content.decode("utf-8")), place, "", self.faults)
        except OSError as error:
            detail = f"cannot be read: {error.strerror}"
        except UnicodeDecodeError as error:
            detail = f"must be UTF-8, byte {error.start} is not"
        except tomllib.TOMLDecodeError as error:
            detail = f"is not TOML: {error}"
        self.faults.append(CatalogueFault(place, "", detail))
        return Entry({}, place, "", [])
