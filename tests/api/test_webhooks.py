"""Webhooks over HTTP: made, told of reports, looked at, sent once more; and a server that dies."""

from __future__ import annotations

import signal
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from evenboard.api import create_app
from evenboard_client import Client
from support.layouts import a_body
from support.ports import free_port
from support.problems import assert_problem
from support.receiver import receiving, wait_until
from support.service import desk_key, running_service


@pytest.fixture
def app(database_url: str, tmp_path: Path) -> Any:
    """The service on each database in turn, allowed to tell this machine."""
    application = create_app(
        {
            "DATABASE_URL": database_url,
            "EVENBOARD_DATA": str(tmp_path),
            "EVENBOARD_REQUESTS_PER_MINUTE": "0",
            "EVENBOARD_WEBHOOK_HOSTS": "127.0.0.1",
        }
    )
    yield application
    application.extensions["evenboard"].store.close()


def send(app: Flask) -> None:
    with ThreadPoolExecutor(2) as pool:
        while app.extensions["evenboard"].sender.send_due(pool):
            pass


def test_a_webhook_is_told_signed_of_reports_issued_and_superseded(
    app: Flask, client: FlaskClient, desk: dict[str, str]
) -> None:
    with receiving() as receiver:
        told = {"name": "order system", "url": receiver.url}
        made = client.post("/v1/webhooks", json=told, headers=desk)
        first, second = (
            client.post("/v1/orders/A/7/reports", json={"layout": a_body()}, headers=desk).json
            for _ in range(2)
        )
        send(app)

    assert made.status_code == 201
    assert all(came.signed_by(made.json["secret"]) for came in receiver.came)
    messages = [came.message for came in receiver.came]
    assert sorted(message["type"] for message in messages) == [
        "report.issued",
        "report.issued",
        "report.superseded",
    ]
    [over] = [m["data"] for m in messages if m["type"] == "report.superseded"]
    assert (over["report_id"], over["superseded_by"]) == (first["id"], second["id"])
    data = next(m["data"] for m in messages if m["data"]["report_id"] == second["id"])
    assert (data["order_ref"], data["number"], data["verdict"]) == ("A/7", 2, second["verdict"])
    assert data["links"] == second["links"]
    assert client.get(data["links"]["pdf"]).data.startswith(b"%PDF-")
    listed = client.get(f"{made.headers['Location']}/deliveries", headers=desk).json["items"]
    assert {item["status"] for item in listed} == {"delivered"}
    assert {item["id"] for item in listed} == {came.id for came in receiver.came}


def test_what_was_refused_tells_nobody(
    app: Flask, client: FlaskClient, desk: dict[str, str]
) -> None:
    with receiving() as receiver:
        told = {"name": "order system", "url": receiver.url}
        client.post("/v1/webhooks", json=told, headers=desk)
        client.post("/v1/orders/A/7/reports", json={"layout": {}}, headers=desk)
        send(app)

    assert receiver.came == []


def test_a_ping_and_a_message_sent_once_more(
    app: Flask, client: FlaskClient, desk: dict[str, str]
) -> None:
    with receiving(500) as receiver:
        told = {"name": "order system", "url": receiver.url}
        address = client.post("/v1/webhooks", json=told, headers=desk).headers["Location"]
        ping = client.post(f"{address}/deliveries", headers=desk)
        send(app)
        waiting = client.get(f"{address}/deliveries?status=waiting", headers=desk).json["items"]
        again = client.post(f"{address}/deliveries/{ping.json['id']}/resend", headers=desk)
        send(app)

    assert (ping.status_code, ping.json["event"], ping.json["status"]) == (201, "ping", "waiting")
    assert [item["answer"] for item in waiting] == ["Answered 500."]
    assert again.json["attempts"] == 0
    assert [came.id for came in receiver.came] == [ping.json["id"]] * 2


def test_a_webhooks_secret_is_shown_once_and_a_removed_one_stays_listed(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    headers = desk | {"Idempotency-Key": '"k"'}
    told = {"name": "order system", "url": "http://127.0.0.1:9/"}
    made = client.post("/v1/webhooks", json=told, headers=headers)

    again = client.post("/v1/webhooks", json=told, headers=headers)
    removed = client.delete(made.headers["Location"], headers=desk)

    assert again.json == made.json | {"secret": None}
    [listed] = client.get("/v1/webhooks", headers=desk).json["items"]
    assert listed == removed.json
    assert "secret" not in listed
    assert_problem(client.post(f"{made.headers['Location']}/deliveries", headers=desk), 409)
    assert_problem(client.get("/v1/webhooks/none/deliveries", headers=desk), 404)


@pytest.mark.parametrize(
    "url", ["https://127.0.0.2/", "https://localhost/", "https://[::1]/", "http://a.example/", "x"]
)
def test_an_address_where_nothing_may_go_is_refused(
    client: FlaskClient, desk: dict[str, str], url: str
) -> None:
    told = {"name": "order system", "url": url}

    assert_problem(client.post("/v1/webhooks", json=told, headers=desk), 422, "/url")


def test_a_server_that_is_killed_loses_no_message(tmp_path: Path) -> None:
    port = free_port()
    settings = {"EVENBOARD_WEBHOOK_HOSTS": "127.0.0.1", "EVENBOARD_WORKERS": "2"}
    with running_service(tmp_path, **settings) as service:
        with Client(service.url, token=desk_key(service.environment)) as desk:
            # Nobody listens there yet.
            webhook = desk.add_webhook("orders", f"http://127.0.0.1:{port}/")
            report = desk.issue_report("A/7", a_body())
            wait_until(lambda: next(desk.deliveries(webhook["id"]))["attempts"], 20)
        service.process.send_signal(signal.SIGKILL)
        service.process.wait(20)

    with receiving(port=port) as receiver, running_service(tmp_path, **settings):
        wait_until(lambda: receiver.came, 40)

    # Two workers, and yet it comes once; a wait of another try would show a second one.
    assert [came.message["data"]["report_id"] for came in receiver.came] == [report["id"]]
    assert receiver.came[0].signed_by(webhook["secret"])
