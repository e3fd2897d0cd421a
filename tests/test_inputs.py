"""Every kind of file that a log may be goes the whole way: check, report and export."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
import xlsxwriter

from growcells_workbooks.export import export_log
from growcells_workbooks.gate import FileProblem
from growcells_workbooks.log_check import check_log
from growcells_workbooks.reading import read_log
from growcells_workbooks.report import build_report
from log_books import write_log
from ods_books import write_ods
from processes import run_python

SLOW = ("openpyxl", "pint", "numpy", "pandas", "ironcalc")

DAY = datetime.date(2026, 11, 20)
ROWS = [["Date", "Bed", "pH", "EC mS/cm"], [DAY, "T1", 5.8, 1.25], [DAY, "T2", 6.1, 1.5]]


def log_of(folder: Path, kind: str) -> Path:
    """The same log as a file of each kind."""
    if kind == "ods":
        return write_ods(folder / "log.ods", {"log": ROWS})
    if kind == "csv":
        path = folder / "log.csv"
        path.write_text("\n".join(",".join(map(str, row)) for row in ROWS), "utf-8")
        return path
    return write_log(folder, log=ROWS)


@pytest.mark.parametrize("kind", ["xlsx", "ods", "csv"])
def test_the_whole_way(tmp_path: Path, kind: str) -> None:
    log = log_of(tmp_path, kind)
    readings = [(reading.bed, reading.date, reading.ph, reading.ec) for reading in read_log(log).readings]
    assert readings == [("T1", DAY, 5.8, 1.25), ("T2", DAY, 6.1, 1.5)]
    assert check_log(log).problems == 0
    report = build_report(log, tmp_path / "week.xlsx", as_of=DAY)
    assert (report.beds, report.readings) == (2, 2)
    assert export_log(log, tmp_path / "tables").rows[tmp_path / "tables" / "readings.csv"] == 2
    with pytest.raises(FileProblem, match="is a report that growcells wrote"):
        build_report(tmp_path / "week.xlsx", tmp_path / "again.xlsx", as_of=DAY)


def test_a_log_without_formulas_is_read_without_what_takes_long_to_import(tmp_path: Path) -> None:
    log = tmp_path / "log.xlsx"
    with xlsxwriter.Workbook(log) as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["Date", "Bed", "pH", "EC mS/cm"])
        sheet.write_row(1, 0, ["2026-11-16", "T1", 6.1, 1.6])
    code = (
        "import sys, datetime; from pathlib import Path; from growcells_workbooks.reading import read_log; "
        f"log = read_log(Path({str(log)!r}), datetime.date(2026, 11, 20)); "
        f"print(len(log.readings), [name for name in {SLOW!r} if name in sys.modules])"
    )
    assert run_python(code).stdout.strip() == "1 []"
