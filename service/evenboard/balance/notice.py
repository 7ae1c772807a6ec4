"""The caution that goes with every computed answer."""

from __future__ import annotations

__all__ = ["NOTICE"]

NOTICE = (
    "A calculation from the figures given, not an inspection. It does not replace a competent "
    "person on site, the rules in force there, or work that only a licensed electrician may do. "
    "Prove dead before touching, connect earth and neutral first and part them last, never part a "
    "connector under load, and check the amps with a true-RMS clamp meter once the lamps are lit."
)
