"""HTTPS on location: the authority, its certificates, and phones that trust it."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import requests
from cryptography import x509

from evenboard import field
from evenboard.field import ROOT_PATH, FieldInvalid, papers
from support.ports import any_port

HOME = ("127.0.0.1",)
TIMEOUT = 30


@dataclass(frozen=True)
class Laptop:
    """A service started for the field."""

    port: int
    said: list[str]
    root: Path


@pytest.fixture(scope="module")
def laptop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Laptop]:
    data = tmp_path_factory.mktemp("field")
    port = any_port()
    environment = os.environ | {
        "EVENBOARD_DATA": str(data),
        "EVENBOARD_HOST": "127.0.0.1",
        "EVENBOARD_PORT": str(port),
    }
    process = subprocess.Popen(
        [sys.executable, "-m", "evenboard", "field", "--address", "127.0.0.1", "--root-port", "0"],
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    said = []
    for line in process.stdout:
        said.append(line.rstrip("\n"))
        if "ready" in line:
            break
    try:
        yield Laptop(port, said, data / "field" / "root.pem")
    finally:
        process.terminate()
        _, errors = process.communicate(timeout=TIMEOUT)
        # The phone that does not trust it is mentioned, and nothing else went wrong.
        assert "Traceback" not in errors
        assert process.returncode == 0


def where_to_fetch(laptop: Laptop) -> str:
    [line] = [line for line in laptop.said if line.startswith("Each phone once: ")]
    return line.removeprefix("Each phone once: ")


def test_who_trusts_the_root_is_served(laptop: Laptop) -> None:
    for host in ("127.0.0.1", "localhost"):
        answer = requests.get(
            f"https://{host}:{laptop.port}/healthz", verify=str(laptop.root), timeout=TIMEOUT
        )
        assert answer.json() == {"status": "ok"}


def test_who_does_not_trust_the_root_is_not(laptop: Laptop) -> None:
    with pytest.raises(requests.exceptions.SSLError):
        requests.get(f"https://127.0.0.1:{laptop.port}/healthz", timeout=TIMEOUT)


def test_it_says_where_to_point_a_phone(laptop: Laptop) -> None:
    assert laptop.said[-1] == (
        f"Evenboard is ready. Open https://127.0.0.1:{laptop.port} on a phone."
    )


def test_a_phone_is_handed_the_root_and_the_steps(laptop: Laptop) -> None:
    address = where_to_fetch(laptop)

    page = requests.get(f"{address}/", timeout=TIMEOUT)
    handed = requests.get(f"{address}{ROOT_PATH}", timeout=TIMEOUT)
    other = requests.get(f"{address}/root.key", timeout=TIMEOUT)

    assert handed.headers["Content-Type"] == "application/x-x509-ca-cert"
    root = x509.load_der_x509_certificate(handed.content)
    assert root == x509.load_pem_x509_certificate(laptop.root.read_bytes())
    assert ROOT_PATH in page.text
    assert f"https://127.0.0.1:{laptop.port}" in page.text
    [said] = [line for line in laptop.said if line.startswith("Fingerprint")]
    assert said.removeprefix("Fingerprint of the root: ") in page.text
    assert other.status_code == 404


def test_the_root_signs_for_local_networks_only_and_makes_no_further_authority(
    tmp_path: Path,
) -> None:
    root = x509.load_pem_x509_certificate(papers(tmp_path, ["localhost"], HOME).root.read_bytes())

    limits = root.extensions.get_extension_for_class(x509.NameConstraints)
    assert limits.critical
    permitted = limits.value.permitted_subtrees or []
    assert {str(each.value) for each in permitted} == {*field.LOCAL_NETWORKS, *field.LOCAL_NAMES}
    assert root.extensions.get_extension_for_class(x509.BasicConstraints).value.path_length == 0


def test_keys_are_for_their_owner_only(tmp_path: Path) -> None:
    made = papers(tmp_path / "field", ["localhost"], HOME)

    for path in (made.key, made.root.with_suffix(".key")):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_phones_accept_how_long_the_certificate_lasts(tmp_path: Path) -> None:
    made = papers(tmp_path, ["localhost"], HOME)
    leaf = x509.load_pem_x509_certificate(made.certificate.read_bytes())

    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc <= timedelta(days=398)
    assert leaf.not_valid_before_utc < datetime.now(UTC)


def test_a_second_start_changes_nothing(tmp_path: Path) -> None:
    first = papers(tmp_path, ["localhost"], HOME)
    before = (first.root.read_bytes(), first.certificate.read_bytes())

    again = papers(tmp_path, ["localhost"], HOME)

    assert (again.root.read_bytes(), again.certificate.read_bytes()) == before


def test_another_address_makes_another_certificate_by_the_same_root(tmp_path: Path) -> None:
    first = papers(tmp_path, ["localhost"], HOME)
    before = (first.root.read_bytes(), first.certificate.read_bytes())

    moved = papers(tmp_path, ["localhost"], ["192.168.8.2", *HOME])

    assert moved.root.read_bytes() == before[0]
    assert moved.certificate.read_bytes() != before[1]
    leaf = x509.load_pem_x509_certificate(moved.certificate.read_bytes())
    leaf.verify_directly_issued_by(x509.load_pem_x509_certificate(before[0]))


def test_a_certificate_that_ends_soon_is_made_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(field, "CERTIFICATE_DAYS", 20)
    short = papers(tmp_path, ["localhost"], HOME).certificate.read_bytes()
    monkeypatch.undo()

    assert papers(tmp_path, ["localhost"], HOME).certificate.read_bytes() != short


@pytest.mark.parametrize(
    ("names", "addresses", "wrong"),
    [
        (["board.example"], HOME, "board.example is no name of a local network"),
        (["notlocal"], HOME, "notlocal is no name"),
        (["localhost"], ["8.8.8.8"], "8.8.8.8 is no address of a local network"),
        (["localhost"], ["next door"], "next door is no IPv4 address"),
    ],
)
def test_nothing_outside_local_networks_is_signed_for(
    tmp_path: Path, names: list[str], addresses: list[str], wrong: str
) -> None:
    with pytest.raises(FieldInvalid, match=wrong):
        papers(tmp_path, names, addresses)
