"""Names of outlets, lines and loads as a crew says them."""

from __future__ import annotations

from collections.abc import Iterable

from evenboard.electrics.layout import Board, Layout, Load, Outlet
from evenboard.findings.words import outlet_label

__all__ = ["amps", "lines_named", "listed", "load_named", "outlet_named"]


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
    where = f" on {board.id}" if len(layout.boards) > 1 else ""
    kind = outlet.type
    if kind.row is None:
        return f"{outlet_label(kind.id)} ({lines_named(layout, outlet.supply_lines)}){where}"
    alike = [o for o in board.outlets if o.type.row == kind.row and o.type.lines == kind.lines]
    number = f" {alike.index(outlet) + 1}" if len(alike) > 1 else ""
    return f"{'-'.join(kind.lines)} {kind.row}{number}{where}"
