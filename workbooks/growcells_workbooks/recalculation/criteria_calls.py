"""Criteria of calls that look through ranges as the engine is given them: see ``rewriting.py``.

A criterion is a text such as ``"<>cat"`` or ``"7-9-26"``, or a value. The engine takes each text that reads like a day
or an amount for that number and finds no text, and takes ``<>`` with a text to ask for texts alone; a text with
an asterisk it takes as it stands.
"""

from __future__ import annotations

import re
from dataclasses import replace

from .look_up_calls import cells_as_ranges
from .native_call import ALL, NativeCall
from .number_formats import UNKNOWN

CRITERIA: dict[str, tuple[int, ...]] = {
    "COUNTIF": (1,),
    "SUMIF": (1,),
    "AVERAGEIF": (1,),
    "COUNTIFS": ALL[1::2],
    "SUMIFS": ALL[2::2],
    "AVERAGEIFS": ALL[2::2],
    "MAXIFS": ALL[2::2],
    "MINIFS": ALL[2::2],
}
"""The arguments that are criteria; the range of each stands before it."""
SPILLED = "ANCHORARRAY("
"""Begins a reference to all cells that an array fills."""
_PLAIN = (
    r"^(=|<>|<=|>=|<|>)?-?([0-9]+[.]?[0-9]*|[.][0-9]+)([eE][-+]?[0-9]+)?%?$"
    r"|^[<>]=?[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}$"
)
"""A number, and a day that begins with the year as a bound, which the engine takes as Excel does."""
_UNKNOWN = r"~~|^=$|^(<|<=|>|>=)[^=>]"
"""A tilde looked for, blank cells alone, a bound that is no plain number: the order of texts, and days and amounts that
languages read as different numbers. The engine has them otherwise."""
_UNEQUAL = r"^<>[^*?~]+$"
_LIKE_A_NUMBER = r"^=?[-+$€£( ]*[0-9][0-9,./: -]*[%)]?[ ]*$"
_ONE, _VARIABLE = "_xlpm.growone", "_xlpm.growcriterion"
_TEXT = "_xlpm.growtext"
_BEGINNING = f'COUNTIF({{cells}},{_TEXT}&"*")'
_SAME = (
    f'COUNTIFS({{cells}},"?"&MID({_TEXT},2,LEN({_TEXT})),{{cells}},LEFT({_TEXT},LEN({_TEXT})-1)&"?")',
    f"COUNTIF({{cells}},{_TEXT})",
)
"""How many cells hold a text that reads like a number, and any other."""
_UNKNOWN_VALUE = UNKNOWN.replace("{", "{{").replace("}", "}}")
_EQUAL_TO = (
    f"_xlfn.LET({_TEXT},{{text}},IF(COUNTIF({{cells}},VALUE({_TEXT}))=0,"
    f'IF({_BEGINNING}={_SAME[0]},{_TEXT}&"*",{_UNKNOWN_VALUE}),IF({_BEGINNING}=0,VALUE({_TEXT}),{_UNKNOWN_VALUE})))'
)
"""A criterion that reads like a number: of texts where the range has no such number, else of that."""
_UNEQUAL_TO = (
    f"_xlfn.LET({_TEXT},{{text}},IF(IFERROR(COUNTIF({{cells}},VALUE({_TEXT}))>0,FALSE),{_UNKNOWN_VALUE},"
    f'IF({_BEGINNING}=IF(ISNUMBER(VALUE({_TEXT})),{_SAME[0]},{_SAME[1]}),"<>"&{_TEXT}&"*",{_UNKNOWN_VALUE})))'
)
"""A criterion of all but a text, where no other text of the range begins with that."""

_CELL = "_xlpm.growd"
DATABASE = frozenset(
    f"D{name}"
    for name in ["AVERAGE", "COUNT", "COUNTA", "GET", "MAX", "MIN", "PRODUCT", "STDEV", "STDEVP", "SUM", "VAR", "VARP"]
)
"""Functions of a list with criteria in cells."""


def _in_variable(criterion: str, cells: str) -> str:
    """A criterion whose text is not known beforehand."""
    given = _VARIABLE
    equal = _EQUAL_TO.format(cells=cells, text=given)
    unequal = _UNEQUAL_TO.format(cells=cells, text=f"MID({given},3,LEN({given}))")
    text = (
        f'IF(_xlfn.REGEXTEST({given},"{_PLAIN}"),{given},IF(_xlfn.REGEXTEST({given},"{_UNEQUAL}"),{unequal},'
        f'IF(_xlfn.REGEXTEST({given},"{_UNKNOWN}"),{UNKNOWN},IF(ISNUMBER(VALUE({given})),{equal},{given}))))'
    )
    return f"_xlfn.LET({given},{criterion},IF(ISTEXT({given}),{text},{given}))"


def _some_odd(criteria: str) -> str:
    """Whether a criterion in a range of them is one that is put another way."""
    return (
        f"SUM(_xlfn.MAP({criteria},_xlfn.LAMBDA({_VARIABLE},IF(ISTEXT({_VARIABLE}),"
        f'IF(_xlfn.REGEXTEST({_VARIABLE},"{_PLAIN}"),0,'
        f'ISNUMBER(VALUE({_VARIABLE}))+_xlfn.REGEXTEST({_VARIABLE},"^[<>=]|~~")),0))))>0'
    )


def with_criteria(call: NativeCall) -> str:
    """A call with its criteria as the engine takes them for what Excel takes them for; a list of them one by one, and
    not computed with several lists."""
    many = "rhay" if call.arrays else "ay"  # of a range, an ordinary formula takes one cell
    lists = [index for index in criteria_of(call) if call.forms[index] in many or SPILLED in call.texts[index]]
    if len(lists) > 1:
        return UNKNOWN
    if lists:
        return _one_by_one(call, lists[0])
    texts, unknown, variables = list(call.texts), [], []
    for index in criteria_of(call):
        form, cells, criterion = call.forms[index], _range(call, index - 1), texts[index].strip()
        if form == "t":
            texts[index] = _literal(criterion, cells)
            if texts[index] not in (criterion, UNKNOWN):
                unknown.append(f"ISERROR({texts[index]})")
        elif form in "cx":
            name = f"{_VARIABLE}{index}"
            variables.append(f"{name},{_in_variable(criterion, cells)}")
            texts[index] = name
            unknown.append(f"ISERROR({name})")
        elif form == "r":
            unknown.append(_some_odd(criterion))
        if texts[index] == UNKNOWN:
            return UNKNOWN
    text = cells_as_ranges(call.of(*texts))
    for condition in unknown:
        text = f"IF({condition},{UNKNOWN},{text})"
    return f"_xlfn.LET({','.join(variables)},{text})" if variables else text


def _one_by_one(call: NativeCall, index: int) -> str:
    """A call for each of a list of criteria: the engine gives nothing for most functions of such a list."""
    texts, forms = list(call.texts), list(call.forms)
    texts[index], forms[index] = _ONE, "x"
    of_one = replace(call, texts=tuple(texts), forms=tuple(forms))
    return f"_xlfn.MAP({call.texts[index]},_xlfn.LAMBDA({_ONE},{with_criteria(of_one)}))"


def criteria_of(call: NativeCall) -> list[int]:
    """Which of its arguments are criteria."""
    return [index for index in range(len(call.forms)) if index in CRITERIA.get(call.name, ())]


def is_no_number(criterion: str) -> bool:
    """Whether a text as a criterion asks for no cell with this number, and so for no text that reads like it."""
    return re.fullmatch(_PLAIN, criterion.removeprefix("=")) is None or criterion[:1] in "<>"


def _range(call: NativeCall, index: int) -> str:
    """The range that a criterion is asked of."""
    text = call.texts[index]
    return f"{text}:{text.rpartition('!')[2]}" if call.forms[index] == "c" else text


def _literal(typed: str, cells: str) -> str:
    """A criterion that is typed in the formula."""
    text = typed[1:-1]
    if re.search(_PLAIN, text) or text in ("", "<>"):
        return typed
    if re.search(_UNKNOWN, text):
        return UNKNOWN
    bare = text.removeprefix("<>").removeprefix("=")
    if re.search(_UNEQUAL, text):
        return _UNEQUAL_TO.format(cells=cells, text=f'"{bare}"')
    if re.search(_LIKE_A_NUMBER, bare):
        return f'IF(ISNUMBER(VALUE("{bare}")),{_EQUAL_TO.format(cells=cells, text=chr(34) + bare + chr(34))},{typed})'
    return typed


def of_database(call: NativeCall) -> str | None:
    """A function of a list with criteria in cells, not computed where a number in these is also a text in the list:
    Excel finds that, the engine does not."""
    if len(call.forms) != 3 or (call.forms[0], call.forms[2]) != ("r", "r"):
        return None
    rows, _, criteria = call.texts
    is_number = f"IF(ISTEXT({_CELL}),IF(ISERROR(VALUE({_CELL})),0,1),0)"
    texts = f"SUM(_xlfn.MAP({rows},_xlfn.LAMBDA({_CELL},{is_number})))"
    return f"IF(COUNT({criteria})=0,{call.text},IF({texts}=0,{call.text},{UNKNOWN}))"
