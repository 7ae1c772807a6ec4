"""What a crew types finds what they mean."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenboard.catalogue import Catalogue, SearchIndex, load_catalogue
from evenboard.catalogue.query import parse_query
from evenboard.paths import catalogue_folder

# (what is typed, at how many volts, how many of the first hits count, what must be among them)
TABLE = [
    ("2k", 230, 2, "tungsten-fresnel-2000"),
    ("2k", 230, 2, "tungsten-open-face-2000"),
    ("5k", 230, 1, "tungsten-fresnel-5000"),
    ("10k", 230, 1, "tungsten-fresnel-10000"),
    ("tenner", 230, 1, "tungsten-fresnel-10000"),
    ("18k", 230, 2, "discharge-fresnel-18000-electronic-pfc"),
    ("12k", 230, 3, "discharge-fresnel-12000-electronic-pfc"),
    ("1.8 kw hmi", 230, 1, "discharge-par-1800-electronic-pfc"),
    ("hmi 1.8", 230, 1, "discharge-par-1800-electronic-pfc"),
    ("1k8 hmi", 230, 1, "discharge-par-1800-electronic-pfc"),
    ("HMI 4K", 230, 3, "discharge-par-4000-electronic-pfc"),
    ("1,2 kw hmi par", 230, 1, "discharge-par-1200-electronic-pfc"),
    ("575 magnetic", 230, 3, "discharge-fresnel-575-magnetic"),
    ("hmi 1200 no pfc", 230, 1, "discharge-par-1200-electronic-no-pfc"),
    ("daylight fresnel 6 kw", 230, 1, "discharge-fresnel-6000-electronic-pfc"),
    ("800w", 230, 1, "tungsten-open-face-800"),
    ("800 w", 230, 1, "tungsten-open-face-800"),
    ("800 open face", 230, 1, "tungsten-open-face-800"),
    ("openface 2k", 230, 1, "tungsten-open-face-2000"),
    ("open-face 1kw", 230, 1, "tungsten-open-face-1000"),
    ("tungsen fresnal 650", 230, 1, "tungsten-fresnel-650"),
    ("frenel 5k", 230, 1, "tungsten-fresnel-5000"),
    ("tungstne frensel 2kw", 230, 1, "tungsten-fresnel-2000"),
    ("par64", 230, 2, "tungsten-par64-1000"),
    ("par 64 1k", 230, 1, "tungsten-par64-1000"),
    ("par can", 230, 3, "tungsten-par64-500"),
    ("9 light", 230, 1, "tungsten-bank-9x650"),
    ("nine light", 230, 2, "tungsten-bank-9x1000"),
    ("9x650", 230, 1, "tungsten-bank-9x650"),
    ("12 x 1kw", 230, 1, "tungsten-bank-12x1000"),
    ("spacelight 6k", 230, 1, "tungsten-space-light-6000"),
    ("softbox", 230, 1, "tungsten-soft-box-5000"),
    ("china ball", 230, 1, "tungsten-paper-lantern-500"),
    ("cob 300", 230, 1, "led-point-source-300"),
    ("led panel 1x1", 230, 2, "led-panel-100"),
    ("led tube 4ft", 230, 1, "led-tube-48"),
    ("led mat 4x4", 230, 1, "led-mat-280"),
    ("fluo 4 tube", 230, 3, "fluorescent-bank-4x75-electronic-pfc"),
    ("kettle", 230, 1, "unit-base-kettle-2200"),
    ("kettle", 120, 1, "unit-base-kettle-1500"),
    ("kettle", 100, 1, "unit-base-kettle-1300"),
    ("ketle", 230, 1, "unit-base-kettle-2200"),
    ("urn", 230, 1, "unit-base-urn-2400"),
    ("hair drier", 230, 2, "unit-base-hair-dryer-2200"),
    ("hairdryer", 120, 1, "unit-base-hair-dryer-1800"),
    ("blow dryer", 100, 1, "unit-base-hair-dryer-1200"),
    ("aircon", 230, 2, "unit-base-air-conditioner-1200"),
    ("heater 3kw", 230, 1, "unit-base-space-heater-3000"),
    ("ev", 230, 1, "unit-base-van-charger-3600"),
    ("smoke machine", 230, 2, "effects-fog-machine-1500"),
    ("hazer", 230, 1, "effects-haze-machine-300"),
    ("wind machine", 230, 1, "effects-wind-machine-1500"),
    ("followspot", 230, 2, "stage-follow-spot-2500-electronic-pfc"),
    ("folow spot", 230, 2, "stage-follow-spot-1200-magnetic"),
    ("moving head wash", 230, 2, "stage-moving-led-wash-600"),
    ("cyc flood 4x1k", 230, 1, "stage-cyc-flood-4x1000"),
    ("dimmer 12x10a", 230, 1, "dimmer-pack-12x10a-three-phase"),
    ("dit cart", 230, 1, "village-data-cart-1200"),
    ("video village", 230, 1, "village-video-village-600"),
    ("battery chrager", 230, 3, "village-battery-charger-150"),
    ("24 inch monitor", 230, 1, "village-monitor-60"),
    ("laptop", 230, 2, "village-laptop-charger-65"),
    ("practical bulb 60", 230, 1, "practical-bulb-60"),
    ("festoon", 230, 2, "practical-festoon-20x15"),
    ("chain hoist 1t", 230, 2, "rigging-chain-hoist-1500-three-phase"),
    ("chop saw", 230, 1, "workshop-mitre-saw-1800"),
    ("more 2k tungsten open face please", 230, 1, "tungsten-open-face-2000"),
]


@pytest.fixture(scope="module")
def index(catalogue: Catalogue) -> SearchIndex:
    return catalogue.search


def slugs(index: SearchIndex, q: str, **filters: object) -> list[str]:
    return [hit.fixture.slug for hit in index.find(q, **filters)]  # type: ignore[arg-type]


@pytest.mark.parametrize(("typed", "voltage_v", "first", "meant"), TABLE)
def test_what_is_typed_finds_what_is_meant(
    index: SearchIndex, typed: str, voltage_v: float, first: int, meant: str
) -> None:
    assert meant in slugs(index, typed, voltage_v=voltage_v)[:first]


def test_the_empty_query_lists_everything_by_family_and_watts(
    catalogue: Catalogue, index: SearchIndex
) -> None:
    hits = index.find("")

    made = [hit.fixture for hit in hits if hit.version_v is not None]
    order = [family.id for family in catalogue.families]
    assert len(hits) == len(catalogue.fixtures)
    assert [order.index(f.family) for f in made] == sorted(order.index(f.family) for f in made)
    led = [f.power_w for f in made if f.family == "led"]
    assert led == sorted(led)


def test_what_is_not_made_for_the_voltage_comes_last_and_says_so(index: SearchIndex) -> None:
    hits = index.find("", voltage_v=120.0)

    made = [hit.version_v is not None for hit in hits]

    assert made == sorted(made, reverse=True)
    assert not all(made)


def test_an_exact_answer_that_is_not_made_for_the_voltage_is_still_found(
    index: SearchIndex,
) -> None:
    # 9 kW with an electronic ballast runs between two lines in the US, not on 120 V.
    (best, *_) = index.find("hmi par 9k", voltage_v=120.0)

    assert best.fixture.slug == "discharge-par-9000-electronic-pfc"
    assert best.version_v is None


def test_the_version_at_the_voltage_is_told(index: SearchIndex) -> None:
    assert index.find("tungsten open face 2k", voltage_v=120.0)[0].version_v == (110.0, 120.0)


@pytest.mark.parametrize("typed", ["what still fits in 4 A", "under 4 a", "fits 4a", "< 4 amps"])
def test_an_amp_ceiling_may_be_typed(catalogue: Catalogue, typed: str) -> None:
    hits = catalogue.search.find(typed)

    assert {h.fixture.slug for h in hits} == {
        h.fixture.slug for h in catalogue.search.find("", max_current_a=4.0)
    }
    for hit in hits:
        at = catalogue.at_voltage(hit.fixture, 230.0)
        assert at is not None
        assert at.current_a <= 4.0


def test_what_fits_in_4_a_depends_on_the_voltage(index: SearchIndex) -> None:
    # 800 W takes 3.48 A at 230 V and 6.67 A at 120 V.
    assert "tungsten-open-face-800" in slugs(index, "", max_current_a=4.0, voltage_v=230.0)
    assert "tungsten-open-face-800" not in slugs(index, "", max_current_a=4.0, voltage_v=120.0)


def test_what_cannot_run_at_the_voltage_does_not_fit(index: SearchIndex) -> None:
    assert "unit-base-slow-cooker-300" in slugs(index, "", max_current_a=20.0, voltage_v=120.0)
    assert "unit-base-kettle-2200" not in slugs(index, "", max_current_a=20.0, voltage_v=120.0)


def test_a_three_phase_type_is_judged_by_the_amps_of_one_line(index: SearchIndex) -> None:
    # 1500 W, power factor 0.78: 2.79 A on each line of 230/400 V.
    hoist = "rigging-chain-hoist-1500-three-phase"

    assert hoist in slugs(index, "hoist", max_current_a=2.8)
    assert hoist not in slugs(index, "hoist", max_current_a=2.7)


@pytest.mark.parametrize(
    ("typed", "filters", "least_w", "most_w"),
    [
        ("under 500 w led", {}, 0.0, 500.0),
        ("led over 1 kw", {}, 1000.0, 1e9),
        ("led", {"min_power_w": 200.0, "max_power_w": 400.0}, 200.0, 400.0),
        ("tungsten from 1k up to 2 kw", {}, 1000.0, 2000.0),
    ],
)
def test_bounds_of_power_may_be_typed_or_given(
    index: SearchIndex, typed: str, filters: dict[str, float], least_w: float, most_w: float
) -> None:
    powers = [hit.fixture.power_w for hit in index.find(typed, **filters)]  # type: ignore[arg-type]

    assert powers
    assert all(least_w <= power <= most_w for power in powers)


def test_family_and_size_narrow_the_list(index: SearchIndex) -> None:
    hits = index.find("fresnel", family="led", size_class="medium")

    assert [hit.fixture.slug for hit in hits] == ["led-fresnel-1500"]


def test_every_part_of_a_query_must_be_answered_where_it_can_be(index: SearchIndex) -> None:
    assert all(slug.startswith("led-fresnel") for slug in slugs(index, "led fresnel"))


def test_where_nothing_answers_to_all_the_nearest_are_shown(index: SearchIndex) -> None:
    found = slugs(index, "hmi par 18k")

    assert found
    assert any("18000" in slug for slug in found)


@pytest.mark.parametrize("typed", ["zzzzqqq", "!!!", "テスト", "?", "%", "-"])
def test_nonsense_finds_nothing(index: SearchIndex, typed: str) -> None:
    assert index.find(typed) == []


def test_a_known_word_is_not_taken_for_another(index: SearchIndex) -> None:
    # "heater" lies two letters from "beamer", "winch" one from "inch".
    assert all("heater" in s or "trailer" in s for s in slugs(index, "heater"))
    assert slugs(index, "winch") == ["rigging-winch-1500"]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("2 kW", "2kw"),
        ("2k", "2K"),
        ("1.2 kw", "1,2 kw"),
        ("1k8", "1.8kW"),
        ("1,200 w", "1200w"),
        ("9 × 650 W", "9x650"),
        ("fresnels", "fresnel"),
        ("  open   face ", "open face"),
        ("２ｋ", "2k"),
    ],
)
def test_one_thing_may_be_typed_in_many_ways(index: SearchIndex, one: str, other: str) -> None:
    assert slugs(index, one) == slugs(index, other)


def test_a_query_is_taken_apart_by_units() -> None:
    query = parse_query("3 × 2 kW fresnels at 1.8 kw under 16 A")

    assert query.multiples == (("3x2000", 6000.0),)
    assert query.watts == (1800.0,)
    assert query.max_current_a == 16.0
    assert query.words == ("fresnel",)


def test_a_small_bare_figure_may_be_kilowatts(index: SearchIndex) -> None:
    assert slugs(index, "fresnel 5")[0] == "tungsten-fresnel-5000"


def test_a_stated_duty_is_met_at_any_measured_voltage(index: SearchIndex) -> None:
    hit = index.find("2k open face", voltage_v=243.0)[0]

    assert hit.version_v == (220.0, 240.0)


shipped = load_catalogue(catalogue_folder())


@settings(max_examples=200, deadline=None)
@given(
    typed=st.text(max_size=60) | st.text("0123456789.,x kwa×<>-", max_size=30),
    voltage_v=st.sampled_from([100.0, 120.0, 230.0]),
)
def test_anything_may_be_typed(typed: str, voltage_v: float) -> None:
    hits = shipped.search.find(typed, voltage_v=voltage_v)

    assert hits == shipped.search.find(typed, voltage_v=voltage_v)
    assert [h.score for h in hits] == sorted((h.score for h in hits), reverse=True)
    assert all(0.0 < h.score <= 1.0 for h in hits)
    assert len({h.fixture.slug for h in hits}) == len(hits)


@settings(max_examples=60, deadline=None)
@given(typed=st.sampled_from([row[0] for row in TABLE]), most_a=st.floats(0.1, 100.0))
def test_a_ceiling_takes_away_and_leaves_the_order(typed: str, most_a: float) -> None:
    every = [h.fixture for h in shipped.search.find(typed)]

    kept = [h.fixture for h in shipped.search.find(typed, max_current_a=most_a)]

    below = [(f, shipped.at_voltage(f, 230.0)) for f in every]
    assert kept == [f for f, at in below if at is not None and at.current_a <= most_a]
