"""Dates in workbooks that count their days from 1904, for functions that count them as most workbooks do."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence

from growcells import CellFunction, functions
from growcells.cells.arguments import Argument
from growcells.cells.kinds import SPREADSHEET_EPOCH, Date
from growcells.cells.ranges import Column
from growcells.families.help import EXPLAINING

EPOCH_1900 = datetime.datetime.combine(SPREADSHEET_EPOCH, datetime.time())
"""Day 0 of most workbooks, from 1 March 1900 on; the days before count a 29 February that there was not."""
EPOCH_1904 = datetime.datetime(1904, 1, 1)
"""Day 0 of the other calendar: ISO/IEC 29500-1, 18.17.4.1."""
DAYS_BETWEEN = (EPOCH_1904 - EPOCH_1900).days
"""What a day's number is larger by in the 1900 system than in the 1904 system."""

_DATE_COLUMN = "date"
"""The heading of dates in a function's table."""


def day_number(text: str) -> float:
    """The number of a day, a moment or a time in the 1900 system, which ISO 8601 writes so; raises ValueError."""
    try:
        moment = datetime.datetime.fromisoformat(text).replace(tzinfo=None)
    except ValueError:  # a time alone
        moment = datetime.datetime.combine(EPOCH_1900, datetime.time.fromisoformat(text).replace(tzinfo=None))
    return (moment - EPOCH_1900) / datetime.timedelta(days=1)


Evaluate = Callable[[Sequence[object]], object]


def counting_from_1904(function: CellFunction) -> Evaluate:
    """The evaluation of a function whose dates, handed in and given back, are numbers of the 1904 system."""

    def evaluate(cells: Sequence[object]) -> object:
        return _back(function, function.evaluate(_forward(function, cells)))

    return evaluate


def _forward(function: CellFunction, cells: Sequence[object]) -> list[object]:
    """The cells with the numbers among dates made those of the 1900 system."""
    if function.name == EXPLAINING and cells:  # the arguments of the function that it names
        named = functions().get(str(cells[0]).strip().upper())
        return [cells[0], *(_forward(named, cells[1:]) if named else cells[1:])]
    dated = [_is_date(argument) for argument in function.arguments]
    return [
        moved(cell, DAYS_BETWEEN) if index < len(dated) and dated[index] else cell for index, cell in enumerate(cells)
    ]


def _is_date(argument: Argument) -> bool:
    kind = argument.kind.element if isinstance(argument.kind, Column) else argument.kind
    return isinstance(kind, Date)


def moved(cell: object, days: int) -> object:
    """A number, or each number of a range, so many days later; anything else as it is."""
    if isinstance(cell, (tuple, list)):
        return tuple(moved(part, days) for part in cell)
    return cell + days if isinstance(cell, float) else cell


def _back(function: CellFunction, result: object) -> object:
    """A result with its dates made numbers of the 1904 system."""
    if isinstance(function.result.kind, Date):
        return moved(result, -DAYS_BETWEEN)
    if _DATE_COLUMN in function.result.columns and isinstance(result, tuple):
        place = function.result.columns.index(_DATE_COLUMN)
        return tuple((*row[:place], moved(row[place], -DAYS_BETWEEN), *row[place + 1 :]) for row in result)
    return result
