"""Reading XML that people hand over, and texts as it holds them."""

from __future__ import annotations

import html
import re
import xml.parsers.expat

from .problems import FileProblem

_NOT_IN_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
"""Characters that XML cannot hold (XML 1.0, 2.2)."""
_ESCAPE = re.compile("_x([0-9A-Fa-f]{4})_")
_LIKE_AN_ESCAPE = re.compile("_(?=x[0-9A-Fa-f]{4}_)")


def writable(text: str) -> str:
    """A text with a space for each character that XML cannot hold."""
    return _NOT_IN_XML.sub(" ", text)


def literal(text: str) -> str:
    """A text as a workbook holds it: what looks like the escape of a character is none (ISO/IEC 29500-1, 22.9.2.19).

    Else a reader would make ``=1+1`` of ``_x003D_1+1``.
    """
    return _LIKE_AN_ESCAPE.sub("_x005F_", text)


def unescaped(text: str) -> str:
    """A text of a workbook with the characters in it that it holds as escapes (ISO/IEC 29500-1, 22.9.2.19)."""
    return _ESCAPE.sub(lambda match: chr(int(match[1], 16)), text) if "_x" in text else text


def new_parser() -> xml.parsers.expat.XMLParserType:
    """An expat parser; names are ``namespace}tag``. It raises FileProblem for what no workbook needs and could harm."""
    parser = xml.parsers.expat.ParserCreate(namespace_separator="}")
    parser.StartDoctypeDeclHandler = _refuse_document_type
    parser.XmlDeclHandler = _refuse_other_encodings
    return parser


def _refuse_document_type(name: str, *_: object) -> None:
    """No office program writes a document type, and entities in one are an old attack."""
    raise FileProblem(f"the workbook is refused: a part of it declares a document type ({name}), as no workbook needs")


def _refuse_other_encodings(version: str, encoding: str | None, standalone: int) -> None:
    """Office programs write UTF-8 only."""
    if (encoding or "utf-8").lower() not in ("utf-8", "utf8", "us-ascii"):
        raise FileProblem(f"the workbook is refused: a part of it is in {encoding}, and only UTF-8 is read")


def escaped(text: str) -> bytes:
    """A text as the content of an element."""
    return html.escape(text, quote=False).encode()


def attribute(text: str) -> str:
    """A text as the value of an attribute, white space kept."""
    return html.escape(text).translate({ord(sign): f"&#{ord(sign)};" for sign in "\t\n\r"})
