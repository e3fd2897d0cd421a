"""Calls of functions of texts as the engine is given them: see ``rewriting.py``."""

from __future__ import annotations

from .native_call import ALL, NativeCall
from .number_formats import UNKNOWN, given_for, shows_day

_SHOWN = "0.00000000000000E+00"
"""15 significant digits: Excel specifications and limits, "number precision"."""
TAKES_TEXT: dict[str, tuple[int, ...]] = {
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
    "CONCATENATE": ALL,
    "CONCAT": ALL,
    "TEXTJOIN": ALL[2:],
}
"""The arguments that functions make texts of."""
_TAKES_NUMBER = {"LEFT": (1,), "RIGHT": (1,), "MID": (1, 2), "REPT": (1,)}
"""The arguments of functions of texts that are numbers."""
_ASCII, _CODES = 128, 256
_ROMAN = bytes(range(_ASCII, _CODES)).decode("mac_roman").replace('"', '""')
"""What CHAR gives from 128 on in Excel for Mac; elsewhere it is what the engine gives, the code page of Windows."""


def shown(operand: str) -> str:
    """A value that becomes a text, a number rounded to the digits that Excel shows."""
    bare = operand.strip()
    if not bare or bare.startswith('"') or bare.replace(".", "", 1).isdecimal():
        return operand
    return f'IF(ISNUMBER({bare}),VALUE(TEXT({bare},"{_SHOWN}")),{bare})'


def made_texts(call: NativeCall) -> str:
    """A call whose arguments become texts, and some of them numbers."""
    texts = list(call.texts)
    for index in TAKES_TEXT[call.name]:
        if index < len(call.forms) and call.forms[index] in "cx":
            texts[index] = shown(texts[index])
    for index in _TAKES_NUMBER.get(call.name, ()):
        if index < len(call.forms) and call.forms[index] in "cxtl":
            texts[index] = f"(({texts[index]})+0)"
    return call.of(*texts).text


def formatted(call: NativeCall) -> str | None:
    """TEXT, its number rounded as Excel rounds."""
    if len(call.texts) != 2:
        return None
    value, text_format = call.texts[0], call.texts[1].strip()
    if text_format == '""':
        return f'IF(ISNUMBER({value}),IF({value}<0,"-",""),IF(ISBLANK({value}),"",{UNKNOWN}))'
    if call.days_before and shows_day(text_format):
        value = f"IF(ISNUMBER({value}),{value}+{call.days_before},{value})"
    return call.of(given_for(text_format, value), call.texts[1]).text


def char_of_macintosh(call: NativeCall) -> str | None:
    """CHAR with the codes of Excel for Mac."""
    if not call.of_macintosh or len(call.forms) != 1 or not call.is_of_values:
        return None
    code = f"({call.inside})+0"
    roman = f'MID("{_ROMAN}",INT({code})-{_ASCII - 1},1)'
    return f"IF({code}<{_ASCII},{call.text},IF({code}<{_CODES},{roman},{call.text}))"


def code_of_macintosh(call: NativeCall) -> str | None:
    """CODE with the codes of Excel for Mac."""
    if not call.of_macintosh or len(call.forms) != 1 or not call.is_of_values:
        return None
    inside = call.inside
    return f'IFERROR(FIND(LEFT({inside},1),"{_ROMAN}",1/(LEN({inside})>0))+{_ASCII - 1},{call.text})'


def value_of_text(call: NativeCall) -> str | None:
    """What reads a number or a day from a text, not computed where the engine gives an error."""
    if len(call.forms) != 1:
        return None
    return f"IF(AND(ISERROR({call.text}),NOT(ISERROR({call.inside}))),{UNKNOWN},{call.text})"
