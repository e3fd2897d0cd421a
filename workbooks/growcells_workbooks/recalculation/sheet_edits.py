"""How values are put into the XML of a worksheet and read from it, and formulas into it for the engine."""

from __future__ import annotations

import cmath
import html
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from growcells.cells.errors import ERROR_CODES
from growcells.cells.kinds import LONGEST_TEXT

from ..gate.safe_xml import escaped, unescaped
from .cells import ErrorValue, Value, cell_name
from .days import day_number
from .sheet_xml import SheetCell, number_in

ARRAY_MARK = "{="
"""Before a formula for the engine that computes on arrays."""
_VALUE = rb"""\s*=\s*(?:"[^"]*"|'[^']*')"""
_TYPE = re.compile(rb"<[^\s/>]+(?:\s+(?!t\s*=)[^\s=>]+%s)*(\s+t%s)" % (_VALUE, _VALUE))
# Characters that XML cannot hold, and texts that would be read as such an escape: ISO/IEC 29500-1, 22.9.2.19.
_UNWRITABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff\r]|_(?=x[0-9A-Fa-f]{4}_)")

_MOST_FIGURES = 9
"""Of the number of a shared text: no workbook has a milliard of them."""

Edit = tuple[int, int, bytes]
"""What bytes are replaced, from the first to one past the last, and by what."""


def patched(data: bytes, edits: Iterable[Edit]) -> bytes:
    """``data`` with the edits made, which are in order and do not overlap."""
    pieces: list[bytes] = []
    done = 0
    for start, end, replacement in edits:
        pieces += (data[done:start], replacement)
        done = end
    pieces.append(data[done:])
    return b"".join(pieces)


def value_edits(data: bytes, cell: SheetCell, value: Value | ErrorValue) -> list[Edit]:
    """The edits that put ``value`` into ``cell``; none where it holds that value already."""
    return [] if holds(cell, value) else new_value_edits(data, cell, value)


def new_value_edits(data: bytes, cell: SheetCell, value: Value | ErrorValue) -> list[Edit]:
    """The edits that put ``value`` into ``cell``, which holds another one.

    Only the ``t`` attribute, the ``<v>`` element and an inline string are touched.
    """
    kind, text = written(value)
    if kind == cell.type == "n" and cell.stored_span is not None and cell.inline_span is None:  # nearly always
        return [(*cell.stored_span, text.encode())]
    edits: list[Edit] = []
    is_empty = cell.tag_end == cell.end  # <c …/>
    if cell.type != kind or is_empty:
        tag = data[cell.start : cell.tag_end]
        edits.append((cell.start, cell.tag_end, _retyped(tag, kind, opened=is_empty and bool(kind))))
    if kind and cell.stored_span is not None:  # keep the element's own tags, with what attributes they have
        edits.append((*cell.stored_span, text.encode() if kind == "n" else escaped(text)))
    elif cell.value_span is not None:
        start, end = cell.value_span
        edits.append((start, end, _value_element(_prefix(data[start:end]), kind, text)))
    elif kind:
        prefix = _prefix(data[cell.start : cell.tag_end])
        before = cell.formula_span or cell.mark_span
        place = before[1] if before else cell.tag_end
        closing = b"</%sc>" % prefix if is_empty else b""
        edits.append((place, place, _value_element(prefix, kind, text) + closing))
    if cell.inline_span is not None:
        edits.append((*cell.inline_span, b""))
        edits.sort()
    return edits


def _value_element(prefix: bytes, kind: str, text: str) -> bytes:
    return b"<%sv>%s</%sv>" % (prefix, escaped(text), prefix) if kind else b""


def holds(cell: SheetCell, value: Value | ErrorValue) -> bool:
    """Whether the cell's stored value is that already, numbers to the last of the 15 digits that programs show.

    The order of additions differs between programs, and with it the last bits of a double.
    """
    if cell.inline_span is not None or cell.rich:
        return False
    if isinstance(value, float) and cell.type in ("n", "d") and math.isfinite(value):
        stored = stored_number(cell)
        return stored is not None and math.isclose(stored, value, rel_tol=1e-14, abs_tol=0.0)
    kind, text = written(value)
    if not kind:
        return cell.value_span is None
    return cell.value_span is not None and cell.type == kind and cell.stored == text


def may_hold(cell: SheetCell, value: Value | ErrorValue) -> bool:
    """Whether the cell may hold the value, or one that differs from it in its last digits; quick to see."""
    if cell.value_span is None:
        return value is None
    if value.__class__ is float:
        stored = stored_number(cell)
        return stored is None or agrees(stored, value)
    return value.__class__ is not str or cell.type in ("str", "e")


def written(value: Value | ErrorValue) -> tuple[str, str]:
    """The ``t`` attribute and the text of ``<v>`` for a value, both empty for none: ISO/IEC 29500-1, 18.18.11."""
    if isinstance(value, float):
        return ("n", repr(value).removesuffix(".0")) if math.isfinite(value) else ("e", "#NUM!")
    if isinstance(value, bool):
        return "b", "1" if value else "0"
    if isinstance(value, str):
        if len(value) > LONGEST_TEXT:
            return "e", "#VALUE!"
        return "str", _UNWRITABLE.sub(lambda match: f"_x{ord(match[0]):04X}_", value)
    if value is None:
        return "", ""
    # The later errors, #SPILL! and #CALC!, lie in rich-value parts of the workbook ([MS-XLSX] 2.3.6) to which the
    # cell's vm attribute points. Beside it the cell's own value is #VALUE!, and only that is written here.
    return "e", value.code if value.code in ERROR_CODES else "#VALUE!"


def _prefix(tag: bytes) -> bytes:
    """``x:`` for the tag ``<x:c …>``, nothing for ``<c …>``."""
    if tag.startswith((b"<c ", b"<v>")):  # nearly always
        return b""
    name = tag[1:].split(None, 1)[0].rstrip(b"/>")
    return name[: name.index(b":") + 1] if b":" in name else b""


def _retyped(tag: bytes, kind: str, opened: bool) -> bytes:
    """The cell's tag with the type ``kind`` and the rest as it was; an empty element's made an opening tag."""
    match = _TYPE.match(tag)
    if kind in ("", "n"):
        if match is not None and (kind == "" or match[1].split(b"=")[1].strip(b"\"' \t\r\n") != b"n"):
            tag = tag[: match.start(1)] + tag[match.end(1) :]
    elif match is not None:
        tag = tag[: match.start(1)] + b' t="%s"' % kind.encode() + tag[match.end(1) :]
    else:
        end = len(tag) - (2 if tag.endswith(b"/>") else 1)
        while tag[end - 1 : end].isspace():
            end -= 1
        tag = tag[:end] + b' t="%s"' % kind.encode() + tag[end:]
    return tag[:-2].rstrip() + b">" if opened else tag


class SharedFormula(NamedTuple):
    """A formula that cells of a sheet share, which the engine then reads once; its text stands in the first of them."""

    number: int
    text: str = ""

    def cell(self, name: str, prefix: str = "") -> str:
        """The XML of a cell with it; no element of it is closed in itself, as those of blank cells are."""
        reference = f' ref="{name}"' if self.text else ""
        text = html.escape(self.text, quote=False) if self.text else ""
        return (
            f'<{prefix}c r="{name}"><{prefix}f t="shared"{reference} si="{self.number}">'
            f"{text}</{prefix}f><{prefix}v/></{prefix}c>"
        )


def engine_edits(
    data: bytes, cells: Sequence[SheetCell], given: Mapping[tuple[int, int], str | SharedFormula | None]
) -> list[Edit]:
    """The edits that give the engine other formulas than the sheet has.

    A formula with ARRAY_MARK before it is given as one that computes on arrays. Where ``given`` holds None the cell
    keeps its stored value alone, where it holds an empty text it is left out.
    """
    edits: list[Edit] = []
    for cell in cells:
        if cell.mark_span is not None:
            edits.append((*cell.mark_span, b""))
        if cell.formula_span is None or cell.place not in given:
            continue
        formula = given[cell.place]
        if formula is None:
            edits.append((*cell.formula_span, b""))
        elif isinstance(formula, SharedFormula):
            prefix = _prefix(data[cell.start : cell.tag_end])
            edits.append((cell.start, cell.end, formula.cell(cell.name, prefix.decode()).encode()))
        else:
            edits.append((cell.start, cell.end, _engine_cell(data, cell, formula) if formula else b""))
    return edits


def _engine_cell(data: bytes, cell: SheetCell, formula: str) -> bytes:
    """The XML of a cell with a formula for the engine."""
    tag = data[cell.start : cell.tag_end]
    prefix = _prefix(tag)
    if cell.type != "n":
        tag = _retyped(tag, "", opened=False)
    kind = b""
    if cell.area is not None:
        area = cell.area
        last = cell_name(area.last_row, area.last_column)
        kind = b' t="array" ref="%s"' % f"{cell.name}:{last}".encode()
    if formula.startswith(ARRAY_MARK):
        formula = formula.removeprefix(ARRAY_MARK)
        kind = b' t="array" ref="%s"' % cell.name.encode()
        tag = tag[:-1] + b' cm="1">'
    return b"%s<%sf%s>%s</%sf><%sv/></%sc>" % (tag, prefix, kind, escaped(formula), prefix, prefix, prefix)


def stored_value(cell: SheetCell, shared: Sequence[str]) -> Value | ErrorValue:
    """The value that a formula cell stores; ``shared`` is the workbook's shared texts."""
    if not cell.has_value:
        return None
    kind, text = cell.type, cell.stored
    if kind in ("n", "d"):
        return stored_number(cell)
    if kind == "b":
        return text.strip() in ("1", "true")
    if kind == "e":
        return ErrorValue(text)
    if kind == "s":
        number = int(text) if text.isdecimal() and len(text) <= _MOST_FIGURES else len(shared)
        return shared[number] if number < len(shared) else None
    return unescaped(text)


def stored_number(cell: SheetCell) -> float | None:
    """The number that a cell stores, strict Open XML that of a day as the day; None where it is none."""
    if cell.value_span is None:
        return None
    try:
        return day_number(cell.stored) if cell.type == "d" else number_in(cell.stored)
    except ValueError:
        return None


def total_of(value: float) -> str:
    """A formula of this value that SUBTOTAL leaves out."""
    return f"SUBTOTAL(9,{value!r})"


def agrees(stored: Value | ErrorValue, value: Value | ErrorValue) -> bool:
    """Whether two values are the same but for what the order of additions makes of a number."""
    if isinstance(stored, float) and isinstance(value, float):
        return math.isclose(stored, value, rel_tol=1e-9, abs_tol=1e-12)
    if stored in (None, "") and value in (None, ""):
        return True
    if isinstance(stored, str) and isinstance(value, str) and stored[-1:] == value[-1:] in ("i", "j"):
        return stored == value or _same_complex(stored, value)
    return type(stored) is type(value) and stored == value


def _same_complex(stored: str, value: str) -> bool:
    """Whether two texts are the same complex number, as functions of them give it, but for its last digits."""
    try:
        first, second = (complex(text[:-1] + "j") for text in (stored, value))
    except ValueError:
        return False
    return cmath.isclose(first, second, rel_tol=1e-9, abs_tol=1e-12)
