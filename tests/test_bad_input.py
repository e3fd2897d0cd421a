"""Bad input in every bridge: an error, of which GROW_WHY says the same sentence everywhere.

The formulas and the sentences are those of ``data/sentences.tsv``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pytest

from bridges import BLANK_CELL, computed_in_file
from growcells import CellError
from libreoffice import RunningOffice
from stand_ins.comparison import ERROR_TEXT
from stand_ins.excel import office_excel, windows_excel
from test_sentences import call_of, sentences

ROWS = [row for row in sentences() if not row.formula.startswith("=GROW_WHY(")]
CALLS = [call_of(row.formula) for row in ROWS]
FORMULAS = [row.formula for row in ROWS]
WHY = [formula.replace(f"={name}(", f'=GROW_WHY("{name}",') for formula, (name, _) in zip(FORMULAS, CALLS, strict=True)]
TOO_MANY = "values and takes"
"""Part of the sentence for more values than a function takes, which LibreOffice and Excel refuse themselves."""


@dataclass(frozen=True)
class Answers:
    """What the calls show, and what GROW_WHY says of each."""

    shown: list[object]
    why: list[object]


@pytest.fixture(scope="module")
def in_file(tmp_path_factory: pytest.TempPathFactory) -> Answers:
    """A file recalculated without a spreadsheet program."""
    values = computed_in_file(tmp_path_factory.mktemp("file"), [*FORMULAS, *WHY])
    return Answers(values[: len(ROWS)], values[len(ROWS) :])


@pytest.fixture(scope="module")
def in_libreoffice(office: RunningOffice) -> Answers:
    """A running LibreOffice Calc."""
    return Answers(list(office.evaluate(FORMULAS)), list(office.evaluate(WHY)))


@pytest.fixture(scope="module", params=[windows_excel, office_excel])
def in_excel(request: pytest.FixtureRequest) -> Iterator[Answers]:
    """xlwings' call paths for Excel on Windows, and on Mac and web."""
    with request.param() as excel:
        shown = [excel.call(name, *cells) for name, cells in CALLS]
        yield Answers(shown, [excel.call("GROW_WHY", name, *cells) for name, cells in CALLS])


def check(answers: Answers, index: int) -> None:
    """The call shows its error, or the sentence where a cell cannot show errors, and GROW_WHY says the sentence."""
    row = ROWS[index]
    assert answers.shown[index] in (CellError(row.error), ERROR_TEXT + row.sentence)
    assert answers.why[index] == row.sentence


def rows_but(*left_out: str) -> pytest.MarkDecorator:
    """Every row but those whose formula or sentence holds one of these."""
    kept = [i for i, row in enumerate(ROWS) if not any(part in row.formula + row.sentence for part in left_out)]
    return pytest.mark.parametrize("index", kept, ids=[FORMULAS[index] for index in kept])


@rows_but()
def test_in_a_file(in_file: Answers, index: int) -> None:
    check(in_file, index)


# LibreOffice hands a blank and a truth over as 0.0 and 1.0; of blanks there is test_blanks.py.
@rows_but(BLANK_CELL, "TRUE", TOO_MANY)
def test_in_libreoffice(in_libreoffice: Answers, index: int) -> None:
    check(in_libreoffice, index)


@rows_but(TOO_MANY)
def test_in_excel(in_excel: Answers, index: int) -> None:
    check(in_excel, index)
