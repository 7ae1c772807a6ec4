"""A PostgreSQL server of the tests' own: made in a temporary folder, thrown away at the end."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psycopg

from support.ports import free_port

__all__ = ["running_postgres"]

START_S = 60.0
SETTINGS = ("listen_addresses=127.0.0.1", "fsync=off", "max_connections=60")


@contextlib.contextmanager
def running_postgres() -> Iterator[str]:
    """The address of a running server, ending in the place for a database's name."""
    binaries = sorted(Path("/usr/lib/postgresql").glob("*/bin"))[-1]
    folder = Path(tempfile.mkdtemp(prefix="evenboard-pg-"))
    # The server refuses to run as root.
    owner: dict[str, Any] = {}
    if os.geteuid() == 0:
        owner = {"user": "postgres", "group": "postgres", "extra_groups": []}
        shutil.chown(folder, "postgres", "postgres")
    data, port = str(folder / "data"), free_port()
    initdb = ["initdb", "-A", "trust", "-U", "postgres", "-E", "UTF8", "--locale=C.UTF-8"]
    settings = [word for setting in SETTINGS for word in ("-c", setting)]
    server = ["postgres", "-D", data, "-p", str(port), "-k", str(folder), *settings]
    address = f"postgresql://postgres@127.0.0.1:{port}/"
    try:
        with (folder / "log").open("w") as log:

            def command(program: str, *arguments: str) -> dict[str, Any]:
                words = [str(binaries / program), *arguments]
                return {"args": words, "stdout": log, "stderr": log, "cwd": folder, **owner}

            subprocess.run(**command(*initdb, "--no-sync", "-D", data), check=True, timeout=60)
            # A child of ours, so that it is gone when it has been waited for.
            process = subprocess.Popen(**command(*server))
            try:
                _wait_until_ready(address, process)
                yield address
            finally:
                process.send_signal(signal.SIGQUIT)
                process.wait(timeout=30)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _wait_until_ready(address: str, process: subprocess.Popen[bytes]) -> None:
    end = time.monotonic() + START_S
    while time.monotonic() < end and process.poll() is None:
        with contextlib.suppress(psycopg.OperationalError):
            psycopg.connect(f"{address}postgres", connect_timeout=2).close()
            return
        time.sleep(0.05)
    raise RuntimeError("PostgreSQL does not get ready")
