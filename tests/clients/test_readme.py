"""What the client's own page shows works as it stands there."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from support.service import Service

ROOT = Path(__file__).parents[2] / "clients" / "python"


def test_the_example_runs_against_a_service(
    server: Service, capsys: pytest.CaptureFixture[str]
) -> None:
    page = (ROOT / "README.md").read_text()
    [example] = re.findall(r"```python\n(.*?)```", page, re.DOTALL)

    exec(example.replace("http://127.0.0.1:8600", server.url), {})

    printed = capsys.readouterr().out
    assert "L1 8.7 A" in printed
    assert "tungsten" in printed


def test_it_needs_requests_and_nothing_else() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]

    assert [name.split(">")[0] for name in project["dependencies"]] == ["requests"]
    modules = (ROOT / "evenboard_client").glob("*.py")
    assert not any("import evenboard\n" in m.read_text() for m in modules)
    assert not any("from evenboard." in m.read_text() for m in modules)
