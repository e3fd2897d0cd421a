"""What TEXT is given by its number format, where the engine does not show a number as Excel does.

Number formats: ISO/IEC 29500-1, 18.8.31. Which of them are computed is in ``data/engine_gaps.csv``.
"""

from __future__ import annotations

import re

UNKNOWN = "N({1,2})"
"""For this the engine gives an error of its own: that is not computed."""
MARCH_1900 = 61
"""The first day on which the calendars of Excel and of the engine agree."""
LAST_DAY = 2_958_465
"""9999-12-31, Excel's last one."""
_LITERAL = re.compile(r'""[^"]*""|\\.|_.|\*.|\[[^\]]*\]')
"""What a format shows as it is: texts, signs, spaces as wide as a sign, fillings, colours."""
_DIGITS = re.compile(r"[#0?][#0?,]*(?:\.([#0?]*))?")
_NO_NUMBER = re.compile(r"[A-Za-z/@]")
_GENERAL = re.compile(r'"general"', re.IGNORECASE)
_CLOCK_FORMAT = re.compile(r'"[^"]*[hs][^"]*"', re.IGNORECASE)
_PART_OF_SECOND = re.compile(r"s\.0", re.IGNORECASE)
_DAY_FORMAT = re.compile(r'"(?=[^"]*[dy]|[^"hs]*m)(?:[ymdhs:/., +-]|am/pm)*"', re.IGNORECASE)
_SECONDS, _HAIR = 86_400, "1E-9"
"""Seconds of a day, and what a time is moved by so that binary fractions do not take it to the second before."""
_EARLY_DAY = f"IF(?<0,?,IF(?<1,{UNKNOWN},IF(?>=60,{UNKNOWN},?+1)))"
"""What the engine is given for days before March 1900; of day 0 and of 1900-02-29 it has none."""
_SHOWN_IN_FULL = (
    f"IF(ISNUMBER(?),IF(ABS(?)<1E11,IF(ROUND(?,0)=?,?,IF(ABS(?)<1E5,IF(ROUND(?,4)=?,?,{UNKNOWN}),{UNKNOWN})),"
    f'{UNKNOWN}),IF(ISLOGICAL(?),?&"",?))'
)
"""Numbers that General shows with all their figures and without an exponent."""
_ROUNDED = f'IF(ISNUMBER(?),IF(ROUND(?,!)+(?>=0),ROUND(?,!),{UNKNOWN}),IF(ISLOGICAL(?),?&"",?))'
"""A number with so many decimals, as short as can be, for it stands in many cells; not a negative one that rounds to
nothing, which is shown with its sign or without."""
_ROUNDED_IN_SECTIONS = "IF(ISNUMBER(?),IF(ROUND(?,!)=0,IF(SIGN(?)<0,?,0),ROUND(?,!)),?)"
"""The same where a section tells the sign, of the smallest number too, which a comparison takes for zero."""


def given_for(text_format: str, value: str) -> str:
    """A value as TEXT has to be given it for a format, both as they stand in a formula.

    The engine rounds halves to even, Excel away from zero.
    """
    if _GENERAL.fullmatch(text_format):
        return _SHOWN_IN_FULL.replace("?", f"({value})")
    places = decimals_of(text_format)
    if places is not None:
        rounded = _ROUNDED_IN_SECTIONS if ";" in text_format else _ROUNDED
        return rounded.replace("!", str(places)).replace("?", f"({value})")
    bare = value
    if _CLOCK_FORMAT.fullmatch(text_format) and not _PART_OF_SECOND.search(text_format):
        value = to_second(value)
    if shows_day(text_format) or _CLOCK_FORMAT.fullmatch(text_format):
        value = f"IF(ISNUMBER({value}),IF(({value})<0,#VALUE!,IF(({value})>={LAST_DAY + 1},#VALUE!,{value})),{value})"
    if shows_day(text_format):
        early = UNKNOWN if "ddd" in text_format.lower() else _EARLY_DAY
        value = f"IF(ISNUMBER({value}),IF(({value})<{MARCH_1900},{early.replace('?', f'({value})')},{value}),{value})"
        value = f"IF(ISBLANK({bare}),{UNKNOWN},{value})"  # day 0
    return value


def shows_day(text_format: str) -> bool:
    """Whether a format is one of days."""
    return _DAY_FORMAT.fullmatch(text_format) is not None


def decimals_of(text_format: str) -> int | None:
    """The decimals of a number that a format shows, where it shows a number and all its sections show as many."""
    if not text_format.startswith('"'):
        return None
    plain = _LITERAL.sub("", text_format[1:-1])
    if _NO_NUMBER.search(plain):
        return None
    found = [(_DIGITS.search(section), 2 * section.count("%")) for section in plain.split(";")]
    places = {len(match[1] or "") + percent if match else None for match, percent in found}
    return places.pop() if len(places) == 1 else None


def to_second(value: str) -> str:
    """A time to the nearest second; a text as it is."""
    return f"IF(ISNUMBER({value}),ROUND(({value})*{_SECONDS},0)/{_SECONDS}+{_HAIR},{value})"
