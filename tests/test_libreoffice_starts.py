"""LibreOffice with and without the extension, started where its own Python comes first on the path and where not.

``all users`` is LibreOffice's shared repository of extensions, put into a folder of the test, so that the machine's own
stays as it is.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from openpyxl import Workbook as NewBook
from openpyxl import load_workbook
from openpyxl.workbook.defined_name import DefinedName

from growcells_addin.libreoffice import probe
from growcells_addin.libreoffice.extension import write_portable_extension
from growcells_addin.libreoffice.program import Office, breaks_libreoffice, clean_environment, find_python
from libreoffice import NOBODY, RunningOffice, as_user, needed_office
from test_libreoffice_window import Screen, needed_screen

pytestmark = [
    pytest.mark.office,
    pytest.mark.slow,
    pytest.mark.skipif(os.name != "posix", reason="NOT TESTED: Pythons as POSIX systems lay them out"),
]

INSTALLED = ("none", "user", "all users")
PATHS = {"clean": True, "pyenv": True, "venv": False, "conda": False}
"""The layouts, and whether LibreOffice's Python starts where one comes first. pyenv's first python3 is a script."""

SPACED = "mein grünes häuschen 水耕 %20#"
"""The name of a further environment."""

FOREIGN = "{folder}/venv/bin/python3 comes first"
VIA_PATH = "PATH=/usr/bin:$PATH soffice"

SHELLS: dict[str, tuple[dict[str, str | None], str, str | None, str]] = {
    "a path with spaces and signs": (
        {"PATH": "{folder}/" + SPACED + "/bin:{path}"},
        "",
        "{folder}/" + SPACED + "/bin/python3 comes first",
        VIA_PATH,
    ),
    "the same where texts are ASCII": (
        {"PATH": "{folder}/" + SPACED + "/bin:{path}", "LC_ALL": "C"},
        "",
        "{folder}/" + SPACED + "/bin/python3 comes first",
        VIA_PATH,
    ),
    "a folder named with a stroke": ({"PATH": "{folder}/venv/bin/:{path}"}, "", FOREIGN, VIA_PATH),
    "a folder relative to another": ({"PATH": "bin:{path}"}, "venv", FOREIGN, VIA_PATH),
    "a name of a folder that is empty": ({"PATH": ":{path}"}, "venv/bin", FOREIGN, VIA_PATH),
    "relative folders without a python3": ({"PATH": ":bin:{path}"}, "broken", None, ""),
    "a link to nowhere first": ({"PATH": "{folder}/broken:{path}"}, "", None, ""),
    "then an environment": ({"PATH": "{folder}/broken:{folder}/venv/bin:{path}"}, "", FOREIGN, VIA_PATH),
    "a folder of that name first": ({"PATH": "{folder}/folder:{path}"}, "", None, ""),
    "then another environment": ({"PATH": "{folder}/folder:{folder}/venv/bin:{path}"}, "", FOREIGN, VIA_PATH),
    "a text of that name first": ({"PATH": "{folder}/text:{path}"}, "", None, ""),
    "a script that never ends": ({"PATH": "{folder}/endless:{path}"}, "", None, ""),
    "a script that says something and fails": ({"PATH": "{folder}/failing:{path}"}, "", None, ""),
    "an environment last": ({"PATH": "{path}:{folder}/venv/bin"}, "", None, ""),
    "no path": ({"PATH": None}, "", None, ""),
    "no home folder": ({"HOME": None}, "", None, ""),
    "a home folder that is not there": ({"HOME": "{folder}/nowhere"}, "", None, ""),
    "a library of nothing": ({"PYTHONPATH": "{folder}/empty"}, "", None, ""),
    "a library with another uno": (
        {"PYTHONPATH": "{folder}/other"},
        "",
        "PYTHONPATH is set",
        "env -u PYTHONPATH soffice",
    ),
    "another Python's home": ({"PYTHONHOME": "{folder}/venv"}, "", "PYTHONHOME is set", "env -u PYTHONHOME soffice"),
    **{
        f"{name} that is wrong": ({name: "wrong"}, "", f"{name} is set", f"env -u {name} soffice")
        for name in (
            *("PYTHONHASHSEED", "PYTHONIOENCODING", "PYTHONMALLOC", "PYTHONINTMAXSTRDIGITS"),
            *("PYTHONTRACEMALLOC", "PYTHONPLATLIBDIR"),
        )
    },
    "two things at once": (
        {"PATH": "{folder}/venv/bin:{path}", "PYTHONHASHSEED": "wrong", "PYTHONDEVMODE": "1"},
        "",
        "PYTHONHASHSEED is set and " + FOREIGN,
        "env -u PYTHONHASHSEED " + VIA_PATH,
    ),
}
"""What else a shell may set (None: not set), in which folder, what is in LibreOffice's way there, what starts it."""

STALE, COMPUTED = 5, 68
"""What the file holds for the dose of 34 gallons at 2 g a gallon, and what it is."""


BOOKS = {
    "plain": ("=A1*3", False),
    "linked": ("=[1]Other!A1*3", False),
    "grow": ("=GROW_DOSE(A1,2)", True),
    "addin": ("=[1]!GROW_DOSE(A1,2)", True),
    "named": ("=dose", True),
    "named on its sheet": ("=own_dose", True),
}
"""The formula in a workbook, late in a column of others, and whether it is to be computed when it opens.

LibreOffice itself loads the functions only where a cell or a name calls one; a call of an add-in file is a link to it.
"""


@dataclass(frozen=True)
class Machine:
    """What the cases share."""

    office: Office
    folder: Path

    @property
    def user(self) -> int | None:
        """Who runs LibreOffice: not root, which cannot install for itself alone."""
        return NOBODY if os.geteuid() == 0 else None

    def environment(self, layout: str) -> dict[str, str]:
        """A clean environment but for the Python that comes first on the path."""
        clean = clean_environment() | {"HOME": str(self.folder), "XDG_CONFIG_HOME": str(self.folder / "config")}
        folder = self.folder / layout / "bin"
        return clean | {"PATH": os.pathsep.join([str(folder), clean["PATH"]])} if folder.is_dir() else clean

    def shell(self, name: str) -> dict[str, str]:
        """A clean environment but for what one of the further shells sets."""
        clean = self.environment("clean")
        changes = SHELLS[name][0]
        kept = {name: value for name, value in clean.items() if name not in changes}
        return kept | {name: self.filled(value) for name, value in changes.items() if value is not None}

    def filled(self, text: str) -> str:
        """A text with the folder and the path of the system in it."""
        return text.format(folder=self.folder, path="/usr/bin:/bin")

    def started(
        self, installed: str, environment: dict[str, str], display: str = "", folder: Path | None = None
    ) -> RunningOffice:
        """A LibreOffice with the extension installed in a way, in a window where a display is given."""
        profile, options = self.folder / installed.replace(" ", "-"), self.options(installed)
        return RunningOffice(
            self.office, profile, display, options=options, environment=environment, user=self.user, folder=folder
        )

    def options(self, installed: str) -> list[str]:
        """What makes LibreOffice take its extensions from the folders of the test."""
        return [
            f"-env:UserInstallation={(self.folder / installed.replace(' ', '-')).as_uri()}",
            f"-env:UNO_SHARED_PACKAGES={(self.folder / ('shared' if installed == 'all users' else 'empty')).as_uri()}",
        ]


def lay_out_pythons(folder: Path, python: Path) -> None:
    """Folders that look like those of an environment, of pyenv and of conda, made from the system's Python."""
    name = python.resolve().name
    library = Path("/usr/lib", name)
    for layout in ("venv", "pyenv", "conda"):
        (folder / layout / "bin").mkdir(parents=True)
    (folder / "venv" / "bin" / "python3").symlink_to(python)
    (folder / "venv" / "pyvenv.cfg").write_text(f"home = {python.parent}\ninclude-system-site-packages = false\n")
    script = folder / "pyenv" / "bin" / "python3"
    script.write_text(f'#!/bin/sh\nexec {python} "$@"\n')
    script.chmod(0o755)
    shutil.copy(python.resolve(), folder / "conda" / "bin" / name)
    (folder / "conda" / "bin" / "python3").symlink_to(name)
    (folder / "conda" / "lib").mkdir()
    (folder / "conda" / "lib" / name).symlink_to(library)


def lay_out_further(folder: Path) -> None:
    """What else there may be where a shell looks for a python3."""
    (folder / SPACED).symlink_to(folder / "venv")
    for name in ("broken", "folder", "text", "endless", "failing", "other", "empty"):
        (folder / name).mkdir()
    (folder / "broken" / "python3").symlink_to(folder / "nowhere")
    (folder / "folder" / "python3").mkdir()
    (folder / "text" / "python3").write_text("no program")
    for name, does in (("endless", "sleep 1000"), ("failing", "echo no; exit 1")):
        (folder / name / "python3").write_text(f"#!/bin/sh\n{does}\n")
        (folder / name / "python3").chmod(0o755)
    (folder / "other" / "uno.py").write_text("raise ImportError\n")


def write_books(folder: Path) -> None:
    """The workbooks, in which all values of formulas are stale."""
    for name, (formula, _) in BOOKS.items():
        book = NewBook()
        sheet = book.active
        assert sheet is not None
        sheet["A1"] = 34
        for row in range(1, 400):
            sheet.cell(row, 2).value = f"=A{row}*2"
        sheet["B300"] = formula
        for names, own in ((book.defined_names, "dose"), (sheet.defined_names, "own_dose")):
            if formula == f"={own}":
                names[own] = DefinedName(own, attr_text="GROW_DOSE(Sheet!$A$1,2)")
        book.save(folder / "bare.xlsx")
        with zipfile.ZipFile(folder / "bare.xlsx") as bare, zipfile.ZipFile(folder / f"{name}.xlsx", "w") as target:
            for item in bare.infolist():
                content = bare.read(item).replace(b"<v />", b"<v></v>").replace(b"<v/>", b"<v></v>")
                content = content.replace(b"</f><v></v>", f"</f><v>{STALE}</v>".encode())
                # LibreOffice computes files of programs that it does not know.
                target.writestr(item, content.replace(b"Openpyxl", b"Microsoft Excel").replace(b"openpyxl", b"x"))


@pytest.fixture(scope="module")
def machine() -> Iterator[Machine]:
    """LibreOffice with the extension for nobody, for a user and for all."""
    office = needed_office()
    made = Machine(office, Path(tempfile.mkdtemp(prefix="growcells-starts-")))  # which others than root can enter
    lay_out_pythons(made.folder, find_python(office).executable)
    lay_out_further(made.folder)
    write_books(made.folder)
    extension = made.folder / "growcells.oxt"
    write_portable_extension(extension, lambda _: None)
    if made.user is not None:
        shutil.chown(made.folder, made.user)
    for installed, shared in (("user", []), ("all users", ["--shared"])):
        subprocess.run(
            [office.unopkg, "add", *shared, "--suppress-license", extension, *made.options(installed)],
            env=made.environment("clean") | {"TMPDIR": str(made.folder)},
            **(as_user(None if shared else made.user)),
            cwd=made.folder,
            check=True,
            timeout=300,
        )
    if made.user is not None:
        subprocess.run(["chown", "-R", str(made.user), made.folder], check=True)
    yield made
    shutil.rmtree(made.folder, ignore_errors=True)


@pytest.fixture(scope="module")
def screen() -> Iterator[Screen]:
    """A screen for the windows."""
    made = needed_screen()
    yield made
    made.close()


@pytest.mark.parametrize("layout", PATHS)
def test_the_probe_tells_what_libreoffice_would_meet(machine: Machine, layout: str) -> None:
    python, programs = str(find_python(machine.office).executable), machine.office.program.as_uri()
    assert (not probe.failure(python, programs, machine.environment(layout))) is PATHS[layout]


@pytest.mark.parametrize("layout", PATHS)
def test_an_installation_is_told_which_python_is_in_the_way(
    machine: Machine, monkeypatch: pytest.MonkeyPatch, layout: str
) -> None:
    monkeypatch.setenv("PATH", machine.environment(layout)["PATH"])
    foreign = str(machine.folder / layout / "bin" / "python3")
    told = breaks_libreoffice(machine.office, find_python(machine.office))
    assert told == (None if PATHS[layout] else (f"{foreign} comes first", "PATH=/usr/bin:$PATH soffice"))


@pytest.mark.parametrize("name", SHELLS)
def test_the_probe_tells_what_is_in_the_way_and_how_to_start(
    machine: Machine, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    _, folder, cause, command = SHELLS[name]
    monkeypatch.chdir(machine.folder / folder)
    python, programs = str(find_python(machine.office).executable), machine.office.program.as_uri()
    found = probe.obstacle(python, programs, machine.shell(name))
    assert found == (None if cause is None else (machine.filled(cause), command))


@pytest.mark.parametrize("name", SHELLS)
def test_no_shell_takes_libreoffice_down(machine: Machine, name: str) -> None:
    _, folder, cause, _ = SHELLS[name]
    running = machine.started("user", machine.shell(name), folder=machine.folder / folder)
    try:
        for book_name in ("plain", "grow"):
            computed = cause is None and book_name == "grow"
            with running.open(machine.folder / f"{book_name}.xlsx") as book:
                assert book.value("B300") == (COMPUTED if computed else STALE)
            if sys.platform == "linux":
                assert running.has_loaded("libpython") is computed
    finally:
        running.close()
    assert running.exit_code == 0


@pytest.mark.parametrize("layout", ["clean", "venv"])
@pytest.mark.parametrize("name", BOOKS)
def test_what_is_computed_when_it_opens(machine: Machine, name: str, layout: str) -> None:
    """The first workbook that a LibreOffice opens, and opened again after one that calls functions."""
    running = machine.started("user", machine.environment(layout))
    started = False
    try:
        for opened in (name, "grow", name):
            computed = PATHS[layout] and BOOKS[opened][1]
            started = started or computed
            with running.open(machine.folder / f"{opened}.xlsx") as book:
                assert book.value("B300") == (COMPUTED if computed else STALE)
                assert book.state == {"changed": False, "undo": False}
            if sys.platform == "linux":
                assert running.has_loaded("libpython") is started
    finally:
        running.close()
    assert running.exit_code == 0


@pytest.mark.parametrize("shown", ["headless", "window"])
@pytest.mark.parametrize("layout", PATHS)
@pytest.mark.parametrize("installed", INSTALLED)
def test_libreoffice_opens_and_saves_and_ends_well(
    machine: Machine, request: pytest.FixtureRequest, installed: str, layout: str, shown: str
) -> None:
    display = request.getfixturevalue("screen").display if shown == "window" else ""
    running = machine.started(installed, machine.environment(layout), display)
    try:
        computes = PATHS[layout] and installed != "none"
        for name in ("plain", "grow"):
            saved = machine.folder / f"saved-{name}.xlsx"
            with running.open(machine.folder / f"{name}.xlsx", visible=bool(display)) as book:
                assert book.value("B300") == (COMPUTED if computes and name == "grow" else STALE)
                if display:
                    assert book.told() is (name == "grow" and installed != "none" and not computes)
                book.save(saved)
            if sys.platform == "linux":
                assert running.has_loaded("libpython") is (computes and name == "grow")
            sheet = load_workbook(saved).active
            assert sheet is not None
            formula = {"plain": "=A1*3", "grow": "=GROW_DOSE(A1,2)"}[name]
            assert str(sheet["B300"].value).replace(" ", "").upper() == formula
            saved.unlink()
        # Typed anew where the functions rest, they show an error and do no other harm.
        (typed,) = running.evaluate(["=GROW_DOSE(34,2)"])
        assert (typed == COMPUTED) is computes
    finally:
        running.close()
    assert running.exit_code == 0
