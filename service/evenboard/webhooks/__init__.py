"""Telling other systems: messages from the store to the addresses that the desk has named.

``address`` says where a message may go and refuses the inside of the network, ``message`` signs it,
``posting`` sends it to just the address that was looked at, ``sender`` is the thread that does so
until it has arrived. Nothing here knows a request.
"""

from evenboard.webhooks.address import AddressRefused, Target, resolved
from evenboard.webhooks.sender import Sender

__all__ = ["AddressRefused", "Sender", "Target", "resolved"]
