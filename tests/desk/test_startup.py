"""Starting and stopping: what comes when, what it is expected to draw, and who may do it."""

from __future__ import annotations

from typing import Any

import pytest

from evenboard.catalogue import load_catalogue
from evenboard.desk.startup import COOL_DOWN_S, Startup, Step, startup
from evenboard.electrics.layout import Layout
from evenboard.intake import resolve
from evenboard.paths import catalogue_folder
from support.layouts import a_body, a_body_load

GENERATOR = {
    "kind": "generator",
    "rating_a": 87,
    "generator": {"rating_kva": 60, "max_step_pct": 40},
}
CATALOGUE = load_catalogue(catalogue_folder())
ONE_BOARD = [{"id": "main", "type": "three-row-32"}]


def a_layout_of(body: dict[str, Any]) -> Layout:
    return resolve(body, CATALOGUE)


def kinds(steps: tuple[Step, ...]) -> list[str]:
    return [step.kind for step in steps]


def lamps(found: Startup) -> list[Step]:
    return [step for step in found.start if step.kind == "lamps"]


def on_a_generator(*loads: dict[str, Any], **changes: Any) -> Layout:
    return a_layout_of(a_body(*loads, supply=GENERATOR, **changes))


def test_a_generator_starts_from_the_engine_outwards_and_stops_the_other_way() -> None:
    sub = {
        "id": "sub",
        "type": "four-way",
        "fed_from": {"board": "main", "outlet": "l1-top"},
    }
    found = startup(
        on_a_generator(
            a_body_load("key", "l2-bottom"),
            a_body_load("kicker", "1", board="sub"),
            boards=[*ONE_BOARD, sub],
        )
    )

    start, stop = kinds(found.start), kinds(found.stop)
    assert start[:4] == ["off", "responsible", "engine", "volts"]
    assert [s.board for s in found.start if s.kind == "board"] == ["main", "sub"]
    assert start.index("main") < start.index("board") < start.index("lamps")
    assert start[-1] == "meter"
    assert [s.board for s in found.stop if s.kind == "board-off"] == ["sub", "main"]
    assert stop[-4:] == ["cool-down", "main-off", "engine-off", "part"]
    [cooling] = [step for step in found.stop if step.kind == "cool-down"]
    assert cooling.wait_s == COOL_DOWN_S


def test_every_lamp_that_burns_goes_on_once_and_off_once_backwards() -> None:
    layout = on_a_generator(
        a_body_load("key", "l1-bottom", setups=["wide"]),
        a_body_load("fill", "l2-bottom", fixture="discharge-par-1800-electronic-pfc"),
        a_body_load("back", "l3-bottom"),
        a_body_load("spare", "l3-top", setups=["close"]),
        setups=[{"id": "wide"}, {"id": "close"}],
    )

    found = startup(layout, 0)

    on = [name for step in lamps(found) for name in step.loads]
    off = [name for step in found.stop if step.kind == "lamps-off" for name in step.loads]
    assert sorted(on) == ["back", "fill", "key"]
    assert off == on[::-1]


def test_each_step_says_what_the_lines_carry_then_and_the_last_is_the_sum() -> None:
    """Two lamps of 2 kW at 230 V are 8.696 A each, on their own lines."""
    found = startup(
        on_a_generator(a_body_load("key", "l1-bottom"), a_body_load("fill", "l2-bottom"))
    )

    last = lamps(found)[-1]
    assert last.running_a == pytest.approx({"L1": 8.696, "L2": 8.696, "L3": 0.0}, abs=0.001)
    assert last.peak_a is not None
    assert last.peak_a > 8.7
    [main] = [step for step in found.start if step.kind == "main"]
    assert main.running_a == {"L1": 0.0, "L2": 0.0, "L3": 0.0}


def test_no_group_is_a_larger_step_than_the_set_takes_unless_one_lamp_alone_is() -> None:
    """Six lamps of 2 kW on 10 kW, 30 % a step: one at a time; on 5 kW even one is too much."""
    six = [a_body_load(f"k{i}", f"l{i % 3 + 1}-{row}") for i, row in enumerate(["bottom"] * 3)]
    six += [a_body_load(f"m{i}", f"l{i + 1}-middle") for i in range(3)]

    def on_a_set(rating_kva: float) -> Startup:
        supply = GENERATOR | {"generator": {"rating_kva": rating_kva, "max_step_pct": 30}}
        return startup(a_layout_of(a_body(*six, supply=supply)))

    enough, small = on_a_set(12.5), on_a_set(6.25)
    assert all((step.step_pct or 0) <= 30 for step in lamps(enough))
    assert not any("at one step" in (step.caution or "") for step in lamps(enough))
    assert len(lamps(small)) == 6
    assert all("at one step" in (step.caution or "") for step in lamps(small))


def test_the_layout_s_own_order_goes_before_the_computed_one() -> None:
    layout = on_a_generator(
        a_body_load("key", "l1-bottom"),
        a_body_load("fill", "l2-bottom"),
        a_body_load("back", "l3-bottom"),
        start_order=[["back"], ["key", "fill"]],
    )

    found = startup(layout)

    assert [step.loads for step in lamps(found)] == [("back",), ("key", "fill")]
    assert all("start_order" in step.basis for step in lamps(found))


def test_discharge_is_given_time_and_its_fan_too() -> None:
    found = startup(
        on_a_generator(a_body_load("sun", "l1-bottom", fixture="discharge-par-1800-electronic-pfc"))
    )

    [on] = lamps(found)
    [off] = [step for step in found.stop if step.kind == "lamps-off"]
    assert on.wait_s >= 60
    assert "run up" in (on.caution or "")
    assert "fans" in (off.caution or "")


def test_an_outlet_has_no_engine_to_warm_up_or_cool() -> None:
    found = startup(a_layout_of(a_body()))

    said = {*kinds(found.start), *kinds(found.stop)}
    assert said.isdisjoint({"engine", "engine-off", "cool-down"})
    assert {"main", "main-off", "volts", "part"} <= said


def test_only_the_person_responsible_connects_measures_and_parts() -> None:
    found = startup(on_a_generator())

    for step in (*found.start, *found.stop):
        if step.kind in ("responsible", "volts", "part"):
            assert "person responsible" in step.text.lower()
    [connect] = [step for step in found.start if step.kind == "responsible"]
    [part] = [step for step in found.stop if step.kind == "part"]
    assert "earth first" in (connect.caution or "")
    assert "earth last" in (part.caution or "")
    assert any("licensed" in words for words in found.cautions)
    assert all(step.basis for step in (*found.start, *found.stop))


def test_keys_are_one_of_a_kind_and_stay_when_another_lamp_moves() -> None:
    one = startup(on_a_generator(a_body_load("key", "l1-bottom"), a_body_load("fill", "l2-bottom")))
    other = startup(on_a_generator(a_body_load("key", "l1-top"), a_body_load("fill", "l2-bottom")))

    for steps in (one.start, one.stop):
        assert len({step.key for step in steps}) == len(steps)
    assert [step.key for step in one.start] == [step.key for step in other.start]


def test_nothing_on_has_no_lamps_to_switch() -> None:
    found = startup(
        a_layout_of(a_body(a_body_load(setups=["wide"]), setups=[{"id": "wide"}, {"id": "dark"}])),
        1,
    )

    assert lamps(found) == []
    assert found.setup == "dark"
