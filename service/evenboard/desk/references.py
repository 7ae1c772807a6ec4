"""The desk's own reference of an order: any text on one line that can stand in an address."""

from __future__ import annotations

import unicodedata

from evenboard.intake.text import is_printable

__all__ = ["MAX_REFERENCE", "ReferenceInvalid", "order_reference"]

MAX_REFERENCE = 120
"""Characters of a reference: what its column holds."""
TAKEN = ("links", "reports", "equipment", "layouts", "checks")
"""Words that follow a reference in an address and therefore cannot end one after a slash."""


class ReferenceInvalid(ValueError):
    """A text cannot be an order's reference; the message says why and what would be right."""


def order_reference(text: str) -> str:
    """A reference in its one form (Unicode NFC), so that the same text finds the same order.

    Raises
    ------
    ReferenceInvalid
        If it is empty, too long, has control characters or outer spaces, or could not be told from
        another address.
    """
    ref = unicodedata.normalize("NFC", text)
    if not 1 <= len(ref) <= MAX_REFERENCE:
        raise ReferenceInvalid(f"This must have 1 to {MAX_REFERENCE} characters.")
    if not is_printable(ref):
        raise ReferenceInvalid("This has a control character in it; text on one line is right.")
    if ref != ref.strip():
        raise ReferenceInvalid("This may not begin or end with a space.")
    parts = ref.split("/")
    if not all(parts):
        raise ReferenceInvalid(
            "A slash may stand between two parts only, as in A/7, not /A, A/ or A//7."
        )
    if any(part in (".", "..") for part in parts):
        raise ReferenceInvalid(
            "A part may not be . or .. since programs take them out of addresses."
        )
    if len(parts) > 1 and parts[-1] in TAKEN:
        raise ReferenceInvalid(
            f"This may not end in /{parts[-1]}: such an address is that of an order's {parts[-1]}."
        )
    return ref
