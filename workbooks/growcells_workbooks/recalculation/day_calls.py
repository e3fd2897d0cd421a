"""Calls of functions of days and times as the engine is given them: see ``rewriting.py``."""

from __future__ import annotations

import re

from .native_call import ONE_VALUE, NativeCall
from .number_formats import LAST_DAY, MARCH_1900, UNKNOWN, to_second

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
PARTS_OF_DAY = {"YEAR": "1900", "MONTH": "IF(?<32,1,2)", "DAY": "INT(?)-IF(?<32,0,31)"}
"""What Excel gives for a blank cell and for days before March 1900, where the engine has another calendar."""
COUNTS_ON = frozenset(
    ("EDATE", "EOMONTH", "WEEKNUM", "ISOWEEKNUM", "DATEDIF", "DAYS360", "YEARFRAC", "NETWORKDAYS", "WORKDAY")
)
"""Functions that count on from their first day."""
HOLIDAYS = {"WORKDAY": 2, "NETWORKDAYS": 2, "WORKDAY.INTL": 3, "NETWORKDAYS.INTL": 3}
"""Functions of days of work, and their argument that is holidays."""
_BASES_OF_YEARS = 5
"""How many bases YEARFRAC has: Microsoft's page of it."""
_LATER_YEAR = re.compile(r"\s*(?:190[1-9]|19[1-9][0-9]|[2-9][0-9]{3})\s*")


def in_later_calendar(call: NativeCall) -> str | None:
    """A call in a workbook whose calendar begins later than the engine's."""
    if not call.days_before:
        return None
    places = DAY_PLACES[call.name]
    texts = [f"(({text})+{call.days_before})" if index in places else text for index, text in enumerate(call.texts)]
    moved = call.of(*texts).text
    return f"({moved}-{call.days_before})" if call.name in _GIVES_DAY else moved


def part_of_early_day(call: NativeCall) -> str | None:
    """The year, month or day of the month, those before March 1900 by Excel's calendar."""
    if len(call.forms) != 1:
        return None
    day = f"(({call.inside})+0)"  # a truth too is a number of days
    early = PARTS_OF_DAY[call.name].replace("?", day)
    return f"IF({day}<{MARCH_1900},IF({day}<0,{call.text},{early}),{call.text})"


def part_of_year(call: NativeCall) -> str | None:
    """YEARFRAC with its days in order, and Excel's errors for what they cannot be."""
    if len(call.forms) not in (2, 3) or not set(call.forms) <= ONE_VALUE | {"l", "e"}:
        return None
    first, last, *basis = call.texts
    text = f"IF(({first})+0>({last})+0,{call.of(last, first, *basis).text},{call.text})"
    for day in (last, first):
        text = f"IF(({day})+0<{MARCH_1900},{UNKNOWN},{text})"
    for day in (last, first):
        text = f"IF(({day})+0<0,#NUM!,IF(({day})+0>{LAST_DAY},#NUM!,{text}))"
    for number in basis:
        numbered = f"IF(({number})+0<0,#NUM!,IF(({number})+0>={_BASES_OF_YEARS},#NUM!,{text}))"
        text = f"IF(ISLOGICAL({number}),#VALUE!,{numbered})"
    return text


def counted_on(call: NativeCall) -> str | None:
    """What counts on from a day, not computed from one before March 1900 on."""
    if not call.forms or call.forms[0] not in "cnx":
        return None
    return f"IF(({call.texts[0]})+0<{MARCH_1900},{UNKNOWN},{call.text})"


def without_holidays(call: NativeCall) -> str | None:
    """What counts days of work, not computed where a holiday is a text."""
    place = HOLIDAYS[call.name]
    return UNKNOWN if call.forms[place : place + 1] == ("t",) else None


def part_of_time(call: NativeCall) -> str | None:
    """The hour, minute or second of a time to the nearest second."""
    if len(call.forms) != 1 or call.forms[0] not in "cnx":
        return None
    return f"{call.name}({to_second(call.texts[0])})"


def early_date(call: NativeCall) -> str | None:
    """DATE, before March 1900 by Excel's calendar."""
    if len(call.forms) != 3 or _LATER_YEAR.fullmatch(call.texts[0]) or not call.is_of_values:
        return None
    year, month, day = call.texts
    early = f"DATE({year},{month},1)+INT({day})-2"
    return f"IF(DATE({year},{month},1)<{MARCH_1900},IF({early}<0,#NUM!,{early}),{call.text})"


def day_of_week(call: NativeCall) -> str:
    """WEEKDAY: day 7 of 1900 is of the same name as day 0, which is a blank cell."""
    day = f"(({call.texts[0]})+0)"
    return call.of(f"IF({day}<0,{day},IF({day}<1,{day}+7,{day}))", *call.texts[1:]).text


def days_all_there(call: NativeCall) -> str | None:
    """XIRR and XNPV, not computed where days are missing."""
    if "r" not in call.forms or len(call.forms) < 2:
        return None
    days = call.texts[1] if call.name == "XIRR" else call.texts[-1]
    return f"IF(COUNT({days})<ROWS({days})*COLUMNS({days}),{UNKNOWN},{call.text})"
