"""Room left in lamps: by amps, by free outlets, and up the tree of boards."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evenboard.balance import balance
from evenboard.catalogue import Catalogue
from evenboard.electrics.layout import Layout
from evenboard.intake import resolve
from support.bodies import Body, a_body, a_custom

LAMP = "tungsten-open-face-2000"
AMPS = 2000 / 230


def lamps(layout: Layout, catalogue: Catalogue, phase: int = 0) -> int:
    """How many 2 kW lamps still fit on a phase."""
    result = balance(layout, common=[catalogue.fixtures[LAMP]])
    (room,) = result.phases[phase].room_for
    assert room.current_a == pytest.approx(AMPS)
    return room.count


def one_board(rating_a: float, *outlets_a: float, **changes: Body) -> Body:
    outlets = [
        {"id": f"o{i}", "lines": ["L1"], "rating_a": amps} for i, amps in enumerate(outlets_a)
    ]
    return a_body(
        supply={"rating_a": rating_a},
        boards=[{"id": "main", "outlets": outlets}],
        **changes,
    )


def test_three_lamps_of_2_kw_fit_on_32_a(catalogue: Catalogue) -> None:
    # 3 x 8.7 = 26.1 A, a fourth would make 34.8 A.
    assert lamps(resolve(one_board(32, 16, 16, 16, 16), catalogue), catalogue) == 3


def test_a_lamp_needs_an_outlet_that_gives_its_amps(catalogue: Catalogue) -> None:
    assert lamps(resolve(one_board(63, 16, 6, 6), catalogue), catalogue) == 1


def test_an_outlet_takes_as_many_as_a_multi_way_lead_would(catalogue: Catalogue) -> None:
    assert lamps(resolve(one_board(63, 32), catalogue), catalogue) == 3


def test_an_outlet_in_use_takes_none(catalogue: Catalogue) -> None:
    body = one_board(63, 16, 16)
    body["loads"] = [a_custom("a", "o0", power_w=100)]

    assert lamps(resolve(body, catalogue), catalogue) == 1


def test_the_set_up_that_burns_most_decides(catalogue: Catalogue) -> None:
    body = one_board(32, 16, 16, 16, 16, 16)
    body["setups"] = [{"id": "wide"}, {"id": "close"}]
    body["loads"] = [a_custom("a", "o0", power_w=3000, setups=["close"])]

    # 32 - 13.04 A leave two.
    assert lamps(resolve(body, catalogue), catalogue) == 2


def test_a_type_of_another_voltage_is_not_counted(catalogue: Catalogue) -> None:
    body = a_body(region="us", supply={"rating_a": 60}, boards=[])

    result = balance(resolve(body, catalogue), common=[catalogue.fixtures["unit-base-kettle-3000"]])

    assert all(phase.room_for == () for phase in result.phases)


def test_by_default_the_layouts_own_types_are_counted(catalogue: Catalogue) -> None:
    loads = [{"id": "a", "fixture": LAMP, "board": "main", "outlet": "l1-bottom"}]

    result = balance(resolve(a_body(loads=loads), catalogue))

    assert [room.fixture for room in result.phases[0].room_for] == [LAMP]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    supply_a=st.sampled_from([16, 32, 40, 63]),
    subs=st.lists(
        st.tuples(
            st.sampled_from([10, 16, 32]),
            st.lists(st.sampled_from([6, 10, 16, 20]), min_size=1, max_size=3),
        ),
        max_size=3,
    ),
    own=st.lists(st.sampled_from([6, 10, 20]), max_size=3),
)
def test_no_way_of_plugging_fits_more_and_one_fits_as_many(
    catalogue: Catalogue, supply_a: int, subs: list[tuple[int, list[int]]], own: list[int]
) -> None:
    outlets = [{"id": f"o{i}", "lines": ["L1"], "rating_a": a} for i, a in enumerate(own)]
    outlets += [{"id": f"s{i}", "lines": ["L1"], "rating_a": 63} for i in range(len(subs))]
    boards: list[Body] = [{"id": "main", "outlets": outlets or [{"id": "x", "lines": ["L2"]}]}]
    if not outlets:
        boards[0]["outlets"][0]["rating_a"] = 10
    for i, (inlet_a, inner) in enumerate(subs):
        boards.append(
            {
                "id": f"sub{i}",
                "outlets": [
                    {"id": f"o{j}", "lines": ["L1"], "rating_a": a} for j, a in enumerate(inner)
                ],
                "incomer": {"rating_a": inlet_a},
                "fed_from": {"board": "main", "outlet": f"s{i}"},
            }
        )
    layout = resolve(a_body(supply={"rating_a": supply_a}, boards=boards), catalogue)

    found = lamps(layout, catalogue)

    assert found == most_by_trying(supply_a, subs, own)


def most_by_trying(supply_a: int, subs: list[tuple[int, list[int]]], own: list[int]) -> int:
    """The most lamps over every way to fill the outlets, tried one by one."""
    places = [(None, a) for a in own] + [(i, a) for i, (_, inner) in enumerate(subs) for a in inner]
    best = 0
    for counts in itertools.product(*(range(int(a // AMPS) + 1) for _, a in places)):
        per_sub = [0] * len(subs)
        for (sub, _), count in zip(places, counts, strict=True):
            if sub is not None:
                per_sub[sub] += count
        if sum(counts) * AMPS <= supply_a and all(
            n * AMPS <= a for n, (a, _) in zip(per_sub, subs, strict=True)
        ):
            best = max(best, sum(counts))
    return best
