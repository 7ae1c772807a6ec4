"""Where a message may go: to the public network only, but for hosts that the settings name.

A name is looked up once and the address that was judged is the one that is called, so that a name
which answers differently a moment later (DNS rebinding) gains nothing.
"""

from __future__ import annotations

import socket
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address
from urllib.parse import SplitResult, urlsplit

__all__ = ["MAX_URL", "AddressRefused", "Target", "is_public", "resolved"]

MAX_URL = 2000
"""Characters of an address: what servers commonly take (common practice, no source)."""
_NAT64 = IPv6Network("64:ff9b::/96")
"""IPv4 addresses inside IPv6 ones, RFC 6052."""

Address = IPv4Address | IPv6Address
Lookup = Callable[[str, int], Iterable[str]]


class AddressRefused(ValueError):
    """A message may not go there; the message says why and what would be right."""


@dataclass(frozen=True, slots=True)
class Target:
    """A URL taken apart, with the one address that is to be called."""

    scheme: str
    host: str
    port: int
    path: str
    address: str


def _looked_up(host: str, port: int) -> Iterable[str]:
    found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    return [str(entry[4][0]) for entry in found]


def resolved(url: str, inside: Collection[str], lookup: Lookup = _looked_up) -> Target:
    """The target of a URL.

    Parameters
    ----------
    url : str
        ``https://…``; ``http://`` only for a host of ``inside``.
    inside : collection of str
        Host names, in small letters, that may be internal.
    lookup : callable, optional
        Gives the addresses of a host.

    Raises
    ------
    AddressRefused
        If the URL is none, its host has no address, or any of its addresses is internal.
    """
    parts, port = _parts(url)
    host = str(parts.hostname)
    mine = host in inside
    if parts.scheme == "http" and not mine:
        raise AddressRefused("Only https is right: what is told must not be read on the way.")
    try:
        addresses = list(lookup(host, port))
    except (OSError, UnicodeError):
        raise AddressRefused(f"{host} has no address; check the name.") from None
    if not addresses:
        raise AddressRefused(f"{host} has no address; check the name.")
    if not mine:
        for address in addresses:
            if not is_public(_parsed(address)):
                # Without the address: it would tell what the inside of the network looks like.
                raise AddressRefused(
                    f"{host} is inside this network. A host of your own must be named in the "
                    "setting EVENBOARD_WEBHOOK_HOSTS."
                )
    path = parts.path or "/"
    return Target(
        scheme=parts.scheme,
        host=host,
        port=port,
        path=f"{path}?{parts.query}" if parts.query else path,
        address=addresses[0],
    )


def _parts(url: str) -> tuple[SplitResult, int]:
    if len(url) > MAX_URL or not url.isascii() or not url.isprintable() or " " in url:
        raise AddressRefused(
            f"This must be an address of up to {MAX_URL} plain characters, such as "
            "https://orders.example/hooks."
        )
    try:
        parts = urlsplit(url)
        port = parts.port
    except ValueError:
        raise AddressRefused("This is no address; https://orders.example/hooks is one.") from None
    if parts.scheme not in ("http", "https") or not parts.hostname:
        raise AddressRefused("This is no address; https://orders.example/hooks is one.")
    if parts.username is not None or parts.password is not None:
        raise AddressRefused("No name or password may stand in the address; messages are signed.")
    if parts.fragment:
        raise AddressRefused("Nothing behind a # is ever sent; leave it out.")
    if port == 0:
        raise AddressRefused("There is no port 0.")
    return parts, port or {"http": 80, "https": 443}[parts.scheme]


def _parsed(address: str) -> Address:
    # A link-local address comes with the name of its interface.
    return ip_address(address.partition("%")[0])


def is_public(address: Address) -> bool:
    """Whether an address is one of the public network, whatever it is wrapped in."""
    if isinstance(address, IPv6Address):
        wrapped = address.ipv4_mapped or address.sixtofour
        if address.teredo is not None:
            return False
        if wrapped is None and address in _NAT64:
            wrapped = IPv4Address(int(address) & 0xFFFFFFFF)
        if wrapped is not None:
            return is_public(wrapped)
    return (
        address.is_global
        and not address.is_multicast
        and not address.is_reserved
        and not address.is_unspecified
        and not address.is_link_local
    )
