"""How many requests an address may make in a minute, counted for all workers in the store."""

from __future__ import annotations

import ipaddress
import logging
import time

from flask import Response, request

from evenboard.api.problem import Problem
from evenboard.api.state import state
from evenboard.store import StoreUnavailable, rates

__all__ = ["limit_rate"]

_log = logging.getLogger("evenboard.api")

_POLLS = frozenset(("changes.layout_events",))
"""Not counted: each phone on a board asks every second or two, and a whole crew may stand behind
one address. The question costs less than counting it would, and is refused without a link."""


def limit_rate() -> Response | None:
    """Count this request; refuse it with 429 and ``Retry-After`` where there were too many."""
    most = state().config.requests_per_minute
    if most == 0 or not request.path.startswith("/v1/") or request.endpoint in _POLLS:
        return None
    now = time.time()
    minute = int(now // 60)
    try:
        with state().store.writing() as session:
            calls = rates.count(session, _caller(request.remote_addr), minute)
    except StoreUnavailable as error:
        # Counting is no reason to refuse: what needs the store says so itself.
        _log.error("not counted: %s", error)
        return None
    if calls > most:
        wait = max(1, int((minute + 1) * 60 - now + 1))
        raise Problem(
            429,
            f"More than {most} requests in a minute from one address. Wait {wait} s.",
            kind="rate-limit",
            headers={"Retry-After": str(wait)},
        )
    return None


def _caller(address: str | None) -> str:
    """The address as it is counted: a household or a phone holds a whole /64 of IPv6."""
    try:
        ip = ipaddress.ip_address(address or "")
    except ValueError:
        return "unknown"
    if isinstance(ip, ipaddress.IPv6Address):
        if ip.ipv4_mapped is not None:
            return str(ip.ipv4_mapped)
        return str(ipaddress.ip_network((ip, 64), strict=False))
    return str(ip)
