"""``deploy/run``: sets up what is missing once, then serves, from any folder."""

from __future__ import annotations

import hashlib
import os
import signal
import subprocess
import sys
from pathlib import Path

import requests

from support.ports import free_port

ROOT = Path(__file__).parents[2]
RUN = ROOT / "deploy" / "run"
LOCKED = ("deploy/requirements.txt", "pyproject.toml", "clients/python/pyproject.toml")


def a_venv(folder: Path, program: str, lock: str | None) -> Path:
    """A virtual environment as far as ``deploy/run`` looks at one."""
    (folder / "bin").mkdir(parents=True)
    python = folder / "bin" / "python"
    python.write_text(f"#!/bin/sh\n{program}\n")
    python.chmod(0o755)
    if lock is not None:
        (folder / ".deploy-lock").write_text(f"{lock}\n")
    return folder


def the_lock() -> str:
    return hashlib.sha256(b"".join((ROOT / name).read_bytes() for name in LOCKED)).hexdigest()


def test_where_all_is_installed_it_serves_from_any_folder_and_ends_cleanly(tmp_path: Path) -> None:
    venv = a_venv(tmp_path / "venv", f'exec "{sys.executable}" "$@"', the_lock())
    port = free_port()
    environment = {
        **os.environ,
        "EVENBOARD_VENV": str(venv),
        "EVENBOARD_DATA": str(tmp_path / "data"),
        "EVENBOARD_PORT": str(port),
        "EVENBOARD_HOST": "127.0.0.1",
    }

    with subprocess.Popen(
        [RUN], cwd="/", env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as service:
        assert service.stdout is not None
        line = service.stdout.readline()
        ready = requests.get(f"http://127.0.0.1:{port}/readyz", timeout=10)
        service.send_signal(signal.SIGTERM)
        out, err = service.communicate(timeout=30)

    assert line == (
        f"Evenboard is ready. Open http://127.0.0.1:{port} on a phone in the same network.\n"
    )
    assert ready.status_code == 200
    assert (out, err) == ("", "")
    assert service.returncode == 0


def test_what_is_not_as_locked_is_installed_with_hashes_before_it_serves(tmp_path: Path) -> None:
    log = tmp_path / "log"
    venv = a_venv(tmp_path / "venv", f'echo "$@" >>{log}', "of an older version")

    subprocess.run([RUN], cwd="/", env={**os.environ, "EVENBOARD_VENV": str(venv)}, check=True)

    packages, projects, serve = log.read_text().splitlines()
    assert packages.startswith("-m pip install")
    assert f"--require-hashes -r {ROOT}/deploy/requirements.txt" in packages
    assert "--no-deps --no-build-isolation" in projects
    assert f"-e {ROOT} -e {ROOT}/clients/python" in projects
    assert serve == "-m evenboard serve"
    assert (venv / ".deploy-lock").read_text().strip() == the_lock()


def test_where_installing_fails_nothing_is_served_and_the_next_run_tries_again(
    tmp_path: Path,
) -> None:
    log = tmp_path / "log"
    venv = a_venv(tmp_path / "venv", f'echo "$@" >>{log}; exit 7', "of an older version")

    done = subprocess.run([RUN], cwd="/", env={**os.environ, "EVENBOARD_VENV": str(venv)})

    assert done.returncode == 7
    assert "serve" not in log.read_text()
    assert (venv / ".deploy-lock").read_text().strip() == "of an older version"
