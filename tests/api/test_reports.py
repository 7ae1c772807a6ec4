"""Check reports over HTTP, on both databases: issued, numbered, superseded, never changed."""

from __future__ import annotations

import io
import json
import threading
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from pypdf import PdfReader

from evenboard.api.access import CREW
from evenboard.desk import proof
from support.callers import headers_of
from support.desk import a_fixture_body
from support.layouts import a_body, a_body_load
from support.papers import page_texts, squeezed
from support.problems import assert_problem

REF = "NX-2207/4 🎬"


@pytest.fixture
def app(app_on_both: Flask) -> Flask:
    return app_on_both


def even() -> dict[str, Any]:
    return a_body(*(a_body_load(f"lamp-{n}", f"l{n}-bottom") for n in (1, 2, 3)), name="Quay")


def failing() -> dict[str, Any]:
    return a_body(a_body_load("row", "l1-bottom", count=4), name="Quay")


def issue(client: FlaskClient, desk: dict[str, str], ref: str = REF, **fields: Any) -> Any:
    body = fields if "layout_id" in fields else {"layout": even()} | fields
    return client.post(f"/v1/orders/{ref}/reports", json=body, headers=desk)


def test_a_report_is_issued_on_an_order_that_was_unknown_and_read_back(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    made = issue(client, desk, issued_by="bench 2", note="to be checked on site")

    assert made.status_code == 201
    told = made.json
    assert (told["number"], told["verdict"], told["status"]) == (1, "pass", "current")
    assert (told["order_ref"], told["title"], told["issued_by"]) == (REF, "Quay", "bench 2")
    read = client.get(made.headers["Location"], headers=desk).json
    assert {name: read[name] for name in read.keys() & told.keys()} == {
        name: told[name] for name in read.keys() & told.keys()
    }
    assert read["content"]["layout"] == even()
    assert read["content"]["issue"]["order_ref"] == REF
    assert read["content"]["issue"]["issued_at"].startswith(told["issued_at"][:23])
    assert client.get(f"/v1/orders/{REF}", headers=desk).json["reports"] == 1
    [line] = client.get("/v1/audit?limit=1", headers=desk).json["items"]
    assert line["what"] == f"Issued report 1 on order {REF}: pass."


def test_the_paper_says_what_the_content_says(client: FlaskClient, desk: dict[str, str]) -> None:
    client.put(f"/v1/orders/{REF}", json={"production": "The Long Quay"}, headers=desk)
    made = issue(client, desk, note="night, rain").json

    pdf = client.get(f"/v1/reports/{made['id']}", headers=desk | {"Accept": "application/pdf"})

    text = "".join(page_texts(pdf.data))
    words = ("The Long Quay", "night, rain", "PASS", "NX-2207/4 [clapper board], report 1")
    for expected in (*words, made["id"], made["content_sha256"], made["links"]["verify"]):
        assert squeezed(expected) in text
    reader = PdfReader(io.BytesIO(pdf.data))
    canonical = reader.attachments["report.json"][0]
    assert proof.sha256(canonical) == made["content_sha256"]
    assert json.loads(reader.attachments["proof.json"][0])["signature"] == made["signature"]
    # A4, 210 mm by 297 mm, in points of 1/72 inch.
    assert [round(float(v)) for v in reader.pages[0].mediabox[2:]] == [595, 842]
    assert client.get(f"/verify/{made['id']}", headers={"Accept": "application/json"}).json[
        "papers"
    ] == [{"paper": "a4", "sha256": proof.sha256(pdf.data)}]


def test_the_bytes_stay_as_they_were_issued_whatever_becomes_of_the_order(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    address = issue(client, desk).json["links"]["pdf"]
    before = client.get(address)
    letter = client.get(f"{address}?paper=letter")
    told = client.put(f"/v1/orders/{REF}", json={"production": "Renamed"}, headers=desk)

    issue(client, desk)

    assert told.status_code == 200
    after = client.get(address)
    assert after.data == before.data
    assert after.headers["ETag"] == before.headers["ETag"]
    assert client.get(f"{address}?paper=letter").data == letter.data
    sheet = PdfReader(io.BytesIO(letter.data)).pages[0].mediabox
    assert [round(float(v)) for v in sheet[2:]] == [612, 792]


def test_the_papers_address_opens_in_a_browser_and_the_id_alone_does_not(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    made = issue(client, desk).json
    word = made["links"]["pdf"].rsplit("/", 1)[1]

    opened = client.get(made["links"]["pdf"])

    assert opened.headers["Content-Type"] == "application/pdf"
    assert opened.headers["Content-Disposition"] == (
        'inline; filename="check-report-NX-2207-4-1.pdf"'
    )
    other = issue(client, desk, "other").json
    for path in ("none.pdf", "é.pdf", f"{other['id']}.pdf"):
        assert_problem(client.get(f"/paper/{made['id']}/{path}"), 404)
    assert_problem(client.get(f"/paper/{other['id']}/{word}"), 404)
    assert_problem(client.get(f"/v1/reports/{made['id']}"), 401)


def test_a_later_report_of_the_same_title_supersedes_and_the_old_one_is_told_so(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    first = issue(client, desk).json
    content = client.get(f"/v1/reports/{first['id']}", headers=desk).json["content"]

    second = issue(client, desk).json
    beside = issue(client, desk, title="Stage").json

    assert (second["number"], second["supersedes"]) == (2, first["id"])
    assert (beside["number"], beside["supersedes"]) == (3, None)
    old = client.get(f"/v1/reports/{first['id']}", headers=desk).json
    assert (old["status"], old["superseded_by"]) == ("superseded", second["id"])
    assert old["content"] == content
    listed = client.get(f"/v1/orders/{REF}/reports", headers=desk).json["items"]
    assert [report["number"] for report in listed] == [3, 2, 1]
    current = client.get(f"/v1/orders/{REF}/reports?status=current", headers=desk).json["items"]
    assert [report["number"] for report in current] == [3, 2]
    over = client.get("/v1/reports?status=superseded", headers=desk).json["items"]
    assert [report["id"] for report in over] == [first["id"]]


def test_boards_without_a_name_and_reports_that_shall_stand_alone_supersede_nothing(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    nameless = {name: value for name, value in even().items() if name != "name"}
    for _ in range(2):
        assert issue(client, desk, layout=nameless).json["supersedes"] is None

    issue(client, desk)

    assert issue(client, desk, supersedes=None).json["supersedes"] is None


def test_which_report_is_superseded_can_be_said_and_only_once(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    first = issue(client, desk).json
    other = issue(client, desk, "other").json

    second = issue(client, desk, title="Stage", supersedes=first["id"])

    assert second.json["supersedes"] == first["id"]
    again = issue(client, desk, supersedes=first["id"])
    assert second.json["id"] in assert_problem(again, 409, "/supersedes")["detail"]
    assert_problem(issue(client, desk, supersedes=other["id"]), 422, "/supersedes")
    assert client.get(f"/v1/orders/{REF}", headers=desk).json["reports"] == 2


def test_a_saved_layout_goes_in_as_it_is_now_with_its_readings(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    sent = {"body": even(), "order_ref": REF}
    saved = client.post("/v1/layouts", json=sent, headers=desk)
    reading = {"phases": {"L1": 8.6, "L2": 8.8, "L3": 8.7}, "neutral": 0.4, "by": "Ana"}
    client.post(f"{saved.headers['Location']}/readings", json=reading, headers=desk)

    first = issue(client, desk, layout_id=saved.json["id"]).json
    unplug = {"op": "unplug", "load": "lamp-3", "from": {"board": "main", "outlet": "l3-bottom"}}
    client.post(f"{saved.headers['Location']}/changes", json={"changes": [unplug]}, headers=desk)
    second = issue(client, desk, layout_id=saved.json["id"], title="as it is now").json

    assert (first["layout_id"], first["layout_version"]) == (saved.json["id"], 1)
    assert (second["layout_version"], second["supersedes"]) == (2, first["id"])
    content = client.get(f"/v1/reports/{first['id']}", headers=desk).json["content"]
    [measured] = content["readings"]
    assert (measured["phases"], measured["by"]) == (reading["phases"], "Ana")
    text = "".join(page_texts(client.get(first["links"]["pdf"]).data))
    assert "8.8" in text
    assert "Ana" in text


def test_a_layout_of_another_order_is_not_reported_on_this_one(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    sent = {"body": even(), "order_ref": "other"}
    saved = client.post("/v1/layouts", json=sent, headers=desk).json

    problem = assert_problem(issue(client, desk, layout_id=saved["id"]), 422, "/layout_id")

    assert "other" in problem["errors"][0]["detail"]


def test_a_saved_layout_whose_lamp_is_no_longer_known_is_refused_at_its_id(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    own = client.post("/v1/fixtures", json=a_fixture_body(), headers=desk)
    body = a_body(a_body_load(fixture=own.json["slug"]))
    saved = client.post("/v1/layouts", json={"body": body}, headers=desk).json
    etag = client.get(own.headers["Location"], headers=desk).headers["ETag"]
    client.delete(own.headers["Location"], headers=desk | {"If-Match": etag})

    problem = assert_problem(issue(client, desk, layout_id=saved["id"]), 422, "/layout_id")

    assert "/loads/0/fixture" in problem["errors"][0]["detail"]


def test_a_layout_that_fails_goes_out_only_where_somebody_answers_for_it(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    refused = assert_problem(issue(client, desk, layout=failing()), 409, "/layout/loads/0")
    accept = {"by": "R. Okafor, licence 4711", "reason": "two of the four burn at a time"}

    made = issue(client, desk, layout=failing(), accept_fail=accept)

    assert refused["type"] == "/problems/failing-layout"
    assert made.json["verdict"] == "fail"
    text = "".join(page_texts(client.get(made.json["links"]["pdf"]).data))
    for words in ("Issued although it fails.", accept["by"], accept["reason"], "FAIL"):
        assert squeezed(words) in text
    assert_problem(issue(client, desk, accept_fail=accept), 422, "/accept_fail")
    short = issue(client, desk, layout=failing(), accept_fail={"by": "R.", "reason": "no"})
    assert_problem(short, 422, "/accept_fail/reason")


@pytest.mark.parametrize(
    ("fields", "pointer"),
    [
        ({"layout": a_body(a_body_load(fixture="none-such"))}, "/layout/loads/0/fixture"),
        ({"layout": None}, "/layout"),
        ({"layout_id": "none"}, "/layout_id"),
        ({"layout_id": "none", "layout": even()}, "/layout_id"),
        ({"paper": "a5"}, "/paper"),
        ({"supersedes": "none"}, "/supersedes"),
        ({"issued_by": "a\nb"}, "/issued_by"),
    ],
)
def test_a_fault_is_placed_and_nothing_is_issued(
    client: FlaskClient, desk: dict[str, str], fields: dict[str, Any], pointer: str
) -> None:
    assert_problem(issue(client, desk, **fields), 422, pointer)
    assert client.get("/v1/reports", headers=desk).json["items"] == []
    assert_problem(client.get(f"/v1/orders/{REF}", headers=desk), 404)


def test_a_repeated_post_is_answered_as_before_and_a_changed_one_refused(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    keyed = desk | {"Idempotency-Key": '"order-7"'}
    first = issue(client, keyed)

    again = issue(client, keyed)
    other = issue(client, keyed, note="other")

    assert again.json == first.json
    assert again.headers["Idempotency-Replayed"] == "true"
    assert_problem(other, 422)
    assert len(client.get("/v1/reports", headers=desk).json["items"]) == 1


def test_crews_and_strangers_read_no_report(
    app_on_both: Flask, client: FlaskClient, desk: dict[str, str]
) -> None:
    made = issue(client, desk).json
    crew = headers_of(app_on_both, CREW, order_ref=REF)

    assert_problem(client.get(f"/v1/reports/{made['id']}", headers=crew), 403)
    assert_problem(client.get(f"/v1/orders/{REF}/reports", headers=crew), 403)
    assert_problem(client.get("/v1/reports/none", headers=desk), 404)


def test_desks_that_issue_at_once_number_and_supersede_one_after_the_other(
    app_on_both: Flask, client: FlaskClient, desk: dict[str, str]
) -> None:
    together = threading.Barrier(5)

    def one(_: int) -> Any:
        mine = app_on_both.test_client()
        together.wait(30)
        return issue(mine, desk)

    with ThreadPoolExecutor(5) as pool:
        made = [response.json for response in pool.map(one, range(5))]

    by_number = sorted(made, key=lambda report: report["number"])
    assert [report["number"] for report in by_number] == [1, 2, 3, 4, 5]
    before = [None, *(report["id"] for report in by_number[:-1])]
    assert [report["supersedes"] for report in by_number] == before
    # All of them signed by one key, though there was none when they began.
    assert len({report["signature"]["key_id"] for report in made}) == 1
    assert len(client.get("/.well-known/jwks.json").json["keys"]) == 1


# --- proof ------------------------------------------------------------------------------------


def test_the_public_page_tells_genuine_superseded_or_unknown_and_nothing_of_the_order(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    client.put(f"/v1/orders/{REF}", json={"production": "The Long Quay"}, headers=desk)
    first, second = issue(client, desk).json, issue(client, desk).json

    pages = {
        name: client.get(f"/verify/{report_id}")
        for name, report_id in (
            ("Superseded", first["id"]),
            ("Genuine", second["id"]),
            ("Unknown", "<script>x"),
        )
    }

    for word, page in pages.items():
        assert f"<h1>{word}</h1>" in page.text
        assert page.headers["Content-Type"] == "text/html; charset=utf-8"
        assert "default-src 'none'" in page.headers["Content-Security-Policy"]
        assert "<script" not in page.text
        for secret in ("NX-2207", "Long Quay", "Quay", "test desk", "pass"):
            assert secret not in page.text
    typed = f"{second['id'][:4].upper()} {second['id'][4:9]}-{second['id'][9:]}\u200b"
    told = client.get(f"/verify/{typed}", headers={"Accept": "application/json"}).json
    assert told["status"] == "genuine"
    assert told["content_sha256"] == second["content_sha256"]
    assert not {"order_ref", "title", "verdict", "issued_by", "number"} & told.keys()
    unknown = client.get("/verify/none", headers={"Accept": "application/json"}).json
    assert unknown["status"] == "unknown"
    assert_problem(client.get("/verify/none", headers={"Accept": "image/png"}), 406)


def test_the_signature_holds_for_the_content_and_for_nothing_else(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    made = issue(client, desk).json
    content = client.get(f"/v1/reports/{made['id']}", headers=desk).json["content"]
    [key] = client.get("/.well-known/jwks.json").json["keys"]
    canonical = proof.canonical(content)

    assert proof.sha256(canonical) == made["content_sha256"]
    assert key["kid"] == made["signature"]["key_id"]
    assert proof.verifies(key["x"], made["signature"]["value"], canonical)
    changed = canonical.replace(b'"verdict":"pass"', b'"verdict":"fail"')
    assert changed != canonical
    assert not proof.verifies(key["x"], made["signature"]["value"], changed)
    assert not proof.verifies(proof.new_key()[1], made["signature"]["value"], canonical)


def test_a_new_key_signs_from_then_on_and_the_old_ones_still_verify(
    client: FlaskClient, desk: dict[str, str]
) -> None:
    old = issue(client, desk).json

    made = client.post("/v1/signing-keys", headers=desk)
    new = issue(client, desk).json

    assert made.status_code == 201
    keys = client.get("/.well-known/jwks.json").json["keys"]
    assert [key["kid"] for key in keys] == [
        old["signature"]["key_id"],
        new["signature"]["key_id"],
    ]
    assert new["signature"]["key_id"] == made.json["kid"]
    assert keys[0]["retired_at"] is not None
    assert keys[1]["retired_at"] is None
    assert all(key.keys().isdisjoint({"d", "private_key"}) for key in keys)
    # The old paper's address is still that of the old paper.
    assert client.get(old["links"]["pdf"]).status_code == 200
