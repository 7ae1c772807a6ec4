"""The regions, outlets and boards that ship, held against published figures."""

from __future__ import annotations

import math

import pytest

from evenboard.catalogue import Catalogue
from evenboard.electrics.equipment import BoardType, OutletStandard, Region

REGIONS = ("au", "eu", "jp", "uk", "us")

# Nominal voltages: IEC 60038 (230/400 V, 50 Hz), ANSI C84.1 (120/208 V and 120/240 V, 60 Hz),
# Japanese practice (100/200 V three-wire; three-phase 200 V without neutral; 50 and 60 Hz).
SYSTEMS = [
    ("au", "three-phase", 230.0, 400.0, True),
    ("au", "single-phase", 230.0, None, True),
    ("uk", "three-phase", 230.0, 400.0, True),
    ("uk", "single-phase", 230.0, None, True),
    ("eu", "three-phase", 230.0, 400.0, True),
    ("eu", "single-phase", 230.0, None, True),
    ("us", "three-phase", 120.0, 208.0, True),
    ("us", "three-wire", 120.0, 240.0, True),
    ("us", "single-phase", 120.0, None, True),
    ("jp", "three-wire", 100.0, 200.0, True),
    ("jp", "single-phase", 100.0, None, True),
    ("jp", "three-phase", 115.47, 200.0, False),
]

# kVA of a three-phase outlet, root 3 times volts times amps: the table of outlet sizes that
# distribution handbooks print (from memory), tolerance 0.1 %.
KVA = [
    ("eu", "iec60309-16-5", 11.09),
    ("eu", "iec60309-32-5", 22.17),
    ("eu", "iec60309-63-5", 43.65),
    ("eu", "iec60309-125-5", 86.60),
    ("au", "as3123-20-5", 13.86),
    ("au", "as3123-40-5", 27.71),
    ("au", "as3123-50-5", 34.64),
    ("us", "nema-l21-30", 10.81),
    ("us", "iec60309-60-5-us", 21.62),
    ("us", "iec60309-100-5-us", 36.03),
]


def outlet(region: Region, outlet_id: str) -> OutletStandard:
    return next(o for o in region.outlets if o.id == outlet_id)


def boards_of(catalogue: Catalogue, region: str) -> list[BoardType]:
    return [board for board in catalogue.boards.values() if region in board.regions]


def test_the_regions_of_the_interface_are_there(catalogue: Catalogue) -> None:
    assert tuple(sorted(catalogue.regions)) == REGIONS


@pytest.mark.parametrize(("region", "system", "to_neutral_v", "to_line_v", "neutral"), SYSTEMS)
def test_nominal_voltages_are_the_published_ones(
    catalogue: Catalogue,
    region: str,
    system: str,
    to_neutral_v: float,
    to_line_v: float | None,
    neutral: bool,
) -> None:
    found = catalogue.regions[region].system(system)

    assert found is not None
    assert (found.line_to_neutral_v, found.line_to_line_v, found.neutral) == (
        to_neutral_v,
        to_line_v,
        neutral,
    )


def test_no_region_has_a_system_beyond_those(catalogue: Catalogue) -> None:
    listed = {(region, system) for region, system, *_ in SYSTEMS}

    assert {(r.id, s.system) for r in catalogue.regions.values() for s in r.systems} == listed


@pytest.mark.parametrize(
    ("region", "frequency_hz"),
    [("au", (50,)), ("uk", (50,)), ("eu", (50,)), ("us", (60,)), ("jp", (50, 60))],
)
def test_frequencies_are_the_published_ones(
    catalogue: Catalogue, region: str, frequency_hz: tuple[float, ...]
) -> None:
    assert catalogue.regions[region].frequency_hz == frequency_hz


@pytest.mark.parametrize(("region_id", "outlet_id", "kva"), KVA)
def test_three_phase_outlets_carry_the_published_kva(
    catalogue: Catalogue, region_id: str, outlet_id: str, kva: float
) -> None:
    region = catalogue.regions[region_id]
    star = region.system("three-phase")

    assert star is not None
    assert star.line_to_line_v is not None
    found = outlet(region, outlet_id)
    computed = math.sqrt(3.0) * star.line_to_line_v * found.rating_a / 1000.0
    assert computed == pytest.approx(kva, rel=1e-3)


@pytest.mark.parametrize(
    ("multiple", "breaker_a", "zs_ohm"),
    [(5, 16, 2.73), (10, 32, 0.68), (20, 63, 0.17), (5, 6, 7.28), (10, 125, 0.17)],
)
def test_the_uk_loop_factor_gives_the_published_impedances(
    catalogue: Catalogue, multiple: float, breaker_a: float, zs_ohm: float
) -> None:
    # BS 7671:2018 Table 41.3, U0 230 V, rounded to 0.01 ohm there.
    uk = catalogue.regions["uk"]
    star = uk.system("three-phase")

    assert star is not None
    limit = uk.loop_voltage_factor * star.line_to_neutral_v / (multiple * breaker_a)
    assert limit == pytest.approx(zs_ohm, abs=0.006)


@pytest.mark.parametrize(
    ("region", "voltage_drop_pct"), [("au", 5.0), ("us", 5.0), ("uk", 5.0), ("eu", 5.0)]
)
def test_voltage_drop_limits_are_the_published_ones(
    catalogue: Catalogue, region: str, voltage_drop_pct: float
) -> None:
    # AS/NZS 3000 5 %; NFPA 70 215.2(A) note 5 % in all; IEC 60364-5-52 annex G 5 % for other uses.
    assert catalogue.regions[region].limits.voltage_drop_pct == voltage_drop_pct


def test_advice_is_a_note_where_it_is_only_advice(catalogue: Catalogue) -> None:
    # NFPA 70 90.5: informational notes are not enforceable; 80 % of a breaker is a rule in the US.
    assert "voltage-drop" in catalogue.regions["us"].advisory
    assert "breaker-loading" not in catalogue.regions["us"].advisory
    for region in ("au", "uk", "eu"):
        assert "breaker-loading" in catalogue.regions[region].advisory


@pytest.mark.parametrize(
    ("region", "colours"),
    [
        # IEC 60445
        ("uk", ("brown", "black", "grey", "blue")),
        ("eu", ("brown", "black", "grey", "blue")),
        # AS/NZS 3000
        ("au", ("red", "white", "dark blue", "black")),
        # practice
        ("us", ("black", "red", "blue", "white")),
    ],
)
def test_the_colours_in_force_are_the_published_ones(
    catalogue: Catalogue, region: str, colours: tuple[str, ...]
) -> None:
    code = next(c for c in catalogue.regions[region].colours if c.in_force)

    assert tuple(code.colours[conductor] for conductor in ("L1", "L2", "L3", "N")) == colours


def test_each_region_warns_of_the_colours_that_swap_their_meaning(catalogue: Catalogue) -> None:
    for region in catalogue.regions.values():
        if region.id != "eu":
            assert any("Trap" in code.basis.text for code in region.colours), region.id


def test_a_plug_enters_an_outlet_of_its_rating_or_more(catalogue: Catalogue) -> None:
    au, us = catalogue.regions["au"], catalogue.regions["us"]

    assert "as3112-10" in outlet(au, "as3112-15").accepts
    assert "as3112-15" not in outlet(au, "as3112-10").accepts
    assert "nema-5-15" in outlet(us, "nema-5-20").accepts
    assert "nema-5-20" not in outlet(us, "nema-5-15").accepts


def test_pin_and_sleeve_outlets_take_their_own_plug_only(catalogue: Catalogue) -> None:
    for region in catalogue.regions.values():
        for kind in region.outlets:
            if kind.id.startswith("iec60309"):
                assert kind.accepts == (kind.id,)


def test_four_pins_have_no_neutral(catalogue: Catalogue) -> None:
    for region, outlet_id in (("au", "as3123-32-4"), ("uk", "iec60309-32-4")):
        assert not outlet(catalogue.regions[region], outlet_id).neutral
    assert not outlet(catalogue.regions["us"], "nema-l6-30").neutral
    assert outlet(catalogue.regions["us"], "nema-14-50").neutral


@pytest.mark.parametrize(
    ("region", "least_pct", "most_pct"),
    [
        # AS 60038: 6 % at the supply and 5 % in the installation (from memory).
        ("au", 11.0, 11.0),
        # IEC 60038: 10 % at the supply.
        ("uk", 10.0, 10.0),
        ("eu", 10.0, 10.0),
        # ANSI C84.1 range A, 110 of 120 V at the equipment (from memory).
        ("us", 8.3, 8.4),
        # 95 V at the supply; the drop comes on top.
        ("jp", 5.0, 10.0),
    ],
)
def test_low_voltage_limits_follow_the_supply_standards(
    catalogue: Catalogue, region: str, least_pct: float, most_pct: float
) -> None:
    assert least_pct <= catalogue.regions[region].limits.low_voltage_pct <= most_pct


def test_each_region_names_a_table_for_every_cable_rated_there(catalogue: Catalogue) -> None:
    # BS 7671 in the UK, DIN VDE 0298-4 on the continent, NFPA 70 in the US, AS/NZS 3008 in
    # Australia and New Zealand.
    for region, mark in (("uk", "bs7671"), ("eu", "vde0298"), ("us", "nec"), ("au", "asnzs")):
        tables = catalogue.regions[region].cable_tables
        assert tables, region
        assert all(table.startswith(mark) for table in tables.values()), region
        for cable in catalogue.cables.values():
            if any(table.id.startswith(mark) for table in cable.tables):
                assert cable.id in tables, (region, cable.id)


def test_the_heavy_rubber_cable_can_be_used_wherever_it_is_sold(catalogue: Catalogue) -> None:
    for region in ("au", "uk", "eu"):
        assert "h07rn-f" in catalogue.regions[region].cable_tables


def test_there_are_boards_for_every_region(catalogue: Catalogue) -> None:
    assert len(catalogue.boards) >= 12
    for region in REGIONS:
        usable = [b for b in boards_of(catalogue, region) if b.id != "four-way"]
        assert len(usable) >= 2, region


@pytest.mark.parametrize("region", ["us", "jp"])
def test_three_wire_regions_have_three_wire_boards(catalogue: Catalogue, region: str) -> None:
    assert len([b for b in boards_of(catalogue, region) if b.system == "three-wire"]) >= 2


def test_the_board_of_the_interfaces_example_is_there(catalogue: Catalogue) -> None:
    board = catalogue.boards["three-row-32"]

    ids = [o.id for o in board.outlets]

    assert "au" in board.regions
    assert {"l1-bottom", "l2-middle", "l3-top", "sub-1"} <= set(ids)
    assert board.inlet_rating_a == 32.0
    assert next(o for o in board.outlets if o.id == "sub-1").lines == ("L1", "L2", "L3")


def test_a_multi_way_lead_hangs_on_one_line_in_every_region(catalogue: Catalogue) -> None:
    lead = catalogue.boards["four-way"]

    assert lead.regions == ("au", "uk", "eu", "us", "jp")
    assert lead.system == "single-phase"
    assert len(lead.outlets) == 4


def test_every_inlet_of_an_australian_feeder_size_has_its_board(catalogue: Catalogue) -> None:
    # Common practice: 20, 32, 40 and 50 A outlets.
    ratings = {b.inlet_rating_a for b in boards_of(catalogue, "au") if b.system == "three-phase"}

    assert {20.0, 32.0, 40.0, 50.0} <= ratings


def test_single_phase_outlets_spread_alike_over_the_lines(catalogue: Catalogue) -> None:
    for board in catalogue.boards.values():
        lines = {"three-phase": 3, "three-wire": 2, "single-phase": 1}[board.system]
        counts = [
            sum(o.rating_a for o in board.outlets if o.lines == (f"L{i + 1}",))
            for i in range(lines)
        ]
        assert len(set(counts)) == 1, board.id


def test_rows_stand_by_size(catalogue: Catalogue) -> None:
    # Common practice: large lamps at the bottom, medium in the middle, small on top.
    order = {"bottom": 2, "middle": 1, "top": 0}
    for board in catalogue.boards.values():
        by_row: dict[str, float] = {}
        for o in board.outlets:
            if o.row is not None:
                by_row[o.row] = max(by_row.get(o.row, 0.0), o.rating_a)
        ratings = [by_row[row] for row in sorted(by_row, key=order.__getitem__)]
        assert ratings == sorted(ratings), board.id


def test_outlets_up_to_32_a_stand_behind_30_ma_where_the_standard_asks(
    catalogue: Catalogue,
) -> None:
    # IEC 60364-7-711 and AS/NZS 3000 (from memory): socket-outlets up to 32 A. Splitters and leads
    # have no device of their own and rest on the one ahead.
    for region in ("au", "uk", "eu"):
        for board in boards_of(catalogue, region):
            if not board.rcds:
                continue
            devices = {rcd.id: rcd.rated_residual_ma for rcd in board.rcds}
            for o in board.outlets:
                if len(o.lines) == 1 and o.rating_a <= 32.0:
                    assert o.rcd is not None, (board.id, o.id)
                    assert devices[o.rcd] <= 30.0, (board.id, o.id)


def test_a_breaker_is_never_far_above_its_outlet(catalogue: Catalogue) -> None:
    # A 15 A outlet stands on a 16 A breaker, the nearest that IEC 60898-1 makes.
    for board in catalogue.boards.values():
        for o in board.outlets:
            if o.breaker is not None:
                assert o.breaker.rating_a <= 1.07 * o.rating_a, (board.id, o.id)


def test_boards_carry_only_outlets_of_their_regions(catalogue: Catalogue) -> None:
    for board in catalogue.boards.values():
        for region in board.regions:
            there = {o.id for o in catalogue.regions[region].outlets}
            used = {o.connector for o in board.outlets if o.connector} | {board.inlet} - {None}
            assert used <= there, (board.id, region)
