"""Which sheets has a log, and which cells are filled? Whatever kind of file it is: .xlsx, .xlsm, .ods or .csv."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from ...file_kinds import DELIMITED, OPENDOCUMENT
from ...gate import Progress, silent
from .given import Input

__all__ = ["Input", "read_input"]


def read_input(path: Path, as_of: date | None = None, progress: Progress | None = None) -> Input:
    """The sheets of a log with the values that its formulas have; the file is only read.

    Formulas of an .xlsx or .xlsm workbook are computed, TODAY giving ``as_of``; those of an .ods have the values that
    LibreOffice stored. Raises FileProblem, whose text is one sentence.
    """
    kind = path.suffix.lower()
    if kind in DELIMITED:
        from .delimited import read_delimited

        return read_delimited(path)
    if kind == OPENDOCUMENT:
        from .opendocument import read_opendocument

        return read_opendocument(path, as_of, progress or silent)
    from .workbook import read_workbook

    return read_workbook(path, as_of, progress or silent)
