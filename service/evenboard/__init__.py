"""Evenboard: plan, check and keep even the phases of a lighting supply."""

__all__ = ["ENGINE_VERSION"]

ENGINE_VERSION = "1.0.0"
"""Version of the computation; part of every computed answer and of every report."""
