"""Reading XML that people hand over, and texts in it."""

from __future__ import annotations

import html
import xml.parsers.expat

from .problems import FileProblem


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
