"""Cells that choose what a function does: what is typed in them, put into the formula in their place.

A number format, a mode or a basis in a cell that holds no formula is then read as if it stood in the formula itself.
So is the formula that FORMULATEXT shows, which is typed as well.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import NamedTuple

from ..gate import FileProblem
from .cells import ErrorValue, Value, read_place
from .copies import Copies
from .native import MODES
from .readers import CellPlace
from .references import MOVING, unquoted
from .sheet_edits import stored_value, written
from .sheet_formulas import Place, Sheet, WrittenFormula
from .sheet_xml import SheetCell, scan_sheet
from .tokens import Kind, NotComputed, Token, tokens_of

_CHOOSING: dict[str, tuple[int, ...]] = {**MODES, "TEXT": (1,), "FORMULATEXT": (0,)}
_MAY_CHOOSE = re.compile(rf"(?<![\w.])(?:_xlfn\.)?(?:{'|'.join(map(re.escape, _CHOOSING))})\(", re.IGNORECASE)
_PREFIX = re.compile(r"_xlfn\.(?:_xlws\.)?(?=[A-Z][A-Z0-9.]*\()", re.IGNORECASE)
_SHOWN_OTHERWISE = re.compile(r"_xl|[\[\]]|\b(?:SINGLE|ANCHORARRAY)\(", re.IGNORECASE)
"""What a program shows in another way than the file holds it: variables, ``@`` and ``#``, tables, other workbooks."""


class _Choice(NamedTuple):
    """A cell among a formula's arguments that chooses what a function does, and the number of its token."""

    place: CellPlace
    function: str
    token: int


def with_constants(
    formulas: Mapping[CellPlace, WrittenFormula],
    sheets: Mapping[str, Sheet],
    shared_texts: Callable[[], Sequence[str]],
) -> dict[CellPlace, str]:
    """Those of the formulas with cells that choose, each with what is typed in these in their place."""
    names = {name.casefold(): name for name in sheets}
    choices: dict[CellPlace, list[_Choice]] = {}
    wanted: dict[str, set[Place]] = {}
    chooses: dict[Copies, bool] = {}
    for place, formula in formulas.items():
        copies = formula.copies
        if copies not in chooses:
            chooses[copies] = _MAY_CHOOSE.search(copies.first) is not None and any(
                _choices(MOVING.sub("A1", copies.first), place[0], names)
            )
        if not chooses[copies]:
            continue
        found = [choice for choice in _choices(formula.text, place[0], names) if choice.place[0] in sheets]
        if found:
            choices[place] = found
        for choice in found:
            wanted.setdefault(choice.place[0], set()).add(choice.place[1:])
    if not wanted:
        return {}
    shared = shared_texts()
    typed = {
        (name, *cell.place): _literal(cell, shared)
        for name, places in wanted.items()
        for cell in scan_sheet(sheets[name].data, places)
        if cell.place in places
    }
    put: dict[CellPlace, str] = {}
    for place, found in choices.items():
        pieces = [token.scope + token.text for token in tokens_of(formulas[place].text)]
        for choice in found:
            if choice.function == "FORMULATEXT":
                text = _shown(formulas.get(choice.place))
            elif choice.place in formulas:
                text = None
            else:
                text = typed.get(choice.place, "")
                if text == "":  # a blank cell
                    text = '""' if choice.function == "TEXT" else "0"
            if text is not None:
                pieces[choice.token] = text
        put[place] = "".join(pieces)
    return put


def _choices(formula: str, sheet: str, names: Mapping[str, str]) -> Iterator[_Choice]:
    """The cells that choose what functions of a formula in this sheet do."""
    try:
        tokens = tokens_of(formula)
    except NotComputed:
        return
    calls: list[str] = []
    arguments: list[int] = []
    for index, token in enumerate(tokens):
        if token.kind in (Kind.CALL, Kind.OPEN, Kind.ARRAY):
            calls.append(_PREFIX.sub("", token.text)[:-1].upper() if token.kind is Kind.CALL else "")
            arguments.append(0)
        elif token.kind in (Kind.CLOSE, Kind.ARRAY_END) and calls:
            calls.pop()
            arguments.pop()
        elif token.kind is Kind.SEPARATOR and calls:
            arguments[-1] += 1
        elif token.kind is Kind.AREA and calls and arguments[-1] in _CHOOSING.get(calls[-1], ()):
            place = _place_of(token, sheet, names)
            if place is not None and _is_whole(tokens, index):
                yield _Choice(place, calls[-1], index)


def _is_whole(tokens: Sequence[Token], index: int) -> bool:
    """Whether a token is a whole argument."""
    before = next((token.kind for token in reversed(tokens[:index]) if token.kind is not Kind.SPACE), None)
    after = next((token.kind for token in tokens[index + 1 :] if token.kind is not Kind.SPACE), None)
    return before in (Kind.CALL, Kind.SEPARATOR) and after in (Kind.SEPARATOR, Kind.CLOSE)


def _place_of(token: Token, sheet: str, names: Mapping[str, str]) -> CellPlace | None:
    """The cell that a token names, if it is one of this workbook."""
    title = unquoted(token.scope[:-1]) if token.scope else sheet
    if ":" in token.text or title.casefold() not in names:
        return None
    try:
        return (names[title.casefold()], *read_place(token.text.replace("$", "").upper()))
    except FileProblem:
        return None


def _literal(cell: SheetCell, shared: Sequence[str]) -> str | None:
    """What is typed in a cell as it stands in a formula, nothing for a blank one, None where that is not known."""
    if cell.formula_span is not None or cell.anchor is not None or cell.inline_span is not None:
        return None
    value: Value | ErrorValue = stored_value(cell, shared)
    if isinstance(value, str):
        return '"' + value.replace('"', '""') + '"'
    if isinstance(value, bool):
        return str(value).upper()
    return written(value)[1]


def _shown(formula: WrittenFormula | None) -> str | None:
    """What FORMULATEXT gives for a cell as it stands in a formula, None where that is not known."""
    if formula is None:
        return "#N/A"
    cell, bare = formula.cell, _PREFIX.sub("", formula.text)
    if not bare or cell.area is not None or cell.anchor is not None or _SHOWN_OTHERWISE.search(bare):
        return None
    return '"=' + bare.replace('"', '""') + '"'
