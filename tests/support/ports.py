"""Free ports for the servers that tests start."""

from __future__ import annotations

import os
import socket

__all__ = ["any_port", "free_port"]

FIRST = 9100
EACH = 100
"""Ports of each worker of a parallel run, so that two do not pick the same one."""
_given: set[int] = set()


def free_port() -> int:
    """A port that nobody listens on, from 9100 upwards."""
    worker = int(os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw"))
    # Two runs on one machine start looking in different places.
    start = os.getpid() % EACH
    for step in range(EACH):
        port = FIRST + EACH * worker + (start + step) % EACH
        if port in _given:
            continue
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind(("0.0.0.0", port))
            except OSError:
                continue
        _given.add(port)
        return port
    raise RuntimeError("no free port")


def any_port() -> int:
    """A port of the system's own choice: for a server that comes back under the same address."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
    return port
