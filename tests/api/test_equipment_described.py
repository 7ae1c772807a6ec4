"""What the service says of equipment is as the OpenAPI document describes it."""

from __future__ import annotations

from typing import Any

import jsonschema_rs
import pytest
from flask import Flask

from support.desk import desk_headers
from support.equipment import MEASURED, add_piece
from support.layouts import a_body, a_body_load
from support.pictures import a_picture


@pytest.fixture
def answers(app: Flask) -> dict[str, list[Any]]:
    """Real answers by the name of their schema, of a piece that has been through everything."""
    client, desk = app.test_client(), desk_headers(app)

    def post(path: str, body: Any) -> Any:
        return client.post(path, json=body, headers=desk).json

    def get(path: str) -> Any:
        return client.get(path, headers=desk).json

    piece = add_piece(client, desk, test_interval_months=6, bought_on="2020-01-01", note="blue")
    body = a_body(a_body_load("row", "l1-bottom"))
    body["boards"][0]["feeder"] = {"tag": "C-12"}
    post("/v1/orders/A%2F1/reports", {"layout": body})
    address = "/v1/equipment/C-12"
    out = post(f"{address}/check-outs", {"order_ref": "A/1", "until": "2099-01-01"})
    photo = client.post(
        f"{address}/photos", data=a_picture(), content_type="image/jpeg", headers=desk
    ).json
    looked = post(f"{address}/inspections", {"found": ["wet"], "photos": [photo["id"]]})
    refused = post(f"{address}/releases", {})
    caused = post(f"{address}/causes", {"cause": "water"})
    test = {"passed": True, "competent_person": "Ben Okafor", **MEASURED}
    tested = post(f"{address}/tests", test)
    faulty = client.post(
        "/v1/equipment-imports", data="tag,kind\nC-1,cabel\n", content_type="text/csv", headers=desk
    )
    tried = client.post(
        "/v1/equipment-imports?dry_run=1",
        data="tag,kind,name\nC-1,cabel,x\nC-2,board,\nC-12,cable,red\n",
        content_type="text/csv",
        headers=desk,
    )
    return {
        "Piece": [piece, get(address)],
        "EquipmentPage": [get("/v1/equipment"), get("/v1/equipment-due?within_days=900")],
        "Done": [out, looked, caused, tested],
        "History": [get(f"{address}/history")],
        "UnevenPage": [get("/v1/equipment-uneven?least_kh=0")],
        "Photo": [photo],
        "PhotoList": [get(f"{address}/photos")],
        "ImportAnswer": [tried.json],
        "Problem": [refused, faulty.json],
    }


def test_every_answer_is_as_described(app: Flask, answers: dict[str, list[Any]]) -> None:
    document = app.test_client().get("/openapi.json").json

    assert answers["UnevenPage"][0]["items"]
    assert answers["History"][0]["orders"][0]["runs"]
    assert answers["ImportAnswer"][0]["faults"]
    for name, found in answers.items():
        whole = {"$ref": f"#/components/schemas/{name}", "components": document["components"]}
        described = jsonschema_rs.Draft202012Validator(whole)
        for answer in found:
            described.validate(answer)
            # A field that the description does not know would be one that nobody is told of.
            known = document["components"]["schemas"][name]["properties"].keys()
            assert answer.keys() <= known, name
        # A description that takes anything would prove nothing.
        assert not described.is_valid({})
