"""The real service as a process, and what a test needs to talk to it."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import requests

from support.ports import free_port

__all__ = ["Service", "desk_key", "running_service"]

START_S = 30.0


@dataclass(frozen=True)
class Service:
    """A running service: where it answers, its settings, its process."""

    url: str
    environment: Mapping[str, str]
    process: subprocess.Popen[str]

    def stop(self) -> tuple[int, str, str]:
        """End it as a supervisor does; its exit code and what it wrote to stdout and stderr."""
        self.process.send_signal(signal.SIGTERM)
        out, err = self.process.communicate(timeout=30)
        return self.process.returncode, out, err


@contextlib.contextmanager
def running_service(data: Path, **settings: str) -> Iterator[Service]:
    """The service under gunicorn, as ``deploy/run`` starts it once all is installed."""
    port = free_port()
    environment = {
        **os.environ,
        "EVENBOARD_HOST": "127.0.0.1",
        "EVENBOARD_PORT": str(port),
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
    service = Service(f"http://127.0.0.1:{port}", environment, process)
    try:
        _wait_until_ready(service)
        yield service
    finally:
        if process.poll() is None:
            process.send_signal(signal.SIGTERM)
        process.communicate(timeout=20)


def _wait_until_ready(service: Service) -> None:
    end = time.monotonic() + START_S
    while time.monotonic() < end:
        if service.process.poll() is not None:
            raise RuntimeError(f"the service ended: {service.process.communicate()[1]}")
        with contextlib.suppress(requests.ConnectionError):
            if requests.get(f"{service.url}/readyz", timeout=5).status_code == 200:
                return
        time.sleep(0.05)
    raise RuntimeError("the service does not get ready")


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
