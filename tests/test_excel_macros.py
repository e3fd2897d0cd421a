"""The macros for Excel on Windows: their logic under LibreOffice's VBA mode, a stand-in in the place of Python.

No Excel ran. The one line that calls Python is exchanged; all else is the module as it is written.
"""

from __future__ import annotations

import re

import pytest

from growcells import functions
from growcells.cells.errors import ERROR_CODES
from growcells_addin.excel.macros import PYTHON_MODULE, macro_module
from libreoffice import RunningOffice
from stand_ins.excel import ComRange, WindowsExcel, com_argument

LIBREOFFICE_WORDS = ("GROW_BASE",)
"""Functions with an argument whose name is a word of LibreOffice's Basic, though none of VBA: base."""

STAND_IN = """Private Function CallPython(ByVal name As String, ByVal arguments As Variant) As Variant
    Dim table(1, 1) As Variant
    Dim flat(1) As Variant
    table(0, 0) = 1
    table(0, 1) = "#GROW! #DIV/0!"
    table(1, 0) = "two"
    table(1, 1) = "#GROW! #VALUE!"
    flat(0) = 3
    flat(1) = "#GROW! #NUM!"
    Select Case arguments(0)
        Case "number": CallPython = 68
        Case "text": CallPython = "OK"
        Case "table": CallPython = table
        Case "flat": CallPython = flat
        Case "fails": Err.Raise 1000, "Python", "Python is not there"
        Case Else: CallPython = arguments(0)
    End Select
End Function"""

CALLS = """
Function Dose(ByVal cell As Variant) As String
    Dose = Shown(GROW_DOSE(cell, 2))
End Function

Function DoseOfError(ByVal code As Long) As String
    DoseOfError = Shown(GROW_DOSE("number", CVErr(code)))
End Function

Function WhyOfError(ByVal cell As Variant) As String
    WhyOfError = Shown(GROW_WHY(cell, CVErr(2042), 2))
End Function

Private Function Shown(ByVal given As Variant) As String
    Dim row, column
    Select Case Dimensions(given)
        Case 2
            For row = LBound(given, 1) To UBound(given, 1)
                For column = LBound(given, 2) To UBound(given, 2)
                    Shown = Shown & One(given(row, column)) & ";"
                Next column
            Next row
        Case 1
            For row = LBound(given) To UBound(given)
                Shown = Shown & One(given(row)) & ";"
            Next row
        Case Else
            Shown = One(given)
    End Select
End Function

Private Function One(ByVal given As Variant) As String
    If IsError(given) Then One = "error " & CStr(CLng(given)) Else One = CStr(given)
End Function
"""

NUMBERS = {
    "#NULL!": 2000,
    "#DIV/0!": 2007,
    "#VALUE!": 2015,
    "#REF!": 2023,
    "#NAME?": 2029,
    "#NUM!": 2036,
    "#N/A": 2042,
}
"""Numbers of error values in VBA: Microsoft, "XlCVError enumeration"."""

SHOWN = (
    ("Dose", "number", "68"),
    ("Dose", "text", "OK"),
    *(("Dose", f"#GROW! {code}", f"error {number}") for code, number in NUMBERS.items()),
    ("Dose", "#GROW! a sentence", "error 2015"),
    ("Dose", "table", "1;error 2007;two;error 2015;"),
    ("Dose", "flat", "3;error 2036;"),
    ("Dose", "fails", "error 2015"),
    *(("DoseOfError", number, f"error {number}") for number in (*NUMBERS.values(), 2045)),
    ("WhyOfError", "text", "OK"),
    ("WhyOfError", "fails", "Python is not there"),
)
"""A macro, what it is given, what the cell shows."""


@pytest.fixture(scope="module")
def shown(office: RunningOffice) -> list[object]:
    module = macro_module()
    for name in LIBREOFFICE_WORDS:
        module = re.sub(rf"Function {name}\(.*?End Function\n", "", module, flags=re.DOTALL)
    module = re.sub(r"Private Function CallPython.*?End Function", STAND_IN, module, count=1, flags=re.DOTALL)
    source = module.replace('Attribute VB_Name = "xlwings_udfs"', "Option VBASupport 1") + CALLS
    given: list[object] = office.ask("macros", source, [[macro, cell] for macro, cell, _ in SHOWN])
    return given


@pytest.mark.office
def test_errors_are_errors(shown: list[object]) -> None:
    assert shown == [expected for *_, expected in SHOWN]


def test_every_function_has_a_macro_that_the_editor_takes() -> None:
    module = macro_module()
    assert module.isascii()
    assert max(map(len, module.splitlines())) < 1023  # characters of a line: Microsoft, "Line too long"
    for name in functions():
        assert module.count(f"\nFunction {name}(") == 1


def test_python_gives_the_macros_codes(excel_on_windows: WindowsExcel) -> None:
    def called(name: str, *cells: object) -> object:
        python = excel_on_windows.com_server.XLPython()
        return python.CallUDF(PYTHON_MODULE, name, tuple(map(com_argument, cells)), None, ComRange(None))

    assert called("GROW_DOSE", 34, 2) == pytest.approx(68)
    assert called("GROW_DOSE", 34, "2 in") == "#GROW! #VALUE!"
    assert called("GROW_VOLUME_PIPE", 4, 40, 5) == "#GROW! #NUM!"
    assert set(NUMBERS) <= set(ERROR_CODES)
