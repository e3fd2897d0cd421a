"""Calls of native functions as the engine is given them where it does not give Excel's value for the call itself.

Each case is also a row of ``data/engine_gaps.csv`` without ``where``, which says what the engine gives and what Excel.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

from . import criteria_calls, day_calls, error_calls, look_up_calls, number_calls, text_calls
from .native import COUNTS_UP
from .native_call import NativeCall

Rewriter = Callable[[NativeCall], str | None]
"""Gives a call another text, or None where its arguments are not of the forms that the case is about."""


class Case(NamedTuple):
    """A case in which calls of some functions are put another way, and why."""

    functions: Iterable[str]
    rewriter: Rewriter
    why: str


CASES = (
    Case(
        error_calls.PASSES_OVER,
        error_calls.of_computed,
        "what is not computed is an error in the engine, which these pass over in lists",
    ),
    Case(
        day_calls.DAY_PLACES,
        day_calls.in_later_calendar,
        "the engine counts days from 1900 alone, and the workbook may count them from 1904",
    ),
    Case(("TEXTJOIN", "CONCAT"), text_calls.joined, "the engine joins empty texts too, and more digits of numbers"),
    Case(
        text_calls.TAKES_TEXT,
        text_calls.made_texts,
        "the engine shows 17 digits of a number that becomes a text, and refuses a text with a number in it",
    ),
    Case(("TEXT",), text_calls.formatted, "the engine rounds halves to even, and has another calendar before 1900-03"),
    Case(
        text_calls.BYTES,
        text_calls.of_single_bytes,
        "how many bytes a sign has hangs on the language of the program, and the engine counts signs",
    ),
    Case(("CHAR",), text_calls.char_of_macintosh, "Excel for Mac has another code page"),
    Case(("CODE",), text_calls.code_of_macintosh, "Excel for Mac has another code page"),
    Case(
        ("DATEVALUE", "TIMEVALUE", "VALUE"),
        text_calls.value_of_text,
        "the engine does not read all texts that Excel reads",
    ),
    Case(
        look_up_calls.RANGES,
        criteria_calls.with_criteria,
        "the engine asks for a range, Excel takes a cell for a range of one; Excel asks for ranges of one size; of a "
        "criterion the engine makes a number where Excel finds texts as well",
    ),
    Case(
        criteria_calls.DATABASE,
        criteria_calls.of_database,
        "the engine does not find a number that stands in the list as a text",
    ),
    Case(("OFFSET",), look_up_calls.of_size, "the engine takes no size below none, and none that is left out"),
    Case(("INDEX",), look_up_calls.of_one_index, "the engine has another error for a range of rows and columns"),
    Case(("VLOOKUP", "HLOOKUP"), look_up_calls.whole_match, "the engine takes a blank cell for 0"),
    Case(
        ("XLOOKUP", "XMATCH"),
        look_up_calls.among_others,
        "the engine takes a blank cell for 0, and a value of another type for the nearest",
    ),
    Case(
        ("XLOOKUP", "XMATCH"),
        look_up_calls.halved,
        "halving gives another place in a list with gaps or out of order",
    ),
    Case(
        ("MATCH", "VLOOKUP", "HLOOKUP", "LOOKUP"),
        look_up_calls.nearest,
        "the engine does not find the nearest smaller value before blanks or among equal ones",
    ),
    Case(day_calls.PARTS_OF_DAY, day_calls.part_of_early_day, "Excel has a 1900-02-29, the engine has none"),
    Case(("YEARFRAC",), day_calls.part_of_year, "the engine does not put days in order, and has other errors"),
    Case(day_calls.HOLIDAYS, day_calls.without_holidays, "the engine takes no text for a holiday"),
    Case(day_calls.COUNTS_ON, day_calls.counted_on, "Excel has a 1900-02-29, the engine has none"),
    Case(("HOUR", "MINUTE", "SECOND"), day_calls.part_of_time, "the engine cuts off parts of a second, Excel rounds"),
    Case(("DATE",), day_calls.early_date, "Excel has a 1900-02-29, the engine has none"),
    Case(("WEEKDAY",), day_calls.day_of_week, "a blank cell is day 0 of January 1900, which the engine does not have"),
    Case(("XIRR", "XNPV"), day_calls.days_all_there, "days that are missing count as day 0 in the engine"),
    Case(
        ("SUMX2MY2", "SUMX2PY2", "SUMXMY2"),
        number_calls.pairs_of_numbers,
        "the engine does not leave out pairs with a text in them",
    ),
    Case(
        ("MINVERSE", "MDETERM"),
        number_calls.of_filled_matrix,
        "the engine takes cells without a number for 0, or has another error for them",
    ),
    Case(("SIN", "COS"), number_calls.of_angle, "Excel takes no angle from a certain one on"),
    Case(("TAN", "COT", "SEC", "CSC"), number_calls.not_too_steep, "the last digit of the angle decides on the value"),
    Case(number_calls.BASES, number_calls.from_base, "the engine takes too many figures, truths and no blank cell"),
    Case(
        ("DEC2BIN", "DEC2OCT", "DEC2HEX"),
        number_calls.from_decimal,
        "Excel tells of a number of figures that cannot be before a text that is no number, the engine after it",
    ),
    Case(("AGGREGATE",), number_calls.aggregated, "the engine does not have it"),
    Case(("COUNT",), number_calls.numbers_counted, "the engine counts no numbers of what a formula gives"),
    Case(("COUNTA",), number_calls.counted, "the engine leaves out blanks of a list that a function made"),
    Case(("CONVERT",), number_calls.converted, "the engine has another absolute zero, and does not know all units"),
    Case(("AVEDEV", "DEVSQ"), number_calls.of_some_numbers, "of no numbers the engine gives another error"),
    Case(("AND", "OR"), number_calls.of_all_truths, "the engine does not come to an error after what decides"),
    Case(
        ("MEDIAN", "GEOMEAN", "HARMEAN", "KURT", "SKEW", "SKEW.P"),
        number_calls.of_numbers_alone,
        "the engine takes truths in computed lists for numbers",
    ),
    Case(
        ("COVARIANCE.P", "COVARIANCE.S"),
        number_calls.of_whole_pairs,
        "the engine has an error for lists with gaps, of which Excel leaves the pairs out",
    ),
    Case(number_calls.PAIRED, number_calls.of_one_length, "the engine does not ask for lists of the same length"),
    Case(
        error_calls.HIDES,
        error_calls.passed_on,
        "what is not computed is an error in the engine, which these hide; it asks for none of the values of a list",
    ),
    Case(COUNTS_UP, number_calls.counted_up, "the engine counts up to such a number, which may have no end"),
)
"""All cases; where a function has several, the first one that its arguments fit is taken."""

_REWRITERS: dict[str, list[Rewriter]] = {}
for _case in CASES:
    for _function in _case.functions:
        _REWRITERS.setdefault(_function, []).append(_case.rewriter)


def rewritten(call: NativeCall) -> str:
    """The text of a call for the engine; one without arguments is wrong as it is."""
    for rewriter in _REWRITERS.get(call.name, ()) if call.forms else ():
        text = rewriter(call)
        if text is not None:
            return text
    return call.text
