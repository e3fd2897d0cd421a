"""A table as the content of a file."""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from ..gate import FileProblem
from ..reading.model.frames import FrameKind, Kind

if TYPE_CHECKING:
    import pandas as pd

FORMATS = ("csv", "parquet", "xlsx")
COMPUTED = ("=", "+", "-", "@", "\t", "\r")
MOST_ROWS = 1_048_575
"""Rows below the heading of a sheet (Excel specifications and limits)."""
ISO_DATE, ISO_TIME = "yyyy-mm-dd", "hh:mm:ss"


def file_of(rows: Sequence[Sequence[Any]], kind: FrameKind, form: str) -> bytes:
    """A table as a file of a format, one of FORMATS. Raises FileProblem where it cannot be one."""
    if form == "parquet":
        return _parquet(kind.frame_of(rows), kind)
    if form == "xlsx":
        return _workbook(rows, kind)
    return _csv(rows, kind)


def like_formulas(rows: Sequence[Sequence[Any]], kind: FrameKind) -> int:
    """How many texts a spreadsheet program would compute when it opens them as CSV (OWASP, CSV Injection).

    CSV has no way to say that they are texts, and a sign before them would change what other programs read.
    """
    places = [place for place, column in enumerate(kind.columns) if column.kind is Kind.TEXT]
    return sum(str(row[place]).startswith(COMPUTED) for row in rows for place in places if row[place] is not None)


WRITTEN: Mapping[Kind, Callable[[Any], str]] = {
    Kind.NUMBER: lambda value: repr(float(value)),
    Kind.WHOLE: lambda value: str(int(value)),
    Kind.DATE: lambda value: value.isoformat()[:10],
}
"""How CSV has what is not written as it is: every number of a column alike."""


def _csv(rows: Sequence[Sequence[Any]], kind: FrameKind) -> bytes:
    """Written without pandas: to import it takes longer than all the rest."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow([column.name for column in kind.columns])
    written = [WRITTEN.get(column.kind, str) for column in kind.columns]
    writer.writerows(
        [None if value is None else write(value) for write, value in zip(written, row, strict=True)] for row in rows
    )
    return text.getvalue().encode()


def _parquet(frame: pd.DataFrame, kind: FrameKind) -> bytes:
    try:
        import pyarrow as pa  # type: ignore[import-untyped]
    except ImportError:
        raise FileProblem(
            "parquet files need the package pyarrow: install it with pip install 'growcells[parquet]', or take "
            "--format csv"
        ) from None
    types = {
        **{Kind.TEXT: pa.string(), Kind.NUMBER: pa.float64(), Kind.WHOLE: pa.int64(), Kind.TRUTH: pa.bool_()},
        **{Kind.DATE: pa.date32(), Kind.TIME: pa.time64("us")},
    }
    schema = pa.schema([(column.name, types[column.kind]) for column in kind.columns])
    file = io.BytesIO()
    frame.to_parquet(file, engine="pyarrow", index=False, schema=schema)
    return file.getvalue()


def _workbook(rows: Sequence[Sequence[Any]], kind: FrameKind) -> bytes:
    from ..sheets.cell_writer import CellWriter
    from ..sheets.styles import Painter, Style
    from ..sheets.workbook_files import Book, workbook_bytes

    if len(rows) > MOST_ROWS:
        raise FileProblem(f"{kind.name} has {len(rows):,} rows, more than a sheet holds: take --format csv")
    formats = {Kind.DATE: ISO_DATE, Kind.TIME: ISO_TIME}
    styles = [
        Style(across="general", down="bottom", format=formats[column.kind]) if column.kind in formats else None
        for column in kind.columns
    ]
    book = Book()
    writer = CellWriter(book.add_worksheet(kind.name), Painter(book))
    writer.freeze(2, 1)
    for place, column in enumerate(kind.columns, 1):
        writer.write(1, place, column.name)
    for number, row in enumerate(rows, 2):
        for place, (value, style) in enumerate(zip(row, styles, strict=True), 1):
            writer.write(number, place, value, style if value is not None else None)
    return workbook_bytes(book, datetime.date.today())
