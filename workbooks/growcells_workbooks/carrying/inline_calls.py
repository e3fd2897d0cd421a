"""A call written out as a native formula, for programs that know no LAMBDA.

Numbers are computed where they stand. A text, such as a product or a size with its unit, is looked up in a table of
the texts that the log has: growcells reads them when it writes the copy.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from growcells import CellError, CellFunction
from growcells.cells.arguments import Argument
from growcells.cells.errors import GrowError, PassedOn
from growcells.cells.kinds import COUNT, DATE, MONEY, STRENGTH, Choice, Quantity
from growcells.cells.liquids import ProductQuantity
from growcells.cells.ranges import Column
from growcells.terms.analyses import ANALYSIS
from growcells.terms.names import ION, NUTRIENT

from ..recalculation.lifted_calls import literal
from ..recalculation.tokens import Kind, Token
from .argument_formulas import record_of
from .compiled_bodies import COLUMN, Formula, NotNative, constant, record_formula
from .flat_lets import flattened
from .helpers_written_out import written_out
from .plain_formulas import all_of, arithmetic, is_plain, limits_of, number_in
from .read_texts import ReadTexts
from .stored_form import stored

LITERALS = (Kind.NUMBER, Kind.TEXT, Kind.TRUTH, Kind.ERROR)


def call_formula(function: CellFunction, given: Sequence[Sequence[Token]], texts: ReadTexts) -> str:
    """The native formula of a call with these arguments, each as its tokens. Raises NotNative."""
    if len(given) > len(function.arguments):
        raise NotNative("it has too many arguments")
    cells = dict(zip((argument.name for argument in function.arguments), given, strict=False))
    try:
        return _Call(function, {name: tokens for name, tokens in cells.items() if tokens}, texts).formula()
    except GrowError as problem:  # what is typed is wrong whatever the cells hold
        return problem.as_cell().code


class _Call:
    """One call: ``cells`` are the tokens of the arguments that are given."""

    def __init__(self, function: CellFunction, cells: dict[str, Sequence[Token]], texts: ReadTexts) -> None:
        self.function = function
        self.cells = cells
        self.texts = texts
        self.typed: dict[str, str] = {}
        """What stands in the call, by the words that stand for it in formulas."""
        self.checks: list[str] = []
        """Beginnings of conditions around the formula, each of which wants a bracket at its end."""
        self.bound: list[str] = []
        """Local names for arguments that are more than a reference, and their words."""

    def formula(self) -> str:
        values = {}
        for argument in self.function.values:
            if argument.name in self.cells:
                values[argument.name] = self.value(argument)
            elif argument.required:
                raise GrowError(f"{argument.name} is left out")
        formula = written_out(arithmetic(self.function, values, *self.result_unit()), self.texts)
        formula = f"{''.join(self.checks)}{formula}{')' * len(self.checks)}"
        if self.bound:
            formula = f"LET({','.join([*self.bound, formula])})"
        written = re.sub(r"TYPED_\w+?_END", lambda match: self.typed[match[0]], stored(formula))
        return f"({flattened(written)})"

    def cell(self, name: str) -> str:
        """What stands for an argument in the formula: its own text, or a local name where that is long."""
        tokens = self.cells[name]
        word = f"TYPED_{name}_END"
        self.typed[word] = "".join(token.scope + token.text for token in tokens).strip()
        if len(tokens) == 1 and "(" not in tokens[0].text:
            return word
        if f"{name}_cell" not in self.bound:
            self.bound += (f"{name}_cell", word)
        return f"{name}_cell"

    def known(self, name: str) -> object:
        """The number or text that is typed in the call, None where nothing is, or the tokens where cells tell."""
        tokens = self.cells.get(name, ())
        if len(tokens) == 1 and tokens[0].kind in LITERALS:
            return literal(tokens[0].text)
        if len(tokens) == 2 and tokens[0].text == "-" and tokens[1].kind is Kind.NUMBER:
            return literal("-" + tokens[1].text)
        return tuple(tokens) or None

    def unit(self, name: str, kind: Quantity) -> _Unit:
        """The unit of an argument or of the result."""
        typed = self.known(name) if name else None
        if isinstance(typed, tuple):
            cell = self.cell(name)
            return _Unit(None, cell, self.texts.slope(kind, cell), self.texts.offset(kind, cell))
        if typed is not None:
            if not isinstance(typed, str):
                raise GrowError(f"{name} is no unit")
            kind.check_unit(typed, name)
        if isinstance(kind, ProductQuantity) and kind.is_volume(typed):
            raise NotNative("it measures a liquid by its volume")
        return _Unit(typed, "", *map(constant, kind.factors(typed)))

    def result_unit(self) -> tuple[str, str]:
        """Slope and offset that turn the result into its unit."""
        result = self.function.result
        if not isinstance(result.kind, Quantity):
            return "1", "0"
        unit = self.unit(result.unit_name if result.unit_name in self.cells else result.follows, result.kind)
        return unit.slope, unit.offset

    def value(self, argument: Argument) -> object:
        """The value of an argument in the unit of calculations: a formula, or what is known beforehand."""
        kind, typed = argument.kind, self.known(argument.name)
        unit = _Unit(None, "", "", "")
        if argument.unit:
            assert isinstance(kind, Quantity)
            unit = self.unit(argument.unit, kind)
        if isinstance(typed, tuple):
            return self.value_of_cell(argument, unit)
        if isinstance(typed, CellError):
            raise PassedOn(argument.name, typed)
        if unit.cell:
            raise NotNative(f"{argument.name} is typed, and its unit is in a cell")
        read = argument.read(typed, unit.typed)
        if isinstance(typed, float) and is_plain(argument):
            return Formula(number_in(argument, constant(typed), unit.slope, unit.offset))
        if isinstance(read, float) and type(read) is not float:
            raise NotNative(f"{argument.name} measures a liquid by its volume, or a strength")
        return read

    def value_of_cell(self, argument: Argument, unit: _Unit) -> Formula:
        """The value of an argument that a cell gives."""
        kind, cell = argument.kind, self.cell(argument.name)
        if is_plain(argument) or kind in (COUNT, DATE):
            number = number_in(argument, cell, unit.slope, unit.offset)
            sure = [f"{cell}=INT({cell})"] if kind is COUNT else []
            sure += limits_of(argument, cell, number)
            # Of two strengths as text nobody could tell here whether they measure the same.
            look_up = (
                "#VALUE!"
                if kind is STRENGTH
                else self.texts.number(self.function, argument, unit.typed, unit.cell, cell)
            )
            return Formula(f"IF(ISNUMBER({cell}),IF({all_of(sure)},{number},#NUM!),{look_up})")
        if kind in (ANALYSIS, NUTRIENT, ION):
            return record_formula(cell, record_of(argument))
        if isinstance(kind, Choice):
            return Formula(f"LOWER(TRIM({cell}))")
        if isinstance(kind, Column) and kind.element is MONEY and argument.zero:
            # A text among amounts, a heading too, is nothing that a sum could pass over unseen.
            several = ":" in self.typed.get(cell, "")
            text = f"ROWS({cell})*COLUMNS({cell})-COUNTBLANK({cell})>COUNT({cell})" if several else f"ISTEXT({cell})"
            self.checks += [f"IF({text},#VALUE!,", f"IF(MIN({cell})<0,#NUM!,"]
            return record_formula(cell, COLUMN)
        raise NotNative(f"{argument.name} is in a cell")


class _Unit(NamedTuple):
    """A unit as it is typed or in a cell, and its slope and offset as formulas."""

    typed: str | None
    cell: str
    slope: str
    offset: str
