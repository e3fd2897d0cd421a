"""The page with photos: a row for each bed, a column for each week."""

from __future__ import annotations

import io

from openpyxl.drawing.image import Image
from openpyxl.drawing.spreadsheet_drawing import AnchorMarker, OneCellAnchor
from openpyxl.drawing.xdr import XDRPositiveSize2D

from ...sheets.sheet_writer import Page
from ...sheets.styles import Style
from ...sheets.table_columns import Column
from ..photos import Photo
from .paper import Paper, finish

COLUMN = 36.0
"""Width of a column of photos [digits]."""
EMU_IN_PIXEL = 9525
"""English metric units (ISO/IEC 29500-1, 20.1.10.16) in a pixel of 1/96 inch."""
PIXELS_IN_COLUMN = int(COLUMN * 7) + 5
"""Excel's rule for a face whose digits are 7 pixels wide, as ours at 10 points (ISO/IEC 29500-1, 18.3.1.13)."""
ROOM = 8
"""Free space around a photo [pixels]."""
HEIGHT = 190
"""Most that a photo takes [pixels]."""
POINTS_IN_PIXEL = 0.75
BEDS_ON_A_PAGE = 4


def photos_page(paper: Paper) -> None:
    """Each bed side by side week by week, all at one scale; nothing where no photos were given."""
    photos, figures = paper.photos, paper.figures
    if photos is None:
        return
    columns = [Column("", COLUMN)] * len(photos.weeks)
    page = paper.page("Photos", "Photos of the beds", columns, landscape=False)
    beds = [bed for bed in figures.beds if any(key[0] == bed.name for key in photos.shown)]
    if not beds:
        page.line("No photo of these weeks is named by a date and a bed of the log.")
    for number, bed in enumerate(beds):
        if number and number % BEDS_ON_A_PAGE == 0:
            page.turn()
        page.section(f"{bed.name}, {bed.bed.crop}" if bed.bed.crop else bed.name)
        page.sheet.row_dimensions[page.row].height = (HEIGHT + ROOM) * POINTS_IN_PIXEL
        for place, week in enumerate(photos.weeks, 1):
            photo = photos.shown.get((bed.name, week))
            told = f"{photo.day:%a} {photo.day.day} {photo.day:%b}" if photo else "none"
            page.put(page.row + 1, place, f"week {week.number}: {told}")
            page.paint(page.row + 1, place, Style("small"))
            if photo:
                _hang(page, photo, place)
        page.row += 3
    if photos.left_out:
        page.section("Photos that were not used")
        for name, why in photos.left_out:
            page.paragraph(f"{name}: {why}.", "small")
    page.paragraph(
        "Of several photos of a bed in a week the latest is shown. What a camera writes into a photo, such as the "
        "place, is left out.",
        "small",
    )
    finish(page)


def _hang(page: Page, photo: Photo, column: int) -> None:
    """Put a photo into its cell, as large as fits, its sides kept in proportion."""
    factor = min((PIXELS_IN_COLUMN - ROOM) / photo.width, HEIGHT / photo.height)
    image = Image(io.BytesIO(photo.jpeg))
    size = XDRPositiveSize2D(round(photo.width * factor) * EMU_IN_PIXEL, round(photo.height * factor) * EMU_IN_PIXEL)
    image.anchor = OneCellAnchor(_from=AnchorMarker(col=column - 1, row=page.row - 1), ext=size)
    page.sheet.add_image(image)
