"""Answers kept for repeated posts."""

from __future__ import annotations

import threading
from datetime import UTC, datetime

import pytest
from sqlalchemy import update

from evenboard.store import Store, idempotency
from evenboard.store.errors import KeyReused
from evenboard.store.idempotency import KEPT, Answer
from evenboard.store.rows import IdempotencyRow
from support.stores import Interrupted, interrupted

CREATED = Answer(201, {"Location": "/v1/fixtures/x"}, b'{"slug":"x"}')


def test_the_second_request_with_a_key_gets_the_answer_of_the_first(store: Store) -> None:
    with store.writing() as session:
        assert idempotency.claim(session, "desk", "k", "same") is None
        idempotency.keep(session, "desk", "k", CREATED)

    with store.writing() as session:
        assert idempotency.claim(session, "desk", "k", "same") == CREATED


def test_a_key_that_comes_back_with_another_request_is_refused(store: Store) -> None:
    with store.writing() as session:
        idempotency.claim(session, "desk", "k", "one")
        idempotency.keep(session, "desk", "k", CREATED)

    with pytest.raises(KeyReused), store.writing() as session:
        idempotency.claim(session, "desk", "k", "other")


def test_the_keys_of_two_callers_are_not_the_same_key(store: Store) -> None:
    with store.writing() as session:
        idempotency.claim(session, "desk", "k", "one")
        idempotency.keep(session, "desk", "k", CREATED)

    with store.writing() as session:
        assert idempotency.claim(session, "other desk", "k", "other") is None


def test_a_request_that_failed_leaves_its_key_free(store: Store) -> None:
    with pytest.raises(Interrupted):
        interrupted(store, lambda session: idempotency.claim(session, "desk", "k", "one"))

    with store.writing() as session:
        assert idempotency.claim(session, "desk", "k", "other") is None


def test_a_second_request_waits_for_the_first_and_is_not_done_twice(store: Store) -> None:
    first_has_the_key, answers, done = threading.Event(), [], []

    def request() -> None:
        with store.writing() as session:
            answer = idempotency.claim(session, "desk", "k", "same")
            if answer is None:
                first_has_the_key.set()
                done.append(True)
                idempotency.keep(session, "desk", "k", CREATED)
            answers.append(answer or CREATED)

    threads = [threading.Thread(target=request) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)

    assert first_has_the_key.is_set()
    assert done == [True]
    assert answers == [CREATED] * 6


def test_an_answer_is_forgotten_once_it_is_old(store: Store) -> None:
    with store.writing() as session:
        idempotency.claim(session, "desk", "k", "one")
        idempotency.keep(session, "desk", "k", CREATED)
        old = datetime.now(UTC) - 2 * KEPT
        session.execute(update(IdempotencyRow).values(created_at=old))

    with store.writing() as session:
        assert idempotency.claim(session, "desk", "k", "other") is None
