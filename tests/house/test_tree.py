"""The house keeps its shape: what stands at the top, how long a file may be, what is said where."""

from __future__ import annotations

import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CARD = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "service",
    "clients",
    "fixtures_catalog",
    "tests",
    "deploy",
}
LONGEST = 450
"""Lines. Four hundred is the aim; a little over is not worth a wall."""


def tracked() -> list[str]:
    listing = subprocess.run(
        ["git", "-C", str(ROOT), "ls-files"], check=True, capture_output=True, text=True
    )
    return listing.stdout.splitlines()


def test_nothing_stands_at_the_top_that_the_design_does_not_name() -> None:
    top = {name.split("/", 1)[0] for name in tracked()}

    assert {name for name in top if not name.startswith(".")} == CARD


def test_no_file_has_grown_past_one_room() -> None:
    long = {}
    for name in tracked():
        path = ROOT / name
        if path.suffix in {".py", ".js", ".css"} and path.exists():
            lines = len(path.read_text().splitlines())
            if lines > LONGEST:
                long[name] = lines

    assert not long


def test_the_readme_gives_the_two_commands_and_the_cautions() -> None:
    text = (ROOT / "README.md").read_text()

    assert "deploy/run" in text
    assert "tests/run" in text
    assert "competent person" in text
    assert "local" in text
