"""One cell function of the registry, declared to xlwings with its texts, arguments and conversions."""

from __future__ import annotations

import inspect
import keyword
import textwrap
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import xlwings
from xlwings.conversion import Converter

from growcells import CellFunction
from growcells.cells.arguments import Argument

from .values import from_excel, to_excel

DESCRIPTION_LIMIT = 255
"""Characters of a description that Excel's function wizard takes (Application.MacroOptions)."""

REAL_ERRORS_SINCE = 1.4
"""The custom functions runtime from which Excel shows an error that a function returns (as xlwings has it)."""

# Names that the macros xlwings writes use themselves, and "caller", which it fills with the calling cell.
_WRAPPER_WORDS = frozenset({"app", "argsarray", "caller", "k", "thisworkbook", "xlpy"})


class Result(Converter):
    """Turns the result of a cell function into what Excel shows."""

    @staticmethod
    def write_value(value: object, options: dict[str, Any]) -> object:
        """The value for the cell; ``runtime`` is there only where Excel calls a custom function."""
        return to_excel(value, real_errors=float(options.get("runtime", 0)) >= REAL_ERRORS_SINCE)


class CodedResult(Converter):
    """Turns the result of a cell function into what the macros of growcells make errors of Excel from."""

    @staticmethod
    def write_value(value: object, options: dict[str, Any]) -> object:
        """The value for the macro, an error as its code behind the mark."""
        return to_excel(value, real_errors=False, coded=True)


def declare(function: CellFunction, result: type[Converter] = Result) -> Callable[..., object]:
    """A Python function that xlwings offers in the cells under the name of the cell function."""

    def cell_function(*cells):  # type: ignore[no-untyped-def]  # xlwings would read annotations as converters
        return function.evaluate([from_excel(cell) for cell in cells])

    signature = _signature(function)
    cell_function.__name__ = cell_function.__qualname__ = function.name
    cell_function.__doc__ = _shorten(function.help)
    cell_function.__signature__ = signature  # type: ignore[attr-defined]  # read by inspect.signature
    declared: Callable[..., object] = xlwings.ret(convert=result)(cell_function)
    for argument, parameter in zip(function.arguments, signature.parameters, strict=True):
        declared = xlwings.arg(parameter, ndim=2, err_to_str=True, doc=_shorten(argument.help))(declared)
    return xlwings.func(category=function.family)(declared)


def _signature(function: CellFunction) -> inspect.Signature:
    return inspect.Signature([_parameter(argument) for argument in function.arguments])


def _parameter(argument: Argument) -> inspect.Parameter:
    name = argument_name(argument.name)
    if argument.repeated:
        return inspect.Parameter(name, inspect.Parameter.VAR_POSITIONAL)
    default = inspect.Parameter.empty if argument.required else None
    return inspect.Parameter(name, inspect.Parameter.POSITIONAL_OR_KEYWORD, default=default)


def argument_name(name: str) -> str:
    """The name as Python and a VBA macro can have it: a reserved word gets an underscore at its end."""
    return f"{name}_" if keyword.iskeyword(name) or name.lower() in _reserved_words() else name


@cache
def _reserved_words() -> frozenset[str]:
    lines = Path(__file__).with_name("vba_words.txt").read_text(encoding="utf-8").splitlines()
    words = " ".join(line for line in lines if not line.startswith("#")).lower().split()
    return _WRAPPER_WORDS.union(words)


def _shorten(text: str) -> str:
    return textwrap.shorten(text, DESCRIPTION_LIMIT, placeholder="…")
