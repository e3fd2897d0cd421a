"""Runs in LibreOffice's own Python and drives a running LibreOffice: one JSON request a line in, one answer out.

Used by libreoffice.py. Only the standard library and LibreOffice's ``uno`` are here.
"""

from __future__ import annotations

import json
import sys
import time
from typing import Any

import uno  # type: ignore[import-not-found]  # LibreOffice brings it

START_SECONDS = 90
FILTERS = {
    ".xlsx": "Calc MS Excel 2007 XML",
    ".xls": "MS Excel 97",
    ".ods": "calc8",
    ".ots": "calc8_template",
    ".fods": "OpenDocument Spreadsheet Flat XML",
    ".pdf": "calc_pdf_Export",
}
TEXT_RESULT = uno.getConstantByName("com.sun.star.sheet.FormulaResult.STRING")


def connect(pipe: str) -> Any:
    """The component context of the LibreOffice that listens on a pipe; waits until it does."""
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
    end = time.monotonic() + START_SECONDS
    while True:
        try:
            return resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
        except Exception:
            if time.monotonic() > end:
                raise
            time.sleep(0.1)


def properties(**values: object) -> tuple[Any, ...]:
    """Named values as LibreOffice takes them."""
    made = []
    for name, value in values.items():
        entry = uno.createUnoStruct("com.sun.star.beans.PropertyValue")
        entry.Name, entry.Value = name, value
        made.append(entry)
    return tuple(made)


class Worker:
    """The requests; each public method is one."""

    def __init__(self, pipe: str) -> None:
        self._context = connect(pipe)
        self._documents: dict[int, Any] = {}

    def _service(self, name: str) -> Any:
        return self._context.ServiceManager.createInstanceWithContext(name, self._context)

    def _cells(self, document: int, address: str) -> Any:
        """A range such as ``Tubs.A1:B3``; the first sheet where none is named."""
        sheets = self._documents[document].Sheets
        name, point, cells = address.rpartition(".")
        return (sheets.getByName(name) if point else sheets.getByIndex(0)).getCellRangeByName(cells)

    def open(self, url: str | None, visible: bool, how: dict[str, object]) -> int:
        """Open a workbook, or a new one without a url, with named values of a media descriptor; gives its number."""
        document = self._service("com.sun.star.frame.Desktop").loadComponentFromURL(
            url or "private:factory/scalc", "_blank", 0, properties(Hidden=not visible, **how)
        )
        if document is None:
            raise ValueError(f"LibreOffice does not open {url}")
        number = max(self._documents, default=0) + 1
        self._documents[number] = document
        return number

    def close(self, document: int) -> None:
        """Close a workbook without saving it."""
        self._documents.pop(document).close(True)

    def save(self, document: int, url: str) -> None:
        """Save a copy in the format that its ending names."""
        ending = url[url.rindex(".") :]
        self._documents[document].storeToURL(url, properties(FilterName=FILTERS[ending]))

    def write(self, document: int, address: str, rows: list[list[object]]) -> None:
        """Put values into a range; None empties the cell."""
        cells = self._cells(document, address)
        for down, row in enumerate(rows):
            for across, value in enumerate(row):
                cell = cells.getCellByPosition(across, down)
                if value is None:
                    cell.clearContents(23)  # VALUE, DATETIME, STRING and FORMULA of com.sun.star.sheet.CellFlags
                elif isinstance(value, str):
                    cell.String = value
                else:
                    cell.Value = float(value)  # type: ignore[arg-type]  # numbers only

    def _parser(self, document: int) -> Any:
        """LibreOffice's reader of formulas as people type them in Excel, with commas."""
        names, model = "com.sun.star.sheet.", self._documents[document]
        parser = model.createInstance(names + "FormulaParser")
        parser.FormulaConvention = uno.getConstantByName(names + "AddressConvention.XL_OOX")
        parser.OpCodeMap = model.createInstance(names + "FormulaOpCodeMapper").getAvailableMappings(
            uno.getConstantByName(names + "FormulaLanguage.OOXML"),
            uno.getConstantByName(names + "FormulaMapGroup.ALL_EXCEPT_SPECIAL"),
        )
        return parser

    def formulas(self, document: int, address: str, formulas: list[str]) -> None:
        """Put formulas into the cells of a column one below the other."""
        cells, parser = self._cells(document, address), self._parser(document)
        for down, formula in enumerate(formulas):
            cell = cells.getCellByPosition(0, down)
            cell.setTokens(parser.parseFormula(formula.removeprefix("="), cell.CellAddress))

    def array(self, document: int, address: str, formula: str) -> None:
        """Put one formula into a range as an array formula."""
        cells = self._cells(document, address)
        first = cells.getCellByPosition(0, 0).CellAddress
        cells.setArrayTokens(self._parser(document).parseFormula(formula.removeprefix("="), first))

    def fill_down(self, document: int, address: str) -> None:
        """Continue the first row of a range down to its last."""
        self._cells(document, address).fillAuto(0, 1)

    def read(self, document: int, address: str) -> list[list[object]]:
        """The values of a range: a number, a text, None for an empty cell, and ``{"error": shown}``."""
        cells = self._cells(document, address)
        rows, columns = cells.Rows.Count, cells.Columns.Count
        return [[self._value(cells.getCellByPosition(c, r)) for c in range(columns)] for r in range(rows)]

    @staticmethod
    def _value(cell: Any) -> object:
        kind = cell.Type.value
        if kind == "EMPTY":
            return None
        if kind == "FORMULA":
            if cell.Error:
                return {"error": cell.String, "number": cell.Error}
            kind = "TEXT" if cell.FormulaResultType2 == TEXT_RESULT else "VALUE"
        return cell.String if kind == "TEXT" else cell.Value

    def read_formulas(self, document: int, address: str) -> list[list[str]]:
        """The formulas of a range as LibreOffice's interface gives them."""
        return [list(row) for row in self._cells(document, address).getFormulaArray()]

    def recalculate(self, document: int) -> float:
        """Compute every formula anew; gives the seconds that it took."""
        start = time.monotonic()
        self._documents[document].calculateAll()
        return time.monotonic() - start

    def state(self, document: int) -> dict[str, object]:
        """Whether the workbook counts as changed, and whether there is something to undo."""
        model = self._documents[document]
        return {"changed": bool(model.isModified()), "undo": bool(model.getUndoManager().isUndoPossible())}

    def told(self, document: int) -> bool:
        """Whether the window of the workbook shows a bar of growcells."""
        controller = self._documents[document].CurrentController
        return controller is not None and bool(controller.hasInfobar("org.growcells"))

    def name_range(self, document: int, name: str, content: str) -> None:
        """Give a range a name."""
        model = self._documents[document]
        origin = model.Sheets.getByIndex(0).getCellByPosition(0, 0).CellAddress
        model.NamedRanges.addNewByName(name, content, origin, 0)

    def descriptions(self) -> list[dict[str, Any]]:
        """What the function wizard knows of each function of growcells."""
        known = self._service("com.sun.star.sheet.FunctionDescriptions")
        found = []
        for index in range(known.Count):
            entry = {value.Name: value.Value for value in known.getByIndex(index)}
            if entry["Name"].startswith("GROW_"):
                arguments = [
                    {"name": argument.Name, "help": argument.Description, "optional": argument.IsOptional}
                    for argument in entry["Arguments"] or ()
                ]
                found.append(
                    {"name": entry["Name"], "help": entry["Description"], "category": entry["Category"]}
                    | {"arguments": arguments}
                )
        return found

    def macros(self, source: str, calls: list[list[Any]]) -> list[object]:
        """What functions of a module of macros give; each call is a name and its arguments."""
        always_execute = 4  # com.sun.star.document.MacroExecMode.ALWAYS_EXECUTE_NO_WARN
        document = self._service("com.sun.star.frame.Desktop").loadComponentFromURL(
            "private:factory/scalc", "_blank", 0, properties(Hidden=True, MacroExecutionMode=always_execute)
        )
        try:
            libraries = document.BasicLibraries
            if not libraries.hasByName("Standard"):
                libraries.createLibrary("Standard")
            libraries.getByName("Standard").insertByName("Module1", source)
            given = []
            for name, *arguments in calls:
                url = f"vnd.sun.star.script:Standard.Module1.{name}?language=Basic&location=document"
                script = document.getScriptProvider().getScript(url)
                given.append(script.invoke(tuple(arguments), (), ())[0])
            return given
        finally:
            document.close(True)

    def finish(self) -> None:
        """End LibreOffice."""
        for number in list(self._documents):
            self.close(number)
        self._service("com.sun.star.frame.Desktop").terminate()


def main() -> None:
    """Answer requests until there are no more."""
    worker = Worker(sys.argv[1])
    print(json.dumps({"result": "ready"}), flush=True)
    for line in sys.stdin:
        request = json.loads(line)
        try:
            answer: dict[str, object] = {"result": getattr(worker, request["do"])(*request["with"])}
        except Exception as problem:
            answer = {"problem": f"{type(problem).__name__}: {problem}"}
        print(json.dumps(answer), flush=True)


if __name__ == "__main__":
    main()
