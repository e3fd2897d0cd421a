"""Calls of native functions as the engine is given them where it does not give Excel's value for the call itself.

Each of them is a row of ``data/engine_gaps.csv`` without ``where``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from .native import COUNTS_UP

NEAREST = "nearest"
"""The form of a call that looks for the nearest smaller value in a range, which is proven by itself."""
_UNKNOWN = "N({{1,2}})"
"""For this, its braces written twice as in a pattern, the engine gives an error of its own: that is not computed."""
_SHOWN = "0.00000000000000E+00"
"""15 significant digits: Excel specifications and limits, "number precision"."""
_MOST_COUNTED = 100_000
"""Up to which the engine may count, within a millisecond: ours."""
_SMALL = re.compile(r"[0-9]{1,5}")
"""Numbers below it, as most are typed."""
_ALL = tuple(range(255))
_TAKES_TEXT: dict[str, tuple[int, ...]] = {
    "LEN": (0,),
    "LEFT": (0,),
    "RIGHT": (0,),
    "MID": (0,),
    "SUBSTITUTE": (0, 1, 2),
    "REPLACE": (0, 3),
    "LOWER": (0,),
    "UPPER": (0,),
    "PROPER": (0,),
    "TRIM": (0,),
    "CLEAN": (0,),
    "REPT": (0,),
    "EXACT": (0, 1),
    "FIND": (0, 1),
    "SEARCH": (0, 1),
    "CONCATENATE": _ALL,
    "CONCAT": _ALL,
    "TEXTJOIN": _ALL[2:],
}
"""The arguments that functions make texts of."""
_TAKES_NUMBER = {"LEFT": (1,), "RIGHT": (1,), "MID": (1, 2), "REPT": (1,)}
"""The arguments of functions of texts that are numbers; the engine refuses a text with a number in it."""
_NUMBER_FORMAT = re.compile(r'"[#,0]*0(?:\.([0#]+))?(%)?"')
"""A number format whose decimals are plain: the engine rounds halves to even there, Excel away from zero."""
_CLOCK_FORMAT = re.compile(r'"[^"]*[hs][^"]*"', re.IGNORECASE)
_PART_OF_SECOND = re.compile(r"s\.0", re.IGNORECASE)
_SECONDS, _HAIR = 86_400, "1E-9"
"""Seconds of a day, and what a time is moved by so that binary fractions do not take it to the second before."""
_MARCH_1900 = 61
_EARLY = {"YEAR": "1900", "MONTH": "IF(?<32,1,2)", "DAY": "INT(?)-IF(?<32,0,31)"}
"""What Excel gives for a blank cell and for days before March 1900, where the engine has another calendar."""
_COUNTS_ON = frozenset(
    ("EDATE", "EOMONTH", "WEEKNUM", "ISOWEEKNUM", "DATEDIF", "DAYS360", "YEARFRAC", "NETWORKDAYS", "WORKDAY")
)
"""Functions that count on from their first day, which are not computed from such a day on."""
_PAIRED = frozenset(
    (
        "CORREL",
        "COVARIANCE.P",
        "COVARIANCE.S",
        "FORECAST",
        "FORECAST.LINEAR",
        "INTERCEPT",
        "PEARSON",
        "RSQ",
        "SLOPE",
        "STEYX",
    )
)
"""Functions whose last two lists have to be of the same length, which the engine does not ask for."""
_ZERO_OFF = "0.35"
"""The engine takes absolute zero for -273.5 °C where it converts to degrees Celsius; it is -273.15 °C (BIPM)."""
_EARLY_DAY = f"IF(?>={_MARCH_1900},?,IF(OR(?<1,?>=60),{_UNKNOWN.format()},?+1))"
"""The same for a day that becomes a text; of day 0 and of 1900-02-29 the engine has none."""
_LATER_YEAR = re.compile(r"\s*(?:190[1-9]|19[1-9][0-9]|[2-9][0-9]{3})\s*")
DAY_PLACES: dict[str, tuple[int, ...]] = {
    "YEAR": (0,),
    "MONTH": (0,),
    "DAY": (0,),
    "WEEKDAY": (0,),
    "WEEKNUM": (0,),
    "ISOWEEKNUM": (0,),
    "EDATE": (0,),
    "EOMONTH": (0,),
    "DATE": (),
    "DATEDIF": (0, 1),
    "DAYS360": (0, 1),
    "YEARFRAC": (0, 1),
}
"""Functions of days, and their arguments that are days."""
_GIVES_DAY = frozenset(("DATE", "EDATE", "EOMONTH"))
_DAY_FORMAT = re.compile(r'"(?=[^"]*[dy]|[^"hs]*m)[ymdhs:/., -]*"', re.IGNORECASE)
_ONE_VALUE = frozenset(("c", "n", "-n", "+n", "t", "x", "g", "v"))
_POSITION = (
    "_xlfn.LET({x},{{value}},{r},{{range}},{t},_xlfn.MAP({r},_xlfn.LAMBDA({v},IF(IF(ISTEXT({x}),ISTEXT({v}),"
    "ISNUMBER({v})),IF({v}<={x},1,2),0))),{p},_xlfn.XMATCH(1,{t},0,-1),{q},_xlfn.XMATCH(2,{t},0,1),IF(ISERROR({x}),{x},"
    'IF(IF(ISTEXT({x}),{x}<"zz",ISLOGICAL({x})),{unknown},'
    "IF(ISNA({q}),{p},IF(ISNA({p}),{p},IF({q}>{p},{p},{unknown}))))))"
).format(unknown=_UNKNOWN, **{name: f"_xlpm.grow{name}" for name in "xrtvpq"})
"""The place of the last value that is no larger than the one looked up, blanks and values of another type passed over.

Excel finds it by halving, which comes to that place wherever no larger value stands before it; elsewhere the formula is
not computed, nor for texts before "zz", whose order is another one in Excel.
"""


def rewritten(
    name: str, head: str, arguments: Sequence[str], forms: Sequence[str], closing: str, days_before: int = 0
) -> str:
    """The text of a call for the engine.

    ``forms`` are those of its arguments as ``formulas.py`` tells them; ``days_before`` is how many days the workbook's
    calendar begins after the engine's.
    """
    texts = list(arguments)
    if days_before and (name in DAY_PLACES or name == "TEXT"):
        return _in_later_calendar(name, head, texts, closing, days_before)
    for index in _TAKES_TEXT.get(name, ()):
        if index < len(forms) and forms[index] in "cx":
            texts[index] = shown(texts[index])
    for index in _TAKES_NUMBER.get(name, ()):
        if index < len(forms) and forms[index] in "cxtl":
            texts[index] = f"(({texts[index]})+0)"
    if name == "TEXT" and len(texts) == 2:
        texts[0] = _rounded_for(texts[1].strip(), texts[0])
    inside = ",".join(texts)
    call = head + inside + closing
    if name in _EARLY and len(forms) == 1:
        day = f"(({inside})+0)"  # a truth too is a number of days
        early = _EARLY[name].replace("?", day)
        return f"IF({day}<{_MARCH_1900},IF({day}<0,{call},{early}),{call})"
    if name in _COUNTS_ON and forms and forms[0] in "cnx":
        return f"IF(({texts[0]})+0<{_MARCH_1900},{_UNKNOWN.format()},{call})"
    if name in ("HOUR", "MINUTE", "SECOND") and len(forms) == 1 and forms[0] in "cnx":
        return f"{name}({_to_second(texts[0])})"
    if name == "DATE" and len(forms) == 3 and not _LATER_YEAR.fullmatch(texts[0]) and set(forms) <= _ONE_VALUE:
        year, month, day = texts
        early = f"DATE({year},{month},1)+INT({day})-2"
        return f"IF(DATE({year},{month},1)<{_MARCH_1900},IF({early}<0,#NUM!,{early}),{call})"
    if name == "WEEKDAY":  # day 7 of 1900 is of the same name as day 0, which is a blank cell
        day, *rest = f"(({texts[0]})+0)", *texts[1:]
        return head + ",".join([f"IF({day}<0,{day},IF({day}<1,{day}+7,{day}))", *rest]) + closing
    if name == "CONVERT" and len(texts) == 3 and set(forms) <= _ONE_VALUE:
        to_celsius = f'OR(EXACT({texts[2]},"C"),EXACT({texts[2]},"cel"))'
        return f"({call}+IF({to_celsius},{_ZERO_OFF},0))"
    if name in ("DATEVALUE", "TIMEVALUE", "VALUE") and len(forms) == 1:  # the engine does not read all texts
        return f"IF(AND(ISERROR({call}),NOT(ISERROR({inside}))),{_UNKNOWN.format()},{call})"
    if name in ("XIRR", "XNPV") and "r" in forms:
        days = texts[1] if name == "XIRR" else texts[-1]
        return f"IF(COUNT({days})<ROWS({days})*COLUMNS({days}),{_UNKNOWN.format()},{call})"
    if name in ("AVEDEV", "DEVSQ") and set(forms) <= {"r", "c"}:
        return f"IF(COUNT({inside})=0,#NUM!,{call})"
    if name in _PAIRED and list(forms[-2:]) == ["r", "r"]:
        first, second = texts[-2:]
        return f"IF(ROWS({first})*COLUMNS({first})<>ROWS({second})*COLUMNS({second}),#N/A,{call})"
    return _looked_up(name, texts, forms) or _bounded(name, texts, forms, call)


def _bounded(name: str, texts: Sequence[str], forms: Sequence[str], call: str) -> str:
    """A call that is not computed where the engine would count up to a number without end."""
    large = [
        f"IFERROR({'ABS' if form in _ONE_VALUE else 'MAX'}({text})>{_MOST_COUNTED},FALSE)"
        for index, (text, form) in enumerate(zip(texts, forms, strict=False))
        if index in COUNTS_UP.get(name, ()) and form != "o" and not _SMALL.fullmatch(text.strip())
    ]
    return f"IF(OR({','.join(large)}),{_UNKNOWN.format()},{call})" if large else call


def _in_later_calendar(name: str, head: str, texts: list[str], closing: str, days: int) -> str:
    """A call of a function of days in a workbook whose calendar begins later than the engine's."""
    is_day_text = name == "TEXT" and len(texts) == 2 and _DAY_FORMAT.fullmatch(texts[1].strip())
    for index in (0,) if is_day_text else DAY_PLACES.get(name, ()):
        if index < len(texts):
            texts[index] = f"(({texts[index]})+{days})"
    call = head + ",".join(texts) + closing
    return f"({call}-{days})" if name in _GIVES_DAY else call


def _rounded_for(text_format: str, value: str) -> str:
    """A value as TEXT has to be given it for Excel's rounding."""
    number = _NUMBER_FORMAT.fullmatch(text_format)
    if number is not None:
        places = len(number[1] or "") + (2 if number[2] else 0)
        return f"IF(ISNUMBER({value}),ROUND({value},{places}),{value})"
    if _DAY_FORMAT.fullmatch(text_format):
        value = f"IF(ISNUMBER({value}),{_EARLY_DAY.replace('?', f'({value})')},{value})"
    if _CLOCK_FORMAT.fullmatch(text_format) and not _PART_OF_SECOND.search(text_format):
        return _to_second(value)
    return value


def _to_second(value: str) -> str:
    """A time to the nearest second; a text as it is."""
    return f"IF(ISNUMBER({value}),ROUND(({value})*{_SECONDS},0)/{_SECONDS}+{_HAIR},{value})"


def searched(name: str, forms: Sequence[str], texts: Sequence[str]) -> bool:
    """Whether a call looks for the nearest smaller value in a range of cells."""
    if len(forms) < 2 or forms[0] not in _ONE_VALUE or forms[1] != "r":
        return False
    if name == "MATCH":
        return len(forms) == 2 or texts[2].strip().upper() in ("1", "TRUE")
    if name in ("VLOOKUP", "HLOOKUP"):
        return len(forms) == 3 or (len(forms) == 4 and texts[3].strip().upper() in ("1", "TRUE"))
    return name == "LOOKUP" and (len(forms) == 2 or forms[2] == "r")


def _looked_up(name: str, texts: Sequence[str], forms: Sequence[str]) -> str:
    """A look-up of the nearest smaller value, which the engine does not find before blanks or among equal ones."""
    if not searched(name, forms, texts):
        return ""
    value, cells = texts[0], texts[1]
    if forms[0] in "cx":
        value = f"IF(ISBLANK({value}),0,{value})"

    def position(range_text: str) -> str:
        return _POSITION.format(value=value, range=range_text)

    first_column, first_row = f"INDEX({cells},0,1)", f"INDEX({cells},1,0)"
    if name == "MATCH":
        return position(cells)
    if name == "VLOOKUP":
        return f"IF(({texts[2]})+0<1,#VALUE!,INDEX({cells},{position(first_column)},{texts[2]}))"
    if name == "HLOOKUP":
        return f"IF(({texts[2]})+0<1,#VALUE!,INDEX({cells},{texts[2]},{position(first_row)}))"
    if len(texts) == 3:
        flat = f"MIN(ROWS({cells}),COLUMNS({cells}))*MIN(ROWS({texts[2]}),COLUMNS({texts[2]}))=1"
        return f"IF({flat},INDEX({texts[2]},{position(cells)}),#N/A)"
    across = f"INDEX({cells},ROWS({cells}),{position(first_row)})"
    down = f"INDEX({cells},{position(first_column)},COLUMNS({cells}))"
    return f"IF(COLUMNS({cells})>ROWS({cells}),{across},{down})"


def shown(operand: str) -> str:
    """A value that becomes a text, a number rounded to the digits that Excel shows; the engine shows 17."""
    bare = operand.strip()
    if not bare or bare.startswith('"') or bare.replace(".", "", 1).isdecimal():
        return operand
    return f'IF(ISNUMBER({bare}),VALUE(TEXT({bare},"{_SHOWN}")),{bare})'
