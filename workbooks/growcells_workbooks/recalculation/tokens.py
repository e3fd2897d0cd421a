"""Formulas taken apart into tokens, as files hold them: English names, commas, references as A1.

Grammar: ISO/IEC 29500-1, 18.17.2, and [MS-XLSX] 2.2.2 for table references and prefixes.
"""

from __future__ import annotations

import re
from enum import Enum, auto
from typing import NamedTuple

# openpyxl has a reader of formulas too, but to import it takes longer than to compute a small log, and it does not
# tell a reference from a name.

FIRST_MARK = 0xF0000
"""Private-use characters from here on stand for the moving references of a formula, the first for the first."""
OWN_ROW = "\ue010"
"""Stands for the number of the row that the formula stands in."""

_MARK = "[\U000f0000-\U000ffffd]"
_CELL = rf"(?:\$?[A-Za-z]{{1,3}}\$?[1-9][0-9]{{0,6}}(?![\w.(\[])|{_MARK})"
_COLUMNS = r"\$?[A-Za-z]{1,3}:\$?[A-Za-z]{1,3}(?![\w.(\[])"
_ROWS = r"\$?[0-9]{1,7}:\$?[0-9]{1,7}(?![\w.(\[])"
_NAME = r"[^\W\d][\w.?\\]*|\\[\w.?\\]*"
_SCOPE = r"(?:'(?:[^']|'')+'|(?:\[[^\[\]'!]*\])?(?:[\w.]+(?::[\w.]+)?)?)!"
_BRACKETS = r"\[(?:[^\[\]']|'.|\[(?:[^\[\]']|'.)*\])*\]"


class Kind(Enum):
    """What a token is."""

    TEXT = auto()
    NUMBER = auto()
    TRUTH = auto()
    ERROR = auto()
    AREA = auto()
    TABLE = auto()
    NAME = auto()
    CALL = auto()
    OPEN = auto()
    CLOSE = auto()
    ARRAY = auto()
    ARRAY_END = auto()
    SEPARATOR = auto()
    OPERATOR = auto()
    SPACE = auto()


class Token(NamedTuple):
    """A piece of a formula. ``scope`` is the sheet of a reference or the origin of a function, with its ``!``."""

    kind: Kind
    text: str
    scope: str = ""


_TOKEN = re.compile(
    rf"""
    (?P<TEXT>"(?:[^"]|"")*")
  | (?P<SPACE>[ \r\n\t]+)
  | (?P<ERROR>\#(?:NULL!|DIV/0!|VALUE!|REF!|NAME\?|NUM!|N/A|GETTING_DATA|SPILL!|CALC!))
  | (?P<scope>{_SCOPE})?(?:
        (?P<CALL>(?:{_NAME})\()
      | (?P<AREA>{_COLUMNS}|{_ROWS}|{_CELL}(?::{_CELL})?)
      | (?P<TABLE>(?:{_NAME})?{_BRACKETS})
      | (?P<LOST>\#REF!)
      | (?P<NAME>{_NAME})
    )
  | (?P<NUMBER>(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[Ee][+-]?[0-9]+)?)
  | (?P<OPEN>\() | (?P<CLOSE>\)) | (?P<ARRAY>\{{) | (?P<ARRAY_END>\}})
  | (?P<SEPARATOR>[,;])
  | (?P<OPERATOR><>|<=|>=|[-+*/^&=<>%:@\#])
    """,
    re.VERBOSE | re.DOTALL,
)


class NotComputed(Exception):
    """A formula that cannot be computed here; the text says why, in a few words."""


class Marked(Exception):
    """A name in the formula looks like a cell, and was taken for a moving reference."""


def tokens_of(formula: str) -> list[Token]:
    """The tokens of a formula without its equals sign; raises NotComputed where it is none."""
    tokens: list[Token] = []
    place = 0
    while place < len(formula):
        match = _TOKEN.match(formula, place)
        if match is None or match.lastgroup is None:
            raise NotComputed(f"the formula cannot be read from {formula[place : place + 10]!r} on")
        text = match[match.lastgroup]
        kind = Kind.ERROR if match["LOST"] else Kind[match.lastgroup]
        if kind is Kind.NAME and text.upper() in ("TRUE", "FALSE") and not match["scope"]:
            kind = Kind.TRUTH
        tokens.append(Token(kind, text, match["scope"] or ""))
        place = match.end()
    return tokens
