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
    """A heading within a page; it is never printed without what follows it."""

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
class Table:
    """A table: a row for each record, and a last one with totals where they are given.

    ``key`` names a table that charts are drawn from. With ``frozen_columns`` its headings stay in view, and so do that
    many of its first columns. ``by_hand`` is one to write into: its cells are framed and high enough for a pen.
    """

    columns: Sequence[Column]
    rows: Sequence[Sequence[Value]]
    totals: Sequence[Value] | None = None
    key: str = ""
    frozen_columns: int | None = None
    by_hand: bool = False


@dataclass(frozen=True)
class Lines:
    """Lines to write on, as many as there is room for down to the foot of the paper."""

    title: str


@dataclass(frozen=True)
class Mark:
    """A reading beside its band; ``side`` is above 0 above it, below 0 below, else 0."""

    measure: str
    reading: str
    verdict: str
    side: int = 0


@dataclass(frozen=True)
class ToDo:
    """Something to do, with a box to tick: when, what, and why in a few words."""

    when: str
    what: str
    why: str
    urgent: bool = False


@dataclass(frozen=True)
class Card:
    """A bed in the week: what stands in it, its latest readings, what to do; or what is no bed's, under a title.

    ``notes`` say what is left to say, such as why there is nothing to do.
    """

    title: str
    about: str = ""
    marks: Sequence[Mark] = ()
    to_do: Sequence[ToDo] = ()
    notes: Sequence[str] = ()


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
class Event:
    """What happened on some days, drawn as a sign at the foot of a chart; the cells hold the days and that foot."""

    kind: str
    points: Sequence[tuple[datetime.date, float]]
    days: Cells
    values: Cells


@dataclass(frozen=True)
class Chart:
    """A measure of a bed over some days; ``band`` is shaded from its low to its high end, an open one to the edge."""

    title: str
    axis: str
    scale: Scale
    first: datetime.date
    last: datetime.date
    lines: Sequence[Line]
    band: tuple[float | None, float | None] | None = None
    events: Sequence[Event] = ()


@dataclass(frozen=True)
class ChartGrid:
    """Charts in rows below each other."""

    rows: Sequence[Sequence[Chart]]


@dataclass(frozen=True)
class PhotoRow:
    """Photos beside each other, a caption below each; None where there is none."""

    photos: Sequence[Photo | None]
    captions: Sequence[str]


Block = Section | Text | Gap | Table | Lines | Card | ChartGrid | PhotoRow


@dataclass(frozen=True)
class Page:
    """A page: its short name, its title and what it says, from the top down.

    ``behind`` are the pages behind the divider, which say how the figures were made. One that is not ``printed`` holds
    the figures that charts are drawn from. One that ``joins`` may stand below the one before it where there is room.
    """

    name: str
    title: str
    subtitle: str
    blocks: Sequence[Block]
    landscape: bool = False
    behind: bool = False
    printed: bool = True
    joins: bool = False


@dataclass(frozen=True)
class Document:
    """The report: its pages, what stands at the foot of each, and the paper: ``Letter`` or ``A4``."""

    title: str
    footer: str
    paper: str
    pages: Sequence[Page]
