"""Every sentence by which a cell says what is wrong, as the grower reads it.

``data/sentences.tsv`` holds formulas, the error that each shows, and the sentence that GROW_WHY says of it. A sentence
tells what was given, what was expected, and where it helps an example. ``test_bad_input.py`` types the same formulas
into spreadsheets.
"""

from __future__ import annotations

import ast
import csv
import datetime
import itertools
import math
import re
from pathlib import Path
from typing import NamedTuple

import pytest
from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token

from growcells import CellError, functions
from growcells.cells.errors import ERROR_CODES

FILE = Path(__file__).with_name("data") / "sentences.tsv"


class Row(NamedTuple):
    """A row of the file. In a formula Z1 is a cell that holds nothing."""

    formula: str
    error: str
    sentence: str


def sentences() -> list[Row]:
    """The rows of the file."""
    with FILE.open(encoding="utf-8", newline="") as file:
        return [Row(**row) for row in csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE)]


def call_of(formula: str) -> tuple[str, tuple[object, ...]]:
    """The function of a formula, and its cells: constants, arrays of them as ranges, None for a blank cell."""
    opened, *tokens, _ = Tokenizer(formula).items
    cells = ""
    for before, token in itertools.pairwise([opened, *tokens]):
        left_out = token.type == Token.SEP and before.subtype in (Token.OPEN, Token.ARG)
        cells += "None," if left_out else literal(token)
    return opened.value.rstrip("("), ast.literal_eval(f"({cells},)")


def literal(token: Token) -> str:
    """A part of a formula as Python spells it."""
    if token.type == Token.ARRAY:
        return "((" if token.subtype == Token.OPEN else ",),)"
    spelled = {
        Token.ROW: ",),(",
        Token.TEXT: repr(token.value[1:-1].replace('""', '"')),
        Token.LOGICAL: token.value.title(),
        Token.RANGE: "None",
    }
    return spelled.get(token.subtype, token.value)


ROWS = sentences()
TYPED = [(*call_of(row.formula), row.error, row.sentence) for row in ROWS]
# What nobody types into a formula: dates, cells that hold an error, ranges of many rows or none, what no cell can hold.
HANDED_OVER: list[tuple[str, tuple[object, ...], str, str]] = [
    (
        "GROW_DOSE",
        (34, datetime.date(2026, 11, 16)),
        "#VALUE!",
        'rate is 2026-11-16: give a number such as 2 or a text such as "2 g/gal"',
    ),
    (
        "GROW_PERCENT",
        (datetime.date(1931, 6, 11), "N"),
        "#VALUE!",
        "analysis is 1931-06-11: give a text; where a grade turned into a date, type an apostrophe before it, such as "
        "'7-9-26",
    ),
    ("GROW_DOSE", (34, float("inf")), "#NUM!", "rate is inf: give a number that can be measured"),
    ("GROW_DOSE", (10**400, 2), "#NUM!", "volume is too large: give a number that can be measured"),
    ("GROW_DOSE", (34, CellError("#REF!")), "#REF!", "rate is an error already (#REF!): mend that cell first"),
    ("GROW_DOSE", (34, CellError("#REF!", "told before")), "#REF!", "told before"),
    ("GROW_DOSE", ((), 2), "#VALUE!", "a range is empty or ragged: give a rectangle of cells"),
    ("GROW_DOSE", (((1, 2), (3,)), 2), "#VALUE!", "a range is empty or ragged: give a rectangle of cells"),
    (
        "GROW_COST_HEAD",
        (((1,), (CellError("#N/A"),)), 3),
        "#N/A",
        "costs is an error already (#N/A): mend that cell first",
    ),
    (
        "GROW_PERCENT",
        ((("N", 13.3), ("Ca", CellError("#DIV/0!"))), "N"),
        "#DIV/0!",
        "analysis is an error already (#DIV/0!): mend that cell first",
    ),
    (
        "GROW_PPM_TABLE",
        (1, 1, "17-7-21", CellError("#NAME?")),
        "#NAME?",
        "water is an error already (#NAME?): mend that cell first",
    ),
    (
        "GROW_GAPS",
        ((("N", 100),), CellError("#N/A")),
        "#N/A",
        "recipe is an error already (#N/A): mend that cell first",
    ),
    (
        "GROW_TRIAL_FACTORS",
        (((1,), (2,)), ((1, CellError("#N/A")), (1, 2))),
        "#N/A",
        "factors is an error already (#N/A): mend that cell first",
    ),
    (
        "GROW_TRIAL_P",
        ([*range(1, 302)], ["A"] * 301, [*range(1, 302)]),
        "#NUM!",
        "beds holds 301 different names: give a column with at most 200",
    ),
]


@pytest.mark.parametrize(
    ("name", "cells", "error", "sentence"),
    TYPED + HANDED_OVER,
    ids=[
        *(f"{name}-line{line}" for line, (name, *_) in enumerate(TYPED, 2)),
        *(f"{name}-handed-over{number}" for number, (name, *_) in enumerate(HANDED_OVER)),
    ],
)
def test_sentence(name: str, cells: tuple[object, ...], error: str, sentence: str) -> None:
    assert functions()[name].evaluate(cells) == CellError(error, sentence)
    assert error in ERROR_CODES
    if name != "GROW_WHY":
        assert functions()["GROW_WHY"].evaluate((name, *cells)) == sentence


def test_every_limit_has_its_sentence() -> None:
    told = [row.sentence for row in ROWS]
    for function in functions().values():
        for argument in function.arguments:
            if math.isfinite(argument.low) or math.isfinite(argument.high):
                limits = re.compile(rf"{re.escape(argument.help.partition('; ')[0])}, (from|at most|at least) [-\d]")
                assert any(limits.search(sentence) for sentence in told), f"{function.name}, {argument.name}"


def test_formulas_are_read_as_typed() -> None:
    formula = '=GROW_X(-1.5,,"5"" wide",TRUE,Z1,{1,-2;"a",""})'
    assert call_of(formula) == ("GROW_X", (-1.5, None, '5" wide', True, None, ((1, -2), ("a", ""))))
