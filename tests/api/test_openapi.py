"""The OpenAPI document says what the service does."""

from __future__ import annotations

import json
import re
from typing import Any

import jsonschema_rs
import pytest
from flask import Flask
from flask.testing import FlaskClient

from evenboard.api import create_app
from evenboard.paths import demo_folder

DEMOS = sorted(demo_folder().glob("*.json"))


def schema(document: dict[str, Any], name: str) -> Any:
    """A validator of one named schema of the document."""
    whole = {"$ref": f"#/components/schemas/{name}", "components": document["components"]}
    return jsonschema_rs.Draft202012Validator(whole)


@pytest.fixture(scope="module")
def document(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    application = create_app({"EVENBOARD_DATA": str(tmp_path_factory.mktemp("openapi"))})
    answer = application.test_client().get("/openapi.json")
    application.extensions["evenboard"].store.close()
    read: dict[str, Any] = answer.json
    return read


def test_it_is_an_openapi_3_1_document_with_no_reference_into_nothing(
    document: dict[str, Any],
) -> None:
    assert document["openapi"] == "3.1.0"
    for kind, name in re.findall(r'"#/components/(\w+)/(\w+)"', json.dumps(document)):
        assert name in document["components"][kind]


def test_every_route_of_the_api_is_described_and_nothing_else(
    app: Flask, document: dict[str, Any]
) -> None:
    routes = {
        (re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", rule.rule), method.lower())
        for rule in app.url_map.iter_rules()
        if not rule.endpoint.startswith("web.")
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
    }
    described = {
        (path, method)
        for path, item in document["paths"].items()
        for method in item
        if method != "parameters"
    }

    assert described == routes


def test_every_operation_has_a_summary_and_its_refusals_are_problem_documents(
    document: dict[str, Any],
) -> None:
    for item in document["paths"].values():
        for method, operation in item.items():
            if method == "parameters":
                continue
            assert operation["summary"].endswith(".")
            refusals = [r for r in operation["responses"] if r == "default" or r >= "400"]
            for status in refusals:
                reference = operation["responses"][status]["$ref"].rsplit("/", 1)[1]
                content = document["components"]["responses"][reference]["content"]
                assert list(content) == ["application/problem+json"]


def test_the_demo_is_absent_where_it_is_switched_off(tmp_path: Any) -> None:
    settings = {"EVENBOARD_DATA": str(tmp_path), "EVENBOARD_DEMO": "0"}
    application = create_app(settings)
    client = application.test_client()

    assert "/v1/demo/layouts" not in client.get("/openapi.json").json["paths"]
    assert client.get("/v1/demo/layouts").status_code == 404
    application.extensions["evenboard"].store.close()


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("/v1/fixtures?limit=200", "FixturePage"),
        ("/v1/fixtures?limit=200&region=us", "FixturePage"),
        ("/v1/fixtures?limit=200&region=jp", "FixturePage"),
        ("/v1/fixtures/tungsten-open-face-2000", "Fixture"),
        ("/v1/regions", "RegionPage"),
        ("/v1/regions/jp", "Region"),
        ("/v1/boards", "BoardTypePage"),
        ("/v1/boards/three-row-32", "BoardType"),
        ("/v1/cables", "CableTypePage"),
        ("/v1/cables/h07rn-f", "CableType"),
        ("/v1/demo/layouts", "DemoPage"),
        ("/problems/invalid-body", "ProblemType"),
        ("/healthz", "Status"),
        ("/readyz", "Status"),
    ],
)
def test_what_is_read_is_as_described(
    client: FlaskClient, document: dict[str, Any], path: str, name: str
) -> None:
    answer = client.get(path)

    assert answer.status_code == 200
    schema(document, name).validate(answer.json)


@pytest.mark.parametrize("demo", DEMOS, ids=lambda file: file.stem)
def test_a_balance_and_its_layout_are_as_described(
    client: FlaskClient, document: dict[str, Any], demo: Any
) -> None:
    layout = json.loads(demo.read_text())["layout"]

    answer = client.post("/v1/balance", json=layout)

    schema(document, "Layout").validate(layout)
    schema(document, "Balance").validate(answer.json)


def test_the_description_of_a_balance_is_not_one_that_takes_anything(
    client: FlaskClient, document: dict[str, Any]
) -> None:
    layout = json.loads(DEMOS[0].read_text())["layout"]
    answer = client.post("/v1/balance", json=layout).json
    described = schema(document, "Balance")

    for broken in (
        {**answer, "verdict": "fine"},
        {**answer, "phases": [{}]},
        {name: value for name, value in answer.items() if name != "notice"},
        {**answer, "surprise": 1},
    ):
        assert not described.is_valid(broken)


@pytest.mark.parametrize(
    "path",
    ["/nope", "/v1/fixtures?limit=x", "/v1/fixtures/nope", "/v1/fixtures?limit=1&limit=2"],
)
def test_a_refusal_is_as_described(
    client: FlaskClient, document: dict[str, Any], path: str
) -> None:
    answer = client.get(path)

    assert answer.status_code >= 400
    schema(document, "Problem").validate(answer.json)


def test_limits_that_are_exclusive_are_published_as_such(document: dict[str, Any]) -> None:
    schemas = document["components"]["schemas"]

    assert schemas["RunBody"]["properties"]["csa_mm2"]["exclusiveMinimum"] == 0
    assert schemas["CustomBody"]["properties"]["power_w"]["minimum"] == 0.1
