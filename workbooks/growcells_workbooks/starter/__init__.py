"""A starter log: the sheets that a season needs, with the formulas in place."""

from __future__ import annotations

import datetime
import tempfile
from pathlib import Path

from ..recalculation import Progress, recalculate
from ..report.look import new_book
from ..writing import check_new_workbook, save_workbook
from .examples import example_rows
from .layout import TABLES
from .plans import write_mix, write_trial
from .write import write_guide, write_table

__all__ = ["new_log"]


def new_log(
    path: Path,
    *,
    overwrite: bool = False,
    day: datetime.date | None = None,
    progress: Progress | None = None,
) -> Path:
    """Write a starter log with a few invented rows, dated up to ``day`` (today), its formulas computed.

    Raises FileProblem, whose text is one sentence.
    """
    check_new_workbook(path, overwrite)
    today = day or datetime.date.today()
    examples = example_rows(today)
    book = new_book()
    for table in TABLES:
        write_table(book, table, examples[table.key])
    write_trial(book)
    write_mix(book)
    write_guide(book)
    book.active = 0
    with tempfile.TemporaryDirectory() as folder:
        blank = Path(folder) / "log.xlsx"
        save_workbook(book, blank, today)
        recalculate(blank, path, overwrite=overwrite, as_of=today, progress=progress)
    return path
