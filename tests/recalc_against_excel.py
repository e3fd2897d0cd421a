"""Recalculation beside the values that Excel stored, over a folder of workbooks that Excel saved.

    python tests/recalc_against_excel.py FOLDER [--wrong] [--kept] [--prove]

Prints, by function and by suite (a folder in FOLDER each), how many formulas were compared, equal, kept and wrong: once
with the stored values in place, once with them taken out. What no program can tell from the file is set apart and
counted: formulas of the clock, of chance, of another workbook, of a server, of a macro or an add-in, circles, values
that lie outside of the sheet, and formulas as texts that are shown in a language with other separators.
How many are wrong for which reason is printed from ``data/excel-differing.csv``; ``--wrong`` lists each wrong cell,
``--kept`` why formulas are kept. ``--prove`` writes ``data/proven_functions.csv`` from what agreed, with the examples
of Microsoft's pages among it.

Public folders of such workbooks are the test suites of spreadsheet libraries; their files are not ours to hand on.
"""

from __future__ import annotations

import argparse
import csv
import multiprocessing
import re
import resource
import sys
import tempfile
import time
import zipfile
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.pool import ThreadPool
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(PROJECT / name) for name in ("functions", "addin", "workbooks")]

from openpyxl.utils import FORMULAE  # noqa: E402

from growcells_workbooks.gate import FileProblem, silent  # noqa: E402  # the path first
from growcells_workbooks.recalculation.cells import ErrorValue  # noqa: E402
from growcells_workbooks.recalculation.computation import Computation  # noqa: E402
from growcells_workbooks.recalculation.contents import kinds_used  # noqa: E402
from growcells_workbooks.recalculation.package import Package  # noqa: E402
from growcells_workbooks.recalculation.readers import CellPlace  # noqa: E402
from growcells_workbooks.recalculation.readings import Use  # noqa: E402
from growcells_workbooks.recalculation.sheet_edits import agrees, patched  # noqa: E402
from growcells_workbooks.recalculation.sheet_xml import scan_sheet  # noqa: E402
from growcells_workbooks.recalculation.trust import KIND, of_kind  # noqa: E402

PROVEN = PROJECT / "workbooks/growcells_workbooks/data/proven_functions.csv"
DIFFERING = PROJECT / "tests/data/excel-differing.csv"
SOURCE = "values stored by Excel in the public test suites of spreadsheet libraries, and on Microsoft's pages"
SPECIFIC = 0.05
"""How much less often right the number of a function's arguments must be than their forms, to be blamed for them."""
ANOTHER_PROGRAM = (b'calcId="999999"', b'calcId="124519" fullCalcOnLoad="1"')
"""What PhpSpreadsheet writes into workbooks whose values it computed, and openpyxl and XlsxWriter into those whose
values nobody did."""
MOST_READ = 100
NEARLY_NOTHING = 1e-9
LEAP = 61
"""The first day that Excel and the engine agree on: 1900-03-01. Excel has a 1900-02-29, the engine has none."""
DAY_FUNCTIONS = frozenset(
    ["DATE", "DAY", "DAYS", "EDATE", "EOMONTH", "ISOWEEKNUM", "MONTH", "TEXT", "WEEKDAY", "WEEKNUM", "YEAR"]
)
SECONDS_FOR_ONE, LONGEST_WAIT = 60, 900.0
"""Of the processor for one workbook, and of the clock, since the machine may have other work."""
ASKS_A_SERVER = re.compile(r"\b(?:CUBE[A-Z]*|IMAGE|RTD|STOCKHISTORY|WEBSERVICE|CELL|INFO)\(", re.IGNORECASE)
"""Functions that ask another program: of these two the one that shows the workbook."""
EXCELS_OWN = FORMULAE | {"DATEDIF", "DBCS", "USDOLLAR", "YEN"}
"""The names that Excel stores without a prefix, as openpyxl knows them: any other is one of a macro or an add-in."""
_UNPREFIXED = re.compile(r"(?<![\w.!\]])([A-Z_][A-Z0-9_]*)\(")
TYPED_INLINE = b't="inlineStr"'
"""How Excel never stores a text: another program wrote the file last."""
_NAME = re.compile(r"(?<![\w.])([A-Z][A-Z0-9.]*)\(")


@dataclass
class Outcome:
    """What became of the formulas of one workbook in one way of computing it."""

    apart: int = 0
    equal: Counter[str] = field(default_factory=Counter)
    kept: Counter[str] = field(default_factory=Counter)
    wrong: list[tuple[str, str, str, object, object]] = field(default_factory=list)
    """Function, cell, formula, Excel's value, ours."""
    formulas: Counter[str] = field(default_factory=Counter)
    """All formulas by what became of them."""
    reasons: Counter[str] = field(default_factory=Counter)
    right_uses: Counter[Use] = field(default_factory=Counter)
    wrong_uses: list[frozenset[Use]] = field(default_factory=list)
    problem: str = ""


def main() -> None:
    """Measure every workbook of a folder that Excel saved."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--wrong", action="store_true")
    parser.add_argument("--kept", action="store_true")
    parser.add_argument("--prove", action="store_true")
    options = parser.parse_args()
    books = [path for path in sorted(options.folder.rglob("*.xls[xm]")) if saved_by_excel(path)]
    if options.prove:
        prove(books)
        return
    for way in ("in place", "taken out"):
        with ThreadPool(3) as pool:
            outcomes = pool.starmap(measured, [(path, way) for path in books], chunksize=1)
        found = dict(zip(books, outcomes, strict=True))
        print_outcomes(options.folder, way, found, options.wrong, options.kept)


def saved_by_excel(path: Path) -> bool:
    """Whether Excel says that it wrote the file."""
    try:
        with zipfile.ZipFile(path) as package:
            told, book = package.read("docProps/app.xml"), package.read("xl/workbook.xml")
            if any(TYPED_INLINE in package.read(part) for part in package.namelist() if "worksheets/sheet" in part):
                return False
    except (OSError, KeyError, zipfile.BadZipFile):
        return False
    return b"Microsoft" in told and b"Excel" in told and not any(mark in book for mark in ANOTHER_PROGRAM)


def measured(path: Path, way: str) -> Outcome:
    """What becomes of a workbook, in a process of its own: some take the engine for ever."""
    receiver, sender = multiprocessing.Pipe(duplex=False)
    process = multiprocessing.get_context("fork").Process(target=_measure, args=(path, way, sender), daemon=True)
    process.start()
    sender.close()
    try:
        outcome = receiver.recv() if receiver.poll(LONGEST_WAIT) else Outcome(problem="it takes too long")
    except EOFError:
        outcome = Outcome(problem="the process ended")
    process.kill()
    process.join()
    assert isinstance(outcome, Outcome)
    return outcome


def _measure(path: Path, way: str, sender: Connection) -> None:
    sys.stdout = sys.stderr = open("/dev/null", "w")  # noqa: PTH123, SIM115  # for the rest of the process
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS_FOR_ONE, SECONDS_FOR_ONE + 5))
    outcome = Outcome()
    try:
        measure(path, way, outcome)
    except FileProblem as problem:
        outcome.problem = str(problem)
    sender.send(outcome)


def measure(path: Path, way: str, outcome: Outcome) -> None:
    """Compute a workbook in one of the ways and compare each formula. Raises FileProblem."""
    package = Package(path)
    original = {name: package.read(part) for name, part in package.book.sheets.items()}
    if way == "taken out":
        for name, part in package.book.sheets.items():
            package.edit(part, without_values(original[name]))
    if way == "prove":
        package.book.computes_on_load = False
        if package.book.iterates or package.book.shows_precision:
            return
    computation = Computation(package, None, silent, trusting=way == "prove")
    computation.run()
    stored = {
        (name, *cell.place): computation.stored(cell) for name, data in original.items() for cell in scan_sheet(data)
    }
    apart = set_apart(computation)
    apart |= {
        place
        for place, formula in computation.formulas.items()
        if "FORMULATEXT(" in formula.written and is_of_other_language(stored.get(place))
    }
    for place, formula in computation.formulas.items():
        uses = formula.reading.uses
        if way == "prove":
            kinds = kinds_used(formula, computation.engine)
            uses |= {of_kind(use, kind) for use, kind in kinds}
        name = function_of(formula.written)
        if place in apart or stored.get(place) is None or (way == "prove" and is_early_day(computation, place)):
            outcome.apart += 1
        elif way == "prove":
            if place in computation.refused or is_nearly_nothing(stored[place]):
                outcome.apart += 1  # what is not computed is never wrong
            elif place in computation.pinned and place not in computation.near:
                outcome.wrong_uses.append(uses)
                outcome.wrong.append((name, f"{place[0]}!{formula.cell.name}", formula.written, stored[place], ""))
            else:
                outcome.right_uses.update(uses)
        elif place in computation.refused and computation.sheets[place[0]].values.get(place[1:]) is None:
            outcome.kept[name] += 1
            outcome.formulas["kept"] += 1
            outcome.reasons[computation.refused[place].partition("!")[0][:70]] += 1
        else:
            cell = formula.cell
            values = computation.sheets[place[0]].values
            ours = values[cell.place] if cell.place in values else computation.stored(cell)
            if agrees(stored[place], ours):
                outcome.equal[name] += 1
                outcome.formulas["equal"] += 1
            else:
                outcome.wrong.append((name, f"{place[0]}!{cell.name}", formula.written, str(stored[place]), str(ours)))
                outcome.formulas["wrong"] += 1


def is_nearly_nothing(value: object) -> bool:
    """Whether a number is what additions leave of a zero, which differs between programs."""
    return isinstance(value, float) and 0 < abs(value) < NEARLY_NOTHING


def is_early_day(computation: Computation, place: CellPlace) -> bool:
    """Whether a formula of days reads a number that may be a day before March 1900, or names such a year."""
    formula = computation.formulas[place]
    if not any(use[0] in DAY_FUNCTIONS for use in formula.reading.uses):
        return False
    if "1900" in formula.written or re.search(r"\(-?[0-6]?[0-9]\)", formula.written):
        return True
    for sheet, area in formula.cells_read():
        if area.rows * area.columns <= MOST_READ:
            for row, column in area.places():
                value = computation.engine.value(sheet, row, column)
                if value is None or (isinstance(value, float) and value < LEAP) or isinstance(value, bool):
                    return True
    return False


def without_values(data: bytes) -> bytes:
    """A sheet's XML with the values of its formulas taken out."""
    edits = [(*cell.value_span, b"") for cell in scan_sheet(data) if cell.value_span is not None]
    return patched(data, edits)


def set_apart(computation: Computation) -> set[CellPlace]:
    """The formulas whose value no program can tell from the file, with what depends on them."""
    roots = {
        place
        for place, formula in computation.formulas.items()
        if formula.reading.clock
        or formula.reading.random
        or "another workbook" in formula.reading.refusal
        or formula.cell.rich
        or formula.cell.kind == "dataTable"
        or ASKS_A_SERVER.search(formula.written)
        or asks_a_macro(computation, formula.written)
    }
    roots.update(computation.readers.circles(computation.formulas))
    spilled = (cell for root in roots for cell in computation.places_of(root))
    return roots | computation.readers.reached(spilled, computation.formulas).keys()


def is_of_other_language(value: object) -> bool:
    """Whether a formula as a text is shown in a language with semicolons between arguments."""
    return isinstance(value, str) and value.startswith("=") and ";" in value


def asks_a_macro(computation: Computation, formula: str) -> bool:
    """Whether a formula calls a function that is neither Excel's nor the workbook's own."""
    names = _UNPREFIXED.findall(re.sub(r'"[^"]*"', "", formula.upper()))
    return any(name not in EXCELS_OWN and (None, name) not in computation.package.book.names for name in names)


def function_of(formula: str) -> str:
    """The function that a formula is filed under: its first."""
    match = _NAME.search(re.sub(r'"[^"]*"|_xlfn\.|_xlws\.', "", formula.upper()))
    return match[1] if match else "operators"


def reasons_known() -> dict[tuple[str, str], str]:
    """Why a value computed here is not the stored one, by the workbook within its suite and the cell."""
    with DIFFERING.open(newline="", encoding="utf-8") as file:
        return {(row["workbook"], row["cell"]): row["reason"] for row in csv.DictReader(file)}


def print_wrong(folder: Path, found: dict[Path, Outcome], each: bool) -> None:
    """Print how many wrong formulas have which reason, and each with its reason."""
    known = reasons_known()
    counted = Counter[str]()
    for path, outcome in found.items():
        inside = "/".join(path.relative_to(folder).parts[1:])
        for _, cell, formula, excel, ours in outcome.wrong:
            reason = known.get((inside, cell), "no reason is known")
            counted[reason] += 1
            if each:
                print(f"{path.relative_to(folder)}  {cell}  ={formula[:120]}  {excel!r}  {ours!r}: {reason}")
    for reason, count in counted.most_common():
        print(f"{count:>8} wrong: {reason}")


def print_outcomes(folder: Path, way: str, found: dict[Path, Outcome], wrong: bool, kept: bool) -> None:
    """Print the figures of one way by function, and the total."""
    equal, left, wrongs, total = Counter[str](), Counter[str](), Counter[str](), Counter[str]()
    reasons = Counter[str]()
    for outcome in found.values():
        equal += outcome.equal
        left += outcome.kept
        wrongs += Counter(case[0] for case in outcome.wrong)
        total += outcome.formulas
        reasons += outcome.reasons
    print(f"\nstored values {way}\n{'function':24}{'compared':>10}{'equal':>10}{'kept':>8}{'wrong':>8}")
    for name in sorted(equal | left | wrongs):
        numbers = (equal[name] + left[name] + wrongs[name], equal[name], left[name], wrongs[name])
        print(f"{name:24}{numbers[0]:>10}{numbers[1]:>10}{numbers[2]:>8}{numbers[3]:>8}")
    compared = total.total()
    print(
        f"{'all':24}{compared:>10}{total['equal']:>10}{total['kept']:>8}{total['wrong']:>8}\n"
        f"computed {(total['equal'] + total['wrong']) / max(1, compared):.2%}, "
        f"wrong {total['wrong'] / max(1, compared):.3%}, "
        f"set apart {sum(outcome.apart for outcome in found.values())}, {len(found)} workbooks"
    )
    print_suites(folder, found)
    for path, outcome in found.items():
        if outcome.problem:
            print(f"{path.relative_to(folder)}: {outcome.problem}")
    print_wrong(folder, found, wrong)
    if kept:
        for reason, count in reasons.most_common():
            print(f"{count:>8}  {reason}")


def print_suites(folder: Path, found: dict[Path, Outcome]) -> None:
    """Print the figures by suite."""
    suites: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for path, outcome in found.items():
        suites[path.relative_to(folder).parts[0]] += outcome.formulas
    print(f"\n{'suite':44}{'compared':>10}{'kept':>8}{'wrong':>8}{'computed':>10}{'wrong':>8}")
    for name, total in sorted(suites.items()):
        compared = max(1, total.total())
        shares = f"{1 - total['kept'] / compared:>10.1%}{total['wrong'] / compared:>8.2%}"
        print(f"{name[:43]:44}{total.total():>10}{total['kept']:>8}{total['wrong']:>8}{shares}")


def prove(books: list[Path]) -> None:
    """Write the table of what agreed.

    A wrong formula is laid to that part of it which is least often right, and then suspects no other part.
    """
    right, wrong, errors = Counter[Use](), Counter[Use](), Counter[Use]()
    books_of: defaultdict[Use, set[Path]] = defaultdict(set)
    wrongs: list[tuple[Path, tuple[str, str, str, object, object], frozenset[Use]]] = []
    start = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="growcells-") as folder, ThreadPool(3) as pool:
        from excel_facts import published_book  # which imports this module

        books = [*books, published_book(Path(folder, "Microsoft/pages.xlsx"))]
        outcomes = pool.map(lambda path: measured(path, "prove"), books, chunksize=1)
    for path, outcome in zip(books, outcomes, strict=True):
        for case, uses in zip(outcome.wrong, outcome.wrong_uses, strict=True):
            wrongs.append((path, case, uses))
        if outcome.problem:
            print(f"{path}: {outcome.problem}")
        right += outcome.right_uses
        for use in outcome.right_uses:
            books_of[use].add(path)
    while wrongs:
        suspected = Counter(use for _, _, uses in wrongs for use in uses)
        if not suspected:
            break
        fault = min(
            suspected, key=lambda use: (right[use] / (right[use] + suspected[use]) + SPECIFIC * (use[1] == 0), use)
        )
        for path, case, uses in wrongs:
            if fault in uses:
                wrong[fault] += 1
                errors[fault] += isinstance(case[3], ErrorValue)
                print(f"{path.parent.name}/{path.name}\t{case[1]}\t{case[2][:150]}\t{case[3]}\t{fault}")
        wrongs = [found for found in wrongs if fault not in found[2]]
    with PROVEN.open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("function", "argument", "form", "compared", "wrong", "errors", "workbooks", "source"))
        for use in sorted(right | wrong):
            if KIND in use[2] and use[2][0] != "=" and not wrong[use]:
                continue  # a kind that differs in nothing needs no row beside its form
            writer.writerow((*use, right[use] + wrong[use], wrong[use], errors[use], len(books_of[use]), SOURCE))
    print(f"{len(right | wrong)} forms of {len({use[0] for use in right})} functions, {time.monotonic() - start:.0f} s")


if __name__ == "__main__":
    main()
