"""Whatever is sent, the answer is one that the OpenAPI document allows, and never a fault of ours.

Requests are made up from the document by a general-purpose API tester, sound ones and broken ones.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    negative_data_rejection,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
    unsupported_method,
)

from evenboard.api import create_app
from support.desk import desk_headers

EXAMPLES = 10
# Not among them: that sound data is accepted, since a body may have a sound shape and no meaning.
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    negative_data_rejection,
    unsupported_method,
]


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """The application, its description and the headers of its desk."""
    folder = tmp_path_factory.mktemp("any-request")
    app = create_app({"EVENBOARD_DATA": str(folder), "EVENBOARD_REQUESTS_PER_MINUTE": "0"})
    # The tester reads answers of an application in process as they are, hence not compressed.
    yield app, {**desk_headers(app), "Accept-Encoding": "identity"}
    app.extensions["evenboard"].store.close()


@pytest.fixture(scope="module")
def described(desk: Any) -> Any:
    return schemathesis.openapi.from_wsgi("/openapi.json", desk[0])


@pytest.mark.parametrize("mode", list(GenerationMode), ids=lambda mode: mode.value)
def test_any_request_gets_an_answer_that_is_described(
    described: Any, desk: Any, mode: GenerationMode
) -> None:
    sent = {
        operation.label: _send_many(operation, mode, desk[1])
        for operation in (result.ok() for result in described.get_all_operations())
    }

    with_a_body = {"POST /v1/balance", "POST /v1/fixtures", "PUT /v1/fixtures/{slug}"}
    assert with_a_body <= sent.keys()
    assert all(sent[label] >= EXAMPLES for label in with_a_body)


def _send_many(operation: Any, mode: GenerationMode, headers: dict[str, str]) -> int:
    """How many requests were sent; none where there is nothing in a request to break."""
    cases: list[Any] = []

    @settings(
        max_examples=EXAMPLES,
        # The same requests in every run: a failure is news, not luck.
        derandomize=True,
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(case=operation.as_strategy(generation_mode=mode))
    def send(case: Any) -> None:
        cases.append(case)
        case.call_and_validate(headers=headers, checks=CHECKS)

    with contextlib.suppress(Unsatisfiable):
        send()
    return len(cases)
