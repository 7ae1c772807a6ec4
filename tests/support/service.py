"""The real service as a process, and what a test needs to talk to it."""

from __future__ import annotations

import contextlib
import os
import select
import signal
import subprocess
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from support.ports import free_port

__all__ = ["Service", "desk_key", "running_service"]

START_S = 90.0


@dataclass(frozen=True)
class Service:
    """A running service: where it answers, its settings, its process, what it said when ready."""

    url: str
    environment: Mapping[str, str]
    process: subprocess.Popen[str]
    ready_line: str

    def stop(self) -> tuple[int, str, str]:
        """End it as a supervisor does; its exit code and what it wrote since it was ready."""
        self.process.send_signal(signal.SIGTERM)
        out, err = self.process.communicate(timeout=30)
        return self.process.returncode, out, err


@contextlib.contextmanager
def running_service(data: Path, **settings: str) -> Iterator[Service]:
    """The service under gunicorn, as ``deploy/run`` starts it once all is installed."""
    port = settings.get("EVENBOARD_PORT") or str(free_port())
    environment = {
        **os.environ,
        "EVENBOARD_HOST": "127.0.0.1",
        "EVENBOARD_PORT": port,
        "EVENBOARD_DATA": str(data),
        "EVENBOARD_REQUESTS_PER_MINUTE": "0",
        **settings,
    }
    process = subprocess.Popen(
        [sys.executable, "-m", "evenboard", "serve"],
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        line = _ready_line(process)
        yield Service(f"http://127.0.0.1:{port}", environment, process, line)
    finally:
        if process.poll() is None:
            process.send_signal(signal.SIGTERM)
        process.communicate(timeout=20)


def _ready_line(process: subprocess.Popen[str]) -> str:
    """The line that says the service is ready."""
    assert process.stdout is not None
    readable, _, _ = select.select([process.stdout], [], [], START_S)
    line = process.stdout.readline() if readable else ""
    if not line:
        process.terminate()
        raise RuntimeError(f"the service does not get ready: {process.communicate()[1]}")
    return line.rstrip("\n")


def desk_key(environment: Mapping[str, str], name: str = "test desk") -> str:
    """A new key of the desk, made as a person makes it."""
    made = subprocess.run(
        [sys.executable, "-m", "evenboard", "key", "new", "--name", name],
        env=dict(environment),
        check=True,
        capture_output=True,
        text=True,
        timeout=60,
    )
    return made.stdout.splitlines()[-1]
