"""Headers of a message, by the Standard Webhooks specification 1.0.

The receiver computes HMAC-SHA256 over ``id.timestamp.body`` with the secret's bytes (base64 behind
``whsec_``) and compares; an old timestamp is an old message sent again by somebody else.
"""

from __future__ import annotations

import base64
import hmac
from datetime import datetime

from evenboard.store.webhooks import SECRET_PREFIX

__all__ = ["headers"]


def headers(message_id: str, at: datetime, body: bytes, secret: str) -> dict[str, str]:
    """The headers of a message that is sent at that moment."""
    timestamp = str(int(at.timestamp()))
    signed = b".".join((message_id.encode(), timestamp.encode(), body))
    key = base64.b64decode(secret.removeprefix(SECRET_PREFIX))
    digest = base64.b64encode(hmac.digest(key, signed, "sha256")).decode()
    return {
        "Content-Type": "application/json",
        "User-Agent": "evenboard-webhook/1",
        "webhook-id": message_id,
        "webhook-timestamp": timestamp,
        "webhook-signature": f"v1,{digest}",
    }
