"""Small changes of a shared layout: what they do, what undoes them, where two people collide."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenboard.desk.differences import differences
from evenboard.desk.layouts import CollidingChanges, apply, as_before
from support.layouts import a_body, a_body_load

Json = dict[str, Any]


def at(outlet: str, board: str = "main") -> Json:
    return {"board": board, "outlet": outlet}


def a_board_of_three() -> Json:
    """Two lamps plugged in, one loose, a sub-board on an outlet."""
    return a_body(
        a_body_load("key", "l1-bottom"),
        a_body_load("fill", "l2-bottom"),
        {"id": "spare", "fixture": "tungsten-open-face-2000"},
        boards=[
            {"id": "main", "type": "three-row-32"},
            {"id": "sub", "type": "four-way", "fed_from": at("l3-top")},
        ],
    )


def load(body: Json, load_id: str) -> Json:
    [found] = [one for one in body["loads"] if one["id"] == load_id]
    return found


CHANGES: list[tuple[Json, str]] = [
    ({"op": "plug", "load": "spare", "to": at("l3-bottom")}, "Plugged spare into main L3 bottom."),
    (
        {"op": "unplug", "load": "key", "from": at("l1-bottom")},
        "Unplugged key from main L1 bottom.",
    ),
    (
        {"op": "move", "load": "key", "from": at("l1-bottom"), "to": at("l3-bottom")},
        "Moved key from main L1 bottom to main L3 bottom.",
    ),
    (
        {
            "op": "swap",
            "load": "key",
            "from": at("l1-bottom"),
            "with": "fill",
            "to": at("l2-bottom"),
        },
        "Swapped key and fill: main L2 bottom, main L1 bottom.",
    ),
    (
        {"op": "dim", "load": "key", "was": None, "to": 0.4},
        "Changed dimmed_to of key from 100 % to 40 %.",
    ),
    (
        {"op": "set", "load": "key", "field": "setups", "was": None, "to": ["wide"]},
        "Changed setups of key from not said to wide.",
    ),
    ({"op": "add", "new": a_body_load("top", "l1-top")}, "Added top, in main L1 top."),
    ({"op": "remove", "load": "fill", "from": at("l2-bottom")}, "Took fill off the list."),
    ({"op": "burning", "was": None, "to": "wide"}, "wide burns."),
    (
        {
            "op": "add-board",
            "new": {"id": "strip", "type": "four-way", "fed_from": at("l3-bottom")},
        },
        "Hung board strip on main L3 bottom.",
    ),
    ({"op": "remove-board", "board": "sub", "from": at("l3-top")}, "Took board sub away."),
    (
        {"op": "set-board", "board": "sub", "field": "name", "was": None, "to": "stage left"},
        "Changed name of board sub from not said to stage left.",
    ),
    (
        {"op": "set-layout", "field": "ambient_c", "was": None, "to": 35},
        "Changed ambient_c of the layout from not said to 35.",
    ),
]
BY_OP = pytest.mark.parametrize(
    ("change", "words"), CHANGES, ids=[change["op"] for change, _ in CHANGES]
)


@BY_OP
def test_a_change_is_told_in_words_and_its_undo_brings_back_what_was(
    change: Json, words: str
) -> None:
    body = a_board_of_three()

    changed = apply(body, None, [change])
    back = apply(changed.body, changed.burning, changed.undo)

    assert changed.words == (words,)
    assert (changed.body, changed.burning) != (body, None)
    assert sorted(back.body["loads"], key=lambda one: one["id"]) == sorted(
        body["loads"], key=lambda one: one["id"]
    )
    assert back.burning is None


@BY_OP
def test_a_change_that_is_sent_again_changes_nothing_more(change: Json, words: str) -> None:
    once = apply(a_board_of_three(), None, [change])

    again = apply(once.body, once.burning, [change])

    assert again.made == again.undo == again.words == ()
    assert (again.body, again.burning) == (once.body, once.burning)


@BY_OP
def test_what_is_given_is_left_as_it_was(change: Json, words: str) -> None:
    body = a_board_of_three()

    apply(body, None, [change])

    assert body == a_board_of_three()


@pytest.mark.parametrize(
    ("theirs", "mine", "said", "now"),
    [
        (
            {"op": "move", "load": "key", "from": at("l1-bottom"), "to": at("l3-bottom")},
            {"op": "move", "load": "key", "from": at("l1-bottom"), "to": at("l1-top")},
            "key is in main L3 bottom now, not in main L1 bottom",
            at("l3-bottom"),
        ),
        (
            {"op": "plug", "load": "spare", "to": at("l3-bottom")},
            {"op": "move", "load": "key", "from": at("l1-bottom"), "to": at("l3-bottom")},
            "main L3 bottom is taken by load spare",
            {"load": "spare"},
        ),
        (
            {"op": "unplug", "load": "key", "from": at("l1-bottom")},
            {"op": "move", "load": "key", "from": at("l1-bottom"), "to": at("l1-top")},
            "key is unplugged now, not in main L1 bottom",
            None,
        ),
        (
            {"op": "plug", "load": "spare", "to": at("l3-bottom")},
            {"op": "plug", "load": "spare", "to": at("l1-top")},
            "spare is in main L3 bottom now, not loose",
            at("l3-bottom"),
        ),
        (
            {"op": "remove", "load": "key", "from": at("l1-bottom")},
            {"op": "dim", "load": "key", "was": 1, "to": 0.5},
            "key is no longer on the list",
            None,
        ),
        (
            {"op": "dim", "load": "key", "was": 1, "to": 0.5},
            {"op": "dim", "load": "key", "was": 1, "to": 0.2},
            "dimmed_to of key is 50 % now, not 100 %",
            0.5,
        ),
        (
            {"op": "move", "load": "fill", "from": at("l2-bottom"), "to": at("l3-bottom")},
            {
                "op": "swap",
                "load": "key",
                "from": at("l1-bottom"),
                "with": "fill",
                "to": at("l2-bottom"),
            },
            "fill is in main L3 bottom now, not in main L2 bottom",
            at("l3-bottom"),
        ),
        (
            {"op": "add", "new": a_body_load("top", "l1-top")},
            {"op": "add", "new": a_body_load("top", "l2-top")},
            "There is another load top already",
            a_body_load("top", "l1-top"),
        ),
        (
            {"op": "burning", "was": None, "to": "wide"},
            {"op": "burning", "was": None, "to": "close"},
            "The set-up that burns is wide now, not none",
            "wide",
        ),
        (
            {"op": "move", "load": "key", "from": at("l1-bottom"), "to": at("l1-top")},
            {"op": "remove", "load": "key", "from": at("l1-bottom")},
            "key is in main L1 top now, not in main L1 bottom",
            at("l1-top"),
        ),
        (
            {"op": "plug", "load": "spare", "to": at("l3-bottom")},
            {
                "op": "add-board",
                "new": {"id": "strip", "type": "four-way", "fed_from": at("l3-bottom")},
            },
            "main L3 bottom is taken by load spare",
            {"load": "spare"},
        ),
        (
            {"op": "plug", "load": "spare", "to": at("a", "sub")},
            {"op": "remove-board", "board": "sub", "from": at("l3-top")},
            "spare is plugged into sub",
            {"id": "sub", "type": "four-way", "fed_from": at("l3-top")},
        ),
        (
            {"op": "remove-board", "board": "sub", "from": at("l3-top")},
            {"op": "set-board", "board": "sub", "field": "name", "was": None, "to": "left"},
            "There is no board sub any more",
            None,
        ),
        (
            {"op": "remove-board", "board": "sub", "from": at("l3-top")},
            {
                "op": "add-board",
                "new": {"id": "two", "type": "four-way", "fed_from": at("a", "sub")},
            },
            "There is no board sub any more",
            None,
        ),
        (
            {"op": "set-layout", "field": "ambient_c", "was": None, "to": 35},
            {"op": "set-layout", "field": "ambient_c", "was": None, "to": 5},
            "ambient_c of the layout is 35 now, not not said",
            35,
        ),
    ],
    ids=lambda value: value["op"] if isinstance(value, dict) and "op" in value else "",
)
def test_whoever_comes_second_to_the_same_is_told_what_is_there(
    theirs: Json, mine: Json, said: str, now: Any
) -> None:
    after_theirs = apply(a_board_of_three(), None, [theirs])

    with pytest.raises(CollidingChanges) as refused:
        apply(after_theirs.body, after_theirs.burning, [mine])

    [collision] = refused.value.collisions
    assert said in collision.detail
    assert collision.now == now
    # What theirs touched is found by what mine collides over.
    assert set(collision.touches) & set(after_theirs.touches)


def test_an_outlet_that_feeds_a_board_is_taken() -> None:
    with pytest.raises(CollidingChanges, match="L3 top is taken by board sub"):
        apply(a_board_of_three(), None, [{"op": "plug", "load": "spare", "to": at("l3-top")}])


def test_a_lamp_goes_beside_another_only_where_that_one_is_known_of() -> None:
    """Two on one outlet, behind an adapter, as one plug that was meant to be there."""
    plug = {"op": "plug", "load": "spare", "to": at("l1-bottom")}

    both = apply(a_board_of_three(), None, [plug | {"beside": ["key"]}])
    back = apply(both.body, None, both.undo)
    again = apply(
        apply(both.body, None, [{"op": "remove", "load": "spare", "from": at("l1-bottom")}]).body,
        None,
        [{"op": "add", "new": load(both.body, "spare"), "beside": ["key"]}],
    )

    assert load(both.body, "spare")["outlet"] == load(both.body, "key")["outlet"]
    assert back.body == a_board_of_three()
    assert load(again.body, "spare") == load(both.body, "spare")
    for known in ({}, {"beside": ["fill"]}):
        with pytest.raises(CollidingChanges, match="taken by load key"):
            apply(a_board_of_three(), None, [plug | known])


def test_a_lamp_that_leaves_a_shared_outlet_can_be_brought_back_beside_the_other() -> None:
    both = a_board_of_three()
    load(both, "spare").update(at("l1-bottom"))

    for change in (
        {"op": "unplug", "load": "spare", "from": at("l1-bottom")},
        {"op": "move", "load": "spare", "from": at("l1-bottom"), "to": at("l1-top")},
        {"op": "remove", "load": "spare", "from": at("l1-bottom")},
    ):
        gone = apply(both, None, [change])
        assert apply(gone.body, None, gone.undo).body == both


def test_a_board_is_hung_and_filled_in_one_go_and_emptied_before_it_goes() -> None:
    strip = {"id": "strip", "type": "four-way", "fed_from": at("l3-bottom")}
    changes = [
        {"op": "add-board", "new": strip},
        {"op": "plug", "load": "spare", "to": at("a", "strip")},
    ]

    hung = apply(a_board_of_three(), None, changes)
    back = apply(hung.body, None, hung.undo)

    assert hung.body["boards"][-1] == strip
    assert load(hung.body, "spare")["board"] == "strip"
    assert back.body == a_board_of_three()


def test_a_set_up_that_is_taken_away_burns_no_longer_until_that_is_undone() -> None:
    body = a_board_of_three() | {"setups": [{"id": "wide"}, {"id": "close"}]}
    change = {
        "op": "set-layout",
        "field": "setups",
        "was": body["setups"],
        "to": [{"id": "close"}],
    }

    gone = apply(body, "wide", [change])
    back = apply(gone.body, gone.burning, gone.undo)
    kept = apply(body, "close", [change])

    assert (gone.burning, kept.burning) == (None, "close")
    assert gone.words == ("Changed setups of the layout.", "Nothing burns.")
    assert (back.body, back.burning) == (body, "wide")


def test_of_several_changes_all_are_made_or_none_and_every_collision_is_named() -> None:
    changes = [
        {"op": "plug", "load": "spare", "to": at("l3-bottom")},
        {"op": "plug", "load": "spare", "to": at("l2-bottom")},
        {"op": "dim", "load": "nobody", "was": 1, "to": 0.5},
    ]

    with pytest.raises(CollidingChanges) as refused:
        apply(a_board_of_three(), None, changes)

    assert [collision.index for collision in refused.value.collisions] == [1, 2]


def test_a_load_that_is_moved_leaves_the_lines_of_its_old_outlet_behind() -> None:
    body = a_body(a_body_load("key", "l1-bottom") | {"lines": ["L1"]})

    changed = apply(
        body, None, [{"op": "move", "load": "key", "from": at("l1-bottom"), "to": at("l2-top")}]
    )
    back = apply(changed.body, None, changed.undo)

    assert "lines" not in load(changed.body, "key")
    assert load(back.body, "key")["lines"] == ["L1"]


def test_phones_that_change_different_lamps_and_outlets_never_collide() -> None:
    one = {"op": "move", "load": "key", "from": at("l1-bottom"), "to": at("l3-bottom")}
    other = {"op": "plug", "load": "spare", "to": at("l1-top")}

    first = apply(apply(a_board_of_three(), None, [one]).body, None, [other])
    second = apply(apply(a_board_of_three(), None, [other]).body, None, [one])

    assert first.body == second.body


OUTLETS = ("l1-bottom", "l1-top", "l2-bottom", "l2-top", "l3-bottom")
NAMES = ("key", "fill", "spare", "new")
PLACES = st.sampled_from([*OUTLETS, None])


@st.composite
def any_changes(draw: st.DrawFn) -> list[Json]:
    """Changes as phones send them that have not heard of each other: many of them collide."""
    made = []
    for _ in range(draw(st.integers(1, 12))):
        name = draw(st.sampled_from(NAMES))
        here, there = (draw(st.sampled_from(OUTLETS)) for _ in range(2))
        made.append(
            draw(
                st.sampled_from(
                    [
                        {"op": "plug", "load": name, "to": at(there)},
                        {"op": "unplug", "load": name, "from": at(here)},
                        {"op": "move", "load": name, "from": at(here), "to": at(there)},
                        {"op": "dim", "load": name, "was": 1, "to": 0.5},
                        {"op": "add", "new": a_body_load("new", there)},
                        {"op": "remove", "load": name, "from": at(here)},
                        {"op": "burning", "was": None, "to": "wide"},
                    ]
                )
            )
        )
    return made


@settings(max_examples=200, deadline=None)
@given(any_changes())
def test_whatever_happens_no_outlet_has_two_plugs_and_the_history_leads_back(
    changes: list[Json],
) -> None:
    start = a_board_of_three()
    body, burning, events = deepcopy(start), None, []
    for change in changes:
        try:
            changed = apply(body, burning, [change])
        except CollidingChanges:
            continue
        body, burning = changed.body, changed.burning
        events.append({"undo": changed.undo})

    plugged = [(one["board"], one["outlet"]) for one in body["loads"] if one.get("outlet")]
    assert len(plugged) == len(set(plugged))
    before, was_burning = as_before(body, burning, reversed(events))
    by_id = {one["id"]: one for one in before["loads"]}
    assert by_id == {one["id"]: one for one in start["loads"]}
    assert was_burning is None


def test_what_differs_between_two_layouts_is_said_lamp_by_lamp() -> None:
    before = a_board_of_three()
    after = deepcopy(before)
    load(after, "key").update(at("l3-bottom"))
    load(after, "fill")["dimmed_to"] = 0.5
    after["loads"].remove(load(after, "spare"))
    after["boards"][1]["name"] = "stage left"
    after["supply"]["rating_a"] = 63

    found = differences(before, after, (None, "wide"))

    assert [words for words, _ in found] == [
        "Moved key from main L1 bottom to main L3 bottom.",
        "Changed dimmed_to of fill.",
        "Took spare off the list.",
        "Changed name of board sub.",
        "Changed supply.",
        "wide burns.",
    ]
    assert {"load:key", "outlet:main/l3-bottom"} <= set(found[0][1])
    assert differences(before, before, ("wide", "wide")) == []
