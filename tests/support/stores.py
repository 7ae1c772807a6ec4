"""What other processes do to a store in tests; importable, as a spawned process needs it."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from sqlalchemy import select

from evenboard.desk.layouts import CollidingChanges, apply
from evenboard.store import Session, Store, layouts
from evenboard.store.audit import Who
from evenboard.store.layouts import SavedLayout
from evenboard.store.rows import CatalogueRow

__all__ = [
    "Interrupted",
    "add_one",
    "in_processes",
    "interrupted",
    "migrate",
    "move_there_and_back",
]


class Interrupted(Exception):
    """Whatever may happen half way through a unit of work."""


def interrupted(store: Store, work: Callable[[Session], Any]) -> None:
    """Do some work in a unit, then fail before its end."""
    with store.writing() as session:
        work(session)
        session.flush()
        raise Interrupted


def add_one(url: str, times: int) -> None:
    """Read a number and write it back one higher, so many times."""
    store = Store(url)
    for _ in range(times):
        with store.writing() as session:
            row = session.execute(select(CatalogueRow).with_for_update()).scalar_one()
            row.revision += 1
    store.close()


def migrate(url: str) -> None:
    """Bring a database up to date."""
    store = Store(url)
    store.migrate()
    store.close()


def in_processes(number: int, work: Callable[..., None], *arguments: Any) -> list[int | None]:
    """Do the same in so many processes at once; their exit codes."""
    # A server that has imported the store forks the processes: they start without doing it again.
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["evenboard.store"])
    processes = [context.Process(target=work, args=arguments) for _ in range(number)]
    for process in processes:
        process.start()
    for process in processes:
        process.join(60)
    return [process.exitcode for process in processes]


def move_there_and_back(url: str, layout_id: str, times: int) -> None:
    """Move the lamp ``key`` between two outlets, from wherever it is, so many times each way."""
    store = Store(url)
    for _ in range(times):
        for here, there in (("l1-bottom", "l2-bottom"), ("l2-bottom", "l1-bottom")):
            with store.writing() as session:
                layouts.change(
                    session, layout_id, Who("desk", "", "a"), "a", "changed", _moved(here, there)
                )
    store.close()


def _moved(here: str, there: str) -> Callable[[SavedLayout], tuple[SavedLayout, dict[str, Any]]]:
    def make(saved: SavedLayout) -> tuple[SavedLayout, dict[str, Any]]:
        place = {"board": "main", "outlet": here}
        change = {"op": "move", "load": "key", "from": place, "to": {**place, "outlet": there}}
        try:
            changed = apply(saved.body, saved.burning, [change])
        except CollidingChanges:
            # Another process has it where this one wants it; the next turn goes on from there.
            return saved, {}
        told = {"words": changed.words, "from": here, "to": there}
        return replace(saved, body=changed.body), told

    return make
