"""What Excel stored beside some two thousand formulas, and what recalculation makes of them.

The facts are in ``data/excel-facts.csv``, each with its source; ``excel_facts.py`` takes them from workbooks.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from pathlib import Path

import pytest

from excel_facts import Fact, as_json, facts, write_fact_book
from growcells_workbooks.gate import silent
from growcells_workbooks.recalculation.cells import read_place
from growcells_workbooks.recalculation.computation import Computation
from growcells_workbooks.recalculation.package import Package
from growcells_workbooks.recalculation.sheet_edits import agrees
from recalc_against_excel import without_values

DAY = datetime.date(2026, 11, 20)
ON_A_BOOK = 250


def computed(folder: Path, *, with_values: bool) -> Iterator[tuple[Fact, object, bool]]:
    """Each fact, the value that it has after recalculation, and whether its formula was left uncomputed."""
    known = facts()
    for start in range(0, len(known), ON_A_BOOK):
        part = known[start : start + ON_A_BOOK]
        book = write_fact_book(folder / f"facts-{start}.xlsx", part)
        package = Package(book)
        if not with_values:
            for sheet_part in package.book.sheets.values():
                package.edit(sheet_part, without_values(package.read(sheet_part)))
        computation = Computation(package, DAY, silent)
        computation.run()
        for number, fact in enumerate(part):
            sheet = f"Fact {number}"
            place = read_place(fact.cell)
            found = computation.formulas[sheet, *place]
            new = computation.sheets[sheet].values
            value = new[place] if place in new else computation.stored(found.cell)
            yield fact, value, (sheet, *place) in computation.kept


def same(fact: Fact, value: object) -> bool:
    """Whether a value is the one that Excel stored."""
    expected = fact.value
    number = float(expected) if isinstance(expected, int) and not isinstance(expected, bool) else expected
    if fact.source.startswith("Microsoft") and isinstance(number, float) and isinstance(value, float):
        value = round(value, len(repr(number).partition(".")[2]))  # the page shows no more
    return agrees(number, as_json(value))  # type: ignore[arg-type]  # both as JSON has them


DIFFER = {"=IRR(A2:F2,I2)": "Excel says of it that it stops within 0.00001 %, and here it stops later"}
"""The facts that are computed otherwise where no value is stored, and why."""


def test_enough_facts() -> None:
    known = facts()
    assert len(known) >= 1_500
    assert len({fact.function for fact in known}) >= 150
    assert sum(fact.source.startswith("Microsoft") for fact in known) >= 25
    assert all(fact.source for fact in known)


@pytest.mark.slow
def test_stored_values_in_place(tmp_path: Path) -> None:
    """Not one value that Excel stored becomes another."""
    wrong = [
        (fact.source, fact.formula, fact.value, value)
        for fact, value, _ in computed(tmp_path, with_values=True)
        if not same(fact, value)
    ]
    assert wrong == []


@pytest.mark.slow
def test_stored_values_taken_out(tmp_path: Path) -> None:
    """Nearly all are computed, and those that are have Excel's value."""
    outcomes = list(computed(tmp_path, with_values=False))
    kept = [fact for fact, _, is_kept in outcomes if is_kept]
    wrong = [fact.formula for fact, value, is_kept in outcomes if not is_kept and not same(fact, value)]
    print(f"\n{len(outcomes)} facts of what Excel stored: {len(kept)} kept, {len(wrong)} wrong")
    assert set(wrong) == set(DIFFER)
    # Rare forms are many among the facts: in whole workbooks more is computed.
    assert len(kept) < 0.15 * len(outcomes)
