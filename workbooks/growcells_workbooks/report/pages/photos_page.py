"""The page with photos: a row for each bed, a column for each week."""

from __future__ import annotations

from collections.abc import Iterator

from ..figures.photo_folder import Photos
from ..figures.week_figures import Figures
from .material import Material
from .page import Block, Page, PhotoRow, Section, Text


def photos_page(material: Material) -> Iterator[Page]:
    """Each bed side by side week by week, all at one scale; nothing where no photos were given."""
    photos = material.photos
    if photos is not None:
        yield material.page("Photos", "Photos of the beds", _blocks(material.figures, photos))


def _blocks(figures: Figures, photos: Photos) -> Iterator[Block]:
    beds = [bed for bed in figures.beds if any(key[0] == bed.name for key in photos.shown)]
    if not beds:
        yield Text("No photo of these weeks has a date and a bed of the log in its name.")
    for bed in beds:
        yield Section(f"{bed.name}, {bed.bed.crop}" if bed.bed.crop else bed.name)
        shown = [photos.shown.get((bed.name, week)) for week in photos.weeks]
        captions = []
        for photo, week in zip(shown, photos.weeks, strict=True):
            told = f"{photo.day:%a} {photo.day.day} {photo.day:%b}" if photo else "no photo"
            captions.append(f"week {week.number}: {told}")
        yield PhotoRow(shown, captions)
    if photos.left_out:
        yield Section("Photos that were not used")
        for name, why in photos.left_out:
            yield Text(f"{name}: {why}.", small=True)
    yield Text(
        "Of several photos of a bed in a week the latest is shown. What a camera writes into a photo, such as the "
        "place, is left out.",
        small=True,
    )
