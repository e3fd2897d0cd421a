"""Every benchmark still runs; its figures are measured elsewhere, by benchmarks/run.py, and mean nothing here."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest

import libreoffice
from benchmarks import growth
from benchmarks.__main__ import BENCHMARKS, HEADING, NAMES, main, write_table
from benchmarks.measuring import Benchmark, Goal, Kind, Outcome, Run, Seconds

IN_OFFICE = tuple(name for name in NAMES if name.startswith("office-") or name == "recalc-office")


@pytest.mark.slow
@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=pytest.mark.office) if name in IN_OFFICE else name for name in NAMES]
)
def test_benchmark_runs(name: str, tmp_path: Path) -> None:
    if name in IN_OFFICE:
        libreoffice.needed_office()
    if name == "recalc-formulas":
        pytest.importorskip("formulas", reason="NOT TESTED: the benchmark beside the formulas package")
    output = tmp_path / "figures.csv"
    left = main(["--quick", "--output", str(output), name])
    with output.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows
    for row in rows:
        assert row["name"].startswith(name)
        assert row["verdict"] in ("reached", "missed")
        assert math.isfinite(float(row["figure"]))
    assert left == any(row["verdict"] == "missed" for row in rows)


@pytest.mark.parametrize(("limit", "left"), [(2.0, 0), (1.0, 1)])
def test_a_missed_target_is_a_failure(limit: float, left: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    benchmark = Benchmark("n", "w", "a", Goal(Kind.TIMES, limit), lambda size: Seconds([3.0], [2.0]))
    monkeypatch.setitem(BENCHMARKS, "n", benchmark)
    monkeypatch.setattr("benchmarks.__main__.NAMES", ("n",))
    assert main(["--output", str(tmp_path / "figures.csv")]) == left


def test_every_benchmark_has_a_name_of_its_own() -> None:
    assert len(set(NAMES)) == len(NAMES) == len(BENCHMARKS) + len(growth.COMMANDS)


@pytest.mark.parametrize(
    ("kind", "limit", "measured", "reference", "figure", "reached"),
    [
        (Kind.TIMES, 2, [3.0, 9.0, 4.0], [2.0, 5.0, 3.0], 1.5, True),
        (Kind.TIMES, 1.4, [3.0], [2.0], 1.5, False),
        (Kind.MORE, 60, [0.08], [0.03], 50.0, True),
        (Kind.MORE, 40, [0.08], [0.03], 50.0, False),
        (Kind.MILLISECONDS, 3, [0.003, 0.002], [9.0, 9.0], 2.0, True),
        (Kind.FASTER, 20, [0.1], [2.5], 25.0, True),
        (Kind.FASTER, 30, [0.1], [2.5], 25.0, False),
    ],
)
def test_figure_of_the_least_times(
    kind: Kind, limit: float, measured: list[float], reference: list[float], figure: float, reached: bool
) -> None:
    benchmark = Benchmark("n", "w", "a", Goal(kind, limit), lambda size: Seconds([], []))
    outcome = Outcome(benchmark, Seconds(measured, reference))
    assert outcome.figure == pytest.approx(figure)
    assert outcome.is_reached is reached


def test_growth_of_a_further_row() -> None:
    linear = [Run(0.0, 1.0 + 2 * rows, 500.0 + rows, "") for rows in (10, 100, 1000)]
    square = [Run(0.0, 1.0 + rows**2, 500.0 + rows, "") for rows in (10, 100, 1000)]
    assert growth.Growth("n", "w", (10, 100, 1000), linear).time == pytest.approx(1.0)
    assert growth.Growth("n", "w", (10, 100, 1000), square).time == pytest.approx(10.0)
    assert growth.Growth("n", "w", (10, 100, 1000), square).memory == pytest.approx(1.0)


def test_the_table_of_a_page_is_put_anew(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text(
        "Before.\n\n"
        + HEADING
        + "\n| --- | --- | --- | --- |\n| old (`n`) |\n| other (`o`) |\n\nLast measured then.\n\nAfter.\n"
    )
    row = {"what": "a call", "name": "n", "against": "another", "figure": "2.346", "unit": "×", "goal": "at most 2 ×"}
    write_table(page, [row | {"verdict": "missed"}, row | {"name": "m", "figure": "", "verdict": "not measured"}])
    before, _, heading, _, *rows, _, measured, _, after = page.read_text("utf-8").splitlines()
    assert (before, heading, after) == ("Before.", HEADING, "After.") and measured.startswith(
        "Last measured with Python"
    )
    assert rows == [
        "| a call (`n`) | another | 2.35 ×, missed | at most 2 × |",
        "| other (`o`) |",
        "| a call (`m`) | another | not measured | at most 2 × |",
    ]
