"""How a sheet prints."""

from __future__ import annotations

from openpyxl.worksheet.worksheet import Worksheet

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
    sheet: Worksheet, *, landscape: bool, paper: int, footer: str, title_rows: str = "", one_page: bool = False
) -> None:
    """Print on the width of one sheet of paper (or all on one), with a footer and repeated title rows."""
    sheet.page_setup.orientation = "landscape" if landscape else "portrait"
    sheet.page_setup.paperSize = paper
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = int(one_page)
    assert sheet.sheet_properties.pageSetUpPr is not None
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    margins = sheet.page_margins
    margins.left = margins.right = SIDE_MARGIN
    margins.top, margins.bottom = TOP_MARGIN, BOTTOM_MARGIN
    margins.header = margins.footer = FOOTER_MARGIN
    footers = sheet.oddFooter
    assert footers is not None and footers.left is not None and footers.right is not None
    left, right = footers.left, footers.right
    left.text, right.text = "", "page &P of &N"
    for part in (left, right):
        part.font, part.size, part.color = f"{FACE},Regular", 10, GREY
    left.text = _fitting(footer, LONGEST_FOOTER - len(f"&L{left}&R{right}"))
    if title_rows:
        sheet.print_title_rows = title_rows


def _fitting(text: str, room: int) -> str:
    """A text as it stands in a footer, cut where it takes more than so many characters."""
    for length in range(len(text), 0, -1):
        shown = text if length == len(text) else f"{text[: length - 1]}…"
        # An ampersand starts a code in headers and footers; two of them are one.
        footer = literal(writable(shown)).replace("&", "&&")
        if len(footer.encode("utf-16-le")) <= 2 * room:  # as Excel counts
            return footer
    return ""
