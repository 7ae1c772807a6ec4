"""Counts and durations for Prometheus, all workers together."""

from __future__ import annotations

import os
import time

from flask import Flask, Response, g, request

__all__ = ["Metrics"]

_SECONDS = (0.002, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 10.0)


class Metrics:
    """The figures of one application."""

    def __init__(self, app: Flask) -> None:
        # Not at the top: the library looks at PROMETHEUS_MULTIPROC_DIR when it is imported, and
        # gunicorn's settings set it only after this module.
        from prometheus_client import CollectorRegistry, Counter, Histogram

        self._registry = CollectorRegistry()
        labels = ("method", "route")
        self._answers = Counter(
            "evenboard_answers", "Answers sent.", (*labels, "status"), registry=self._registry
        )
        self._seconds = Histogram(
            "evenboard_answer_seconds",
            "Time from request to answer.",
            labels,
            buckets=_SECONDS,
            registry=self._registry,
        )
        app.before_request(self._begin)
        app.after_request(self._end)

    def page(self) -> Response:
        """All figures in the exposition format."""
        from prometheus_client import CONTENT_TYPE_LATEST, CollectorRegistry, generate_latest
        from prometheus_client.multiprocess import MultiProcessCollector

        registry = self._registry
        if "PROMETHEUS_MULTIPROC_DIR" in os.environ:
            # Each worker keeps its figures in files of that folder; this adds them up.
            registry = CollectorRegistry()
            MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
        return Response(generate_latest(registry), content_type=CONTENT_TYPE_LATEST)

    @staticmethod
    def _begin() -> None:
        g.begun = time.perf_counter()

    def _end(self, response: Response) -> Response:
        # The rule, never the path: a caller could make any number of paths, each a series.
        rule = request.url_rule.rule if request.url_rule else "(none)"
        method = request.method if request.method in _METHODS else "(other)"
        self._answers.labels(method, rule, response.status_code).inc()
        begun = g.get("begun")
        if begun is not None:
            self._seconds.labels(method, rule).observe(time.perf_counter() - begun)
        return response


_METHODS = frozenset(("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"))
