"""Copies of a formula, which are read, judged and given to the engine once: each has its own value all the same."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
import xlsxwriter

from growcells import functions
from growcells_workbooks.recalculation import recalculate
from growcells_workbooks.recalculation.copies import Copies, moves_as_one
from recalc_books import assert_only_values_differ, change_part, read_values

ROWS = range(2, 10)
TYPED = {row: (float(row * row), float(11 - row)) for row in ROWS}
"""What is typed in the columns A and B of each row."""
SHEET = "xl/worksheets/sheet1.xml"


def a(row: int) -> float:
    return TYPED[row][0]


def b(row: int) -> float:
    return TYPED[row][1]


def grow(name: str, *cells: object) -> object:
    return functions()[name].evaluate(list(cells))


MOVED: dict[str, Callable[[int], object]] = {
    "A{r}*2": lambda r: a(r) * 2,
    "A{r}*100%+B{r}": lambda r: a(r) + b(r),
    "N(A{p})+$A$2+A$3+$B{r}": lambda r: (a(r - 1) if r > 2 else 0) + a(2) + a(3) + b(r),
    "SUM(A$2:A{r})": lambda r: sum(a(row) for row in range(2, r + 1)),
    "SUM(A{r}:A$5)": lambda r: sum(a(row) for row in range(min(r, 5), max(r, 5) + 1)),
    "SUM(A:A)-A{r}": lambda r: sum(map(a, ROWS)) - a(r),
    "SUM('S'!A{r},S!$B$2)": lambda r: a(r) + b(2),
    "ROW()*10+ROW(A{r})": lambda r: r * 11,
    'IF(A{r}>20,"<"&B{r},"ok")': lambda r: f"<{b(r):g}" if a(r) > 20 else "ok",
    "GROW_VOLUME_BOX(A{r},B{r},$B$2)": lambda r: grow("GROW_VOLUME_BOX", a(r), b(r), b(2)),
    "GROW_VOLUME_BOX(10,A{r},B{r})*2+A{r}": lambda r: grow("GROW_VOLUME_BOX", 10.0, a(r), b(r)) * 2 + a(r),  # type: ignore[operator]
    "GROW_DOSE(A{r},INDEX($B$2:$B$9,MATCH(A{r},$A$2:$A$9,0)))": lambda r: grow("GROW_DOSE", a(r), b(r)),
    "GROW_DOSE(GROW_VOLUME_BOX(A{r},B{r},5),A{r}/10)": lambda r: grow(
        "GROW_DOSE", grow("GROW_VOLUME_BOX", a(r), b(r), 5.0), a(r) / 10
    ),
}
"""Formulas, {r} the row of their cell and {p} the one above it, and what they give there."""

NOT_MOVED: dict[str, Callable[[int], object]] = {
    '"A{r}"&A{r}': lambda r: f"A{r}{a(r):g}",
    '"A5"&A{r}': lambda r: f"A5{a(r):g}",
    "A5+{r}": lambda r: a(5) + r,
    "SUM(1:1)*0+A{r}": lambda r: a(r),
    "SUM(Typed[a])-A{r}": lambda r: sum(map(a, ROWS)) - a(r),
    "Typed[[#This Row],[b]]*2": lambda r: b(r) * 2,
    "Whole-A{r}": lambda r: sum(map(a, ROWS)) - a(r),
    "Beside*2": lambda r: a(r) * 2,
    'GROW_VOLUME_BOX(A{r},B{r},"{r} in")': lambda r: grow("GROW_VOLUME_BOX", a(r), b(r), f"{r} in"),
    "SUM(A{r}:A1048570)": lambda r: sum(a(row) for row in range(r, 10)),
}
"""Formulas that are no copies, or of which a part does not move, and what they give."""


def book(path: Path, formula: str) -> Path:
    """A workbook with a formula in the column D of each row."""
    with xlsxwriter.Workbook(path) as written:
        sheet = written.add_worksheet("S")
        sheet.write_row("A1", ["a", "b"])
        for row in ROWS:
            sheet.write_row(row - 1, 0, TYPED[row])
            sheet.write_formula(row - 1, 3, "=" + formula.format(r=row, p=row - 1))
        if "Typed[" in formula:
            sheet.add_table("A1:B9", {"name": "Typed", "columns": [{"header": "a"}, {"header": "b"}]})
        written.define_name("Whole", "=SUM(S!$A$2:$A$9)")
        written.define_name("Beside", "=S!$A1")  # moves with the cell that names it, from row 1 on
    return path


def shared(data: bytes) -> bytes:
    """A sheet whose formulas in the column D share the first one."""
    return re.sub(rb'<c r="D([3-9])"><f>[^<]*</f>', rb'<c r="D\1"><f t="shared" si="0"/>', data).replace(
        b'<c r="D2"><f>', b'<c r="D2"><f t="shared" ref="D2:D9" si="0">'
    )


def assert_right(source: Path, value: Callable[[int], object]) -> None:
    output = source.with_name("out.xlsx")
    assert not recalculate(source, output).kept
    assert_only_values_differ(source, output)
    found = read_values(output)
    for row in ROWS:
        expected = value(row)
        assert found(f"D{row}") == (pytest.approx(expected) if isinstance(expected, float) else expected), row


@pytest.mark.parametrize("formula", MOVED | NOT_MOVED)
def test_each_copy_has_its_value(tmp_path: Path, formula: str) -> None:
    assert_right(book(tmp_path / "in.xlsx", formula), (MOVED | NOT_MOVED)[formula])


@pytest.mark.parametrize("formula", MOVED)
def test_each_copy_of_a_shared_formula_has_its_value(tmp_path: Path, formula: str) -> None:
    source = change_part(book(tmp_path / "plain.xlsx", formula), tmp_path / "in.xlsx", SHEET, shared)
    assert_right(source, MOVED[formula])


SHIFTED: dict[str, Callable[[int], object]] = {
    '"A2"&A2': lambda r: f"A2{a(r):g}",
    "SUM(3:3)*0+A2": lambda r: a(r),
    "LOG10(10)*B2": lambda r: b(r),
}
"""Formulas of the first row that others share, with what looks like a reference or is moved otherwise than cells."""


@pytest.mark.parametrize("formula", SHIFTED)
def test_what_only_looks_like_a_reference_is_shared_as_it_is(tmp_path: Path, formula: str) -> None:
    source = change_part(book(tmp_path / "plain.xlsx", formula), tmp_path / "in.xlsx", SHEET, shared)
    assert_right(source, SHIFTED[formula])


@pytest.mark.parametrize(
    ("formula", "row", "other", "text"),
    [
        ("A5+$B$2+C$3", 5, 7, "A7+$B$2+C$3"),
        ("A4*5%", 5, 9, "A8*5%"),
        ("SUM(A1:A5)", 5, 6, "SUM(A2:A6)"),
        ("$B$2", 5, 1_048_576, "$B$2"),
    ],
)
def test_the_text_of_a_copy(formula: str, row: int, other: int, text: str) -> None:
    copies = Copies.of(formula, row)
    assert copies.text(row) == formula
    assert other in copies.rows
    assert copies.text(other) == text


@pytest.mark.parametrize(
    ("formula", "row", "outside"),
    [("A4", 5, 1), ("A6", 5, 99_999), ("A100000", 5, 6), ("SUM(A1:A1048576)", 5, 6)],
)
def test_rows_that_no_copy_is_told_of(formula: str, row: int, outside: int) -> None:
    """Where a reference would leave the sheet, or its row is so large that it is read as it stands."""
    copies = Copies.of(formula, row)
    assert row in copies.rows
    assert outside not in copies.rows


@pytest.mark.parametrize(
    ("formula", "is_plain"),
    [("A1+B$2", True), ('"x"&A1', True), ('"A1"&A1', False), ("SUM(3:3)+A1", False), ("SUM($3:$3)+A1", True)],
)
def test_whether_all_that_moves_is_references(formula: str, is_plain: bool) -> None:
    assert Copies.of(formula, 1).is_plain is is_plain


@pytest.mark.parametrize(
    ("text", "as_one"),
    [
        ("SUM(\U000f0000:\U000f0001)", True),
        ("'growcells 1 2'!\ue011*2", True),
        ("INDEX('Q1'!$A$1:$B$2,LOG10(\U000f0000))", True),
        ("SUM(B2:B9)", False),
        ("SUM(3:3)", False),
        ('"\U000f0000"&1', False),
    ],
)
def test_whether_a_text_for_the_engine_moves_as_one(text: str, as_one: bool) -> None:
    assert moves_as_one([text]) is as_one


@pytest.mark.parametrize("blank", ["CHOOSE(2,1,C2)", "INDEX(C1:C9,2)", "IF(TRUE,C2)", "IFERROR(C2,1)"])
def test_a_blank_cell_that_an_argument_gives_is_blank(tmp_path: Path, blank: str) -> None:
    """As a program hands it over, and not 0."""
    source, output = book(tmp_path / "in.xlsx", f'GROW_WHY("GROW_VOLUME_BOX",A2,B2,{blank})'), tmp_path / "out.xlsx"
    recalculate(source, output)
    assert read_values(output)("D2") == grow("GROW_WHY", "GROW_VOLUME_BOX", a(2), b(2), None)
