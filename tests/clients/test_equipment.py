"""Equipment from Python, against the real service with two workers."""

from __future__ import annotations

import threading
import uuid
from typing import Any

import pytest

from evenboard_client import Client, Refused
from support.equipment import MEASURED, a_body_piece
from support.layouts import a_body
from support.pictures import with_place_and_time
from support.service import Service


@pytest.fixture
def tag(desk: Client) -> str:
    name = f"C/{uuid.uuid4().hex[:8]} 👍"
    desk.add_piece(a_body_piece(name))
    return name


def test_a_cable_goes_out_comes_back_burnt_and_returns_to_service(desk: Client, tag: str) -> None:
    desk.check_out(tag, "A/12", until="2099-12-31", by="Ana")
    photo = desk.add_photo(tag, with_place_and_time())
    looked = desk.inspect(tag, "connector-burnt", returned=True, photos=[photo["id"]])
    assert looked["piece"]["state"] == "withdrawn"
    with pytest.raises(Refused) as refused:
        desk.release(tag)
    assert refused.value.status == 409
    assert [r["code"] for r in refused.value.problem["reasons"]] == ["no-cause", "no-test"]

    desk.record_cause(tag, "contact-heat", note="loose screw")
    desk.record_test(tag, True, "Ben Okafor", **MEASURED)
    desk.release(tag)

    assert desk.piece(tag)["fit"] is True
    history = desk.piece_history(tag)
    assert [event["kind"] for event in history["events"]][-1] == "released"
    assert history["orders"][0]["found"] == ["connector-burnt"]
    assert desk.photo(tag, photo["id"]).startswith(b"\xff\xd8")
    assert [each["id"] for each in desk.photos(tag)] == [photo["id"]]


def test_two_workers_hand_a_piece_out_once(desk: Client, server: Service, tag: str) -> None:
    start = threading.Barrier(6)
    outcomes: list[Any] = []

    def hand_out(order: str) -> None:
        with Client(server.url, token=str(desk._session.headers["Authorization"])[7:]) as mine:
            start.wait(30)
            try:
                outcomes.append(mine.check_out(tag, order)["piece"]["hire"]["order_ref"])
            except Refused as refused:
                outcomes.append(refused.problem["reasons"][0]["code"])

    threads = [threading.Thread(target=hand_out, args=(f"B/{n}",)) for n in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)

    assert outcomes.count("out-elsewhere") == 5
    assert desk.piece(tag)["hire"]["order_ref"] in outcomes


def test_a_record_is_changed_retired_and_restored(desk: Client, tag: str) -> None:
    etag = desk.piece_etag(tag)
    record = {k: v for k, v in a_body_piece(length_m=25).items() if k != "tag"}

    changed = desk.change_piece(tag, record, etag)
    with pytest.raises(Refused) as refused:
        desk.change_piece(tag, record, etag)
    retired = desk.retire_piece(tag, desk.piece_etag(tag))
    restored = desk.restore_piece(tag)

    assert changed["length_m"] == 25
    assert refused.value.status == 412
    assert refused.value.problem["changes"][0]["more"]["changed"]["length_m"]["now"] == 25
    assert (retired["state"], restored["piece"]["state"]) == ("retired", "in-service")


def test_lists_files_and_labels(desk: Client, tag: str) -> None:
    withdrawn = f"W-{uuid.uuid4().hex[:8]}"
    desk.add_piece(a_body_piece(withdrawn, tested_on=None))
    assert [piece["tag"] for piece in desk.equipment(q=tag)] == [tag]
    assert withdrawn in [piece["tag"] for piece in desk.equipment_due()]
    desk.withdraw(withdrawn, "smells")
    assert withdrawn not in [piece["tag"] for piece in desk.equipment_due()]

    file = desk.export_equipment(q=tag)
    assert desk.import_equipment(file, dry_run=True)["unchanged"] == 1
    assert desk.import_equipment(file)["unchanged"] == 1
    with pytest.raises(Refused) as refused:
        desk.import_equipment(b"tag,kind\nX-1,cabel\n")
    assert (refused.value.errors[0]["line"], refused.value.errors[0]["column"]) == (2, 2)
    assert "line 2, column 2: " in str(refused.value)
    assert desk.equipment_labels([tag], "letter", skip=3).startswith(b"%PDF")
    assert list(desk.equipment_uneven()) == []


def test_a_layout_takes_a_tagged_feeder_from_its_record(desk: Client, tag: str) -> None:
    body = a_body()
    body["boards"][0]["feeder"] = {"tag": tag}

    assert desk.balance(body)["boards"][0]["feeder"]["length_m"] == 30
    with Client(desk.base_url) as public, pytest.raises(Refused):
        public.balance(body)
