"""An order's reference as it stands in an address."""

from __future__ import annotations

from evenboard.api.problem import Problem
from evenboard.desk.references import ReferenceInvalid, order_reference

__all__ = ["reference"]


def reference(order_ref: str) -> str:
    """The reference in its one form; a 422 problem for what cannot be one."""
    try:
        return order_reference(order_ref)
    except ReferenceInvalid as error:
        fault = {"parameter": "order_ref", "detail": str(error)}
        raise Problem(
            422, f"This is no order's reference. {error}", kind="invalid-query", errors=[fault]
        ) from None
