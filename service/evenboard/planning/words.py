"""Names of outlets, lines and loads as a crew says them."""

from __future__ import annotations

from collections.abc import Iterable

from evenboard.electrics.layout import Board, Layout, Load, Outlet
from evenboard.findings.words import outlet_label

__all__ = ["amps", "lines_named", "listed", "load_named", "outlet_named", "outlet_names"]


def amps(microamps: float) -> str:
    """An amount as a clamp meter shows it.

    Parameters
    ----------
    microamps : float
        The amount. [uA]

    Returns
    -------
    str
        With one decimal and the unit.

    References
    ----------
    .. [1] None; wording.

    Examples
    --------
    >>> amps(8_695_652)
    '8.7 A'
    """
    return f"{microamps / 1e6:.1f} A"


def listed(names: Iterable[str]) -> str:
    """Names joined to a phrase.

    Parameters
    ----------
    names : iterable of str
        The names.

    Returns
    -------
    str
        With commas, and "and" before the last.

    References
    ----------
    .. [1] None; wording.

    Examples
    --------
    >>> listed(["key", "fill", "urn"])
    'key, fill and urn'
    """
    each = list(names)
    return each[0] if len(each) == 1 else f"{', '.join(each[:-1])} and {each[-1]}" if each else ""


def load_named(load: Load) -> str:
    """A load by its id.

    Parameters
    ----------
    load : Load
        The load.

    Returns
    -------
    str
        Its id; ids are what is written on the labels.

    References
    ----------
    .. [1] None; wording.
    """
    return load.id


def lines_named(layout: Layout, lines: Iterable[int]) -> str:
    """Lines of the supply by name.

    Parameters
    ----------
    layout : Layout
        Its supply has the names.
    lines : iterable of int
        Supply conductors.

    Returns
    -------
    str
        Joined by hyphens, such as ``L1-L2``.

    References
    ----------
    .. [1] None; wording.
    """
    return "-".join(layout.supply.lines[line] for line in lines)


def outlet_named(layout: Layout, board: Board, outlet: Outlet) -> str:
    """An outlet as one would call it across the set: line, row, number, and the board if need be.

    Parameters
    ----------
    layout : Layout
        Where the board is.
    board : Board
        The board.
    outlet : Outlet
        One of its outlets.

    Returns
    -------
    str
        Such as ``L1 top 2``, or ``L1 top 2 on stage-left`` where there are several boards. The
        number is left out where there is only one in that row; an outlet that is in no row is
        called by its id.

    References
    ----------
    .. [1] Rows and columns of a distribution box; common practice, no source.
    """
    return outlet_names(layout, board)[outlet.id]


def outlet_names(layout: Layout, board: Board) -> dict[str, str]:
    """The names of all outlets of a board.

    Parameters
    ----------
    layout : Layout
        Where the board is.
    board : Board
        The board.

    Returns
    -------
    dict of str
        By the outlet's id, as :func:`outlet_named` gives them.

    References
    ----------
    .. [1] As :func:`outlet_named`.
    """
    where = f" on {board.id}" if len(layout.boards) > 1 else ""
    rows: dict[tuple[str | None, tuple[str, ...]], list[Outlet]] = {}
    for outlet in board.outlets:
        rows.setdefault((outlet.type.row, outlet.type.lines), []).append(outlet)
    names = {}
    for (row, lines), alike in rows.items():
        for position, outlet in enumerate(alike, 1):
            if row is None:
                on = lines_named(layout, outlet.supply_lines)
                names[outlet.id] = f"{outlet_label(outlet.id)} ({on}){where}"
            else:
                number = f" {position}" if len(alike) > 1 else ""
                names[outlet.id] = f"{'-'.join(lines)} {row}{number}{where}"
    return names
