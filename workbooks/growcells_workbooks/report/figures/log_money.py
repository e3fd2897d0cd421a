"""The currency of a log: that of its number formats, or else the one in the heading of a column of money."""

from __future__ import annotations

import re

from ...reading import GrowLog

_SIGN = r"[$€£¥₹₩₽₺₴₦₱₫฿₪]"
_NAMED = re.compile(r"\[\$([^\-\]]+)")
"""As in [$€-407]: ISO/IEC 29500-1, 18.8.31."""
_QUOTED = re.compile(r'"\s*([^"]*[^\s"\d.,:;/()+*-][^"]*)"')
_CODES = (
    "AED ARS AUD BDT BGN BRL CAD CHF CLP CNY COP CZK DKK EGP EUR GBP HKD HUF IDR ILS INR JPY KES KRW KZT LKR MAD MXN "
    "MYR NGN NOK NZD PEN PHP PKR PLN RON RSD RUB SAR SEK SGD THB TRY TWD UAH USD VND ZAR"
)
"""Codes of ISO 4217."""
_CODE = re.compile(rf"\b(?:{'|'.join(_CODES.split())})\b")
_WORDS = {"dollars": "$", "dollar": "$", "euro": "€", "euros": "€", "pounds sterling": "£"}
MONEY_FIELDS = frozenset({"price", "income"})


def currency(money: str) -> str:
    """The currency in a number format, or "" where it has none."""
    match = _NAMED.search(money) or re.search(f"({_SIGN})", money) or _QUOTED.search(money)
    return match[1].strip() if match else ""


def money_format(log: GrowLog) -> str:
    """The number format of the log's money, with the currency of a heading where the format has none."""
    if currency(log.money):
        return log.money
    for table in log.tables:
        for column in table.columns:
            if column.field in MONEY_FIELDS and (sign := _in_heading(column.heading)):
                quoted = f'"{sign}"' if len(sign) == 1 else f'"{sign} "'
                return f"{quoted}{log.money}"
    return log.money


def finer(money: str) -> str:
    """A number format for prices with two decimals more."""
    return money.replace("0.00", "0.0000") if money.count("0.00") == 1 else money


def _in_heading(heading: str) -> str:
    found = re.search(_SIGN, heading) or _CODE.search(heading)
    if found:
        return found[0]
    words = heading.casefold()
    return next((sign for word, sign in _WORDS.items() if re.search(rf"\b{word}\b", words)), "")
