"""What the service says of shared layouts is as the OpenAPI document describes it."""

from __future__ import annotations

from typing import Any

import jsonschema_rs
import pytest
from flask import Flask

from evenboard.api.access import DESK
from support.callers import headers_of
from support.layouts import a_body, a_body_load

PLACE = {"board": "main", "outlet": "l1-bottom"}
MOVE = {"op": "move", "load": "key", "from": PLACE, "to": {**PLACE, "outlet": "l1-top"}}


@pytest.fixture
def answers(app: Flask) -> dict[str, Any]:
    """Real answers by the name of their schema."""
    client, desk = app.test_client(), headers_of(app, DESK)
    loose = {"id": "spare", "fixture": "tungsten-open-face-2000"}
    body = a_body(a_body_load(), loose, setups=[{"id": "wide"}])
    sent = {"body": body, "order_ref": "A/12", "burning": "wide"}
    saved = client.post("/v1/layouts", json=sent, headers=desk)
    address = saved.headers["Location"]

    def post(path: str, body: Any) -> Any:
        return client.post(f"{address}/{path}", json=body, headers=desk)

    def get(path: str) -> Any:
        return client.get(path, headers=desk).json

    return {
        "SavedLayout": saved.json,
        "ChangesAnswer": post("changes", {"changes": [MOVE], "age_s": 3}).json,
        "Problem": post(
            "changes", {"changes": [MOVE | {"to": {**PLACE, "outlet": "l2-top"}}]}
        ).json,
        "Reading": post("readings", {"phases": {"L1": 3.0}, "neutral": 8.0}).json,
        "NewLink": post("links", {"name": "box", "may": "plug"}).json,
        "NewKey": client.post("/v1/keys", json={"name": "back"}, headers=desk).json,
        "SavedLayoutPage": get("/v1/layouts"),
        "Events": get(f"{address}/events"),
        "ReadingPage": get(f"{address}/readings"),
        "LinkList": get(f"{address}/links"),
        "KeyList": get("/v1/keys"),
        "AuditPage": get("/v1/audit"),
        "Caller": get("/v1/whoami"),
        "Balance": get(f"{address}/balance"),
    }


def test_every_answer_is_as_described(app: Flask, answers: dict[str, Any]) -> None:
    document = app.test_client().get("/openapi.json").json

    assert answers["Problem"]["status"] == 409
    assert answers["Reading"]["hypotheses"]
    for name, answer in answers.items():
        whole = {"$ref": f"#/components/schemas/{name}", "components": document["components"]}
        described = jsonschema_rs.Draft202012Validator(whole)
        described.validate(answer)
        # A description that takes anything would prove nothing.
        assert not described.is_valid({})
