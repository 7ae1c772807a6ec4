"""Serves the web client's files: right types, strong tags, compressed once and kept in memory."""

from __future__ import annotations

import contextlib
import gzip
import json
import mimetypes
import re
import threading
from dataclasses import dataclass
from pathlib import Path

import rjsmin
from flask import Blueprint, Response, request
from werkzeug.exceptions import NotFound

from evenboard.api.access import PUBLIC, may
from evenboard.api.etag import tag
from evenboard.paths import web_folder

__all__ = ["blueprint"]

_TYPES = {
    ".css": "text/css; charset=utf-8",
    ".html": "text/html; charset=utf-8",
    ".ico": "image/x-icon",
    ".js": "text/javascript; charset=utf-8",
    ".json": "application/json",
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".txt": "text/plain; charset=utf-8",
    ".webmanifest": "application/manifest+json",
    ".woff2": "font/woff2",
}
"""Types by ending: the system's own table lacks the manifest and differs between machines."""
_COMPRESSED = ("text/", "application/json", "application/manifest+json", "image/svg+xml")
WORKER = "sw.js"
"""The file that keeps the others on the phone; it is sent with the list of them."""
_UNLISTED = ("const SHELL={};", "const LATER={};")
_LATER = {"de", "desk"}
"""Words in the address of what not every phone needs, a language or the rental desk's pages: kept
once it was asked for, so that no other phone is sent it."""
_NOT_KEPT = (".md", ".png")
_NOT_KEPT_FOLDERS = ("docs",)
"""Pages and pictures about the client, and the icons that a home screen asks for, with a line."""
_LISTED_DIGITS = 12
"""Digits of a tag in the list: enough to tell the versions of a file apart."""
_VERSION_DIGITS = 8
"""Digits of the tag that ``?v=`` must give for an answer to be kept for good."""
_SECURITY = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
        "font-src 'self'; connect-src 'self'; manifest-src 'self'; worker-src 'self'; "
        "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
    ),
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), geolocation=(), microphone=(), payment=(), usb=()",
}
"""Of what can be opened as a page, and of the worker, which fetches; to a module or a style sheet
they mean nothing, and there are many of those. What every answer carries is set in ``app.py``."""
_PAGES = ("text/html", "image/svg+xml")


@dataclass(frozen=True, slots=True)
class _File:
    stamp: tuple[int, int]
    content_type: str
    plain: bytes
    packed: bytes | None
    tag: str


class _Files:
    """The files of a folder, read at the first call and again when they have changed."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()
        self._files: dict[str, _File] = {}
        self._lock = threading.Lock()

    def get(self, name: str) -> _File:
        """The file of that name. Raises 404 for what is not there, hidden, or outside."""
        # One file, one address: no empty or hidden part, hence no way up either.
        if any(not part or part.startswith(".") for part in name.split("/")):
            raise NotFound
        try:
            path = (self.folder / name).resolve(strict=True)
            status = path.stat()
        except (OSError, ValueError):
            raise NotFound from None
        # Where a link leads out of the folder, it leads nowhere.
        if not path.is_relative_to(self.folder) or not path.is_file():
            raise NotFound
        stamp = (status.st_mtime_ns, status.st_size)
        known = self._files.get(name)
        if known is None or known.stamp != stamp:
            known = _read(path, stamp)
            with self._lock:
                self._files[name] = known
        return known

    def listed(self) -> tuple[dict[str, str], dict[str, str]]:
        """What the client can keep: address -> tag of the bytes.

        First what it needs without a network from the start, then what is kept when it is used.
        """
        found: tuple[dict[str, str], dict[str, str]] = ({}, {})
        for path in sorted(self.folder.rglob("*")):
            name = path.relative_to(self.folder).as_posix()
            parts = name.split("/")
            hidden = any(part.startswith(".") for part in parts)
            if hidden or not path.is_file() or name == WORKER:
                continue
            if parts[0] not in _NOT_KEPT_FOLDERS and path.suffix not in _NOT_KEPT:
                # What is not served cannot be kept.
                with contextlib.suppress(NotFound):
                    mark = self.get(name).tag[:_LISTED_DIGITS]
                    later = not _LATER.isdisjoint(re.split(r"[/.-]", name))
                    found[later]["./" if name == "index.html" else name] = mark
        return found

    def worker(self) -> _File:
        """The worker with the list of files in it: another file makes another worker."""
        bare = self.get(WORKER)
        plain = bare.plain
        for empty, files in zip(_UNLISTED, self.listed(), strict=True):
            listed = json.dumps(files, indent=0, separators=(",", ":"))
            plain = plain.replace(empty.encode(), f"{empty[:-3]}{listed};".encode(), 1)
        return _packed(plain, bare.content_type, bare.stamp)


def _read(path: Path, stamp: tuple[int, int]) -> _File:
    content_type = _TYPES.get(path.suffix) or mimetypes.guess_type(path.name)[0]
    plain = path.read_bytes()
    if path.suffix == ".js":
        # A quarter of a script is said to people: a phone on a thin line need not fetch that.
        plain = rjsmin.jsmin(plain.decode()).encode()
    return _packed(plain, content_type or "application/octet-stream", stamp)


def _packed(plain: bytes, content_type: str, stamp: tuple[int, int]) -> _File:
    packed = None
    if content_type.startswith(_COMPRESSED):
        # Without a time in it, the same bytes in every worker, hence the same tag.
        smaller = gzip.compress(plain, compresslevel=9, mtime=0)
        packed = smaller if len(smaller) < len(plain) else None
    return _File(stamp, content_type, plain, packed, tag(plain))


def blueprint(folder: Path | None = None) -> Blueprint:
    """The routes of the web client."""
    files = _Files(folder or web_folder())
    web = Blueprint("web", __name__)

    def view(name: str = "index.html", folder: str = "") -> Response:
        if name == WORKER and not folder:
            return _answer(files.worker(), guarded=True)
        return _answer(files.get(f"{folder}/{name}" if folder else name))

    view = may(PUBLIC)(view)
    web.add_url_rule("/", "index", view)
    # A rule for each entry of the folder rather than one for any path: that would answer a wrong
    # method under /v1 with "not found", and a wrong path with "method not allowed".
    for entry in sorted(files.folder.iterdir()):
        if entry.is_dir():
            rule = f"/{entry.name}/<path:name>"
            web.add_url_rule(rule, entry.name, view, defaults={"folder": entry.name})
        else:
            endpoint = entry.name.replace(".", "-")
            web.add_url_rule(f"/{entry.name}", endpoint, view, defaults={"name": entry.name})
    return web


def _answer(file: _File, *, guarded: bool = False) -> Response:
    packed = file.packed is not None and request.accept_encodings.quality("gzip") > 0
    response = Response(file.packed if packed else file.plain, content_type=file.content_type)
    # A strong tag belongs to bytes, and these two are different bytes.
    response.set_etag(f"{file.tag}-gzip" if packed else file.tag)
    if packed:
        response.headers["Content-Encoding"] = "gzip"
    if file.packed is not None:
        response.headers["Vary"] = "Accept-Encoding"
    # The address of a version says which bytes it means, and they never change.
    version = request.args.get("v", "")
    versioned = len(version) >= _VERSION_DIGITS and file.tag.startswith(version)
    lasting = "public, max-age=31536000, immutable"
    response.headers["Cache-Control"] = lasting if versioned else "no-cache"
    if guarded or file.content_type.startswith(_PAGES):
        response.headers.extend(_SECURITY)
    response.make_conditional(request)
    return response
