"""The service in this process, with a copy of the web client that a test may change as it runs."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from werkzeug.serving import make_server

from evenboard.api import create_app, web
from evenboard.paths import web_folder

__all__ = ["ClientCopy", "client_copy"]


@dataclass(frozen=True)
class ClientCopy:
    """Where it answers, and the folder of the client's files."""

    url: str
    folder: Path

    def change(self, name: str, old: str, new: str) -> None:
        """Put words in the place of others in a file, as a newer release does."""
        path = self.folder / name
        text = path.read_text()
        assert old in text
        path.write_text(text.replace(old, new))


@contextmanager
def client_copy(folder: Path, patch: pytest.MonkeyPatch) -> Iterator[ClientCopy]:
    """Serve a copy of the client from a new folder."""
    copy = folder / "web"
    shutil.copytree(web_folder(), copy)
    patch.setattr(web, "web_folder", lambda: copy)
    app = create_app({"EVENBOARD_DATA": str(folder), "EVENBOARD_REQUESTS_PER_MINUTE": "0"})
    server = make_server("127.0.0.1", 0, app, threaded=True)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield ClientCopy(f"http://127.0.0.1:{server.server_port}", copy)
    finally:
        server.shutdown()
        thread.join()
        server.server_close()
        app.extensions["evenboard"].store.close()
