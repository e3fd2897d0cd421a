"""Names that formulas of calculations call, written out where they are called: the text of each, its locals renamed."""

from __future__ import annotations

import itertools
import re

from growcells.cells.units import conversion

from .compiled_bodies import NotNative, constant
from .flat_lets import arguments_of
from .nutrient_formulas import COLUMNS
from .read_texts import ReadTexts
from .reading_formulas import NAMES

_CALL = re.compile(r"GROWCELLS\.([A-Z\d_]+)\(|INDEX\(GROWCELLS\.(NUTRIENTS|IONS),")
_LOCAL = re.compile(r'("(?:[^"]|"")*")|(?<![\w.])([a-z]\w*)')


def written_out(formula: str, texts: ReadTexts) -> str:
    """A formula without calls of names. Raises NotNative where that takes a LAMBDA."""
    for number in itertools.count():
        calls = [call for call in _CALL.finditer(formula) if call[1] != "NUTRIENT"]
        if not calls:
            return formula
        call = calls[-1]  # the innermost of calls in one another
        *arguments, end = arguments_of(formula, call.end())
        formula = (
            formula[: call.start()] + _body(call, [str(one) for one in arguments], number, texts) + formula[int(end) :]
        )
    raise AssertionError("counting never ends")


def _body(call: re.Match[str], arguments: list[str], number: int, texts: ReadTexts) -> str:
    if call[2]:
        return texts.attribute(call[2], COLUMNS[call[2]][int(arguments[1]) - 1], arguments[0])
    if call[1] == "PERCENT_OF":
        return texts.percent(*arguments)
    if call[1] == "NUMBERS":
        return f"COUNT({arguments[0]})"
    if call[1] == "CONVERTED":
        slope, offset = conversion(*(unit.strip('"') for unit in arguments[1:]))
        return f"({arguments[0]}*{constant(slope)}+{constant(offset)})"
    text = re.sub(r"\s+", "", NAMES[f"GROWCELLS.{call[1]}"])
    if text.count("LAMBDA(") > 1 or "REDUCE(" in text or f"GROWCELLS.{call[1]}(" in text:
        raise NotNative("it searches for its value step by step, which takes a LAMBDA")
    *parameters, _ = arguments_of(text, len("LAMBDA("))
    renamed = _LOCAL.sub(lambda local: local[1] or f"{local[2]}_{number}_", str(parameters.pop()))
    lets = [part for name, value in zip(parameters, arguments, strict=True) for part in (f"{name}_{number}_", value)]
    return f"LET({','.join([*lets, renamed])})"
