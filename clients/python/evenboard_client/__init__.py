"""Evenboard from Python: dicts in and out, as the API's own documentation describes them."""

from evenboard_client.client import Client
from evenboard_client.errors import EvenboardError, Refused, Unreachable

__all__ = ["Client", "EvenboardError", "Refused", "Unreachable"]
