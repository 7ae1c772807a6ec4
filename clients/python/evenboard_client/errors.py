"""What can go wrong: one root, with the answer and its faults where there was an answer."""

from __future__ import annotations

from typing import Any

import requests

__all__ = ["EvenboardError", "Refused", "Unreachable"]


class EvenboardError(Exception):
    """Anything that keeps a call from its answer.

    ``response`` is the answer that was a refusal, None where there was no answer at all.
    ``errors`` lists the faults of the request, each with ``pointer`` (into the body), ``parameter``
    (of the query) or ``line`` and ``column`` (of a file), and ``detail``; empty where the service
    named none.
    """

    def __init__(self, message: str, response: requests.Response | None = None) -> None:
        super().__init__(message)
        self.response = response
        self.errors: list[dict[str, Any]] = []


class Unreachable(EvenboardError):
    """The service did not answer: no network, no service, or too slow."""


class Refused(EvenboardError):
    """The service answered and said no; ``status``, ``title`` and ``detail`` say why.

    ``problem`` is the whole problem document, empty where there was none. ``conflicts`` lists the
    changes of a shared layout where somebody else was first: ``yours``, ``now``, ``theirs``.
    """

    def __init__(self, response: requests.Response) -> None:
        problem = _problem(response)
        self.status = response.status_code
        self.title = str(problem.get("title") or response.reason)
        self.detail = str(problem.get("detail") or "")
        errors = problem.get("errors")
        listed = [e for e in errors if isinstance(e, dict)] if isinstance(errors, list) else []
        lines = [f"{self.status} {self.title}: {self.detail}".rstrip(": ")]
        lines += [f"  {_place(error)}: {error.get('detail', '')}" for error in listed]
        super().__init__("\n".join(lines), response)
        self.errors = listed
        self.problem = problem
        conflicts = problem.get("conflicts")
        self.conflicts: list[dict[str, Any]] = conflicts if isinstance(conflicts, list) else []


def _place(error: dict[str, Any]) -> str:
    if "line" in error:
        return f"line {error['line']}, column {error.get('column')}"
    return str(error.get("pointer") or error.get("parameter") or "(body)")


def _problem(response: requests.Response) -> dict[str, Any]:
    # A proxy in between may answer with a page of its own.
    try:
        problem = response.json()
    except ValueError:
        return {}
    return problem if isinstance(problem, dict) else {}
