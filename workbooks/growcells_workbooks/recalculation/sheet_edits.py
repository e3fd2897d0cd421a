"""How values are put into the XML of a worksheet, and formulas into it for the engine, with all other bytes kept."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape

from .sheet_xml import ErrorValue, SheetCell, Value, unescaped

MAX_TEXT = 32_767  # characters in a cell, ibid.
FILE_ERRORS = ("#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A")  # ISO/IEC 29500-1, 18.17.3
_VALUE = rb"""\s*=\s*(?:"[^"]*"|'[^']*')"""
_TYPE = re.compile(rb"<[^\s/>]+(?:\s+(?!t\s*=)[^\s=>]+%s)*(\s+t%s)" % (_VALUE, _VALUE))
# Characters that XML cannot hold, and texts that would be read as such an escape: ISO/IEC 29500-1, 22.9.2.19.
_UNWRITABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff\r]|_(?=x[0-9A-Fa-f]{4}_)")


def patched(data: bytes, edits: Iterable[tuple[int, int, bytes]]) -> bytes:
    """``data`` with the bytes from each start to each end replaced; the edits are in order and do not overlap."""
    pieces: list[bytes] = []
    done = 0
    for start, end, replacement in edits:
        pieces += (data[done:start], replacement)
        done = end
    pieces.append(data[done:])
    return b"".join(pieces)


def value_edits(data: bytes, cell: SheetCell, value: Value | ErrorValue) -> list[tuple[int, int, bytes]]:
    """The edits that put ``value`` into ``cell``; none where it holds that value already.

    Only the ``t`` attribute, the ``<v>`` element and an inline string are touched.
    """
    kind, text = written(value)
    if holds(cell, kind, text):
        return []
    tag = data[cell.start : cell.tag_end]
    prefix = _prefix(tag)
    element = b"" if value is None else b"<%sv>%s</%sv>" % (prefix, text.encode(), prefix)
    empty = tag.endswith(b"/>")
    edits = []
    if cell.type != kind or empty:
        edits.append((cell.start, cell.tag_end, _retyped(tag, kind, opened=empty and bool(element))))
    if cell.value_span is not None:
        start, end = cell.value_span
        old = data[start:end]
        if element and not old.endswith(b"/>"):  # keep the element's own tags, with what attributes they have
            inner_start, inner_end = start + old.index(b">") + 1, start + old.rindex(b"<")
            edits.append((inner_start, inner_end, text.encode()))
        else:
            edits.append((start, end, element))
    elif element:
        place = cell.formula_span[1] if cell.formula_span else cell.tag_end
        closing = b"</%sc>" % prefix if empty else b""
        edits.append((place, place, element + closing))
    if cell.inline_span is not None:
        edits.append((*cell.inline_span, b""))
    return sorted(edits)


def holds(cell: SheetCell, kind: str, text: str) -> bool:
    """Whether the cell's stored value is that already, numbers to the last of the 15 digits that programs show.

    The order of additions differs between programs, and with it the last bits of a double.
    """
    if cell.inline_span is not None or cell.rich:
        return False
    if not kind:
        return cell.value_span is None
    if cell.value_span is None or cell.type != kind:
        return False
    if kind != "n":
        return cell.stored == unescaped(text)
    try:
        return math.isclose(float(cell.stored), float(text), rel_tol=1e-14, abs_tol=0.0)
    except ValueError:
        return False


def written(value: Value | ErrorValue) -> tuple[str, str]:
    """The ``t`` attribute and the escaped text of ``<v>`` for a value: ISO/IEC 29500-1, 18.18.11."""
    if value is None:
        return "", ""
    if isinstance(value, ErrorValue):
        # The later errors, #SPILL! and #CALC!, lie in rich-value parts of the workbook ([MS-XLSX] 2.3.6) to which the
        # cell's vm attribute points. Beside it the cell's own value is #VALUE!, and only that is written here.
        return "e", value.code if value.code in FILE_ERRORS else "#VALUE!"
    if isinstance(value, bool):
        return "b", "1" if value else "0"
    if isinstance(value, str):
        if len(value) > MAX_TEXT:
            return "e", "#VALUE!"
        return "str", escape(_UNWRITABLE.sub(lambda match: f"_x{ord(match[0]):04X}_", value))
    if not math.isfinite(value):
        return "e", "#NUM!"
    return "n", repr(value).removesuffix(".0")


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


def replaced_formulas(data: bytes, cells: Sequence[SheetCell], formulas: dict[tuple[int, int], str]) -> bytes:
    """The sheet for the engine: each formula as given there; a cell without one keeps its stored value.

    Values that an array formula puts into other cells are taken out, since they are its results, not inputs.
    """
    edits = []
    for cell in cells:
        formula = formulas.get(cell.place)
        if cell.formula_span is None:
            if cell.anchor is not None and cell.anchor.place in formulas:
                edits.append((cell.start, cell.end, b""))
        else:
            tag = data[cell.start : cell.tag_end]
            if formula is None:
                edits.append((*cell.formula_span, b""))
            else:
                prefix = _prefix(tag)
                text = b"%s<%sf>%s</%sf></%sc>" % (
                    _retyped(tag, "", opened=False),
                    prefix,
                    escape(formula).encode(),
                    prefix,
                    prefix,
                )
                edits.append((cell.start, cell.end, text))
    return patched(data, edits)
