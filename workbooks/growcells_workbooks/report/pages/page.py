"""What a page of the report holds, said without any file format, so that each writer draws the same pages."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from ...sheets.table_columns import Column, Value
from ..figures.photo_folder import Photo
from .scale import Scale


@dataclass(frozen=True)
class Section:
    """A heading within a page."""

    title: str


@dataclass(frozen=True)
class Text:
    """A paragraph over the width of the page; ``small`` for what explains a table above it."""

    text: str
    small: bool = False


@dataclass(frozen=True)
class Gap:
    """Some room before what follows."""


@dataclass(frozen=True)
class NewPage:
    """What follows begins a new page in print."""


@dataclass(frozen=True)
class Table:
    """A table: a row for each record, and a last one with totals where they are given.

    ``key`` names a table that charts are drawn from. With ``frozen_columns`` its headings stay in view and stand on
    every printed page, and so do that many of its first columns.
    """

    columns: Sequence[Column]
    rows: Sequence[Sequence[Value]]
    totals: Sequence[Value] | None = None
    key: str = ""
    frozen_columns: int | None = None


@dataclass(frozen=True)
class Cells:
    """Cells below each other in a table with a key: a column and the records from ``first`` to ``last``, from 0 on."""

    table: str
    column: int
    first: int
    last: int


@dataclass(frozen=True)
class Line:
    """A line of a chart: its points, and the cells that hold their days and values. An end of a band is dashed."""

    name: str
    points: Sequence[tuple[datetime.date, float | None]]
    days: Cells
    values: Cells
    dashed: bool = False


@dataclass(frozen=True)
class Chart:
    """A measure of a bed over some days."""

    title: str
    axis: str
    scale: Scale
    first: datetime.date
    last: datetime.date
    lines: Sequence[Line]


@dataclass(frozen=True)
class ChartGrid:
    """Charts in rows below each other; the headings above them stand on every printed page."""

    rows: Sequence[Sequence[Chart]]


@dataclass(frozen=True)
class PhotoRow:
    """Photos beside each other, a caption below each; None where there is none."""

    photos: Sequence[Photo | None]
    captions: Sequence[str]


Block = Section | Text | Gap | NewPage | Table | ChartGrid | PhotoRow


@dataclass(frozen=True)
class Page:
    """A page: its short name, its title and what it says, from the top down.

    ``columns`` gives the widths that its tables are laid on. ``one_page`` is printed on one sheet of paper.
    """

    name: str
    title: str
    subtitle: str
    columns: Sequence[Column]
    blocks: Sequence[Block]
    landscape: bool = False
    one_page: bool = False


@dataclass(frozen=True)
class Document:
    """The report: its pages, what stands at the foot of each, and the paper: ``Letter`` or ``A4``."""

    title: str
    footer: str
    paper: str
    pages: Sequence[Page]
