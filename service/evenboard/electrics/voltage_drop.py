"""Voltage drop of one run by the textbook formula, and the limits that standards advise.

A quick sum for a remedy ("which size would do?") and for checks by hand; what a layout really gets
comes from the power flow.
"""

from __future__ import annotations

import math
from typing import Literal

from evenboard.electrics.constant import Constant, Table
from evenboard.electrics.equipment import Basis

__all__ = [
    "COPPER_IN_SERVICE",
    "DROP_LIMITS",
    "DROP_REACTANCE",
    "drop_limit_pct",
    "run_drop_v",
]

_ANNEX_G = Basis("standard", "IEC 60364-5-52:2009 annex G, as reproduced on a public page")
COPPER_IN_SERVICE = Constant(
    "Resistivity of copper in normal service", 0.0225, "ohm mm2/m", _ANNEX_G
)
DROP_REACTANCE = Constant("Reactance of a conductor of a cable", 0.08e-3, "ohm/m", _ANNEX_G)
DROP_LIMITS = Table(
    "Advised limit of voltage drop from the origin to the load",
    ("supply (1 public, 2 private)", "lighting (%)", "other uses (%)"),
    ((1.0, 3.0, 5.0), (2.0, 6.0, 8.0)),
    Basis("standard", "IEC 60364-5-52:2009 Table G.52.1, as reproduced on a public page"),
)
_PER_METRE = Constant(
    "Rise of the advised limit for each metre of main run beyond 100 m", 0.005, "%/m", _ANNEX_G
)
_MOST_RISE = Constant("Largest rise of the advised limit", 0.5, "%", _ANNEX_G)


def run_drop_v(
    current_a: float,
    r_ohm: float,
    x_ohm: float,
    power_factor: float,
    *,
    lines: Literal[1, 2, 3],
    leading: bool = False,
) -> float:
    """Drop of a run, line to neutral for three balanced lines, there and back for others.

    Parameters
    ----------
    current_a : float
        Current. [A]
    r_ohm : float
        Resistance of one conductor of the run. [ohm]
    x_ohm : float
        Reactance of one conductor of the run. [ohm]
    power_factor : float
        Displacement factor of the load. [-]
    lines : {1, 2, 3}
        1 or 2: current flows there and back; 3: balanced, nothing comes back.
    leading : bool
        Whether the current leads.

    Returns
    -------
    float
        Drop; negative is a rise. [V]

    Raises
    ------
    ValueError
        If a figure is negative or not finite, or the power factor is above 1.

    References
    ----------
    .. [1] IEC 60364-5-52:2009 annex G: ``u = b (rho L/S cos + lambda L sin) I`` with b 1 for
       three-phase and 2 for single-phase circuits.

    Examples
    --------
    >>> round(run_drop_v(32.0, 0.0225 * 50 / 10, 0.004, 1.0, lines=3), 2)
    3.6
    """
    if not all(math.isfinite(v) and v >= 0.0 for v in (current_a, r_ohm, x_ohm, power_factor)):
        raise ValueError("current, resistance, reactance and power factor must be 0 or more")
    if power_factor > 1.0:
        raise ValueError(f"power factor must be at most 1, not {power_factor}")
    there_and_back = 1.0 if lines == 3 else 2.0
    sine = math.sqrt(1.0 - power_factor**2) * (-1.0 if leading else 1.0)
    return there_and_back * (r_ohm * power_factor + x_ohm * sine) * current_a


def drop_limit_pct(main_run_m: float, *, private_supply: bool, lighting: bool) -> float:
    """Advised limit of voltage drop from the origin of an installation to the load.

    Parameters
    ----------
    main_run_m : float
        Length of the main wiring run. [m]
    private_supply : bool
        Whether the supply is one's own, a generator say.
    lighting : bool
        Whether the load is lighting.

    Returns
    -------
    float
        Limit, 0.005 points more a metre beyond 100 m, 0.5 points at the most. [%]

    Raises
    ------
    ValueError
        If the length is negative or not finite.

    References
    ----------
    .. [1] IEC 60364-5-52:2009 Table G.52.1; starting and inrush are left out.

    Examples
    --------
    >>> drop_limit_pct(140.0, private_supply=False, lighting=True)
    3.2
    """
    if not (math.isfinite(main_run_m) and main_run_m >= 0.0):
        raise ValueError(f"a run cannot be {main_run_m} m long: give a length of 0 m or more")
    _, for_lighting, for_other = DROP_LIMITS.rows[1 if private_supply else 0]
    limit = for_lighting if lighting else for_other
    assert limit is not None
    return limit + min(_PER_METRE.value * max(main_run_m - 100.0, 0.0), _MOST_RISE.value)
