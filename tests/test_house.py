"""The house rules: a light import, imports that run one way, clean code, texts that are true."""

from __future__ import annotations

import ast
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from operator import attrgetter
from pathlib import Path

import pytest

from growcells import functions
from growcells.data import read_table
from processes import PROJECT, run_python

PACKAGES = {
    "growcells": PROJECT / "functions" / "growcells",
    "growcells_addin": PROJECT / "addin" / "growcells_addin",
    "growcells_workbooks": PROJECT / "workbooks" / "growcells_workbooks",
}
TABLES = [table for package in PACKAGES.values() for table in package.rglob("*.csv")]
FORBIDDEN = {
    "growcells": {
        "growcells_addin",
        "growcells_workbooks",
        "xlwings",
        "openpyxl",
        "xlsxwriter",
        "uno",
        "pandas",
        "ironcalc",
    },
    "growcells_addin": {"growcells_workbooks"},
    "growcells_workbooks": set[str](),
}
FIRST = r"(?<![\w.,–/-])"
"""Before the first digit of a number."""
HEAVY = ("numpy", "scipy", "pandas", "pint", "molmass")
MOST_MILLISECONDS = 60
OTHERS_FIGURES = (
    rf"{FIRST}45(\.0)?[\"' ]*(in)?[\"']?\s*[,×x*;]\s*[\"']?29(\.0)?\b",
    rf"{FIRST}3 ?(ft|') ?9\b",
    rf"{FIRST}28(\.\d+)?[\"']?[ ~]?(US )?gal",
    rf"{FIRST}56(\.\d+)? ?(g|grams)\b",
    r"GROW_\w+[\"']?[(,] ?\(*(28(\.[02]\d*)?|56|45)[,)]",
    rf"{FIRST}4-1[8]-38",
)
"""A bed, its gallons, their grams and a label that are not this project's own."""
LABEL = rf"{FIRST}(?!\d\d\d\d-)\d+(?:\.\d+)?-\d+(?:\.\d+)?-\d+(?:\.\d+)?(?![\d-])"
"""Three percents with hyphens between, and no date."""
INVENTED_LABELS = """
17-7-21 7-9-26 13-4-29 16-7-19 11-6-19 10-9-19 19-11-3 19-11-23 19-0-11 11-0-27 0-19-23 0-0-41 13.3-0-0 12.4-0-0
24.8-0-0 10-6.5-27.5 20-13-55 10.15-4.5-13 20.3-9-26 12.75-5.25-26 11.2-3-8.66667 15.4269-3.5-33.792
0-0-0 0-0-63 0.4-0-0 5-0-0 100-0-0 46-30-23 40-40-40 60-60-60 50.5-50-0 50-50-0.5 50-50-0.6 0-1-1 5-3-1
3-1.2-4.4 4-0-8 2-0-4 0-0-3 6-11-23 8-9-25
"""
"""Labels that no bag is known by, what mixes of them come to, and figures at the edge of what can be."""


def test_import_is_light() -> None:
    loaded = run_python(f"import sys, growcells; print([name for name in {HEAVY!r} if name in sys.modules])").stdout
    assert loaded.strip() == "[]"


def test_every_declaration_is_light() -> None:
    code = f"import sys, growcells; growcells.functions(); print([name for name in {HEAVY!r} if name in sys.modules])"
    assert run_python(code).stdout.strip() == "[]"


def test_import_is_quick() -> None:
    # Time of the processor, so that whatever else the machine does is not counted.
    code = "import time; begin = time.process_time(); import growcells; print(time.process_time() - begin)"
    milliseconds = min(float(run_python(code).stdout) for _ in range(7)) * 1000
    print(f"import growcells takes {milliseconds:.0f} ms beyond Python's own start")
    assert milliseconds < MOST_MILLISECONDS


@pytest.mark.parametrize("package", PACKAGES)
def test_imports_run_one_way(package: str) -> None:
    for file in PACKAGES[package].rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            names = []
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and not node.level:
                names = [node.module or ""]
            wrong = {name.split(".")[0] for name in names} & FORBIDDEN[package]
            assert not wrong, f"{file.relative_to(PROJECT)}:{node.lineno} imports {wrong}"


@pytest.mark.parametrize(
    "command",
    [["ruff", "check"], ["ruff", "format", "--check"], pytest.param(["mypy"], marks=pytest.mark.slow)],
    ids=" ".join,
)
def test_code_is_clean(command: list[str]) -> None:
    done = subprocess.run([sys.executable, "-m", *command], cwd=PROJECT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr


def files_of_the_project() -> list[str]:
    """What git lists, or a skip."""
    if not shutil.which("git"):
        pytest.skip("NOT TESTED: git is not here to list the files")
    listed = subprocess.run(["git", "ls-files"], cwd=PROJECT, capture_output=True, text=True).stdout.splitlines()
    if not listed:
        pytest.skip("NOT TESTED: not a git checkout")
    return [name for name in listed if (PROJECT / name).exists()]


def test_top_level_has_only_what_the_design_has() -> None:
    top = {Path(name).parts[0] for name in files_of_the_project() if not name.startswith(".")}
    assert top == {
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "pyproject.toml",
        "addin",
        "functions",
        "tests",
        "workbooks",
    }


@pytest.mark.parametrize("table", TABLES, ids=attrgetter("name"))
def test_every_row_of_a_table_has_its_columns_and_names_its_source(table: Path) -> None:
    rows = read_table(table)
    assert rows
    for row in rows:
        assert None not in row and None not in row.values(), row  # a comma without quotes moves what follows it
        assert row["source"], row


@pytest.mark.parametrize(
    "text", ["README.md", "DEVELOPERS.md", *(f"{room}/README.md" for room in ("functions", "addin", "workbooks"))]
)
def test_texts_name_functions_and_files_that_exist(text: str) -> None:
    written = (PROJECT / text).read_text(encoding="utf-8")
    named = set(re.findall(r"\bGROW_[A-Z0-9_]+\b", written)) - {"GROW_EXAMPLE"}
    assert named <= set(functions())
    for path in re.findall(r"`((?:functions|addin|workbooks|tests)/[\w./-]+)`", written):
        assert (PROJECT / path).exists(), f"{text} names {path}"


@pytest.mark.parametrize("pattern", OTHERS_FIGURES)
def test_every_figure_is_of_a_scenario_of_our_own(pattern: str) -> None:
    assert not [f"{name}: {found[0]}" for name, text in texts() for found in re.finditer(pattern, text)]


def test_every_label_is_one_that_no_bag_is_known_by() -> None:
    found = {(name, label) for name, text in texts() for label in re.findall(LABEL, text)}
    assert {label for _, label in found} >= {"17-7-21", "7-9-26"}
    assert not {(name, label) for name, label in found if label not in INVENTED_LABELS.split()}


def texts() -> Iterator[tuple[str, str]]:
    """The files of the project that are text."""
    for name in files_of_the_project():
        if Path(name).suffix not in (".png", ".xlsx"):
            yield name, (PROJECT / name).read_text("utf-8")
