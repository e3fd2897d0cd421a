"""The photos of the report on a sheet."""

from __future__ import annotations

import io

from ...sheets.cell_writer import PIXELS_IN_DIGIT, PIXELS_IN_POINT
from ...sheets.sheet_writer import SheetWriter
from ...sheets.styles import Style
from ...sheets.table_columns import LINE_HEIGHT
from ..figures.photo_folder import Photo
from ..pages.page import PhotoRow

ROOM = 8
"""Free space around a photo [pixels]."""
HEIGHT = 190
"""Most that a photo takes [pixels]."""
MOVED_WITH_CELLS = 2
"""How XlsxWriter names a picture that moves with its cell and keeps its size."""


def draw_photos(writer: SheetWriter, row: PhotoRow) -> None:
    """Put photos into a row of cells, each as large as fits, with its caption below it."""
    heights = (HEIGHT + ROOM) / PIXELS_IN_POINT, LINE_HEIGHT + 2, LINE_HEIGHT
    for shift, height in enumerate(heights):
        writer.set_height(writer.row + shift, height)
    for place, (photo, caption) in enumerate(zip(row.photos, row.captions, strict=True), 1):
        writer.put(writer.row + 1, place, caption)
        writer.paint(writer.row + 1, place, Style("small"))
        if photo:
            _hang(writer, photo, caption, place)
    writer.row += 3


def _hang(writer: SheetWriter, photo: Photo, caption: str, place: int) -> None:
    """Put a photo into its cell, its sides kept in proportion: it ends within the cell, however wide that is shown."""
    room = writer.column_width(place) * PIXELS_IN_DIGIT - ROOM
    factor = min(room / photo.width, HEIGHT / photo.height)
    image = {
        "image_data": io.BytesIO(photo.jpeg),
        "x_scale": round(photo.width * factor) / photo.width,
        "y_scale": round(photo.height * factor) / photo.height,
        "object_position": MOVED_WITH_CELLS,
        "description": caption,
    }
    writer.sheet.insert_image(writer.row - 1, place - 1, "photo.jpg", image)
