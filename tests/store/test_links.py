"""Links and the trail, on both databases."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from evenboard.store import Store, audit, keys, links
from evenboard.store.audit import Who
from evenboard.store.errors import NotThere
from evenboard.store.links import Link

SOON = datetime.now(UTC) + timedelta(days=1)
DESK = Who("desk", "ab12cd34", "front desk")


def a_link(store: Store, **changes: Any) -> tuple[Link, str]:
    values: dict[str, Any] = {"order_ref": "A/12", "created_by": "desk", "expires_at": SOON}
    with store.writing() as session:
        return links.create(session, "night crew", changes.pop("may", "crew"), **values | changes)


def test_a_link_is_recognised_by_its_secret_until_it_is_revoked(store: Store) -> None:
    link, secret = a_link(store)

    with store.reading() as session:
        assert links.holder(session, secret) == link
    with store.writing() as session:
        links.revoke(session, link.id)
    with store.reading() as session:
        assert links.holder(session, secret) is None
        [listed] = links.listing(session, order_ref="A/12")
    assert listed.revoked_at is not None


def test_a_link_opens_nothing_after_its_end(store: Store) -> None:
    _, secret = a_link(store, expires_at=datetime.now(UTC) - timedelta(seconds=1))

    with store.reading() as session:
        assert links.holder(session, secret) is None


def test_a_key_with_an_end_is_useless_after_it(store: Store) -> None:
    past, soon = datetime.now(UTC) - timedelta(seconds=1), SOON
    with store.writing() as session:
        _, over = keys.create(session, "over", past)
        key, secret = keys.create(session, "good", soon)

    with store.reading() as session:
        assert keys.holder(session, over) is None
        assert keys.holder(session, secret) == key


def test_a_key_is_given_another_name_and_end(store: Store) -> None:
    with store.writing() as session:
        key, secret = keys.create(session, "front desk")
    seen: list[object] = []

    with store.writing() as session:
        changed = keys.change(session, key.id, "back desk", SOON, seen.append)

    assert seen == [key]
    assert (changed.name, changed.expires_at) == ("back desk", SOON)
    with store.reading() as session:
        assert keys.holder(session, secret) == changed


def test_no_column_of_the_store_holds_the_secret_of_a_link(store: Store) -> None:
    _, secret = a_link(store)

    with store.reading() as session:
        row = session.execute(text("SELECT * FROM link")).one()
    assert secret.startswith("evl_")
    # 32 bytes are 43 characters of base64 without padding.
    assert len(secret) == len("evl_") + 43
    assert not any(secret in str(value) or secret[4:20] in str(value) for value in row)


def test_a_link_opens_an_order_or_a_layout_and_never_both(store: Store) -> None:
    with pytest.raises(IntegrityError):
        a_link(store, layout_id="none", may="read")
    with pytest.raises(IntegrityError):
        a_link(store, order_ref=None)


def test_an_unknown_link_cannot_be_revoked(store: Store) -> None:
    with pytest.raises(NotThere, match="abcd"), store.writing() as session:
        links.revoke(session, "abcd")


def test_the_trail_is_read_from_the_latest_back(store: Store) -> None:
    for i in range(5):
        with store.writing() as session:
            who = DESK if i % 2 else Who("plug-link", "ff00ff00", "phones")
            audit.record(session, who, "POST", f"/v1/layouts/{i}", f"Did {i}.")

    with store.reading() as session:
        first = audit.listing(session, limit=2)
        rest = audit.listing(session, limit=10, before=first[-1].id)
        of_desk = audit.listing(session, limit=10, caller="ab12cd34")
        at = audit.listing(session, limit=10, path="/v1/layouts/3")
        wild = audit.listing(session, limit=10, path="%")
    assert [line.what for line in (*first, *rest)] == [f"Did {i}." for i in (4, 3, 2, 1, 0)]
    assert [line.what for line in of_desk] == ["Did 3.", "Did 1."]
    assert [(line.method, line.who) for line in at] == [("POST", DESK)]
    assert list(wild) == []


def test_the_trail_keeps_what_fits(store: Store) -> None:
    with store.writing() as session:
        audit.record(session, DESK, "PUT", "/v1/" + "x" * 5000, "y" * 5000)

    with store.reading() as session:
        [line] = audit.listing(session, limit=1)
    assert (len(line.path), len(line.what)) == (1000, 1000)
