"""The desk's keys."""

from __future__ import annotations

import pytest
from sqlalchemy import text

from evenboard.store import Store, keys
from evenboard.store.errors import NotThere


def test_a_key_is_recognised_by_its_secret_until_it_is_revoked(store: Store) -> None:
    with store.writing() as session:
        key, secret = keys.create(session, "front desk")

    with store.reading() as session:
        assert keys.holder(session, secret) == key
    with store.writing() as session:
        keys.revoke(session, key.id)
    with store.reading() as session:
        assert keys.holder(session, secret) is None


def test_no_column_of_the_store_holds_the_secret(store: Store) -> None:
    with store.writing() as session:
        _, secret = keys.create(session, "front desk")

    with store.reading() as session:
        row = session.execute(text("SELECT * FROM desk_key")).one()
    assert not any(secret in str(value) or secret[4:20] in str(value) for value in row)


def test_a_secret_has_256_random_bits_and_a_prefix_for_scanners(store: Store) -> None:
    with store.writing() as session:
        secrets = {keys.create(session, "desk")[1] for _ in range(20)}

    # 32 bytes are 43 characters of base64 without padding.
    assert {len(secret) for secret in secrets} == {len("evb_") + 43}
    assert all(secret.startswith("evb_") for secret in secrets)
    assert len(secrets) == 20


def test_revoked_keys_stay_in_the_list_and_keep_their_first_date(store: Store) -> None:
    with store.writing() as session:
        key, _ = keys.create(session, "lent out")
    with store.writing() as session:
        first = keys.revoke(session, key.id)
    with store.writing() as session:
        again = keys.revoke(session, key.id)

    with store.reading() as session:
        [listed] = keys.listing(session)
    assert listed == first == again
    assert listed.revoked_at is not None


def test_an_unknown_key_cannot_be_revoked(store: Store) -> None:
    with pytest.raises(NotThere, match="abcd"), store.writing() as session:
        keys.revoke(session, "abcd")


@pytest.mark.parametrize("secret", ["", "evb_", "x" * 10_000, "é"])
def test_a_wrong_secret_has_no_holder(store: Store, secret: str) -> None:
    with store.writing() as session:
        keys.create(session, "desk")

    with store.reading() as session:
        assert keys.holder(session, secret) is None
