"""The photos of the report on a sheet."""

from __future__ import annotations

import io

from openpyxl.drawing.image import Image
from openpyxl.drawing.spreadsheet_drawing import AnchorMarker, OneCellAnchor
from openpyxl.drawing.xdr import XDRPositiveSize2D

from ...sheets.sheet_writer import SheetWriter
from ...sheets.styles import Style
from ...sheets.table_columns import LINE_HEIGHT
from ..figures.photo_folder import Photo
from ..pages.page import PhotoRow

EMU_IN_PIXEL = 9525
"""English metric units (ISO/IEC 29500-1, 20.1.10.16) in a pixel of 1/96 inch."""
ROOM = 8
"""Free space around a photo [pixels]."""
HEIGHT = 190
"""Most that a photo takes [pixels]."""
POINTS_IN_PIXEL = 0.75


def pixels_of(width: float) -> int:
    """The pixels of a column so many digits wide.

    Excel's rule for a face whose digits are 7 pixels wide, as ours at 10 points (ISO/IEC 29500-1, 18.3.1.13).
    """
    return int(width * 7) + 5


def draw_photos(writer: SheetWriter, row: PhotoRow) -> None:
    """Put photos into a row of cells, each as large as fits, with its caption below it."""
    heights = (HEIGHT + ROOM) * POINTS_IN_PIXEL, LINE_HEIGHT + 2, LINE_HEIGHT
    for shift, height in enumerate(heights):
        writer.set_height(writer.row + shift, height)
    for place, (photo, caption) in enumerate(zip(row.photos, row.captions, strict=True), 1):
        writer.put(writer.row + 1, place, caption)
        writer.paint(writer.row + 1, place, Style("small"))
        if photo:
            _hang(writer, photo, place)
    writer.row += 3


def _hang(writer: SheetWriter, photo: Photo, place: int) -> None:
    """Put a photo into its cell, its sides kept in proportion."""
    room = pixels_of(writer.column_width(place)) - ROOM
    factor = min(room / photo.width, HEIGHT / photo.height)
    image = Image(io.BytesIO(photo.jpeg))
    size = XDRPositiveSize2D(round(photo.width * factor) * EMU_IN_PIXEL, round(photo.height * factor) * EMU_IN_PIXEL)
    image.anchor = OneCellAnchor(_from=AnchorMarker(col=place - 1, row=writer.row - 1), ext=size)
    writer.sheet.add_image(image)
