"""Whether a check report is genuine, without asking the desk's service.

``pip install "evenboard-client[verify]"``. Wanted are the desk's public keys, fetched once while
there was a network (``Client.public_keys()``, or ``/.well-known/jwks.json``), and the report: the
JSON of ``Client.report()``, or the PDF, which has content and signature attached.

What this proves: the content was signed by the desk and no figure in it has changed since. What it
cannot: that nobody has issued a later report (ask ``Client.verify``), or that the pages one sees
show that content. ``content`` is what was signed: compare the pages with it.
"""

from __future__ import annotations

import argparse
import base64
import hashlib
import io
import json
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

__all__ = ["NotGenuine", "Verified", "main", "verify_pdf", "verify_report"]

Json = Mapping[str, Any]


class NotGenuine(Exception):
    """The report is not as the desk signed it; the message says what is wrong."""


@dataclass(frozen=True, slots=True)
class Verified:
    """What the desk signed, and by which key."""

    content: Json
    content_sha256: str
    key_id: str


def verify_report(report: Json, keys: Json) -> Verified:
    """Verify a report as ``Client.report()`` gives it, by a JWK set.

    Raises :class:`NotGenuine`.
    """
    try:
        content = report["content"]
        signature = report["signature"]
        said = (report["content_sha256"], signature["key_id"], signature["value"])
    except (KeyError, TypeError):
        raise NotGenuine("This is no report with content, hash and signature.") from None
    return _verified(_canonical(content), content, *said, keys)


def verify_pdf(pdf: bytes, keys: Json) -> Verified:
    """Verify the content that a report's PDF has attached, by a JWK set.

    Raises :class:`NotGenuine`.
    """
    from pypdf import PdfReader
    from pypdf.errors import PyPdfError

    try:
        attached = PdfReader(io.BytesIO(pdf)).attachments
        [canonical], [proof] = attached["report.json"], attached["proof.json"]
        told, content = json.loads(proof), json.loads(canonical)
        signature = told["signature"]
        said = (told["content_sha256"], signature["key_id"], signature["value"])
    except (PyPdfError, KeyError, TypeError, ValueError, OSError):
        raise NotGenuine("This is no report's PDF with its content and signature.") from None
    return _verified(canonical, content, *said, keys)


def _verified(
    canonical: bytes, content: Json, sha256: str, key_id: str, signature: str, keys: Json
) -> Verified:
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    found = hashlib.sha256(canonical).hexdigest()
    if found != sha256:
        raise NotGenuine(f"The content has been changed: its hash is {found}, not {sha256}.")
    key = next((k for k in keys.get("keys", ()) if k.get("kid") == key_id), None)
    if key is None:
        raise NotGenuine(f"The key {key_id} that is said to have signed it is not the desk's.")
    try:
        public = Ed25519PublicKey.from_public_bytes(_bytes(key["x"]))
        public.verify(_bytes(signature), canonical)
    except (InvalidSignature, ValueError, KeyError, TypeError):
        raise NotGenuine("The signature is not that of the desk's key.") from None
    return Verified(content, found, key_id)


def _canonical(content: Any) -> bytes:
    import rfc8785

    try:
        return rfc8785.dumps(content)
    except rfc8785.CanonicalizationError as error:
        raise NotGenuine(f"The content has no canonical form: {error}.") from None


def _bytes(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def main(arguments: Sequence[str] | None = None) -> int:
    """The command ``evenboard-verify``: 0 where the report is genuine, 1 where not, 2 else."""
    parser = argparse.ArgumentParser(
        prog="evenboard-verify",
        description="Whether a check report is as the desk signed it. Needs no network.",
    )
    parser.add_argument("report", type=Path, help="the report: PDF or JSON")
    parser.add_argument(
        "--keys",
        type=Path,
        required=True,
        help="the desk's public keys: its /.well-known/jwks.json",
    )
    options = parser.parse_args(arguments)
    try:
        data, keys = options.report.read_bytes(), json.loads(options.keys.read_bytes())
        if data.startswith(b"%PDF-"):
            found = verify_pdf(data, keys)
        else:
            found = verify_report(json.loads(data), keys)
    except NotGenuine as error:
        print(f"NOT GENUINE. {error}", file=sys.stderr)
        return 1
    except ImportError as error:
        print(f'{error.name} is missing: pip install "evenboard-client[verify]"', file=sys.stderr)
        return 2
    except (OSError, ValueError, AttributeError) as error:
        print(f"cannot be read: {error}", file=sys.stderr)
        return 2
    print("\n".join(_told(found)))
    return 0


def _told(found: Verified) -> list[str]:
    issue, balance = found.content["issue"], found.content["balance"]
    lines = [
        "GENUINE: this is what the desk signed. Compare the paper with it:",
        f"  report   {issue['id']}, number {issue['number']} on order {issue['order_ref']}",
        f"  issued   {issue['issued_at']} by {issue['issued_by']}",
        f"  title    {issue['title']}",
        f"  verdict  {balance['verdict']}, {len(balance['findings'])} findings",
    ]
    lines += [f"  {p['phase']:7}  {p['current_a']:.1f} A" for p in balance["phases"]]
    lines += [
        f"  sha256   {found.content_sha256}",
        f"  key      {found.key_id}",
        "Whether a later report has taken its place, only the desk's service can say.",
    ]
    return lines


if __name__ == "__main__":
    sys.exit(main())
