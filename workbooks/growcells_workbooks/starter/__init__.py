"""A starter log: the sheets that a season needs, with the formulas in place."""

from __future__ import annotations

import datetime
import tempfile
from pathlib import Path

from ..carrying.carry import carry
from ..gate import Progress
from ..recalculation import recalculate
from ..sheets.styles import Painter
from ..sheets.workbook_files import Book, check_new_workbook, save_workbook
from .clear import Cleared, clear_examples
from .examples import example_rows
from .guide import write_guide
from .mix_sheet import write_mix
from .season_tables import TABLES
from .table_sheets import write_table
from .trial_sheet import write_trial

__all__ = ["Cleared", "clear_examples", "new_log"]


def new_log(
    path: Path,
    *,
    overwrite: bool = False,
    examples: bool = True,
    carried: bool = False,
    day: datetime.date | None = None,
    progress: Progress | None = None,
) -> Path:
    """Write a starter log, its formulas computed; with ``examples`` a few invented rows, dated up to ``day`` (today).

    With ``carried`` the functions are in it, as names of its own.

    Raises FileProblem, whose text is one sentence.
    """
    check_new_workbook(path, overwrite)
    today = day or datetime.date.today()
    rows = example_rows(today) if examples else {}
    book = Book()
    painter = Painter(book)
    write_guide(painter, examples)
    for table in TABLES:
        write_table(painter, table, rows.get(table.key, ()))
    write_trial(painter)
    write_mix(painter, examples)
    with tempfile.TemporaryDirectory() as folder:
        uncomputed = Path(folder) / "log.xlsx"
        save_workbook(book, uncomputed, today)
        if carried:
            plain, uncomputed = uncomputed, Path(folder) / "carried.xlsx"
            carry(plain, uncomputed, progress=progress)
        recalculate(uncomputed, path, overwrite=overwrite, as_of=today, progress=progress)
    return path
