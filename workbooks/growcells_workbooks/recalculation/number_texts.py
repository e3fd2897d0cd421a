"""Texts that read like numbers, as patterns that Python and the engine read alike."""

from __future__ import annotations

ARITHMETIC = frozenset("+-*/^%")
"""The operators that make a number of each text that they are given."""
_MONTHS = (
    "jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sep(?:t|tember)?|oct(?:ober)?"
    "|nov(?:ember)?|dec(?:ember)?"
)
LIKE_A_NUMBER = rf"^(?i:[-+0-9 \u00a0\u202f,./:()$€£¥%']|{_MONTHS}|am|pm)+$"
"""What may be an amount, a day or a time to a program, if it has a figure."""
SURE_NUMBER = (
    r"^(?:\s*[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?%?\s*"
    r"|[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}|(?:[01]?[0-9]|2[0-3]):[0-5][0-9](?::[0-5][0-9])?(?: ?[AaPp][Mm])?)$"
)
"""Plain numbers, days that begin with the year, times of the day: what all programs read alike."""
DAY_OR_MONTH = r"^\s*0?([1-9]|1[0-2])[-/. ]0?([1-9]|1[0-2])[-/. ][0-9]"
"""A day and a month in figures, which languages have in either order."""
DAY_AND_MONTH = rf"^\s*(?:{'|'.join(f'0?{number}[-/. ]0?{number}' for number in range(1, 13))})[-/. ]"
"""Where it does not matter."""
