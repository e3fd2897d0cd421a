"""The rooms of workbooks/ are as DEVELOPERS.md draws them: each imports only what stands below it."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from processes import PROJECT

PACKAGE = PROJECT / "workbooks" / "growcells_workbooks"
FILES = sorted(path for path in PACKAGE.rglob("*.py") if path.parent != PACKAGE or not path.stem.startswith("__"))
DRAWN = "each importing only from the lines below its own:"
"""What stands above the drawing."""
SPREADSHEETS = {"openpyxl", "lxml", "growcells_addin"}
DRAWING = {("sheets", "sheet_writer"), ("sheets", "styles"), ("sheets", "print_setup"), ("sheets", "workbook_files")}


def drawn_lines() -> list[list[str]]:
    """The rooms as they are drawn, from the top down; those of one line know nothing of each other."""
    text = (PROJECT / "DEVELOPERS.md").read_text(encoding="utf-8")
    drawing = re.search(re.escape(DRAWN) + r"\n\n```\n(.*?)```", text, re.DOTALL)
    assert drawing
    return [re.split(r" {3,}", line.strip())[0].split() for line in drawing[1].splitlines()]


LEVELS = {room: level for level, rooms in enumerate(reversed(drawn_lines())) for room in rooms}


def room_of(parts: tuple[str, ...]) -> str:
    """The room of a module of the package: the innermost folder, or the module itself where it is in none."""
    return next(".".join(parts[:size]) for size in (2, 1) if ".".join(parts[:size]) in LEVELS)


def imports_of(path: Path) -> Iterator[tuple[str, ...]]:
    """The modules of the package that a module imports, by their parts."""
    folder = path.relative_to(PACKAGE).parent.parts
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.level:
            above = folder[: len(folder) - node.level + 1]
            names = [node.module] if node.module else [alias.name for alias in node.names]
            yield from ((*above, *name.split(".")) for name in names)


def parts_of(path: Path) -> tuple[str, ...]:
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return parts[:-1] if parts[-1] == "__init__" else parts


def test_every_module_has_a_room_and_every_room_a_module() -> None:
    assert {room_of(parts_of(path)) for path in FILES} == set(LEVELS)


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_no_import_runs_up(path: Path) -> None:
    own = room_of(parts_of(path))
    for parts in imports_of(path):
        other = room_of(parts)
        assert other == own or LEVELS[other] < LEVELS[own], f"{own} imports {'.'.join(parts)}"


@pytest.mark.parametrize("room", ["figures", "advice", "pages"])
def test_what_a_page_says_knows_no_spreadsheet(room: str) -> None:
    """So that each writer draws the same pages."""
    for path in (PACKAGE / "report" / room).glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom) and not node.level:
                names = [node.module or ""]
            assert not {name.split(".")[0] for name in names} & SPREADSHEETS, path
        for parts in imports_of(path):
            assert parts[:2] not in {("sheets", "sheet_writer"), ("sheets", "styles"), ("sheets", "workbook_files")}, (
                path
            )
