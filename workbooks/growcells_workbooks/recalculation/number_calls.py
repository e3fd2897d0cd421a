"""Calls of functions of numbers and of lists of them as the engine is given them: see ``rewriting.py``."""

from __future__ import annotations

import re

from .native import AGGREGATE_WITH_RANK, COUNTS_UP
from .native_call import ONE_VALUE, NativeCall
from .number_formats import UNKNOWN

_MOST_COUNTED = 100_000
"""Up to which the engine may count, within a millisecond: ours."""
_SMALL = re.compile(r"[0-9]{1,5}")
"""Numbers below it, as most are typed."""
_FINDS_CELLS = re.compile(r"\s*(?:CHOOSE|INDEX|INDIRECT|OFFSET)\(", re.IGNORECASE)
_COUNTED = "_xlpm.growcounted"
_MAKES_LIST = re.compile(r"\s*(?:_xlfn\.)?(?:_xlws\.)?(?:UNIQUE|FILTER|SORT|SORTBY)\((?:[^()]|\([^()]*\))*\)\s*$")
"""One call of a function that makes a list of another, which has the blanks of it."""
PAIRED = frozenset(
    (
        "CORREL",
        "FORECAST",
        "FORECAST.LINEAR",
        "INTERCEPT",
        "PEARSON",
        "RSQ",
        "SLOPE",
        "STEYX",
    )
)
"""Functions whose last two lists have to be of the same length."""
_ZERO_OFF = "0.35"
"""The engine takes absolute zero for -273.5 °C where it converts to degrees Celsius; it is -273.15 °C (BIPM)."""
_TOO_STEEP = "1E9"
"""Where a function is larger, the last digit of its angle decides on the value: ours."""
_NO_ANGLE = 2**27
"""From which on Excel takes no angle: Microsoft's pages of COT and SEC."""
BASES = frozenset(f"{given}2{made}" for given in ("BIN", "OCT", "HEX") for made in ("BIN", "OCT", "HEX", "DEC"))
_MOST_FIGURES = 10
"""Of the numbers that functions of other bases than ten take: Microsoft's pages of them."""
_AGGREGATED_NAMES = (
    "AVERAGE COUNT COUNTA MAX MIN PRODUCT STDEV.S STDEV.P SUM VAR.S VAR.P MEDIAN MODE.SNGL LARGE SMALL PERCENTILE.INC "
    "QUARTILE.INC PERCENTILE.EXC QUARTILE.EXC"
)
_AGGREGATED = _AGGREGATED_NAMES.split()
"""The functions of AGGREGATE by their numbers, from 1 on: Microsoft's page of it. The engine has none of it."""
_OPTIONS, _WITHOUT_ERRORS = "01234567", "2367"
"""The options of AGGREGATE, and those that leave out errors: Microsoft's page of it."""


def pairs_of_numbers(call: NativeCall) -> str | None:
    """A sum over pairs of two lists, not computed where one of them has anything but numbers."""
    if call.forms != ("r", "r"):
        return None
    numbers, cells = (
        "+".join(count.format(text) for text in call.texts) for count in ("COUNT({0})", "ROWS({0})*COLUMNS({0})")
    )
    return f"IF({numbers}={cells},{call.text},{UNKNOWN})"


def of_filled_matrix(call: NativeCall) -> str | None:
    """What is of a matrix, with Excel's error where a cell of it holds no number."""
    if call.forms != ("r",):
        return None
    return f"IF(COUNT({call.inside})<ROWS({call.inside})*COLUMNS({call.inside}),#VALUE!,{call.text})"


def of_angle(call: NativeCall) -> str | None:
    """A function of an angle, with Excel's error for one that is too large."""
    if len(call.forms) != 1 or not call.is_of_values:
        return None
    return _of_angle(call, call.text)


def not_too_steep(call: NativeCall) -> str | None:
    """A function of an angle, not computed near where it is infinite."""
    if len(call.forms) != 1 or not call.is_of_values:
        return None
    return _of_angle(call, f"IF(ABS({call.text})>{_TOO_STEEP},{UNKNOWN},{call.text})")


def _of_angle(call: NativeCall, text: str) -> str:
    return f"IF(ABS({call.inside})>={_NO_ANGLE},#NUM!,{text})"


def from_base(call: NativeCall) -> str | None:
    """A number in another base than ten, with Excel's errors for too many figures and truths, and 0 for none."""
    if not call.is_of_values:
        return None
    texts, text = call.texts, call.text
    nothing = call.of("0", *texts[1:]).text
    if call.name.startswith("BIN"):
        other = "".join(f"IF(ISERROR({given}),{given}," for given in texts) + "#NUM!" + ")" * len(texts)
        text = f"IFERROR({text},{other})"
        text = text if len(texts) == 1 else f"IF(ISNUMBER({texts[1]}),{text},{call.text})"
    long = f"IF(LEN({texts[0]})>{_MOST_FIGURES},#NUM!,IF(LEN({texts[0]})=0,{nothing},{text}))"
    return f"IF(ISLOGICAL({texts[0]}),#VALUE!,{long})"


def from_decimal(call: NativeCall) -> str | None:
    """A number in another base than ten with so many figures, with Excel's errors for what their number cannot be."""
    if len(call.texts) != 2 or not call.is_of_values:
        return None
    given, places = call.texts
    short = f"IF(INT({places})<1,#NUM!,IF(INT({places})>{_MOST_FIGURES},#NUM!,{call.text}))"
    return f"IF(ISERROR({given}),{given},IF(ISNUMBER({places}),{short},{call.text}))"


def converted(call: NativeCall) -> str | None:
    """CONVERT with absolute zero where it is, not computed for units that the engine does not know."""
    if len(call.texts) != 3 or not call.is_of_values:
        return None
    value, _, unit = call.texts
    known = f'({call.text}+IF(OR(EXACT({unit},"C"),EXACT({unit},"cel")),{_ZERO_OFF},0))'
    return f"IF(ISNA({call.text}),IF(ISNA({value}),{call.text},{UNKNOWN}),{known})"


def of_some_numbers(call: NativeCall) -> str | None:
    """A deviation with Excel's error where there are no numbers."""
    if not set(call.forms) <= {"r", "c"}:
        return None
    return f"IF(COUNT({call.inside})=0,#NUM!,{call.text})"


def of_all_truths(call: NativeCall) -> str | None:
    """AND or OR, which stop in the engine at the first value that decides, and pass on any error in Excel: XOR, which
    looks at all of them, does so before, made a truth that decides nothing."""
    if len(call.forms) == 1 and call.is_of_values:
        return None
    decides_nothing = "+2" if call.name == "AND" else "*0"
    return call.of(f"_xlfn.XOR({call.inside}){decides_nothing}", *call.texts).text


def of_numbers_alone(call: NativeCall) -> str | None:
    """A function of lists that takes truths for numbers in the engine, not computed of lists that may have them."""
    computed = [text for text, form in zip(call.texts, call.forms, strict=True) if form in "ya"]
    return UNKNOWN if any(not _MAKES_LIST.match(text) for text in computed) else None


def of_whole_pairs(call: NativeCall) -> str | None:
    """A covariance, not computed of lists with gaps."""
    if call.forms != ("r", "r"):
        return of_one_length(call)
    first, second = call.texts
    is_whole = f"COUNT({first})=ROWS({first})*COLUMNS({first}),COUNT({second})=ROWS({second})*COLUMNS({second})"
    return f"IF(AND({is_whole}),{of_one_length(call)},{UNKNOWN})"


def numbers_counted(call: NativeCall) -> str | None:
    """COUNT with the numbers of computed lists counted one by one; not computed of one computed value, nor of cells
    that a function finds, which may be a million."""
    if set(call.forms) <= {"c", "n", "r"}:
        return None
    made = [index for index, form in enumerate(call.forms) if form not in "cnr"]
    if any(call.forms[index] not in "ay" or _FINDS_CELLS.match(call.texts[index]) for index in made):
        return UNKNOWN
    one = f"_xlfn.LAMBDA({_COUNTED},IF(ISNUMBER({_COUNTED}),1,0))"
    counts = [f"SUM(_xlfn.MAP({call.texts[index]},{one}))" for index in made]
    others = [text for index, text in enumerate(call.texts) if index not in made]
    return f"({'+'.join([call.of(*others).text] * bool(others) + counts)})"


def counted(call: NativeCall) -> str | None:
    """COUNTA of what a function makes of a list, whose blanks count as well."""
    if call.forms != ("y",) or not _MAKES_LIST.match(call.inside):
        return None
    return f"IFERROR(ROWS({call.inside})*COLUMNS({call.inside}),1)"


def of_one_length(call: NativeCall) -> str | None:
    """A function of two lists with Excel's error where these are not of the same length; not computed of single
    values, for which it has another."""
    if ONE_VALUE.issuperset(call.forms[-2:]):
        return UNKNOWN
    if call.forms[-2:] != ("r", "r"):
        return None
    first, second = call.texts[-2:]
    return f"IF(ROWS({first})*COLUMNS({first})<>ROWS({second})*COLUMNS({second}),#N/A,{call.text})"


def counted_up(call: NativeCall) -> str | None:
    """A call that is not computed where the engine would count up to a number without end."""
    large = [
        f"IFERROR({'ABS' if form in ONE_VALUE else 'MAX'}({text})>{_MOST_COUNTED},FALSE)"
        for index, (text, form) in enumerate(zip(call.texts, call.forms, strict=False))
        if index in COUNTS_UP[call.name] and form != "o" and not _SMALL.fullmatch(text.strip())
    ]
    return f"IF(OR({','.join(large)}),{UNKNOWN},{call.text})" if large else None


def aggregated(call: NativeCall) -> str | None:
    """AGGREGATE as the function that it names, of the ranges that ``left_out.py`` leaves it."""
    if len(call.forms) < 3:
        return None
    number, option, *lists = (text.strip() for text in call.texts)
    if not number.isdecimal() or not 1 <= int(number) <= len(_AGGREGATED) or option not in _OPTIONS:
        return None
    function = _AGGREGATED[int(number) - 1]
    rank = ""
    if int(number) >= AGGREGATE_WITH_RANK:
        if len(lists) != 2 or call.forms[2] not in "ry":
            return None
        rank = "," + lists.pop()
    elif set(call.forms[2:]) != {"r"}:
        return None
    if option in _WITHOUT_ERRORS and function != "COUNT":  # which counts no errors in any case
        lists = [f"_xlfn.TOCOL({cells},3)" for cells in lists]
    return f"{function}({','.join(lists)}{rank})"
