"""Every example of every function gives the same value in every bridge.

    python3 tests/run.py tests/test_conformance.py -s

prints how many examples ran in how many bridges.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import ironcalc
import pytest
from _pytest.mark import ParameterSet
from openpyxl import Workbook, load_workbook
from openpyxl.cell.cell import Cell
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.formula import ArrayFormula

from bridges import shown
from carried_calls import carried_model, computed, of_liquid
from growcells import CellFunction, functions
from growcells.cells.arguments import Example
from growcells.cells.kinds import is_range
from growcells_workbooks.carrying.inline import write_out
from growcells_workbooks.carrying.native_names import carried
from growcells_workbooks.recalculation import recalculate
from libreoffice import RunningOffice, needed_office
from stand_ins.comparison import assert_shows
from stand_ins.excel import office_excel, windows_excel
from written_out import is_written_out, write_examples

CASES = [(function, example) for function in functions().values() for example in function.examples]
IDS = [f"{function.name}-{index}" for index, (function, _) in enumerate(CASES)]


Values = dict[int, object]
ran: Counter[str] = Counter()


def rows_of(value: object) -> tuple[int, int]:
    """Rows and columns of a result."""
    return (len(value), len(value[0])) if isinstance(value, (list, tuple)) else (1, 1)


@pytest.fixture(scope="module")
def called() -> Values:
    """Direct Python calls."""
    return {index: function(*example.arguments) for index, (function, example) in enumerate(CASES)}


@pytest.fixture(scope="module")
def in_file(tmp_path_factory: pytest.TempPathFactory) -> Values:
    """A file recalculated without a spreadsheet program."""
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    places = {}
    row = 1
    for index, (function, example) in enumerate(CASES):
        height, width = rows_of(example.value)
        formula = example.formula(function.name)
        area = f"A{row}:{get_column_letter(width)}{row + height - 1}"
        if (height, width) == (1, 1):
            sheet.cell(row, 1, formula)
        else:
            for line in sheet[area]:
                for cell in line:
                    cell.value = 0  # openpyxl writes no cells of an array but the first
            sheet[f"A{row}"] = ArrayFormula(area, formula)
        places[index] = area
        row += height
    folder = tmp_path_factory.mktemp("file")
    book.save(folder / "examples.xlsx")
    done = recalculate(folder / "examples.xlsx", folder / "computed.xlsx")
    assert not done.kept
    computed = load_workbook(folder / "computed.xlsx", data_only=True).active
    assert computed is not None
    values: Values = {}
    for index, area in places.items():
        cells = computed[area]
        if isinstance(cells, Cell):
            values[index] = shown(cells.value)
        else:
            rows = tuple(tuple(shown(cell.value) for cell in row) for row in cells)
            values[index] = rows[0][0] if rows_of(rows) == (1, 1) else rows
    return values


@pytest.fixture(scope="module")
def in_libreoffice(office: RunningOffice) -> Values:
    """A running LibreOffice Calc."""
    scalars = [index for index, (_, example) in enumerate(CASES) if not is_range(example.value)]
    formulas = [CASES[index][1].formula(CASES[index][0].name) for index in scalars]
    values: Values = dict(zip(scalars, office.evaluate(formulas), strict=True))
    for index, (function, example) in enumerate(CASES):
        if index not in values:
            values[index] = office.evaluate_array(example.formula(function.name), *rows_of(example.value))
    return values


@pytest.fixture(scope="module")
def in_excel_on_windows() -> Iterator[Values]:
    """xlwings' own Windows call path, with stand-ins for pywin32."""
    with windows_excel() as excel:
        yield {index: excel.call(function.name, *example.arguments) for index, (function, example) in enumerate(CASES)}


@pytest.fixture(scope="module")
def in_excel_elsewhere() -> Iterator[Values]:
    """xlwings' custom-function call path for Excel on Mac and web."""
    with office_excel() as excel:
        yield {index: excel.call(function.name, *example.arguments) for index, (function, example) in enumerate(CASES)}


@pytest.fixture(scope="module")
def carried_names(tmp_path_factory: pytest.TempPathFactory) -> Values:
    """A workbook that carries the functions, in an engine that knows LAMBDA and nothing of growcells."""
    model = carried_model(tmp_path_factory.mktemp("carried"))
    formulas = [CASES[index][1].formula(CASES[index][0].name) for index in CARRIED]
    return dict(zip(CARRIED, map(number_or_text, computed(model, formulas)), strict=True))


@pytest.fixture(scope="module")
def written_out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workbook with the examples, their arguments in cells, and its copy without growcells functions."""
    folder = tmp_path_factory.mktemp("inline")
    write_examples(folder / "examples.xlsx", [CASES[index] for index in WRITTEN_OUT])
    done = write_out(folder / "examples.xlsx", folder / "inline.xlsx")
    assert not done.kept
    return folder / "inline.xlsx"


@pytest.fixture(scope="module")
def written_out_in_ironcalc(written_out: Path) -> Values:
    """That copy in an engine that knows nothing of growcells."""
    model = ironcalc.load_from_xlsx(str(written_out), "en", "UTC", "en")
    model.evaluate()
    values = [model.get_cell_value(0, row, 1) for row in range(1, len(WRITTEN_OUT) + 1)]
    return dict(zip(WRITTEN_OUT, map(number_or_text, values), strict=True))


@pytest.fixture(scope="module")
def written_out_in_libreoffice(written_out: Path, tmp_path_factory: pytest.TempPathFactory) -> Values:
    """That copy in a LibreOffice without the extension."""
    office = RunningOffice(needed_office(), tmp_path_factory.mktemp("bare"))
    try:
        with office.open(written_out) as book:
            rows = book.read(f"A1:A{len(WRITTEN_OUT)}")
    finally:
        office.close()
    return dict(zip(WRITTEN_OUT, (row[0] for row in rows), strict=True))


def number_or_text(value: object) -> object:
    """A value of ironcalc, whole numbers as Python functions give them."""
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


CARRIED = [
    index
    for index, (function, example) in enumerate(CASES)
    if function.name in carried() and not of_liquid(function, example.arguments)
]
"""The examples of functions that a log carries, but for liquids by volume."""
WRITTEN_OUT = [index for index in CARRIED if is_written_out(*CASES[index])]
OF = {
    "carried_names": CARRIED,
    "written_out_in_ironcalc": WRITTEN_OUT,
    "written_out_in_libreoffice": WRITTEN_OUT,
}
"""Where not every function computes: the examples that do."""
LIVE = ("in_libreoffice", "written_out_in_libreoffice")


HOW = {
    "called": ("Python", "direct calls"),
    "in_file": ("files, with no spreadsheet program", "`growcells recalc` on a workbook, read back with openpyxl"),
    "in_libreoffice": ("LibreOffice Calc 25.2 or newer", "typed into a running LibreOffice with the extension"),
    "in_excel_on_windows": ("Excel on Windows", "xlwings' own call path, with stand-ins for Windows and Excel"),
    "in_excel_elsewhere": ("Excel on Mac and web", "xlwings' custom-function call path, with a stand-in for Excel"),
    "carried_names": ("Excel of today, functions in the log", "`growcells carry`, computed by ironcalc; no Excel ran"),
    "written_out_in_ironcalc": ("programs without LAMBDA", "`growcells carry --inline`, computed by ironcalc"),
    "written_out_in_libreoffice": ("the same", "in a LibreOffice without the extension"),
}
"""What each bridge is to a reader, and how its examples ran."""


def parameters() -> Iterator[ParameterSet]:
    """Each bridge with each of its examples."""
    for bridge in HOW:
        for index in OF.get(bridge, range(len(CASES))):
            marks = [pytest.mark.office] if bridge in LIVE else []
            yield pytest.param(bridge, index, CASES[index], id=f"{bridge}-{IDS[index]}", marks=marks)


@pytest.mark.parametrize(("bridge", "index", "case"), list(parameters()))
def test_example(bridge: str, index: int, case: tuple[CellFunction, Example], request: pytest.FixtureRequest) -> None:
    assert_shows(request.getfixturevalue(bridge)[index], case[1])
    ran[bridge] += 1
    request.node.user_properties.append(("bridge", ", ".join(HOW[bridge])))  # printed by conftest.py


README = Path(__file__).resolve().parent.parent / "README.md"


def what_works() -> str:
    """The table of what works where, as the README has it."""
    lines = ["| where | examples that gave their value | how they ran |", "| --- | --- | --- |"]
    for bridge, (where, how) in HOW.items():
        computed_there = {CASES[index][0].name for index in OF.get(bridge, range(len(CASES)))}
        lines.append(f"| {where} | {ran[bridge]} of {len(CASES)}, of {len(computed_there)} functions | {how} |")
    return "\n".join(lines)


def test_the_readme_tells_this_result() -> None:
    if any(ran[bridge] == 0 for bridge in HOW):
        pytest.skip("not every bridge ran here")
    print(f"\n{what_works()}\n{sum(ran.values())} examples × bridges")
    assert what_works() in README.read_text(encoding="utf-8"), "copy the table printed above into the README"
