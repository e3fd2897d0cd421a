"""Calls that look for a value in a range as the engine is given them: see ``rewriting.py``."""

from __future__ import annotations

import re
from collections.abc import Sequence

from .cells import column_number
from .native_call import ALL, ONE_VALUE, NativeCall
from .number_formats import UNKNOWN

NEAREST = "nearest"
"""The form of a call that looks for the nearest smaller value in a range, which is proven by itself."""
RANGES: dict[str, tuple[int, ...]] = {
    "COUNTIF": (0,),
    "SUMIF": (0, 2),
    "AVERAGEIF": (0, 2),
    "COUNTIFS": ALL[::2],
    "SUMIFS": (0, *ALL[1::2]),
    "AVERAGEIFS": (0, *ALL[1::2]),
    "MAXIFS": (0, *ALL[1::2]),
    "MINIFS": (0, *ALL[1::2]),
}
"""The arguments that have to be ranges for the engine."""
_OF_ANY_SIZE = frozenset(("SUMIF", "AVERAGEIF"))
"""Those of them whose ranges need not be of one size: Excel takes of the second one as much as the first has, the
engine as much of the first as the second has."""
_WITH_SIZE = 4
_SIZES = {3: (1, "ROWS"), 4: (2, "COLUMNS")}
"""The arguments of OFFSET that are sizes: which one says where it begins, and what counts that of other cells."""
_GIVES_REFERENCE = re.compile(r"\s*(?:CHOOSE|INDIRECT|OFFSET)\(", re.IGNORECASE)
_MAY_BE_NEGATIVE = ("-n", "c", "x", "g", "v")
_FIXED = re.compile(r"\$?([A-Za-z]{1,3})\$([0-9]+):\$?([A-Za-z]{1,3})\$([0-9]+)")
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
    unknown=UNKNOWN.replace("{", "{{").replace("}", "}}"),  # formatted once more
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


def cells_as_ranges(call: NativeCall) -> str:
    """A call that looks through ranges, each single cell among these made one of one cell; Excel's error where they
    are to be of one size and are not, and as much of the second as the first has where Excel makes them so."""
    places = RANGES[call.name]
    texts = [
        f"{text}:{text.rpartition('!')[2]}" if index in places and form == "c" else text
        for index, (text, form) in enumerate(zip(call.texts, (*call.forms, *ALL), strict=False))
    ]
    text = call.of(*texts).text
    first, *others = [texts[index] for index, form in enumerate(call.forms) if index in places and form in "cr"] or [""]
    sizes = [_size(cells) for cells in (first, *others)]
    alike = [
        f"ROWS({first})=ROWS({cells}),COLUMNS({first})=COLUMNS({cells})"
        for cells, size in zip(others, sizes[1:], strict=True)
        if size is None or size != sizes[0]
    ]
    otherwise = _cut(call.of(*texts), others[0]) if alike and call.name in _OF_ANY_SIZE else "#VALUE!"
    return f"IF(AND({','.join(alike)}),{text},{otherwise})" if alike else text


def _cut(call: NativeCall, cells: str) -> str:
    """The call with as much of its second range as the first has, not computed where that is more than there is."""
    first, *criterion, _ = call.texts
    part = call.of(first, *criterion, f"OFFSET({cells},0,0,ROWS({first}),COLUMNS({first}))").text
    return f"IF(AND(ROWS({first})<=ROWS({cells}),COLUMNS({first})<=COLUMNS({cells})),{part},{UNKNOWN})"


def _size(cells: str) -> tuple[int, int] | None:
    """How many rows and columns a fixed range goes on for, None for one that moves with its formula."""
    match = _FIXED.fullmatch(cells.rpartition("!")[2])
    if match is None:
        return None
    left, top, right, bottom = match.groups()
    return int(bottom) - int(top), column_number(right.upper()) - column_number(left.upper())


def searched(name: str, forms: Sequence[str], texts: Sequence[str]) -> bool:
    """Whether a call looks for the nearest smaller value in a range of cells."""
    if len(forms) < 2 or forms[0] not in ONE_VALUE or forms[1] not in ("r", "a", "y"):
        return False
    if name == "MATCH":
        return len(forms) == 2 or texts[2].strip().upper() in ("1", "TRUE", "-1")
    if name in ("VLOOKUP", "HLOOKUP"):
        return len(forms) == 3 or (len(forms) == 4 and texts[3].strip().upper() in ("1", "TRUE"))
    return name == "LOOKUP" and (len(forms) == 2 or forms[2] in ("r", "a", "y"))


def nearest(call: NativeCall) -> str | None:
    """A look-up of the nearest smaller value, which is looked for cell by cell."""
    return _NEAREST[call.name](call) if searched(call.name, call.forms, call.texts) else None


def of_size(call: NativeCall) -> str | None:
    """OFFSET with a size below none, which goes upwards or to the left, or one that is left out, which is that of the
    cells that it starts from; not computed from cells that a function gives of which the engine takes the value."""
    if call.forms[0] in "xy" and not _GIVES_REFERENCE.match(call.texts[0]):
        return UNKNOWN
    if len(call.forms) < _WITH_SIZE:
        return None
    texts = list(call.texts)
    for size, (place, count) in _SIZES.items():
        form, text = (call.forms[size], texts[size]) if size < len(call.forms) else ("", "")
        if form == "o":
            if call.forms[0] not in "cr":
                return UNKNOWN
            texts[size] = f"{count}({texts[0]})"
        elif form in _MAY_BE_NEGATIVE:
            texts[place] = f"TRUNC({texts[place].strip() or 0})+IF(({text})<0,TRUNC({text})+1,0)"
            texts[size] = f"ABS({text})"
    return call.of(*texts).text


def of_one_index(call: NativeCall) -> str | None:
    """INDEX with one number for a range of rows and columns: Excel's error, but for the whole of it."""
    if call.forms not in (("r", "n"), ("r", "c"), ("r", "x")):
        return None
    cells, number = call.texts
    size = _size(cells)
    if size is not None and 0 in size:
        return None
    return f"IF(AND(ROWS({cells})>1,COLUMNS({cells})>1),IF(({number})=0,{call.text},#REF!),{call.text})"


def whole_match(call: NativeCall) -> str | None:
    """VLOOKUP and HLOOKUP of the very value, which is not computed for 0 where there may be blank cells: the engine
    takes these for 0."""
    if len(call.forms) != 4 or call.forms[0] not in "cnx" or call.texts[3].strip().upper() not in ("0", "FALSE", ""):
        return None
    value, cells, *others = call.texts
    if call.forms[0] == "n" and float(value) != 0:
        return None
    keys = _first_column(cells) if call.name == "VLOOKUP" else _first_row(cells)
    nothing = f"IF(ISNA(MATCH(0,{keys},0)),#N/A,IF(COUNTBLANK({keys})=0,{value},{UNKNOWN}))"
    return call.of(f"IF(ISTEXT({value}),{value},IF({value}=0,{nothing},{value}))", cells, *others).text


def among_others(call: NativeCall) -> str | None:
    """XLOOKUP and XMATCH, not computed where the engine may take a blank cell for 0, or a value of another type for
    the nearest one."""
    place = 4 if call.name == "XLOOKUP" else 2
    mode = call.texts[place].strip() if len(call.texts) > place else ""
    if call.forms[0] not in ONE_VALUE or len(call.forms) < 2 or call.forms[1] != "r":
        return None
    value, cells = call.texts[:2]
    if mode in ("1", "-1"):
        alike = f'IF(ISNUMBER({value}),COUNT({cells}),IF(ISTEXT({value}),COUNTIF({cells},"*"),0))'
        odd = f"IF(ISNA(_xlfn.XMATCH({value},{cells},0)),{alike}<>ROWS({cells})*COLUMNS({cells}),FALSE)"
    elif call.forms[0] in ("t", "v") or (call.forms[0] == "n" and float(value) != 0):
        return None
    else:
        odd = f"IF(ISTEXT({value}),FALSE,IF({value}=0,COUNTBLANK({cells})>0,FALSE))"
    return f"IF({odd},{UNKNOWN},{halved(call) or call.text})"


def _position(call: NativeCall, cells: str) -> str:
    value = f"IF(ISBLANK({call.texts[0]}),0,{call.texts[0]})" if call.forms[0] in "cx" else call.texts[0]
    is_downwards = call.name == "MATCH" and call.texts[-1].strip() == "-1"
    return _POSITION.format(value=value, range=cells, **(_DOWNWARDS if is_downwards else _UPWARDS))


def _first_column(cells: str) -> str:
    return f"INDEX({cells},0,1)"


def _first_row(cells: str) -> str:
    return f"INDEX({cells},1,0)"


def _match(call: NativeCall) -> str:
    return _position(call, call.texts[1])


def _vlookup(call: NativeCall) -> str:
    _, cells, column, *_ = call.texts
    position = _position(call, _first_column(cells))
    return _unless_none(column, position, f"INDEX({cells},{position},{column})")


def _hlookup(call: NativeCall) -> str:
    _, cells, row, *_ = call.texts
    position = _position(call, _first_row(cells))
    return _unless_none(row, position, f"INDEX({cells},{row},{position})")


def _unless_none(number: str, position: str, found: str) -> str:
    """What is found, but #VALUE! in a column or row of a number below 1 where the value looked up is there at all."""
    return f"IF(({number})+0<1,IF(ISERROR({position}),{position},#VALUE!),{found})"


def _lookup(call: NativeCall) -> str:
    _, cells, *results = call.texts
    in_row, in_column = _position(call, _first_row(cells)), _position(call, _first_column(cells))
    if len(results) == 1:
        flat, found = f"MIN(ROWS({results[0]}),COLUMNS({results[0]}))=1", f"INDEX({results[0]},"
        return f"IF({flat},IF(COLUMNS({cells})>ROWS({cells}),{found}{in_row}),{found}{in_column})),#N/A)"
    across = f"INDEX({cells},ROWS({cells}),{in_row})"
    down = f"INDEX({cells},{in_column},COLUMNS({cells}))"
    return f"IF(COLUMNS({cells})>ROWS({cells}),{across},{down})"


_NEAREST = {"MATCH": _match, "VLOOKUP": _vlookup, "HLOOKUP": _hlookup, "LOOKUP": _lookup}


def halved(call: NativeCall) -> str | None:
    """A search by halving, which is computed in lists without gaps that are in the order that it asks for."""
    place = 5 if call.name == "XLOOKUP" else 3
    mode = call.texts[place].strip() if len(call.texts) > place else ""
    if mode not in ("2", "-2") or call.forms[0] not in ONE_VALUE:
        return None
    cells, sign = call.texts[1], ">" if mode == "2" else "<"
    ordered = f"_xlfn.DROP({_LIST},1){sign}_xlfn.DROP({_LIST},-1)"
    is_whole = f"COUNTA({cells})=ROWS({cells})*COLUMNS({cells})"
    is_ordered = f"_xlfn.LET({_LIST},_xlfn.TOCOL({cells}),IFERROR(AND({is_whole},AND({ordered})),FALSE))"
    return f"IF({is_ordered},{call.text},{UNKNOWN})"
