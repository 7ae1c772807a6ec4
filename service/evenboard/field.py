"""HTTPS on the location's own network: an authority of one's own and a certificate by it.

A phone keeps the client without reception only where it came over HTTPS with a certificate that
the phone trusts. On location there is no public name, so the laptop makes an authority once, whose
root each phone is given once, and a certificate for its names and addresses whenever those change.
The authority may sign for names and addresses of local networks only: whoever gets hold of its key
can not pass for anything else.
"""

from __future__ import annotations

import html
import ipaddress
import os
import socket
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

__all__ = [
    "ROOT_PATH",
    "FieldInvalid",
    "Papers",
    "local_addresses",
    "local_names",
    "papers",
    "root_server",
]

AUTHORITY_DAYS = 3650
"""Ten years: as long as anybody keeps the machine that the phones were told to trust (estimate)."""
CERTIFICATE_DAYS = 397
"""Longer ones are refused by phones: 398 days is the most."""
RENEW_DAYS = 30
"""A certificate that ends sooner is made anew at start: longer than a shoot."""
ROOT_PATH = "/evenboard-root.crt"
LOCAL_NETWORKS = ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8")
"""Private, link-local and loopback addresses (RFC 1918, 3927, 1122)."""
LOCAL_NAMES = ("local", "localhost", "home.arpa", "internal")
"""Names that mean nothing outside a local network (RFC 6762, 6761, 8375; private use)."""
_PROBED = ("192.0.2.1", "10.255.255.254", "172.31.255.254", "192.168.255.254", "10.42.0.254")
_Key = ec.EllipticCurvePrivateKey


class FieldInvalid(ValueError):
    """A name or an address that the authority may not sign for."""


@dataclass(frozen=True, slots=True)
class Papers:
    """Where the files are, what the certificate is for, and the root's fingerprint."""

    root: Path
    certificate: Path
    key: Path
    names: tuple[str, ...]
    addresses: tuple[str, ...]
    fingerprint: str


def local_addresses() -> tuple[str, ...]:
    """IPv4 addresses of this machine in local networks, the likeliest to be reached first."""
    found = []
    for target in _PROBED:
        # Connecting a datagram socket sends nothing; it only makes the system choose its address.
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            try:
                probe.connect((target, 9))
                found.append(str(probe.getsockname()[0]))
            except OSError:
                continue
    try:
        known = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        found += [str(each[4][0]) for each in known]
    except OSError:
        pass
    return tuple(each for each in dict.fromkeys([*found, "127.0.0.1"]) if _is_local(each))


def local_names() -> tuple[str, ...]:
    """Names of this machine in its local network."""
    host = socket.gethostname().split(".")[0].lower()
    sound = host and all(c.isascii() and (c.isalnum() or c == "-") for c in host)
    return (f"{host}.local", "localhost") if sound and host != "localhost" else ("localhost",)


def papers(folder: Path, names: Sequence[str], addresses: Sequence[str]) -> Papers:
    """Authority and certificate in a folder: those there are, or new ones where they do not fit.

    Raises :class:`FieldInvalid` for a name or an address outside local networks, OSError where the
    folder cannot be written.
    """
    _check(names, addresses)
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    root, root_key = folder / "root.pem", folder / "root.key"
    leaf, leaf_key = folder / "server.pem", folder / "server.key"
    if not (root.is_file() and root_key.is_file() and _days_left(root) > CERTIFICATE_DAYS):
        authority_key = ec.generate_private_key(ec.SECP256R1())
        _write(root_key, _private(authority_key), secret=True)
        _write(root, _authority(authority_key).public_bytes(Encoding.PEM))
        leaf.unlink(missing_ok=True)
    authority = x509.load_pem_x509_certificate(root.read_bytes())
    if not _fits(leaf, leaf_key, names, addresses):
        signing = load_pem_private_key(root_key.read_bytes(), password=None)
        assert isinstance(signing, ec.EllipticCurvePrivateKey)
        own_key = ec.generate_private_key(ec.SECP256R1())
        certificate = _certificate(own_key, authority, signing, names, addresses)
        _write(leaf_key, _private(own_key), secret=True)
        _write(leaf, certificate.public_bytes(Encoding.PEM))
    digits = authority.fingerprint(SHA256()).hex().upper()
    fingerprint = " ".join(digits[i : i + 4] for i in range(0, len(digits), 4))
    return Papers(root, leaf, leaf_key, tuple(names), tuple(addresses), fingerprint)


def _is_local(address: str) -> bool:
    found = ipaddress.ip_address(address)
    return any(found in ipaddress.ip_network(network) for network in LOCAL_NETWORKS)


def _check(names: Iterable[str], addresses: Iterable[str]) -> None:
    for name in names:
        if not any(name == local or name.endswith(f".{local}") for local in LOCAL_NAMES):
            ends = ", ".join(f".{local}" for local in LOCAL_NAMES)
            raise FieldInvalid(f"{name} is no name of a local network: it must end in {ends}.")
    for address in addresses:
        try:
            local = _is_local(address)
        except ValueError:
            raise FieldInvalid(f"{address} is no IPv4 address.") from None
        if not local:
            raise FieldInvalid(
                f"{address} is no address of a local network ({', '.join(LOCAL_NETWORKS)})."
            )


def _authority(key: _Key) -> x509.Certificate:
    """A root that may sign for local names and addresses, and make no further authorities."""
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Evenboard on this location")])
    permitted: list[x509.GeneralName] = [x509.DNSName(local) for local in LOCAL_NAMES]
    permitted += [x509.IPAddress(ipaddress.ip_network(network)) for network in LOCAL_NETWORKS]
    usage = x509.KeyUsage(False, False, False, False, False, True, True, False, False)
    return (
        _dated(name, name, key.public_key(), AUTHORITY_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, SHA256())
    )


def _certificate(
    key: _Key,
    authority: x509.Certificate,
    signing: _Key,
    names: Iterable[str],
    addresses: Iterable[str],
) -> x509.Certificate:
    """A server's certificate for these names and addresses."""
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Evenboard")])
    known: list[x509.GeneralName] = [x509.DNSName(name) for name in names]
    known += [x509.IPAddress(ipaddress.ip_address(address)) for address in addresses]
    usage = x509.KeyUsage(True, False, False, False, False, False, False, False, False)
    serving = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])
    issuer_key = x509.AuthorityKeyIdentifier.from_issuer_public_key(signing.public_key())
    return (
        _dated(subject, authority.subject, key.public_key(), CERTIFICATE_DAYS)
        .add_extension(x509.SubjectAlternativeName(known), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(serving, critical=False)
        .add_extension(issuer_key, critical=False)
        .sign(signing, SHA256())
    )


def _dated(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePublicKey, days: int
) -> x509.CertificateBuilder:
    # A phone's clock may be a day behind.
    start = datetime.now(UTC) - timedelta(days=1)
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(start)
        .not_valid_after(start + timedelta(days=days))
    )


def _days_left(path: Path) -> float:
    ends = x509.load_pem_x509_certificate(path.read_bytes()).not_valid_after_utc
    return (ends - datetime.now(UTC)).total_seconds() / 86_400


def _fits(leaf: Path, key: Path, names: Iterable[str], addresses: Iterable[str]) -> bool:
    """Whether the certificate that is there is for all of these and lasts long enough."""
    if not (leaf.is_file() and key.is_file()) or _days_left(leaf) < RENEW_DAYS:
        return False
    known = (
        x509.load_pem_x509_certificate(leaf.read_bytes())
        .extensions.get_extension_for_class(x509.SubjectAlternativeName)
        .value
    )
    has_names = set(names) <= set(known.get_values_for_type(x509.DNSName))
    has = {str(address) for address in known.get_values_for_type(x509.IPAddress)}
    return has_names and set(addresses) <= has


def _private(key: _Key) -> bytes:
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


def _write(path: Path, content: bytes, *, secret: bool = False) -> None:
    # Never readable by others, not even for the moment between making and closing it.
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600 if secret else 0o644)
    with os.fdopen(handle, "wb") as file:
        file.write(content)


class _Beside(ThreadingHTTPServer):
    """A server that ends with the process that forked it."""

    daemon_threads = True
    beside: int | None = None

    def service_actions(self) -> None:
        if self.beside is not None and os.getppid() != self.beside:
            os._exit(0)

    def serve_beside(self) -> None:
        """Serve in a process of its own, for as long as this one lives.

        Forked, and not a thread: the server of the client forks its workers from this process.
        """
        parent = os.getpid()
        if os.fork() == 0:
            self.beside = parent
            self.serve_forever()
            os._exit(0)
        self.socket.close()


def root_server(host: str, port: int, made: Papers, url: str) -> _Beside:
    """A server over plain HTTP that hands out the root and a page on what to do with it."""
    root = x509.load_pem_x509_certificate(made.root.read_bytes()).public_bytes(Encoding.DER)
    page = _page(made, url).encode()

    class Handler(BaseHTTPRequestHandler):
        server_version = "evenboard"
        sys_version = ""

        def do_GET(self) -> None:
            if self.path == ROOT_PATH:
                self._send(HTTPStatus.OK, "application/x-x509-ca-cert", root)
            elif self.path == "/":
                self._send(HTTPStatus.OK, "text/html; charset=utf-8", page)
            else:
                self._send(HTTPStatus.NOT_FOUND, "text/plain; charset=utf-8", b"Open / here.\n")

        def _send(self, status: HTTPStatus, content_type: str, body: bytes) -> None:
            self.send_response(status)
            self.send_header("Content-Type", content_type)
            self.send_header("Content-Length", str(len(body)))
            self.send_header("X-Content-Type-Options", "nosniff")
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, format: str, *args: object) -> None:
            """Say nothing: the service itself has the log."""

    return _Beside((host, port), Handler)


def _page(made: Papers, url: str) -> str:
    return f"""<!doctype html><html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Evenboard on location</title>
<style>body{{font:18px/1.5 sans-serif;margin:1.2em;max-width:36em}}li{{margin:.6em 0}}</style>
</head><body><h1>Evenboard on location</h1>
<ol>
<li><a href="{ROOT_PATH}">Download this location's root certificate.</a></li>
<li>Where the phone says that a profile was downloaded: Settings, General, VPN and Device
Management, install it. Then General, About, Certificate Trust Settings, switch it on.<br>
Elsewhere: Settings, Security, Install a certificate, CA certificate, choose the download.</li>
<li>Compare the fingerprint with the one on the laptop's screen:<br>
<code>{html.escape(made.fingerprint)}</code></li>
<li><a href="{html.escape(url)}">Open Evenboard</a> and put it on the home screen.</li>
</ol>
<p>The certificate is good for addresses of local networks only. Take it off the phone when the
job is over.</p></body></html>
"""
