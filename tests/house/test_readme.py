"""The README says what the program does: every setting, every route a reader would look for."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from evenboard.api.config import SETTINGS, Setting

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text()


@pytest.mark.parametrize("setting", SETTINGS, ids=lambda s: s.name)
def test_a_setting_stands_in_the_table_with_its_default_and_sentence(setting: Setting) -> None:
    row = next((x for x in README.splitlines() if x.startswith(f"| `{setting.name}`")), "")

    assert setting.sentence in row
    assert f"`{setting.default}`" in row or not setting.default


def test_every_collection_of_the_api_is_in_the_tour(app: Flask) -> None:
    roots = {
        "/" + "/".join(rule.rule.split("/")[1:3])
        for rule in app.url_map.iter_rules()
        if rule.rule.startswith("/v1/")
    }

    missing = {root for root in roots if root not in README}
    assert not missing - {"/v1/demo"}


def test_the_example_of_the_readme_answers_what_it_says(client: FlaskClient) -> None:
    found = re.search(r"curl -s \S+/v1/balance .*? -d '(\{.*?\})'\n```", README, re.S)
    assert found

    answer: Any = client.post("/v1/balance", json=json.loads(found[1]))

    assert answer.status_code == 200
    assert [round(p["current_a"]) for p in answer.json["phases"]] == [17, 0, 9]
    assert any("L2 bottom" in f["remedy"] for f in answer.json["findings"])
