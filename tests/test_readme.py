"""What the READMEs tell a newcomer: formulas give the figures printed, links lead somewhere, troubles look as said."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

import try_it
from bridges import computed_in_file
from growcells_addin.bridge_files import BridgeProblem
from growcells_addin.libreoffice import packages, program
from growcells_addin.libreoffice.extension import EVENTS
from growcells_workbooks.recalculation import recalculate
from processes import PROJECT

README = PROJECT / "README.md"
READMES = [README, *(PROJECT / room / "README.md" for room in ("functions", "addin", "workbooks"))]
SEEN_ELSEWHERE = {
    "growcells: command not found": "the words of bash; dash and zsh turn them around",
    "Python was not found": "the words of Windows",
    "#NAME?": "LibreOffice without the extension: test_libreoffice_install.py; Excel: not seen",
    "#GROW!": "test_excel_cells.py",
    "Err:504": "LibreOffice while the functions rest: test_libreoffice_starts.py",
    "std::bad_alloc": "LibreOffice with an older extension",
    "Unspecified Application Error": "the same",
    "source file could not be loaded": "the same",
}
"""What the table says of other programs, or what other tests show."""


def sentences() -> list[str]:
    """What stands in the first column of the table, as code."""
    table = (
        (PROJECT / "addin" / "README.md").read_text("utf-8").partition("## Troubleshooting")[2].partition("\n## ")[0]
    )
    return [
        text
        for line in table.splitlines()
        for text in re.findall(r"`([^`]+)`", line.split("|")[1] if "|" in line else "")
    ]


def wrong_folder(folder: Path, _: pytest.MonkeyPatch) -> str:
    return subprocess.run(
        [sys.executable, "workbooks/try_it.py"], cwd=folder, capture_output=True, text=True, check=False
    ).stderr


def old_python(_: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setattr(try_it, "OLDEST_PYTHON", (99, 0))
    with pytest.raises(SystemExit) as leaving:
        try_it.check_python()
    return str(leaving.value)


def no_environments(_: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setitem(sys.modules, "ensurepip", None)
    with pytest.raises(SystemExit) as leaving:
        try_it.check_python()
    return str(leaving.value)


def no_libreoffice(folder: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setenv(program.PROGRAM_VARIABLE, str(folder))
    with pytest.raises(BridgeProblem) as problem:
        program.find_office()
    return str(problem.value)


def old_libreoffice(folder: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setattr(program, "_folders", lambda: iter([folder]))
    monkeypatch.setattr(program, "read_office", lambda folder: program.Office(folder, (24, 8)))
    with pytest.raises(BridgeProblem) as problem:
        program.find_office()
    return str(problem.value)


def libreoffice_without_python(folder: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setattr(program, "_pythons", lambda _: iter([]))
    with pytest.raises(BridgeProblem) as problem:
        program.find_python(program.Office(folder, (25, 2)))
    return str(problem.value)


def what_libreoffice_says(_: Path, __: pytest.MonkeyPatch) -> str:
    return EVENTS.read_text("utf-8")


def a_changed_package(folder: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setattr(packages, "unchanged", lambda _: False)
    monkeypatch.setattr(packages, "fetch", lambda *_: False)
    told: list[str] = []
    packages.provide(folder, program.this_python(), ("pint",), told.append)
    return told[0]


SEEN: dict[str, Callable[[Path, pytest.MonkeyPatch], str]] = {
    "can't open file … No such file or directory": wrong_folder,
    "growcells needs Python 3.11 or newer": old_python,
    "This Python cannot make environments": no_environments,
    "LibreOffice was not found": no_libreoffice,
    "LibreOffice 24.8 … is too old": old_libreoffice,
    "LibreOffice … has no Python": libreoffice_without_python,
    "growcells is resting": what_libreoffice_says,
    "… is not as it was installed here, by the hashes in its RECORD": a_changed_package,
}


def test_every_entry_is_seen_somewhere() -> None:
    assert set(sentences()) == {*SEEN, *SEEN_ELSEWHERE}


@pytest.mark.parametrize("sentence", SEEN)
def test_what_a_newcomer_sees(sentence: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pattern = ".*".join(map(re.escape, sentence.split("…")))
    assert re.search(pattern, SEEN[sentence](tmp_path, monkeypatch))


def test_the_walk_gives_the_figures_it_prints(tmp_path: Path) -> None:
    walk = README.read_text("utf-8").partition("## Two minutes")[2].partition("\n## ")[0]
    sizes = re.findall(r"`(\d+)`,? in ([A-C]2)", walk)
    typed = re.findall(r"In (\w\d) type `(=[^`]+)`: ([\d.]+)", walk)
    assert (len(sizes), len(typed)) == (3, 3)
    book = openpyxl.Workbook()
    for size, cell in sizes:
        book.active[cell] = int(size)
    for cell, formula, _ in typed:
        book.active[cell] = formula
    book.save(tmp_path / "walk.xlsx")
    recalculate(tmp_path / "walk.xlsx", tmp_path / "computed.xlsx")
    found = openpyxl.load_workbook(tmp_path / "computed.xlsx", data_only=True).active
    assert [f"{found[cell].value:.1f}" for cell, *_ in typed] == [printed for *_, printed in typed]


def test_formulas_in_the_text_give_what_it_says(tmp_path: Path) -> None:
    """Such as: `=GROW_DOSE(10,2)` says 20 g."""
    text = "\n".join(readme.read_text("utf-8") for readme in READMES)
    said = re.findall(r"`(=GROW_[^`]+)` (?:is|says|and the cell says) ([\d.-]*\d)", text)
    assert len(said) > 8
    for (formula, printed), value in zip(
        said, computed_in_file(tmp_path, [formula for formula, _ in said]), strict=True
    ):
        decimals = len(printed.partition(".")[2])
        assert printed == (f"{value:.{decimals}f}" if isinstance(value, float) else value), formula


@pytest.mark.parametrize("readme", READMES, ids=lambda path: str(path.relative_to(PROJECT)))
def test_links_lead_to_files_and_headings(readme: Path) -> None:
    for link in re.findall(r"\]\((?!https?:)([^)]+)\)", readme.read_text("utf-8")):
        path, _, heading = link.partition("#")
        target = readme.parent / path if path else readme
        assert target.exists(), link
        headings = re.findall(r"^#+ (.+)$", target.read_text("utf-8"), re.MULTILINE) if heading else [""]
        assert heading in [re.sub(r"[^\w-]", "", words.lower().replace(" ", "-")) for words in headings], link
