"""growcells season: rounds side by side, and what the feeds' differences are worth, against figures by hand."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from statsmodels.stats.power import TTestPower

from growcells.no_answer import NoAnswer
from growcells.statistics.paired_rounds import between_beds, over_rounds, rounds_needed
from growcells_workbooks.gate import FileProblem
from growcells_workbooks.reading import read_log
from growcells_workbooks.season import build_season
from growcells_workbooks.season.compared_rounds import season_of
from log_books import ROOFTOP, write_log
from processes import growcells
from report_books import report_book

D = datetime.date
DAY = D(2026, 11, 25)
STARTS = (D(2026, 7, 1), D(2026, 8, 15), D(2026, 10, 1))
LEAD = (20, 30, 25)
"""g by which feed B is heavier in each round."""


def log(folder: Path) -> Path:
    """Two beds of feed A and two of B in three rounds; B leads by 20, 30 and 25 g."""
    beds = [("T1", "A", 0), ("T2", "A", 4), ("T3", "B", 0), ("T4", "B", 4)]
    plan: list[list[object]] = [["Bed", "Crop", "Feed", "Planted"]]
    weights: list[list[object]] = [["Date", "Bed", "Plant", "Fresh g"]]
    for start, lead in zip(STARTS, LEAD, strict=True):
        for bed, feed, more in beds:
            plan.append([bed, "kale", feed, start])
            mass = 100 + more + (lead if feed == "B" else 0)
            weights += [[start + datetime.timedelta(days=30), bed, n, mass + plus] for n, plus in ((1, -2), (2, 2))]
    feeds = [["Feed", "Analysis", "Rate g/gal"], ["A", "7-9-26", 1], ["B", "17-7-21", 1]]
    sizes: list[list[object]] = [["Bed", "Volume gal"], *([bed, 26] for bed, _, _ in beds)]
    return write_log(folder, Beds=sizes, Feeds=feeds, Plan=plan, Weights=weights)


def test_differences_in_each_round_and_over_all(tmp_path: Path) -> None:
    season = season_of([read_log(log(tmp_path), DAY)], DAY)
    assert len(season.rounds) == 12
    (found,) = season.differences
    assert [one.interval.difference for one in found.rounds] == pytest.approx([-20, -30, -25])
    assert [one.beds for one in found.rounds] == [(2, 2)] * 3
    # By hand: beds of a feed are 4 g apart, variance 8 each, pooled 8, error sqrt(8 (1/2 + 1/2)), t(0.975, 2) = 4.3027.
    assert found.rounds[0].interval.high == pytest.approx(-20 + 4.30265 * 8**0.5, rel=1e-5)
    # Over the rounds: mean -25, sd 5, t(0.975, 2) = 4.3027.
    assert found.together.low == pytest.approx(-25 - 4.30265 * 5 / 3**0.5, rel=1e-5)
    assert found.together.is_sure


def test_the_command_writes_and_tells(tmp_path: Path) -> None:
    done = growcells("season", str(log(tmp_path)), "--output", str(tmp_path / "season.xlsx"), "--as-of", "2026-11-25")
    assert done.returncode == 0, done.stderr
    assert "B leads A by 25 g a head over 3 rounds. That is more than luck" in " ".join(done.stdout.split())
    book = report_book(tmp_path / "season.xlsx")
    assert book.sheetnames == ["Rounds", "Feeds and beds", "Differences", "Drawn"]
    assert len(book["Drawn"]._charts) == 1  # type: ignore[attr-defined]
    again = growcells("season", str(tmp_path / "log.xlsx"), "--output", str(tmp_path / "season.xlsx"))
    assert again.returncode == 1 and "exists already" in " ".join(again.stderr.split())


def test_a_log_is_never_its_own_season(tmp_path: Path) -> None:
    path = log(tmp_path)
    with pytest.raises(FileProblem, match="is a log itself"):
        build_season([path], path, overwrite=True)


def test_rounds_needed_against_statsmodels() -> None:
    for difference, spread in ((10, 10), (5, 10), (25, 5)):
        theirs = TTestPower().solve_power(effect_size=difference / spread, alpha=0.05, power=0.8)
        assert rounds_needed(difference, spread) in (int(theirs) + 1, max(int(theirs) + 1, 2))
    with pytest.raises(NoAnswer):
        rounds_needed(1, 1000)


def test_what_tells_no_spread_has_no_limits() -> None:
    assert between_beds([1.0], [2.0]).low is None
    assert over_rounds([1.0]).high is None


def test_a_log_without_plantings_has_no_rounds(tmp_path: Path) -> None:
    done = growcells("season", ROOFTOP, "--output", tmp_path / "season.xlsx")
    assert done.returncode == 0 and done.stdout.startswith("No rounds to compare:")
