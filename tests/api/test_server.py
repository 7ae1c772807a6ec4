"""The real service: two workers under gunicorn, spoken to over the wire."""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.parse import urlsplit

import pytest
import requests

from support.desk import a_fixture_body
from support.layouts import a_body, a_body_load
from support.problems import assert_problem
from support.service import Service, desk_key, running_service

TIMEOUT = 30


@pytest.fixture
def own_server(tmp_path: Path) -> Iterator[Service]:
    """A service that a test may stop."""
    with running_service(tmp_path) as service:
        yield service


def test_a_layout_is_balanced_over_the_wire(server: Service) -> None:
    answer = requests.post(f"{server.url}/v1/balance", json=a_body(), timeout=TIMEOUT)

    assert answer.status_code == 200
    # 2000 W at 230 V
    assert answer.json()["phases"][0]["current_a"] == pytest.approx(8.70, abs=0.005)


def test_fifty_megabytes_are_refused_with_an_answer_and_not_a_reset(server: Service) -> None:
    body = b'{"name":"' + b"x" * 50 * 2**20 + b'"}'

    answer = requests.post(
        f"{server.url}/v1/balance",
        data=body,
        headers={"Content-Type": "application/json"},
        timeout=TIMEOUT,
    )

    assert_problem(answer, 413)


def test_a_body_of_unknown_length_is_cut_at_the_limit_too(server: Service) -> None:
    pieces = (b"x" * 65536 for _ in range(64))

    answer = requests.post(
        f"{server.url}/v1/balance",
        data=pieces,
        headers={"Content-Type": "application/json"},
        timeout=TIMEOUT,
    )

    assert_problem(answer, 413)


def test_a_small_body_of_unknown_length_is_read(server: Service) -> None:
    pieces = iter([json.dumps(a_body()).encode()])

    answer = requests.post(
        f"{server.url}/v1/balance",
        data=pieces,
        headers={"Content-Type": "application/json"},
        timeout=TIMEOUT,
    )

    assert answer.status_code == 200


def test_after_a_refused_body_the_service_answers_as_before(server: Service) -> None:
    with requests.Session() as session:
        for _ in range(3):
            refused = session.post(
                f"{server.url}/v1/balance",
                data=b"[" * 2_000_000,
                headers={"Content-Type": "application/json"},
                timeout=TIMEOUT,
            )
            assert_problem(refused, 413)
            sound = session.post(f"{server.url}/v1/balance", json=a_body(), timeout=TIMEOUT)
            assert sound.status_code == 200


def _raw(url: str, request: bytes) -> http.client.HTTPResponse:
    """The answer to bytes that no decent client would send."""
    where = urlsplit(url)
    with socket.create_connection((where.hostname or "", where.port or 0), timeout=10) as wire:
        wire.sendall(request)
        answer = http.client.HTTPResponse(wire)
        answer.begin()
        answer.body = answer.read()  # type: ignore[attr-defined]
        return answer


@pytest.mark.parametrize(
    ("request_bytes", "status"),
    [
        (b"GET /" + b"a" * 9000 + b" HTTP/1.1\r\nHost: x\r\n\r\n", 414),
        (b"GET / HTTP/1.1\r\nHost: x\r\nX: " + b"a" * 70_000 + b"\r\n\r\n", 431),
        (b"G<T / HTTP/1.1\r\nHost: x\r\n\r\n", 400),
        (b"GET / HTTP/9.9\r\nHost: x\r\n\r\n", 400),
        (b"GET / HTTP/1.1\r\nbroken header\r\n\r\n", 400),
        (b"POST /v1/balance HTTP/1.1\r\nHost: x\r\nContent-Length: -5\r\n\r\n", 400),
    ],
    ids=["long address", "long header", "method", "version", "header", "length"],
)
def test_what_never_reaches_the_application_is_refused_with_a_problem_document_too(
    server: Service, request_bytes: bytes, status: int
) -> None:
    answer = _raw(server.url, request_bytes)

    assert answer.status == status
    assert answer.headers["Content-Type"] == "application/problem+json"
    problem = json.loads(answer.body)  # type: ignore[attr-defined]
    assert problem["status"] == status
    assert problem["detail"]


def test_an_own_type_is_live_in_all_workers_at_once(server: Service, desk_secret: str) -> None:
    headers = {"Authorization": f"Bearer {desk_secret}"}
    body = a_fixture_body(slug="led-live-at-once")
    made = requests.post(f"{server.url}/v1/fixtures", json=body, headers=headers, timeout=TIMEOUT)

    assert made.status_code == 201
    layout = a_body(a_body_load(fixture="led-live-at-once"))
    for _ in range(20):
        # Each without a session is a connection of its own, which the workers share out.
        answer = requests.post(f"{server.url}/v1/balance", json=layout, timeout=TIMEOUT)
        assert answer.status_code == 200


def test_an_own_type_survives_a_restart(own_server: Service, tmp_path: Path) -> None:
    headers = {"Authorization": f"Bearer {desk_key(own_server.environment)}"}
    body = a_fixture_body(slug="led-that-stays")
    requests.post(f"{own_server.url}/v1/fixtures", json=body, headers=headers, timeout=TIMEOUT)
    before = requests.get(f"{own_server.url}/v1/fixtures/led-that-stays", timeout=TIMEOUT)
    own_server.stop()

    with running_service(tmp_path) as again:
        after = requests.get(f"{again.url}/v1/fixtures/led-that-stays", timeout=TIMEOUT)

    assert after.json() == before.json()
    assert after.headers["ETag"] == before.headers["ETag"]


def test_of_many_who_add_the_same_type_at_once_one_succeeds(
    server: Service, desk_secret: str
) -> None:
    headers = {"Authorization": f"Bearer {desk_secret}"}
    program = (
        "import requests, sys, json; r = requests.post(sys.argv[1], json=json.loads(sys.argv[2]),"
        " headers=json.loads(sys.argv[3]), timeout=30); print(r.status_code)"
    )
    body = json.dumps(a_fixture_body(slug="led-raced-for"))
    command = [sys.executable, "-c", program, f"{server.url}/v1/fixtures", body]

    callers = [
        subprocess.Popen([*command, json.dumps(headers)], stdout=subprocess.PIPE, text=True)
        for _ in range(4)
    ]
    statuses = sorted(caller.communicate(timeout=60)[0].strip() for caller in callers)

    assert statuses == ["201", "409", "409", "409"]


def test_a_revoked_key_is_refused_by_all_workers(server: Service) -> None:
    secret = desk_key(server.environment, "lent out")
    listing = _command(server, "key", "list")
    [line] = [line for line in listing.splitlines() if "lent out" in line]

    _command(server, "key", "revoke", line.split()[0])

    assert secret not in listing
    for _ in range(8):
        refused = requests.delete(
            f"{server.url}/v1/fixtures/x",
            headers={"Authorization": f"Bearer {secret}"},
            timeout=TIMEOUT,
        )
        assert_problem(refused, 401)


def test_a_key_may_be_made_for_some_days_and_the_trail_tells_of_it(server: Service) -> None:
    begun = datetime.now(UTC)
    made = _command(server, "key", "new", "--name", "lent for a week", "--days", "7")
    ends = {f"until {at + timedelta(days=7):%Y-%m-%d}" for at in (begun, datetime.now(UTC))}
    headers = {"Authorization": f"Bearer {made.splitlines()[-1]}"}

    listing = _command(server, "key", "list")
    trail = requests.get(f"{server.url}/v1/audit", headers=headers, timeout=TIMEOUT).json()["items"]

    [line] = [line for line in listing.splitlines() if "lent for a week" in line]
    assert any(end in line for end in ends)
    told = [one for one in trail if one["role"] == "command-line"]
    assert told[0]["what"] == f"Made key {line.split()[0]}, lent for a week."


def _command(server: Service, *words: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "evenboard", *words],
        env=dict(server.environment),
        check=True,
        capture_output=True,
        text=True,
        timeout=60,
    )
    return done.stdout


def test_the_limit_of_requests_counts_for_all_workers_together(tmp_path: Path) -> None:
    with running_service(tmp_path, EVENBOARD_REQUESTS_PER_MINUTE="10") as service:
        answers = [requests.get(f"{service.url}/v1/regions/eu", timeout=TIMEOUT) for _ in range(30)]
        alive = requests.get(f"{service.url}/healthz", timeout=TIMEOUT)

    refused = [answer for answer in answers if answer.status_code == 429]
    # All in one minute, or, where the minute ends meanwhile, in two of them.
    assert 10 <= len(refused) <= 20
    problem = assert_problem(refused[0], 429)
    assert problem["type"] == "/problems/rate-limit"
    assert 1 <= int(refused[0].headers["Retry-After"]) <= 61
    assert alive.status_code == 200


def test_the_metrics_are_those_of_all_workers(server: Service) -> None:
    def count() -> float:
        page = requests.get(f"{server.url}/metrics", timeout=TIMEOUT).text
        pattern = r'evenboard_answers_total\{.*route="/v1/regions/<region_id>".* (\S+)'
        return sum(float(number) for number in re.findall(pattern, page))

    before = count()
    for _ in range(20):
        requests.get(f"{server.url}/v1/regions/uk", timeout=TIMEOUT)

    assert count() == before + 20


def test_it_says_in_one_line_when_it_is_ready_and_ends_cleanly(own_server: Service) -> None:
    line = own_server.ready_line
    ready = requests.get(f"{own_server.url}/readyz", timeout=TIMEOUT)

    assert own_server.stop() == (0, "", "")
    assert line == f"Evenboard is ready. Open {own_server.url} on a phone in the same network."
    assert ready.status_code == 200


def test_what_is_being_answered_when_it_ends_is_still_answered(own_server: Service) -> None:
    lamps = [a_body_load(f"k{i}", f"l{i % 3 + 1}-{row}") for i, row in enumerate(["bottom"] * 3)]
    where = urlsplit(own_server.url)
    connection = http.client.HTTPConnection(where.hostname or "", where.port, timeout=TIMEOUT)
    body = json.dumps(a_body(*lamps)).encode()

    connection.putrequest("POST", "/v1/balance")
    for name, value in (
        ("Content-Type", "application/json"),
        ("Content-Length", str(len(body))),
        # Answered once a worker has the request: before that the kernel may have it alone.
        ("Expect", "100-continue"),
    ):
        connection.putheader(name, value)
    connection.endheaders()
    begun = connection.sock.recv(1000)
    own_server.process.send_signal(signal.SIGTERM)
    connection.send(body)

    assert begun.startswith(b"HTTP/1.1 100")
    assert connection.getresponse().status == 200
    connection.close()
    assert own_server.process.wait(timeout=30) == 0


def test_a_second_service_on_the_same_port_is_refused(server: Service, tmp_path: Path) -> None:
    environment = {**server.environment, "EVENBOARD_DATA": str(tmp_path)}

    second = subprocess.run(
        [sys.executable, "-m", "evenboard", "serve"],
        env=environment,
        capture_output=True,
        text=True,
        timeout=60,
    )

    assert second.returncode == 1
    assert "EVENBOARD_PORT" in second.stderr
    assert "Traceback" not in second.stderr


def test_settings_that_cannot_be_used_are_said_without_a_trace(tmp_path: Path) -> None:
    environment = {**os.environ, "EVENBOARD_PORT": "x", "EVENBOARD_DATA": str(tmp_path)}

    done = subprocess.run(
        [sys.executable, "-m", "evenboard", "serve"],
        env=environment,
        capture_output=True,
        text=True,
        timeout=60,
    )

    assert done.returncode == 1
    assert "EVENBOARD_PORT='x'" in done.stderr
    assert "Traceback" not in done.stderr


def test_the_service_runs_on_postgresql_too(postgres: str, tmp_path: Path) -> None:
    with running_service(tmp_path, DATABASE_URL=f"{postgres}postgres") as service:
        headers = {"Authorization": f"Bearer {desk_key(service.environment)}"}
        body = a_fixture_body(slug="led-on-postgres")
        url = f"{service.url}/v1/fixtures"
        key = {"Idempotency-Key": '"once"'}
        first = requests.post(url, json=body, headers=headers | key, timeout=TIMEOUT)
        again = requests.post(url, json=body, headers=headers | key, timeout=TIMEOUT)
        layout = a_body(a_body_load(fixture="led-on-postgres"))
        answer = requests.post(f"{service.url}/v1/balance", json=layout, timeout=TIMEOUT)

    assert (first.status_code, again.status_code) == (201, 201)
    assert again.content == first.content
    assert answer.status_code == 200
    assert not (tmp_path / "evenboard.sqlite").exists()
