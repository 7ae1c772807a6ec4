"""How long a search takes over ten thousand types: python tests/benchmarks/search.py.

The types are variants of the real ones: other watts, and a made-up word in each name, so that the
vocabulary grows with the catalogue as it would with a house's own types. Printed are milliseconds
a query and the ratio to the plain way, comparing the query with every whole name; no pass or fail.
"""

from __future__ import annotations

import random
import statistics
import time
from collections.abc import Callable
from dataclasses import replace

from rapidfuzz import fuzz, process

from evenboard.catalogue import SearchIndex, load_catalogue
from evenboard.electrics.equipment import FixtureType
from evenboard.paths import catalogue_folder

TYPES = 10_000
REPEATS = 15
QUERIES = (
    "",
    "2k",
    "800 w",
    "1.8 kw hmi",
    "tungsen",
    "fresnal 5k",
    "led",
    "open face",
    "moving head spot",
    "what still fits in 4 A",
    "hmi par 1.2 no pfc",
    "9 x 650",
    "zzzzzz",
    "battery chrager four bay",
)


def variants(real: list[FixtureType], count: int) -> list[FixtureType]:
    """So many types, each a real one with other watts and one word of its own."""
    chance = random.Random(1)
    types = []
    for index in range(count):
        kind = real[index % len(real)]
        word = "".join(chance.choices("abcdefghijklmnoprstuvwz", k=chance.randint(4, 9)))
        power_w = round(kind.power_w * chance.uniform(0.3, 3.0))
        types.append(
            replace(
                kind,
                slug=f"{kind.slug}-{index}",
                name=f"{kind.name} {word}",
                power_w=float(max(1, power_w)),
            )
        )
    return types


def median_ms(task: Callable[[], object]) -> float:
    """Median time of a task. [ms]"""
    times = []
    for _ in range(REPEATS):
        begin = time.perf_counter()
        task()
        times.append(1000.0 * (time.perf_counter() - begin))
    return statistics.median(times)


def main() -> None:
    """Print the table."""
    catalogue = load_catalogue(catalogue_folder())
    real = list(catalogue.fixtures.values())
    types = variants(real, TYPES)
    begin = time.perf_counter()
    index = SearchIndex(types, catalogue.families)
    built_ms = 1000.0 * (time.perf_counter() - begin)
    begin = time.perf_counter()
    index.find("2k", voltage_v=230.0)
    first_ms = 1000.0 * (time.perf_counter() - begin)
    names = [kind.name for kind in types]
    print(f"{TYPES} types; index made in {built_ms:.0f} ms")
    print(f"first query at a voltage {first_ms:.1f} ms, then its currents are kept")
    print(f"{'query':28} {'hits':>6} {'ms':>8} {'plain ms':>9} {'ratio':>6}")
    own, plain = [], []
    for query in QUERIES:
        hits = len(index.find(query))
        own.append(median_ms(lambda query=query: index.find(query)))
        plain.append(
            median_ms(
                lambda query=query: process.extract(
                    query, names, scorer=fuzz.WRatio, score_cutoff=60, limit=None
                )
            )
        )
        print(f"{query!r:28} {hits:6} {own[-1]:8.2f} {plain[-1]:9.2f} {plain[-1] / own[-1]:6.1f}")
    print(f"median of all queries: {statistics.median(own):.2f} ms, slowest {max(own):.2f} ms")
    small = [median_ms(lambda q=q: catalogue.search.find(q)) for q in QUERIES]
    print(f"over the {len(real)} real types: median {statistics.median(small):.2f} ms")


if __name__ == "__main__":
    main()
