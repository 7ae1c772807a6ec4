"""From a body of plain JSON values to a layout: every fault at once, then nothing left to look up.

``resolve(body, catalogue)`` gives the :class:`~evenboard.electrics.layout.Layout` or raises
:class:`LayoutInvalid` with every :class:`Fault`. Rules and bounds: ``README.md`` beside this file.
"""

from evenboard.intake.fault import Fault, LayoutInvalid
from evenboard.intake.plug import plugged
from evenboard.intake.resolving import faults, resolve

__all__ = ["Fault", "LayoutInvalid", "faults", "plugged", "resolve"]
