"""How much room a text takes in our face: not every program works out the heights of rows when it opens a file."""

from __future__ import annotations

import functools
import math

DIGIT = 560
"""The width of a digit; column widths are counted in digits."""
WIDTHS = {
    **dict.fromkeys("ijl'", 240),
    **dict.fromkeys("I,. /:;|\\", 290),
    **dict.fromkeys("f-", 330),
    **dict.fromkeys("t()[]!", 345),
    **dict.fromkeys('r"', 380),
    **dict.fromkeys("ckszJ", 505),
    **dict.fromkeys("vxy", 520),
    **dict.fromkeys("FTZ", 610),
    **dict.fromkeys("ABEKPSVXY&▲▼", 675),
    **dict.fromkeys("CDHNRUw", 720),
    **dict.fromkeys("+=<>^~×÷→#", 730),
    **dict.fromkeys("GOQ☐", 780),
    **dict.fromkeys("mM", 850),
    **dict.fromkeys("@…", 880),
    **dict.fromkeys("%W", 940),
}
"""Widths that differ from a digit's, each the larger of two: Helvetica's in Adobe's font metrics, which Arial shares
(from memory, and measured on our own pages), and DejaVu Sans's, which stands in for it where it lacks, each beside a
digit of its own face (measured with Pillow)."""
WIDEST = 1000
"""Of letters that are not Latin, such as those of Chinese."""
FIRST_WIDE = 0x1100
SAFETY = 1.02
"""Other faces that stand in for ours may run a little wider."""


MOST_TEXTS = 16_384
"""Texts whose width is kept: more than a report has that differ. Ours."""


@functools.lru_cache(maxsize=MOST_TEXTS)
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
