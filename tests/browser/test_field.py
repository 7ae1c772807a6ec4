"""A phone on the location's own network: over HTTPS the client stays on it."""

from __future__ import annotations

import base64
import hashlib
import shutil
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from playwright.sync_api import Browser

from evenboard.field import papers
from support.phone import ARGUMENTS, phone_on
from support.ports import any_port
from support.service import running_service

pytestmark = pytest.mark.browser


def test_over_https_the_client_stays_on_the_phone(browser: Browser, tmp_path: Path) -> None:
    made = papers(tmp_path / "field", ["localhost"], ["127.0.0.1"])
    leaf = x509.load_pem_x509_certificate(made.certificate.read_bytes())
    spki = leaf.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    trusted = base64.b64encode(hashlib.sha256(spki).digest()).decode()
    # A phone has the root in its store; this browser is told of the certificate itself, and of
    # nobody else's.
    trusting = browser.browser_type.launch(
        executable_path=shutil.which("chromium"),
        args=[*ARGUMENTS, f"--ignore-certificate-errors-spki-list={trusted}"],
    )
    settings = {
        "EVENBOARD_TLS_CERTIFICATE": str(made.certificate),
        "EVENBOARD_TLS_KEY": str(made.key),
        "EVENBOARD_PORT": str(any_port()),
    }
    try:
        with (
            running_service(tmp_path, **settings) as service,
            phone_on(trusting, service.url.replace("http:", "https:")) as phone,
        ):
            phone.open()
            phone.page.evaluate("navigator.serviceWorker.ready.then(() => true)")
            phone.lose_the_line()
            phone.page.reload()
            phone.page.wait_for_selector("main:not([aria-busy]) h1")

            assert phone.page.evaluate("isSecureContext")
            assert phone.page.locator("h1").inner_text() == "What does it draw?"
    finally:
        trusting.close()
