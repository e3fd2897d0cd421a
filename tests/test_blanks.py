"""A blank cell is never a real zero: every argument of every function, blank, in every bridge.

    python3 tests/run.py tests/test_blanks.py -s

prints the table. The blank is a cell that holds nothing; LibreOffice hands it over as 0.0.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator

import pytest

from bridges import BLANK_CELL, BRIDGES, computed_in_file
from growcells import CellFunction, functions
from growcells.cells.arguments import formula_text
from libreoffice import RunningOffice
from stand_ins.comparison import as_rows, assert_same, is_error
from stand_ins.excel import office_excel, windows_excel

Case = tuple[CellFunction, tuple[object, ...], int]


def cases() -> Iterator[Case]:
    """A function, the arguments of its first example filled up to one of them, and the place of that one, blank."""
    for function in functions().values():
        example = function.examples[0]
        for place in range(len(function.arguments)):
            if not function.arguments[place].whole:
                filled = [*example.arguments, *(None,) * (place + 1 - len(example.arguments))]
                yield function, (*filled[:place], None, *filled[place + 1 :]), place


CASES = list(cases())
IDS = [f"{function.name}-{function.arguments[place].name}" for function, _, place in CASES]
outcomes: dict[str, Counter[str]] = defaultdict(Counter)
Shown = dict[int, object]


def first(value: object) -> object:
    """The first cell of a result."""
    rows = as_rows(value)
    return rows[0][0]


def formula(case: Case) -> str:
    """The call with a reference to a blank cell; of a table its first cell."""
    function, arguments, place = case
    texts = [BLANK_CELL if index == place else formula_text(argument) for index, argument in enumerate(arguments)]
    call = f"{function.name}({','.join(texts)})"
    return f"=INDEX({call},1,1)" if function.is_table else f"={call}"


@pytest.fixture(scope="module")
def called() -> Shown:
    """Direct Python calls with None."""
    return {index: first(function.evaluate(arguments)) for index, (function, arguments, _) in enumerate(CASES)}


@pytest.fixture(scope="module")
def in_file(tmp_path_factory: pytest.TempPathFactory) -> Shown:
    """A file recalculated without a spreadsheet program."""
    folder = tmp_path_factory.mktemp("file")
    return dict(enumerate(computed_in_file(folder, [formula(case) for case in CASES])))


@pytest.fixture(scope="module")
def in_libreoffice(office: RunningOffice) -> Shown:
    """A running LibreOffice Calc."""
    return dict(enumerate(office.evaluate([formula(case) for case in CASES])))


@pytest.fixture(scope="module")
def in_excel_on_windows() -> Iterator[Shown]:
    """xlwings' own Windows call path, with stand-ins for pywin32."""
    with windows_excel() as excel:
        yield {index: first(excel.call(function.name, *cells)) for index, (function, cells, _) in enumerate(CASES)}


@pytest.fixture(scope="module")
def in_excel_elsewhere() -> Iterator[Shown]:
    """xlwings' custom-function call path for Excel on Mac and web."""
    with office_excel() as excel:
        yield {index: first(excel.call(function.name, *cells)) for index, (function, cells, _) in enumerate(CASES)}


@pytest.mark.parametrize(("index", "case"), list(enumerate(CASES)), ids=IDS)
@pytest.mark.parametrize("bridge", BRIDGES)
def test_a_blank_is_no_zero(bridge: str, index: int, case: Case, request: pytest.FixtureRequest) -> None:
    function, arguments, place = case
    argument = function.arguments[place]
    shown = request.getfixturevalue(bridge)[index]
    if is_error(shown):
        outcome = "refused"
        # Only LibreOffice cannot tell a blank from a 0 and must refuse it for an optional number too.
        in_doubt = bridge == "in_libreoffice" and argument.kind.numeric and not argument.zero
        # A shape may need a size that others do not.
        needed_here = argument.required or is_error(function.evaluate(arguments))
        assert needed_here or in_doubt
    elif argument.required:
        outcome = "a real zero"
        assert bridge == "in_libreoffice" and argument.zero
        assert_same(shown, first(function.evaluate([*arguments[:place], 0.0, *arguments[place + 1 :]])))
    else:
        outcome = "left out"
        assert_same(shown, first(function.evaluate(arguments)))
    outcomes[bridge][outcome] += 1


@pytest.fixture(scope="module", autouse=True)
def table() -> Iterator[None]:
    """Print what became of the blanks in each bridge."""
    yield
    print(f"\nBlank cells: {len(CASES)} arguments of {len(functions())} functions, one blank at a time")
    print(f"{'bridge':22} {'refused':>10} {'left out':>10} {'a real zero':>12}")
    for bridge, counts in outcomes.items():
        print(f"{bridge:22} {counts['refused']:10} {counts['left out']:10} {counts['a real zero']:12}")
