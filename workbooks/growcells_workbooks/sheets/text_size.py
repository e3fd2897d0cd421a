"""How much room a text takes in our face: not every program works out the heights of rows when it opens a file."""

from __future__ import annotations

import functools
import math

DIGIT = 556
"""Advance width of a digit of our face in thousandths of its size; column widths are counted in digits."""
WIDTHS = {
    **dict.fromkeys("ijl'|", 222),
    **dict.fromkeys(" ft.,:;!/\\I[]", 278),
    **dict.fromkeys('r()-"', 333),
    **dict.fromkeys("sckvxyzJ", 500),
    **dict.fromkeys("+=<>→", 584),
    **dict.fromkeys("FTZ", 611),
    **dict.fromkeys("ABEKPSVXY&", 667),
    **dict.fromkeys("CDHNRUw", 722),
    **dict.fromkeys("GOQ", 778),
    **dict.fromkeys("mM", 833),
    **dict.fromkeys("%W", 944),
}
"""Advance widths that differ from a digit's: those of Helvetica in Adobe's font metrics, which Arial shares; from
memory, and measured on our own pages."""
WIDEST = 1000
"""Of letters that are not Latin, such as those of Chinese."""
FIRST_WIDE = 0x1100
SAFETY = 1.03
"""Other faces that stand in for ours may run a little wider."""


def text_width(text: str) -> float:
    """The width of a text [digits]."""
    return sum(WIDEST if ord(sign) >= FIRST_WIDE else WIDTHS.get(sign, DIGIT) for sign in text) * SAFETY / DIGIT


@functools.lru_cache(maxsize=4096)
def wrapped_lines(text: str, width: float) -> int:
    """How many lines a text takes in a column of this width [digits], words kept whole where they fit."""
    space = text_width(" ")
    lines = 0
    for part in text.split("\n"):
        used, lines = 0.0, lines + 1
        for word in part.split(" "):
            size = text_width(word)
            if used and used + space + size > width:
                used, lines = 0.0, lines + 1
            used += size + (space if used else 0)
            more = max(math.ceil(used / width) - 1, 0)
            lines += more
            used -= more * width
    return lines
