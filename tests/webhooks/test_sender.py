"""Messages reach a receiver that fails, dies or redirects; on both databases."""

from __future__ import annotations

import socket
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import update

from evenboard.store import Store, deliveries, webhooks
from evenboard.store.deliveries import Delivery
from evenboard.store.rows_orders import DeliveryRow
from evenboard.webhooks import Sender, posting
from evenboard.webhooks import sender as sending
from evenboard.webhooks.address import Target
from support.ports import free_port
from support.receiver import receiving, wait_until
from support.stores import Interrupted, interrupted

INSIDE = {"127.0.0.1"}
LONG = timedelta(minutes=1)


@pytest.fixture
def store(database_url: str) -> Iterator[Store]:
    made = Store(database_url)
    made.migrate()
    yield made
    made.close()


def a_message(store: Store, url: str, body: str = '{"type":"ping"}') -> tuple[str, str, str]:
    """A webhook with one message: its id, its secret, the message's id."""
    with store.writing() as session:
        webhook = webhooks.add(session, "orders", url, "test desk")
        return webhook.id, webhook.secret, deliveries.add(session, webhook.id, "ping", body)


def send(store: Store, times: int = 1) -> None:
    sender = Sender(store, INSIDE)
    with ThreadPoolExecutor(2) as pool:
        for _ in range(times):
            sender.send_due(pool)


def read(store: Store, webhook_id: str, delivery_id: str) -> Delivery:
    with store.reading() as session:
        return deliveries.get(session, webhook_id, delivery_id)


def make_due(store: Store) -> None:
    with store.writing() as session:
        session.execute(update(DeliveryRow).values(next_at=datetime.now(UTC)))


def test_a_message_arrives_signed_and_byte_by_byte(store: Store) -> None:
    body = '{"type":"ping","data":"夏 🎬"}'
    with receiving() as receiver:
        webhook_id, secret, delivery_id = a_message(store, receiver.url, body)

        send(store)

    [came] = receiver.came
    assert came.body == body.encode()
    assert came.id == delivery_id
    assert came.signed_by(secret)
    assert not came.signed_by("whsec_" + secret[10:] + "AAAA")
    assert abs(int(came.headers["webhook-timestamp"]) - time.time()) < 60
    assert came.headers[":path"] == "/hooks?from=desk"
    assert came.headers["host"] == receiver.url.split("/")[2]
    told = read(store, webhook_id, delivery_id)
    assert (told.status, told.attempts, told.answer) == ("delivered", 1, "Answered 204.")
    assert told.delivered_at is not None


def test_a_receiver_that_fails_is_told_again_later_and_then_no_more(store: Store) -> None:
    with receiving(500, 503) as receiver:
        webhook_id, secret, delivery_id = a_message(store, receiver.url)
        begun = datetime.now(UTC)

        send(store, times=3)
        first = read(store, webhook_id, delivery_id)
        for _ in range(4):
            make_due(store)
            send(store)

    assert (first.status, first.attempts, first.answer) == ("waiting", 1, "Answered 500.")
    assert first.next_at is not None
    # The first wait, 5 s give or take a tenth, from a moment within this test.
    assert timedelta(seconds=4) < first.next_at - begun < timedelta(seconds=60)
    assert [came.id for came in receiver.came] == [delivery_id] * 3
    assert all(came.signed_by(secret) for came in receiver.came)
    assert read(store, webhook_id, delivery_id).status == "delivered"


def test_nobody_there_is_a_failed_try_and_after_the_last_one_it_can_be_sent_by_hand(
    store: Store,
) -> None:
    url = f"http://127.0.0.1:{free_port()}/"
    webhook_id, _, delivery_id = a_message(store, url)
    with store.writing() as session:
        session.execute(update(DeliveryRow).values(attempts=len(sending.RETRY_S)))

    send(store)

    told = read(store, webhook_id, delivery_id)
    assert (told.status, told.next_at) == ("given-up", None)
    assert str(told.answer).startswith("No answer: ")
    with store.writing() as session:
        again = deliveries.resend(session, webhook_id, delivery_id)
    assert (again.status, again.attempts) == ("waiting", 0)


def test_it_is_tried_for_days() -> None:
    assert sum(sending.RETRY_S) > timedelta(days=4).total_seconds()
    assert sorted(sending.RETRY_S) == list(sending.RETRY_S)


def test_a_redirect_is_not_followed(store: Store) -> None:
    with receiving(307) as receiver:
        webhook_id, _, delivery_id = a_message(store, receiver.url)
        send(store)

    assert len(receiver.came) == 1
    assert "redirect" in str(read(store, webhook_id, delivery_id).answer)


def test_a_message_never_goes_inside_even_where_its_webhook_was_let_in_before(store: Store) -> None:
    with receiving() as receiver:
        webhook_id, _, delivery_id = a_message(store, receiver.url.replace("http:", "https:"))
        with ThreadPoolExecutor(1) as pool:
            Sender(store).send_due(pool)

    assert receiver.came == []
    assert "inside this network" in str(read(store, webhook_id, delivery_id).answer)


def test_a_message_is_there_with_what_it_tells_of_or_not_at_all(store: Store) -> None:
    with store.writing() as session:
        webhook = webhooks.add(session, "orders", "https://orders.example/", "desk")

    with pytest.raises(Interrupted):
        interrupted(store, lambda session: deliveries.add(session, webhook.id, "ping", "{}"))

    with store.reading() as session:
        assert deliveries.listing(session, webhook.id, limit=9) == []


def test_two_senders_never_have_the_same_message_and_a_dead_ones_are_taken_over(
    store: Store,
) -> None:
    webhook_id, _, delivery_id = a_message(store, "https://orders.example/")

    with store.writing() as session:
        first = deliveries.claim(session, "one", LONG, 5)
    with store.writing() as session:
        second = deliveries.claim(session, "two", LONG, 5)
        session.execute(update(DeliveryRow).values(leased_until=datetime.now(UTC)))
    with store.writing() as session:
        third = deliveries.claim(session, "two", LONG, 5)
        # Whoever was thought dead says that it failed: that is no longer its to say.
        deliveries.settle(session, delivery_id, "one", delivered=False, answer="late")

    assert [due.id for due in first] == [delivery_id]
    assert second == []
    assert [(due.id, due.attempt) for due in third] == [(delivery_id, 2)]
    assert read(store, webhook_id, delivery_id).answer is None


def test_a_removed_webhook_is_told_nothing_any_more(store: Store) -> None:
    with receiving() as receiver:
        webhook_id, _, delivery_id = a_message(store, receiver.url)
        with store.writing() as session:
            webhooks.remove(session, webhook_id)
            late = deliveries.add(session, webhook_id, "ping", "{}")
        send(store, times=2)

    assert receiver.came == []
    assert read(store, webhook_id, delivery_id).status == "cancelled"
    assert read(store, webhook_id, late).status == "cancelled"


def test_the_thread_sends_when_it_is_woken_and_ends_when_it_is_told(store: Store) -> None:
    sender = Sender(store, INSIDE)
    sender.start()
    with receiving() as receiver:
        a_message(store, receiver.url)
        sender.wake()
        wait_until(lambda: receiver.came, 20)
    sender.stop()

    assert sender._thread is not None
    assert not sender._thread.is_alive()


def test_a_receiver_that_dawdles_is_cut_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(posting, "DEADLINE_S", 0.3)
    with socket.create_server(("127.0.0.1", 0)) as server:
        target = Target("http", "127.0.0.1", server.getsockname()[1], "/", "127.0.0.1")
        begun = time.monotonic()

        with pytest.raises(OSError):
            posting.post(target, b"{}", {})

    # Far below the socket's own ten seconds.
    assert time.monotonic() - begun < 5.0


def test_a_secret_is_in_no_log(store: Store) -> None:
    with store.writing() as session:
        webhook: Any = webhooks.add(session, "orders", "https://orders.example/", "desk")

    assert webhook.secret not in repr(webhook)
