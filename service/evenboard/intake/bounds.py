"""What a layout may hold at least and at most: outside are slips of the hand, no real equipment.

All are estimates: well beyond what a set uses, the largest small enough that the sums stay numbers,
the smallest large enough that what is divided by them does.
"""

from __future__ import annotations

__all__ = [
    "MAX_AMBIENT_C",
    "MAX_AMPS",
    "MAX_BOARDS",
    "MAX_CIRCUITS",
    "MAX_COIL_LAYERS",
    "MAX_COUNT",
    "MAX_CSA_MM2",
    "MAX_KVA",
    "MAX_LENGTH_M",
    "MAX_LOADS",
    "MAX_OHM",
    "MAX_OHM_PER_KM",
    "MAX_OUTLETS",
    "MAX_POWER_W",
    "MAX_RESIDUAL_MA",
    "MAX_SETUPS",
    "MAX_SWITCHES",
    "MAX_VOLTS",
    "MIN_AMBIENT_C",
    "MIN_AMPS",
    "MIN_KVA",
    "MIN_LIMIT",
    "MIN_POWER_W",
    "MIN_RATED_FACTOR",
    "MIN_RESIDUAL_MA",
    "MIN_VOLTS",
]

MAX_LOADS = 1000
MAX_BOARDS = 200
MAX_SETUPS = 100
MAX_SWITCHES = 10_000
"""Loads times set-ups: what the time and the memory of an answer grow with."""
MAX_OUTLETS = 400
"""Outlets of one board that is spelled out."""
MAX_COUNT = 1000
"""Like lamps on one plug."""
MIN_POWER_W, MAX_POWER_W = 0.1, 1_000_000.0
"""Power of one load: forty of the largest lamps made."""
MIN_AMPS, MAX_AMPS = 0.1, 10_000.0
MIN_KVA, MAX_KVA = 0.1, 10_000.0
MIN_RATED_FACTOR = 0.1
"""Of a generating set; plates say 0.8 or 1."""
MIN_RESIDUAL_MA, MAX_RESIDUAL_MA = 1.0, 10_000.0
MIN_VOLTS, MAX_VOLTS = 10.0, 1000.0
"""Low voltage as in IEC 60364, alternating current."""
MAX_LENGTH_M = 20_000.0
MAX_CSA_MM2 = 1000.0
MAX_COIL_LAYERS = 8
"""Layers on a drum; rating tables end at four or five."""
MAX_CIRCUITS = 20
"""Circuits side by side; VDE 0298-4 table 21 ends there."""
MAX_OHM = 100.0
MAX_OHM_PER_KM = 10_000.0
MIN_AMBIENT_C, MAX_AMBIENT_C = -40.0, 60.0
MIN_LIMIT = 0.1
"""Of a limit in percent or in kelvin that a layout sets for itself."""
