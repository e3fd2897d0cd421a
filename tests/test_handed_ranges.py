"""The ranges that growcells functions are handed: read once, cut to what is filled, and bounded."""

from __future__ import annotations

from pathlib import Path

import pytest

from growcells import CellError, functions
from growcells_workbooks.gate import silent
from growcells_workbooks.recalculation import Recalculation, handed_ranges, recalculate
from growcells_workbooks.recalculation.cells import MAX_COLUMNS, MAX_ROWS, Area, ErrorValue, Value
from growcells_workbooks.recalculation.computation import Computation
from growcells_workbooks.recalculation.engine import Engine
from growcells_workbooks.recalculation.handed_ranges import LEFT_OUT, HandedRanges, TooLarge, same, work_of
from growcells_workbooks.recalculation.package import Package
from recalc_books import read_values, write_book

SHEET = "log"


class Cells(Engine):
    """An engine of these cells, which counts how often one is read."""

    def __init__(self, cells: dict[tuple[int, int], Value | ErrorValue]) -> None:
        self.cells = cells
        self.count = 0

    def value(self, sheet: str, row: int, column: int) -> Value | ErrorValue:
        self.count += 1
        return self.cells.get((row, column))

    def block(self, sheet: str, area: Area) -> tuple[tuple[Value | ErrorValue, ...], ...]:
        columns = range(area.first_column, area.last_column + 1)
        rows = range(area.first_row, area.last_row + 1)
        return tuple(tuple([self.value(sheet, row, column) for column in columns]) for row in rows)

    def filled(self, sheet: str) -> Area:
        return Area(1, 1, max(row for row, _ in self.cells), max(column for _, column in self.cells))


def column(rows: int = 10) -> Cells:
    """The numbers of the rows in column A."""
    return Cells({(row, 1): float(row) for row in range(1, rows + 1)})


AREA = Area(1, 1, 10, 1)


def test_what_is_typed_is_read_once() -> None:
    engine, ranges = column(), HandedRanges(10)
    ranges.note_formulas([(SHEET, row, 2) for row in range(1, 11)], [])
    rows = ranges.read(engine, SHEET, AREA)
    assert rows == tuple((float(row),) for row in range(1, 11))
    ranges.note_computed()
    ranges.note_put(SHEET, 2)
    assert ranges.read(engine, SHEET, AREA) is rows
    assert engine.count == 10


@pytest.mark.parametrize("unbounded", [False, True])
def test_what_formulas_fill_is_read_again(unbounded: bool) -> None:
    """After a computation, and after a value was put into one of the columns; the same cells are the same object."""
    engine, ranges = column(), HandedRanges(10)
    ranges.note_formulas([] if unbounded else [(SHEET, 10, 1)], [SHEET] if unbounded else [])
    rows = ranges.read(engine, SHEET, AREA)
    ranges.note_put(SHEET, 2)
    assert ranges.read(engine, SHEET, AREA) is rows and engine.count == 10
    ranges.note_computed()
    assert ranges.read(engine, SHEET, AREA) is rows and engine.count == 20
    engine.cells[10, 1] = True
    assert ranges.read(engine, SHEET, AREA) is rows and engine.count == 20
    ranges.note_put(SHEET, 1)
    assert ranges.read(engine, SHEET, AREA)[9] == (True,)


def test_whole_columns_are_cut_and_others_filled_up() -> None:
    engine, ranges = column(), HandedRanges(10)
    ranges.note_formulas([(SHEET, 12, 2)], [])
    assert len(ranges.read(engine, SHEET, Area(1, 1, MAX_ROWS, 1))) == 12
    assert [len(row) for row in ranges.read(engine, SHEET, Area(1, 1, 1, MAX_COLUMNS))] == [2]
    count = engine.count
    rows = ranges.read(engine, SHEET, Area(3, 1, 100_002, 1))
    assert len(rows) == 100_000 and rows[7:12] == ((10.0,), (None,), (None,), (None,), (None,))
    assert engine.count == count + 10


def test_values_as_functions_take_them() -> None:
    engine = Cells({(1, 1): ErrorValue("#N/A"), (2, 1): LEFT_OUT, (3, 1): "x", (4, 1): True})
    rows = HandedRanges(4).read(engine, SHEET, Area(1, 1, 5, 1))
    assert rows == ((CellError("#N/A"),), (None,), ("x",), (True,), (None,))


def test_too_much(monkeypatch: pytest.MonkeyPatch) -> None:
    ranges = HandedRanges(10)
    for area in (Area(1, 1, MAX_ROWS, 101), Area(1, 1, 101, MAX_COLUMNS), Area(1, 1, MAX_ROWS - 1, 2)):
        with pytest.raises(TooLarge, match=r"^its range is too large$"):
            ranges.read(column(), SHEET, area)
    monkeypatch.setattr(handed_ranges, "MOST_WORK", 25)
    monkeypatch.setattr(handed_ranges, "WORK_PER_ROW", 0)
    ranges.note_formulas([], [SHEET])
    ranges.read(column(), SHEET, AREA)
    ranges.note_computed()
    ranges.read(column(), SHEET, AREA)
    ranges.note_computed()
    with pytest.raises(TooLarge, match="with those that other growcells functions read"):
        ranges.read(column(), SHEET, AREA)


def test_little_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(handed_ranges, "MOST_KEPT", 15)
    engine, ranges = column(), HandedRanges(10)
    ranges.read(engine, SHEET, AREA)
    ranges.read(engine, SHEET, Area(1, 1, 9, 1))
    ranges.read(engine, SHEET, AREA)
    assert engine.count == 29


def test_what_is_refused_is_not_computed_again(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Ten numbers, each of which a function computes by itself, are too much here: what held them is emptied."""
    monkeypatch.setattr(handed_ranges, "MOST_WORK", 25)
    monkeypatch.setattr(handed_ranges, "WORK_PER_ROW", 0)
    cells = {"A1": 2.0, "A2": 3.0, "C1": "=GROW_DOSE(A1:A10*1,2)", "C2": "=GROW_DOSE(A1,2)"}
    book = write_book(tmp_path / "log.xlsx", cells)
    computation = Computation(Package(book), None, silent)
    computation.run()
    (call,) = [call for call in computation.lifting.calls if call.is_dropped]
    assert call.refusal == handed_ranges.TOGETHER
    assert [computation.engine.value(table, 1, 1) for table in call.tables] == [None]


def test_rows_that_a_function_computes_by_themselves_count_for_more() -> None:
    rows = ((5.0,), (None,), (6.0,))
    assert work_of("GROW_COST_HEAD", (rows, 40.0)) == 3
    assert work_of("GROW_DOSE", (rows, 2.0)) == 3 + 2 * handed_ranges.WORK_OF_ROW
    assert work_of("GROW_DOSE", (5.0, 2.0)) == 0
    assert work_of("GROW_VERSION", (rows,)) == 3
    labels = (("17-7-21",), (None,), (True,))
    one_by_one = 3 + handed_ranges.WORK_OF_TEXT + handed_ranges.WORK_OF_ROW
    assert work_of("GROW_PPM", (10.0, 5.0, labels, "N")) == one_by_one
    assert work_of("GROW_WHY", ("GROW_PPM", 10.0, 5.0, labels, "N")) == one_by_one
    assert work_of("GROW_PPM", (10.0, 5.0, (("N", 17.0), ("P2O5", 7.0)), "N")) == 4


@pytest.mark.parametrize(
    ("left", "right", "are_same"),
    [
        ((1.0, "x"), (1.0, "x"), True),
        ((1.0,), (True,), False),
        ((((1.0,), (2.0,)),), (((1.0,), (2.0,)),), True),
        ((((1.0,), (0.0,)),), (((1.0,), (False,)),), False),
        ((((1.0,), (2.0,)),), (((1.0,), (3.0,)),), False),
    ],
)
def test_same(left: tuple[object, ...], right: tuple[object, ...], are_same: bool) -> None:
    assert same(left, right) is are_same


def test_the_same_call_in_many_cells_is_computed_once(tmp_path: Path) -> None:
    cells: dict[str, object] = {f"A{row}": 20 + row % 7 + row for row in range(1, 41)}
    cells |= {f"B{row}": "ab"[row % 2] for row in range(1, 41)}
    formulas = {f"C{row}": "=GROW_TRIAL_P($A$1:$A$40,$B$1:$B$40)" for row in range(1, 201)}
    kept = functions()["GROW_TRIAL_P"].kept
    before = kept.count()
    done, value = recalculated(tmp_path, {**cells, **formulas, "D1": "=GROW_TRIAL_P($A$1:$A$39,$B$1:$B$39)"})
    after = kept.count()
    assert done.changed == 201 and done.kept == ()
    assert after[0] + after[1] - before[0] - before[1] == 2
    assert value["C200"] == value["C1"] != value["D1"]


def recalculated(folder: Path, cells: dict[str, object]) -> tuple[Recalculation, dict[str, object]]:
    """What was told, and the values of the formulas."""
    done = recalculate(write_book(folder / "log.xlsx", cells), folder / "out.xlsx")
    value = read_values(folder / "out.xlsx")
    return done, {cell: value(cell) for cell in ("C1", "C200", "D1")}
