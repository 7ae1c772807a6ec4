"""Whatever is wrong in a data file is named with its file, its entry and what would be right."""

from __future__ import annotations

from pathlib import Path

import pytest

from evenboard.catalogue import CatalogueFault, CatalogueInvalid, load_catalogue
from support.small_catalogue import FILES, small_catalogue


def faults_of(folder: Path) -> tuple[CatalogueFault, ...]:
    with pytest.raises(CatalogueInvalid) as caught:
        load_catalogue(folder)
    return caught.value.faults


LED, TUNGSTEN = "fixtures__led", "fixtures__tungsten"
OUTLETS, REGION, BOARD = "outlets__flat", "regions__au", "boards__box"
CABLE, OWN = "cables__rubber", "catalogue"
RCD = '{ id = "r1", rated_residual_ma = 30 }'
STAR = '{ system = "three-phase", line_to_neutral_v = 230, line_to_line_v = 400 }'
BASIS = '{ kind = "memory", text = "made for a test" }'

# (file, what is spoilt, how, entry named, what the fault says)
CASES = [
    # values of every kind
    (LED, "power_w = 110\n", "", "led-panel-100", "power_w is missing"),
    (LED, "power_w = 110", "power_w = -5", "led-panel-100", "-5 must be greater than 0"),
    (LED, "power_w = 110", "power_w = 0", "led-panel-100", "0 must be greater than 0"),
    (LED, "power_w = 110", 'power_w = "110"', "led-panel-100", "must be a number, not '110'"),
    (LED, "power_w = 110", "power_w = true", "led-panel-100", "must be a number, not True"),
    (LED, "power_w = 110", "power_w = nan", "led-panel-100", "must be a number, not nan"),
    (LED, "power_w = 110", "power_w = inf", "led-panel-100", "must be a number, not inf"),
    (LED, "power_w = 110", "power_w = 9e9", "led-panel-100", "must be at most 500000"),
    (LED, "leakage_ma = 0.5", "leakage_ma = -1", "led-panel-100", "-1 must be at least 0"),
    (LED, "inrush_multiple = 35", "inrush_multiple = 0.5", "led-panel-100", "must be at least 1"),
    (LED, '"100 W LED panel"', '"  "', "led-panel-100", "name must be a text"),
    (LED, '"100 W LED panel"', "7", "led-panel-100", "name must be a text, not 7"),
    (LED, "power_w = 110", "power_w = 110\npower_W = 3", "led-panel-100", "not a field here"),
    (LED, "power_w = 110", "power_w = 110\nsmooth_dc_leakage = 1", "led", "true or false"),
    (LED, "[[100, 240]]", "[100, 240]", "led-panel-100", "must be [low, high], not 100"),
    (LED, "[[100, 240]]", "[]", "led-panel-100", "must be a list of [low, high]"),
    (LED, "[[100, 240]]", "[[240, 100]]", "led-panel-100", "so [100, 240]"),
    (LED, "[[100, 240]]", "[[100, 130], [120, 240]]", "led-panel-100", "overlap at 120"),
    (TUNGSTEN, '["2k"]', '["2k", "2k"]', "2000", "also_known_as repeats ['2k']"),
    (TUNGSTEN, '["2k"]', '"2k"', "2000", "must be a list of texts"),
    # words from a list
    (LED, '"constant-power"', '"constant-pover"', "led-panel-100", "use one of constant-current"),
    (LED, '"leading"', '"leeding"', "led-panel-100", "use one of lagging, leading, none"),
    (LED, 'kind = "estimate"', 'kind = "guess"', "led-panel-100] basis", "estimate"),
    (LED, 'slug = "led-panel-100"', 'slug = "led_panel"', "led_panel", "single hyphens"),
    (LED, 'slug = "led-panel-100"', 'slug = "panel-100"', "panel-100", "begin with its family"),
    (LED, "power_w = 110", 'power_w = 110\nsize_class = "huge"', "led", "large, medium"),
    (LED, "power_w = 110", 'power_w = 110\nconnection = "line-to-line"', "led", "star or delta"),
    # figures that contradict each other
    (LED, "power_factor = 0.95", "power_factor = 0.98", "led", "greater than displacement"),
    (LED, "third_harmonic_pct = 12", "third_harmonic_pct = 30", "led", "leave, 20.6 %"),
    (LED, '"leading"', '"none"', "led-panel-100", "contradicts displacement_factor 0.97"),
    (TUNGSTEN, '"none"', '"lagging"', "2000", '"none" goes with 1'),
    (LED, "power_w = 110", "current_thd_pct = 40\npower_w = 110", "led", "which give 20.6 %"),
    (LED, "lamp_power_w = 100", "lamp_power_w = 110", "led-panel-100", "leave it out"),
    # where a figure comes from
    (LED, "basis = {", "bases = {", "led-panel-100", "basis is missing"),
    (LED, 'text = "made for a test"', 'text = ""', "basis", "text must be a text"),
    (LED, "basis = {", 'basis = "memory"\nx = {', "led-panel-100", "basis must be a table"),
    # classes and families
    (TUNGSTEN, 'class = "lamp"', 'class = "lump"', "2000", "class 'lump' is unknown, use one of"),
    (TUNGSTEN, 'family = "tungsten"', 'family = "led"', "", "must be the file's name, 'tungsten'"),
    (TUNGSTEN, 'family = "tungsten"', 'family = "wolfram"', "", "use one of led, tungsten"),
    (LED, 'family = "led"', 'family = "led"\nclass = 3', "", "class must be a table of tables"),
    (LED, "[[fixture]]", "[fixture]", "", "fixture must be a list of tables"),
    # the catalogue's own file
    (OWN, 'version = "1.0.0"\n', 'version = "1.0.1"\n', "", "must be that of the first change"),
    (OWN, "changes = [{", "changes = []\nother = [{", "", "changes must list at least one"),
    (OWN, "medium_from_w = 1200", "medium_from_w = 4000", "size_classes", "less than large_from_w"),
    (OWN, '{ id = "led", name', '{ id = "tungsten", name', "tungsten", "listed twice"),
    # outlets
    (OUTLETS, "lines = 1\n", "lines = 4\n", "flat-10", "must be at most 3"),
    (OUTLETS, "lines = 1\n", "lines = 1.5\n", "flat-10", "must be a whole number"),
    (OUTLETS, "neutral = true", "neutral = false", "flat-10", "one line must have a neutral"),
    (OUTLETS, '["flat-10", "flat-15"]', '["flat-10"]', "flat-15", "hold the outlet's own plug"),
    (OUTLETS, '["flat-10"]', '["flat-10", "flat-15"]', "flat-10", "its own rating or more"),
    (OUTLETS, '["flat-10"]', '["flat-10", "flet-15"]', "flat-10", "'flet-15' is unknown"),
    (OUTLETS, '["round-32-5"]', '["round-32-5", "flat-10"]', "round-32-5", "has 1 line(s), not 3"),
    (OUTLETS, 'id = "flat-15"', 'id = "flat-10"', "flat-10", "taken by an earlier entry"),
    # regions
    (REGION, "line_to_line_v = 400", "line_to_line_v = 380", "three-phase", "supply has 398"),
    (REGION, ", line_to_line_v = 400", "", "three-phase", "line_to_line_v is missing"),
    (REGION, '"single-phase",', '"single-phase", line_to_line_v = 400,', "single", "one line"),
    (REGION, 'system = "single-phase"', 'system = "two-phase"', "two-phase", "single-phase"),
    (REGION, "systems = [\n", f"systems = [\n{STAR},\n", "", "systems must each be listed once"),
    (REGION, 'L1 = "brown"', 'L4 = "brown"', "a code", "'L4' is unknown"),
    (REGION, ', PE = "green-yellow"', "", "a code", "must give the colour of PE"),
    (REGION, "in_force = true", "in_force = false", "", "code that is in force"),
    (REGION, '"flat-15", "round', '"flat-16", "round', "", "outlets 'flat-16' is unknown"),
    (REGION, "drop_pct = 5", "drop = 5", "limits", "did you mean voltage_drop_pct?"),
    (REGION, "voltage_drop_pct = 5", "voltage_drop_pct = 0", "limits", "must be greater than 0"),
    (REGION, "drop_pct = 5", "drop_pct = 5\nspread_pct = 60", "limits", "must rise"),
    (REGION, "drop_pct = 5", "drop_pct = 5\nspread_pct = 30", "bases", "where spread_pct comes"),
    (REGION, f"systems = {BASIS}\n", "", "bases", "must say where systems comes from"),
    (REGION, "frequency_hz = { kind", "frequency = { kind", "bases", "'frequency' is unknown"),
    (REGION, '["phase-loading"]', '["Phase loading"]', "", "code of a finding"),
    (REGION, 'rubber = "table-a"', 'rubber = "table-b"', "", "'table-b' is unknown, use one of"),
    (REGION, 'rubber = "table-a"', 'ruber = "table-a"', "", "'ruber' is unknown, use one of"),
    (REGION, "loop_voltage_factor = 1.0", "loop_voltage_factor = 2.0", "", "must be at most 1.1"),
    (REGION, "frequency_hz = [50]", "frequency_hz = 50", "", "must be a list of numbers"),
    (REGION, 'id = "au"', 'id = "nz"', "", "id 'nz' must be the file's name, 'au'"),
    # boards
    (BOARD, 'regions = ["au"]', 'regions = ["uk"]', "", "regions 'uk' is unknown, use one of au"),
    (BOARD, 'regions = ["au"]', "regions = []", "", "regions must have at least one text"),
    (BOARD, 'inlet = "round-32-5"', 'inlet = "round-33-5"', "", "inlet 'round-33-5' is unknown"),
    (BOARD, "inlet_rating_a = 32", "inlet_rating_a = 40", "", "at most that of the inlet round"),
    (BOARD, "inlet_rating_a = 32", "inlet_rating_a = 20", "sub", "at most the inlet's, 20"),
    (BOARD, 'lines = ["L1"]', 'lines = ["L4"]', "l1", "'L4' is unknown, use one of L1, L2, L3"),
    (BOARD, 'system = "three-phase"', 'system = "three-wire"', "sub", "use one of L1, L2"),
    (BOARD, 'rcd = "r1"', 'rcd = "r2"', "l1", "rcd 'r2' is unknown, use one of r1"),
    (BOARD, 'rcd = "r1"\n', "", "", "rcd 'r1' covers no outlet"),
    (BOARD, f"[{RCD}]", f"[{RCD}, {RCD}]", "", "rcds must have different ids"),
    (BOARD, 'connector = "flat-15"', 'connector = "other-16"', "l1", "not in use in region au"),
    (BOARD, 'connector = "flat-15"', 'connector = "flat-16"', "l1", "'flat-16' is unknown"),
    (BOARD, 'connector = "flat-15"', 'connector = "flat-10"', "l1", "at most that of flat-10, 10"),
    (BOARD, 'connector = "flat-15"', 'connector = "round-32-5"', "l1", "has 3 line(s)"),
    (BOARD, 'curve = "C" }\nrcd', 'curve = "E" }\nrcd', "l1] breaker", "use one of B, C, D"),
    (BOARD, 'row = "bottom"', 'row = "floor"', "l1", "use one of bottom, middle, top"),
    (BOARD, 'id = "sub"', 'id = "l1"', "l1", "outlet 'l1' is there twice"),
    (BOARD, "delayed = true", "delayed = 1", "incomer_rcd", "true or false"),
    (BOARD, 'id = "box"', 'id = "bax"', "", "id 'bax' must be the file's name, 'box'"),
    # cables
    (CABLE, '"multicore"', '"ribbon"', "", "use one of multicore, single-core"),
    (CABLE, "csa_mm2 = 6,", "csa_mm2 = 4,", "table-a", "sizes must rise"),
    (CABLE, "three_loaded_a = 34", "three_loaded_a = 20", "table-a", "must not fall with size"),
    (CABLE, ", two_loaded_a = 39, three_loaded_a = 34", "", "6", "three_loaded_a or both"),
    (CABLE, "factors = [1.0, 0.82]", "factors = [1.0]", "ambient", "must be as many: 2 and 1"),
    (CABLE, "arguments = [30, 40]", "arguments = [40, 30]", "ambient", "arguments must rise"),
    (CABLE, "factors = [0.85, 0.65]", "factors = [0.65, 0.85]", "drum_layers", "must not rise"),
    (CABLE, "[tables.drum_layers]", "[tables.drum_layer]", "table-a", "drum_layers is missing"),
    (CABLE, "rated_temperature_c = 60", "rated_temperature_c = 600", "", "must be at most 300"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("file", "old", "new", "entry", "says"), CASES, ids=lambda value: str(value)[:40]
)
def test_a_fault_is_named_with_its_place_and_what_would_be_right(
    tmp_path: Path, file: str, old: str, new: str, entry: str, says: str
) -> None:
    folder = small_catalogue(tmp_path, **{file: (old, new)})

    faults = faults_of(folder)

    place = file.replace("__", "/") + ".toml"
    hits = [f for f in faults if entry in f.entry and says in f.detail]
    assert hits, "\n".join(map(str, faults))
    assert hits[0].file == place


def test_the_small_catalogue_has_no_fault(tmp_path: Path) -> None:
    assert load_catalogue(small_catalogue(tmp_path)).fixtures.keys() == {
        "tungsten-open-face-2000",
        "led-panel-100",
    }


def test_all_faults_of_all_files_come_at_once(tmp_path: Path) -> None:
    folder = small_catalogue(
        tmp_path,
        fixtures__led=("power_factor = 0.95", "power_factor = 2"),
        fixtures__tungsten=("power_w = 2000", "power_w = -1"),
        boards__box=('row = "bottom"', 'row = "floor"'),
        regions__au=("in_force = true", "in_force = 3"),
        cables__rubber=("tinned = true", "tinned = 2"),
    )

    faults = faults_of(folder)

    assert {fault.file for fault in faults} == {
        "fixtures/led.toml",
        "fixtures/tungsten.toml",
        "boards/box.toml",
        "regions/au.toml",
        "cables/rubber.toml",
    }


def test_two_faults_of_one_entry_come_together(tmp_path: Path) -> None:
    change = ("power_w = 110\nlamp_power_w = 100", "power_w = 'x'\nlamp_power_w = 'y'")

    faults = faults_of(small_catalogue(tmp_path, fixtures__led=change))

    assert [fault.detail for fault in faults] == [
        "lamp_power_w must be a number, not 'y'",
        "power_w must be a number, not 'x'",
    ]


def test_the_message_lists_every_fault(tmp_path: Path) -> None:
    folder = small_catalogue(tmp_path, fixtures__led=("power_w = 110", "power_w = -5"))

    with pytest.raises(
        CatalogueInvalid, match=r"fixtures/led\.toml: fixture\[led-panel-100\]: power_w -5 must"
    ):
        load_catalogue(folder)


def test_a_type_in_two_places_is_named(tmp_path: Path) -> None:
    folder = small_catalogue(tmp_path)
    path = folder / "fixtures/led.toml"
    entry = FILES["fixtures/led.toml"].removeprefix('family = "led"\n')
    path.write_text(FILES["fixtures/led.toml"] + entry, encoding="utf-8")

    (fault,) = faults_of(folder)

    assert fault.file == "fixtures/led.toml"
    assert fault.detail == "'led-panel-100' is taken by an earlier entry: rename one"


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"family = ", "is not TOML: "),
        (b"family = 'caf\xe9'", "must be UTF-8, byte 13 is not"),
        (b"family = 'led'\nfamily = 'led'", "is not TOML: "),
    ],
)
def test_a_file_that_cannot_be_read_is_named_and_the_rest_still_checked(
    tmp_path: Path, content: bytes, says: str
) -> None:
    folder = small_catalogue(tmp_path, boards__box=('row = "bottom"', 'row = "floor"'))
    (folder / "fixtures/led.toml").write_bytes(content)

    faults = faults_of(folder)

    assert [fault.file for fault in faults] == ["boards/box.toml", "fixtures/led.toml"]
    assert says in faults[1].detail


def test_a_folder_without_a_catalogue_says_so(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path)

    assert (fault.file, fault.entry) == ("catalogue.toml", "")
    assert fault.detail.startswith("cannot be read")


@pytest.mark.parametrize("name", ["fixtures", "regions"])
def test_a_catalogue_without_fixtures_or_regions_is_refused(tmp_path: Path, name: str) -> None:
    folder = small_catalogue(tmp_path)
    for path in (folder / name).iterdir():
        path.unlink()
    for path in (folder / "boards").iterdir():
        path.unlink()

    faults = faults_of(folder)

    assert [str(fault) for fault in faults] == [f"{name}: has no entry: add at least one"]
