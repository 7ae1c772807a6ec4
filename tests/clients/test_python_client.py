"""The Python client against the real service."""

from __future__ import annotations

import http.server
import json
import threading
from collections.abc import Iterator
from typing import Any

import pytest

from evenboard.catalogue import Catalogue
from evenboard_client import Client, EvenboardError, Refused, Unreachable
from support.desk import a_fixture_body
from support.layouts import a_body, a_body_load
from support.ports import free_port
from support.service import Service


@pytest.fixture
def board(server: Service) -> Iterator[Client]:
    """A client without an account."""
    with Client(server.url) as client:
        yield client


def test_all_fixtures_come_page_by_page(board: Client, catalogue: Catalogue) -> None:
    slugs = [fixture["slug"] for fixture in board.fixtures(limit=50)]

    assert set(catalogue.fixtures) <= set(slugs)
    assert len(slugs) == len(set(slugs))


def test_only_the_pages_that_are_looked_at_are_fetched(board: Client) -> None:
    fixtures = board.fixtures(limit=1)
    first = next(fixtures)

    board.close()
    del fixtures

    assert first["slug"]


def test_a_fixture_is_found_and_looked_at(board: Client) -> None:
    found = next(board.fixtures("2k", family="tungsten", region="us"))

    fixture = board.fixture(found["slug"], region="us")

    assert fixture == found
    assert fixture["at_voltage"]["voltage_v"] == 120


def test_regions_boards_and_cables_are_listed(board: Client, catalogue: Catalogue) -> None:
    assert {region["id"] for region in board.regions()} == set(catalogue.regions)
    assert {kind["id"] for kind in board.boards()} == set(catalogue.boards)
    assert {cable["id"] for cable in board.cables()} == set(catalogue.cables)
    assert {"three-row-32"} <= {kind["id"] for kind in board.boards(region="au")}
    assert all("au" in kind["regions"] for kind in board.boards(region="au"))


def test_a_layout_is_balanced(board: Client) -> None:
    answer = board.balance(a_body())

    # 2000 W at 230 V
    assert answer["phases"][0]["current_a"] == pytest.approx(8.70, abs=0.005)
    assert "notice" in answer


def test_the_phase_table_is_text(board: Client) -> None:
    head, first, *_ = board.phase_table(a_body()).splitlines()

    assert head.split(",")[:4] == ["setup", "board", "phase", "current_a"]
    assert first.split(",")[2:4] == ["L1", "8.7"]


def test_a_layout_is_planned(board: Client) -> None:
    body = a_body(a_body_load("a", "l1-bottom"), a_body_load("b", "l1-middle"))

    assert board.plan(body)["moves"] == 1
    assert board.plan(body, max_moves=0)["moves"] == 0


def test_a_set_up_is_started_and_stopped_step_by_step(board: Client) -> None:
    body = a_body(a_body_load(setups=["wide"]), setups=[{"id": "wide"}, {"id": "dark"}])

    wide, dark = board.startup(body), board.startup(body, setup="dark")

    assert [step["loads"] for step in wide["start"] if step["kind"] == "lamps"] == [["key"]]
    assert (dark["setup"], [s for s in dark["start"] if s["kind"] == "lamps"]) == ("dark", [])


def test_a_reading_is_explained_beside_the_layout_it_was_taken_on(board: Client) -> None:
    told = board.explain_reading(a_body(), phases={"L1": 0.0})

    # The only lamp, 2000 W at 230 V.
    assert told["differences"][0]["expected_a"] == pytest.approx(8.70, abs=0.005)
    assert "is off" in told["summary"]


def test_the_demo_has_a_board_with_everything_on_one_phase_and_a_better_one(
    board: Client,
) -> None:
    verdicts = {demo["id"]: board.balance(demo["layout"]) for demo in board.demo_layouts()}

    bad, good = verdicts["boathouse-one-phase"], verdicts["boathouse-even"]
    assert (bad["verdict"], good["verdict"]) == ("fail", "pass")
    assert [phase["current_a"] for phase in bad["phases"]][1:] == [0, 0]
    assert all(phase["current_a"] > 10 for phase in good["phases"])
    # The same lamps: what they draw together is about the same, only where is not.
    powers = [sum(phase["power_w"] for phase in answer["phases"]) for answer in (bad, good)]
    assert powers[0] == pytest.approx(powers[1], rel=0.05)


def test_a_refusal_has_all_faults_and_the_answer(board: Client) -> None:
    body = a_body(a_body_load(fixture="tungsten-open-fase-2000", outlet="l1-botom"))

    with pytest.raises(Refused) as refused:
        board.balance(body)

    error = refused.value
    assert isinstance(error, EvenboardError)
    assert error.status == 422
    assert {fault["pointer"] for fault in error.errors} == {
        "/loads/0/fixture",
        "/loads/0/outlet",
    }
    assert error.response is not None
    assert error.response.status_code == 422
    assert "/loads/0/fixture" in str(error)
    assert "tungsten-open-face-2000" in str(error)


def test_a_wrong_filter_is_named(board: Client) -> None:
    with pytest.raises(Refused) as refused:
        next(board.fixtures(familly="led"))

    assert refused.value.errors[0]["parameter"] == "familly"


def test_a_slug_is_one_part_of_the_address_whatever_is_in_it(board: Client) -> None:
    with pytest.raises(Refused) as refused:
        board.fixture("../regions?x=1")

    assert refused.value.status == 404


def test_the_desk_adds_changes_and_removes_a_type(desk: Client) -> None:
    added = desk.add_fixture(a_fixture_body(slug="led-from-python"))
    etag = desk.fixture_etag("led-from-python")

    changed = desk.replace_fixture("led-from-python", {**added, "power_w": 300}, etag)
    with pytest.raises(Refused) as refused:
        desk.remove_fixture("led-from-python", etag)
    desk.remove_fixture("led-from-python", desk.fixture_etag("led-from-python"))

    assert (added["power_w"], changed["power_w"]) == (350, 300)
    assert refused.value.status == 412
    with pytest.raises(Refused, match="404"):
        desk.fixture("led-from-python")


def test_a_creation_with_the_same_key_is_done_once(desk: Client) -> None:
    body = a_fixture_body(slug="led-from-python-once")

    first = desk.add_fixture(body, idempotency_key="9f2c")
    again = desk.add_fixture(body, idempotency_key="9f2c")

    assert again == first
    with pytest.raises(Refused, match="409"):
        desk.add_fixture(body)


def test_a_stranger_may_not_add_a_type(board: Client) -> None:
    with pytest.raises(Refused) as refused:
        board.add_fixture(a_fixture_body(slug="led-of-a-stranger"))

    assert refused.value.status == 401


def test_a_service_that_is_not_there_is_unreachable() -> None:
    with (
        Client(f"http://127.0.0.1:{free_port()}", timeout=0.5) as client,
        pytest.raises(Unreachable) as error,
    ):
        client.fixture("x")

    assert error.value.response is None
    assert error.value.errors == []


# --- a service that is having a bad day ---------------------------------------------------------


class BadDay(http.server.BaseHTTPRequestHandler):
    """Refuses so many times, then answers; writes down what it was asked."""

    asked: list[tuple[str, str | None]]
    refusals: list[int]

    def _answer(self) -> None:
        length = int(self.headers.get("Content-Length") or 0)
        self.rfile.read(length)
        self.asked.append((self.command, self.headers.get("Idempotency-Key")))
        status = self.refusals.pop(0) if self.refusals else 200
        body = b"<html>proxy</html>" if status == 502 else json.dumps({"slug": "x"}).encode()
        self.send_response(status)
        self.send_header("Content-Length", str(len(body)))
        self.send_header("Retry-After", "0")
        self.end_headers()
        self.wfile.write(body)

    do_GET = do_POST = do_PUT = do_DELETE = _answer  # noqa: N815 - the library asks for these

    def log_message(self, *_: Any) -> None:
        pass


@pytest.fixture
def bad_day() -> Iterator[tuple[str, type[BadDay]]]:
    handler = type("Today", (BadDay,), {"asked": [], "refusals": []})
    service = http.server.ThreadingHTTPServer(("127.0.0.1", free_port()), handler)
    thread = threading.Thread(target=service.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    yield f"http://127.0.0.1:{service.server_address[1]}", handler
    service.shutdown()
    service.server_close()
    thread.join()


@pytest.mark.parametrize("status", [429, 503])
def test_what_is_safe_is_tried_again(bad_day: tuple[str, type[BadDay]], status: int) -> None:
    url, handler = bad_day
    handler.refusals[:] = [status, status]

    with Client(url) as client:
        assert client.fixture("x") == {"slug": "x"}
        assert client.balance({}) == {"slug": "x"}

    assert [method for method, _ in handler.asked] == ["GET", "GET", "GET", "POST"]


def test_a_creation_is_tried_again_under_the_same_key(bad_day: tuple[str, type[BadDay]]) -> None:
    url, handler = bad_day
    handler.refusals[:] = [503, 503]

    with Client(url) as client:
        client.add_fixture({})

    keys = {key for _, key in handler.asked}
    assert len(handler.asked) == 3
    assert len(keys) == 1
    assert None not in keys


def test_a_change_is_tried_once(bad_day: tuple[str, type[BadDay]]) -> None:
    url, handler = bad_day
    handler.refusals[:] = [503, 503]

    with Client(url) as client:
        with pytest.raises(Refused):
            client.replace_fixture("x", {}, '"tag"')
        with pytest.raises(Refused):
            client.remove_fixture("x", '"tag"')

    assert [method for method, _ in handler.asked] == ["PUT", "DELETE"]


def test_it_gives_up_in_the_end_and_shows_the_last_refusal(
    bad_day: tuple[str, type[BadDay]],
) -> None:
    url, handler = bad_day
    handler.refusals[:] = [503] * 10

    with Client(url) as client, pytest.raises(Refused) as refused:
        client.fixture("x")

    assert refused.value.status == 503
    assert len(handler.asked) == 4


def test_a_page_of_a_proxy_is_a_refusal_too(bad_day: tuple[str, type[BadDay]]) -> None:
    url, handler = bad_day
    handler.refusals[:] = [502]

    with Client(url) as client, pytest.raises(Refused) as refused:
        client.fixture("x")

    assert refused.value.status == 502
    assert refused.value.errors == []
