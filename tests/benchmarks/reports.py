"""How long a report takes, from body to PDF: python tests/benchmarks/reports.py.

A village of few and of many loads. Printed are medians in milliseconds, stage by stage, pages, and
the ratio of setting the pages to balancing the layout; no pass or fail. Every round has a name of
its own, since the typesetter remembers what it has set before.
"""

from __future__ import annotations

import hashlib
import io
import json
import statistics
import sys
import time
from pathlib import Path

from pypdf import PdfReader

sys.path.insert(0, str(Path(__file__).parents[1]))

from evenboard.balance import balance, balance_document, common_types
from evenboard.catalogue import load_catalogue
from evenboard.intake import resolve
from evenboard.paths import catalogue_folder
from evenboard.reports import render_report, report_document, report_json
from support.papers import VERIFY_URL, an_issue, village

ROUNDS = 5


def main() -> None:
    """Print a line per size of layout."""
    catalogue = load_catalogue(catalogue_folder())
    print(
        f"{'loads':>6}{'pages':>6}{'balance':>9}{'words':>7}{'pages set':>10}{'ratio':>7}{'kB':>6}"
    )
    for loads in (10, 100, 300):
        times: dict[str, list[float]] = {"balance": [], "words": [], "set": []}
        pdf = b""
        for turn in range(ROUNDS):
            body = village(catalogue, loads)
            for load in body["loads"]:
                load["name"] = f"{load['name']} of round {turn} of {loads}"
            start = time.perf_counter()
            layout = resolve(body, catalogue)
            answer = balance_document(balance(layout, common=common_types(catalogue, layout)))
            balanced = time.perf_counter()
            content = report_json(
                an_issue(), body, layout, answer, catalogue_version=catalogue.version
            )
            digest = hashlib.sha256(json.dumps(content).encode()).hexdigest()
            document = report_document(content, content_sha256=digest, verify_url=VERIFY_URL)
            said = time.perf_counter()
            pdf = render_report(document)
            done = time.perf_counter()
            times["balance"].append(balanced - start)
            times["words"].append(said - balanced)
            times["set"].append(done - said)
        median = {stage: statistics.median(values) * 1e3 for stage, values in times.items()}
        pages = len(PdfReader(io.BytesIO(pdf)).pages)
        print(
            f"{loads:>6}{pages:>6}{median['balance']:>9.0f}{median['words']:>7.0f}"
            f"{median['set']:>10.0f}{median['set'] / median['balance']:>7.2f}{len(pdf) // 1000:>6}"
        )


if __name__ == "__main__":
    main()
