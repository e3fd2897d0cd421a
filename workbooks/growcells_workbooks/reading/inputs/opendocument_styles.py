"""The number formats of an .ods file, spelled as workbooks of Excel spell them.

Element and attribute names: OpenDocument 1.3 (ISO/IEC 26300), part 3, 16.29 (data styles).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from lxml import etree

from .serials import GENERAL, SHORT_DATE

ORDERLESS_MOMENT = "yyyy-mm-dd h:mm"
"""For a moment whose day and month stand in the order of whoever looks: it says nothing of the order."""
_MOST_PARENTS = 20
"""Styles that stand upon one another; LibreOffice has them one deep. Ours."""
_MOST_DIGITS = 30
_STYLE = "{urn:oasis:names:tc:opendocument:xmlns:style:1.0}"
_NUMBER = "{urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0}"
_SAFE = set(" -/.,:()")
"""Signs that need no quotation marks in a number format."""


class NumberFormats:
    """The number formats of cell styles: those of styles.xml, and what is added of content.xml."""

    def __init__(self, styles: bytes) -> None:
        self._data: dict[str, str] = {}
        self._cells: dict[str, tuple[str, str]] = {}
        """The data style and the parent of each cell style."""
        self._known: dict[str, str] = {}
        parser = etree.XMLParser(resolve_entities=False, no_network=True)
        for element in etree.fromstring(styles, parser):
            self.add(element)

    def add(self, styles: etree._Element) -> None:
        """Take the styles in an element."""
        for style in styles:
            if not isinstance(style.tag, str):
                continue
            name = style.get(f"{_STYLE}name", "")
            if style.tag == f"{_STYLE}style" and style.get(f"{_STYLE}family") == "table-cell":
                data, parent = style.get(f"{_STYLE}data-style-name", ""), style.get(f"{_STYLE}parent-style-name", "")
                self._cells[name] = (data, parent)
            elif style.tag.startswith(_NUMBER):
                self._data[name] = number_format(style)
        self._known.clear()

    def of(self, name: str) -> str:
        """The number format of a cell style, the general one where it has none."""
        known = self._known.get(name)
        if known is None:
            known = self._known[name] = self._sought(name)
        return known

    def _sought(self, name: str) -> str:
        for _ in range(_MOST_PARENTS):
            data, name = self._cells.get(name, ("", ""))
            if data:
                return self._data.get(data, GENERAL)
        return GENERAL


def number_format(style: etree._Element) -> str:
    """A data style as a number format."""
    tags = {part.tag for part in style}
    if style.get(f"{_NUMBER}automatic-order") == "true" and f"{_NUMBER}day" in tags:
        return ORDERLESS_MOMENT if f"{_NUMBER}hours" in tags else SHORT_DATE
    text = "".join(_piece(part, style) for part in style if isinstance(part.tag, str))
    return text or GENERAL


def _piece(part: etree._Element, style: etree._Element) -> str:
    name = part.tag.removeprefix(_NUMBER)
    return _PIECES[name](part, style) if name in _PIECES else ""


def _is_long(part: etree._Element) -> bool:
    return part.get(f"{_NUMBER}style") == "long"


def _letters(letter: str, short: int, long: int) -> Callable[[etree._Element, etree._Element], str]:
    return lambda part, _: letter * (long if _is_long(part) else short)


def _month(part: etree._Element, _: etree._Element) -> str:
    named = part.get(f"{_NUMBER}textual") == "true"
    return "m" * (1 + _is_long(part) + 2 * named)


def _hours(part: etree._Element, style: etree._Element) -> str:
    hours = "hh" if _is_long(part) else "h"
    return f"[{hours}]" if style.get(f"{_NUMBER}truncate-on-overflow") == "false" else hours


def _text(part: etree._Element, _: etree._Element) -> str:
    text = part.text or ""
    return text if set(text) <= _SAFE or text == "%" else '"' + text.replace('"', "") + '"'


def _digits(part: etree._Element, _: etree._Element) -> str:
    whole = "0" * max(1, _count(part, "min-integer-digits", 1))
    if part.get(f"{_NUMBER}grouping") == "true":
        whole = "#,##" + whole
    places = _count(part, "decimal-places", -1)
    # Without a number of places, as many are shown as the number has.
    return GENERAL if places < 0 else whole + ("." + "0" * places if places else "")


def _count(part: etree._Element, name: str, default: int) -> int:
    text = part.get(f"{_NUMBER}{name}", "")
    return min(int(text[:9]), _MOST_DIGITS) if text.isdecimal() else default


_PIECES: Mapping[str, Callable[[etree._Element, etree._Element], str]] = {
    "day": _letters("d", 1, 2),
    "day-of-week": _letters("d", 3, 4),
    "month": _month,
    "year": _letters("y", 2, 4),
    "hours": _hours,
    "minutes": _letters("m", 1, 2),
    "seconds": _letters("s", 1, 2),
    "am-pm": lambda part, style: "AM/PM",
    "number": _digits,
    "scientific-number": lambda part, style: "0.00E+00",
    "text": _text,
    "currency-symbol": _text,
}
