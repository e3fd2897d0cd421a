"""Trial functions as cells call them: lost plants, blanks, headings, beds, errors and what the table says in words."""

from __future__ import annotations

import csv
import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import growcells
from growcells import CellError
from growcells.comparison import letters
from growcells.outcomes import loss_words
from trials import column, shares_a_letter

VALUES = (52, 61, "dead", 48, 66, 70, None, 71, 75)
FEEDS = ("A", "A", "A", "A", "B", "B", "B", "B", "B")
SENTENCES = 7
ROOT = Path(growcells.__file__).parent


def trial(values: Sequence[object], feeds: Sequence[object], beds: Sequence[object] | None = None) -> Any:
    cells = [column(values), column(feeds)] + ([] if beds is None else [column(beds)])
    return growcells.functions()["GROW_TRIAL_TABLE"].evaluate(cells)


def words(found: Any) -> str:
    assert not isinstance(found, CellError), found.message
    return " ".join(row[0] for row in found[-SENTENCES:])


def named(found: Any) -> dict[str, dict[str, Any]]:
    heading, *body = found
    return {row[0]: dict(zip(heading, row, strict=True)) for row in body[:-SENTENCES]}


def test_the_table_is_a_rectangle_of_known_size() -> None:
    for beds in (None, (1, 1, 1, 2, 3, 3, 3, 4, 4), (1, 1, 1, 1, 2, 2, 2, 2, 2), (1, 2, 1, 2, 1, 2, 1, 2, 1)):
        found = trial(VALUES, FEEDS, beds)
        assert len(found) == 1 + 2 + SENTENCES
        assert {len(row) for row in found} == {12}


def test_a_lost_plant_is_counted_and_is_no_zero() -> None:
    found = trial(VALUES, FEEDS)
    a = named(found)["A"]
    assert (a["n"], a["lost"], a["mean"]) == (3, 1, pytest.approx((52 + 61 + 48) / 3))
    assert "Lost: 1 of 8 plants (A 1 of 4, B 0 of 4)" in words(found)
    assert "1 row without a value left out" in words(found)


@pytest.mark.parametrize("word", ["dead", "Dead", " DIED ", "lost", "rotted", "eaten", "damped  off", "dead."])
def test_words_for_a_lost_plant(word: str) -> None:
    values = tuple(word if value == "dead" else value for value in VALUES)
    assert named(trial(values, FEEDS))["A"]["lost"] == 1


def test_every_word_of_the_data_file_is_a_loss_and_has_a_source() -> None:
    with (ROOT / "data" / "loss_words.csv").open(encoding="utf-8") as file:
        listed = list(csv.DictReader(file))
    assert all(row["source"] for row in listed)
    assert {row["word"] for row in listed} == loss_words()
    for word in loss_words():
        assert named(trial((*VALUES, word), (*FEEDS, "B")))["B"]["lost"] == 1


def test_a_plain_zero_is_a_value() -> None:
    assert named(trial((0, 2, 4, 6), ("A", "A", "B", "B")))["A"]["mean"] == 1


def test_a_treatment_all_of_whose_plants_died_stays_in_the_table() -> None:
    found = trial((*VALUES, "dead", "eaten"), (*FEEDS, "C", "C"))
    c = named(found)["C"]
    assert (c["n"], c["lost"], c["mean"], c["letters"]) == (0, 2, "", "")
    assert "C 2 of 2" in words(found)


def test_the_first_treatment_died() -> None:
    found = trial(("dead", 5, 6, 7, 8, 9, 10), ("A", "B", "B", "B", "C", "C", "C"))
    assert named(found)["B"]["difference"] == ""
    assert named(found)["C"]["difference"] == pytest.approx(3)
    assert "Differences are from B" in words(found)


@pytest.mark.parametrize("heading", ["weight", "Fresh mass (g)", "grams"])
def test_a_heading_row_is_no_plant(heading: str) -> None:
    assert trial((heading, *VALUES), ("feed", *FEEDS)) == trial(VALUES, FEEDS)
    beds = (1, 1, 2, 2, 3, 3, 3, 4, 4)
    assert trial((heading, *VALUES), ("feed", *FEEDS), ("bed", *beds)) == trial(VALUES, FEEDS, beds)


def test_a_loss_in_the_first_row_is_no_heading() -> None:
    assert named(trial(("dead", *VALUES), ("A", *FEEDS)))["A"]["lost"] == 2


def test_one_treatment_in_several_spellings() -> None:
    found = named(trial((1, 2, 3, 4, 6), ("Feed A", "feed  a", "FEED A ", "B", "b")))
    assert list(found) == ["Feed A", "B"]
    assert found["Feed A"]["n"] == 3


def test_numbers_as_treatments() -> None:
    assert list(named(trial((1, 2, 3, 4), (0, 0.0, 0.32, 0.32)))) == ["0", "0.32"]


@pytest.mark.parametrize(
    ("values", "feeds", "beds", "said"),
    [
        (
            (1, "tall", 3, 4),
            ("A", "A", "B", "B"),
            None,
            'row 2 of values: values is "tall": give a plain number, "dead"',
        ),
        ((1, "52 g", 3, 4), ("A", "A", "B", "B"), None, "row 2 of values"),
        ((1, True, 3, 4), ("A", "A", "B", "B"), None, "row 2 of values"),
        ((1, 2, 3, 4), ("A", None, "B", "B"), None, "row 2 has a value and no treatment"),
        (("dead", 2, 3, 4), (None, "A", "B", "B"), None, "row 1 has a value and no treatment"),
        ((1, 2, 3, 4), ("A", "A", "B", "B"), (1, 1, None, 2), "row 3 has a value and no bed"),
        ((1, 2, 3, 4), ("A", "A", "B"), None, "one length"),
        ((1, 2, 3, 4), ("A", "A", "B", "B"), (1, 2, 3), "one length"),
        (("dead", None), ("A", "B"), None, "at least one measured plant"),
        ((1, 2, CellError("#DIV/0!"), 4), ("A", "A", "B", "B"), None, "#DIV/0!"),
        (range(50), range(100, 150), None, "50 different names"),
        ((1e300, 2, 3, 4), ("A", "A", "B", "B"), None, "row 1 of values"),
    ],
)
def test_errors_name_the_row(values: Any, feeds: Any, beds: Any, said: str) -> None:
    found = trial(tuple(values), tuple(feeds), beds)
    assert isinstance(found, CellError)
    assert said in found.message


def test_no_beds_is_said() -> None:
    assert "bed and treatment cannot be told apart: give beds" in words(trial(VALUES, FEEDS))


def test_a_single_bed_for_each_treatment_gives_no_test() -> None:
    found = trial(VALUES, FEEDS, FEEDS)
    assert "No test: each treatment has a single bed, so that bed and treatment cannot be told apart" in words(found)
    assert named(found)["B"]["difference"] == pytest.approx(70.5 - 161 / 3)
    assert {row["p"] for row in named(found).values()} == {""}
    p = growcells.functions()["GROW_TRIAL_P"].evaluate((column(VALUES), column(FEEDS), column(FEEDS)))
    assert isinstance(p, CellError) and "cannot be told apart" in p.message


def test_a_single_bed_of_one_treatment_is_said() -> None:
    found = trial((1, 2, 3, 5, 9, 12), ("A", "A", "B", "B", "B", "B"), (1, 1, 2, 2, 3, 3))
    assert "A single bed: A." in words(found)
    assert isinstance(named(found)["B"]["p"], float)


def test_beds_with_several_treatments_are_blocks() -> None:
    found = trial((1, 2.2, 11, 12, 21.5, 22), ("A", "B") * 3, (1, 1, 2, 2, 3, 3))
    assert "Analysis of variance with beds as blocks on 6 bed means" in words(found)
    assert "3 beds with several treatments, such as 1" in words(found)


def test_treatments_that_share_no_bed_among_blocks_give_no_test() -> None:
    found = trial(range(8), ("A", "B", "A", "B", "C", "D", "C", "D"), (1, 1, 2, 2, 3, 3, 4, 4))
    assert "No test: no bed joins all treatments" in words(found)


def test_no_spread_and_no_repeat_give_no_test() -> None:
    assert "equal to the last digit" in words(trial((1.1, 1.1, 2.2, 2.2), ("A", "A", "B", "B")))
    assert "no treatment is repeated" in words(trial((1, 2, 3), ("A", "B", "C")))
    assert "a comparison needs two" in words(trial((1, 2, 3), ("A", "A", "A")))


def test_the_table_says_what_could_have_been_seen() -> None:
    """The sentence on the size of the trial is GROW_TRIAL_DETECTS of its spread and number of plants."""
    values = (50, 54, 58, 62, 60, 63, 66, 75)
    found = trial(values, ("A",) * 4 + ("B",) * 4)
    spread = math.sqrt((named(found)["A"]["sd"] ** 2 + named(found)["B"]["sd"] ** 2) / 2)
    seen = growcells.GROW_TRIAL_DETECTS(4, spread, 2)
    assert f"(sd {spread:.3g}) sees a true difference of {seen:.3g} in 8 cases of 10" in words(found)


def test_confidence_moves_limits_and_letters() -> None:
    cells = (column((50, 54, 58, 62, 60, 63, 66, 75)), column(("A",) * 4 + ("B",) * 4))
    wide = named(growcells.GROW_TRIAL_TABLE(*cells, None, 0.99))["B"]
    narrow = named(growcells.GROW_TRIAL_TABLE(*cells, None, "90 %"))["B"]
    assert wide["difference low"] < 0 < narrow["difference low"]
    assert (wide["letters"], narrow["letters"]) == ("a", "a")
    assert named(growcells.GROW_TRIAL_TABLE(*cells, None, 0.9))["A"]["letters"] == "b"


def test_equal_terms() -> None:
    """The worked example of the README: two grades at the same grams a gallon, then at the same nitrogen."""
    dose = growcells.GROW_DOSE(28, 2)
    by_grams = [growcells.GROW_PPM(dose, 28, grade, "N", "g", "gal") for grade in ("18-9-18", "9-9-27")]
    # 2 g in a gallon of 3.785411784 L (NIST SP 811): 2000 × 0.18 ÷ 3.785411784 ppm
    assert by_grams == pytest.approx([2000 * 0.18 / 3.785411784, 2000 * 0.09 / 3.785411784])
    doses = [growcells.GROW_DOSE_FOR(100, "N", grade, 28) for grade in ("18-9-18", "9-9-27")]
    assert doses == pytest.approx([58.9, 117.8], abs=0.05)
    by_nitrogen = [
        growcells.GROW_PPM(mass, 28, grade, "N", "g", "gal")
        for mass, grade in zip(doses, ("18-9-18", "9-9-27"), strict=True)
    ]
    assert by_nitrogen == pytest.approx([100, 100])


GRAPHS = st.integers(1, 8).flatmap(
    lambda count: st.tuples(
        st.lists(st.floats(-5, 5), min_size=count, max_size=count),
        st.lists(st.booleans(), min_size=count * count, max_size=count * count),
    )
)


@settings(max_examples=1000, deadline=None)
@given(GRAPHS)
def test_letters_for_any_pairs_that_differ(graph: tuple[list[float], list[bool]]) -> None:
    """Whatever differs: two treatments share a letter exactly where they do not, and everyone has a letter."""
    means, flags = graph
    count = len(means)
    differ = [[flags[max(i, j) * count + min(i, j)] and i != j for j in range(count)] for i in range(count)]
    found = letters(means, differ)
    assert all(found)
    for i in range(count):
        for j in range(i):
            assert shares_a_letter(found[i], found[j]) is not differ[i][j]
    assert "a" in found[means.index(max(means))]


CELL = st.one_of(
    st.none(),
    st.floats(allow_nan=False, allow_infinity=False),
    st.integers(-5, 5),
    st.sampled_from(["dead", "eaten", "A", "B", "", " ", "1,5", "52 g", "weight", "3", CellError("#N/A"), True]),
)
NUMBERS = st.one_of(st.integers(-3, 3), st.floats(-1e12, 1e12), st.sampled_from(["dead", None, 1e-300, 7.25]))
NAMES = st.sampled_from(["A", "B", "C", "a", 1, None])
TRIAL_ROWS = st.lists(st.tuples(NUMBERS, NAMES.filter(bool), st.integers(1, 5)), min_size=1, max_size=14)


def assert_sound(found: object) -> None:
    """A table, value or error, without a number that is not finite and without a fault of ours."""
    if isinstance(found, CellError):
        assert "fault in growcells" not in found.message
        return
    for row in found if isinstance(found, tuple) else ((found,),):
        for cell in row:
            assert not isinstance(cell, float) or math.isfinite(cell)
            assert not isinstance(cell, CellError) or "fault in growcells" not in cell.message


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(TRIAL_ROWS, st.booleans())
def test_any_trial_gives_finite_numbers_or_a_sentence(rows: list[tuple[Any, Any, Any]], with_beds: bool) -> None:
    cells = [column(cells) for cells in zip(*rows, strict=True)]
    given_cells = cells if with_beds else cells[:2]
    for name in ("GROW_TRIAL_TABLE", "GROW_TRIAL_P", "GROW_TRIAL_FACTORS"):
        assert_sound(growcells.functions()[name].evaluate(given_cells))


FAMILY = [function for function in growcells.functions().values() if function.family == "Seed, trial, climate"]
RANGE = st.lists(st.tuples(CELL), min_size=1, max_size=6).map(tuple)


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(FAMILY), st.data())
def test_random_cells_never_raise(function: growcells.CellFunction, data: st.DataObject) -> None:
    count = data.draw(st.integers(0, len(function.arguments)))
    assert_sound(function.evaluate([data.draw(CELL | RANGE) for _ in range(count)]))
