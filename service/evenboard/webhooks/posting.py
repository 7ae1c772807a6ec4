"""One POST to one address: no redirect, no proxy of the environment, not a second longer."""

from __future__ import annotations

import socket
import threading
from collections.abc import Mapping
from http.client import HTTPException

from urllib3.connection import HTTPConnection, HTTPSConnection
from urllib3.exceptions import HTTPError

from evenboard.webhooks.address import Target

__all__ = ["DEADLINE_S", "post"]

WAIT_S, DEADLINE_S = 10.0, 20.0
"""For each step and for the whole: a receiver answers first and works afterwards; whoever takes
longer is told again later (estimate). [s]"""


def post(target: Target, body: bytes, headers: Mapping[str, str]) -> int:
    """Post and give the status.

    Raises
    ------
    OSError
        If there was no answer in time, or none that is HTTP.
    """
    usual = {"http": 80, "https": 443}[target.scheme]
    name = f"[{target.host}]" if ":" in target.host else target.host
    host = name if target.port == usual else f"{name}:{target.port}"
    connection = _connection(target)
    # The timeout of a socket begins anew with every byte: a receiver that sends one a second would
    # hold this thread for ever.
    watch = threading.Timer(DEADLINE_S, _cut, [connection])
    watch.daemon = True
    watch.start()
    try:
        connection.connect()
        connection.request("POST", target.path, body=body, headers={**headers, "Host": host})
        # What it says beside the status is nobody's business here, and could be endless.
        return int(connection.getresponse().status)
    except (HTTPError, HTTPException, ValueError) as error:
        raise OSError(str(error)) from error
    finally:
        watch.cancel()
        connection.close()


def _connection(target: Target) -> HTTPConnection:
    if target.scheme == "http":
        return HTTPConnection(target.address, target.port, timeout=WAIT_S)
    # To the address that was looked at, by a certificate of the name that was meant.
    return HTTPSConnection(
        target.address,
        target.port,
        timeout=WAIT_S,
        cert_reqs="CERT_REQUIRED",
        server_hostname=target.host,
        assert_hostname=target.host,
    )


def _cut(connection: HTTPConnection) -> None:
    wire = connection.sock
    if wire is not None:
        try:
            wire.shutdown(socket.SHUT_RDWR)
        except OSError:
            # It ended by itself just now.
            return
