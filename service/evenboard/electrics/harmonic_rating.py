"""Sizing a four-core cable whose neutral carries third harmonics: annex E of IEC 60364-5-52.

The annex is written for equal lines and a neutral of the lines' size in the same cable, and warns
that it is worse where only two lines are loaded: what each core really carries is checked beside.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from evenboard.electrics.constant import Constant
from evenboard.electrics.equipment import FOUR_LOADED_FACTOR, Basis

__all__ = [
    "ANNEX_E",
    "HARMONIC_LINE_LIMIT",
    "HARMONIC_NEUTRAL_LIMIT",
    "HARMONIC_NOTICE_LIMIT",
    "NEUTRAL_LOADED_FACTOR",
    "Core",
    "RequiredRating",
    "governing_core",
    "required_rating",
]

Core = Literal["line", "neutral"]

ANNEX_E = Basis(
    "standard",
    "IEC 60364-5-52:2009 annex E (the table of BS 7671:2018 appendix 4, Table 4Aa, as reproduced)",
)
HARMONIC_NOTICE_LIMIT = Constant(
    "Third harmonic up to which a loaded neutral costs nothing", 15.0, "%", ANNEX_E
)
HARMONIC_LINE_LIMIT = Constant(
    "Third harmonic up to which the lines' current sizes the cable", 33.0, "%", ANNEX_E
)
HARMONIC_NEUTRAL_LIMIT = Constant(
    "Third harmonic above which the neutral's current alone sizes the cable", 45.0, "%", ANNEX_E
)
NEUTRAL_LOADED_FACTOR = Constant(
    "Factor on the rating of four-core cable whose neutral is loaded by harmonics",
    FOUR_LOADED_FACTOR,
    "",
    ANNEX_E,
)


@dataclass(frozen=True, slots=True)
class RequiredRating:
    """The rating that a four-core cable needs, and the core whose current asks for it."""

    rating_a: float
    factor: float
    governed_by: Core


def governing_core(third_harmonic_pct: float, loaded_factor: float) -> tuple[float, Core]:
    """Factor on a four-core cable's rating, and the core whose current it is compared with.

    Parameters
    ----------
    third_harmonic_pct : float
        Third harmonic in percent of the line current. [%]
    loaded_factor : float
        The table's factor where the neutral is loaded too, 0.86 in annex E. [-]

    Returns
    -------
    factor : float
        Factor on the rating for three loaded cores. [-]
    core : {"line", "neutral"}
        The core that sizes the cable.

    Raises
    ------
    ValueError
        If the harmonic is negative or not finite.

    References
    ----------
    .. [1] IEC 60364-5-52:2009 annex E, Table E.52.1: 0 to 15 %, 15 to 33 %, 33 to 45 %, above.

    Examples
    --------
    >>> governing_core(33.0, 0.86), governing_core(40.0, 0.86), governing_core(50.0, 0.86)
    ((0.86, 'line'), (0.86, 'neutral'), (1.0, 'neutral'))
    """
    if not (math.isfinite(third_harmonic_pct) and third_harmonic_pct >= 0.0):
        raise ValueError(f"third harmonic must be 0 % or more, not {third_harmonic_pct} %")
    if third_harmonic_pct <= HARMONIC_NOTICE_LIMIT.value:
        return 1.0, "line"
    if third_harmonic_pct <= HARMONIC_LINE_LIMIT.value:
        return loaded_factor, "line"
    if third_harmonic_pct <= HARMONIC_NEUTRAL_LIMIT.value:
        return loaded_factor, "neutral"
    return 1.0, "neutral"


def required_rating(
    line_a: float, third_harmonic_pct: float, loaded_factor: float = FOUR_LOADED_FACTOR
) -> RequiredRating:
    """Rating that a four-core cable needs for equal line currents with a third harmonic.

    The neutral's current is taken as three times the third harmonic. The table's step at 33 %
    (25 A needs 29.1 A at 33.0 % and 28.8 A just above) is the standard's and is kept.

    Parameters
    ----------
    line_a : float
        True RMS current of each line. [A]
    third_harmonic_pct : float
        Third harmonic in percent of that current. [%]
    loaded_factor : float
        Factor where the neutral is loaded too. [-]

    Returns
    -------
    RequiredRating
        Rating for three loaded cores, before the factors of the place, the factor used and the
        core that governs.

    Raises
    ------
    ValueError
        If the current or the harmonic is negative or not finite.

    References
    ----------
    .. [1] IEC 60364-5-52:2009 annex E, Table E.52.1 and its examples.

    Examples
    --------
    >>> round(required_rating(39.0, 40.0).rating_a, 1)
    54.4
    """
    if not (math.isfinite(line_a) and line_a >= 0.0):
        raise ValueError(f"line current must be 0 A or more, not {line_a} A")
    factor, core = governing_core(third_harmonic_pct, loaded_factor)
    current_a = line_a if core == "line" else 3.0 * third_harmonic_pct / 100.0 * line_a
    return RequiredRating(current_a / factor, factor, core)
