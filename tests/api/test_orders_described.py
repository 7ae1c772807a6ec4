"""What the service says of orders, reports and webhooks is as the OpenAPI document describes it."""

from __future__ import annotations

from typing import Any

import jsonschema_rs
import pytest
from flask import Flask

from evenboard.api.access import DESK
from support.callers import headers_of
from support.layouts import a_body

JSON = {"Accept": "application/json"}


@pytest.fixture
def answers(app: Flask) -> dict[str, Any]:
    """Real answers by the name of their schema."""
    client, desk = app.test_client(), headers_of(app, DESK)

    def post(path: str, body: Any = None) -> Any:
        return client.post(path, json=body, headers=desk).json

    def get(path: str) -> Any:
        return client.get(path, headers=desk | JSON).json

    order = client.put("/v1/orders/A/7", json={"starts_on": "2026-12-01"}, headers=desk).json
    webhook = post("/v1/webhooks", {"name": "orders", "url": "https://93.184.216.34/"})
    first = post("/v1/orders/A/7/reports", {"layout": a_body()})
    post("/v1/orders/A/7/reports", {"layout": a_body()})
    address = f"/v1/webhooks/{webhook['id']}"
    return {
        "Order": order,
        "OrderPage": get("/v1/orders"),
        "Issued": first,
        "Report": get(f"/v1/reports/{first['id']}"),
        "ReportPage": get("/v1/orders/A/7/reports"),
        "Verification": get(f"/verify/{first['id']}"),
        "JwkSet": get("/.well-known/jwks.json"),
        "NewWebhook": webhook,
        "Webhook": get(address),
        "WebhookList": get("/v1/webhooks"),
        "Delivery": post(f"{address}/deliveries"),
        "DeliveryPage": get(f"{address}/deliveries"),
    }


def test_every_answer_is_as_described(app: Flask, answers: dict[str, Any]) -> None:
    document = app.test_client().get("/openapi.json").json

    assert answers["Verification"]["status"] == "superseded"
    # Two issued, one superseded, one ping.
    assert len(answers["DeliveryPage"]["items"]) == 4
    for name, answer in answers.items():
        whole = {"$ref": f"#/components/schemas/{name}", "components": document["components"]}
        described = jsonschema_rs.Draft202012Validator(whole)
        described.validate(answer)
        assert answer.keys() == document["components"]["schemas"][name]["properties"].keys()
        assert not described.is_valid({})
