"""Whether cells show what is expected of them."""

from __future__ import annotations

from typing import Any

import pytest

from growcells import CellError
from growcells.cells.arguments import Example

ERROR_TEXT = "#GROW! "


def is_error(shown: object) -> bool:
    """Whether a cell shows an error, as a value or as a text."""
    return isinstance(shown, CellError) or (isinstance(shown, str) and shown.startswith(ERROR_TEXT))


def as_rows(shown: Any) -> list[list[object]]:
    """What cells show, as rows; a flat list is a column, as results of one column are."""
    if not isinstance(shown, (list, tuple)):
        return [[shown]]
    return [list(row) if isinstance(row, (list, tuple)) else [row] for row in shown]


def assert_shows(shown: object, example: Example) -> None:
    """Every cell shows the value of the example."""
    assert_same(shown, example.value, example.tolerance)


def assert_same(shown: object, expected: object, tolerance: float = 1e-12) -> None:
    """Every cell shows what is expected of it; COM gives a result of one row flat."""
    rows, expected_rows = as_rows(shown), as_rows(expected)
    if len(expected_rows) == 1 and isinstance(shown, list) and not isinstance(shown[0], (list, tuple)):
        rows = [shown]
    assert [len(row) for row in rows] == [len(row) for row in expected_rows]
    for row, expected_row in zip(rows, expected_rows, strict=True):
        for cell, value in zip(row, expected_row, strict=True):
            assert_cell(cell, value, tolerance)


def assert_cell(shown: object, expected: object, tolerance: float) -> None:
    """The cell shows a number within the tolerance, any error for an error, no text for a blank."""
    if isinstance(expected, CellError):
        assert is_error(shown)
    elif isinstance(expected, (int, float)) and not isinstance(expected, bool):
        assert shown == pytest.approx(expected, rel=tolerance, abs=1e-12)
    else:
        assert (shown or "") == (expected or "")
