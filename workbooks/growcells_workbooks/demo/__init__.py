"""The demo: an invented log, a tank that grows, the doses before and after, and the weekly report."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from ..gate import make_folder
from ..reading import Bed, read_log
from ..recalculation import recalculate
from ..report import Report, build_report
from ..report.figures.iso_week import week_of
from ..sheets.workbook_files import check_new_workbook
from .log import write_log
from .scenario import CHANGED_TANK, FEEDS, LAST_DAY, NEW_LENGTH, TANKS, WEEKS

__all__ = ["Demo", "DoseChange", "run"]


@dataclass(frozen=True)
class DoseChange:
    """A tank before and after the change: volume [gal] and feed to weigh [g]."""

    bed: str
    feed: str
    old_volume: float
    new_volume: float
    old_dose: float
    new_dose: float

    @property
    def changed(self) -> bool:
        """Whether the dose changed."""
        return self.old_dose != self.new_dose


@dataclass(frozen=True)
class Demo:
    """What the demo wrote, what it changed, and what came of it."""

    log: Path
    changed_log: Path
    report: Report
    tank: str
    old_length: float
    new_length: float
    doses: tuple[DoseChange, ...]


def dose_changes(before: Path, after: Path) -> tuple[DoseChange, ...]:
    """Volume and dose of each tank in two logs, their formulas computed anew. Raises FileProblem."""
    old, new = read_log(before, LAST_DAY), read_log(after, LAST_DAY)
    return tuple(_change(bed, other) for bed, other in zip(old.beds, new.beds, strict=True))


def _change(old: Bed, new: Bed) -> DoseChange:
    assert old.volume is not None and new.volume is not None and old.dose is not None and new.dose is not None
    return DoseChange(old.name, old.feed, old.volume, new.volume, old.dose, new.dose)


def run(folder: Path, say: Callable[[str], None], *, overwrite: bool = False) -> Demo:
    """Write an invented log into a folder, compute it, make a tank longer, compute again and write the report.

    ``say`` is told of each step as it is done. Raises FileProblem.
    """
    make_folder(folder)
    log, changed = folder / "shed-log.xlsx", folder / "shed-log-longer-tank.xlsx"
    page = folder / f"shed-{week_of(LAST_DAY)}.xlsx"
    for path in (log, changed, page):
        check_new_workbook(path, overwrite)
    with tempfile.TemporaryDirectory() as workshop:
        typed = write_log(Path(workshop) / "typed.xlsx", TANKS)
        done = recalculate(typed, log, overwrite=overwrite, as_of=LAST_DAY)
        feeds = len({feed[0] for feed in FEEDS})
        say(f"Wrote {log}: {len(TANKS)} tanks, {feeds} feeds, {WEEKS} weeks of readings, all of it invented.")
        say(f"Computed its {done.formulas} formulas without a spreadsheet program.")
        (rebuilt,) = (tank for tank in TANKS if tank.name == CHANGED_TANK)
        longer = [replace(tank, length=NEW_LENGTH) if tank is rebuilt else tank for tank in TANKS]
        retyped = write_log(Path(workshop) / "retyped.xlsx", longer)
        recalculate(retyped, changed, overwrite=overwrite, as_of=LAST_DAY)
    say(f"Made {CHANGED_TANK} {NEW_LENGTH:g} in long instead of {rebuilt.length:g} in and computed again: {changed}")
    doses = dose_changes(log, changed)
    report = build_report(changed, page, previous=log, as_of=LAST_DAY, overwrite=overwrite)
    say(f"Wrote the report of {report.week.title}: {page}")
    return Demo(log, changed, report, CHANGED_TANK, rebuilt.length, NEW_LENGTH, doses)
