"""How the client loads, opens and moves: PYTHONPATH=tests python tests/benchmarks/phone.py.

Printed are the kilobytes of a first visit over the wire, the seconds until a repeat visit without
a line is usable, the milliseconds of a search in the phone's own lamp list, the frames a second
while the board is dragged, with the processor slowed to that of a modest phone, and the scores of
Lighthouse for a phone (fetched by npm; ``--no-scores`` leaves it out). No pass or fail.
"""

from __future__ import annotations

import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, CDPSession, sync_playwright

from support.phone import ARGUMENTS, Phone, a_body, chromium, phone_on
from support.service import running_service

LIGHTHOUSE = "lighthouse@12.2.3"
CATEGORIES = ("performance", "accessibility", "best-practices")
SLOWER = 4
"""How much slower than this machine's a modest phone's processor is taken to be."""
LAMPS = [
    {"id": f"lamp {n}", "fixture": "tungsten-open-face-800", "outlet": f"l{n % 3 + 1}-{row}"}
    for n, row in enumerate(("top", "top", "top", "middle", "middle", "middle", "bottom"))
]
USABLE = "main:not([aria-busy]) h1"
SEARCHED = ["2k open face", "led", "flourescent 1,2 kw", "dimer", "8 a", "zzzzqqq"]
SEARCH = """const { items } = await m.kept();
m.find(items, { q: "warm up" });
let worst = 0;
for (const q of v[0]) {
  const start = performance.now();
  m.find(items, { q });
  worst = Math.max(worst, performance.now() - start);
}
return worst;"""
DRAG = """async () => {
  const times = [];
  const ends = document.documentElement.scrollHeight - innerHeight;
  await new Promise((done) => requestAnimationFrame(function frame(now) {
    times.push(now);
    scrollTo(0, ends * (0.5 - 0.5 * Math.cos((now - times[0]) / 400)));
    if (now - times[0] < 4000) requestAnimationFrame(frame); else done();
  }));
  return times.slice(1).map((each, index) => each - times[index]);
}"""


def main() -> None:
    with (
        tempfile.TemporaryDirectory() as folder,
        running_service(Path(folder)) as service,
        sync_playwright() as playwright,
    ):
        browser = chromium(playwright)
        first_visit(browser, service.url)
        with phone_on(browser, service.url) as phone:
            phone.put(a_body(*LAMPS))
            phone.wait_until_kept()
            frames(phone)
            repeat_visit(phone)
        browser.close()
        if "--no-scores" not in sys.argv:
            scores(service.url)


def first_visit(browser: Browser, url: str) -> None:
    """Bytes until the lamp list is there, and until all is on the phone."""
    with phone_on(browser, url) as phone:
        wire = phone.page.context.new_cdp_session(phone.page)
        sizes = counting(wire)
        phone.open()
        phone.page.wait_for_selector("ul.lamps li")
        until_shown = sum(sizes)
        phone.wait_until_kept()
        phone.page.wait_for_timeout(1000)
        print(f"first visit: {until_shown / 1000:.0f} kB until the lamp list is there,")
        print(f"  {sum(sizes) / 1000:.0f} kB with all screens and the whole list on the phone")


def counting(wire: CDPSession) -> list[int]:
    """What each answer took over the wire, headers included; grows as they come."""
    sizes: list[int] = []
    wire.on("Network.loadingFinished", lambda told: sizes.append(int(told["encodedDataLength"])))
    wire.send("Network.enable")
    return sizes


def repeat_visit(phone: Phone) -> None:
    """Seconds from the address to a board that can be used, without a line."""
    phone.page.context.set_offline(True)
    for slower in (1, SLOWER):
        wire = phone.page.context.new_cdp_session(phone.page)
        wire.send("Emulation.setCPUThrottlingRate", {"rate": slower})
        taken = []
        for _ in range(7):
            phone.page.goto("about:blank")
            start = time.perf_counter()
            phone.page.goto(f"{phone.url}/#/board")
            phone.page.wait_for_selector(USABLE)
            taken.append(time.perf_counter() - start)
        wire.send("Emulation.setCPUThrottlingRate", {"rate": 1})
        print(
            f"repeat visit without a line, processor {slower} times slower: usable after "
            f"{statistics.median(taken):.2f} s (median), {max(taken):.2f} s (worst)"
        )
    phone.page.context.set_offline(False)
    slowest: float = phone.run("catalogue", SEARCH, SEARCHED)
    print(f"searching the phone's own lamp list: {slowest:.0f} ms (worst of {len(SEARCHED)})")


def frames(phone: Phone) -> None:
    """Frames a second while the board goes up and down under a thumb."""
    for slower in (1, SLOWER):
        wire = phone.page.context.new_cdp_session(phone.page)
        wire.send("Emulation.setCPUThrottlingRate", {"rate": slower})
        gaps: list[float] = phone.page.evaluate(DRAG)
        wire.send("Emulation.setCPUThrottlingRate", {"rate": 1})
        late = sum(gap > 2 * 1000 / 60 for gap in gaps)
        print(
            f"dragging, processor {slower} times slower: {1000 / statistics.mean(gaps):.0f} frames "
            f"a second, {late} of {len(gaps)} late by one or more"
        )


def scores(url: str) -> None:
    """Lighthouse's scores for a phone."""
    if shutil.which("npx") is None:
        print("no npx here: no scores")
        return
    command = ["npx", "--yes", LIGHTHOUSE, f"{url}/", "--quiet", "--output=json"]
    command += [f"--only-categories={','.join(CATEGORIES)}"]
    command += [f"--chrome-flags={' '.join(['--headless=new', *ARGUMENTS])}"]
    environment = os.environ | {"CHROME_PATH": shutil.which("chromium") or ""}
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
    told: dict[str, Any] = json.loads(done.stdout)
    for name in CATEGORIES:
        print(f"{name}: {100 * told['categories'][name]['score']:.0f}")
    for audit in told["audits"].values():
        if audit.get("score") is not None and audit["score"] < 0.9:
            print(f"  {audit['id']}: {audit.get('displayValue') or audit['title']}")


if __name__ == "__main__":
    main()
