"""How soon a plug shows on the other phones: PYTHONPATH=tests python tests/benchmarks/sharing.py.

Twenty phones ask the real service (two workers) once a second what is new, one of them plugs.
Printed are the seconds from the plug to each of the others, and how many questions a second the
service answers in relation to its bare "alive"; no pass or fail.
"""

from __future__ import annotations

import statistics
import tempfile
import threading
import time
from pathlib import Path

from evenboard_client import Client
from support.layouts import a_body, a_body_load
from support.service import desk_key, running_service

PHONES = 20
PLUGS = 10
EVERY_S = 1.0
MEASURED_S = 5.0


def main() -> None:
    with (
        tempfile.TemporaryDirectory() as folder,
        running_service(Path(folder)) as service,
        Client(service.url, token=desk_key(service.environment)) as desk,
    ):
        layout_id = desk.save_layout(a_body(a_body_load()))["id"]
        token = desk.add_layout_link(layout_id, "phones", may="plug")["token"]
        heard = until_heard(service.url, token, layout_id)
        print(f"{PHONES} phones, one question each {EVERY_S:g} s, {PLUGS} plugs:")
        print(f"  heard by the others after {statistics.median(heard):.2f} s (median),")
        print(f"  {max(heard):.2f} s (the last of all)")
        alive = a_second(service.url, token, "/healthz")
        asked = a_second(service.url, token, f"/v1/layouts/{layout_id}/events?after={PLUGS + 1}")
        print(f"questions a second: {asked:.0f}, {asked / alive:.2f} of bare answers")


def until_heard(url: str, token: str, layout_id: str) -> list[float]:
    """Seconds from each plug to each of the other phones."""
    done = threading.Event()
    made: dict[int, float] = {}
    heard: list[tuple[int, float]] = []

    def listen(late_s: float) -> None:
        with Client(url, token=token) as phone:
            known = 1
            time.sleep(late_s)
            while not done.is_set():
                for event in phone.layout_events(layout_id, after=known):
                    known = event["version"]
                    heard.append((known, time.monotonic()))
                time.sleep(EVERY_S)

    phones = [
        threading.Thread(target=listen, args=(EVERY_S * i / PHONES,)) for i in range(PHONES - 1)
    ]
    for phone in phones:
        phone.start()
    with Client(url, token=token) as plugging:
        share = 1.0
        for i in range(PLUGS):
            was, share = share, 0.5 if share == 1.0 else 1.0
            change = {"op": "dim", "load": "key", "was": was, "to": share}
            made[i + 2] = time.monotonic()
            plugging.change_layout(layout_id, change)
            time.sleep(1.5 * EVERY_S)
    time.sleep(2 * EVERY_S)
    done.set()
    for phone in phones:
        phone.join()
    return [at - made[version] for version, at in heard]


def a_second(url: str, token: str, path: str) -> float:
    """How many answers one caller after the other gets, four at once."""
    counts = [0] * 4
    end = time.monotonic() + MEASURED_S

    def ask(i: int) -> None:
        with Client(url, token=token) as client:
            while time.monotonic() < end:
                client._json("GET", path)
                counts[i] += 1

    threads = [threading.Thread(target=ask, args=(i,)) for i in range(len(counts))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sum(counts) / MEASURED_S


if __name__ == "__main__":
    main()
