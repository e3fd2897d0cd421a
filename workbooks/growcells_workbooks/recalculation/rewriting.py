"""Calls of native functions as the engine is given them where it does not give Excel's value for the call itself.

Each of them is a row of ``data/engine_gaps.csv`` without ``where``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from .native import COUNTS_UP
from .number_formats import LAST_DAY, MARCH_1900, UNKNOWN, given_for, shows_day, to_second

NEAREST = "nearest"
"""The form of a call that looks for the nearest smaller value in a range, which is proven by itself."""
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
_RANGES: dict[str, tuple[int, ...]] = {
    "COUNTIF": (0,),
    "SUMIF": (0, 2),
    "AVERAGEIF": (0, 2),
    "COUNTIFS": _ALL[::2],
    "SUMIFS": (0, *_ALL[1::2]),
    "AVERAGEIFS": (0, *_ALL[1::2]),
    "MAXIFS": (0, *_ALL[1::2]),
    "MINIFS": (0, *_ALL[1::2]),
}
"""The arguments that have to be ranges for the engine; Excel takes a cell for a range of one."""
_AGGREGATED_NAMES = (
    "AVERAGE COUNT COUNTA MAX MIN PRODUCT STDEV.S STDEV.P SUM VAR.S VAR.P MEDIAN MODE.SNGL LARGE SMALL PERCENTILE.INC "
    "QUARTILE.INC PERCENTILE.EXC QUARTILE.EXC"
)
_AGGREGATED = _AGGREGATED_NAMES.split()
"""The functions of AGGREGATE by their numbers, from 1 on: Microsoft's page of it. The engine has none of it."""
_WITH_RANK = 14
"""The first of them that is given a rank beside its list."""
_OPTIONS, _WITHOUT_ERRORS = "01234567", "2367"
"""The options of AGGREGATE, and those that leave out errors: Microsoft's page of it."""
_ASCII, _CODES = 128, 256
_ROMAN = bytes(range(_ASCII, _CODES)).decode("mac_roman").replace('"', '""')
"""What CHAR gives from 128 on in Excel for Mac; elsewhere it is what the engine gives, the code page of Windows."""
_BASES_OF_YEARS = 5
"""How many bases YEARFRAC has: Microsoft's page of it."""
_OF_PAIRS = frozenset(("SUMX2MY2", "SUMX2PY2", "SUMXMY2"))
_STEEP = frozenset(("TAN", "COT", "SEC", "CSC"))
_TOO_STEEP = "1E9"
"""Where one of them is larger, the last digit of its angle decides on the value: ours."""
_BASES = frozenset(f"{given}2{made}" for given in ("BIN", "OCT", "HEX") for made in ("BIN", "OCT", "HEX", "DEC"))
_FROM_DECIMAL = frozenset(("DEC2BIN", "DEC2OCT", "DEC2HEX"))
_MOST_FIGURES = 10
"""Of the numbers that they take: Microsoft's pages of them."""
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
_ONE_VALUE = frozenset(("c", "n", "-n", "+n", "t", "x", "g", "v"))
_LIST = "_xlpm.growl"
_POSITION = (
    "_xlfn.LET({x},{{value}},{r},{{range}},{w},IF(ISTEXT({x}),{x}<{last},FALSE),{t},_xlfn.MAP({r},_xlfn.LAMBDA({v},"
    "IF(IF(ISTEXT({x}),ISTEXT({v}),IF(ISLOGICAL({x}),ISLOGICAL({v}),ISNUMBER({v}))),"
    "IF(IF({w},NOT(_xlfn.REGEXTEST({v},{plain})),FALSE),3,IF({v}={x},4,IF({v}{{nearer}}{x},1,2))),0))),"
    "{e},_xlfn.XMATCH(4,{t},0,{{from}}),{s},_xlfn.XMATCH(1,{t},0,-1),{q},_xlfn.XMATCH(2,{t},0,1),"
    "{p},IF(ISNA({e}),{s},IF(ISNA({s}),{e},IF({{stops}},{e},IF({s}>{e},{unknown},{e})))),"
    "IF(ISERROR({x}),{x},IF(IF({w},IF(_xlfn.REGEXTEST({x},{plain}),ISNUMBER(_xlfn.XMATCH(3,{t})),TRUE),FALSE),"
    "{unknown},IF(ISNA({q}),{p},IF(ISNA({p}),{p},IF({q}>{p},{p},{unknown}))))))"
).format(
    unknown="N({{1,2}})",
    plain='"^[A-Za-z0-9 ]*$"',
    last='"zz"',
    **{name: f"_xlpm.grow{name}" for name in "xrwtvespq"},
)
"""The place of the last value that is no larger than the one looked up, blanks and values of another type passed over;
in a descending list, of the first that is equal, or else of the last that is larger.

Excel finds it by halving, which comes to that place wherever no larger value stands before it and none that is equal
before a smaller one; elsewhere the formula is not computed, nor for texts before "zz" with other signs than letters and
figures, which Excel orders in its own way.
"""
_UPWARDS, _DOWNWARDS = (
    {"nearer": "<", "from": "-1", "stops": "FALSE"},
    {"nearer": ">", "from": "1", "stops": "TRUE"},
)


def rewritten(
    name: str,
    head: str,
    arguments: Sequence[str],
    forms: Sequence[str],
    closing: str,
    days_before: int = 0,
    of_macintosh: bool = False,
) -> str:
    """The text of a call for the engine.

    ``forms`` are those of its arguments as ``formulas.py`` tells them; ``days_before`` is how many days the workbook's
    calendar begins after the engine's; ``of_macintosh`` tells that Excel for Mac saved it.
    """
    texts = list(arguments)
    if days_before and name in DAY_PLACES:
        return _in_later_calendar(name, head, texts, closing, days_before)
    for index in _TAKES_TEXT.get(name, ()):
        if index < len(forms) and forms[index] in "cx":
            texts[index] = shown(texts[index])
    for index in _TAKES_NUMBER.get(name, ()):
        if index < len(forms) and forms[index] in "cxtl":
            texts[index] = f"(({texts[index]})+0)"
    for index in _RANGES.get(name, ()):
        if index < len(forms) and forms[index] == "c":
            texts[index] = f"{texts[index]}:{texts[index].rpartition('!')[2]}"
    if name == "TEXT" and len(texts) == 2:
        if texts[1].strip() == '""':
            return f'IF(ISNUMBER({texts[0]}),IF({texts[0]}<0,"-",""),IF(ISBLANK({texts[0]}),"",{UNKNOWN}))'
        if days_before and shows_day(texts[1].strip()):
            texts[0] = f"IF(ISNUMBER({texts[0]}),{texts[0]}+{days_before},{texts[0]})"
        texts[0] = given_for(texts[1].strip(), texts[0])
    inside = ",".join(texts)
    call = head + inside + closing
    if name in _EARLY and len(forms) == 1:
        day = f"(({inside})+0)"  # a truth too is a number of days
        early = _EARLY[name].replace("?", day)
        return f"IF({day}<{MARCH_1900},IF({day}<0,{call},{early}),{call})"
    if name == "YEARFRAC" and len(forms) in (2, 3) and set(forms) <= _ONE_VALUE | {"l", "e"}:
        return _part_of_year(head, texts, closing)
    if name in _OF_PAIRS and forms == ["r", "r"]:
        numbers, cells = (
            "+".join(count.format(text) for text in texts) for count in ("COUNT({0})", "ROWS({0})*COLUMNS({0})")
        )
        return f"IF({numbers}={cells},{call},{UNKNOWN})"
    if of_macintosh and len(forms) == 1 and set(forms) <= _ONE_VALUE and name in ("CHAR", "CODE"):
        if name == "CODE":
            return f'IFERROR(FIND(LEFT({inside},1),"{_ROMAN}",1/(LEN({inside})>0))+{_ASCII - 1},{call})'
        code = f"({inside})+0"
        return f'IF({code}<{_ASCII},{call},IF({code}<{_CODES},MID("{_ROMAN}",INT({code})-{_ASCII - 1},1),{call}))'
    if name in _STEEP and len(forms) == 1 and set(forms) <= _ONE_VALUE:
        return f"IF(ABS({call})>{_TOO_STEEP},{UNKNOWN},{call})"
    if name in _BASES and set(forms) <= _ONE_VALUE:
        nothing = head + ",".join(["0", *texts[1:]]) + closing
        if name.startswith("BIN"):
            other = "".join(f"IF(ISERROR({text}),{text}," for text in texts) + "#NUM!" + ")" * len(texts)
            call = (
                f"IFERROR({call},{other})"
                if len(texts) == 1
                else f"IF(ISNUMBER({texts[1]}),IFERROR({call},{other}),{call})"
            )
        long = f"IF(LEN({texts[0]})>{_MOST_FIGURES},#NUM!,IF(LEN({texts[0]})=0,{nothing},{call}))"
        return f"IF(ISLOGICAL({texts[0]}),#VALUE!,{long})"
    if name in _FROM_DECIMAL and len(texts) == 2 and set(forms) <= _ONE_VALUE:
        given, places = texts
        short = f"IF(INT({places})<1,#NUM!,IF(INT({places})>{_MOST_FIGURES},#NUM!,{call}))"
        return f"IF(ISERROR({given}),{given},IF(ISNUMBER({places}),{short},{call}))"
    if name == "AGGREGATE" and len(forms) > 2:
        return _aggregated(texts, forms) or call
    if name in ("XLOOKUP", "XMATCH"):
        return _halved(name, texts, forms, call)
    if name in _COUNTS_ON and forms and forms[0] in "cnx":
        return f"IF(({texts[0]})+0<{MARCH_1900},{UNKNOWN},{call})"
    if name in ("HOUR", "MINUTE", "SECOND") and len(forms) == 1 and forms[0] in "cnx":
        return f"{name}({to_second(texts[0])})"
    if name == "DATE" and len(forms) == 3 and not _LATER_YEAR.fullmatch(texts[0]) and set(forms) <= _ONE_VALUE:
        year, month, day = texts
        early = f"DATE({year},{month},1)+INT({day})-2"
        return f"IF(DATE({year},{month},1)<{MARCH_1900},IF({early}<0,#NUM!,{early}),{call})"
    if name == "WEEKDAY":  # day 7 of 1900 is of the same name as day 0, which is a blank cell
        day, *rest = f"(({texts[0]})+0)", *texts[1:]
        return head + ",".join([f"IF({day}<0,{day},IF({day}<1,{day}+7,{day}))", *rest]) + closing
    if name == "CONVERT" and len(texts) == 3 and set(forms) <= _ONE_VALUE:
        to_celsius = f'OR(EXACT({texts[2]},"C"),EXACT({texts[2]},"cel"))'
        known = f"({call}+IF({to_celsius},{_ZERO_OFF},0))"
        return f"IF(ISNA({call}),IF(ISNA({texts[0]}),{call},{UNKNOWN}),{known})"  # it does not know all units
    if name in ("DATEVALUE", "TIMEVALUE", "VALUE") and len(forms) == 1:  # the engine does not read all texts
        return f"IF(AND(ISERROR({call}),NOT(ISERROR({inside}))),{UNKNOWN},{call})"
    if name in ("XIRR", "XNPV") and "r" in forms:
        days = texts[1] if name == "XIRR" else texts[-1]
        return f"IF(COUNT({days})<ROWS({days})*COLUMNS({days}),{UNKNOWN},{call})"
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
    return f"IF(OR({','.join(large)}),{UNKNOWN},{call})" if large else call


def _part_of_year(head: str, texts: Sequence[str], closing: str) -> str:
    """YEARFRAC with its days in order, and Excel's errors for what they cannot be."""
    first, last, *basis = texts
    call = head + ",".join([first, last, *basis]) + closing
    call = f"IF(({first})+0>({last})+0,{head}{','.join([last, first, *basis])}{closing},{call})"
    for day in (last, first):
        call = f"IF(({day})+0<{MARCH_1900},{UNKNOWN},{call})"
    for day in (last, first):
        call = f"IF(({day})+0<0,#NUM!,IF(({day})+0>{LAST_DAY},#NUM!,{call}))"
    for text in basis:
        call = f"IF(ISLOGICAL({text}),#VALUE!,IF(({text})+0<0,#NUM!,IF(({text})+0>={_BASES_OF_YEARS},#NUM!,{call})))"
    return call


def _in_later_calendar(name: str, head: str, texts: list[str], closing: str, days: int) -> str:
    """A call of a function of days in a workbook whose calendar begins later than the engine's."""
    for index in DAY_PLACES[name]:
        if index < len(texts):
            texts[index] = f"(({texts[index]})+{days})"
    call = head + ",".join(texts) + closing
    return f"({call}-{days})" if name in _GIVES_DAY else call


def searched(name: str, forms: Sequence[str], texts: Sequence[str]) -> bool:
    """Whether a call looks for the nearest smaller value in a range of cells."""
    if len(forms) < 2 or forms[0] not in _ONE_VALUE or forms[1] not in ("r", "a", "y"):
        return False
    if name == "MATCH":
        return len(forms) == 2 or texts[2].strip().upper() in ("1", "TRUE", "-1")
    if name in ("VLOOKUP", "HLOOKUP"):
        return len(forms) == 3 or (len(forms) == 4 and texts[3].strip().upper() in ("1", "TRUE"))
    return name == "LOOKUP" and (len(forms) == 2 or forms[2] in ("r", "a", "y"))


def _looked_up(name: str, texts: Sequence[str], forms: Sequence[str]) -> str:
    """A look-up of the nearest smaller value, which the engine does not find before blanks or among equal ones."""
    if not searched(name, forms, texts):
        return ""
    value, cells = texts[0], texts[1]
    way = _DOWNWARDS if name == "MATCH" and texts[-1].strip() == "-1" else _UPWARDS
    if forms[0] in "cx":
        value = f"IF(ISBLANK({value}),0,{value})"

    def position(range_text: str) -> str:
        return _POSITION.format(value=value, range=range_text, **way)

    first_column, first_row = f"INDEX({cells},0,1)", f"INDEX({cells},1,0)"
    if name == "MATCH":
        return position(cells)
    if name == "VLOOKUP":
        return f"IF(({texts[2]})+0<1,#VALUE!,INDEX({cells},{position(first_column)},{texts[2]}))"
    if name == "HLOOKUP":
        return f"IF(({texts[2]})+0<1,#VALUE!,INDEX({cells},{texts[2]},{position(first_row)}))"
    if len(texts) == 3:
        flat, found = f"MIN(ROWS({texts[2]}),COLUMNS({texts[2]}))=1", f"INDEX({texts[2]},"
        in_row, in_column = f"{found}{position(first_row)})", f"{found}{position(first_column)})"
        return f"IF({flat},IF(COLUMNS({cells})>ROWS({cells}),{in_row},{in_column}),#N/A)"
    across = f"INDEX({cells},ROWS({cells}),{position(first_row)})"
    down = f"INDEX({cells},{position(first_column)},COLUMNS({cells}))"
    return f"IF(COLUMNS({cells})>ROWS({cells}),{across},{down})"


def _aggregated(texts: Sequence[str], forms: Sequence[str]) -> str:
    """AGGREGATE as the function that it names, of the ranges that ``left_out.py`` leaves it; else nothing."""
    number, option, *lists = (text.strip() for text in texts)
    if not number.isdecimal() or not 1 <= int(number) <= len(_AGGREGATED) or option not in _OPTIONS:
        return ""
    function = _AGGREGATED[int(number) - 1]
    rank = ""
    if int(number) >= _WITH_RANK:
        if len(lists) != 2 or forms[2] not in "ry":
            return ""
        rank = "," + lists.pop()
    elif set(forms[2:]) != {"r"}:
        return ""
    if option in _WITHOUT_ERRORS and function != "COUNT":  # which counts no errors in any case
        lists = [f"_xlfn.TOCOL({cells},3)" for cells in lists]
    return f"{function}({','.join(lists)}{rank})"


def _halved(name: str, texts: Sequence[str], forms: Sequence[str], call: str) -> str:
    """A search by halving, which is computed in lists without gaps that are in the order that it asks for."""
    place = 5 if name == "XLOOKUP" else 3
    mode = texts[place].strip() if len(texts) > place else ""
    if mode not in ("2", "-2") or forms[0] not in _ONE_VALUE:
        return call
    cells, sign = texts[1], ">" if mode == "2" else "<"
    ordered = f"_xlfn.DROP({_LIST},1){sign}_xlfn.DROP({_LIST},-1)"
    is_whole = f"COUNTA({cells})=ROWS({cells})*COLUMNS({cells})"
    return f"IF(_xlfn.LET({_LIST},_xlfn.TOCOL({cells}),IFERROR(AND({is_whole},AND({ordered})),FALSE)),{call},{UNKNOWN})"


def shown(operand: str) -> str:
    """A value that becomes a text, a number rounded to the digits that Excel shows; the engine shows 17."""
    bare = operand.strip()
    if not bare or bare.startswith('"') or bare.replace(".", "", 1).isdecimal():
        return operand
    return f'IF(ISNUMBER({bare}),VALUE(TEXT({bare},"{_SHOWN}")),{bare})'
