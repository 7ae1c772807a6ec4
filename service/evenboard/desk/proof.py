"""What proves a report: canonical content, its hash, a signature over it, keys that all may have.

The content is put into canonical form by RFC 8785 (JCS), hashed with SHA-256, and the canonical
bytes are signed with Ed25519 (RFC 8032). Keys are shown as JWK (RFC 8037) and named by their
thumbprint (RFC 7638), so that whoever has the content can check it with common tools.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
from typing import Any

import rfc8785
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from evenboard.store import Session, signing
from evenboard.store.reports import Report
from evenboard.store.signing import SigningKey

__all__ = [
    "canonical",
    "key_in_force",
    "new_key",
    "opens",
    "public_jwk",
    "sha256",
    "sign",
    "statement",
    "verifies",
]

_OPENS = b"evenboard: the link to a report's paper"


def canonical(content: Any) -> bytes:
    """The bytes of JSON values in canonical form (RFC 8785).

    Raises
    ------
    ValueError
        If a number is not finite, or a whole one beyond 2^53.
    """
    return rfc8785.dumps(content)


def sha256(data: bytes) -> str:
    """SHA-256 of bytes, 64 hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()


def new_key() -> tuple[str, str, str]:
    """A new key: its id, the public and the private half, base64url."""
    private = Ed25519PrivateKey.generate()
    public_key = _text(private.public_key().public_bytes_raw())
    return _thumbprint(public_key), public_key, _text(private.private_bytes_raw())


def key_in_force(session: Session, by: str) -> SigningKey:
    """The key that signs, made where there is none yet; the session must be one that writes."""
    return signing.in_force(session) or signing.add(session, *new_key(), by)


def sign(key: SigningKey, data: bytes) -> str:
    """The signature over bytes: 64 bytes, base64url."""
    return _text(Ed25519PrivateKey.from_private_bytes(_bytes(key.private_key)).sign(data))


def statement(report: Report) -> dict[str, Any]:
    """What goes with the content: its hash, the signature over its bytes, where to ask."""
    return {
        "report_id": report.id,
        "canonical_form": "RFC 8785",
        "content_sha256": report.content_sha256,
        "signature": {"alg": "EdDSA", "key_id": report.key_id, "value": report.signature},
        "verify_url": report.verify_url,
    }


def verifies(public_key: str, signature: str, data: bytes) -> bool:
    """Whether the signature over these bytes is that of the key."""
    try:
        Ed25519PublicKey.from_public_bytes(_bytes(public_key)).verify(_bytes(signature), data)
    except (InvalidSignature, ValueError):
        return False
    return True


def public_jwk(key: SigningKey) -> dict[str, Any]:
    """The public half as RFC 8037 has it."""
    return {
        "kty": "OKP",
        "crv": "Ed25519",
        "x": key.public_key,
        "kid": key.id,
        "use": "sig",
        "alg": "EdDSA",
    }


def opens(key: SigningKey, report_id: str) -> str:
    """The word that opens a report's paper in a browser, which sends no key of the desk.

    It follows from the private half of the key that signed the report and from the report's id, so
    it needs no place of its own, and the id alone, which the paper's QR code tells, opens nothing.
    """
    secret = HKDF(SHA256(), 32, None, _OPENS).derive(_bytes(key.private_key))
    return _text(hmac.digest(secret, report_id.encode(), "sha256")[:16])


def _thumbprint(public_key: str) -> str:
    members = {"crv": "Ed25519", "kty": "OKP", "x": public_key}
    text = json.dumps(members, sort_keys=True, separators=(",", ":"))
    return _text(hashlib.sha256(text.encode()).digest())


def _text(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).decode().rstrip("=")


def _bytes(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))
