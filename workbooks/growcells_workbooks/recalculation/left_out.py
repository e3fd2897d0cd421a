"""What AGGREGATE leaves out by its option: rows that are hidden, and totals among what it totals; and SUBTOTAL, totals.

The engine has no AGGREGATE: ``rewriting.py`` puts the function in its place that it names, and here the cells that are
left out are cut out of the range. Of SUBTOTAL the engine leaves out formulas that are one such call and nothing else;
Excel leaves out each formula with one in it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from ..gate import FileProblem
from .cells import Area, cell_name
from .native import AGGREGATE_WITH_RANK
from .readers import CellPlace
from .references import read_area_of, unquoted
from .sheet_formulas import Place, Sheet, WrittenFormula
from .tokens import Kind, NotComputed, Token, tokens_of

_AGGREGATE = re.compile(r"(?<![\w.])(?:_xlfn\.)?AGGREGATE\(", re.IGNORECASE)
_SUBTOTAL = re.compile(r"SUBTOTAL\(", re.IGNORECASE)
_TOTALS = re.compile(r"(?<![\w.])(?:_xlfn\.)?(?:AGGREGATE|SUBTOTAL)\(", re.IGNORECASE)
_WITHOUT_HIDDEN, _WITHOUT_TOTALS = ("1", "3", "5", "7"), ("0", "1", "2", "3")
"""The options by what they leave out: Microsoft's page of AGGREGATE."""
_MOST_ROWS = 10_000
"""Rows of a range that is gone through: ours."""
_ROW = re.compile(rb"<(?:[\w.-]+:)?row\s[^<>]*>")
_NUMBER, _HIDDEN = re.compile(rb"""\br=["']([0-9]+)["']"""), re.compile(rb"""\bhidden=["'](?:1|true)["']""")


def without_left_out(
    formulas: Mapping[CellPlace, WrittenFormula], put: Mapping[CellPlace, str], sheets: Mapping[str, Sheet]
) -> dict[CellPlace, str]:
    """Those of the formulas with AGGREGATE or SUBTOTAL, the cells cut out of their ranges that they leave out.

    ``put`` is how some of them are read in place of how they are written.
    """
    asking = {copies for copies in {formula.copies for formula in formulas.values()} if _TOTALS.search(copies.first)}
    if not asking:
        return {}
    found: dict[CellPlace, str] = {}
    totals: dict[str, set[Place]] = {}
    others: dict[str, set[Place]] = {}
    for (name, row, column), formula in formulas.items():
        if formula.copies in asking:
            totals.setdefault(name, set()).add((row, column))
            if not _is_one_subtotal(formula.copies.first):
                others.setdefault(name, set()).add((row, column))
    if others:
        for place, formula in formulas.items():
            if formula.copies in asking:
                text = put.get(place, formula.text)
                cut = _without_totals(text, place, others)
                if cut != text:
                    found[place] = cut
    asking = {copies for copies in asking if _AGGREGATE.search(copies.first)}
    hidden = {name: set(_hidden_rows(sheet.data)) for name, sheet in sheets.items()} if asking else {}
    for place, formula in formulas.items():
        if formula.copies in asking:
            found[place] = _cut(found.get(place) or put.get(place, formula.text), place, hidden, totals)
    return found


def _is_one_subtotal(formula: str) -> bool:
    """Whether a formula is one call of SUBTOTAL and nothing else."""
    try:
        tokens = [token for token in tokens_of(formula) if token.kind is not Kind.SPACE]
    except NotComputed:
        return False
    if not tokens or tokens[0].kind is not Kind.CALL or not _SUBTOTAL.fullmatch(tokens[0].text):
        return False
    depth = 0
    for index, token in enumerate(tokens):
        depth += (token.kind in (Kind.CALL, Kind.OPEN)) - (token.kind is Kind.CLOSE)
        if not depth:
            return index == len(tokens) - 1
    return False


def _without_totals(formula: str, place: CellPlace, totals: Mapping[str, set[Place]]) -> str:
    """A formula with the totals cut out of the ranges of its SUBTOTAL calls, the place of its own cell among them."""
    try:
        tokens = tokens_of(formula)
    except NotComputed:
        return formula
    pieces = []
    calls: list[bool] = []
    for token in tokens:
        text = token.scope + token.text
        if token.kind in (Kind.CALL, Kind.OPEN):
            calls.append(_SUBTOTAL.fullmatch(token.text) is not None)
        elif token.kind is Kind.CLOSE and calls:
            calls.pop()
        elif token.kind is Kind.AREA and calls and calls[-1]:
            sheet = unquoted(token.scope[:-1]) if token.scope else place[0]
            text = ",".join(token.scope + left for left in _remaining(token, set(), totals.get(sheet, set()))) or text
        pieces.append(text)
    return "".join(pieces)


def _hidden_rows(data: bytes) -> Iterator[int]:
    for tag in _ROW.findall(data):
        number = _NUMBER.search(tag)
        if number is not None and _HIDDEN.search(tag):
            yield int(number[1])


def _cut(formula: str, place: CellPlace, hidden: Mapping[str, set[int]], totals: Mapping[str, set[Place]]) -> str:
    """A formula with the ranges of its AGGREGATE calls cut."""
    try:
        tokens = tokens_of(formula)
    except NotComputed:
        return formula
    pieces = [token.scope + token.text for token in tokens]
    bare = [(index, token) for index, token in enumerate(tokens) if token.kind is not Kind.SPACE]
    for first in range(len(bare) - 5):
        call, number, _, option, _, cells = (token for _, token in bare[first : first + 6])
        if call.kind is not Kind.CALL or not _AGGREGATE.fullmatch(call.text) or cells.kind is not Kind.AREA:
            continue
        if number.kind is not Kind.NUMBER or option.kind is not Kind.NUMBER or ":" not in cells.text:
            continue
        sheet = unquoted(cells.scope[:-1]) if cells.scope else place[0]
        if sheet not in hidden:
            continue
        rows = hidden[sheet] if option.text in _WITHOUT_HIDDEN else set()
        among = totals.get(sheet, set()) if option.text in _WITHOUT_TOTALS else set()
        ranges = [cells.scope + text for text in _remaining(cells, rows, among)]
        if len(ranges) > 1 and int(float(number.text)) >= AGGREGATE_WITH_RANK:
            ranges = [f"_xlfn.VSTACK({','.join(ranges)})"]
        if ranges:
            pieces[bare[first + 5][0]] = ",".join(ranges)
    return "".join(pieces)


def _remaining(cells: Token, hidden: set[int], totals: set[Place]) -> Sequence[str]:
    """The ranges that are left of one, nothing where all of it is left or it is too large."""
    try:
        area = read_area_of(cells.text)
    except FileProblem:
        return ()
    if area.rows > _MOST_ROWS or not (any(area.has_row(row) for row in hidden) or any(area.has(*at) for at in totals)):
        return ()
    return [
        f"{cell_name(first, column)}:{cell_name(last, column)}"
        for column in range(area.first_column, area.last_column + 1)
        for first, last in _runs(area, column, hidden, totals)
    ]


def _runs(area: Area, column: int, hidden: set[int], totals: set[Place]) -> Iterator[tuple[int, int]]:
    """The first and last row of each run of cells in a column that are left."""
    first = 0
    for row in range(area.first_row, area.last_row + 2):
        left = row <= area.last_row and row not in hidden and (row, column) not in totals
        if left and not first:
            first = row
        elif not left and first:
            yield first, row - 1
            first = 0
