"""What the commands say at the terminal: sentences, steps of long work, problems."""

from __future__ import annotations

import functools
import re
import sys
import textwrap
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console

    from ..gate import Progress

PROBLEMS = 1
"""Exit code where the input has problems, which were reported."""
WRONG_USAGE = 2
_CONTROLS = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]")
"""Characters that break a line or that a terminal obeys: the names and the texts in a file may hold any."""


class Stop(Exception):
    """A sentence for the person at the keyboard, and the exit code."""

    def __init__(self, sentence: str, code: int = PROBLEMS) -> None:
        super().__init__(visible(sentence))
        self.code = code


@functools.cache
def console(errors: bool = False) -> Console:
    """The terminal; to import what draws on it takes a tenth of the time of a short command."""
    from rich.console import Console

    return Console(stderr=errors, highlight=False)


def say(text: str, style: str = "", errors: bool = False) -> None:
    """Print a text: on a terminal broken between words, each line further in by its own indent; elsewhere as it is."""
    stream = sys.stderr if errors else sys.stdout
    text = "\n".join(map(visible, text.split("\n")))
    if not stream.isatty():
        print(text, file=stream)
        return
    terminal = console(errors)
    text = "\n".join(broken(line, terminal.width) for line in text.split("\n"))
    terminal.print(text, style=style, markup=False, soft_wrap=True)


def visible(line: str) -> str:
    """A line of text in which what is no sign stands as its escape."""
    return _CONTROLS.sub(lambda control: control[0].encode("unicode_escape").decode(), line)


def broken(line: str, width: int) -> str:
    """A line broken between words; a path that is longer than that stays whole, to be copied."""
    indent = line[: len(line) - len(line.lstrip())]
    return textwrap.fill(line, width, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False)


def named_beside(log: Path, ending: str) -> Path:
    """The name beside a log under which something made of it is written; of a folder too, which is refused later."""
    return log.parent / f"{log.stem}{ending}"


def fault_told(command: str, fault: Exception) -> str:
    """The last sentence where something unexpected happened, with the traceback before it if that is asked for."""
    import os
    import traceback

    from ..gate import DEBUG, Fault

    where, error, trace = "", f"{type(fault).__name__}: {fault}", "".join(traceback.format_exception(fault))
    if isinstance(fault, Fault):
        where = f" with {fault.about}" + (f", while {fault.step}" if fault.step else "")
        error, trace = str(fault), fault.trace
    sentence = (
        f"growcells: {command} stopped{where}, by a fault of growcells itself ({' '.join(error.split())}): please open "
        "an issue beside the code of growcells, with a small log that shows it and what the same command prints with "
        f"{DEBUG}=1"
    )
    return trace + sentence if os.environ.get(DEBUG) else sentence


@contextmanager
def sentences() -> Iterator[None]:
    """Turn problems with files and bridges into one sentence and an exit code."""
    from growcells_addin.bridge_files import BridgeProblem

    from ..gate import FileProblem

    try:
        yield
    except (FileProblem, BridgeProblem) as problem:
        raise Stop(str(problem)) from problem


@contextmanager
def progress_shown() -> Iterator[Progress]:
    """A bar on the error stream for work that takes long; nothing where that is no terminal."""
    if not sys.stderr.isatty():
        yield lambda step, done, total: None
        return
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}", markup=False), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    bar = Progress(*columns, console=console(errors=True), transient=True)
    tasks = {}

    def tell(step: str, done: int, total: int) -> None:
        if step not in tasks:
            bar.start()  # only now, since a process with the bar's thread in it cannot be copied
            tasks[step] = bar.add_task(visible(step), total=total)
        bar.update(tasks[step], completed=done, total=total)

    try:
        yield tell
    finally:
        bar.stop()
