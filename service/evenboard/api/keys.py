"""``/v1/keys``: the keys of the rental desk. The first is made on the command line."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

from flask import Response, url_for

from evenboard.api.access import DESK, may
from evenboard.api.answer import as_json, json_bytes, moment
from evenboard.api.etag import IF_MATCH, TAGGED, require_match, tag, tagged
from evenboard.api.idempotency import IDEMPOTENCY_KEY, once
from evenboard.api.problem import invalid_body
from evenboard.api.schemas.access import (
    KeyBodySchema,
    KeyListSchema,
    KeySchema,
    NewKeySchema,
)
from evenboard.api.spec import Blueprint
from evenboard.api.state import state
from evenboard.api.writing import say, writing
from evenboard.intake import Fault
from evenboard.store import Session, keys
from evenboard.store.keys import DeskKey

__all__ = ["blueprint"]

blueprint = Blueprint("keys", __name__, description="Keys of the rental desk")


@blueprint.get("/v1/keys")
@may(DESK)
@blueprint.response(200, KeyListSchema, headers=TAGGED)
def desk_keys() -> Response:
    """List all keys, without their secrets, those that are over too."""
    with state().store.reading() as session:
        found = keys.listing(session)
    return tagged(json_bytes({"items": [_document(key) for key in found], "next_cursor": None}))


@blueprint.post("/v1/keys")
@may(DESK)
@blueprint.arguments(KeyBodySchema)
@blueprint.response(201, NewKeySchema)
@blueprint.doc(parameters=[IDEMPOTENCY_KEY])
def add_key(body: dict[str, Any]) -> Response:
    """Make a key. Its secret is shown this once."""
    _check_end(body.get("expires_at"))

    def create(session: Session) -> Response:
        key, secret = keys.create(session, body["name"], body.get("expires_at"))
        say(f"Made key {key.id}, {key.name}.")
        response = as_json(_document(key) | {"secret": secret}, status=201)
        response.headers["Location"] = url_for("keys.desk_key", key_id=key.id)
        return response

    return once(create, kept=lambda answer: json_bytes(json.loads(answer) | {"secret": None}))


@blueprint.get("/v1/keys/<key_id>")
@may(DESK)
@blueprint.response(200, KeySchema, headers=TAGGED)
@blueprint.refuses(404)
def desk_key(key_id: str) -> Response:
    """Show one key, without its secret."""
    with state().store.reading() as session:
        return tagged(_bytes(keys.get(session, key_id)))


@blueprint.put("/v1/keys/<key_id>")
@may(DESK)
@blueprint.arguments(KeyBodySchema)
@blueprint.response(200, KeySchema, headers=TAGGED)
@blueprint.refuses(404, 412, 428)
@blueprint.doc(parameters=[IF_MATCH])
def change_key(body: dict[str, Any], key_id: str) -> Response:
    """Give a key another name and end; without `expires_at` it has no end."""
    with writing() as session:

        def check(key: DeskKey) -> None:
            require_match(tag(_bytes(key)))
            if body.get("expires_at") != key.expires_at:
                _check_end(body.get("expires_at"))

        key = keys.change(session, key_id, body["name"], body.get("expires_at"), check)
        say(f"Changed key {key.id}, {key.name}.")
    return tagged(_bytes(key))


@blueprint.delete("/v1/keys/<key_id>")
@may(DESK)
@blueprint.response(200, KeySchema)
@blueprint.refuses(404)
def revoke_key(key_id: str) -> Response:
    """Make a key useless from now on; it stays in the list."""
    with writing() as session:
        key = keys.revoke(session, key_id)
        say(f"Revoked key {key.id}, {key.name}.")
    return as_json(_document(key))


def _check_end(expires_at: datetime | None) -> None:
    if expires_at is not None and expires_at <= (now := datetime.now(UTC)):
        detail = f"This is past: it is {moment(now)} here. To end a key at once, revoke it."
        raise invalid_body([Fault("/expires_at", detail)])


def _bytes(key: DeskKey) -> bytes:
    return json_bytes(_document(key))


def _document(key: DeskKey) -> dict[str, Any]:
    return {
        "id": key.id,
        "name": key.name,
        "created_at": moment(key.created_at),
        "expires_at": None if key.expires_at is None else moment(key.expires_at),
        "revoked_at": None if key.revoked_at is None else moment(key.revoked_at),
    }
