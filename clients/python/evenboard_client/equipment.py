"""The desk's equipment by asset tag: recorded, handed out, looked over, tested, printed."""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from evenboard_client.calls import Calls, Json, part

__all__ = ["EquipmentCalls"]


class EquipmentCalls(Calls):
    """Methods of the client about equipment; all of them want the desk's key.

    What happens to a piece is answered with ``piece`` (as it is now), ``event`` and ``warnings``.
    Where it cannot happen, :class:`~evenboard_client.Refused` has ``status`` 409 and the reasons in
    ``problem["reasons"]``. Each takes ``by``, and an ``idempotency_key`` to repeat it later.
    """

    def equipment(self, **filters: Any) -> Iterator[Json]:
        """All pieces by tag; ``filters``: ``q``, ``kind``, ``state``, ``order_ref``, ``due_by``."""
        return self._pages("/v1/equipment", filters)

    def equipment_due(self, within_days: int = 14) -> Iterator[Json]:
        """Pieces due for a test so soon, the longest overdue first."""
        return self._pages("/v1/equipment-due", {"within_days": within_days})

    def equipment_uneven(self, least_kh: int | None = None) -> Iterator[Json]:
        """Cables by core spread times hours, the worst first; those likely to deform by default."""
        return self._pages("/v1/equipment-uneven", {"least_kh": least_kh})

    def piece(self, tag: str) -> Json:
        """A piece as it is now."""
        return self._json("GET", _path(tag))

    def piece_etag(self, tag: str) -> str:
        """The tag of a piece's answer as it is now, for a change against just that."""
        return self._etag(_path(tag))

    def piece_history(self, tag: str) -> Json:
        """All that happened to a piece: ``events``, ``orders``, ``spread_kh``."""
        return self._json("GET", _path(tag, "history"))

    def add_piece(self, piece: Mapping[str, Any], *, idempotency_key: str | None = None) -> Json:
        """Put a piece on the list: ``tag``, ``kind`` and what else is known of it."""
        return self._post("/v1/equipment", piece, idempotency_key)

    def change_piece(self, tag: str, record: Mapping[str, Any], etag: str) -> Json:
        """Write the record of a piece anew, whole."""
        return self._put(_path(tag), record, etag)

    def retire_piece(self, tag: str, etag: str) -> Json:
        """Take a piece out of the stock; its history is kept."""
        return self._json("DELETE", _path(tag), headers={"If-Match": etag})

    def restore_piece(self, tag: str, **fields: Any) -> Json:
        """Take a retired piece back into the stock."""
        return self._happens(tag, "restorations", fields)

    def check_out(self, tag: str, order_ref: str, until: str | None = None, **fields: Any) -> Json:
        """Hand a piece out on an order, until a day."""
        return self._happens(tag, "check-outs", {"order_ref": order_ref, "until": until, **fields})

    def inspect(
        self,
        tag: str,
        *found: str,
        returned: bool = False,
        photos: Sequence[str] = (),
        **fields: Any,
    ) -> Json:
        """Look a piece over; nothing ``found`` is fine, anything else withdraws it at once.

        ``found``: ``deformed``, ``kinked``, ``heat-marks``, ``sheath-cut``, ``connector-burnt``,
        ``wet``, ``missing``, ``failed-test``, ``other``. ``returned`` says that it has come back.
        """
        body = {"found": list(found) or ["fine"], "returned": returned, "photos": list(photos)}
        return self._happens(tag, "inspections", {**body, **fields})

    def withdraw(self, tag: str, note: str, **fields: Any) -> Json:
        """Take a piece out of service by hand."""
        return self._happens(tag, "withdrawals", {"note": note, **fields})

    def record_cause(self, tag: str, cause: str, **fields: Any) -> Json:
        """Record what made a withdrawn piece unfit; ``unknown`` keeps it withdrawn."""
        return self._happens(tag, "causes", {"cause": cause, **fields})

    def record_test(self, tag: str, passed: bool, competent_person: str, **figures: Any) -> Json:
        """Record a test.

        ``figures``: ``continuity_ohm``, ``insulation_mohm``, ``polarity``, ``loop_impedance_ohm``,
        ``tested_on``, ``note``.
        """
        body = {"passed": passed, "competent_person": competent_person, **figures}
        return self._happens(tag, "tests", body)

    def release(self, tag: str, **fields: Any) -> Json:
        """Put a withdrawn piece back into service, its cause recorded and a test passed since."""
        return self._happens(tag, "releases", fields)

    def add_photo(
        self,
        tag: str,
        picture: bytes,
        media_type: str = "image/jpeg",
        *,
        idempotency_key: str | None = None,
    ) -> Json:
        """Keep a photo of a piece; its ``id`` goes into an inspection."""
        headers = {
            "Content-Type": media_type,
            "Idempotency-Key": f'"{idempotency_key or uuid.uuid4().hex}"',
        }
        return self._json("POST", _path(tag, "photos"), data=picture, headers=headers)

    def photos(self, tag: str) -> Sequence[Json]:
        """The photos of a piece, the latest first, without their bytes."""
        return list(self._pages(_path(tag, "photos"), {}))

    def photo(self, tag: str, photo_id: str) -> bytes:
        """The bytes of a photo, a JPEG."""
        path = _path(tag, f"photos/{part(photo_id)}")
        return self._send("GET", path, headers={"Accept": "image/jpeg"}).content

    def export_equipment(self, **filters: Any) -> bytes:
        """The pieces that fit as a CSV file, which :meth:`import_equipment` takes back."""
        headers = {"Accept": "text/csv"}
        return self._send("GET", "/v1/equipment", params=filters, headers=headers).content

    def import_equipment(self, file: bytes, *, dry_run: bool = False) -> Json:
        """Take in a CSV file, whole or, with any fault, not at all.

        A dry run changes nothing and has every fault in ``faults``, with line and column.
        """
        headers = {"Content-Type": "text/csv", "Idempotency-Key": f'"{uuid.uuid4().hex}"'}
        query = {"dry_run": "1" if dry_run else "0"}
        return self._json("POST", "/v1/equipment-imports", params=query, data=file, headers=headers)

    def equipment_labels(self, tags: Sequence[str], paper: str = "a4", skip: int = 0) -> bytes:
        """Labels with QR codes as a PDF, on ``a4`` or ``letter``, behind ``skip`` used places."""
        body = {"tags": list(tags), "paper": paper, "skip": skip}
        headers = {"Accept": "application/pdf"}
        return self._send("POST", "/v1/equipment-labels", json=body, headers=headers).content

    def _happens(self, tag: str, what: str, fields: Mapping[str, Any]) -> Json:
        body = {name: value for name, value in fields.items() if value is not None}
        return self._post(_path(tag, what), body, body.pop("idempotency_key", None))


def _path(tag: str, rest: str = "") -> str:
    return f"/v1/equipment/{part(tag)}{'/' if rest else ''}{rest}"
