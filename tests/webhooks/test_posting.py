"""Over TLS: to the address that was looked at, by a certificate of the name that was meant."""

from __future__ import annotations

import ssl
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from typing import Any

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec

from evenboard.webhooks.address import Target
from evenboard.webhooks.posting import post

NAME = "orders.example"


@dataclass(frozen=True)
class Secured:
    """A server of a name that only a certificate knows, at this machine's address."""

    port: int
    authority: Path
    asked: list[str]

    def target(self, host: str = NAME) -> Target:
        return Target("https", host, self.port, "/in", "127.0.0.1")


@pytest.fixture
def secured(tmp_path: Path) -> Iterator[Secured]:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "test")])
    now = datetime.now(UTC)
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now + timedelta(hours=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(NAME)]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .sign(key, hashes.SHA256())
    )
    authority, both = tmp_path / "authority.pem", tmp_path / "both.pem"
    pem = certificate.public_bytes(serialization.Encoding.PEM)
    authority.write_bytes(pem)
    both.write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
        + pem
    )
    asked: list[str] = []

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            self.rfile.read(int(self.headers["Content-Length"]))
            asked.append(f"{self.headers['Host']}{self.path}")
            self.send_response(204)
            self.end_headers()

        def log_message(self, format: str, *arguments: Any) -> None:
            """Say nothing."""

    class Server(HTTPServer):
        def handle_error(self, request: Any, client_address: Any) -> None:
            """A caller that does not trust the certificate is no fault."""

    server = Server(("127.0.0.1", 0), Handler)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(both)
    server.socket = context.wrap_socket(server.socket, server_side=True)
    thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    yield Secured(server.server_port, authority, asked)
    server.shutdown()
    server.server_close()
    thread.join(5)


def test_the_address_is_called_by_its_name_over_tls(
    secured: Secured, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The system's own store of authorities, which an administrator adds to in the same way.
    monkeypatch.setenv("SSL_CERT_FILE", str(secured.authority))

    assert post(secured.target(), b"{}", {}) == 204
    assert secured.asked == [f"{NAME}:{secured.port}/in"]


def test_a_certificate_that_nobody_vouches_for_or_of_another_name_is_refused(
    secured: Secured, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(OSError, match="CERTIFICATE_VERIFY_FAILED"):
        post(secured.target(), b"{}", {})
    monkeypatch.setenv("SSL_CERT_FILE", str(secured.authority))
    with pytest.raises(OSError, match=r"other\.example"):
        post(secured.target("other.example"), b"{}", {})

    assert secured.asked == []
