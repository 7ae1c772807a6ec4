"""Evenboard: plan, check and keep even the phases of a lighting supply."""

import os

__all__ = ["ENGINE_VERSION"]

ENGINE_VERSION = "1.0.0"
"""Version of the computation; part of every computed answer and of every report."""

# The matrices of a layout are small. Spread over threads by the linear algebra library they gain
# nothing, and on a busy machine its waiting threads cost: 20 ms became 46 to 240 (measured with
# tests/benchmarks/balance.py).
# Must be said before numpy is first imported; whoever knows better sets it outside.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
