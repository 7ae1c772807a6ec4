"""The web client's files: types, tags, compression, headers, and nothing but those files."""

from __future__ import annotations

import gzip
import json
import os
import re
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from evenboard.api import problem
from evenboard.api.web import blueprint
from evenboard.paths import web_folder
from support.problems import assert_problem

PAGE = b"<!doctype html><title>board</title>" + b"<p>even</p>" * 50
SCRIPT = b"// said to people\nexport const even = 1;\n" * 50
SENT = b"export const even=1;" * 50
FILES = {
    "index.html": PAGE,
    "app.css": b"p{}" * 100,
    "manifest.webmanifest": b'{"name":"board"}' * 20,
    "js/main.js": SCRIPT,
    "icons/board.svg": b"<svg></svg>" * 30,
    "icons/board.png": os.urandom(500),
    "js/tiny.js": b"1",
    ".hidden": b"secret",
    "js/.hidden.js": b"secret",
    "README.md": b"# for people",
    "docs/phone.png": b"picture",
    "js/de/text.js": SCRIPT,
    "js/desk.js": SCRIPT,
    "js/parts/desk-table.js": SCRIPT,
    "js/screens/desk/orders.js": SCRIPT,
    "js/desks.js": SCRIPT,
    "sw.js": b"const SHELL = {};\nconst LATER = {};\nconst rest = 1;\n",
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, content in FILES.items():
        (tmp_path / "web" / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "web" / name).write_bytes(content)
    (tmp_path / "outside.txt").write_text("secret")
    (tmp_path / "web" / "js" / "link.js").symlink_to(tmp_path / "outside.txt")
    return tmp_path / "web"


@pytest.fixture
def web(folder: Path) -> FlaskClient:
    app = Flask("test", static_folder=None)
    app.url_map.merge_slashes = False
    problem.register(app)
    app.register_blueprint(blueprint(folder))
    return app.test_client()


@pytest.mark.parametrize(
    ("path", "content_type"),
    [
        ("/", "text/html; charset=utf-8"),
        ("/index.html", "text/html; charset=utf-8"),
        ("/app.css", "text/css; charset=utf-8"),
        ("/js/main.js", "text/javascript; charset=utf-8"),
        ("/manifest.webmanifest", "application/manifest+json"),
        ("/icons/board.svg", "image/svg+xml"),
        ("/icons/board.png", "image/png"),
    ],
)
def test_each_file_has_its_type(web: FlaskClient, path: str, content_type: str) -> None:
    response = web.get(path)

    assert response.status_code == 200
    assert response.headers["Content-Type"] == content_type


def test_text_is_sent_compressed_to_whoever_can_read_that(web: FlaskClient) -> None:
    packed = web.get("/js/main.js", headers={"Accept-Encoding": "gzip, br"})
    plain = web.get("/js/main.js")

    assert packed.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(packed.data) == plain.data == SENT
    assert "Content-Encoding" not in plain.headers
    assert packed.headers["Vary"] == plain.headers["Vary"] == "Accept-Encoding"
    # Strong tags belong to bytes.
    assert packed.headers["ETag"] != plain.headers["ETag"]


@pytest.mark.parametrize("path", ["/icons/board.png", "/js/tiny.js"])
def test_what_does_not_get_smaller_is_sent_as_it_is(web: FlaskClient, path: str) -> None:
    response = web.get(path, headers={"Accept-Encoding": "gzip"})

    assert "Content-Encoding" not in response.headers


@pytest.mark.parametrize("encoding", ["gzip", "identity"])
def test_what_a_phone_has_is_not_sent_again(web: FlaskClient, encoding: str) -> None:
    headers = {"Accept-Encoding": encoding}
    first = web.get("/", headers=headers)

    again = web.get("/", headers={**headers, "If-None-Match": first.headers["ETag"]})

    assert (again.status_code, again.data) == (304, b"")
    assert first.headers["Cache-Control"] == "no-cache"


def test_an_address_with_the_version_of_the_bytes_is_kept_for_good(web: FlaskClient) -> None:
    version = web.get("/js/main.js").headers["ETag"].strip('"')[:12]

    assert "immutable" in web.get(f"/js/main.js?v={version}").headers["Cache-Control"]
    for other in ("", version[:3], "0" * 12):
        response = web.get(f"/js/main.js?v={other}")
        assert response.headers["Cache-Control"] == "no-cache"


def test_a_file_that_changes_is_served_as_it_is_now(web: FlaskClient, folder: Path) -> None:
    before = web.get("/js/main.js")

    (folder / "js" / "main.js").write_bytes(b"changed")

    after = web.get("/js/main.js")
    assert after.data == b"changed"
    assert after.headers["ETag"] != before.headers["ETag"]


@pytest.mark.parametrize(
    "path",
    [
        "/outside.txt",
        "/js/../../outside.txt",
        "/js/..%2f..%2foutside.txt",
        "/js/%2e%2e/%2e%2e/outside.txt",
        "/js//etc/passwd",
        "/js/link.js",
        "/.hidden",
        "/js/.hidden.js",
        "/js",
        "/js/",
        "/js/main.js/",
        "/js/main.js%00",
        "/js/" + "a" * 5000,
        "/nothing",
    ],
)
def test_nothing_but_the_clients_own_files_is_served(web: FlaskClient, path: str) -> None:
    assert_problem(web.get(path), 404)


@pytest.mark.parametrize("path", ["/", "/index.html", "/icons/board.svg", "/sw.js"])
def test_a_page_may_load_nothing_from_elsewhere(web: FlaskClient, path: str) -> None:
    policy = web.get(path).headers["Content-Security-Policy"]

    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy


def listed(worker: str, name: str = "SHELL") -> dict[str, str]:
    """The list of files that a worker was sent with; ``LATER`` are those kept once asked for."""
    start = worker.index(f"const {name}=") + len(f"const {name}=")
    found: dict[str, str] = json.loads(worker[start : worker.index("};", start) + 1])
    return found


def test_the_worker_is_sent_with_the_list_of_files_and_their_tags(web: FlaskClient) -> None:
    response = web.get("/sw.js")

    text = response.get_data(as_text=True)
    assert text.endswith("const rest=1;")
    assert set(listed(text)) == {
        "./",
        "app.css",
        "icons/board.svg",
        "js/desks.js",
        "js/main.js",
        "js/tiny.js",
        "manifest.webmanifest",
    }
    assert set(listed(text, "LATER")) == {
        "js/de/text.js",
        "js/desk.js",
        "js/parts/desk-table.js",
        "js/screens/desk/orders.js",
    }
    assert response.headers["Cache-Control"] == "no-cache"
    for address, tag in (listed(text) | listed(text, "LATER")).items():
        whole = web.get(f"/{address.removeprefix('./')}").headers["ETag"]
        assert len(tag) >= 12
        assert whole.startswith(f'"{tag}')


def test_another_file_makes_another_worker(web: FlaskClient, folder: Path) -> None:
    before = web.get("/sw.js")
    assert web.get("/sw.js").data == before.data

    (folder / "js" / "tiny.js").write_bytes(b"22")

    after = web.get("/sw.js")
    assert after.data != before.data
    assert after.headers["ETag"] != before.headers["ETag"]


def test_the_worker_of_the_shipped_client_lists_all_that_its_pages_ask_for(
    client: FlaskClient,
) -> None:
    worker = client.get("/sw.js").get_data(as_text=True)
    files, later = listed(worker), listed(worker, "LATER")

    asked = {"./"}
    for path in web_folder().rglob("*"):
        name = path.relative_to(web_folder())
        if path.suffix == ".js" and path.name != "sw.js":
            asked.add(name.as_posix())
            for module in re.findall(
                r"""(?:from |import\(?\s*|new URL\()["'](\.[^"'`]+\.(?:js|css))["']""",
                path.read_text(),
            ):
                asked.add(os.path.normpath(name.parent / module))
    page = (web_folder() / "index.html").read_text()
    asked |= set(re.findall(r'(?:href|src)="([^"#:]+)"', page))
    # A home screen's own picture is fetched when it is put there, with a line.
    asked = {name for name in asked if not name.endswith(".png")}
    assert asked - {"sw.js"} == set(files) | set(later)
    # What is there before anybody asked for the desk's pages needs none of them.
    for name in files:
        if name.endswith(".js") and name != "js/main.js":
            assert "desk/" not in (web_folder() / name).read_text(), name
    assert not set(files) & set(later)


def test_a_script_is_sent_without_what_is_said_to_people(client: FlaskClient) -> None:
    for path in (web_folder() / "js").rglob("*.js"):
        name = path.relative_to(web_folder()).as_posix()
        sent = client.get(f"/{name}").get_data(as_text=True)
        assert "/**" not in sent, name
        assert len(sent) < len(path.read_text())
        # Words for people, in quotation marks, are no comment.
        assert sent.count('"') == _outside_comments(path.read_text()).count('"'), name


def _outside_comments(script: str) -> str:
    """A script without the lines that are comments and what stands after code on a line."""
    script = re.sub(r"/\*.*?\*/", "", script, flags=re.DOTALL)
    return re.sub(r"(?m)(^|[;,{})\]\s])\s*//.*$", r"\1", script)


def test_a_head_request_has_the_headers_and_no_body(web: FlaskClient) -> None:
    head, get = web.head("/app.css"), web.get("/app.css")

    assert head.data == b""
    assert head.headers["Content-Length"] == get.headers["Content-Length"]
    assert head.headers["ETag"] == get.headers["ETag"]


def test_the_shipped_client_is_served_whole(client: FlaskClient) -> None:
    files = [
        file.relative_to(web_folder()).as_posix()
        for file in web_folder().rglob("*")
        if file.is_file() and not any(p.startswith(".") for p in file.parts)
    ]

    assert "index.html" in files
    for name in files:
        response = client.get(f"/{name}")
        assert response.status_code == 200, name
        if not name.endswith(".js"):
            assert response.data == (web_folder() / name).read_bytes()
        assert "octet-stream" not in response.headers["Content-Type"], name


@pytest.mark.parametrize("path", ["/", "/v1/regions", "/healthz", "/nope"])
def test_every_answer_is_hardened(client: FlaskClient, path: str) -> None:
    headers = client.get(path).headers

    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "no-referrer"
