"""Do formulas follow when a program that does not calculate changes a number? Over workbooks that Excel saved.

    python tests/changed_inputs.py FOLDER... [--workbooks 200] [--seed 1] [--list]

In each workbook one typed number that formulas read is changed in its XML. Of the formulas whose value LibreOffice then
computes anew, and whose old value it gives as Excel stored it, are counted: those that follow, those that are told by
name to have no sure value, those that are told among what is not computed at all, and those that keep the old value
without a word or get a wrong one; and of the others those that change without cause. ``--list`` prints the last three.
"""

from __future__ import annotations

import argparse
import datetime
import math
import random
import re
import subprocess
import sys
import tempfile
import warnings
import zipfile
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(PROJECT / name) for name in ("functions", "addin", "workbooks")]

import openpyxl  # noqa: E402  # the path first
from lxml import etree  # noqa: E402
from openpyxl.utils.datetime import from_excel  # noqa: E402
from openpyxl.utils.escape import unescape  # noqa: E402

from growcells_addin.libreoffice.program import clean_environment, profile_options  # noqa: E402
from growcells_workbooks.gate import FileProblem, Progress, apart  # noqa: E402
from growcells_workbooks.recalculation.cells import ErrorValue, cell_name, read_area, read_place  # noqa: E402
from growcells_workbooks.recalculation.computation import Computation  # noqa: E402
from growcells_workbooks.recalculation.outcomes import failed_cells, value_of  # noqa: E402
from growcells_workbooks.recalculation.package import Package  # noqa: E402
from growcells_workbooks.recalculation.readers import CellPlace  # noqa: E402
from libreoffice import needed_office  # noqa: E402
from recalc_against_excel import saved_by_excel  # noqa: E402

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
MOST_BYTES, MOST_FORMULAS = 400_000, 3_000
"""Of a workbook and a sheet that take part."""
TOGETHER, PATIENCE = 20, 300.0
"""Workbooks that one LibreOffice computes, and the seconds that it may take."""
_CELL = re.compile(r"(?<![A-Za-z!'\].])\$?([A-Z]{1,2})\$?(\d{1,5})(?![\d(A-Za-z])")
_PLAIN = re.compile(r"-?\d+(\.\d+)?")
_UNLIKE = re.compile(rb"RAND|date1904=.(?:1|true)")
"""What makes a workbook useless here: chance, and days that openpyxl and LibreOffice write otherwise."""
_ALWAYS_COMPUTED = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item></oor:items>
"""

FOLLOWS, TOLD, LEFT, SILENT, WRONG = "follow", "told by name", "told among the uncomputed", "silently old", "wrong"
UNCONCERNED, CAUSELESS = "not concerned, unchanged", "not concerned, changed"
LISTED = (SILENT, WRONG, CAUSELESS)
Values = Mapping[tuple[str, str], object]


@dataclass(frozen=True)
class Changed:
    """A workbook before and after one number in it was changed."""

    name: str
    before: Path
    after: Path
    cell: str


def changed_workbook(source: Path, folder: Path, number: int, chosen: random.Random) -> Changed | None:
    """Copies of a workbook with and without a changed number that formulas read; None where it has none."""
    try:
        package = zipfile.ZipFile(source)
    except zipfile.BadZipFile:
        return None
    parts = [name for name in package.namelist() if re.fullmatch(r"xl/worksheets/sheet\d+\.xml", name)]
    if any(_UNLIKE.search(package.read(part)) for part in (*parts, "xl/workbook.xml")):
        return None
    for part in chosen.sample(parts, len(parts)):
        try:
            root = etree.fromstring(package.read(part))
        except etree.XMLSyntaxError:
            continue
        cells = {str(cell.get("r")): cell for cell in root.iter(f"{MAIN}c")}
        formulas = [cell for cell in cells.values() if cell.find(f"{MAIN}f") is not None]
        read = {"".join(match.groups()) for cell in formulas for match in _CELL.finditer(cell.findtext(f"{MAIN}f", ""))}
        filled = [
            read_area(str(formula.get("ref"))) for formula in root.iter(f"{MAIN}f") if formula.get("t") == "array"
        ]
        typed = [
            name
            for name in sorted(read)
            if name in cells and _is_typed_number(cells[name]) and not any(read_place(name) in area for area in filled)
        ]
        if not typed or len(formulas) > MOST_FORMULAS:
            continue
        name = chosen.choice(typed)
        value = cells[name].find(f"{MAIN}v")
        old = float(value.text)
        value.text = repr(chosen.choice((old * 2, old + 1, old * 1.25, old / 2 if old % 2 == 0 else old + 2)))
        copies = [folder / kind / f"{number}.xlsx" for kind in ("before", "after")]
        for copy, data in zip(copies, (package.read(part), etree.tostring(root)), strict=True):
            copy.parent.mkdir(exist_ok=True)
            with zipfile.ZipFile(copy, "w", zipfile.ZIP_DEFLATED) as made:
                for entry in package.infolist():
                    made.writestr(entry.filename, data if entry.filename == part else package.read(entry))
        return Changed(str(source), copies[0], copies[1], name)
    return None


def _is_typed_number(cell: etree._Element) -> bool:
    value = cell.find(f"{MAIN}v")
    plain = cell.find(f"{MAIN}f") is None and cell.get("t") in (None, "n")
    return plain and value is not None and _PLAIN.fullmatch(value.text or "") is not None


def computed_by_office(folder: Path) -> None:
    """Have LibreOffice compute the workbooks of a folder into a folder beside it."""
    profile = folder.parent / "profile"
    (profile / "user").mkdir(parents=True, exist_ok=True)
    (profile / "user" / "registrymodifications.xcu").write_text(_ALWAYS_COMPUTED, "utf-8")
    target = folder.with_name(f"{folder.name}-computed")
    books = sorted(map(str, folder.glob("*.xlsx")))
    command = [str(needed_office().soffice), *profile_options(profile), "--headless", "--norestore"]
    for begin in range(0, len(books), TOGETHER):
        subprocess.run(
            [*command, "--convert-to", "xlsx", "--outdir", str(target), *books[begin : begin + TOGETHER]],
            timeout=PATIENCE,
            capture_output=True,
            env=clean_environment(),
        )


def values_of(book: Path) -> Values:
    """The stored values of a workbook; nothing where it cannot be opened."""
    try:
        sheets = openpyxl.load_workbook(book, data_only=True).worksheets
    except Exception:  # whatever a library trips over in a workbook that is not ours
        return {}
    return {
        (sheet.title, cell.coordinate): unescape(cell.value) if isinstance(cell.value, str) else cell.value
        for sheet in sheets
        for row in sheet.iter_rows()
        for cell in row
        if cell.value is not None
    }


def same(left: object, right: object) -> bool:
    """Whether two values are the same but for their last digits, which each program has otherwise."""
    if isinstance(left, (int, float)) and isinstance(right, (int, float)):
        return math.isclose(left, right, rel_tol=1e-9, abs_tol=1e-9)
    if isinstance(left, datetime.date) or isinstance(right, datetime.date):
        return str(left) == str(right)
    return left == right or (left in (None, "") and right in (None, ""))


@dataclass(frozen=True)
class Ours:
    """The values of formulas that growcells would leave in a file, and of which it tells what."""

    values: Values
    named: frozenset[tuple[str, str]]
    uncomputed: frozenset[tuple[str, str]]


def ours(book: Path, progress: Progress) -> Ours:
    """A workbook recalculated; raises FileProblem."""
    computation = Computation(Package(book), None, progress)
    computation.run()
    values = {
        (name, cell.name): value_of(computation, sheet, cell)
        for name, sheet in computation.sheets.items()
        for cell in sheet.cells
    }
    failed = ((cell.sheet, cell.cell) for cell in failed_cells(computation))
    told = named_cells(computation, (*computation.kept, *computation.resting))
    refused = [cell for place in computation.refused for cell in computation.places_of(place)]
    alone = {*computation.refused, *computation.readers.reached(refused, computation.formulas)}
    return Ours(values, told.union(failed), named_cells(computation, alone))


def named_cells(computation: Computation, places: Iterable[CellPlace]) -> frozenset[tuple[str, str]]:
    """The cells that formulas fill."""
    cells = (cell for place in places for cell in computation.places_of(place))
    return frozenset((sheet, cell_name(row, column)) for sheet, row, column in cells)


def outcomes(changed: Changed, before: Values, after: Values, done: Ours) -> Iterator[tuple[str, str]]:
    """What became of each formula, and where that is; ``before`` and ``after`` are the values of LibreOffice."""
    stored = values_of(changed.before)
    for place, value in done.values.items():
        was, is_now, given = before.get(place), after.get(place), plain(value, stored.get(place))
        if place[1] == changed.cell or stored.get(place) is None or not same(stored.get(place), was):
            continue
        where = f"{changed.name} {place}: {stored.get(place)!r}, {is_now!r} in LibreOffice, {given!r} here"
        if same(was, is_now):
            yield (UNCONCERNED if same(given, was) else CAUSELESS), where
        elif same(given, is_now):
            yield FOLLOWS, where
        elif place in done.named:
            yield TOLD, where
        elif place in done.uncomputed:
            yield LEFT, where
        else:
            yield (SILENT if same(given, stored.get(place)) else WRONG), where


def plain(value: object, beside: object) -> object:
    """A value as openpyxl has it beside another one: an error is a text, a number of a day may be shown as one."""
    if isinstance(value, ErrorValue):
        return value.code
    if isinstance(beside, datetime.date | datetime.time | datetime.timedelta) and isinstance(value, float):
        return from_excel(value, timedelta=isinstance(beside, datetime.timedelta))
    return value


def main(arguments: Sequence[str]) -> int:
    """Run the command; 1 where a formula is silently old, wrong or changed without a cause."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--workbooks", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--list", action="store_true")
    asked = parser.parse_args(arguments)
    chosen = random.Random(asked.seed)
    warnings.filterwarnings("ignore", module="openpyxl")  # of what it leaves out
    sources = sorted(book for folder in asked.folders for book in folder.rglob("*.xlsx"))
    sources = [book for book in sources if book.stat().st_size <= MOST_BYTES]
    chosen.shuffle(sources)
    with tempfile.TemporaryDirectory(prefix="growcells-") as place:
        books: list[Changed] = []
        for source in sources:
            if len(books) < asked.workbooks and saved_by_excel(source):
                books.extend(filter(None, [changed_workbook(source, Path(place), len(books), chosen)]))
        done = {}
        for changed in books:  # first, since a copy of a process that has read workbooks holds these too
            try:
                done[changed] = apart(partial(ours, changed.after), changed.after)
            except FileProblem as problem:
                print(f"{changed.name}: {problem}")
        for kind in ("before", "after"):
            computed_by_office(Path(place, kind))
        found: Counter[str] = Counter()
        for changed in done:
            before, after = (
                values_of(book.parent.with_name(f"{book.parent.name}-computed") / book.name)
                for book in (changed.before, changed.after)
            )
            for kind, where in outcomes(changed, before, after, done[changed]):
                found[kind] += 1
                if asked.list and kind in LISTED:
                    print(f"{kind}: {where}")
    concerned = sum(found[kind] for kind in (FOLLOWS, TOLD, LEFT, SILENT, WRONG))
    print(f"{len(books)} workbooks, {concerned:,} formulas concerned by the change of a number")
    for kind in (FOLLOWS, TOLD, LEFT, SILENT, WRONG, UNCONCERNED, CAUSELESS):
        print(f"{found[kind]:9,} {kind}")
    return 1 if any(found[kind] for kind in LISTED) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
