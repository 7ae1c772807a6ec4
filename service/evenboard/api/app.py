"""The application factory: all state hangs on the application, nothing is made at import."""

from __future__ import annotations

import functools
import json
import logging
import sys
import time
from collections.abc import Mapping

from flask import Flask, Response, g, request
from werkzeug.middleware.proxy_fix import ProxyFix

from evenboard import ENGINE_VERSION
from evenboard.api import demo, problem, web
from evenboard.api.access import SECURITY_SCHEMES
from evenboard.api.answer import json_bytes
from evenboard.api.config import Config, ConfigInvalid, read_config
from evenboard.api.limiting import limit_rate
from evenboard.api.metrics import Metrics
from evenboard.api.problem import Problem
from evenboard.api.resources import RESOURCES
from evenboard.api.spec import Api
from evenboard.api.state import State
from evenboard.catalogue import Catalogue, load_catalogue
from evenboard.paths import catalogue_folder
from evenboard.store import Store
from evenboard.webhooks import Sender

__all__ = ["create_app"]


def create_app(config: Mapping[str, str] | None = None) -> Flask:
    """The service as a WSGI application, its tables up to date.

    ``config`` holds settings by their names, by default the environment. Raises ``ConfigInvalid``
    with every setting that cannot be used, ``CatalogueInvalid`` with every fault of the data.
    """
    settings = read_config(config)
    _log_as_json(settings.log_level)
    catalogue = _shipped()
    if settings.region not in catalogue.regions:
        known = ", ".join(sorted(catalogue.regions))
        raise ConfigInvalid([f"EVENBOARD_REGION={settings.region!r}: must be one of {known}"])
    store = Store(settings.database_url)
    store.migrate()

    app = Flask("evenboard", static_folder=None)
    app.config.update(
        MAX_CONTENT_LENGTH=settings.max_body_bytes,
        API_TITLE="Evenboard",
        API_VERSION="v1",
        OPENAPI_VERSION="3.1.0",
    )
    app.url_map.strict_slashes = False
    app.url_map.merge_slashes = False
    # It sends nothing until a worker starts it, after the fork: see gunicorn.conf.py.
    sender = Sender(store, settings.webhook_hosts)
    app.extensions["evenboard"] = State(settings, store, catalogue, sender)
    if settings.proxies:
        app.wsgi_app = ProxyFix(  # type: ignore[method-assign]
            app.wsgi_app, x_for=settings.proxies, x_proto=settings.proxies
        )
    problem.register(app)
    app.extensions["evenboard-metrics"] = Metrics(app)
    app.before_request(_refuse_unprintable)
    app.before_request(limit_rate)
    app.after_request(_harden)
    app.after_request(_log_request)
    app.register_blueprint(web.blueprint())
    app.extensions["evenboard-openapi"] = _describe(app, settings)
    return app


def _refuse_unprintable() -> None:
    # Nothing has such a name, and one of the two databases refuses to look for it.
    if any(character < " " for character in request.path):
        raise Problem(404, "There is nothing here: a control character stands in the address.")


@functools.cache
def _shipped() -> Catalogue:
    # Frozen, and of files that do not change while the process lives: applications may share it.
    return load_catalogue(catalogue_folder())


def _describe(app: Flask, settings: Config) -> bytes:
    api = Api(app, spec_kwargs={"info": {"description": _DESCRIPTION}})
    for name, words in SECURITY_SCHEMES.items():
        scheme = {"type": "http", "scheme": "bearer", "description": words}
        api.spec.components.security_scheme(name, scheme)
    for resource in (*RESOURCES, *((demo.blueprint,) if settings.demo else ())):
        api.register_blueprint(resource)
    return json_bytes(api.spec.to_dict())


_DESCRIPTION = f"""\
Per-phase load planning and checking for film and event lighting. Engine {ENGINE_VERSION}.

Errors are RFC 9457 problem documents; `errors` lists all faults of a request at once. It helps a
competent person to decide and does not replace one, nor local rules.
"""


def _harden(response: Response) -> Response:
    """Headers of every answer: it is what it says it is, and tells nobody where it was read."""
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["Referrer-Policy"] = "no-referrer"
    response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
    return response


def _log_request(response: Response) -> Response:
    log = logging.getLogger("evenboard.access")
    if log.isEnabledFor(logging.INFO):
        begun = g.get("begun")
        log.info(
            "%s %s %d %s",
            request.method,
            request.path,
            response.status_code,
            "" if begun is None else f"{(time.perf_counter() - begun) * 1000:.1f} ms",
        )
    return response


class _JsonLines(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        line = {
            "time": self.formatTime(record, "%Y-%m-%dT%H:%M:%S%z"),
            "level": record.levelname.lower(),
            "name": record.name,
            "message": record.getMessage(),
        }
        if record.exc_info:
            line["trace"] = self.formatException(record.exc_info)
        return json.dumps(line, ensure_ascii=False)


def _log_as_json(level: str) -> None:
    log = logging.getLogger("evenboard")
    log.setLevel(level.upper())
    if not log.handlers:
        handler = logging.StreamHandler(sys.stderr)
        handler.setFormatter(_JsonLines())
        log.addHandler(handler)
        log.propagate = False
