"""Calls of functions of texts as the engine is given them: see ``rewriting.py``."""

from __future__ import annotations

from .native_call import ALL, NativeCall
from .number_formats import UNKNOWN, decimals_of, given_for, shows_day
from .number_texts import DAY_AND_MONTH, DAY_OR_MONTH, LIKE_A_NUMBER, SURE_NUMBER

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
BYTES: dict[str, tuple[int, ...]] = {
    "LENB": (0,),
    "LEFTB": (0,),
    "RIGHTB": (0,),
    "MIDB": (0,),
    "REPLACEB": (0, 3),
    "FINDB": (0, 1),
    "SEARCHB": (0, 1),
}
"""Functions that count bytes, and the arguments that are texts."""
_IS_NUMBER = "IF(ISTEXT({value}),ISNUMBER(VALUE({value})),FALSE)"
"""Whether a value is a text that TEXT takes for a number; the engine leaves it as it is."""
_PLAIN_FORMAT = "^(#,##)?0([.]0+)?$"
_JOINED = "_xlpm.growjoined"
_MOST_SIGNS = 16
"""Of a number with no more than 15 digits, but for one with a sign or a nought before its point."""
_ODD = (
    f'IF(ISNUMBER({{value}}),(LEN({{value}}&"")>{_MOST_SIGNS})+0,'
    "IF(ISTEXT({value}),(LEN({value})=0)*{leaves_out},0))"
)
"""Whether a value is joined in another way by the engine."""
_READ = "_xlpm.growread"
_NUMBER_READ = (
    f'IF(ISTEXT({_READ}),IF(_xlfn.REGEXTEST({_READ},"{LIKE_A_NUMBER}"),IF(_xlfn.REGEXTEST({_READ},"{SURE_NUMBER}"),'
    f'{_READ},IF(_xlfn.REGEXTEST({_READ},"[0-9]"),{UNKNOWN},{_READ})),{_READ}),{_READ})'
)
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


def read_as_number(text: str) -> str:
    """A computed text that is taken for a number, not computed where programs take it for different ones."""
    return f"_xlfn.LET({_READ},{text},{_NUMBER_READ})"


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


def joined(call: NativeCall) -> str:
    """TEXTJOIN or CONCAT, not computed of ranges with empty texts that are to be left out, which the engine joins, nor
    with numbers of more digits than Excel shows."""
    text = made_texts(call)
    start, leaves_out = (2, "1") if call.name == "TEXTJOIN" else (0, "0")
    if start and len(call.texts) > 1 and call.texts[1].strip().upper() in ("FALSE", "0"):
        leaves_out = "0"
    for given, form in zip(call.texts[start:], call.forms[start:], strict=True):
        if form == "t" and leaves_out == "1" and given.strip() == '""':
            return UNKNOWN
        if form in "cxr":
            many = f"_xlfn.MAP({given},_xlfn.LAMBDA({_JOINED},{_ODD.format(value=_JOINED, leaves_out=leaves_out)}))"
            odd = f"SUM({many})" if form == "r" else _ODD.format(value=given, leaves_out=leaves_out)
            text = f"IF({odd}>0,{UNKNOWN},{text})"
    return text


def of_single_bytes(call: NativeCall) -> str:
    """A function of the bytes of texts, not computed where a sign may have two of them."""
    text = call.text
    for index, given in enumerate(call.texts):
        if index in BYTES[call.name]:
            text = f'IF(_xlfn.REGEXTEST({given},"[^ -~]"),{UNKNOWN},{text})'
    return text


def formatted(call: NativeCall) -> str | None:
    """TEXT, its number rounded as Excel rounds."""
    if len(call.texts) != 2:
        return None
    value, text_format = call.texts[0], call.texts[1].strip()
    if call.forms[0] == "t":
        return f"IF(ISERROR(VALUE({value})),{call.text},{UNKNOWN})"
    if call.forms[1] in "cx":
        return f'IF(_xlfn.REGEXTEST({text_format},"{_PLAIN_FORMAT}"),{_of_plain_format(call)},{UNKNOWN})'
    if text_format == '""':
        return f'IF(ISNUMBER({value}),IF({value}<0,"-",""),IF(ISBLANK({value}),"",{UNKNOWN}))'
    if call.days_before and shows_day(text_format):
        value = f"IF(ISNUMBER({value}),{value}+{call.days_before},{value})"
    text = call.of(given_for(text_format, value), call.texts[1]).text
    places = decimals_of(text_format)
    if places is not None and ";" not in text_format:
        unit = f"1E-{places}"
        text = f'IF(IFERROR(ROUND({value},{places})=-{unit},FALSE),"-"&{call.of(unit, call.texts[1]).text},{text})'
    return text if call.forms[0] == "n" else f"IF({_IS_NUMBER.format(value=value)},{UNKNOWN},{text})"


def _of_plain_format(call: NativeCall) -> str:
    """TEXT with a format that is known when it is computed, one of a number with so many decimals."""
    value, text_format = call.texts
    places = f'MAX(0,LEN({text_format})-FIND(".",{text_format}&"."))'
    rounded = f"ROUND({value},{places})"
    signed = f"IF(({value}<0)*({rounded}>-1.5*10^-{places}),{UNKNOWN},{call.of(rounded, text_format).text})"
    return f"IF({_IS_NUMBER.format(value=value)},{UNKNOWN},IF(ISNUMBER({value}),{signed},{call.text}))"


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
    """What reads a number or a day from a text, not computed where the engine gives an error, nor of a day and a month
    that stand in another order in another language."""
    if len(call.forms) != 1:
        return None
    read = f"IF(AND(ISERROR({call.text}),NOT(ISERROR({call.inside}))),{UNKNOWN},{call.text})"
    if call.forms[0] not in "tcx":
        return read
    order = f'IF(_xlfn.REGEXTEST({_READ},"{DAY_OR_MONTH}"),_xlfn.REGEXTEST({_READ},"{DAY_AND_MONTH}"),TRUE)'
    return f"_xlfn.LET({_READ},{call.inside},IF(IF(ISTEXT({_READ}),{order},TRUE),{read},{UNKNOWN}))"
