"""The data files are read once, whole; the version tells one content from another."""

from __future__ import annotations

import dataclasses
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from evenboard.catalogue import Catalogue, CatalogueInvalid, load_catalogue
from evenboard.electrics.equipment import Basis, Breaker, FactorTable, FixtureType, RcdType
from support.small_catalogue import small_catalogue


def a_type(**changes: Any) -> FixtureType:
    values: dict[str, Any] = {
        "slug": "led-own-50",
        "name": "50 W LED of our own",
        "family": "led",
        "size_class": "small",
        "power_w": 50.0,
        "lamp_power_w": None,
        "power_factor": 0.9,
        "displacement_factor": 0.95,
        "displacement": "leading",
        "third_harmonic_pct": 10.0,
        "current_thd_pct": 33.8,
        "load_model": "constant-power",
        "inrush_multiple": 20.0,
        "inrush_ms": 0.5,
        "leakage_ma": 0.3,
        "input_ranges_v": ((100.0, 240.0),),
        "connection": "single",
        "also_known_as": (),
        "basis": Basis("estimate", "made for a test"),
    }
    return FixtureType(**(values | changes))


def test_a_fixture_has_what_its_class_gives_and_what_is_its_own(tmp_path: Path) -> None:
    catalogue = load_catalogue(small_catalogue(tmp_path))

    lamp = catalogue.fixtures["tungsten-open-face-2000"]

    assert (lamp.family, lamp.power_w, lamp.power_factor) == ("tungsten", 2000.0, 1.0)
    assert lamp.input_ranges_v == ((220.0, 240.0), (110.0, 120.0))
    assert lamp.also_known_as == ("2k", "filament")
    assert (lamp.basis.kind, lamp.basis.text) == ("estimate", "Entry. Class.")
    assert (lamp.size_class, lamp.connection) == ("medium", "single")


def test_the_distortion_follows_from_the_two_factors(tmp_path: Path) -> None:
    # IEEE 1459: PF = cos phi1 / sqrt(1 + THD^2); 0.97 / 0.95 leaves 20.6 %.
    panel = load_catalogue(small_catalogue(tmp_path)).fixtures["led-panel-100"]

    assert panel.current_thd_pct == 20.6


def test_an_entry_may_replace_any_figure_of_its_class(tmp_path: Path) -> None:
    change = ("power_w = 2000", "power_w = 2000\ninrush_ms = 400\nsize_class = 'large'")

    lamp = load_catalogue(small_catalogue(tmp_path, fixtures__tungsten=change)).fixtures[
        "tungsten-open-face-2000"
    ]

    assert (lamp.inrush_ms, lamp.size_class) == (400.0, "large")


def test_a_board_a_region_and_a_cable_are_read_as_they_stand(tmp_path: Path) -> None:
    catalogue = load_catalogue(small_catalogue(tmp_path))

    box, region, cable = (
        catalogue.boards["box"],
        catalogue.regions["au"],
        catalogue.cables["rubber"],
    )

    assert [outlet.id for outlet in box.outlets] == ["l1", "sub"]
    assert box.outlets[0].breaker == Breaker(16.0, "C")
    assert box.incomer_rcd == RcdType("main", 300.0, delayed=True)
    assert region.systems[0].lines == ("L1", "L2", "L3")
    assert [outlet.id for outlet in region.outlets] == ["flat-10", "flat-15", "round-32-5"]
    assert region.limits.voltage_drop_pct == 5.0
    assert region.bases["systems"].kind == "memory"
    assert isinstance(cable.tables[0].drum_layers, FactorTable)
    assert cable.tables[0].drum_layers.factors == (0.85, 0.65)


def test_a_catalogue_without_cables_can_be_used(tmp_path: Path) -> None:
    folder = small_catalogue(tmp_path)
    shutil.rmtree(folder / "cables")

    catalogue = load_catalogue(folder)

    assert dict(catalogue.cables) == {}
    assert catalogue.regions["au"].cable_tables == {"rubber": "table-a"}


def test_the_same_content_has_the_same_version_wherever_it_lies(tmp_path: Path) -> None:
    one = load_catalogue(small_catalogue(tmp_path / "one"))
    other = load_catalogue(small_catalogue(tmp_path / "other"))

    assert one.version == other.version
    assert re.fullmatch(r"1\.0\.0\+[0-9a-f]{12}", one.version)


@pytest.mark.parametrize(
    "change",
    [
        {"fixtures__led": ("power_w = 110", "power_w = 111")},
        {"boards__box": ("rating_a = 16,", "rating_a = 10,")},
        {"cables__rubber": ("two_loaded_a = 30", "two_loaded_a = 31")},
        {"regions__au": ("voltage_drop_pct = 5", "voltage_drop_pct = 4")},
        {"outlets__flat": ("10 A flat", "10 A flat three-pin")},
    ],
    ids=lambda change: next(iter(change)),
)
def test_any_other_figure_gives_another_version(
    tmp_path: Path, change: dict[str, tuple[str, str]]
) -> None:
    before = load_catalogue(small_catalogue(tmp_path / "before"))
    after = load_catalogue(small_catalogue(tmp_path / "after", **change))

    assert before.version != after.version


def test_further_types_are_added_and_change_the_version(catalogue: Catalogue) -> None:
    own = a_type()

    more = catalogue.with_fixtures([own])

    assert more.fixtures["led-own-50"] is own
    assert len(more.fixtures) == len(catalogue.fixtures) + 1
    assert more.version != catalogue.version
    assert more.version == catalogue.with_fixtures([own]).version
    assert more.version != catalogue.with_fixtures([a_type(power_w=51.0)]).version
    assert more.search.find("led of our own")[0].fixture is own


def test_the_catalogue_itself_is_left_as_it_was(catalogue: Catalogue) -> None:
    before = len(catalogue.fixtures)

    catalogue.with_fixtures([a_type()])

    assert len(catalogue.fixtures) == before
    assert "led-own-50" not in catalogue.fixtures
    assert catalogue.with_fixtures([]) is catalogue


def test_a_slug_that_is_taken_is_refused(catalogue: Catalogue) -> None:
    with pytest.raises(CatalogueInvalid, match=r"led-panel-100: slug is taken: use another"):
        catalogue.with_fixtures([a_type(slug="led-panel-100")])


def test_nobody_can_change_a_loaded_catalogue(catalogue: Catalogue) -> None:
    with pytest.raises(TypeError):
        catalogue.fixtures["x"] = a_type()  # type: ignore[index]
    with pytest.raises(dataclasses.FrozenInstanceError):
        catalogue.version = "2"  # type: ignore[misc]


# A 2 kW lamp takes 8.70 A at 230 V, 16.7 A at 120 V (2000/230, 2000/120); 9 kW in star at 230 V
# 13.0 A a line (9000/3/230); a hoist of 1.5 kW and power factor 0.78 in delta 2.79 A a line.
@pytest.mark.parametrize(
    ("slug", "voltage_v", "current_a", "apparent_va"),
    [
        ("tungsten-open-face-2000", 230.0, 8.696, 2000.0),
        ("tungsten-open-face-2000", 120.0, 16.667, 2000.0),
        ("tungsten-open-face-2000", 100.0, 20.0, 2000.0),
        ("discharge-par-1800-electronic-pfc", 230.0, 8.607, 1979.6),
        ("unit-base-fan-heater-9000-three-phase", 230.0, 13.043, 9000.0),
        ("rigging-chain-hoist-1500-three-phase", 230.0, 2.787, 1923.1),
        ("unit-base-kettle-2200", 120.0, None, None),
        ("discharge-par-4000-electronic-pfc", 120.0, None, None),
    ],
)
def test_what_a_type_draws_at_a_voltage(
    catalogue: Catalogue,
    slug: str,
    voltage_v: float,
    current_a: float | None,
    apparent_va: float | None,
) -> None:
    at = catalogue.at_voltage(catalogue.fixtures[slug], voltage_v)

    if current_a is None:
        assert at is None
        return
    assert at is not None
    # The expected figures are rounded to three decimals; a delta's voltage is 230 times root 3.
    assert at.current_a == pytest.approx(current_a, abs=6e-4)
    assert at.apparent_va == pytest.approx(apparent_va, rel=1e-4)


@pytest.mark.parametrize(
    ("voltage_v", "version"),
    [
        (230.0, (220.0, 240.0)),
        (243.0, (220.0, 240.0)),
        (253.0, (220.0, 240.0)),
        (120.0, (110.0, 120.0)),
        (124.0, (110.0, 120.0)),
        (104.0, (100.0, 100.0)),
        (95.0, (100.0, 100.0)),
        (208.0, None),
        (277.0, None),
        (400.0, None),
    ],
)
def test_a_measured_voltage_finds_its_version(
    catalogue: Catalogue, voltage_v: float, version: tuple[float, float] | None
) -> None:
    # AS 60038 216 to 253 V, ANSI C84.1 up to 127 V, Japan 101 V within 6 V (from memory).
    lamp = catalogue.fixtures["tungsten-open-face-2000"]

    assert catalogue.version_for(lamp, voltage_v) == version
