"""Photos of equipment: sent as they are, kept as new pictures, shown to the desk only."""

from __future__ import annotations

from typing import Any

from flask import Response, request, url_for

from evenboard.api.access import DESK, caller, may
from evenboard.api.answer import as_json, json_bytes, moment
from evenboard.api.etag import TAGGED, tagged
from evenboard.api.idempotency import IDEMPOTENCY_KEY, once
from evenboard.api.problem import Problem
from evenboard.api.reader import raw_body
from evenboard.api.schemas.equipment_answers import PhotoListSchema, PhotoSchema
from evenboard.api.spec import Blueprint
from evenboard.api.state import state
from evenboard.api.writing import say
from evenboard.desk.photos import TYPES, PhotoInvalid, remade
from evenboard.store import Session, equipment, photos
from evenboard.store.photos import KeptPhoto

__all__ = ["blueprint"]

MOST_PHOTOS = 500
"""Of one piece: more is a program run wild (estimate)."""
_BINARY = {"schema": {"type": "string", "format": "binary"}}

blueprint = Blueprint("equipment-photos", __name__, description="Photos of equipment")


@blueprint.post("/v1/equipment/<path:tag>/photos")
@may(DESK)
@blueprint.response(201, PhotoSchema)
@blueprint.refuses(404, 409, 413, 415, 422)
@blueprint.doc(
    parameters=[IDEMPOTENCY_KEY],
    requestBody={"required": True, "content": dict.fromkeys(TYPES, _BINARY)},
)
def add_photo(tag: str) -> Response:
    """Keep a photo of a piece: a JPEG, PNG or WebP picture as the body.

    It is kept as a new JPEG of at most 2048 dots a side, without what the camera wrote into the
    file beside the picture, such as where it was taken. Name its id in an inspection.
    """
    if request.mimetype not in TYPES:
        raise Problem(
            415,
            f"The body must be a picture: {', '.join(TYPES)}.",
            headers={"Accept-Post": ", ".join(TYPES)},
        )
    data = raw_body(request, state().config.max_photo_bytes)
    with state().store.reading() as session:
        equipment.get(session, tag)
    try:
        # Decoded before the store's lock is taken, since it takes longest.
        made = remade(data)
    except PhotoInvalid as error:
        raise Problem(422, str(error), kind="invalid-photo") from None

    def create(session: Session) -> Response:
        if photos.count(session, tag) >= MOST_PHOTOS:
            raise Problem(409, f"There are {MOST_PHOTOS} photos of {tag} already.")
        kept = photos.add(
            session,
            tag,
            content=made.content,
            media_type=made.media_type,
            width=made.width,
            height=made.height,
            by=caller().name,
        )
        say(f"Added a photo of equipment {tag}.")
        response = as_json(_document(kept), status=201)
        response.headers["Location"] = _url(kept)
        return response

    return once(create)


@blueprint.get("/v1/equipment/<path:tag>/photos")
@may(DESK)
@blueprint.response(200, PhotoListSchema, headers=TAGGED)
@blueprint.refuses(404)
def piece_photos(tag: str) -> Response:
    """List the photos of a piece, the latest first."""
    with state().store.reading() as session:
        equipment.get(session, tag)
        found = photos.listing(session, tag)
    return tagged(json_bytes({"items": [_document(kept) for kept in found], "next_cursor": None}))


@blueprint.get("/v1/equipment/<path:tag>/photos/<photo_id>")
@may(DESK)
@blueprint.response(200, _BINARY["schema"], content_type="image/jpeg", headers=TAGGED)
@blueprint.refuses(404)
def photo(tag: str, photo_id: str) -> Response:
    """Show a photo of a piece."""
    with state().store.reading() as session:
        content, media_type = photos.content(session, tag, photo_id)
    response = tagged(content, media_type)
    # A picture and nothing else, whoever opens it by itself.
    response.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    response.headers["Cache-Control"] = "private, no-cache"
    return response


def _url(kept: KeptPhoto) -> str:
    return url_for("equipment-photos.photo", tag=kept.tag, photo_id=kept.id)


def _document(kept: KeptPhoto) -> dict[str, Any]:
    return {
        "id": kept.id,
        "at": moment(kept.at),
        "by": kept.by,
        "media_type": kept.media_type,
        "width_px": kept.width,
        "height_px": kept.height,
        "url": _url(kept),
    }
