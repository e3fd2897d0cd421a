"""The command: measures, prints a line as soon as it is measured, and writes all of them to a CSV file, with --write
as the table of DEVELOPERS.md too."""

from __future__ import annotations

import argparse
import csv
import os
import platform
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from growcells_addin.bridge_files import BridgeProblem

from . import calls, files, growth, in_office, slow_calls, starts
from .growth import MEBIBYTE, NOISE, Growth
from .measuring import FULL, PROJECT, QUICK, Benchmark, NotMeasured, Outcome, Size

BENCHMARKS = {
    benchmark.name: benchmark
    for module in (calls, slow_calls, starts, in_office, files)
    for benchmark in module.BENCHMARKS
}
NAMES = (*BENCHMARKS, *growth.COMMANDS)
DEVELOPERS = PROJECT / "DEVELOPERS.md"
HEADING = "| what | beside | figure | target |"
DEFAULT_OUTPUT = PROJECT / "tests" / "artefacts" / "benchmarks.csv"
FIELDS = ("name", "what", "against", "measured", "reference", "figure", "unit", "lowest", "highest", "rounds", "goal")


def main(arguments: Sequence[str]) -> int:
    """Run the benchmarks asked for; the exit code is 1 where one misses its target."""
    parser = argparse.ArgumentParser(prog="run.py", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="name", help=f"which to run, all if left out: {', '.join(NAMES)}")
    parser.add_argument("--quick", action="store_true", help="as small as can be, to see that every benchmark runs")
    parser.add_argument("--output", type=Path, default=DEFAULT_OUTPUT, help="the CSV file to write")
    parser.add_argument("--write", action="store_true", help="put these figures into the table of DEVELOPERS.md")
    asked = parser.parse_args(arguments)
    if unknown := set(asked.names) - set(NAMES):
        parser.error(f"no benchmark is called {', '.join(sorted(unknown))}: there are {', '.join(NAMES)}")
    if asked.write and asked.quick:
        parser.error("--write does not go with --quick, whose figures mean nothing")
    names = asked.names or NAMES
    print(machine())
    rows = []
    for row in measured(QUICK if asked.quick else FULL, names):
        rows.append(row)
        write(asked.output, rows)
    print(f"wrote {asked.output}")
    if asked.write:
        write_table(DEVELOPERS, rows)
        print(f"wrote the table of {DEVELOPERS}")
    missed = [row["name"] for row in rows if row["verdict"] != "reached"]
    print(f"{len(rows) - len(missed)} of {len(rows)} reached" + (f"; not: {', '.join(missed)}" if missed else ""))
    return 1 if missed else 0


def machine() -> str:
    """What the figures were measured on, and how busy it is."""
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    return f"Python {platform.python_version()}, {platform.system()} {platform.machine()}, {os.cpu_count()} CPUs{load}"


def measured(size: Size, names: Sequence[str]) -> Iterator[dict[str, str]]:
    """A row of the file for each benchmark, printed as soon as it is there."""
    for name in names:
        if name in BENCHMARKS:
            yield told(BENCHMARKS[name], size)
        else:
            for grown in growth.growths(size, [name]):
                yield from told_growth(grown)


def told(benchmark: Benchmark, size: Size) -> dict[str, str]:
    """Measure one benchmark."""
    try:
        outcome = Outcome(benchmark, benchmark.measure(size))
    except (BridgeProblem, NotMeasured) as problem:
        print(f"{benchmark.name:20} NOT MEASURED: {problem}", flush=True)
        return row_of(benchmark) | {"verdict": "not measured"}
    lowest, highest = outcome.spread
    unit = benchmark.goal.kind.value
    verdict = "reached" if outcome.is_reached else "MISSED"
    print(
        f"{benchmark.name:20} {outcome.figure:8.3g} {unit:8} {benchmark.goal!s:22} {verdict:8}"
        f" ({shown(outcome.measured)} to {shown(outcome.reference)}; rounds {lowest:.3g} to {highest:.3g})\n"
        f"{'':20} {benchmark.what}\n{'':20} against {benchmark.against}",
        flush=True,
    )
    return row_of(benchmark) | {
        "measured": f"{outcome.measured:.6g}",
        "reference": f"{outcome.reference:.6g}",
        "figure": f"{outcome.figure:.4g}",
        "lowest": f"{lowest:.4g}",
        "highest": f"{highest:.4g}",
        "rounds": str(len(outcome.seconds.measured)),
        "verdict": verdict.lower(),
    }


def row_of(benchmark: Benchmark) -> dict[str, str]:
    """What stands in the file of a benchmark before it is measured."""
    return dict.fromkeys(FIELDS, "") | {
        "name": benchmark.name,
        "what": benchmark.what,
        "against": benchmark.against,
        "unit": benchmark.goal.kind.value,
        "goal": str(benchmark.goal),
    }


def told_growth(grown: Growth) -> Iterator[dict[str, str]]:
    """Time and memory of a command at several sizes, and how they grow."""
    print(f"{grown.name:20} {grown.what}")
    for rows, run in zip(grown.rows, grown.runs, strict=True):
        times = f"{shown(run.seconds):>9}, processor {shown(run.processor):>9}"
        print(f"{'':20} {rows:9,} rows {times} {run.peak / MEBIBYTE:7.0f} MiB")
    for measure, figure in (("time", grown.time), ("memory", grown.memory)):
        verdict = "reached" if figure <= NOISE else "MISSED"
        goal = f"at most 1 ×, {NOISE:g} × with noise"
        print(
            f"{'':20} {measure} of a further row {figure:6.3g} × that of an earlier one; {goal} {verdict}", flush=True
        )
        yield dict.fromkeys(FIELDS, "") | {
            "name": f"{grown.name}-{measure}",
            "what": f"{measure} of each further row: {grown.what}, {grown.rows[1]:,} to {grown.rows[2]:,} rows",
            "against": f"the same, {grown.rows[0]:,} to {grown.rows[1]:,} rows",
            "figure": f"{figure:.4g}",
            "unit": "×",
            "goal": goal,
            "verdict": verdict.lower(),
        }


def shown(seconds: float) -> str:
    """A time in a unit that suits it."""
    for unit, size in (("s", 1.0), ("ms", 1e-3), ("µs", 1e-6)):
        if seconds >= size:
            return f"{seconds / size:.3g} {unit}"
    return f"{seconds * 1e9:.3g} ns"


def write_table(page: Path, rows: Sequence[dict[str, str]]) -> None:
    """Put rows into the table of a page, where those of the same name stood or below, with what measured them."""
    before, heading, rest = page.read_text("utf-8").partition(HEADING)
    assert heading, f"{page} has no table of benchmarks"
    table, _, after = rest.partition("\n\n")
    _, _, after = after.partition("\n\n")
    lines = {name_in(line): line for line in table.splitlines()[2:]}
    lines |= {name_in(line): line for line in map(table_row, rows)}
    put = "\n".join([heading, "| --- | --- | --- | --- |", *lines.values()])
    page.write_text(f"{before}{put}\n\nLast measured with {machine()}.\n\n{after}", "utf-8")


def name_in(line: str) -> str:
    """The name of the benchmark in a row of the table."""
    return line.partition("(`")[2].partition("`)")[0]


def table_row(row: dict[str, str]) -> str:
    """A row of the table of DEVELOPERS.md."""
    figure = f"{float(row['figure']):.3g} {row['unit']}" if row["figure"] else "not measured"
    missed = ", missed" if row["verdict"] == "missed" else ""
    return f"| {row['what']} (`{row['name']}`) | {row['against']} | {figure}{missed} | {row['goal']} |"


def write(path: Path, rows: Sequence[dict[str, str]]) -> None:
    """Write the file anew."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, [*FIELDS, "verdict"])
        writer.writeheader()
        writer.writerows(rows)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
