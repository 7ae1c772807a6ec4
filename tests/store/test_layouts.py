"""Saved layouts, their history and readings, on both databases."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from evenboard.desk.layouts import apply
from evenboard.store import Store, layouts, readings
from evenboard.store.audit import Who
from evenboard.store.errors import NotThere
from evenboard.store.layouts import SavedLayout
from support.layouts import a_body, a_body_load
from support.stores import in_processes, move_there_and_back

WHO = Who("plug-link", "ab12cd34", "phones")
ODD = {"zeta": 1, "alpha": [1.50, 1e-7, 12345678901234567890, True, None, "Ω ½ 👍"], "a": {"b": {}}}


def a_saved(store: Store, **changes: Any) -> SavedLayout:
    values: dict[str, Any] = {
        "name": "Quay",
        "order_ref": None,
        "body": a_body(),
        "burning": None,
        "who": WHO,
        "by": "Ana",
    }
    with store.writing() as session:
        return layouts.add(session, **(values | changes))


def renamed(name: str) -> Any:
    return lambda saved: (replace(saved, name=name), {"words": [f"Renamed to {name}."]})


def test_a_layout_is_read_back_as_it_was_saved(store: Store) -> None:
    saved = a_saved(store, body=ODD, order_ref="A/12 👍", burning="wide")

    with store.reading() as session:
        assert layouts.get(session, saved.id) == saved
    assert saved.version == 1
    assert saved.created_at.tzinfo is UTC


def test_a_name_of_a_layout_has_128_random_bits(store: Store) -> None:
    names = {layouts.new_id() for _ in range(50)}

    assert len(names) == 50
    # 128 bits in letters of 5 bits each.
    assert all(len(name) == 26 and name.isalnum() and name.islower() for name in names)


def test_each_change_is_one_version_and_one_event(store: Store) -> None:
    saved = a_saved(store)
    for name in ("one", "two"):
        with store.writing() as session:
            made, did = layouts.change(session, saved.id, WHO, "Ben", "changed", renamed(name))
    assert (made.name, made.version, made.updated_by, did) == ("two", 3, "Ben", True)

    with store.reading() as session:
        history = layouts.events(session, saved.id, after=0, limit=10)
        later = layouts.events(session, saved.id, after=2, limit=10)
    assert [(e.version, e.kind, e.by) for e in history] == [
        (1, "created", "Ana"),
        (2, "changed", "Ben"),
        (3, "changed", "Ben"),
    ]
    assert [e.version for e in later] == [3]
    assert later[0].document == {"words": ["Renamed to two."]}
    assert (later[0].who.role, later[0].who.caller) == ("plug-link", "ab12cd34")


def test_a_change_of_nothing_makes_no_version(store: Store) -> None:
    saved = a_saved(store)

    with store.writing() as session:
        made, did = layouts.change(session, saved.id, WHO, "Ben", "changed", renamed("Quay"))

    assert (made, did) == (saved, False)
    with store.reading() as session:
        assert len(layouts.events(session, saved.id, after=0, limit=10)) == 1


def test_a_refused_change_leaves_nothing(store: Store) -> None:
    saved = a_saved(store)

    def refuse(_: SavedLayout) -> Any:
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"), store.writing() as session:
        layouts.change(session, saved.id, WHO, "Ben", "changed", refuse)

    with store.reading() as session:
        assert layouts.get(session, saved.id) == saved


def test_a_removed_layout_is_not_there_and_its_history_is(store: Store) -> None:
    saved = a_saved(store)
    with store.writing() as session:
        layouts.remove(session, saved.id, WHO, "Ben", lambda _: None)

    with store.reading() as session:
        with pytest.raises(NotThere):
            layouts.get(session, saved.id)
        assert list(layouts.listing(session, limit=10)) == []
        history = layouts.events(session, saved.id, after=0, limit=10)
    assert [e.kind for e in history] == ["created", "removed"]


def test_phones_that_change_at_once_lose_nothing(store: Store) -> None:
    lamps = [a_body_load(f"lamp-{i}", f"l{i}-bottom") for i in (1, 2, 3)]
    saved = a_saved(store, body=a_body(*lamps))
    times = 8

    def dim(load_id: str) -> None:
        share = 1.0
        for step in range(times):
            was, share = share, (step + 1) / 10
            change = {"op": "dim", "load": load_id, "was": was, "to": share}
            with store.writing() as session:
                layouts.change(session, saved.id, WHO, load_id, "changed", made(change))

    def made(change: dict[str, Any]) -> Any:
        def make(saved: SavedLayout) -> Any:
            changed = apply(saved.body, saved.burning, [change])
            return replace(saved, body=changed.body), {"words": changed.words}

        return make

    threads = [threading.Thread(target=dim, args=(f"lamp-{i}",)) for i in (1, 2, 3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)

    with store.reading() as session:
        now = layouts.get(session, saved.id)
        history = layouts.events(session, saved.id, after=0, limit=100)
    assert now.version == 1 + 3 * times
    assert [e.version for e in history] == list(range(1, now.version + 1))
    assert [load["dimmed_to"] for load in now.body["loads"]] == [0.8] * 3


def test_layouts_are_listed_latest_first_and_page_by_page(store: Store) -> None:
    made = [a_saved(store, name=f"n{i}", order_ref="A" if i % 2 else "B") for i in range(5)]
    expected = [saved.id for saved in reversed(made)]

    with store.reading() as session:
        first = layouts.listing(session, limit=2)
        last = (first[-1].created_at, first[-1].id)
        rest = layouts.listing(session, limit=10, after=last)
        of_a = layouts.listing(session, limit=10, order_ref="A")
        named = layouts.listing(session, limit=10, q="N3")
        wild = layouts.listing(session, limit=10, q="%")

    assert sorted(s.id for s in (*first, *rest)) == sorted(expected)
    assert [s.id for s in (*first, *rest)] == expected
    assert [s.name for s in of_a] == ["n3", "n1"]
    assert [s.name for s in named] == ["n3"]
    assert list(wild) == []


def test_the_last_to_touch_something_is_found(store: Store) -> None:
    saved = a_saved(store)
    for by, touches in (("Ana", ["load:key"]), ("Ben", ["load:fill"]), ("Cem", ["load:key"])):

        def make(saved: SavedLayout, touches: list[str] = touches) -> Any:
            return replace(saved, name=saved.name + "x"), {"words": [], "touches": touches}

        with store.writing() as session:
            layouts.change(session, saved.id, WHO, by, "changed", make)

    with store.reading() as session:
        key = layouts.last_touch(session, saved.id, ["load:key", "outlet:main/x"])
        fill = layouts.last_touch(session, saved.id, ["load:fill"])
        nobody = layouts.last_touch(session, saved.id, ["load:none"])
    assert key is not None
    assert fill is not None
    assert (key.by, fill.by, nobody) == ("Cem", "Ben", None)


def test_readings_are_kept_and_listed_by_when_they_were_taken(store: Store) -> None:
    saved = a_saved(store)
    noon = datetime(2026, 11, 25, 12, tzinfo=UTC)
    for hours in (2, 0, 1):
        with store.writing() as session:
            readings.add(
                session,
                layout_id=saved.id,
                version=1,
                taken_at=noon + timedelta(hours=hours),
                who=WHO,
                by="Ana",
                document={"phases": {"L1": float(hours)}},
            )

    with store.reading() as session:
        listed = readings.listing(session, saved.id, limit=2)
        before = (listed[-1].taken_at, listed[-1].id)
        rest = readings.listing(session, saved.id, limit=2, before=before)
        one = readings.get(session, saved.id, listed[0].id)
        with pytest.raises(NotThere):
            readings.get(session, "other", listed[0].id)
    assert [r.document["phases"]["L1"] for r in (*listed, *rest)] == [2.0, 1.0, 0.0]
    assert one == listed[0]


def test_processes_that_move_the_same_lamp_never_overwrite_each_other(
    store: Store, database_url: str
) -> None:
    saved = a_saved(store, body=a_body(a_body_load("key", "l1-bottom")))

    assert in_processes(3, move_there_and_back, database_url, saved.id, 10) == [0] * 3

    with store.reading() as session:
        history = layouts.events(session, saved.id, after=1, limit=1000)
        now = layouts.get(session, saved.id)
    # Every event starts from where the one before it ended: nothing was lost, nothing done twice.
    places = ["l1-bottom", *(e.document["to"] for e in history)]
    assert all(e.document["from"] == place for e, place in zip(history, places, strict=False))
    assert now.version == 1 + len(history)
    assert len(history) >= 20
