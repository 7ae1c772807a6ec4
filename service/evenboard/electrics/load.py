"""A load's current: how much, how far behind its voltage, and how much of it is harmonics.

The true RMS current is split by how its parts add up on a board: the fundamental (a phasor), the
triplens (harmonics of order 3, 9, 15 ..., in phase on all three lines) and the rest, lumped at the
fifth. The voltage that a load gets sets its power by ``P = P0 (V / V0)^k``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from evenboard.electrics.constant import Constant
from evenboard.electrics.dimming import firing_angle_rad, phase_cut
from evenboard.electrics.equipment import (
    Basis,
    Connection,
    Displacement,
    FixtureType,
    LoadModel,
)
from evenboard.electrics.layout import Load
from evenboard.electrics.tungsten import POWER_EXPONENT

__all__ = [
    "INPUT_TOLERANCE",
    "SUPPLY_HIGH",
    "SUPPLY_LOW",
    "VOLTAGE_EXPONENT",
    "Split",
    "contradiction",
    "current_split",
    "is_phase_cut",
    "load_split",
    "plug_current_a",
    "rated_voltage_v",
    "takes_voltage",
    "version_for",
]

VOLTAGE_EXPONENT: dict[LoadModel, float] = {
    "constant-power": 0.0,
    "constant-current": 1.0,
    "tungsten": POWER_EXPONENT.value,
    "constant-impedance": 2.0,
}
"""The exponent k of each load model: power goes with the k-th power of the voltage."""

_SUPPLY_BASIS = Basis(
    "memory",
    "holds 216 to 253 V on 220-240 V (AS 60038), 127 V on 110-120 V (ANSI C84.1 range B) and the "
    "95 to 107 V of a Japanese 100 V supply",
)
SUPPLY_LOW = Constant(
    "Lowest supply voltage over the lowest marked voltage that is meant for it",
    0.95,
    "",
    _SUPPLY_BASIS,
)
SUPPLY_HIGH = Constant(
    "Highest supply voltage over the highest marked voltage that is meant for it",
    1.07,
    "",
    _SUPPLY_BASIS,
)

INPUT_TOLERANCE = Constant(
    "Deviation from its marked input range within which electronics keep working",
    0.10,
    "",
    Basis("estimate", "equipment is made for the mains' own +-10 % (IEC 60038) about its marking"),
)

_SIGN: dict[Displacement, float] = {"lagging": -1.0, "leading": 1.0, "none": 0.0}
_FACTOR_SLACK = 1e-6
_HARMONIC_SLACK_PCT = 0.01
_NO_DISPLACEMENT = 1e-9


@dataclass(frozen=True, slots=True)
class Split:
    """The current of one line of a plug and the power of the whole load.

    ``fundamental_a`` is a phasor against the load's own voltage (lagging: negative imaginary part);
    ``triplen_a`` and ``rest_a`` are RMS.
    """

    power_w: float
    fundamental_a: complex
    triplen_a: float
    rest_a: float

    @property
    def rms_a(self) -> float:
        """True RMS current. [A]"""
        return math.sqrt(abs(self.fundamental_a) ** 2 + self.triplen_a**2 + self.rest_a**2)


def contradiction(
    power_factor: float,
    displacement_factor: float,
    displacement: Displacement,
    third_harmonic_pct: float,
) -> str | None:
    """Say what is wrong with a load's power figures, if anything.

    Parameters
    ----------
    power_factor : float
        True power factor, active over apparent power. [-]
    displacement_factor : float
        Cosine of the angle between the fundamentals of voltage and current. [-]
    displacement : {"lagging", "leading", "none"}
        Which way the fundamental current is displaced.
    third_harmonic_pct : float
        Third harmonic over the fundamental current. [%]

    Returns
    -------
    str or None
        A sentence that names figure and limit, or None where the figures can be true together.

    References
    ----------
    .. [1] Power factor and distortion, ``pf = cos(phi1) / sqrt(1 + THD^2)``: power-electronics
       textbooks.

    Examples
    --------
    >>> contradiction(0.95, 0.9, "lagging", 0.0)
    'power factor 0.95 is above the displacement factor 0.9'
    >>> contradiction(0.58, 0.99, "leading", 80.0) is None
    True
    """
    if not 0.0 < power_factor <= 1.0:
        return f"power factor {power_factor:g} must be above 0 and at most 1"
    if not 0.0 < displacement_factor <= 1.0:
        return f"displacement factor {displacement_factor:g} must be above 0 and at most 1"
    if not 0.0 <= third_harmonic_pct < math.inf:
        return f"third harmonic {third_harmonic_pct:g} % must be a number of 0 or more"
    if power_factor > displacement_factor + _FACTOR_SLACK:
        return (
            f"power factor {power_factor:g} is above the displacement factor "
            f"{displacement_factor:g}"
        )
    if displacement == "none" and displacement_factor < 1.0 - _NO_DISPLACEMENT:
        return (
            f"displacement factor {displacement_factor:g} needs a displacement that is lagging or "
            "leading"
        )
    distortion_pct = 100.0 * math.sqrt(max((displacement_factor / power_factor) ** 2 - 1.0, 0.0))
    if third_harmonic_pct > distortion_pct + _HARMONIC_SLACK_PCT:
        return (
            f"third harmonic {third_harmonic_pct:g} % is above the whole distortion of "
            f"{distortion_pct:.1f} % that power factor {power_factor:g} and displacement factor "
            f"{displacement_factor:g} leave"
        )
    return None


def current_split(
    power_w: float,
    voltage_v: float,
    *,
    power_factor: float,
    displacement_factor: float,
    displacement: Displacement,
    third_harmonic_pct: float = 0.0,
) -> Split:
    """Split the current of one branch that takes a given power at a given voltage.

    Parameters
    ----------
    power_w : float
        Active power of the branch. [W]
    voltage_v : float
        Voltage across the branch, RMS. [V]
    power_factor : float
        True power factor. [-]
    displacement_factor : float
        Displacement factor of the fundamental. [-]
    displacement : {"lagging", "leading", "none"}
        Which way the fundamental current is displaced.
    third_harmonic_pct : float
        Third harmonic over the fundamental current. [%]

    Returns
    -------
    Split
        The branch's current and power.

    Raises
    ------
    ValueError
        If power or voltage is out of range, or the figures contradict each other.

    References
    ----------
    .. [1] ``I = P / (V pf)``, ``I1 = P / (V cos(phi1))``, ``Ih^2 = I^2 - I1^2``: power-electronics
       textbooks.

    Examples
    --------
    >>> split = current_split(
    ...     800, 230, power_factor=0.58, displacement_factor=0.99, displacement="leading",
    ...     third_harmonic_pct=80,
    ... )
    >>> f"{split.rms_a:.2f} {abs(split.fundamental_a):.2f} {split.triplen_a:.2f}"
    '6.00 3.51 2.81'
    """
    if not 0.0 <= power_w < math.inf:
        raise ValueError(f"power {power_w:g} W must be a number of 0 or more")
    if not 0.0 < voltage_v < math.inf:
        raise ValueError(f"voltage {voltage_v:g} V must be above 0")
    fault = contradiction(power_factor, displacement_factor, displacement, third_harmonic_pct)
    if fault is not None:
        raise ValueError(fault)
    active_a = power_w / voltage_v
    tangent = math.sqrt(max(1.0 / displacement_factor**2 - 1.0, 0.0)) * _SIGN[displacement]
    fundamental_a = active_a / displacement_factor
    triplen_a = fundamental_a * third_harmonic_pct / 100.0
    distortion_squared = (active_a / power_factor) ** 2 - fundamental_a**2
    rest_a = math.sqrt(max(distortion_squared - triplen_a**2, 0.0))
    return Split(power_w, complex(active_a, active_a * tangent), triplen_a, rest_a)


def is_phase_cut(load: Load, level: float | None = None) -> bool:
    """Whether a phase-cut dimmer chops this load's current.

    Only what is a resistance can be chopped: a tungsten lamp or a constant-impedance load of power
    factor 1. Any other load is taken to dim itself.

    Parameters
    ----------
    load : Load
        The load.
    level : float, optional
        What it is dimmed to, 0 to 1; by default its own ``dimmed_to``. [-]

    Returns
    -------
    bool
        True where it is dimmed below full by phase cut.

    References
    ----------
    .. [1] Common practice: electronics are never fed through a phase-cut dimmer.
    """
    return (
        load.dimmer == "phase-cut"
        and (load.dimmed_to if level is None else level) < 1.0
        and load.load_model in ("tungsten", "constant-impedance")
        and load.power_factor == 1.0
    )


def load_split(load: Load, voltage_v: float, level: float | None = None) -> Split:
    """Current of one line of a load's plug at a voltage, all its units, as dimmed.

    Parameters
    ----------
    load : Load
        The load; whether it is on or plugged makes no difference.
    voltage_v : float
        Voltage across one branch, RMS. [V]
    level : float, optional
        What it is dimmed to, 0 to 1; by default its own ``dimmed_to``. [-]

    Returns
    -------
    Split
        Line current of the plug and power of all units. Of a delta load the third harmonic
        circulates inside and does not reach the lines.

    Raises
    ------
    ValueError
        If the voltage is not above zero or the load's figures contradict each other.

    References
    ----------
    .. [1] ``P = P0 (V / V0)^k``; phase cut by :func:`evenboard.electrics.dimming.phase_cut`.
    """
    if not 0.0 < voltage_v < math.inf:
        raise ValueError(f"voltage {voltage_v:g} V must be above 0")
    dimmed_to = load.dimmed_to if level is None else level
    branches = 3 if load.connection in ("star", "delta") else 1
    exponent = VOLTAGE_EXPONENT[load.load_model]
    law = (voltage_v / load.rated_voltage_v) ** exponent
    power_w = load.power_w * load.count * dimmed_to * law
    branch_w = power_w / branches
    if is_phase_cut(load, dimmed_to):
        cut = phase_cut(firing_angle_rad(dimmed_to ** (2.0 / exponent)))
        full_a = branch_w / voltage_v / float(cut.power) if dimmed_to > 0.0 else 0.0
        fundamental_a = complex(cut.fundamental) * full_a
        triplen_a, rest_a = float(cut.triplen) * full_a, float(cut.rest) * full_a
    else:
        branch = current_split(
            branch_w,
            voltage_v,
            power_factor=load.power_factor,
            displacement_factor=load.displacement_factor,
            displacement=load.displacement,
            third_harmonic_pct=load.third_harmonic_pct,
        )
        fundamental_a, triplen_a, rest_a = branch.fundamental_a, branch.triplen_a, branch.rest_a
    if load.connection == "delta":
        line = math.sqrt(3.0)
        return Split(power_w, fundamental_a * line, 0.0, rest_a * line)
    return Split(power_w, fundamental_a, triplen_a, rest_a)


def takes_voltage(range_v: tuple[float, float], voltage_v: float) -> bool:
    """Whether a voltage is one that a marked range is meant for, a supply's tolerance included.

    Parameters
    ----------
    range_v : tuple of float
        Lowest and highest voltage marked. [V]
    voltage_v : float
        Voltage across one branch. [V]

    Returns
    -------
    bool
        True from :data:`SUPPLY_LOW` of the lowest to :data:`SUPPLY_HIGH` of the highest.

    References
    ----------
    .. [1] AS 60038, ANSI C84.1 (from memory): see the basis of the two constants.
    """
    low, high = range_v
    return SUPPLY_LOW.value * low <= voltage_v <= SUPPLY_HIGH.value * high


def version_for(fixture: FixtureType, voltage_v: float) -> tuple[float, float] | None:
    """The voltage version of a fixture type that is meant for a voltage.

    Parameters
    ----------
    fixture : FixtureType
        The fixture type.
    voltage_v : float
        Voltage across one branch. [V]

    Returns
    -------
    tuple of float, or None
        The version's range, low and high: the one that holds the voltage, else the nearest that
        holds it with a supply's tolerance; None where no version takes that voltage. [V]

    References
    ----------
    .. [1] The fixture type's own input ranges; the tolerance is that of :func:`takes_voltage`.
    """
    taking = [r for r in fixture.input_ranges_v if takes_voltage(r, voltage_v)]
    return min(taking, key=lambda r: max(r[0] - voltage_v, voltage_v - r[1], 0.0), default=None)


def rated_voltage_v(fixture: FixtureType, voltage_v: float) -> float:
    """Voltage at which a fixture type draws its power, where it is to run at a voltage.

    Parameters
    ----------
    fixture : FixtureType
        The fixture type.
    voltage_v : float
        Nominal voltage across one branch. [V]

    Returns
    -------
    float
        That voltage, clamped into the version's range that holds it or comes nearest by ratio. [V]

    Raises
    ------
    ValueError
        If the voltage is not above zero.

    References
    ----------
    .. [1] Estimate: lamps are made for, and re-lamped to, the nominal voltage of the place.
    """
    if not 0.0 < voltage_v < math.inf:
        raise ValueError(f"voltage {voltage_v:g} V must be above 0")
    clamped = [min(max(voltage_v, low), high) for low, high in fixture.input_ranges_v]
    if not clamped:
        return voltage_v
    return min(clamped, key=lambda v: abs(math.log(v / voltage_v)))


def plug_current_a(fixture: FixtureType, voltage_v: float) -> float:
    """True RMS current that one unit of a fixture type takes per line of its plug.

    Parameters
    ----------
    fixture : FixtureType
        The fixture type.
    voltage_v : float
        Voltage across one branch, RMS. [V]

    Returns
    -------
    float
        Current, undimmed. Within a version's range it is that of the full power; outside, the
        load model carries on from the range's nearest edge. [A]

    Raises
    ------
    ValueError
        If the voltage is not above zero.

    References
    ----------
    .. [1] ``I = P / (V pf)``; three-phase star ``P / (3 V pf)``, delta ``sqrt(3)`` times that.

    Examples
    --------
    A 2 kW lamp at 230 V draws 8.70 A; the same lamp on 220 V by current V^0.55 draws 8.49 A.
    """
    rated_v = rated_voltage_v(fixture, voltage_v)
    exponent = VOLTAGE_EXPONENT[fixture.load_model]
    power_w: float = fixture.power_w * (voltage_v / rated_v) ** exponent
    return power_w / (voltage_v * fixture.power_factor) * _line_share(fixture.connection)


def _line_share(connection: Connection) -> float:
    """Current of a line of the plug over what the whole power would draw in one branch."""
    if connection == "star":
        return 1.0 / 3.0
    if connection == "delta":
        return 1.0 / math.sqrt(3.0)
    return 1.0
