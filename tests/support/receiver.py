"""A receiver of webhooks: a small HTTP server that answers as it is told and keeps what came."""

from __future__ import annotations

import base64
import contextlib
import hashlib
import hmac
import json
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from support.ports import free_port

__all__ = ["Received", "Receiver", "receiving", "wait_until"]


@dataclass(frozen=True)
class Received:
    """One message as it came."""

    headers: dict[str, str]
    body: bytes

    @property
    def id(self) -> str:
        return self.headers["webhook-id"]

    @property
    def message(self) -> dict[str, Any]:
        told: dict[str, Any] = json.loads(self.body)
        return told

    def signed_by(self, secret: str) -> bool:
        """Whether the signature is right, computed as a receiver would from the specification."""
        key = base64.b64decode(secret.removeprefix("whsec_"))
        text = f"{self.id}.{self.headers['webhook-timestamp']}.".encode() + self.body
        digest = base64.b64encode(hmac.new(key, text, hashlib.sha256).digest()).decode()
        return f"v1,{digest}" in self.headers["webhook-signature"].split(" ")


@dataclass
class Receiver:
    """Where to post, what came, and the statuses still to be answered before 204 is."""

    url: str
    answers: list[int]
    came: list[Received] = field(default_factory=list)


@contextlib.contextmanager
def receiving(*answers: int, port: int | None = None) -> Iterator[Receiver]:
    """A receiver that answers with these statuses, one after the other, and then with 204."""
    at = port or free_port()
    receiver = Receiver(f"http://127.0.0.1:{at}/hooks?from=desk", list(answers))

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            headers = {name.lower(): value for name, value in self.headers.items()}
            receiver.came.append(Received({**headers, ":path": self.path}, body))
            status = receiver.answers.pop(0) if receiver.answers else 204
            self.send_response(status)
            if 300 <= status < 400:
                self.send_header("Location", receiver.url)
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, format: str, *arguments: Any) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", at), Handler)
    thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    try:
        yield receiver
    finally:
        server.shutdown()
        server.server_close()
        thread.join(5)


def wait_until(true: Callable[[], Any], patience_s: float) -> None:
    """Wait until something is so; fail where it does not come."""
    end = time.monotonic() + patience_s
    while not true():
        assert time.monotonic() < end, "it does not come"
        time.sleep(0.02)
