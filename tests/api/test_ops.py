"""Alive, ready, counted, described; and no trace for anybody whatever happens."""

from __future__ import annotations

import logging
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import text

from evenboard.api import create_app
from evenboard.api.problem import TYPES
from evenboard.store import Store
from support.desk import a_fixture_body, desk_headers
from support.layouts import a_body
from support.ports import free_port
from support.problems import assert_problem


def test_it_is_alive_and_ready(client: FlaskClient) -> None:
    assert client.get("/healthz").json == {"status": "ok"}
    assert client.get("/readyz").json["status"] == "ready"


@pytest.fixture
def cut_off(app: Flask) -> FlaskClient:
    """An application whose database has gone away."""
    state = app.extensions["evenboard"]
    state.store.close()
    state.store = Store(f"postgresql://x@127.0.0.1:{free_port()}/x?connect_timeout=2")
    return app.test_client()


def test_without_its_database_it_is_alive_but_not_ready(cut_off: FlaskClient) -> None:
    assert cut_off.get("/healthz").status_code == 200
    assert_problem(cut_off.get("/readyz"), 503)


def test_without_its_database_it_asks_to_come_back_and_shows_no_trace(
    cut_off: FlaskClient,
) -> None:
    for response in (
        cut_off.get("/v1/fixtures"),
        cut_off.post("/v1/balance", json=a_body()),
        cut_off.delete("/v1/fixtures/x", headers={"Authorization": "Bearer evb_x"}),
    ):
        problem = assert_problem(response, 503)
        assert int(response.headers["Retry-After"]) > 0
        assert "127.0.0.1" not in problem["detail"]


def test_tables_of_another_version_are_not_ready(app: Flask, client: FlaskClient) -> None:
    with app.extensions["evenboard"].store.writing() as session:
        session.execute(text("UPDATE alembic_version SET version_num = '0000'"))

    assert_problem(client.get("/readyz"), 503)


def test_a_fault_of_ours_goes_to_the_log_and_not_to_the_caller(
    app: Flask, caplog: pytest.LogCaptureFixture
) -> None:
    @app.get("/broken")
    def broken() -> Any:
        raise RuntimeError("secret of the house")

    log = logging.getLogger("evenboard.api")
    log.addHandler(caplog.handler)
    response = app.test_client().get("/broken")
    log.removeHandler(caplog.handler)

    problem = assert_problem(response, 500)
    assert "secret" not in str(problem)
    assert "secret of the house" in caplog.text


def test_the_metrics_name_routes_and_never_paths(client: FlaskClient) -> None:
    client.get("/v1/fixtures/tungsten-open-face-2000")
    client.get("/v1/fixtures/one-that-is-not")
    client.get("/nothing-here")

    page = client.get("/metrics").text

    assert 'route="/v1/fixtures/<slug>",status="200"} 1.0' in page
    assert 'route="/v1/fixtures/<slug>",status="404"} 1.0' in page
    assert 'route="(none)",status="404"} 1.0' in page
    assert "one-that-is-not" not in page


@pytest.mark.parametrize("slug", sorted(TYPES))
def test_each_kind_of_problem_is_explained_where_its_type_points(
    client: FlaskClient, slug: str
) -> None:
    explained = client.get(f"/problems/{slug}")

    assert explained.status_code == 200
    assert explained.json["title"] == TYPES[slug].title


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "/v1", 404),
        ("POST", "/v1/nothing", 404),
        ("GET", "/v1/fixtures/a/b", 404),
        ("GET", "//v1/fixtures", 404),
        ("POST", "/v1/regions", 405),
        ("DELETE", "/v1/fixtures", 405),
        ("POST", "/healthz", 405),
        ("GET", "/v1/regions/xx", 404),
        ("GET", "/v1/boards/xx", 404),
        ("GET", "/v1/cables/xx", 404),
        ("GET", "/problems/xx", 404),
        ("GET", "/v1/boards?region=xx", 422),
        ("GET", "/v1/regions?region=eu", 422),
    ],
)
def test_every_refusal_is_a_problem_document(
    client: FlaskClient, method: str, path: str, status: int
) -> None:
    assert_problem(client.open(path, method=method), status)


def test_what_the_log_says_of_a_request_is_one_line(tmp_path: Path) -> None:
    application = create_app(
        {"EVENBOARD_DATA": str(tmp_path), "EVENBOARD_REQUESTS_PER_MINUTE": "0"}
    )
    lines: list[str] = []
    log = logging.getLogger("evenboard.access")
    log.setLevel(logging.INFO)
    handler = logging.Handler()
    handler.emit = lambda record: lines.append(record.getMessage())  # type: ignore[method-assign]
    log.addHandler(handler)

    application.test_client().get("/v1/fixtures?q=secret")
    log.removeHandler(handler)
    log.setLevel(logging.NOTSET)
    application.extensions["evenboard"].store.close()

    [line] = lines
    assert line.startswith("GET /v1/fixtures 200 ")
    assert "secret" not in line


# --- the limit of requests ------------------------------------------------------------------------


@pytest.fixture
def limited(tmp_path: Path) -> Any:
    application = create_app(
        {
            "EVENBOARD_DATA": str(tmp_path),
            "EVENBOARD_REQUESTS_PER_MINUTE": "5",
            "EVENBOARD_PROXIES": "1",
        }
    )
    yield application
    application.extensions["evenboard"].store.close()


def statuses(app: Flask, addresses: list[str]) -> list[int]:
    client = app.test_client()
    return [
        client.get("/v1/regions/eu", headers={"X-Forwarded-For": address}).status_code
        for address in addresses
    ]


def test_each_address_has_a_limit_of_its_own(limited: Flask) -> None:
    found = statuses(limited, ["192.0.2.1"] * 5 + ["192.0.2.2"])

    assert found == [200] * 6


def test_more_than_the_limit_is_refused(limited: Flask) -> None:
    # Twelve in at most two minutes: at least two are over the limit of five.
    assert statuses(limited, ["192.0.2.1"] * 12).count(429) >= 2


def test_a_network_of_the_new_internet_protocol_counts_as_one_caller(limited: Flask) -> None:
    same = [f"2001:db8:1:2::{host:x}" for host in range(1, 13)]

    assert statuses(limited, same).count(429) >= 2
    assert statuses(limited, ["2001:db8:9:9::1"]) == [200]


def test_the_pages_and_the_health_are_not_limited(limited: Flask) -> None:
    client = limited.test_client()

    assert {client.get(path).status_code for path in ["/", "/healthz"] * 10} == {200}


def test_a_forged_address_is_not_believed_without_a_proxy_of_ours(tmp_path: Path) -> None:
    application = create_app(
        {"EVENBOARD_DATA": str(tmp_path), "EVENBOARD_REQUESTS_PER_MINUTE": "5"}
    )

    found = statuses(application, [f"192.0.2.{host}" for host in range(1, 13)])

    assert found.count(429) >= 2
    application.extensions["evenboard"].store.close()


def test_without_a_limit_nothing_is_counted(app: Flask) -> None:
    statuses(app, ["192.0.2.1"] * 3)

    with app.extensions["evenboard"].store.reading() as session:
        assert session.execute(text("SELECT count(*) FROM rate")).scalar_one() == 0


def test_an_own_type_whose_slug_the_catalogue_ships_later_gives_way(
    app: Flask, client: FlaskClient, caplog: pytest.LogCaptureFixture
) -> None:
    headers = desk_headers(app)
    client.post("/v1/fixtures", json=a_fixture_body(), headers=headers)
    state = app.extensions["evenboard"]
    own = state.catalogue().fixtures["led-house-panel-350"]
    state.shipped = state.shipped.with_fixtures([own])
    state._revision = -1

    response = client.get("/v1/fixtures/led-house-panel-350")

    assert response.status_code == 200
    assert response.json["own"] is False
