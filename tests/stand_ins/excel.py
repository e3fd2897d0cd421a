"""Two stand-ins for Excel: one calls functions as Excel on Windows does, one as Excel on Mac and web does.

Both go through xlwings' own code for such a call; only Excel's side of it is imitated.
"""

from __future__ import annotations

import asyncio
import atexit
import datetime
import importlib
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from types import ModuleType, SimpleNamespace
from typing import Any
from unittest import mock

from growcells.cells.errors import CellError

from . import pywin32

MODULE = "growcells_addin.excel.functions"

MISSING = -2147352572
"""What an optional argument that was left out is in COM (DISP_E_PARAMNOTFOUND)."""

COM_ERRORS = {
    "#NULL!": -2146826288,
    "#DIV/0!": -2146826281,
    "#VALUE!": -2146826273,
    "#REF!": -2146826265,
    "#NAME?": -2146826259,
    "#NUM!": -2146826252,
    "#N/A": -2146826246,
}
"""The numbers that pywin32 hands over for error cells."""

OFFICE_ERRORS = {
    "#NULL!": "Null",
    "#DIV/0!": "Div0",
    "#VALUE!": "Value",
    "#REF!": "Ref",
    "#NAME?": "Name",
    "#NUM!": "Num",
    "#N/A": "NotAvailable",
}
"""The names of error values in Office.js (Microsoft, Excel.ErrorCellValueType)."""

RANGE_IID = "{00020846-0000-0000-C000-000000000046}"


def is_range(value: object) -> bool:
    return isinstance(value, (list, tuple))


@contextmanager
def fresh_modules(*packages: str) -> Iterator[None]:
    """Import the packages anew while this lasts, and have the old ones back afterwards."""

    def belongs(name: str) -> bool:
        return any(name == package or name.startswith(package + ".") for package in packages)

    kept = {name: sys.modules.pop(name) for name in list(sys.modules) if belongs(name)}
    try:
        yield
    finally:
        for name in [name for name in sys.modules if belongs(name)]:
            del sys.modules[name]
        sys.modules.update(kept)
        for name, module in kept.items():
            parent, _, attribute = name.rpartition(".")
            if parent in sys.modules:
                setattr(sys.modules[parent], attribute, module)


# ---------------------------------------------------------------- Excel on Windows


class ComRange:
    """A range of cells as COM shows it to xlwings."""

    def __init__(self, value: object) -> None:
        attributes = SimpleNamespace(iid=pywin32.Iid(RANGE_IID))
        info = SimpleNamespace(GetTypeAttr=lambda: attributes)
        self._oleobj_ = SimpleNamespace(GetTypeInfo=lambda: info)
        self.Value = value
        height, width = (len(value), len(value[0])) if isinstance(value, tuple) else (1, 1)
        application = SimpleNamespace(Hwnd=1, Version="16.0")
        book = SimpleNamespace(Application=application, Name="log.xlsm")
        self.Worksheet = SimpleNamespace(Parent=book, Name="Beds")
        self.Row = self.Column = 1
        self.Rows = SimpleNamespace(Count=height)
        self.Columns = SimpleNamespace(Count=width)


def com_cell(cell: object) -> object:
    """A cell's value as ``Range.Value`` gives it: numbers are doubles, errors are integers."""
    if isinstance(cell, CellError):
        return COM_ERRORS[cell.code]
    if isinstance(cell, bool):
        return cell
    if isinstance(cell, int):
        return float(cell)
    if isinstance(cell, datetime.datetime):
        return cell.replace(tzinfo=datetime.UTC)
    if isinstance(cell, datetime.date):
        return datetime.datetime(cell.year, cell.month, cell.day, tzinfo=datetime.UTC)
    return cell


def com_argument(value: object) -> object:
    """An argument as VBA passes it on: cells as a Range, an argument left out as "missing"."""
    if value is MISSING:
        return MISSING
    if not is_range(value):
        return ComRange(com_cell(value))
    rows = tuple(tuple(com_cell(cell) for cell in row) for row in value)  # type: ignore[attr-defined]
    return ComRange(rows[0][0] if len(rows) == 1 and len(rows[0]) == 1 else rows)


@dataclass
class WindowsExcel:
    """xlwings as it runs under Excel on Windows, over stand-ins for pywin32."""

    udfs: ModuleType
    com_server: ModuleType
    functions: ModuleType

    def call_raw(self, name: str, *arguments: object) -> Any:
        """What Excel gets for arguments that are COM values already."""
        return self.com_server.XLPython().CallUDF(MODULE, name, arguments, None, ComRange(None))

    def call(self, name: str, *cells: object) -> Any:
        """What Excel gets from the function for these cells, through the entry that its macros call."""
        return self.call_raw(name, *(com_argument(cell) for cell in cells))


@contextmanager
def windows_excel() -> Iterator[WindowsExcel]:
    with fresh_modules("xlwings", "growcells_addin.excel"), pywin32.loadable():
        xlwings = importlib.import_module("xlwings")
        windows = importlib.import_module("xlwings._xlwindows")
        atexit.unregister(windows.cleanup)  # it looks for Excel processes
        udfs = importlib.import_module("xlwings.udfs")
        # what xlwings/__init__.py does on Windows:
        xlwings.engines.add(xlwings.Engine(impl=windows.engine))
        vars(xlwings).update(func=udfs.xlfunc, arg=udfs.xlarg, ret=udfs.xlret, has_pywin32=True)
        com_server = importlib.import_module("xlwings.com_server")
        try:
            yield WindowsExcel(udfs, com_server, importlib.import_module(MODULE))
        finally:
            com_server.loop.close()
            udfs.com_executor.shutdown()


# ---------------------------------------------------------------- Excel on Mac, on the web


def office_cell(cell: object) -> object:
    """A cell's value as Office.js gives it to a custom function: a date is its serial number."""
    if isinstance(cell, CellError):
        return {"type": "Error", "errorType": OFFICE_ERRORS[cell.code], "basicValue": cell.code, "basicType": "Error"}
    if isinstance(cell, datetime.date):
        return serial_number(cell)
    return "" if cell is None else cell


def serial_number(day: datetime.date) -> float:
    """The number that Excel keeps for a day (1900 date system, after February 1900)."""
    moment = day if isinstance(day, datetime.datetime) else datetime.datetime(day.year, day.month, day.day)
    return (moment - datetime.datetime(1899, 12, 30)) / datetime.timedelta(days=1)


def office_argument(value: object) -> object:
    """An argument as Office.js passes it: always a matrix, None for one that was left out."""
    if value is MISSING:
        return None
    if not is_range(value):
        return [[office_cell(value)]]
    return [[office_cell(cell) for cell in row] for row in value]  # type: ignore[attr-defined]


def shown_by_office(matrix: Any) -> Any:
    """What a person sees for the matrix of an answer: one value, or rows; an error value is a CellError."""
    rows = tuple(tuple(_from_office(cell) for cell in row) for row in matrix)
    return rows[0][0] if len(rows) == 1 and len(rows[0]) == 1 else rows


def _from_office(cell: object) -> object:
    if isinstance(cell, dict) and cell.get("type") == "Error":
        return CellError({name: code for code, name in OFFICE_ERRORS.items()}[cell["errorType"]])
    return cell


@dataclass
class OfficeExcel:
    """xlwings as it runs for custom functions: xlwings Lite in Excel on Mac, on the web and on Windows."""

    server: ModuleType
    version: str
    functions: ModuleType

    def meta(self) -> dict[str, Any]:
        """What xlwings tells Excel about the functions."""
        return self.server.custom_functions_meta(self.functions)  # type: ignore[no-any-return]

    def request(self, name: str, *arguments: object, runtime: str = "1.4") -> dict[str, Any]:
        """What Excel sends for a call with arguments that are Office.js values already."""
        declared = getattr(self.functions, name).__xlfunc__["args"]
        fixed = sum(not argument["vararg"] for argument in declared)
        args = [*arguments[:fixed], *([None] * (fixed - len(arguments)))]
        if len(declared) > fixed:  # Office.js gives the repeated arguments as one list
            args.append(list(arguments[fixed:]))
        return {
            "func_name": name,
            "args": args,
            "caller_address": "Beds!A1",
            "content_language": "en-US",
            "culture_info_name": "en-US",
            "date_format": "m/d/yyyy",
            "version": self.version,
            "client": "Office.js",
            "runtime": runtime,
        }

    def call_raw(self, name: str, *arguments: object, runtime: str = "1.4") -> Any:
        """The matrix that Excel gets back."""
        return asyncio.run(
            self.server.custom_functions_call(self.request(name, *arguments, runtime=runtime), self.functions)
        )

    def call(self, name: str, *cells: object, runtime: str = "1.4") -> Any:
        """What the cells show: a value, or rows where the result spills."""
        return shown_by_office(self.call_raw(name, *map(office_argument, cells), runtime=runtime))


@contextmanager
def office_excel() -> Iterator[OfficeExcel]:
    environment = {"XLWINGS_ON_SERVER": "true", "XLWINGS_LICENSE_KEY": "noncommercial"}
    with fresh_modules("xlwings", "growcells_addin.excel"), mock.patch.dict(os.environ, environment):
        xlwings = importlib.import_module("xlwings")
        server = importlib.import_module("xlwings.server")
        yield OfficeExcel(server, xlwings.__version__, importlib.import_module(MODULE))
