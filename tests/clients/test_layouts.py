"""Shared layouts from Python, against the real service with two workers."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from evenboard_client import Client, Refused
from support.layouts import a_body, a_body_load
from support.service import desk_key, running_service

KEY_OFF = {"op": "unplug", "load": "key", "from": {"board": "main", "outlet": "l1-bottom"}}


@pytest.fixture
def saved(desk: Client) -> dict[str, Any]:
    return desk.save_layout(a_body(a_body_load(), a_body_load("fill", "l2-bottom")), name="quay")


def phone_of(desk: Client, layout_id: str) -> Client:
    link = desk.add_layout_link(layout_id, "box", may="plug")
    return Client(desk.base_url, token=link["token"])


def test_what_one_phone_does_another_hears_when_it_asks(
    desk: Client, saved: dict[str, Any]
) -> None:
    one, other = phone_of(desk, saved["id"]), phone_of(desk, saved["id"])

    one.change_layout(saved["id"], KEY_OFF, by="Ana")

    [event] = other.layout_events(saved["id"], after=saved["version"])
    assert (event["by"], event["words"]) == ("Ana", ["Unplugged key from main L1 bottom."])
    one.close()
    other.close()


def test_a_conflict_tells_both_versions(desk: Client, saved: dict[str, Any]) -> None:
    desk.change_layout(saved["id"], KEY_OFF, by="Ana")
    move = {
        "op": "move",
        "load": "key",
        "from": KEY_OFF["from"],
        "to": {"board": "main", "outlet": "l1-top"},
    }

    with pytest.raises(Refused) as refused:
        desk.change_layout(saved["id"], move)

    assert refused.value.status == 409
    [conflict] = refused.value.conflicts
    assert (conflict["yours"], conflict["now"]) == (move, None)
    assert conflict["theirs"]["by"] == "Ana"
    assert "Ana did that" in str(refused.value)


def test_an_event_is_undone_and_the_history_is_heard_to_its_end(
    desk: Client, saved: dict[str, Any]
) -> None:
    event = desk.change_layout(saved["id"], KEY_OFF)["event"]

    desk.undo(saved["id"], event)

    now = desk.layout(saved["id"])
    by_id = {load["id"]: load for load in now["body"]["loads"]}
    assert by_id == {load["id"]: load for load in saved["body"]["loads"]}
    assert [e["version"] for e in desk.layout_events(saved["id"])] == [1, 2, 3]
    assert desk.layout(saved["id"], version=2)["body"]["loads"][0] == {
        "id": "key",
        "fixture": "tungsten-open-face-2000",
    }


def test_a_whole_layout_is_replaced_listed_and_removed(desk: Client, saved: dict[str, Any]) -> None:
    etag = desk.layout_etag(saved["id"])
    desk.replace_layout(saved["id"], a_body(), etag, name="quay two", order_ref="A/12")

    with pytest.raises(Refused) as refused:
        desk.remove_layout(saved["id"], etag)

    assert refused.value.status == 412
    assert refused.value.problem["changes"][0]["kind"] == "replaced"
    assert [one["name"] for one in desk.layouts(q="quay two")] == ["quay two"]
    assert [one["id"] for one in desk.layouts(order_ref="A/12")] == [saved["id"]]
    desk.remove_layout(saved["id"], desk.layout_etag(saved["id"]))
    assert list(desk.layouts(order_ref="A/12")) == []


def test_a_crew_reads_its_order_and_posts_readings_only(desk: Client) -> None:
    order = "nacht 🎬/7"
    saved = desk.save_layout(a_body(), order_ref=order)
    link = desk.add_order_link(order, "night crew")

    with Client(desk.base_url, token=link["token"]) as crew:
        assert crew.whoami()["order_ref"] == order
        assert [one["id"] for one in crew.layouts()] == [saved["id"]]
        told = crew.add_reading(saved["id"], {"L1": 8.7, "L2": 0.0, "L3": 0.0}, 8.7, by="Ana")
        with pytest.raises(Refused) as refused:
            crew.change_layout(saved["id"], KEY_OFF)

    assert refused.value.status == 403
    assert told["fits"] is True
    assert list(desk.readings(saved["id"])) == [told]
    assert desk.reading(saved["id"], told["id"]) == told
    assert [one["name"] for one in desk.order_links(order)] == ["night crew"]
    desk.revoke_link(link["id"])
    with Client(desk.base_url, token=link["token"]) as crew, pytest.raises(Refused, match="401"):
        crew.whoami()


def test_the_balance_of_a_saved_layout_is_that_of_its_body(
    desk: Client, saved: dict[str, Any]
) -> None:
    assert desk.layout_balance(saved["id"]) == desk.balance(saved["body"])


def test_a_saved_layout_is_started_and_its_link_drawn_for_the_next_phone(
    desk: Client, saved: dict[str, Any]
) -> None:
    phone = phone_of(desk, saved["id"])

    lists = phone.layout_startup(saved["id"])

    on = [name for step in lists["start"] if step["kind"] == "lamps" for name in step["loads"]]
    assert sorted(on) == ["fill", "key"]
    assert phone.link_qr().startswith("<svg")


def test_keys_are_made_renamed_and_revoked(desk: Client) -> None:
    made = desk.add_key("back desk", expires_at="2199-01-01T00:00:00Z")
    changed = desk.change_key(made["id"], desk.key_etag(made["id"]), "side desk")

    with Client(desk.base_url, token=made["secret"]) as other:
        assert other.whoami()["name"] == "side desk"
        desk.revoke_key(made["id"])
        with pytest.raises(Refused, match="401"):
            other.whoami()

    assert changed["expires_at"] is None
    [listed] = [key for key in desk.desk_keys() if key["id"] == made["id"]]
    assert listed["revoked_at"] is not None
    told = [line["what"] for line in desk.audit(path="/v1/keys")][:3]
    assert told == [
        f"Revoked key {made['id']}, side desk.",
        f"Changed key {made['id']}, side desk.",
        f"Made key {made['id']}, back desk.",
    ]


def test_what_was_done_before_a_restart_is_known_after_it(tmp_path: Path) -> None:
    with running_service(tmp_path) as service:
        desk = Client(service.url, token=desk_key(service.environment))
        saved = desk.save_layout(a_body())
        first = desk.change_layout(saved["id"], KEY_OFF, idempotency_key="k1")
        desk.close()
        token = desk._session.headers["Authorization"]

    with running_service(tmp_path) as service:
        again = Client(service.url, token=str(token).removeprefix("Bearer "))
        # A phone whose answer was lost in the restart sends the same again.
        repeated = again.change_layout(saved["id"], KEY_OFF, idempotency_key="k1")
        heard = list(again.layout_events(saved["id"], after=1))
        again.close()

    assert repeated == first
    assert [event["version"] for event in heard] == [2]
