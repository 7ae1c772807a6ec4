"""The access matrix: every route of the URL map, called as every kind of caller.

A new route fails here until it says who may (``@may``) and stands in ``access.txt``.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from werkzeug.routing import Rule

from evenboard.api import create_app
from evenboard.api.access import CREW, DESK, PLUG, PUBLIC, READ, Role, rule_of
from evenboard.store import keys, layouts, links
from evenboard.store.audit import Who
from support.callers import bearer, headers_of
from support.layouts import a_body
from support.problems import assert_problem

TABLE = Path(__file__).parent / "access.txt"
ORDER = "order-1"
NOBODY = Who("desk", "", "test")


@dataclass(frozen=True)
class Callers:
    """An application, a layout of an order in it, and somebody of every role."""

    app: Flask
    layout_id: str
    headers: dict[Role, dict[str, str]]
    strangers: dict[Role, dict[str, str]]
    """The same roles, of another order and another layout."""


@pytest.fixture(scope="module")
def callers(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callers]:
    folder = str(tmp_path_factory.mktemp("access"))
    app = create_app({"EVENBOARD_DATA": folder, "EVENBOARD_REQUESTS_PER_MINUTE": "0"})
    mine, other = a_layout(app, ORDER), a_layout(app, "order-2")
    links_of = (CREW, READ, PLUG)
    yield Callers(
        app,
        mine,
        {role: headers_of(app, role, order_ref=ORDER, layout_id=mine) for role in Role},
        {role: headers_of(app, role, order_ref="order-2", layout_id=other) for role in links_of},
    )
    app.extensions["evenboard"].store.close()


def a_layout(app: Flask, order_ref: str) -> str:
    with app.extensions["evenboard"].store.writing() as session:
        saved = layouts.add(
            session, name="a", order_ref=order_ref, body=a_body(), burning=None, who=NOBODY, by="a"
        )
    return saved.id


def routes(app: Flask) -> list[tuple[str, Rule]]:
    return [
        (method, rule)
        for rule in sorted(app.url_map.iter_rules(), key=lambda rule: rule.rule)
        for method in sorted((rule.methods or set()) - {"HEAD", "OPTIONS"})
    ]


def path_of(rule: Rule, callers: Callers) -> str:
    """A path of that rule: about the layout and the order that the callers belong to."""
    known = {"layout_id": callers.layout_id, "order_ref": ORDER, "folder": "js"}
    values: dict[str, object] = {}
    for name, converter in rule._converters.items():
        number = type(converter).__name__ == "IntegerConverter"
        values[name] = 7 if number else known.get(name, "none-of-that-name")
    built = rule.build(values)
    assert built is not None
    return built[1]


SOUND: dict[str, dict[str, Any]] = {
    "/v1/layouts/<layout_id>/changes": {"changes": [{"op": "burning", "was": None, "to": None}]},
    "/v1/layouts/<layout_id>/readings": {"phases": {"L1": 8.7}},
}
"""Sound bodies of what a link may post, so that a stranger's is not refused for its faults."""


def called(callers: Callers, method: str, rule: Rule, headers: dict[str, str]) -> int:
    client = callers.app.test_client()
    sent = SOUND.get(rule.rule, {}) if method in ("POST", "PUT", "PATCH") else None
    path = path_of(rule, callers)
    return int(client.open(path, method=method, json=sent, headers=headers).status_code)


def test_every_route_says_who_may(callers: Callers) -> None:
    without = [
        f"{method} {rule.rule}"
        for method, rule in routes(callers.app)
        if rule_of(callers.app.view_functions[rule.endpoint]) is None
    ]

    assert not without, "these routes lack @may(…)"


def test_every_route_lets_through_whom_the_table_names(callers: Callers) -> None:
    lines = TABLE.read_text(encoding="utf-8").splitlines()
    told = {line for line in lines if line and not line.startswith("#")}

    found = {
        f"{method:6} {rule.rule}  {', '.join(r for r in Role if r in (who or ()))}"
        for method, rule in routes(callers.app)
        if not rule.endpoint.startswith("web.")
        for who in [rule_of(callers.app.view_functions[rule.endpoint])]
    }

    # A line that is missing or too many: either the table or the view's @may is wrong.
    assert found == told


@pytest.mark.parametrize("role", list(Role))
def test_who_may_not_is_refused_and_who_may_is_not(callers: Callers, role: Role) -> None:
    wrong = []
    for method, rule in routes(callers.app):
        allowed = rule_of(callers.app.view_functions[rule.endpoint]) or frozenset()
        status = called(callers, method, rule, callers.headers[role])
        if PUBLIC in allowed or role in allowed:
            right = status not in (401, 403) and status < 500
        else:
            right = status == (401 if role is PUBLIC else 403)
        if not right:
            wrong.append(f"{role}: {method} {rule.rule} -> {status}")

    assert not wrong


@pytest.mark.parametrize("role", [CREW, READ, PLUG])
def test_a_link_opens_nothing_of_another_order_or_layout(callers: Callers, role: Role) -> None:
    about = ("layout_id", "order_ref")
    wrong = []
    for method, rule in routes(callers.app):
        allowed = rule_of(callers.app.view_functions[rule.endpoint]) or frozenset()
        if role in allowed and any(name in rule.arguments for name in about):
            status = called(callers, method, rule, callers.strangers[role])
            # Not "forbidden": that would tell that there is such a thing.
            if status != 404:
                wrong.append(f"{role}: {method} {rule.rule} -> {status}")

    assert not wrong


def test_a_secret_that_is_over_or_revoked_opens_nothing(callers: Callers) -> None:
    now = datetime.now(UTC)
    with callers.app.extensions["evenboard"].store.writing() as session:
        over = keys.create(session, "over", now - timedelta(seconds=1))[1]
        key, revoked = keys.create(session, "revoked")
        keys.revoke(session, key.id)
        options = {"layout_id": callers.layout_id, "created_by": "test"}
        old = links.create(session, "old", "plug", expires_at=now, **options)[1]  # type: ignore[arg-type]
        later = now + timedelta(days=1)
        link, gone = links.create(session, "gone", "plug", expires_at=later, **options)  # type: ignore[arg-type]
        links.revoke(session, link.id)

    for secret in (over, revoked, old, gone, "evl_", "evb_", "é", "x" * 5000):
        for method, rule in routes(callers.app):
            allowed = rule_of(callers.app.view_functions[rule.endpoint]) or frozenset()
            if PUBLIC not in allowed:
                assert called(callers, method, rule, bearer(secret)) == 401


def test_a_refusal_names_what_would_be_right(callers: Callers) -> None:
    client = callers.app.test_client()

    stranger = assert_problem(client.post("/v1/fixtures", json={}), 401)
    crew = client.post("/v1/fixtures", json={}, headers=callers.headers[CREW])

    assert "the rental desk's key" in stranger["detail"]
    assert "the rental desk's key" in assert_problem(crew, 403)["detail"]


@pytest.mark.parametrize("path", ["layouts/%00", "layouts/a%00/events", "orders/a%00", "keys/%01"])
def test_a_control_character_in_an_address_names_nothing(app_on_both: Flask, path: str) -> None:
    response = app_on_both.test_client().get(f"/v1/{path}", headers=headers_of(app_on_both, DESK))

    assert_problem(response, 404)


def test_a_forged_cursor_with_a_control_character_is_refused(app_on_both: Flask) -> None:
    client, desk = app_on_both.test_client(), headers_of(app_on_both, DESK)
    for _ in range(2):
        client.post("/v1/layouts", json={"body": a_body()}, headers=desk)
    cursor = client.get("/v1/layouts?limit=1", headers=desk).json["next_cursor"]
    mark, place, last = json.loads(base64.urlsafe_b64decode(cursor + "=="))
    text = json.dumps([mark, place, f"{last}\0"]).encode()
    forged = base64.urlsafe_b64encode(text).decode().rstrip("=")

    response = client.get(f"/v1/layouts?limit=1&cursor={forged}", headers=desk)

    assert_problem(response, 422)
