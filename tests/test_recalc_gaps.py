"""Each gap of the engine that is worked around: the day the engine is mended its row fails here and can go."""

from __future__ import annotations

import csv
import json
import random
import re
import time
from itertools import product
from pathlib import Path

import ironcalc
import pytest

import growcells_workbooks
from growcells_workbooks.gate import silent
from growcells_workbooks.recalculation.doubtful_numbers import may_be_another_number
from growcells_workbooks.recalculation.package import Package
from growcells_workbooks.recalculation.rewriting import CASES, Case
from growcells_workbooks.recalculation.workbook_formulas import read_formulas
from recalc_against_excel import DIFFERING
from recalc_books import write_book

ROWS = list(
    csv.DictReader((Path(growcells_workbooks.__file__).parent / "data/engine_gaps.csv").read_text().splitlines())
)
WITH_FORMULA = [row for row in ROWS if row["engine"]]


def engine_value(formula: str, cells: dict[str, float]) -> object:
    """What the bare engine gives for a formula in J50."""
    model = ironcalc.create("gap", "en", "UTC", "en")
    for name, value in cells.items():
        match = re.fullmatch(r"([A-Z]+)([0-9]+)", name)
        assert match is not None
        model.update_cell_with_number(0, int(match[2]), ironcalc.column_number_from_name(match[1]), float(value))
    model.update_cell_with_formula(0, 50, 10, formula)
    model.evaluate()
    return model.get_cell_value(0, 50, 10)


def shown(value: object) -> str:
    """A value as the table writes it."""
    if isinstance(value, bool):
        return str(value).lower()
    return f"{value:g}" if isinstance(value, float) else str(value)


@pytest.mark.parametrize("row", WITH_FORMULA, ids=lambda row: row["formula"])
def test_the_engine_still_differs(row: dict[str, str]) -> None:
    value = shown(engine_value(row["formula"], json.loads(row["cells"] or "{}")))
    assert value == row["engine"]
    assert value != row["excel"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.rewriter.__name__)
def test_each_case_in_which_calls_are_put_another_way_is_a_row(case: Case) -> None:
    rows = {row["function"] for row in ROWS if not row["where"]}
    assert case.why and rows & {*case.functions}


def test_rows() -> None:
    """Each row has its source and its reason."""
    assert len(ROWS) >= 10
    assert all(row["why"] and row["source"] for row in ROWS)


FORMULAS = ('TEXT(A1,"{}"*SORT())', 'TEXT(A1,"{}")', "COUNT({})", "{}(")
LONG = 400
"""Signs in a row: a pattern that could read them in more than one way would try them all until the end of days."""


def test_no_pattern_takes_long() -> None:
    patterns = [re.compile(row["where"], re.IGNORECASE) for row in ROWS if row["where"]]
    signs = ("y", "m", "d", "h", "s", "0", "#", ",#", "-0", "$", '""', "AM/PM", "(", "{", "A1,", "TEXT(", ";0", "_(")
    start = time.process_time()
    for formula, sign in product(FORMULAS, signs):
        text = formula.replace("{}", sign * LONG)
        for pattern in patterns:
            pattern.search(text)
    assert time.process_time() - start < 20


def test_what_comes_out_otherwise_has_a_reason() -> None:
    """Each formula of the suites that is not computed as Excel stored it is listed once, with its reason."""
    with DIFFERING.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert rows
    assert len({(row["workbook"], row["cell"]) for row in rows}) == len(rows)
    assert all(row["formula"].startswith("=") and row["excel"] and row["reason"] for row in rows)


@pytest.mark.parametrize("piece", ["eember", "may", "jan ", "1e", "am", "septem", "-1", ",", " ", "1:", "t"])
def test_a_long_text_is_looked_at_once(piece: str) -> None:
    """Whether programs may take it for different numbers; looked at in all ways it would never end."""
    for text in (piece * 5_000, "1" + piece * 5_000 + "!", piece * 5_000 + "1"):
        begin = time.process_time()
        may_be_another_number(text)
        assert time.process_time() - begin < 0.1


ARGUMENTS = ('"cat"', '""', "5", "-1", "A1", "A1:B3", "A:A", "{1,2;3,4}", "A1:A3+1", "SUM(A1:A3)", "TRUE", '"<>a"', "")


@pytest.mark.parametrize("name", sorted({name for case in CASES for name in case.functions}))
def test_no_arguments_are_a_fault(tmp_path: Path, name: str) -> None:
    """However many and of whatever kind, a call that is put another way is computed or kept."""
    choose = random.Random(name)
    formulas = [f"={name}()"] + [
        f"={name}({','.join(choose.choice(ARGUMENTS) for _ in range(count))})"
        for count in range(1, 9)
        for _ in range(40)
    ]
    book = write_book(tmp_path / "log.xlsx", {f"D{row}": formula for row, formula in enumerate(formulas, 1)})
    found = read_formulas(Package(book), silent, trusting=False)
    assert len(found.formulas) == len(formulas)
