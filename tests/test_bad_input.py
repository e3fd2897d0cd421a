"""Bad input in every bridge: an error, and GROW_WHY says what to type instead."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pytest

from bridges import BLANK_CELL, computed_in_file
from growcells import CellError, functions
from growcells.declaring import formula_text
from libreoffice import RunningOffice, office  # noqa: F401  # a fixture
from stand_ins.comparison import is_error
from stand_ins.excel import office_excel, windows_excel

# Function, arguments, and words that the sentence must hold; None is a blank cell.
CASES: list[tuple[str, tuple[object, ...], list[str]]] = [
    ("GROW_VOLUME_BOX", (45, "five", 5), ["width", '"five"', "inches", '"45 in"']),
    ("GROW_VOLUME_BOX", (45, "5 gal", 5), ["width", "volume", "length"]),
    ("GROW_VOLUME_BOX", (45, None, 5), ["width", "blank", "the inside width"]),
    ("GROW_VOLUME_BOX", (45, 0, 5), ["width", "zero or blank"]),
    ("GROW_VOLUME_BOX", (45, -29, 5), ["width", "-29", "below zero"]),
    ("GROW_VOLUME_BOX", (45, "1,5", 5), ["1.5 or 15"]),
    ("GROW_VOLUME_BOX", (45, 29, 5, "gal"), ["size_unit", "volume", "length"]),
    ("GROW_VOLUME_BOX", (1e308, 1e308, 1e308), ["finite"]),
    ("GROW_VOLUME_PIPE", (4, 120, 5), ["water cannot stand deeper than the pipe"]),
    ("GROW_DEPTH_FOR", (10, "cone", 5), ['"cone"', "box"]),
    ("GROW_MIX_TEMP", (10, 0, 10, 20), ["temp1", "zero or blank", "0 °C"]),
    ("GROW_DOSE", ("28 gal", "2 gal"), ["rate", "volume", "mass per volume"]),
    ("GROW_PPM", (56, 28, "18-9-18", "Xx"), ["Xx"]),
    ("GROW_PPM", (56, 28, "18-9", "N"), ["18-9"]),
    ("GROW_PPM", (56, 28, "potasium nitrate", "N"), ["potassium nitrate"]),
    ("GROW_PPM", (56, 28, "60-60-60", "N"), ["100"]),
    ("GROW_PPM", (-56, 28, "18-9-18", "N"), ["mass", "below zero"]),
    ("GROW_DOSE_FOR", (100, "Ca", "18-9-18", 28), ["Ca"]),
    ("GROW_TOPUP", (28, 20, 3, 1.6, 1.25), ["GROW_SWAP"]),
    ("GROW_WEIGH", (0.2, 1), ["half a scale step"]),
    ("GROW_REORDER", (2600, 650, 2, "16/11/2026"), ["2026-11-25"]),
    ("GROW_ACID", (28, "2 meq/L", 19, 5.8, "nitric", 60), ["ph"]),
    ("GROW_EC_25", (1.8, -20), ["temperature"]),
]
IDS = [f"{name}-{index}" for index, (name, *_) in enumerate(CASES)]


@dataclass(frozen=True)
class Answers:
    """What the calls show, and what GROW_WHY says of each."""

    shown: list[object]
    why: list[object]


def call(name: str, cells: tuple[object, ...]) -> str:
    """The call as a formula."""
    return f"={name}({','.join(BLANK_CELL if cell is None else formula_text(cell) for cell in cells)})"


FORMULAS = [call(name, cells) for name, cells, _ in CASES]
WHY = [
    formula.replace(f"={name}(", f'=GROW_WHY("{name}",') for formula, (name, *_) in zip(FORMULAS, CASES, strict=True)
]


@pytest.fixture(scope="module")
def called() -> Answers:
    """Direct Python calls."""
    shown = [functions()[name].evaluate(cells) for name, cells, _ in CASES]
    return Answers(shown, [functions()["GROW_WHY"].evaluate((name, *cells)) for name, cells, _ in CASES])


@pytest.fixture(scope="module")
def in_file(tmp_path_factory: pytest.TempPathFactory) -> Answers:
    """A file recalculated without a spreadsheet program."""
    values = computed_in_file(tmp_path_factory.mktemp("file"), [*FORMULAS, *WHY])
    return Answers(values[: len(CASES)], values[len(CASES) :])


@pytest.fixture(scope="module")
def in_libreoffice(office: RunningOffice) -> Answers:  # noqa: F811  # the fixture imported above
    """A running LibreOffice Calc."""
    return Answers(list(office.evaluate(FORMULAS)), list(office.evaluate(WHY)))


@pytest.fixture(scope="module", params=[windows_excel, office_excel])
def in_excel(request: pytest.FixtureRequest) -> Iterator[Answers]:
    """xlwings' call paths for Excel on Windows, and on Mac and web."""
    with request.param() as excel:
        shown = [excel.call(name, *cells) for name, cells, _ in CASES]
        yield Answers(shown, [excel.call("GROW_WHY", name, *cells) for name, cells, _ in CASES])


def check(answers: Answers, index: int) -> None:
    """The call is an error and GROW_WHY tells it."""
    assert is_error(answers.shown[index])
    for word in CASES[index][2]:
        assert word in str(answers.why[index])


@pytest.mark.parametrize("index", range(len(CASES)), ids=IDS)
@pytest.mark.parametrize("bridge", ["called", "in_file", "in_libreoffice"])
def test_bad_input(bridge: str, index: int, request: pytest.FixtureRequest) -> None:
    check(request.getfixturevalue(bridge), index)


@pytest.mark.parametrize("index", range(len(CASES)), ids=IDS)
def test_bad_input_in_excel(in_excel: Answers, index: int) -> None:
    check(in_excel, index)


def test_the_sentence_is_the_same_everywhere(called: Answers, in_file: Answers, in_excel: Answers) -> None:
    assert in_file.why == called.why
    assert in_excel.why == called.why


def test_an_error_cell_is_passed_on(office: RunningOffice) -> None:  # noqa: F811
    formula = "=GROW_VOLUME_BOX(45,1/0,5)"
    assert office.evaluate([formula]) == [CellError("#DIV/0!")]
    error = functions()["GROW_VOLUME_BOX"].evaluate((45, CellError("#DIV/0!"), 5))
    assert isinstance(error, CellError) and error.code == "#DIV/0!"
