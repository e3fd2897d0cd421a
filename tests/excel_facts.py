"""Facts of what Excel gives: a formula, the cells that it reads, the value that Excel stored, and where that stands.

    python tests/excel_facts.py FOLDER

writes ``tests/data/excel-facts.csv`` from the workbooks in FOLDER that Excel saved: for each function and form of
arguments a few formulas that read a few cells of their own sheet. Each row is a fact; of the files nothing is kept.
"""

from __future__ import annotations

import csv
import json
import sys
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import xlsxwriter

from growcells_workbooks.gate import FileProblem, silent
from growcells_workbooks.recalculation.cells import Area, ErrorValue, cell_name
from growcells_workbooks.recalculation.computation import Computation
from growcells_workbooks.recalculation.package import Package
from growcells_workbooks.recalculation.readings import Reading
from growcells_workbooks.recalculation.trust import Trust
from recalc_against_excel import saved_by_excel, set_apart
from recalc_books import change_part

FACTS = Path(__file__).parent / "data/excel-facts.csv"
PUBLISHED = FACTS.with_name("microsoft-facts.csv")
"""Examples of Microsoft's pages of functions, copied by hand, numbers with the digits that a page shows."""
MOST_CELLS, MOST_FORMULA = 24, 160
ROUNDED = 8
"""Signs of a number from which on a page has rounded it."""
OF_A_KIND, OF_A_FUNCTION = 2, 14
COLUMNS = ("function", "formula", "cell", "inputs", "value", "source")


@dataclass(frozen=True)
class Fact:
    """A formula in its cell, the cells that it reads as JSON values by name, Excel's value, and the source."""

    function: str
    formula: str
    cell: str
    inputs: dict[str, object]
    value: object
    source: str


class StoredValues(Computation):
    """A workbook in the engine with the stored values of all formulas."""

    def _trust(self, reading: Reading, scopes: frozenset[str]) -> tuple[Trust, str]:
        return Trust.NONE, "only its stored value is asked for"


def facts() -> list[Fact]:
    """All facts that are kept."""
    return [fact for path in (FACTS, PUBLISHED) for fact in _facts_in(path)]


def _facts_in(path: Path) -> Iterator[Fact]:
    with path.open(newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            inputs, value = json.loads(row["inputs"]), json.loads(row["value"])
            yield Fact(row["function"], row["formula"], row["cell"], inputs, value, row["source"])


def write_fact_book(path: Path, given: Iterable[Fact]) -> Path:
    """A workbook with each fact on a sheet of its own, Excel's value stored beside its formula."""
    plain = path.with_suffix(".plain.xlsx")
    with xlsxwriter.Workbook(plain, {"strings_to_formulas": False, "strings_to_urls": False}) as book:
        for number, fact in enumerate(given):
            sheet = book.add_worksheet(f"Fact {number}")
            for cell, value in fact.inputs.items():
                if isinstance(value, str) and value.startswith("#"):
                    sheet.write_formula(cell, "=" + value, None, value)
                elif isinstance(value, str):
                    sheet.write_string(cell, value)
                elif isinstance(value, bool):
                    sheet.write_boolean(cell, value)
                else:
                    sheet.write_number(cell, value)  # type: ignore[arg-type]
            sheet.write_formula(fact.cell, fact.formula, None, fact.value)
    return change_part(plain, path, "xl/workbook.xml", lambda data: data.replace(b' fullCalcOnLoad="1"', b""))


def published_book(path: Path) -> Path:
    """A workbook of the examples of Microsoft's pages, without those that a page rounds."""
    path.parent.mkdir(exist_ok=True)
    exact = [fact for fact in _facts_in(PUBLISHED) if len(repr(fact.value)) < ROUNDED]
    return write_fact_book(path, exact)


def main() -> None:
    """Write the facts anew."""
    folder = Path(sys.argv[1])
    kinds, of_function = Counter[tuple[str, ...]](), Counter[str]()
    rows: list[tuple[str, ...]] = []
    for path in sorted(folder.rglob("*.xlsx")):
        if saved_by_excel(path):
            try:
                rows += found_in(path, str(path.relative_to(folder)), kinds, of_function)
            except (FileProblem, ValueError) as problem:
                print(f"{path}: {problem}")
    with FACTS.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows(sorted(rows))
    print(f"{len(rows)} facts of {len({row[0] for row in rows})} functions")


def found_in(
    path: Path, source: str, kinds: Counter[tuple[str, ...]], of_function: Counter[str]
) -> Iterator[tuple[str, ...]]:
    """The facts of one workbook that are not yet known in their kind. Raises FileProblem."""
    package = Package(path)
    if len(package.read(next(iter(package.book.sheets.values())))) > 2_000_000:
        return
    package.book.computes_on_load = False
    computation = StoredValues(package, None, silent)
    computation.run()
    apart = set_apart(computation)
    for place, formula in computation.formulas.items():
        reading, cell = formula.reading, formula.cell
        named = sorted({use[0] for use in reading.uses if use[0][0].isalpha()})
        if (
            len(named) != 1
            or named[0] in ("SUBTOTAL", "AGGREGATE")
            or reading.refusal
            or place in apart
            or cell.area is not None
            or not cell.has_value
        ):
            continue
        name = named[0]
        kind = (name, *sorted(f"{argument}{form}" for function, argument, form in reading.uses if function == name))
        if kinds[kind] >= OF_A_KIND or of_function[name] >= OF_A_FUNCTION or len(formula.written) > MOST_FORMULA:
            continue
        inputs = inputs_of(computation, place[0], list(formula.cells_read()))
        if inputs is None or reading.anywhere or "[" in formula.written or reading.text.count("!"):
            continue
        value = as_json(computation.stored(cell))
        if not all(text.isprintable() for text in (*inputs.values(), value) if isinstance(text, str)):
            continue
        kinds[kind] += 1
        of_function[name] += 1
        yield (
            name,
            "=" + formula.written,
            cell.name,
            json.dumps(inputs, ensure_ascii=False),
            json.dumps(value, ensure_ascii=False),
            f"{source} {place[0]}!{cell.name}",
        )


def inputs_of(computation: Computation, sheet: str, areas: list[tuple[str, Area]]) -> dict[str, object] | None:
    """The values of the cells that a formula reads; None where they are too many, or on another sheet."""
    if any(other != sheet for other, _ in areas) or sum(area.rows * area.columns for _, area in areas) > MOST_CELLS:
        return None
    inputs: dict[str, object] = {}
    for _, area in areas:
        for row, column in area.places():
            value = computation.engine.value(sheet, row, column)
            if value is not None:
                inputs[cell_name(row, column)] = as_json(value)
    return inputs


def as_json(value: object) -> object:
    """A value as JSON has it, an error as its code."""
    return value.code if isinstance(value, ErrorValue) else value


if __name__ == "__main__":
    main()
