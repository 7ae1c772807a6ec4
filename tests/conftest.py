"""What tests of several rooms share: the catalogue, an application, a live service, databases."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest
from flask import Flask
from flask.testing import FlaskClient

from evenboard.api import create_app
from evenboard.catalogue import Catalogue, load_catalogue
from evenboard.paths import catalogue_folder
from support.postgres import running_postgres
from support.service import Service, desk_key, running_service


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    """The catalogue as it is shipped."""
    return load_catalogue(catalogue_folder())


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """A PostgreSQL server of our own."""
    with running_postgres() as address:
        yield address


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """An empty database, on each kind in turn."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'store.sqlite'}"
    server = request.getfixturevalue("postgres")
    # A schema of its own does what a database would, without its thousand files.
    name = f"test_{uuid.uuid4().hex}"
    with psycopg.connect(f"{server}postgres", autocommit=True) as connection:
        connection.execute(f"CREATE SCHEMA {name}")
    return f"{server}postgres?options=-csearch_path%3D{name}"


@pytest.fixture
def app(tmp_path: Path) -> Iterator[Flask]:
    """The service as an application with an empty SQLite file."""
    settings = {"EVENBOARD_DATA": str(tmp_path), "EVENBOARD_REQUESTS_PER_MINUTE": "0"}
    application = create_app(settings)
    yield application
    application.extensions["evenboard"].store.close()


@pytest.fixture
def app_on_both(database_url: str, tmp_path: Path) -> Iterator[Flask]:
    """The service as an application with an empty database, on each kind in turn."""
    settings = {
        "DATABASE_URL": database_url,
        "EVENBOARD_DATA": str(tmp_path),
        "EVENBOARD_REQUESTS_PER_MINUTE": "0",
    }
    application = create_app(settings)
    yield application
    application.extensions["evenboard"].store.close()


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    """A caller of the application, without a network between."""
    return app.test_client()


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """The real service: gunicorn with two workers on a free port."""
    with running_service(tmp_path_factory.mktemp("service")) as service:
        yield service


@pytest.fixture(scope="session")
def desk_secret(server: Service) -> str:
    """A key of the live service's desk."""
    return desk_key(server.environment)
