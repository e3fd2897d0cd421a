"""What was read and worked out of a log as tidy tables in fixed units, to take elsewhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path

from ..gate import (
    FileProblem,
    Progress,
    Runner,
    check_file,
    check_new_file,
    far_values_told,
    here,
    make_folder,
    status_of,
    write_whole,
)
from ..reading import read_log
from ..reading.model.frames import FRAMES as READ
from ..reading.model.frames import FrameKind
from ..season_figures.frames import FRAMES as WORKED_OUT
from .files import FORMATS, file_of, like_formulas

__all__ = ["FORMATS", "FRAMES", "Exported", "export_log"]


FRAMES: Mapping[str, FrameKind] = {**READ, **WORKED_OUT}
"""The tables by their names, in the order in which they are written."""


@dataclass(frozen=True)
class Exported:
    """The files that were written, with the rows in each."""

    rows: Mapping[Path, int]
    left_out: int
    """Cells that look like data and were not understood."""
    like_formulas: int
    """Texts in CSV files that a spreadsheet program would compute."""


def export_log(
    log: Path,
    folder: Path,
    *,
    as_of: date | None = None,
    form: str = FORMATS[0],
    map_path: Path | None = None,
    overwrite: bool = False,
    progress: Progress | None = None,
    run: Runner = here,
) -> Exported:
    """Write what is read of a log into a folder, a file for each table; ``form`` is one of FORMATS.

    ``as_of`` is the day that TODAY gives and for which beds are handed out, by default the clock's; ``map_path`` is
    the mapping file, by default the one beside the log; ``run`` is how the log is worked on. Raises FileProblem.
    """
    check_file(log)
    if form not in FORMATS:
        raise FileProblem(f"{form} is no format of tables: give one of {', '.join(FORMATS)}")
    paths = {name: folder / f"{name}.{form}" for name in FRAMES}
    if status_of(folder) is not None:
        make_folder(folder)  # refuses a file
        for path in paths.values():
            if status_of(path) is not None and path.samefile(log):
                raise FileProblem(f"{path} is the log itself: give another folder")
            check_new_file(path, overwrite)
    made = run(partial(_made, log, as_of, form, map_path), log, progress)
    make_folder(folder)  # only now, so that a log that is refused leaves none behind
    for name, content in made.files.items():
        write_whole(paths[name], content)
    return Exported({paths[name]: rows for name, rows in made.rows.items()}, made.left_out, made.like_formulas)


@dataclass(frozen=True)
class _Made:
    """The files by the names of their tables, the rows in each, and how many cells and texts need a word."""

    files: dict[str, bytes]
    rows: dict[str, int]
    left_out: int
    like_formulas: int


def _made(log: Path, as_of: date | None, form: str, map_path: Path | None, progress: Progress) -> _Made:
    read = read_log(log, as_of, progress, map_path)
    day = as_of or date.today()
    files, rows, like = {}, {}, 0
    for number, (name, kind) in enumerate(FRAMES.items()):
        progress("writing tables", number, len(FRAMES))
        with far_values_told(log):
            listed = kind.listed(read, day)
        files[name], rows[name] = file_of(listed, kind, form), len(listed)
        like += like_formulas(listed, kind) if form == "csv" else 0
    progress("writing tables", len(FRAMES), len(FRAMES))
    return _Made(files, rows, read.counts.not_understood, like)
