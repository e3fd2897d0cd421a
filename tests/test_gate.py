"""The gate: work on files in a process of its own, within limits, which ends with the command and writes nothing."""

from __future__ import annotations

import ctypes
import dataclasses
import multiprocessing
import os
import platform
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from growcells_addin.libreoffice.program import PROFILE_VARIABLE
from growcells_workbooks.gate import Fault, FileProblem, Progress, Target, apart, read_file
from growcells_workbooks.gate import apart as run_apart
from growcells_workbooks.gate.limits import MEMORY_BYTES
from growcells_workbooks.recalculation import recalculate
from libreoffice import needed_office
from log_books import ROOFTOP
from ods_books import write_ods
from processes import COMMAND, ENVIRONMENT, growcells, run_python
from recalc_books import write_book

gate_apart = sys.modules["growcells_workbooks.gate.apart"]
linux_only = pytest.mark.skipif(sys.platform != "linux", reason="NOT TESTED: limits and signals of Linux")
pytestmark = pytest.mark.slow  # most tests start and end processes
METHODS = ["fork", "spawn"] if sys.platform == "linux" else ["spawn"]
LOG = Path("log.xlsx")
COMMANDS = ["recalc", "check", "report", "clear-examples", "export", "season", "carry"]
TARGET = {"export": ("--output", "tables"), "season": ("--output", "season.xlsx")}


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A small log of two formulas."""
    return write_book(tmp_path / "log.xlsx", {"A1": 26, "B1": "=GROW_DOSE(A1,2)", "B2": "=B1*2"})


@pytest.fixture(params=METHODS)
def method(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Each way in which the process can be started."""
    monkeypatch.setattr(gate_apart, "process_context", lambda: multiprocessing.get_context(request.param))
    return str(request.param)


def test_a_copied_process_has_no_other_threads() -> None:
    """What another thread holds would be held for ever in the copy."""
    end = threading.Event()
    thread = threading.Thread(target=end.wait)
    thread.start()
    try:
        assert gate_apart.process_context().get_start_method() == "spawn"
    finally:
        end.set()
        thread.join()


def test_the_same_result_apart(tmp_path: Path, book: Path, method: str) -> None:
    """A process of its own gives the same result, the same progress, and the same sentences."""
    told: list[tuple[str, int, int]] = []
    heard: list[tuple[str, int, int]] = []
    here = recalculate(book, tmp_path / "here.xlsx", progress=lambda *step: told.append(step))
    there = recalculate(book, tmp_path / "there.xlsx", progress=lambda *step: heard.append(step), run=apart)
    assert dataclasses.replace(there, output=here.output) == here
    assert heard == told
    assert (tmp_path / "here.xlsx").read_bytes() == (tmp_path / "there.xlsx").read_bytes()
    with pytest.raises(FileProblem, match="exists already"):
        recalculate(book, tmp_path / "there.xlsx", run=apart)


# ---- work that ends otherwise than it should; module functions, since a new process finds them by their names


def refuse(progress: Progress) -> None:
    raise FileProblem("log.xlsx is refused: for a test")


def fail(progress: Progress) -> None:
    progress("reading Beds", 0, 1)
    raise KeyError("bed")


def swell(progress: Progress) -> int:
    kept = [bytes(range(256)) * 4096 for _ in range(2 * MEMORY_BYTES // 2**20)]
    return len(kept)


def crash(progress: Progress) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def hang(progress: Progress) -> None:
    progress("hanging", 0, 1)
    time.sleep(1000)


def hang_holding_python(progress: Progress) -> None:
    """As a library does that computes without letting other threads of Python run."""
    progress("hanging", 0, 1)
    ctypes.PyDLL(None).sleep(1000)


def heaps(progress: Progress) -> int:
    """How many heaps the process has once a second thread has asked for memory: malloc_info(3) tells."""
    thread = threading.Thread(target=lambda: ctypes.CDLL(None).malloc(1_000))
    thread.start()
    thread.join()
    library = ctypes.CDLL(None)
    library.fopen.restype = ctypes.c_void_p
    with tempfile.NamedTemporaryFile() as told:
        stream = ctypes.c_void_p(library.fopen(told.name.encode(), b"w"))
        library.malloc_info(0, stream)
        library.fclose(stream)
        return told.read().count(b"<heap nr=")


def write(path: Path, progress: Progress) -> str:
    for stream in (1, 2):
        os.write(stream, b"words of a library\n")  # as compiled ones do
    return path.name


@pytest.mark.parametrize(
    ("work", "sentence"),
    [
        (refuse, "log.xlsx is refused: for a test"),
        pytest.param(swell, "takes more than 1.25 GiB of memory", marks=linux_only),
        pytest.param(crash, "or it cannot be computed at all", marks=linux_only),
    ],
)
def test_work_that_is_refused(method: str, work: Callable[[Progress], object], sentence: str) -> None:
    with pytest.raises(FileProblem, match=sentence):
        run_apart(work, LOG)


@pytest.mark.parametrize("work", [hang, pytest.param(hang_holding_python, marks=linux_only)])
def test_work_that_says_nothing(
    monkeypatch: pytest.MonkeyPatch, method: str, work: Callable[[Progress], object]
) -> None:
    """It is ended after a time without progress."""
    monkeypatch.setattr(gate_apart, "SILENT_SECONDS", 0.5)
    start = time.monotonic()
    with pytest.raises(FileProblem, match="nothing came of it for 0 seconds"):
        run_apart(work, LOG)
    assert time.monotonic() - start < 10


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="other systems do not tell their heaps so")
def test_threads_have_no_heap_of_their_own(monkeypatch: pytest.MonkeyPatch) -> None:
    """Seen in a process that is no copy of this one, whose threads have some."""
    monkeypatch.setattr(gate_apart, "process_context", lambda: multiprocessing.get_context("spawn"))
    assert run_apart(heaps, LOG) == 1


def test_a_fault_says_where(method: str) -> None:
    with pytest.raises(Fault) as caught:
        run_apart(fail, LOG)
    assert (str(caught.value), caught.value.about, caught.value.step) == ("KeyError: 'bed'", LOG, "reading Beds")
    assert "in fail" in caught.value.trace


def test_what_libraries_say_is_not_shown(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    work = partial(write, LOG)
    assert run_apart(work, LOG) == "log.xlsx"
    assert capfd.readouterr() == ("", "")
    monkeypatch.setenv(gate_apart.DEBUG, "1")
    run_apart(work, LOG)
    said = capfd.readouterr()
    assert "words of a library" in said.err and "words of a library" in said.out


FAULTY = """
import sys
from growcells_workbooks import log_check
from growcells_workbooks.command_line import main
def fail(*_):
    raise KeyError("bed")
log_check.lines_of = fail
sys.argv = ["growcells", "check", {log!r}]
main()
"""


@linux_only
def test_a_fault_is_one_last_sentence(book: Path) -> None:
    """It names the command, the file, the step and how to report it; the traceback comes on demand."""
    done = run_python(FAULTY.format(log=str(book)))
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.startswith(f"growcells: check stopped with {book}, while ")
    assert "KeyError: 'bed'" in done.stderr and "open an issue" in done.stderr and "GROWCELLS_DEBUG=1" in done.stderr
    assert done.stderr.count("\n") == 1
    told = run_python(f"import os; os.environ['GROWCELLS_DEBUG'] = '1'\n{FAULTY.format(log=str(book))}")
    assert told.returncode == 1 and "Traceback (most recent call last)" in told.stderr
    assert told.stderr.endswith(done.stderr)


# ---- the process ends with the command


@pytest.mark.slow
@linux_only
@pytest.mark.parametrize("work", ["hang", "hang_holding_python"])
@pytest.mark.parametrize("method", METHODS)
def test_no_process_outlives_the_command(method: str, work: str) -> None:
    """Of a command that is killed nothing is left after a second, whatever the process is doing."""
    read, told = os.pipe()
    command = os.fork()
    if command == 0:
        try:
            setattr(gate_apart, "process_context", lambda: multiprocessing.get_context(method))  # noqa: B010
            run_apart(globals()[work], LOG, lambda *_: _tell_child(told))
        finally:
            os._exit(0)
    os.close(told)
    with os.fdopen(read) as pipe:
        children = [int(number) for number in pipe.readline().split()]
    assert children
    os.kill(command, signal.SIGKILL)
    os.waitpid(command, 0)
    deadline = time.monotonic() + 1
    while any(Path(f"/proc/{child}").exists() and not _is_dead(child) for child in children):
        assert time.monotonic() < deadline, "a process is left"
        time.sleep(0.01)


def _tell_child(told: int) -> None:
    """Write the numbers of the processes that this one has started into a pipe."""
    listed = Path(f"/proc/self/task/{os.getpid()}/children").read_text()
    os.write(told, listed.encode() + b"\n")


def _is_dead(process: int) -> bool:
    try:
        return ") Z " in Path(f"/proc/{process}/stat").read_text()
    except OSError:
        return True


def office_processes(folder: Path, program: bytes = b"soffice") -> list[int]:
    """The processes of a LibreOffice whose settings are in a folder."""
    found = []
    for process in Path("/proc").iterdir():
        try:
            command = (process / "cmdline").read_bytes()
        except OSError:  # it has ended
            continue
        if program in command and bytes(folder) in command and not _is_dead(int(process.name)):
            found.append(int(process.name))
    return found


@linux_only
@pytest.mark.slow
@pytest.mark.parametrize("kind", ["pdf", "ods"])
@pytest.mark.parametrize("both", [False, True])
def test_libreoffice_ends_with_the_command(tmp_path: Path, kind: str, both: bool) -> None:
    """Of a LibreOffice that a command started nothing is left a second after the command was killed, alone or with
    the process that attends LibreOffice.
    """
    needed_office()
    if kind == "pdf":
        arguments = ["report", shutil.copy(ROOFTOP, tmp_path / "log.xlsx"), "--pdf"]
    else:
        arguments = ["recalc", str(write_ods(tmp_path / "log.ods", {"Log": [[1, 2]]})), "--in-place"]
    environment = {**ENVIRONMENT, "TMPDIR": str(tmp_path), PROFILE_VARIABLE: str(tmp_path / "profile")}
    command = subprocess.Popen([*COMMAND, *arguments], env=environment, stdout=subprocess.DEVNULL)
    deadline = time.monotonic() + 180
    while not office_processes(tmp_path, b"soffice.bin"):
        assert command.poll() is None and time.monotonic() < deadline, "LibreOffice was not started"
        time.sleep(0.02)
    if both:
        os.kill(min(office_processes(tmp_path, b"attended.py")), signal.SIGKILL)  # the other one watches
    command.kill()
    command.wait()
    deadline = time.monotonic() + 1
    while office_processes(tmp_path):
        assert time.monotonic() < deadline, "LibreOffice is left"
        time.sleep(0.02)


# ---- what is no file


@pytest.mark.skipif(os.name != "posix", reason="NOT TESTED: pipes and devices of POSIX systems")
class TestWhatIsNoFile:
    def named(self, folder: Path, kind: str) -> Path:
        path = folder / "log.xlsx"
        if kind == "pipe":
            os.mkfifo(path)
        elif kind == "device":
            path.symlink_to("/dev/zero")
        else:
            path.mkdir()
        return path

    @pytest.mark.parametrize(
        ("kind", "words"),
        [("pipe", "is a pipe or a device"), ("device", "is a pipe or a device"), ("folder", "folder")],
    )
    @pytest.mark.parametrize("command", COMMANDS)
    def test_it_is_refused_at_once(self, tmp_path: Path, command: str, kind: str, words: str) -> None:
        path = self.named(tmp_path, kind)
        start = time.monotonic()
        done = growcells(command, path, *TARGET.get(command, ()))
        assert done.returncode == 1 and words in done.stderr and len(done.stderr.splitlines()) == 1
        assert time.monotonic() - start < 20
        assert list(tmp_path.iterdir()) == [path]

    @pytest.mark.parametrize("command", COMMANDS)
    def test_the_folder_here(self, tmp_path: Path, command: str) -> None:
        done = growcells(command, ".", *TARGET.get(command, ()), folder=tmp_path)
        assert done.returncode == 1 and "is a folder" in done.stderr and len(done.stderr.splitlines()) == 1

    @pytest.mark.slow
    @pytest.mark.parametrize("kind", ["pipe", "device", "folder"])
    def test_beside_the_log(self, tmp_path: Path, book: Path, kind: str) -> None:
        """As mapping file, as earlier log, as output."""
        other = tmp_path / "other"
        other.mkdir()
        path = self.named(other, kind)
        for arguments in (
            ("check", book, "--map", path),
            ("report", book, "--previous", path),
            ("recalc", book, "--output", path, "--overwrite"),
            ("report", book, "--output", path, "--overwrite"),
        ):
            done = growcells(*arguments)
            assert done.returncode == 1 and len(done.stderr.splitlines()) == 1, done.stderr
            assert "Traceback" not in done.stderr

    def test_a_file_that_grows_without_end(self, tmp_path: Path) -> None:
        """Files of the kernel say that they are empty."""
        if not Path("/proc/kallsyms").exists():
            pytest.skip("NOT TESTED: no such file here")
        with pytest.raises(FileProblem, match="MiB"):
            read_file(Path("/proc/kallsyms"), 1000)


# ---- targets


def test_names_of_full_length(tmp_path: Path, book: Path) -> None:
    """A log whose name is as long as systems allow is replaced, with a backup whose name is shorter."""
    log = tmp_path / ("å" * 125 + ".xlsx")  # 255 bytes
    book.rename(log)
    backup = Target.checked(log, None, in_place=True, overwrite=False).put(b"new")
    assert log.read_bytes() == b"new"
    assert backup is not None and backup.exists()
    assert len(list(tmp_path.iterdir())) == 2
