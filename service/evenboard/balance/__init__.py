"""The balance of a layout: amps per phase, neutral, volts and findings, in every set-up.

``balance(layout)`` solves, sums up and judges; ``balance_document`` makes it plain JSON values,
``phase_table`` rows for a spreadsheet. Which set-up each figure is of: ``README.md`` beside this.
"""

from evenboard.balance.document import balance_document
from evenboard.balance.model import Balance
from evenboard.balance.notice import NOTICE
from evenboard.balance.room import common_types
from evenboard.balance.summary import balance
from evenboard.balance.table import PHASE_TABLE_HEAD, phase_table

__all__ = [
    "NOTICE",
    "PHASE_TABLE_HEAD",
    "Balance",
    "balance",
    "balance_document",
    "common_types",
    "phase_table",
]
