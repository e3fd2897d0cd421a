"""Growth rates, days and growth from repeated measures with lost and missing plants."""

from __future__ import annotations

import datetime
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import growcells
from growcells import CellError
from trials import column, table


def by_date(*arguments: object) -> list[dict[str, Any]]:
    """The rows of GROW_GROWTH_TABLE by heading."""
    heading, *body = growcells.call("GROW_GROWTH_TABLE", *arguments)
    return [dict(zip(heading, row, strict=True)) for row in body]


@given(st.floats(1e-3, 1e6), st.floats(-0.5, 0.5), st.floats(0.1, 400))
def test_growth_rate_is_the_rate_that_was_put_in(start: float, rate: float, days: float) -> None:
    end = start * math.exp(rate * days)
    assert growcells.call("GROW_GROWTH_RATE", start, end, days) == pytest.approx(rate, abs=1e-9)


@pytest.mark.parametrize("cells", [(0, 5, 7), (5, 0, 7), (5, 6, 0), (-5, 6, 7)])
def test_no_growth_rate_from_zero_blank_or_negative(cells: tuple[object, ...]) -> None:
    assert isinstance(growcells.functions()["GROW_GROWTH_RATE"].evaluate(cells), CellError)


def test_days_since() -> None:
    sown = datetime.date(2026, 2, 20)
    assert growcells.call("GROW_DAYS_SINCE", sown, datetime.date(2026, 3, 6)) == 14
    assert growcells.call("GROW_DAYS_SINCE", sown, datetime.datetime(2026, 3, 6, 12)) == 14.5
    for cells in ((None, sown), (0, sown), (sown, datetime.date(2026, 2, 19))):
        assert isinstance(growcells.functions()["GROW_DAYS_SINCE"].evaluate(cells), CellError)


def test_growth_table_against_pandas_on_chicks_some_of_which_died() -> None:
    """R's ChickWeight: 50 chicks on four diets, five of which are not measured to the end."""
    data = table("datasets", "ChickWeight")
    dates = [46000 + int(day) for day in data["Time"]]
    found = by_date(
        column(data["weight"].tolist()), column(data["Chick"].tolist()), column(dates), column(data["Diet"].tolist())
    )
    wide = data.pivot(index="Chick", columns="Time", values="weight")
    diets = data.groupby("Chick")["Diet"].first()
    assert len(found) == 4 * 12
    for row in found:
        chicks = wide[diets.astype(str) == row["treatment"]]
        day = row["date"] - 46000
        sizes = chicks[day].dropna()
        assert (row["n"], row["not measured"]) == (len(sizes), len(chicks) - len(sizes))
        assert (row["mean"], row["sd"]) == pytest.approx((sizes.mean(), sizes.std()))
        before = max((time for time in wide.columns if time < day), default=None)
        if before is not None:
            pairs = chicks[[before, day]].dropna()
            ratio = (pairs[day] / pairs[before]).map(math.log)
            assert row["measured twice"] == len(pairs)
            assert row["gain"] == pytest.approx((pairs[day] - pairs[before]).mean())
            assert row["growth rate"] == pytest.approx(ratio.mean() / (day - before))


LOG: tuple[tuple[object, ...], ...] = (
    ("size", "plant", "date"),
    (10, 1, "2026-03-02"),
    (12, 2, "2026-03-02"),
    (14, 3, "2026-03-02"),
    (20, 1, "2026-03-09"),
    ("Rotted", 2, "2026-03-09"),
    (None, 3, "2026-03-09"),
    (40, 1, "2026-03-16"),
    (56, 3, "2026-03-16"),
    (None, None, None),
)


def log(rows: tuple[tuple[object, ...], ...] = LOG) -> tuple[Any, ...]:
    return tuple(column([row[place] for row in rows]) for place in range(len(rows[0])))


def test_lost_and_missing_plants_are_counted_and_never_zero() -> None:
    first, second, third = by_date(*log())
    assert (first["n"], first["lost so far"], first["not measured"], first["mean"]) == (3, 0, 0, 12)
    assert (second["n"], second["lost so far"], second["not measured"], second["mean"]) == (1, 1, 1, 20)
    assert (third["n"], third["lost so far"], third["not measured"], third["mean"]) == (2, 1, 0, 48)
    assert (second["measured twice"], second["gain"]) == (1, 10)
    assert (third["measured twice"], third["gain"]) == (1, 20)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ((5, 2, "2026-03-16"), "plant 2 has a size after it was lost"),
        ((5, 1, "2026-03-16"), "plant 1 has two sizes on 2026-03-16"),
        ((5, None, "2026-03-16"), "row 11 has a size but no plant"),
        ((5, 1, None), "row 11 has a size but no date"),
        (("tall", 1, "2026-03-23"), 'row 11 of sizes is "tall"'),
        ((0, 1, "2026-03-23"), "zero or blank"),
        ((CellError("#REF!"), 1, "2026-03-23"), "#REF!"),
    ],
)
def test_rows_that_cannot_be(row: tuple[object, ...], words: str) -> None:
    problem = growcells.functions()["GROW_GROWTH_TABLE"].evaluate(log((*LOG, row)))
    assert isinstance(problem, CellError)
    assert words in problem.message


def test_columns_of_unequal_length() -> None:
    sizes, plants, dates = log()
    problem = growcells.functions()["GROW_GROWTH_TABLE"].evaluate((sizes, plants[:-1], dates))
    assert isinstance(problem, CellError)
    assert "the same length" in problem.message


def test_growth_rates() -> None:
    assert growcells.call("GROW_GROWTH_RATE", 5, 10, 7) == pytest.approx(math.log(2) / 7)
    assert growcells.call("GROW_GROWTH_RATE", 10, 5, 7) == pytest.approx(-math.log(2) / 7)


def test_each_treatment_has_rows_of_its_own_from_its_own_first_date() -> None:
    sizes = column((2, 4, 3, None, 9, 6))
    plants = column(("a", "a", "b", "b", "b", "c"))
    dates = column((46001, 46008, 46003, 46010, 46017, 46017))
    found = by_date(sizes, plants, dates, column(("X", "X", "Y", "y", "Y ", "Y")))
    assert [(row["treatment"], row["date"], row["days"], row["n"]) for row in found] == [
        ("X", 46001, 0, 1),
        ("X", 46008, 7, 1),
        ("Y", 46003, 0, 1),
        ("Y", 46010, 7, 0),
        ("Y", 46017, 14, 2),
    ]
    first, second, unmeasured = found[0], found[1], found[3]
    assert (first["gain"], first["growth rate"], first["measured twice"], first["sd"]) == ("", "", "", "")
    assert (second["gain"], second["growth rate"]) == (2, pytest.approx(math.log(2) / 7))
    assert (unmeasured["mean"], unmeasured["sd"], unmeasured["gain"], unmeasured["not measured"]) == ("", "", "", 2)
    last = found[4]
    # No plant was measured on the date before, so that none was measured twice.
    assert (last["measured twice"], last["gain"], last["mean"], last["sd"]) == (
        "",
        "",
        7.5,
        pytest.approx(3 / 2**0.5),
    )


def test_dates_may_come_in_any_order_and_with_an_hour() -> None:
    ordered = by_date(column((1, 2, 4)), column("aaa"), column((46001, 46008, 46015)))
    assert by_date(column((4, 1, 2)), column("aaa"), column((46015.75, 46001.25, 46008.5))) == ordered


def test_a_row_without_a_size_beside_one_of_the_same_plant_and_day() -> None:
    both = by_date(column((5, None)), column("aa"), column((46001, 46001)))
    assert both == by_date(column((None, 5)), column("aa"), column((46001, 46001)))
    assert (both[0]["n"], both[0]["mean"], both[0]["not measured"]) == (1, 5, 0)


def test_a_plant_lost_twice_is_lost_once() -> None:
    found = by_date(column((5, "dead", "dead")), column("aaa"), column((46001, 46008, 46015)))
    assert [row["lost so far"] for row in found] == [0, 1, 1]
    assert [row["not measured"] for row in found] == [0, 0, 0]


def test_rows_that_say_nothing_are_passed_over() -> None:
    found = by_date(column((5, None, None, None)), column(("a", "b", None, None)), column((46001, None, 46001, None)))
    assert len(found) == 1 and found[0]["n"] == 1


def test_the_plant_that_came_back_is_named() -> None:
    cells = (column(("dead", "dead", 5, 6)), column("bcbc"), column((46001, 46001, 46008, 46008)))
    problem = growcells.functions()["GROW_GROWTH_TABLE"].evaluate(cells)
    assert problem.message == "plant b has a size after it was lost: mend the row in which it was lost"
