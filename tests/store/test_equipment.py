"""Equipment and its history, on both databases."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from alembic import command

from evenboard.desk.equipment import PieceRefused, check_out, inspect, retire
from evenboard.desk.testing import dated, due_by
from evenboard.store import Store, equipment, layouts, photos, runs, tags
from evenboard.store.audit import Who
from evenboard.store.engine import _alembic
from evenboard.store.equipment import Told
from evenboard.store.errors import AlreadyThere, NotThere
from evenboard.store.piece import Piece
from support.equipment import PRACTICE, TODAY, a_piece, later, seen
from support.layouts import a_body, changed

WHO = Who("desk", "ab12cd34", "front desk")
ODD_TAGS = ["C/12/b", "👍", "a'b\"c", "50%_x\\", "Ω ½", "=1+1", "?#&"]


def keep(store: Store, piece: Piece) -> Piece:
    with store.writing() as session:
        return equipment.add(session, piece, WHO, "Ana", Told("added", ("Added.",)))


def done(store: Store, tag: str, make: Callable[[Piece], Piece], **told: Any) -> Piece:
    with store.writing() as session:
        words = Told("changed", ("Changed.",), **told)
        made, _ = equipment.change(session, tag, WHO, "Ben", lambda piece: (make(piece), words))
    return made


@pytest.mark.parametrize("tag", ODD_TAGS)
def test_a_piece_is_read_back_as_it_was_kept(store: Store, tag: str) -> None:
    piece = inspect(
        check_out(a_piece(tag, note="½ Ω"), "A/12", later(9), seen(), PRACTICE, TODAY),
        ["kinked", "wet"],
        "near the plug",
        False,
        seen(),
    )
    kept = keep(store, piece)

    with store.reading() as session:
        found = equipment.get(session, tag)
        listed = equipment.listing(session, limit=10, q=tag)
    assert found == kept
    assert (found.record, found.standing) == (piece.record, piece.standing)
    assert found.version == 1
    assert list(listed) == [kept]


def test_a_tag_is_taken_once(store: Store) -> None:
    keep(store, a_piece())

    with pytest.raises(AlreadyThere):
        keep(store, a_piece(name="other"))
    with store.reading() as session, pytest.raises(NotThere):
        equipment.get(session, "C-13")


def test_each_change_is_one_version_and_one_event(store: Store) -> None:
    keep(store, a_piece())
    for name in ("one", "two"):
        made = done(store, "C-12", lambda p, n=name: replace(p, record=replace(p.record, name=n)))
    same = done(store, "C-12", lambda piece: piece)
    looked = done(store, "C-12", lambda piece: piece, always=True)

    with store.reading() as session:
        events = equipment.events(session, "C-12")
    assert (made.version, same.version, looked.version) == (3, 3, 4)
    assert [(event.version, event.by) for event in events] == [
        (1, "Ana"),
        (2, "Ben"),
        (3, "Ben"),
        (4, "Ben"),
    ]


def test_of_two_who_hand_the_same_piece_out_at_once_one_gets_it(store: Store) -> None:
    keep(store, a_piece())
    start = threading.Barrier(4)
    got: list[str] = []
    refused: list[PieceRefused] = []

    def hand_out(order: str) -> None:
        start.wait(30)
        try:
            done(store, "C-12", lambda p: check_out(p, order, None, seen(), PRACTICE, TODAY))
        except PieceRefused as error:
            refused.append(error)
        else:
            got.append(order)

    threads = [threading.Thread(target=hand_out, args=(f"A/{i}",)) for i in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)

    assert len(got) == 1
    assert [error.reasons[0].code for error in refused] == ["out-elsewhere"] * 3
    with store.reading() as session:
        piece = equipment.get(session, "C-12")
        assert len(equipment.events(session, "C-12")) == 2
    assert piece.standing.hire is not None
    assert piece.standing.hire.order_ref == got[0]


def test_what_many_find_at_once_is_all_kept(store: Store) -> None:
    keep(store, a_piece())
    defects = ["kinked", "wet", "deformed", "heat-marks", "sheath-cut"]

    def find(defect: str) -> None:
        done(store, "C-12", lambda piece: inspect(piece, [defect], "", False, seen()))

    threads = [threading.Thread(target=find, args=(defect,)) for defect in defects]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)

    with store.reading() as session:
        piece = equipment.get(session, "C-12")
        events = equipment.events(session, "C-12")
    assert piece.standing.withdrawal is not None
    assert sorted(piece.standing.withdrawal.found) == sorted(defects)
    assert [event.version for event in events] == list(range(1, 7))


def test_pieces_are_found_by_words_kind_state_order_and_page(store: Store) -> None:
    keep(store, a_piece("C-1", name="Long Yellow"))
    keep(store, a_piece("C-2", csa_mm2=2.5, note="50 % worn"))
    keep(store, inspect(a_piece("C-3"), ["wet"], "", False, seen()))
    keep(store, a_piece("B-1", kind="board", cable=None, board="three-row-32"))
    keep(store, check_out(a_piece("C-4"), "A/12", None, seen(), PRACTICE, TODAY))
    keep(store, retire(a_piece("C-5"), seen()))

    def found(**asked: Any) -> list[str]:
        with store.reading() as session:
            return [p.tag for p in equipment.listing(session, **({"limit": 10} | asked))]

    assert found() == ["B-1", "C-1", "C-2", "C-3", "C-4"]
    assert found(limit=2) == ["B-1", "C-1"]
    assert found(limit=2, after="C-1") == ["C-2", "C-3"]
    assert found(q="YELLOW long") == ["C-1"]
    assert found(q="2.5mm2") == ["C-2"]
    assert found(q="0 %") == ["C-2"]
    assert found(q="a/12") == ["C-4"]
    assert found(kind="board") == ["B-1"]
    assert found(state="withdrawn") == ["C-3"]
    assert found(state="retired") == ["C-5"]
    assert found(order_ref="A/12") == ["C-4"]


def test_those_that_are_due_are_found_to_the_day(store: Store) -> None:
    keep(store, a_piece("usual", tested_on=TODAY))
    keep(store, a_piece("own", tested_on=TODAY, test_interval_months=1))
    keep(store, a_piece("never", tested_on=None))
    keep(store, inspect(a_piece("bad", tested_on=None), ["wet"], "", False, seen()))
    usual = TODAY.replace(year=2027, month=2)
    own = TODAY.replace(month=12)

    def due(day: Any) -> list[str]:
        with store.reading() as session:
            asked = due_by(day, PRACTICE)
            return [p.tag for p in equipment.listing(session, limit=10, due=asked)]

    one = timedelta(days=1)
    assert due(TODAY - one) == []
    assert due(TODAY) == ["never"]
    assert due(own - one) == ["never"]
    assert due(own) == ["never", "own"]
    assert due(usual - one) == ["never", "own"]
    assert due(usual) == ["never", "own", "usual"]


def test_a_due_day_follows_the_record(store: Store) -> None:
    keep(store, a_piece(tested_on=TODAY))
    done(
        store,
        "C-12",
        lambda p: dated(replace(p, record=replace(p.record, test_interval_months=1)), TODAY),
    )

    with store.reading() as session:
        piece = equipment.get(session, "C-12")
    assert (piece.test_from, piece.test_by) == (None, TODAY.replace(month=12))


def test_a_photo_is_kept_with_its_piece_and_listed_without_its_bytes(store: Store) -> None:
    keep(store, a_piece())
    keep(store, a_piece("C-13"))
    values: Any = {"media_type": "image/jpeg", "width": 4, "height": 3, "by": "Ana"}
    with store.writing() as session:
        kept = photos.add(session, "C-12", content=b"\x00\xff\xd8", **values)
    with pytest.raises(NotThere), store.writing() as session:
        photos.add(session, "C-99", content=b"x", **values)

    with store.reading() as session:
        assert photos.content(session, "C-12", kept.id) == (b"\x00\xff\xd8", "image/jpeg")
        assert list(photos.listing(session, "C-12")) == [kept]
        assert photos.count(session, "C-13") == 0
        assert photos.unknown(session, "C-13", [kept.id]) == {kept.id}
        assert photos.unknown(session, "C-12", [kept.id]) == set()
        with pytest.raises(NotThere):
            photos.content(session, "C-13", kept.id)


def test_runs_sum_up_by_cable_and_what_is_superseded_counts_no_more(store: Store) -> None:
    keep(store, a_piece("C-1"))
    keep(store, a_piece("C-2"))

    def ran(tag: str, source_id: str, order: str, kh: float) -> None:
        with store.writing() as session:
            runs.keep(
                session,
                tag=tag,
                source="report",
                source_id=source_id,
                order_ref=order,
                spread_kh=kh,
                document={"days": 2},
            )

    ran("C-1", "r1", "A/1", 100.0)
    ran("C-1", "r2", "A/2", 50.0)
    ran("C-2", "r1", "A/1", 120.0)
    # The same report once more is no second run.
    ran("C-2", "r1", "A/1", 130.0)

    with store.reading() as session:
        before = runs.totals(session, 0.0, 10)
    with store.writing() as session:
        runs.overtake(session, "report", "r1")
    with store.reading() as session:
        after = runs.totals(session, 0.0, 10)
        kept = runs.listing(session, "C-1")
    assert before == [("C-1", 150.0, 2), ("C-2", 130.0, 1)]
    assert after == [("C-1", 50.0, 1)]
    assert {run.source_id: run.counts for run in kept} == {"r1": False, "r2": True}


def test_a_saved_layout_is_found_by_the_tags_it_names_now(store: Store) -> None:
    feeder = {"cable": "h07rn-f", "csa_mm2": 6, "length_m": 30, "tag": "C-12"}
    body = changed(a_body(), "/boards/0/feeder", feeder)
    with store.writing() as session:
        saved = layouts.add(
            session, name="Quay", order_ref="A/1", body=body, burning=None, who=WHO, by="Ana"
        )

    def naming(tag: str) -> list[str]:
        with store.reading() as session:
            return [n.layout_id for n in tags.naming(session, [tag])]

    def put(body: Any) -> None:
        with store.writing() as session:
            layouts.change(
                session,
                saved.id,
                WHO,
                "Ana",
                "replaced",
                lambda s: (replace(s, body=body), {"words": []}),
            )

    assert naming("C-12") == [saved.id]
    put(changed(body, "/boards/0/feeder/tag", "C-13"))
    assert (naming("C-12"), naming("C-13")) == ([], [saved.id])
    put(changed(body, "/boards/0/tag", "C-12"))
    assert naming("C-12") == [saved.id]
    with store.writing() as session:
        layouts.remove(session, saved.id, WHO, "Ana", lambda _: None)
    assert naming("C-12") == []


def test_layouts_saved_before_equipment_was_kept_are_found_too(store: Store) -> None:
    body = changed(a_body(), "/boards/0/tag", "B-7")
    with store.writing() as session:
        saved = layouts.add(
            session, name="Quay", order_ref=None, body=body, burning=None, who=WHO, by="Ana"
        )
    config = _alembic()
    with store.writing() as session:
        config.attributes["connection"] = session.connection()
        command.downgrade(config, "0003_orders")
    store.migrate()

    with store.reading() as session:
        assert [n.layout_id for n in tags.naming(session, ["B-7"])] == [saved.id]
