"""The desk's own fixture types."""

from __future__ import annotations

from dataclasses import replace

import pytest

from evenboard.electrics.equipment import Basis, FixtureType
from evenboard.store import Store, fixtures, keys
from evenboard.store.errors import AlreadyThere, NotThere

PANEL = FixtureType(
    slug="led-house-panel",
    name="House panel Ω",
    family="led",
    size_class="small",
    power_w=350.0,
    lamp_power_w=None,
    power_factor=0.95,
    displacement_factor=0.98,
    displacement="lagging",
    third_harmonic_pct=10.0,
    current_thd_pct=25.3,
    load_model="constant-power",
    inrush_multiple=30.0,
    inrush_ms=0.5,
    leakage_ma=0.5,
    input_ranges_v=((100.0, 120.0), (220.0, 240.0)),
    connection="single",
    also_known_as=("panel", "soft"),
    basis=Basis("estimate", "made for a test"),
)


@pytest.fixture
def desk(store: Store) -> str:
    with store.writing() as session:
        return keys.create(session, "desk")[0].id


def test_a_type_comes_back_equal_to_what_was_added(store: Store, desk: str) -> None:
    with store.writing() as session:
        fixtures.add(session, PANEL, desk)

    with store.reading() as session:
        assert fixtures.listing(session) == [PANEL]


def test_every_change_counts_the_revision_up_and_a_refused_one_does_not(
    store: Store, desk: str
) -> None:
    with store.writing() as session:
        fixtures.add(session, PANEL, desk)
    with pytest.raises(AlreadyThere, match="led-house-panel"), store.writing() as session:
        fixtures.add(session, PANEL, desk)
    with store.writing() as session:
        fixtures.replace(session, replace(PANEL, power_w=300.0), desk, lambda current: None)
    with store.writing() as session:
        fixtures.remove(session, PANEL.slug, lambda current: None)

    with store.reading() as session:
        assert fixtures.revision(session) == 3
        assert fixtures.listing(session) == []


def test_a_change_sees_the_type_as_it_is_now_and_may_refuse(store: Store, desk: str) -> None:
    seen: list[FixtureType] = []

    def refuse(current: FixtureType) -> None:
        seen.append(current)
        raise PermissionError

    with store.writing() as session:
        fixtures.add(session, PANEL, desk)
    with pytest.raises(PermissionError), store.writing() as session:
        fixtures.replace(session, replace(PANEL, power_w=1.0), desk, refuse)

    assert seen == [PANEL]
    with store.reading() as session:
        assert fixtures.listing(session) == [PANEL]


def test_what_is_not_there_can_be_neither_changed_nor_removed(store: Store, desk: str) -> None:
    with pytest.raises(NotThere), store.writing() as session:
        fixtures.replace(session, PANEL, desk, lambda current: None)
    with pytest.raises(NotThere), store.writing() as session:
        fixtures.remove(session, PANEL.slug, lambda current: None)
