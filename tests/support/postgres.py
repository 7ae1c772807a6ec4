"""A PostgreSQL server of the tests' own: made in a temporary folder, thrown away at the end."""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

from support.ports import free_port

__all__ = ["running_postgres"]


@contextlib.contextmanager
def running_postgres() -> Iterator[str]:
    """The address of a running server, ending in the place for a database's name."""
    binaries = sorted(Path("/usr/lib/postgresql").glob("*/bin"))[-1]
    folder = Path(tempfile.mkdtemp(prefix="evenboard-pg-"))
    # The server refuses to run as root.
    prefix = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
    if prefix:
        shutil.chown(folder, "postgres", "postgres")
    user = "postgres"
    port = free_port()

    def run(program: str, *arguments: str) -> None:
        subprocess.run(
            [*prefix, str(binaries / program), *arguments],
            check=True,
            stdout=subprocess.DEVNULL,
            cwd=folder,
            timeout=60,
        )

    data = str(folder / "data")
    initdb = ["-A", "trust", "-U", user, "-E", "UTF8", "--locale=C.UTF-8", "--no-sync"]
    run("initdb", *initdb, "-D", data)
    options = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 -c fsync=off"
    log = str(folder / "log")
    try:
        run("pg_ctl", "-D", data, "-w", "-l", log, "-o", options, "start")
        yield f"postgresql://{user}@127.0.0.1:{port}/"
    finally:
        with contextlib.suppress(subprocess.SubprocessError):
            run("pg_ctl", "-D", data, "-m", "immediate", "-w", "stop")
        shutil.rmtree(folder, ignore_errors=True)
