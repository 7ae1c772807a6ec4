"""One way to look at a refusal, at every door."""

from __future__ import annotations

from typing import Any

__all__ = ["assert_problem"]


def assert_problem(response: Any, status: int, pointer: str | None = None) -> dict[str, Any]:
    """The problem document of a refusal, checked for its form; returned for its words.

    Takes an answer of Flask's test client or of requests. ``pointer`` is the place in the body, or
    the parameter of the query, that must be among the faults named.
    """
    assert response.status_code == status, _text(response)
    assert response.headers["Content-Type"] == "application/problem+json"
    problem: dict[str, Any] = response.json() if callable(response.json) else response.json
    assert {"type", "title", "status", "detail"} <= problem.keys()
    assert problem["status"] == status
    assert problem["detail"]
    text = _text(response)
    assert "Traceback" not in text
    assert ".py" not in text
    for error in problem.get("errors", []):
        assert error["detail"]
        # One place: in the body, in the query, or in a file.
        assert len({"pointer", "parameter", "line"} & error.keys()) == 1
    if pointer is not None:
        places = [e.get("pointer", e.get("parameter")) for e in problem.get("errors", [])]
        assert pointer in places, problem
    return problem


def _text(response: Any) -> str:
    return str(response.text)
