"""The rooms of the packages: the drawing in DEVELOPERS.md is true, and no import runs up."""

from __future__ import annotations

import ast
import re

import pytest

import rooms
from growcells.families import MODULES

BELOW = {
    "growcells/families": {"terms", "chemistry", "statistics", "cells", "data", "no_answer", "version"},
    "growcells/terms": {"chemistry", "statistics", "cells", "data", "no_answer"},
    "growcells/cells": {"data", "no_answer"},
    "growcells/chemistry": {"data", "no_answer"},
    "growcells/statistics": {"data", "no_answer"},
    "growcells/data": set(),
    "growcells/no_answer": set(),
    "growcells/version": set(),
}
"""What each room of the calculations may import: what stands below it."""
REPORT = "growcells_workbooks/report"
ABOVE = {"figures": {"advice", "pages", "look"}, "advice": {"pages", "look"}, "pages": {"look"}}
"""The rooms of the report that stand above each, beside the report as a whole."""
READING = "growcells_workbooks/reading"
QUESTIONS = ("read", "records", "tables", "mapping", "columns", "values", "vocabulary", "inputs", "model")
"""The rooms of reading from the top: the one that leads through them, then one for each question."""
SPREADSHEETS = ("openpyxl", "xlsxwriter", "lxml", "growcells_addin")


def test_the_drawing_is_true() -> None:
    """Made anew by ``python tests/rooms.py``; it raises where rooms import each other in a circle."""
    drawn = rooms.DRAWN.search(rooms.DEVELOPERS.read_text("utf-8"))
    assert drawn and drawn[0].split("\n") == rooms.drawing(), "run: python tests/rooms.py"


@pytest.mark.parametrize("room", BELOW)
def test_a_room_of_the_calculations_imports_only_what_stands_below_it(room: str) -> None:
    assert rooms.imports()[room] <= {f"growcells/{other}" for other in BELOW[room]}


@pytest.mark.parametrize("room", ABOVE)
def test_a_room_of_the_report_imports_none_above_it(room: str) -> None:
    assert not rooms.imports()[f"{REPORT}/{room}"] & {REPORT, *(f"{REPORT}/{other}" for other in ABOVE[room])}


def test_reading_has_a_room_for_each_question_and_no_import_runs_up() -> None:
    known, found = rooms.modules(), rooms.imports()
    assert {room for room in found if room.startswith(f"{READING}/")} == {f"{READING}/{room}" for room in QUESTIONS}
    for place, room in enumerate(QUESTIONS):
        assert not found[f"{READING}/{room}"] & {READING, *(f"{READING}/{above}" for above in QUESTIONS[:place])}
    for room in QUESTIONS[1:]:
        name = ".".join(f"{READING}/{room}".split("/"))
        said = ast.get_docstring(ast.parse((known.get(f"{name}.__init__") or known[name]).read_text("utf-8")))
        assert said and re.match(r"(?:What|Where|Which)\b[^.?]*\?", said), room


@pytest.mark.parametrize("room", ABOVE)
def test_what_pages_say_knows_no_spreadsheet(room: str) -> None:
    """So that each writer draws the same pages."""
    known = rooms.modules()
    for module, file in known.items():
        if rooms.room_of(module) == f"{REPORT}/{room}":
            assert not re.search(rf"^\s*(?:from|import) (?:{'|'.join(SPREADSHEETS)})\b", file.read_text("utf-8"), re.M)
            others = rooms.imported(module, file, known)
            of_sheets = {name.split(".")[-1] for name in others if ".sheets." in name}
            assert of_sheets <= {"table_columns", "text_size", "shown_values"}, module


def test_no_two_modules_of_the_calculations_share_a_name() -> None:
    names = [module.rpartition(".")[2] for module in rooms.modules() if module.startswith("growcells.")]
    assert {name for name in names if names.count(name) > 1} <= {"__init__"}


def test_the_packages_import_one_way() -> None:
    order = ["growcells", "growcells_addin", "growcells_workbooks"]
    for room, others in rooms.imports().items():
        package = order.index(room.split("/")[0])
        assert all(order.index(other.split("/")[0]) <= package for other in others), room


def test_families_hold_cell_functions_and_import_no_sibling() -> None:
    known = rooms.modules()
    for name in MODULES:
        module = f"growcells.families.{name}"
        imported = set(rooms.imported(module, known[module], known))
        assert not {other for other in imported if other.startswith("growcells.families.") and "__init__" not in other}
        source = known[module].read_text("utf-8")
        assert "@cell_function(" in source, f"{module} declares no cell function"
    assert {module.split(".")[-1] for module in known if module.startswith("growcells.families.")} == {
        *MODULES,
        "__init__",
    }


def test_a_circle_is_told() -> None:
    with pytest.raises(ValueError, match="these rooms import each other in a circle: a, b"):
        rooms.from_the_top({"a": {"b"}, "b": {"a"}})
