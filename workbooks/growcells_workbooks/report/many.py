"""Reports of many logs at once: one that fails does not stop the others."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from ..gate import Fault, FileProblem, make_folder
from . import Report

LOCKS = ("~$", ".~")
"""How names of the files begin that spreadsheet programs lay beside an open workbook."""


@dataclass(frozen=True)
class Failed:
    """A log without a report, and why."""

    source: Path
    why: str


def build_reports(
    sources: Sequence[Path],
    folder: Path,
    build: Callable[[Path, Path], Report],
    done: Callable[[int, int], None] | None = None,
) -> list[Report | Failed]:
    """Write the report of each log into a folder, as ``log.week.xlsx``; ``done`` is told how many of them are done.

    ``build`` makes one report from a log and its path, as ``build_report`` does. The answer has an entry for each log
    in turn. Raises FileProblem where the folder cannot be made.
    """
    logs = [source for source in sources if not source.name.startswith(LOCKS)]
    make_folder(folder)
    results: list[Report | Failed] = []
    written: dict[Path, Path] = {}
    for source in logs:
        if done:
            done(len(results), len(logs))
        output = folder / f"{source.stem}.week.xlsx"
        if output in written:
            results.append(
                Failed(
                    source, f"its report would have the same name as that of {written[output]}: rename one of the logs"
                )
            )
            continue
        written[output] = source
        try:
            results.append(build(source, output))
        except FileProblem as problem:
            results.append(Failed(source, str(problem)))
        except Fault as fault:
            results.append(Failed(source, f"unexpected while {fault.step or 'opening it'}, please report it: {fault}"))
        except Exception as problem:  # a fault of ours in one log must not cost the reports of all others
            results.append(
                Failed(source, f"an unexpected fault, please report it: {type(problem).__name__}: {problem}")
            )
    if done:
        done(len(logs), len(logs))
    return results
