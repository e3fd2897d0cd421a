"""How a sheet prints."""

from __future__ import annotations

from xlsxwriter.worksheet import Worksheet

from ..gate.safe_xml import literal, writable
from .styles import FACE, GREY

LETTER, A4 = 1, 9
"""Paper sizes (ISO/IEC 29500-1, 18.3.1.63)."""
PAPERS = {"Letter": LETTER, "A4": A4}
LONG_SIDES = {LETTER: 792.0, A4: 841.9}
SHORT_SIDES = {LETTER: 612.0, A4: 595.3}
"""Sides of the paper [points]: ANSI/ASME Y14.1, ISO 216."""
SIDE_MARGIN, TOP_MARGIN, BOTTOM_MARGIN, FOOTER_MARGIN = 0.5, 0.5, 0.7, 0.3
"""[inches]"""
POINTS_IN_INCH = 72
LONGEST_FOOTER = 255
"""Characters of a header or footer with its codes (Excel specifications and limits)."""


def room_down(paper: int, landscape: bool) -> float:
    """The height between the margins of a sheet of paper [points]."""
    side = (SHORT_SIDES if landscape else LONG_SIDES)[paper]
    return side - (TOP_MARGIN + BOTTOM_MARGIN) * POINTS_IN_INCH


def set_up_print(
    sheet: Worksheet, *, landscape: bool, paper: int, footer: str, title_row: int = 0, one_page: bool = False
) -> None:
    """Print on the width of one sheet of paper (or all on one), with a footer and a row of titles on each."""
    if landscape:
        sheet.set_landscape()
    sheet.set_paper(paper)
    sheet.fit_to_pages(1, int(one_page))
    sheet.set_margins(SIDE_MARGIN, SIDE_MARGIN, TOP_MARGIN, BOTTOM_MARGIN)
    letters = f'&"{FACE},Regular"&10 &K{GREY}'
    left, right = f"&L{letters}", f"&R{letters}page &P of &N"
    sheet.set_footer(margin=FOOTER_MARGIN)
    # The method would take a name such as "R&G" for a place that wants a picture.
    sheet.footer = f"{left}{_fitting(footer, LONGEST_FOOTER - len(left + right))}{right}"
    if title_row:
        sheet.repeat_rows(title_row - 1)


def _fitting(text: str, room: int) -> str:
    """A text as it stands in a footer, cut where it takes more than so many characters."""
    for length in range(len(text), 0, -1):
        shown = text if length == len(text) else f"{text[: length - 1]}…"
        # An ampersand starts a code in headers and footers; two of them are one.
        footer = writable(shown).replace("&", "&&")
        if len(literal(footer).encode("utf-16-le")) <= 2 * room:  # as Excel counts
            return footer
    return ""
