"""Pixels of columns and rows, in which XlsxWriter counts where charts and pictures stand and how large they are."""

from __future__ import annotations

PIXELS_IN_DIGIT, EDGES = 7, 5
"""Of a face whose digits are 7 pixels wide, as ours at 10 points (ISO/IEC 29500-1, 18.3.1.13)."""
PIXELS_IN_POINT = 96 / 72


def pixels_across(width: float) -> int:
    """The pixels of a column so many digits wide."""
    return int(width * PIXELS_IN_DIGIT + 0.5) + EDGES


def pixels_down(height: float) -> int:
    """The pixels of a row so high [points]."""
    return int(height * PIXELS_IN_POINT + 0.5)
