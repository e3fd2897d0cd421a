"""A running LibreOffice for tests, with a profile of its own, that is always ended and never waited for in vain.

The fixture ``office`` of conftest.py is the one LibreOffice of the test run, with growcells installed from this
checkout.
"""

from __future__ import annotations

import contextlib
import json
import os
import queue
import shutil
import subprocess
import tempfile
import threading
import time
import uuid
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, NoReturn

import pytest

from growcells.cells.errors import CellError
from growcells_addin.bridge_files import BridgeProblem
from growcells_addin.libreoffice.attended import attended
from growcells_addin.libreoffice.install import install_libreoffice
from growcells_addin.libreoffice.program import (
    Office,
    clean_environment,
    find_office,
    find_python,
    profile_folder,
    profile_options,
)

WORKER = Path(__file__).with_name("libreoffice_worker.py")
SECONDS = 120
"""How long LibreOffice may take for one request."""
ENDING = 90
"""How long it may take to end."""
INSTALLING = 300
"""How long the installation of growcells may take."""

NOBODY = 65534
"""A user who is not root, for whom alone LibreOffice then installs; the number is Debian's."""

Value = float | str | CellError | None


class RunningOffice:
    """A headless LibreOffice and, in LibreOffice's Python, a worker that drives it."""

    def __init__(
        self,
        office: Office,
        profile: Path,
        display: str = "",
        *,
        options: Sequence[str] | None = None,
        environment: dict[str, str] | None = None,
        user: int | None = None,
        folder: Path | None = None,
    ) -> None:
        """Start LibreOffice with a profile folder; with an X display such as ``:99`` it shows its windows there.

        ``options`` say where its extensions are, beside the profile if not given; ``environment`` is a clean one if not
        given; ``user`` is the number of the user that it belongs to; ``folder`` is where it starts, here if not given.
        """
        self.office, self.profile = office, profile
        environment = clean_environment() if environment is None else environment
        self.pipe = f"growcells-{uuid.uuid4().hex}"
        python = str(find_python(office).executable)
        command = [
            str(office.soffice),
            # Without a window of its own LibreOffice would end at once.
            *(["--calc"] if display else ["--headless", "--nodefault"]),
            "--norestore",
            "--nologo",
            f"--accept=pipe,name={self.pipe};urp;",
            *(profile_options(profile) if options is None else options),
        ]
        # It ends with this process, however that ends.
        self._soffice = subprocess.Popen(
            attended(command, python),
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env=environment | ({"DISPLAY": display} if display else {}),
            start_new_session=True,
            cwd=folder,
            **as_user(user),
        )
        self._worker = subprocess.Popen(
            [python, str(WORKER), self.pipe],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env=clean_environment(),
            text=True,
            **as_user(user),
        )
        self._answers: queue.Queue[str] = queue.Queue()
        threading.Thread(target=self._listen, daemon=True).start()
        self._answer()

    def _listen(self) -> None:
        assert self._worker.stdout
        for line in self._worker.stdout:
            self._answers.put(line)
        self._answers.put("")

    def _answer(self, seconds: float = SECONDS) -> Any:
        try:
            line = self._answers.get(timeout=seconds)
        except queue.Empty:
            self.kill()
            raise TimeoutError(f"LibreOffice gave no answer within {seconds} seconds") from None
        if not line:
            self.kill()
            raise RuntimeError("LibreOffice or its worker has ended")
        answer = json.loads(line)
        if "problem" in answer:
            raise RuntimeError(answer["problem"])
        return answer["result"]

    def ask(self, do: str, *arguments: object, seconds: float = SECONDS) -> Any:
        """Have the worker do something; raises what went wrong there, and TimeoutError."""
        assert self._worker.stdin
        self._worker.stdin.write(json.dumps({"do": do, "with": arguments}) + "\n")
        self._worker.stdin.flush()
        return self._answer(seconds)

    def open(self, file: Path | None = None, *, visible: bool = False, **how: object) -> Workbook:
        """Open a file, or an empty workbook; ``how`` goes into its media descriptor, as ``ReadOnly=True``."""
        return Workbook(self, self.ask("open", file.absolute().as_uri() if file else None, visible, how))

    def evaluate(self, formulas: Sequence[str]) -> list[Value]:
        """The values of formulas, each typed into a cell of a new workbook."""
        with self.open() as book:
            book.type("B1", *formulas)
            return [row[0] for row in book.read(f"B1:B{len(formulas)}")]

    def evaluate_array(self, formula: str, rows: int, columns: int) -> list[list[Value]]:
        """The values of an array formula in a range of this size."""
        with self.open() as book:
            area = f"A1:{column_letter(columns)}{rows}"
            book.type_array(area, formula)
            return book.read(area)

    @property
    def alive(self) -> bool:
        """Whether LibreOffice still runs."""
        return self._soffice.poll() is None

    @property
    def exit_code(self) -> int | None:
        """How LibreOffice ended, or None while it runs."""
        return self._soffice.poll()

    def has_loaded(self, library: str) -> bool:
        """Whether LibreOffice has a shared library in its memory, by what Linux tells of its processes."""
        return any(library in maps for maps in self._told_by_linux("maps"))

    def processor_seconds(self) -> float:
        """The seconds that processors have worked for LibreOffice, by what Linux tells of its processes.

        Source: proc_pid_stat(5), utime and stime.
        """
        fields = (told.rpartition(")")[2].split() for told in self._told_by_linux("stat"))
        return sum(int(field[11]) + int(field[12]) for field in fields) / os.sysconf("SC_CLK_TCK")

    def _told_by_linux(self, name: str) -> Iterator[str]:
        """The text of a file in /proc for each process of LibreOffice."""
        for process in Path("/proc").glob("[0-9]*"):
            try:
                if os.getpgid(int(process.name)) == self._soffice.pid:
                    yield (process / name).read_text()
            except OSError:
                continue

    def close(self) -> None:
        """End LibreOffice, by force where it does not go by itself."""
        try:
            if self.alive:
                self.ask("finish", seconds=ENDING)
            self._soffice.wait(ENDING)
        except (RuntimeError, TimeoutError, OSError, subprocess.TimeoutExpired):
            pass
        self.kill()

    def kill(self) -> None:
        """End both programs at once."""
        assert self._soffice.stdin
        self._soffice.stdin.close()  # which ends LibreOffice
        self._worker.kill()
        self._worker.wait(20)
        self._soffice.wait(20)


class Workbook:
    """A workbook that is open in a running LibreOffice. Addresses are ``A1:B3`` or ``Sheet.A1:B3``."""

    def __init__(self, office: RunningOffice, number: int) -> None:
        self._office, self._number = office, number

    def __enter__(self) -> Workbook:
        return self

    def __exit__(self, *_: object) -> None:
        if self._office.alive:
            self._office.ask("close", self._number)

    def write(self, address: str, rows: Sequence[Sequence[object]]) -> None:
        """Put values into a range; None empties a cell."""
        self._office.ask("write", self._number, address, [list(row) for row in rows])

    def type(self, address: str, *formulas: str) -> None:
        """Put formulas, with commas between arguments, into a cell and those below it."""
        sheet, point, cell = address.rpartition(".")
        column, row = cell.rstrip("0123456789"), int(cell.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
        self._office.ask(
            "formulas", self._number, f"{sheet}{point}{cell}:{column}{row + len(formulas) - 1}", list(formulas)
        )

    def type_array(self, address: str, formula: str) -> None:
        """Put an array formula into a range."""
        self._office.ask("array", self._number, address, formula)

    def fill_down(self, address: str) -> None:
        """Continue the first row of a range down to its last."""
        self._office.ask("fill_down", self._number, address)

    def read(self, address: str) -> list[list[Value]]:
        """The values of a range; an error as a CellError with the code that the cell shows."""
        rows = self._office.ask("read", self._number, address)
        return [[CellError(value["error"]) if isinstance(value, dict) else value for value in row] for row in rows]

    def value(self, address: str) -> Value:
        """The value of one cell."""
        return self.read(address)[0][0]

    def formulas(self, address: str) -> list[list[str]]:
        """The formulas of a range, with LibreOffice's inner names of functions."""
        formulas: list[list[str]] = self._office.ask("read_formulas", self._number, address)
        return formulas

    def recalculate(self, seconds: float = SECONDS) -> float:
        """Compute every formula anew; gives the seconds that it took."""
        return float(self._office.ask("recalculate", self._number, seconds=seconds))

    def name_range(self, name: str, content: str) -> None:
        """Give a range such as ``$Sheet1.$A$1:$A$3`` a name."""
        self._office.ask("name_range", self._number, name, content)

    @property
    def state(self) -> dict[str, bool]:
        """Whether the workbook counts as ``changed``, and whether there is something to ``undo``."""
        state: dict[str, bool] = self._office.ask("state", self._number)
        return state

    def told(self) -> bool:
        """Whether the window of the workbook shows a bar with a sentence of growcells."""
        return bool(self._office.ask("told", self._number))

    def save(self, file: Path) -> None:
        """Save a copy in the format that the ending names."""
        self._office.ask("save", self._number, file.absolute().as_uri())


def as_user(number: int | None) -> dict[str, Any]:
    """What makes a process run as the user (and the group) of a number, or as whoever runs the tests."""
    return {} if number is None else {"user": number, "group": number, "extra_groups": []}


def column_letter(number: int) -> str:
    """The letter of one of the first 26 columns, from 1."""
    return chr(ord("A") + number - 1)


def not_tested(message: str) -> NoReturn:
    """Skip the test, or fail it where GROWCELLS_REQUIRE_LIVE asks for all that runs live; the message says why."""
    if os.environ.get("GROWCELLS_REQUIRE_LIVE"):
        pytest.fail(f"NOT TESTED: {message}")
    pytest.skip(f"NOT TESTED: {message}")


def needed_office() -> Office:
    """LibreOffice, or a test that is skipped (or fails) and says loudly what would bring it."""
    try:
        return find_office()
    except BridgeProblem as problem:
        not_tested(f"what needs LibreOffice itself. {problem}")


def installed_extensions() -> list[Path]:
    """What LibreOffice has unpacked of extensions for all users and for the one who runs the tests."""
    try:
        shared = find_office().program.parent / "share" / "uno_packages"
    except BridgeProblem:
        return []
    places = (shared, profile_folder(None) / "user" / "uno_packages")
    return sorted(folder for place in places for folder in (place / "cache" / "uno_packages").glob("*/*"))


@contextlib.contextmanager
def profile_with_growcells(folder: Path) -> Iterator[Path]:
    """A profile, to be copied, with growcells installed by the first process that asks for this folder."""
    needed_office()
    profile = folder / "profile"
    try:
        folder.mkdir()
    except FileExistsError:
        end = time.monotonic() + INSTALLING
        while not profile.is_dir():
            assert time.monotonic() < end, "another process of this test run could not install growcells"
            time.sleep(0.1)
        yield profile
        return
    try:
        install_libreoffice(lambda line: None, folder / "making")
        yield (folder / "making").rename(profile)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextlib.contextmanager
def running_office(profile: Path) -> Iterator[RunningOffice]:
    """A LibreOffice with a copy of a profile."""
    with tempfile.TemporaryDirectory(prefix="growcells-office-", ignore_cleanup_errors=True) as folder:
        running = RunningOffice(needed_office(), shutil.copytree(profile, Path(folder, "profile")))
        try:
            yield running
        finally:
            running.close()
