"""What xlwings makes of the declarations: the macros for Excel on Windows, the list of functions for other Excels."""

from __future__ import annotations

import inspect
import io
import re
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from growcells import functions
from growcells_addin.excel.declare import DESCRIPTION_LIMIT, argument_name
from stand_ins.excel import MODULE, OfficeExcel, WindowsExcel, windows_excel

FUNCTIONS = functions()

# Microsoft, "Excel specifications and limits": the last cell is XFD1048576.
LAST_COLUMN, LAST_ROW = 16_384, 1_048_576

VBA_LINE_LIMIT = 1023
"""Characters of a line that VBA's editor reads (Microsoft, "Line too long")."""

VBA_FUNCTION = re.compile(r"^Function (\w+)\((.*)\)$", re.MULTILINE)


def is_cell_reference(name: str) -> bool:
    """Whether Excel reads the name as a cell, a row or a column, in either way of writing them."""
    if re.fullmatch(r"(?:R\d*)?(?:C\d*)?", name, re.IGNORECASE):
        return True
    match = re.fullmatch(r"([A-Z]{1,3})(\d{1,7})", name, re.IGNORECASE)
    if not match:
        return False
    column = 0
    for letter in match[1].upper():
        column = column * 26 + ord(letter) - ord("A") + 1
    return column <= LAST_COLUMN and 1 <= int(match[2]) <= LAST_ROW


class Workbook:
    """A workbook as import_udfs asks for it: keeps the module imported and the texts set."""

    Name = "log.xlsm"

    def __init__(self) -> None:
        self.module = ""
        self.texts: dict[str, dict[str, Any]] = {}
        self.Worksheets = ()
        self.Application = SimpleNamespace(Version="16.0", MacroOptions=self._keep_texts)
        self.VBProject = SimpleNamespace(VBComponents=self)

    def __call__(self, name: str) -> str:
        return name

    def Remove(self, component: str) -> None:
        assert component == "xlwings_udfs"

    def Import(self, file: str) -> None:
        self.module = Path(file).read_text(encoding="ascii")

    def _keep_texts(self, macro: str, **texts: Any) -> None:
        self.texts[macro.removeprefix("'log.xlsm'!")] = texts


@pytest.fixture
def imported(excel_on_windows: WindowsExcel) -> Workbook:
    """A workbook after a click on Import Functions."""
    workbook = Workbook()
    excel_on_windows.udfs.import_udfs(MODULE, workbook)
    return workbook


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("A1", True),
        ("XFD1048576", True),
        ("XFE1", False),
        ("XFD1048577", False),
        ("GRO12", True),
        ("GROW12", False),
        ("R1C1", True),
        ("rc", True),
        ("C", True),
        ("R1048576", True),
        ("GROW_DOSE", False),
    ],
)
def test_cell_references_are_recognised(name: str, expected: bool) -> None:
    assert is_cell_reference(name) is expected


@pytest.mark.parametrize("name", FUNCTIONS)
def test_no_cell_reference_can_shadow_a_name(name: str) -> None:
    assert not is_cell_reference(name)
    assert re.fullmatch(r"GROW_[A-Z0-9_]+", name)


@pytest.mark.parametrize(
    ("name", "expected"),
    [("from", "from_"), ("to", "to_"), ("scale", "scale_"), ("Date", "Date_"), ("caller", "caller_"), ("rate", "rate")],
)
def test_reserved_words_get_an_underscore(name: str, expected: str) -> None:
    assert argument_name(name) == expected


@pytest.fixture(scope="module")
def signatures() -> dict[str, inspect.Signature]:
    """The signature of each function as Excel on Windows has it."""
    with windows_excel() as excel:
        return {name: inspect.signature(getattr(excel.functions, name)) for name in FUNCTIONS}


@pytest.mark.parametrize("function", FUNCTIONS.values(), ids=lambda function: function.name)
def test_python_signature(signatures: dict[str, inspect.Signature], function: Any) -> None:
    parameters = signatures[function.name].parameters.values()
    assert [parameter.name for parameter in parameters] == [argument_name(a.name) for a in function.arguments]
    for parameter, argument in zip(parameters, function.arguments, strict=True):
        if argument.repeated:
            assert parameter.kind is inspect.Parameter.VAR_POSITIONAL
        else:
            assert (parameter.default is inspect.Parameter.empty) == argument.required


def test_import_functions_writes_a_macro_for_every_function(imported: Workbook) -> None:
    macros = dict(VBA_FUNCTION.findall(imported.module))
    assert set(macros) == set(FUNCTIONS)
    for name, parameters in macros.items():
        expected = []
        for argument in FUNCTIONS[name].arguments:
            shown = argument_name(argument.name)
            if argument.repeated:
                expected.append(f"ParamArray {shown}()")
            else:
                expected.append(shown if argument.required else f"Optional {shown}")
        assert parameters == ", ".join(expected)
        assert f'{name} = XLPy.CallUDF("{MODULE}", "{name}", ' in imported.module
    assert imported.module.count("\nEnd Function") == len(FUNCTIONS)
    assert max(map(len, imported.module.splitlines())) <= VBA_LINE_LIMIT


def test_import_functions_sets_category_and_texts(imported: Workbook) -> None:
    assert set(imported.texts) == set(FUNCTIONS)
    for name, function in FUNCTIONS.items():
        texts = imported.texts[name]
        assert texts["Category"] == function.family
        assert texts["Description"] == function.help
        assert (texts["ArgumentDescriptions"] or []) == [argument.help for argument in function.arguments]


def test_no_text_is_longer_than_excel_takes() -> None:
    for function in FUNCTIONS.values():
        for text in (function.help, *(argument.help for argument in function.arguments)):
            assert 0 < len(text) <= DESCRIPTION_LIMIT, f"{function.name}: {text}"


def test_wrappers_are_the_same_for_an_addin(excel_on_windows: WindowsExcel) -> None:
    text = io.StringIO()
    excel_on_windows.udfs.generate_vba_wrapper(
        MODULE, excel_on_windows.functions, text, SimpleNamespace(Name="growcells.xlam")
    )
    assert "ActiveWorkbook" in text.getvalue() and "ThisWorkbook" not in text.getvalue()


def test_the_list_of_functions_for_other_excels(excel_elsewhere: OfficeExcel) -> None:
    meta = excel_elsewhere.meta()
    assert meta["allowErrorForDataTypeAny"] is True  # else Excel would not call a function with an error cell
    listed = {entry["name"]: entry for entry in meta["functions"]}
    assert set(listed) == set(FUNCTIONS)
    for name, function in FUNCTIONS.items():
        entry = listed[name]
        assert entry["description"] == function.help
        assert entry["result"]["dimensionality"] == "matrix"
        for parameter, argument in zip(entry["parameters"], function.arguments, strict=True):
            assert parameter["name"] == argument_name(argument.name)
            assert parameter["description"] == argument.help
            assert parameter["dimensionality"] == "matrix"
            assert parameter.get("repeating", False) == argument.repeated
            assert parameter.get("optional", False) == (not argument.required and not argument.repeated)


def test_one_line_is_a_whole_main_module(excel_elsewhere: OfficeExcel) -> None:
    main: dict[str, Any] = {}
    exec(f"from {MODULE} import *", main)
    assert set(main) - {"__builtins__"} == set(FUNCTIONS)
    entries = excel_elsewhere.server.custom_functions_meta(SimpleNamespace(**main))["functions"]
    assert {entry["name"] for entry in entries} == set(FUNCTIONS)


def test_without_excel_the_declared_functions_are_plain_functions() -> None:
    from growcells_addin.excel import functions as plain

    assert plain.GROW_DOSE(34, 2) == pytest.approx(68)  # type: ignore[attr-defined]  # made from the registry
