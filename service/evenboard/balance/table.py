"""The phase table as rows, for a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterable

from evenboard.balance.model import Balance, NeutralFigures, PhaseFigures

__all__ = ["PHASE_TABLE_HEAD", "phase_table"]

PHASE_TABLE_HEAD = (
    "setup",
    "board",
    "phase",
    "current_a",
    "rating_a",
    "loading_pct",
    "sum_a",
    "headroom_a",
    "power_w",
    "reactive_var",
    "apparent_va",
    "power_factor",
)
"""Names of the columns."""

Cell = str | float | None


def phase_table(balance: Balance) -> list[tuple[Cell, ...]]:
    """The lines and the neutral of the supply in every set-up, then of each board at its worst.

    Parameters
    ----------
    balance : Balance
        What :func:`evenboard.balance.balance` gave.

    Returns
    -------
    list of tuple
        One row for each line and neutral, in the order of :data:`PHASE_TABLE_HEAD`; a figure that
        there is not is None. Empty ``board`` is the supply.
    """
    rows: list[tuple[Cell, ...]] = []
    for setup in balance.setups:
        rows += _rows(setup.id, "", setup.phases, setup.neutral)
    for board in balance.boards:
        rows += _rows(board.setup or "", board.id, board.phases, board.neutral)
    return rows


def _rows(
    setup: str, board: str, phases: Iterable[PhaseFigures], neutral: NeutralFigures | None
) -> list[tuple[Cell, ...]]:
    rows: list[tuple[Cell, ...]] = [
        (
            setup,
            board,
            p.phase,
            _to(p.current_a, 2),
            _to(p.rating_a, 2),
            _to(p.loading_pct, 2),
            _to(p.sum_a, 2),
            _to(p.headroom_a, 2),
            _to(p.power_w, 1),
            _to(p.reactive_var, 1),
            _to(p.apparent_va, 1),
            _to(p.power_factor, 3),
        )
        for p in phases
    ]
    if neutral is not None:
        amps, rating = _to(neutral.current_a, 2), _to(neutral.rating_a, 2)
        rows.append((setup, board, "N", amps, rating, _to(neutral.loading_pct, 2), *(None,) * 6))
    return rows


def _to(value: float | None, decimals: int) -> float | None:
    return None if value is None else round(value, decimals) + 0.0
