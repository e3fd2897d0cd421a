"""The plain figures of a season in fixed units: doses, top-ups, rounds, harvests, standings, what falls due.

The report, the comparison of seasons and the export take them from here, so that all say the same. Where the log does
not tell a figure, NotKnown says why; nothing is guessed.
"""

from __future__ import annotations
