"""Equipment as files over HTTP: photos, lists from and to a spreadsheet, labels to print."""

from __future__ import annotations

import io
from typing import Any
from urllib.parse import quote

import pytest
from flask import Flask
from flask.testing import FlaskClient
from PIL import Image
from pypdf import PdfReader

from evenboard.api import create_app
from evenboard.api.access import CREW
from support.callers import headers_of
from support.desk import desk_headers
from support.equipment import add_piece, withdraw
from support.papers import page_texts
from support.pictures import a_picture, a_zip, png_of_size, with_place_and_time
from support.problems import assert_problem

HEAD = "tag,kind,cable,csa_mm2,length_m\n"


def send_photo(
    client: FlaskClient,
    desk: dict[str, str],
    data: bytes,
    media_type: str = "image/jpeg",
    tag: str = "C-12",
    **headers: str,
) -> Any:
    path = f"/v1/equipment/{quote(tag, safe='')}/photos"
    return client.post(path, data=data, content_type=media_type, headers={**desk, **headers})


def take_in(
    client: FlaskClient, desk: dict[str, str], text: str | bytes, *, dry: bool = False
) -> Any:
    path = f"/v1/equipment-imports?dry_run={int(dry)}"
    return client.post(path, data=text, content_type="text/csv", headers=desk)


def tags(client: FlaskClient, desk: dict[str, str]) -> list[str]:
    return [piece["tag"] for piece in client.get("/v1/equipment", headers=desk).json["items"]]


@pytest.mark.parametrize(
    ("form", "media_type"), [("JPEG", "image/jpeg"), ("PNG", "image/png"), ("WEBP", "image/webp")]
)
def test_a_photo_is_kept_shown_and_named_in_an_inspection(
    app_on_both: Flask, form: str, media_type: str
) -> None:
    client, desk = app_on_both.test_client(), desk_headers(app_on_both)
    add_piece(client, desk, "C/12 👍")

    kept = send_photo(client, desk, with_place_and_time(form), media_type, "C/12 👍")
    assert kept.status_code == 201, kept.text
    shown = client.get(kept.json["url"], headers=desk)
    path = f"/v1/equipment/{quote('C/12 👍', safe='')}"
    body = {"found": ["connector-burnt"], "photos": [kept.json["id"]]}
    looked = client.post(f"{path}/inspections", json=body, headers=desk)
    listed = client.get(f"{path}/photos", headers=desk).json["items"]

    assert shown.headers["Content-Type"] == "image/jpeg"
    assert shown.headers["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in shown.headers["Content-Security-Policy"]
    assert b"SECRET-MAKER" not in shown.data
    assert Image.open(io.BytesIO(shown.data)).size == (48, 64)
    assert (kept.json["width_px"], kept.json["height_px"]) == (48, 64)
    assert looked.json["event"]["more"]["photos"] == [kept.json["id"]]
    assert [photo["id"] for photo in listed] == [kept.json["id"]]


def test_photos_are_for_the_desk_only(
    app: Flask, client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)
    url = send_photo(client, desk, a_picture()).json["url"]

    assert_problem(client.get(url), 401)
    assert_problem(client.get(url, headers=headers_of(app, CREW)), 403)


@pytest.mark.parametrize(
    ("data", "media_type", "status"),
    [
        (a_zip(), "image/jpeg", 422),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "image/svg+xml", 415),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "image/png", 422),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "", 415),
        (a_picture("GIF"), "image/gif", 415),
        (a_picture()[:300], "image/jpeg", 422),
        (b"", "image/jpeg", 422),
        (png_of_size(60_000, 60_000), "image/png", 422),
        (b'{"photo": 1}', "application/json", 415),
    ],
    ids=["zip", "svg", "svg-as-png", "no-type", "gif", "cut", "nothing", "huge", "json"],
)
def test_what_is_no_photo_is_refused_in_words(
    client: FlaskClient, desk: dict[str, str], data: bytes, media_type: str, status: int
) -> None:
    add_piece(client, desk)

    problem = assert_problem(send_photo(client, desk, data, media_type), status)

    assert "picture" in problem["detail"]
    assert client.get("/v1/equipment/C-12/photos", headers=desk).json["items"] == []


def test_a_photo_that_is_too_large_is_refused_by_its_own_limit(tmp_path: Any) -> None:
    settings = {"EVENBOARD_DATA": str(tmp_path), "EVENBOARD_MAX_PHOTO_BYTES": "5000000"}
    app = create_app(settings)
    client, desk = app.test_client(), desk_headers(app)
    add_piece(client, desk)

    # Larger than any other body may be, and no larger than a photo may.
    noisy = Image.effect_noise((1400, 1400), 90).convert("RGB")
    out = io.BytesIO()
    noisy.save(out, "PNG")
    large = out.getvalue()
    assert 1_048_576 < len(large) < 5_000_000
    assert send_photo(client, desk, large, "image/png").status_code == 201
    assert_problem(send_photo(client, desk, large + bytes(5_000_000), "image/png"), 413)
    app.extensions["evenboard"].store.close()


def test_a_photo_of_nothing_and_one_of_another_piece(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    add_piece(client, desk)
    add_piece(client, desk, "C-13")
    photo = send_photo(client, desk, a_picture()).json

    assert_problem(send_photo(client, desk, a_picture(), tag="C-99"), 404)
    assert_problem(client.get(f"/v1/equipment/C-13/photos/{photo['id']}", headers=desk), 404)
    body = {"found": ["wet"], "photos": [photo["id"]]}
    refused = client.post("/v1/equipment/C-13/inspections", json=body, headers=desk)
    assert_problem(refused, 422, "/photos/0")


def test_a_photo_that_is_sent_again_is_kept_once(client: FlaskClient, desk: dict[str, str]) -> None:
    add_piece(client, desk)
    key = {"Idempotency-Key": '"photo-1"'}

    first = send_photo(client, desk, a_picture(), **key)
    second = send_photo(client, desk, a_picture(), **key)
    other = send_photo(client, desk, a_picture("PNG"), "image/png", **key)

    assert second.json == first.json
    assert_problem(other, 422)
    assert len(client.get("/v1/equipment/C-12/photos", headers=desk).json["items"]) == 1


def test_a_list_goes_out_and_comes_in_again_with_nothing_changed(app_on_both: Flask) -> None:
    client, desk = app_on_both.test_client(), desk_headers(app_on_both)
    add_piece(client, desk, "=1+1", name="-2+3", note="@sum, \"quoted\"; 'so'")
    add_piece(client, desk, "C/12 👍", test_interval_months=6)
    withdraw(client, desk, quote("C/12 👍", safe=""))
    out = client.get("/v1/equipment", headers={**desk, "Accept": "text/csv"})

    tried = take_in(client, desk, out.data, dry=True)
    done = take_in(client, desk, out.data)

    assert out.headers["Content-Type"].startswith("text/csv; charset=utf-8")
    assert "'=1+1,cable,'-2+3" in out.text
    expected = {"rows": 2, "added": [], "changed": [], "unchanged": 2, "faults": []}
    assert tried.json == {"dry_run": True, **expected}
    assert done.json == {"dry_run": False, **expected}
    history = client.get("/v1/equipment/%3D1%2B1/history", headers=desk).json
    assert len(history["events"]) == 1


def test_a_dry_run_tells_all_faults_and_then_the_mended_file_is_taken_in_whole(
    app_on_both: Flask,
) -> None:
    client, desk = app_on_both.test_client(), desk_headers(app_on_both)
    add_piece(client, desk)
    faulty = HEAD + "C-1,cable,h07rn-f,6,25\nC-2,cabel,h07rn-f,6,25\nC-12,cable,h07rn-f,7.5,30\n"
    sound = HEAD + "C-1,cable,h07rn-f,6,25\nC-2,cable,h07rn-f,6,25\nC-12,cable,h07rn-f,4,30\n"

    tried = take_in(client, desk, faulty, dry=True)
    refused = assert_problem(take_in(client, desk, faulty), 422)
    assert tags(client, desk) == ["C-12"]
    tried_again = take_in(client, desk, sound, dry=True)
    assert tags(client, desk) == ["C-12"]
    done = take_in(client, desk, sound)

    places = [(fault["line"], fault["column"], fault["field"]) for fault in tried.json["faults"]]
    assert places == [(3, 2, "kind"), (4, 4, "csa_mm2")]
    assert refused["errors"] == tried.json["faults"]
    assert refused["type"] == "/problems/invalid-file"
    assert {**tried_again.json, "dry_run": False} == done.json
    assert [each["tag"] for each in done.json["added"]] == ["C-1", "C-2"]
    assert done.json["changed"] == [{"line": 4, "tag": "C-12", "fields": ["csa_mm2"]}]
    assert tags(client, desk) == ["C-1", "C-12", "C-2"]
    event = client.get("/v1/equipment/C-12/history", headers=desk).json["events"][-1]
    assert event["more"]["changed"] == {"csa_mm2": {"was": 6.0, "now": 4.0}}
    assert "line 4 of a file" in event["words"][0]


def test_a_file_brings_no_withdrawn_piece_back(client: FlaskClient, desk: dict[str, str]) -> None:
    add_piece(client, desk)
    withdraw(client, desk)

    done = take_in(client, desk, "tag,kind,state,name\nC-12,cable,in-service,new\n")

    assert done.json["changed"][0]["fields"] == ["name"]
    assert client.get("/v1/equipment/C-12", headers=desk).json["state"] == "withdrawn"


def test_a_file_of_another_kind_is_refused(client: FlaskClient, desk: dict[str, str]) -> None:
    path = "/v1/equipment-imports"
    as_json = client.post(path, json={"tag": "C-1"}, headers=desk)
    large = take_in(client, desk, HEAD + "x" * 1_100_000)

    assert_problem(as_json, 415)
    assert_problem(large, 413)
    assert_problem(take_in(client, desk, b"\xff\xfe\x00"), 422)
    assert_problem(client.post(f"{path}?dry_run=yes", data=HEAD, headers=desk), 422, "dry_run")


def test_a_file_that_is_sent_again_is_taken_in_once(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    headers = {**desk, "Idempotency-Key": '"file-1"'}
    text = HEAD + "C-1,cable,h07rn-f,6,25\n"

    first, second = (
        client.post("/v1/equipment-imports", data=text, content_type="text/csv", headers=headers)
        for _ in range(2)
    )

    assert first.json == second.json
    assert len(first.json["added"]) == 1


def test_labels_are_printed_in_the_order_of_the_tags(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    for number in range(30):
        add_piece(client, desk, f"C-{number:02}", name="yellow ring")
    wanted = [f"C-{number:02}" for number in reversed(range(30))]

    for paper, pages in (("a4", 2), ("letter", 1)):
        body = {"tags": wanted, "paper": paper}
        answer = client.post("/v1/equipment-labels", json=body, headers=desk)
        assert answer.headers["Content-Type"] == "application/pdf"
        texts = page_texts(answer.data)
        assert len(PdfReader(io.BytesIO(answer.data)).pages) == pages
        places = ["".join(texts).index(tag) for tag in wanted]
        assert places == sorted(places)
        assert "6mm²" in texts[0]


def test_labels_of_what_is_not_there_are_refused(client: FlaskClient, desk: dict[str, str]) -> None:
    add_piece(client, desk)

    for body, pointer in (
        ({"tags": ["C-12", "C-99"]}, "/tags/1"),
        ({"tags": []}, "/tags"),
        ({"tags": ["C-12"], "skip": 24}, "/skip"),
        ({"tags": ["C-12"], "paper": "a5"}, "/paper"),
    ):
        answer = client.post("/v1/equipment-labels", json=body, headers=desk)
        assert_problem(answer, 422, pointer)
