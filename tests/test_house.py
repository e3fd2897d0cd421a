"""The house rules: a light import, imports that run one way, clean code, texts that are true."""

from __future__ import annotations

import ast
import re
import shutil
import subprocess
import sys
from operator import attrgetter
from pathlib import Path

import pytest

from growcells import functions
from growcells.tables import read_table
from processes import PROJECT, run_python

PACKAGES = {
    "growcells": PROJECT / "functions" / "growcells",
    "growcells_addin": PROJECT / "addin" / "growcells_addin",
    "growcells_workbooks": PROJECT / "workbooks" / "growcells_workbooks",
}
TABLES = [table for package in PACKAGES.values() for table in package.rglob("*.csv")]
FORBIDDEN = {
    "growcells": {"growcells_addin", "growcells_workbooks", "xlwings", "openpyxl", "uno", "pandas", "ironcalc"},
    "growcells_addin": {"growcells_workbooks"},
    "growcells_workbooks": set[str](),
}
HEAVY = ("numpy", "scipy", "pandas", "pint", "molmass")
MOST_MILLISECONDS = 60


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
    "command", [["ruff", "check"], ["ruff", "format", "--check"], ["mypy"]], ids=["ruff-check", "ruff-format", "mypy"]
)
def test_code_is_clean(command: list[str]) -> None:
    done = subprocess.run([sys.executable, "-m", *command], cwd=PROJECT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr


def test_top_level_has_only_what_the_design_has() -> None:
    if not shutil.which("git"):
        pytest.skip("NOT TESTED: git is not here to list the files")
    listed = subprocess.run(["git", "ls-files"], cwd=PROJECT, capture_output=True, text=True).stdout.split("\n")
    if not listed[0]:
        pytest.skip("NOT TESTED: not a git checkout")
    top = {Path(name).parts[0] for name in listed if name and not name.startswith(".")}
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


@pytest.mark.parametrize(
    "table", [path for folder in PACKAGES.values() for path in folder.rglob("*.csv")], ids=attrgetter("name")
)
def test_every_row_of_a_table_names_its_source(table: Path) -> None:
    rows = read_table(table)
    assert rows
    for row in rows:
        assert row["source"], row


@pytest.mark.parametrize("text", ["README.md", "DEVELOPERS.md"])
def test_texts_name_functions_and_files_that_exist(text: str) -> None:
    written = (PROJECT / text).read_text(encoding="utf-8")
    named = set(re.findall(r"\bGROW_[A-Z0-9_]+\b", written)) - {"GROW_EXAMPLE"}
    assert named <= set(functions())
    for path in re.findall(r"`((?:functions|addin|workbooks|tests)/[\w./-]+)`", written):
        assert (PROJECT / path).exists(), f"{text} names {path}"
