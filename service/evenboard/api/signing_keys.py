"""The keys that sign reports: the public halves for all, a new one by the desk."""

from __future__ import annotations

from typing import Any

import marshmallow as ma
from flask import Response
from marshmallow import fields

from evenboard.api.access import DESK, PUBLIC, caller, may
from evenboard.api.answer import as_json, json_bytes, moment
from evenboard.api.etag import TAGGED, tagged
from evenboard.api.idempotency import IDEMPOTENCY_KEY, once
from evenboard.api.schemas import told
from evenboard.api.spec import Blueprint
from evenboard.api.state import state
from evenboard.api.writing import say
from evenboard.desk import proof
from evenboard.store import Session, signing
from evenboard.store.signing import SigningKey

__all__ = ["blueprint"]

blueprint = Blueprint("signing_keys", __name__, description="Keys that sign reports")


class JwkSchema(ma.Schema):
    """A public key as RFC 8037 writes it; `kid` is its thumbprint (RFC 7638)."""

    kty = told.text("`OKP`.")
    crv = told.text("`Ed25519`.")
    x = told.text("The public key, 32 bytes, base64url.")
    kid = told.text()
    use = told.text("`sig`.")
    alg = told.text("`EdDSA`.")
    created_at = told.moment("Signed from here on.")
    retired_at = told.moment("Signed until then; null for the one in force.", nullable=True)


class JwkSetSchema(ma.Schema):
    """All keys that ever signed a report here, oldest first (RFC 7517)."""

    keys = fields.List(fields.Nested(JwkSchema), required=True)


@blueprint.get("/.well-known/jwks.json")
@may(PUBLIC)
@blueprint.response(200, JwkSetSchema, headers=TAGGED)
def public_keys() -> Response:
    """Show the public keys by which reports are verified, the retired ones too."""
    with state().store.reading() as session:
        return tagged(json_bytes({"keys": [_document(key) for key in signing.listing(session)]}))


@blueprint.post("/v1/signing-keys")
@may(DESK)
@blueprint.response(201, JwkSchema)
@blueprint.doc(parameters=[IDEMPOTENCY_KEY])
def rotate_signing_key() -> Response:
    """Make a new key that signs from now on; what the old one signed still verifies."""

    def create(session: Session) -> Response:
        key = signing.rotate(session, *proof.new_key(), caller().name)
        say(f"Made signing key {key.id}.")
        return as_json(_document(key), status=201)

    return once(create)


def _document(key: SigningKey) -> dict[str, Any]:
    return proof.public_jwk(key) | {
        "created_at": moment(key.created_at),
        "retired_at": None if key.retired_at is None else moment(key.retired_at),
    }
