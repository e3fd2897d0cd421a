"""Has LibreOffice compute a workbook: in the LibreOffice of the user, with the extensions that are installed there."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import threading
import uuid
from pathlib import Path

from ..bridge_files import BridgeProblem
from . import recomputing
from .attended import attended
from .component import SERVICE
from .program import clean_environment, find_office, find_python, own_profile, profile_options

PATIENCE = 600
"""Seconds that LibreOffice gets to compute a workbook; a log takes some ten. Ours."""
ENDING = 30
"""Seconds that it gets to end; ours."""


def recompute(source: Path, target: Path, *, needs_functions: bool) -> None:
    """Have LibreOffice compute every formula of a workbook, and save it as .ods in a new file.

    A LibreOffice that is open already does it and stays open. Raises BridgeProblem where there is none, where it lacks
    the growcells functions that the workbook needs, or where it does not get done.
    """
    office = find_office()
    python = find_python(office)
    pipe = f"growcells-{uuid.uuid4().hex}"
    options = ("--headless", "--nodefault", "--norestore", "--nologo", f"--accept=pipe,name={pipe};urp;")
    program = _start(attended([str(office.soffice), *options, *profile_options(own_profile())]))
    urls = (file.absolute().as_uri() for file in (source, target))
    service = SERVICE if needs_functions else ""
    worker = _start([str(python.executable), recomputing.__file__, pipe, *urls, service])
    try:
        said = _said(worker, program)
    finally:
        for process in (worker, program):
            _end(process)
    if said == recomputing.MISSING:
        raise BridgeProblem(
            f"{source} holds growcells functions, and LibreOffice does not have them: growcells install libreoffice "
            "puts them there; if it did, close the LibreOffice that is open, in which they rest"
        )
    if said == recomputing.UNREADABLE:
        raise BridgeProblem(f"LibreOffice does not open {source}: look at it there")
    if said != recomputing.DONE or not target.is_file():
        raise BridgeProblem(f"LibreOffice did not compute {source}: {said or 'it said nothing'}")


def _start(command: list[str]) -> subprocess.Popen[str]:
    try:
        return subprocess.Popen(
            command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            env=clean_environment(),
            start_new_session=True,
        )
    except OSError as problem:
        raise BridgeProblem(f"LibreOffice cannot be started: {problem.strerror}") from None


def _said(worker: subprocess.Popen[str], program: subprocess.Popen[str]) -> str:
    """What the worker says of its work; it ends LibreOffice where that was started for it."""
    assert worker.stdout and worker.stdin
    watch = threading.Timer(PATIENCE, worker.kill)
    watch.start()
    try:
        said = worker.stdout.readline().strip()
        # A LibreOffice that was open took over what was asked of this one, which ended at once.
        ours = program.poll() is None
        with contextlib.suppress(OSError):
            worker.stdin.write(f"{recomputing.FINISH if ours else ''}\n")
            worker.stdin.close()
        return said
    finally:
        watch.cancel()


def _end(process: subprocess.Popen[str]) -> None:
    """Wait until a process has ended, and end it by force where it does not, with those that it started."""
    try:
        process.wait(ENDING)
    except subprocess.TimeoutExpired:
        if sys.platform == "win32":
            process.kill()
        else:
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()
    for stream in (process.stdin, process.stdout):
        if stream is not None:
            with contextlib.suppress(OSError):
                stream.close()
