"""The macros by which Excel on Windows calls the functions: an error that Python gives is an error in the cell.

xlwings can hand a cell no error value, only a text, which SUM passes over; a macro can.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from growcells import CellFunction, functions
from growcells.families.help import EXPLAINING

from .declare import argument_name

PYTHON_MODULE = "growcells_addin.excel.functions_for_macros"
"""The module whose functions the macros call."""

TELLING = (EXPLAINING, "GROW_VERSION")
"""Functions that give a sentence, also on an error and on what keeps Python from answering."""


def macro_module() -> str:
    """The VBA module as Excel's macro editor imports it, under the name that xlwings gives its own."""
    helpers = Path(__file__).with_name("macro_helpers.txt").read_text(encoding="utf-8")
    head = 'Attribute VB_Name = "xlwings_udfs"\nOption Explicit\n'
    module = f'Private Const PYTHON_MODULE As String = "{PYTHON_MODULE}"\n'
    return "\n".join([head, module + helpers, *map(macro, functions().values())])


def macro(function: CellFunction) -> str:
    """The macro of a cell function."""
    named = [argument_name(argument.name) for argument in function.arguments if not argument.repeated]
    arguments = f"Array({', '.join(named)})"
    others = next((argument_name(argument.name) for argument in function.arguments if argument.repeated), None)
    lines = [f"Function {function.name}({', '.join(_parameters(function))}) As Variant"]
    if others:
        lines += ["    Dim others As Variant", f"    others = {others}"]
        arguments = f"Joined({arguments}, others)"
    passes_errors = "False" if function.name in TELLING else "True"
    lines += [f'    {function.name} = FromPython("{function.name}", {arguments}, {passes_errors})', "End Function", ""]
    return "\n".join(lines)


def _parameters(function: CellFunction) -> Iterator[str]:
    for argument in function.arguments:
        name = argument_name(argument.name)
        if argument.repeated:
            yield f"ParamArray {name}() As Variant"
        else:
            yield name if argument.required else f"Optional {name}"
