"""What happens when LibreOffice opens a workbook with GROW_ formulas. events.bas calls this.

LibreOffice shows the values that an xlsx file was saved with and computes nothing, even where the file asks for it; a
setting can change that, for every file. growcells leaves the setting alone and has the workbooks computed that hold
its functions. It also takes the reference to an add-in file off formulas that Excel saved while growcells was an add-in
there, ``[1]!GROW_DOSE(…)``, which LibreOffice does not understand.

Nothing may escape from here, and a workbook that cannot be computed opens as it always did.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterator
from typing import Any

OPENING_SERVICE = "growcells.Opening"
OPENING_IMPLEMENTATION = "growcells.OpeningJob"

ADDIN_REFERENCE = re.compile(r"\[\d+\]!(?=GROW_)", re.IGNORECASE)
"""A workbook number before a function of ours, as xlsx files write it (ISO/IEC 29500-1, 18.17.2.3)."""


def without_reference(formula: str) -> str:
    """A formula without references to an add-in file before our functions."""
    return ADDIN_REFERENCE.sub("", formula)


def opened(model: Any) -> None:
    """Compute a workbook that was just opened and holds functions of ours."""
    for sheet in sheets(model):
        for cell in list(formula_cells(sheet, "]!GROW_")):
            with contextlib.suppress(
                Exception
            ):  # an array on a protected sheet shows an error, with growcells or without
                mend(model, sheet, cell)
    model.calculateAll()
    # The grower changed nothing: there is nothing to undo, and no question on closing.
    model.getUndoManager().clear()
    for part in [*charts(model), model]:
        part.setModified(False)


def sheets(model: Any) -> Iterator[Any]:
    """The sheets of a workbook."""
    for index in range(model.Sheets.getCount()):
        yield model.Sheets.getByIndex(index)


def charts(model: Any) -> Iterator[Any]:
    """The charts of a workbook, each of which counts as changed when a value that it shows is computed."""
    for sheet in sheets(model):
        on_sheet = sheet.getCharts()
        for index in range(on_sheet.getCount()):
            yield on_sheet.getByIndex(index).getEmbeddedObject()


def formula_cells(sheet: Any, text: str) -> Iterator[Any]:
    """The cells whose formula holds a text."""
    search = sheet.createSearchDescriptor()
    search.setSearchString(text)
    found = sheet.findAll(search)
    for index in range(found.getCount() if found else 0):
        cells = found.getByIndex(index).queryContentCells(16)  # com.sun.star.sheet.CellFlags.FORMULA
        yield from cells.getCells()


def mend(model: Any, sheet: Any, cell: Any) -> None:
    """Take references to an add-in file out of the formula of a cell, or of the array that it belongs to."""
    if not cell.getArrayFormula():
        cell.setFormula(without_reference(cell.getFormula()))
        return
    area = sheet.createCursorByRange(cell)
    area.collapseToCurrentArray()
    # LibreOffice keeps an array formula that it does not understand as the file has it.
    formula = without_reference(area.getArrayFormula()).removeprefix("{=").removesuffix("}")
    area.setArrayTokens(file_parser(model).parseFormula(formula, area.getCellByPosition(0, 0).getCellAddress()))


def file_parser(model: Any) -> Any:
    """LibreOffice's reader of formulas as xlsx files write them."""
    from uno import getConstantByName  # type: ignore[import-not-found]  # LibreOffice brings it

    names = "com.sun.star.sheet."
    parser = model.createInstance(names + "FormulaParser")
    parser.FormulaConvention = getConstantByName(names + "AddressConvention.XL_OOX")
    parser.OpCodeMap = model.createInstance(names + "FormulaOpCodeMapper").getAvailableMappings(
        getConstantByName(names + "FormulaLanguage.OOXML"),
        getConstantByName(names + "FormulaMapGroup.ALL_EXCEPT_SPECIAL"),
    )
    return parser


def declare_opening() -> object:
    """The job for LibreOffice, to be registered in this module under ``g_ImplementationHelper``."""
    import uno  # LibreOffice brings these two
    import unohelper  # type: ignore[import-not-found]

    job: Any = uno.getClass("com.sun.star.task.XJob")
    service_info: Any = uno.getClass("com.sun.star.lang.XServiceInfo")

    class OpeningJob(unohelper.Base, job, service_info):  # type: ignore[misc]  # of unknown types
        """Called for each workbook that LibreOffice has opened and that holds functions of ours."""

        def __init__(self, _context: object) -> None:
            """Take the context that LibreOffice gives every component."""

        def execute(self, arguments: Any) -> None:
            try:
                opened({value.Name: value.Value for value in arguments}["Model"])
            except Exception:
                return

        def getImplementationName(self) -> str:
            return OPENING_IMPLEMENTATION

        def supportsService(self, name: str) -> bool:
            return name == OPENING_SERVICE

        def getSupportedServiceNames(self) -> tuple[str, ...]:
            return (OPENING_SERVICE,)

    helper = unohelper.ImplementationHelper()
    helper.addImplementation(OpeningJob, OPENING_IMPLEMENTATION, (OPENING_SERVICE,))
    return helper


if __name__ == "uno_component":  # the name under which LibreOffice's loader runs the file
    g_ImplementationHelper = declare_opening()
