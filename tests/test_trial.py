"""Trial functions as cells call them: lost plants, blanks, headings, beds, errors and what the table says in words."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from typing import Any

import numpy
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy import stats

import growcells
from growcells import CellError
from growcells.cells.number_texts import count
from growcells.cells.ranges import check_lengths
from growcells.data import read_data
from growcells.families.trial import PLANT_GROWTH
from growcells.no_answer import NoAnswer
from growcells.statistics.comparison import (
    Comparison,
    Units,
    Untestable,
    check_spread,
    compare,
    letters,
)
from growcells.statistics.trial_sizes import detectable_difference
from growcells.statistics.trials import Design
from growcells.terms.plant_values import OUTCOMES, Lost, labels, loss_words
from growcells.terms.trial_columns import Factors, combinations, read_trial, with_names
from growcells.terms.trial_sentences import probability
from trials import column, shares_a_letter
from us_units import LITRES_IN_GALLON

VALUES = (52, 61, "dead", 48, 66, 70, None, 71, 75)
FEEDS = ("A", "A", "A", "A", "B", "B", "B", "B", "B")
SENTENCES = 7


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
    assert "1 row has no value and was left out" in words(found)


@pytest.mark.parametrize("word", ["dead", "Dead", " DIED ", "lost", "rotted", "eaten", "damped  off", "dead."])
def test_words_for_a_lost_plant(word: str) -> None:
    values = tuple(word if value == "dead" else value for value in VALUES)
    assert named(trial(values, FEEDS))["A"]["lost"] == 1


def test_every_word_of_the_table_is_a_loss() -> None:
    assert {row["word"] for row in read_data("loss_words.csv")} == loss_words()
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
    assert "No test: the beds do not link all treatments" in words(found)


def test_no_spread_and_no_repeat_give_no_test() -> None:
    assert "the same value as far as a cell holds figures" in words(trial((1.1, 1.1, 2.2, 2.2), ("A", "A", "B", "B")))
    assert "no treatment is repeated" in words(trial((1, 2, 3), ("A", "B", "C")))
    assert "a comparison needs two" in words(trial((1, 2, 3), ("A", "A", "A")))


def test_the_table_says_what_could_have_been_seen() -> None:
    """The sentence on the size of the trial is GROW_TRIAL_DETECTS of its spread and number of plants."""
    values = (50, 54, 58, 62, 60, 63, 66, 75)
    found = trial(values, ("A",) * 4 + ("B",) * 4)
    spread = math.sqrt((named(found)["A"]["sd"] ** 2 + named(found)["B"]["sd"] ** 2) / 2)
    seen = growcells.call("GROW_TRIAL_DETECTS", 4, spread, 2)
    assert f"(sd {spread:.3g}) finds a true difference of {seen:.3g} in 8 cases of 10" in words(found)


def test_confidence_moves_limits_and_letters() -> None:
    cells = (column((50, 54, 58, 62, 60, 63, 66, 75)), column(("A",) * 4 + ("B",) * 4))
    wide = named(growcells.call("GROW_TRIAL_TABLE", *cells, None, 0.99))["B"]
    narrow = named(growcells.call("GROW_TRIAL_TABLE", *cells, None, "90 %"))["B"]
    assert wide["difference low"] < 0 < narrow["difference low"]
    assert (wide["letters"], narrow["letters"]) == ("a", "a")
    assert named(growcells.call("GROW_TRIAL_TABLE", *cells, None, 0.9))["A"]["letters"] == "b"


def test_equal_terms() -> None:
    """The worked example of functions/README.md: two grades at the same grams a gallon, then at the same nitrogen."""
    dose = growcells.call("GROW_DOSE", 34, 1.8)
    by_grams = [growcells.call("GROW_PPM", dose, 34, grade, "N", "g", "gal") for grade in ("17-7-21", "7-9-26")]
    assert by_grams == pytest.approx([1800 * 0.17 / LITRES_IN_GALLON, 1800 * 0.07 / LITRES_IN_GALLON])
    doses = [growcells.call("GROW_DOSE_FOR", 100, "N", grade, 34) for grade in ("17-7-21", "7-9-26")]
    assert doses == pytest.approx([100 * 34 * LITRES_IN_GALLON / 1000 / share for share in (0.17, 0.07)])
    by_nitrogen = [
        growcells.call("GROW_PPM", mass, 34, grade, "N", "g", "gal")
        for mass, grade in zip(doses, ("17-7-21", "7-9-26"), strict=True)
    ]
    assert by_nitrogen == pytest.approx([100, 100])


GRAPHS = st.integers(1, 8).flatmap(
    lambda count: st.tuples(
        st.lists(st.floats(-5, 5), min_size=count, max_size=count),
        st.lists(st.booleans(), min_size=count * count, max_size=count * count),
    )
)


@pytest.mark.slow
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


@pytest.mark.slow
@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(TRIAL_ROWS, st.booleans())
def test_any_trial_gives_finite_numbers_or_a_sentence(rows: list[tuple[Any, Any, Any]], with_beds: bool) -> None:
    cells = [column(cells) for cells in zip(*rows, strict=True)]
    given_cells = cells if with_beds else cells[:2]
    for name in ("GROW_TRIAL_TABLE", "GROW_TRIAL_P", "GROW_TRIAL_FACTORS"):
        assert_sound(growcells.functions()[name].evaluate(given_cells))


FAMILY = [function for function in growcells.functions().values() if function.family == "Seed, trial, climate"]
RANGE = st.lists(st.tuples(CELL), min_size=1, max_size=6).map(tuple)


@pytest.mark.slow
@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(FAMILY), st.data())
def test_random_cells_never_raise(function: growcells.CellFunction, data: st.DataObject) -> None:
    count = data.draw(st.integers(0, len(function.arguments)))
    assert_sound(function.evaluate([data.draw(CELL | RANGE) for _ in range(count)]))


def test_a_loss_is_told_from_a_number_and_a_heading() -> None:
    argument = growcells.functions()["GROW_TRIAL_TABLE"].arguments[0]
    assert argument.read((("5",), (" Dead! ",), (None,), (0,))) == [5.0, "Dead!", None, 0.0]
    headings = {"weight": True, "dead": False, "5": False, "5 g": False, "1,5": False}
    assert {text: OUTCOMES.is_heading(text, argument) for text in headings} == headings
    assert OUTCOMES.is_heading(5.0, argument) is False


def test_one_spelling_of_a_name() -> None:
    assert labels(["Feed  A", "feed a", None, " FEED A", "B"]) == ["Feed A", "Feed A", None, "Feed A", "B"]


def test_columns_that_belong_together() -> None:
    check_lengths({"values": [1, 2, 3], "beds": ["a", "b", "c"]})
    with pytest.raises(growcells.GrowError, match=r"^values has 3 rows and beds 2: give columns of the same length$"):
        check_lengths({"values": [1, 2, 3], "treatments": ["a", "b", "c"], "beds": ["a", "b"]})


def test_rows_without_a_value_are_counted_where_they_have_a_treatment() -> None:
    read = read_trial([1.0, None, None, Lost("dead"), 2.0], ["A", "A", None, "B", "A"], None)
    assert (read.blanks, read.treatments, read.present) == (1, ["A", "B"], ["A"])
    assert (len(read.living), read.lost["B"], read.lost["A"]) == (2, 1, 0)


def test_what_a_trial_compares() -> None:
    values, treatments = [1.0, 2.0, 3.0, 5.0], ["A", "A", "B", "B"]
    plants = read_trial(values, treatments, None)
    assert (plants.design, plants.units) == (
        Design.PLANTS,
        [("A", None, 1), ("A", None, 2), ("B", None, 3), ("B", None, 5)],
    )
    nested = read_trial(values, treatments, ["1", "1", "2", "3"])
    assert (nested.design, nested.units) == (Design.NESTED, [("A", "1", 1.5), ("B", "2", 3), ("B", "3", 5)])
    assert nested.values("B") == [3, 5]
    blocks = read_trial(values, treatments, ["1", "2", "1", "2"])
    assert blocks.design is Design.BLOCKS


def test_as_many_treatments_and_beds_as_are_taken() -> None:
    many = [str(number) for number in range(200)]
    values = [float(number) for number in range(200)]
    assert len(read_trial(values[:20], many[:20], None).treatments) == 20
    with pytest.raises(
        growcells.GrowError, match=r"^treatments holds 21 different names: give a column with at most 20$"
    ):
        read_trial(values[:21], many[:21], None)
    assert len(read_trial(values, ["A"] * 200, many).units) == 200
    with pytest.raises(growcells.GrowError, match=r"^beds holds 201 different names: give a column with at most 200$"):
        read_trial([*values, 1.0], ["A"] * 201, [*many, "x"])


def test_two_treatments_with_a_bed_each_and_one_alone() -> None:
    """With one treatment alone the reason is that there is nothing to compare it with."""
    assert "a comparison needs two" in words(trial((1, 2), ("A", "A"), (1, 1)))
    assert "each treatment has a single bed" in words(trial((1, 2, 3, 4), ("A", "A", "B", "B"), (1, 1, 2, 2)))


def test_letters_go_by_the_means_and_run_out() -> None:
    assert letters([1, 3, 2], [[False] * 3] * 3) == ["a", "a", "a"]
    apart = [[i != j for j in range(3)] for i in range(3)]
    assert letters([1, 3, 2], apart) == ["c", "a", "b"]
    ends = [[False, False, True], [False, False, False], [True, False, False]]
    assert letters([3, 2, 1], ends) == ["a", "ab", "b"]
    # Pairs that differ, with nothing else between them: 2 to the number of pairs groups.
    pairs = [[abs(i - j) == 1 and min(i, j) % 2 == 0 for j in range(10)] for i in range(10)]
    assert len(set("".join(letters(list(range(10)), pairs)))) == 32
    more = [[abs(i - j) == 1 and min(i, j) % 2 == 0 for j in range(12)] for i in range(12)]
    with pytest.raises(NoAnswer, match=r"^the treatments overlap in more ways than there are letters: compare"):
        letters(list(range(12)), more)


def test_words_below_the_table_in_full() -> None:
    found = trial((1, 2, 4, 3, 5, 7, 8), ("A", "B", "C", "A", "B", "A", "B"), (1, 1, 1, 2, 2, 3, 3))
    said = [row[0] for row in found[-SENTENCES:]]
    assert said[0].startswith("Analysis of variance with beds as blocks on 7 bed means: F(2, 2) = ")
    assert said[1] == (
        "Differences are from A; their limits, p and the letters are Tukey–Kramer at 0.95. Treatments that share a "
        "letter are not shown to differ. Not every treatment stands in every bed: differences are those within beds, "
        "not those of the means."
    )
    assert said[2] == "With beds as blocks all treatments are taken to have one spread."
    assert said[4:] == [
        "n counts beds. Each bed counts the same, however many of the 7 measured plants it holds.",
        "No plant is noted as lost.",
        "3 beds with several treatments, such as 1. If these are different beds with the same name, "
        "give each its own name.",
    ]


def test_complete_blocks_need_no_word_on_differences() -> None:
    found = trial((1, 2.2, 11, 12, 21.5, 22), ("A", "B") * 3, (1, 1, 2, 2, 3, 3))
    assert "Not every treatment" not in words(found)


def test_one_bed_with_several_treatments_is_said_in_the_singular() -> None:
    found = trial((1, 2, 3, 5), ("A", "B", "A", "B"), (1, 1, 2, 3))
    assert "1 bed with several treatments, such as 1." in words(found)


def test_no_test_is_said_and_the_rest_stays() -> None:
    said = [row[0] for row in trial((1, 2, 3, 4, None), ("A", "A", "B", "B", "B"), (1, 1, 2, 2, 2))[-SENTENCES:]]
    assert said[0].startswith("No test: each treatment has a single bed") and said[0].endswith("two beds or more.")
    assert said[1:4] == ["", "", ""]
    assert said[4].endswith(
        "the 4 measured plants it holds. 1 row has no value and was left out: type dead where a plant was lost."
    )
    assert said[6].startswith("A single bed: A, B. There bed and treatment cannot be told apart; any spread")


def test_counts_and_probabilities_in_words() -> None:
    assert (count(1, "plant"), count(2, "plant"), count(0, "bed")) == ("1 plant", "2 plants", "0 beds")
    assert (probability(0.0001), probability(0.00009), probability(0.04999)) == (
        "p = 0.0001",
        "p < 0.0001",
        "p = 0.0500",
    )


def test_lost_plants_by_treatment_where_any_were_planted() -> None:
    said = words(trial(("dead", "dead", 3, 4, 5, None), ("A", "A", "A", "B", "B", "C")))
    assert (
        "Lost: 2 of 5 plants (A 2 of 3, B 0 of 2), p = 0.4000 of Fisher's exact test, each plant on its own. Means "
        in said
    )


def test_spreads_of_few_units() -> None:
    plain = words(trial((1, 2, 3, 5), ("A", "A", "B", "B")))
    assert "With so few units in a treatment all treatments are taken to have one spread." in plain
    assert "Each treatment keeps its own spread" in words(trial((1, 2, 3, 5, 6), ("A", "A", "B", "B", "B")))


def test_the_sensitivity_of_unequal_groups_goes_by_their_harmonic_mean() -> None:
    values, feeds = (50, 54, 58, 60, 63, 66, 75, 61), ("A",) * 3 + ("B",) * 5
    found = trial(values, feeds)
    seen = detectable_difference(2 / (1 / 3 + 1 / 5), 2, 6, 0.8, 0.05)
    spread = float(str(words(found)).split("(sd ")[1].split(")")[0])
    told = float(str(words(found)).split("true difference of ")[1].split(" ")[0])
    assert told == pytest.approx(seen * spread, rel=5e-3)


def test_the_sensitivity_with_own_spreads_has_the_degrees_of_freedom_of_all_units() -> None:
    values = (50, 50.1, 49.9, 50.05, 30, 70, 55, 41)
    found = trial(values, ("A",) * 4 + ("B",) * 4)
    assert "Each treatment keeps its own spread" in words(found)
    spread = (statistics.variance(values[:4]) / 2 + statistics.variance(values[4:]) / 2) ** 0.5
    seen = detectable_difference(4, 2, 6, 0.8, 0.05) * spread
    assert f"(sd {spread:.3g}) finds a true difference of {seen:.3g} in 8 cases of 10." in words(found)


def test_a_mean_and_its_limits() -> None:
    found = named(trial((4, 8, 9, 3), ("A", "A", "A", "B")))
    a, b = found["A"], found["B"]
    # t of 2 degrees of freedom at 0.975 is 4.302653 (any table of t).
    half = 4.302653 * statistics.stdev((4, 8, 9)) / 3**0.5
    assert (a["low"], a["high"]) == (pytest.approx(7 - half), pytest.approx(7 + half))
    assert (b["n"], b["mean"], b["sd"], b["low"], b["high"]) == (1, 3, "", "", "")
    assert b["difference"] == -4 and a["difference"] == ""


def test_size_of_a_trial_has_an_end() -> None:
    assert growcells.call("GROW_TRIAL_SIZE", 1000, 1, 2) == 2.0
    assert growcells.call("GROW_TRIAL_SIZE", 0.01, 1, 2) == 156979.0  # statsmodels: 156978.2
    assert growcells.call("GROW_TRIAL_DETECTS", 1000, 1, 2) == pytest.approx(
        0.1253508, rel=1e-6
    )  # statsmodels: 0.12535


# Crossed factors.

CROSSED = [(a, b) for a in ("low", "high") for b in (1, 2) for _ in range(2)]
YIELDS = (10.0, 11.0, 14.0, 15.5, 12.0, 12.5, 20.0, 19.0)


def crossed(values: Sequence[object], factors: Sequence[Sequence[object]], *beds: object) -> Any:
    return growcells.functions()["GROW_TRIAL_FACTORS"].evaluate((column(values), tuple(map(tuple, factors)), *beds))


def test_crossed_factors_by_hand() -> None:
    """Two by two with two plants each: sums of squares from the means of the cells."""
    found = {row[0]: row[1:] for row in crossed(YIELDS, CROSSED)[1:]}
    cells = [statistics.fmean(YIELDS[place : place + 2]) for place in (0, 2, 4, 6)]
    low1, low2, high1, high2 = cells
    left = sum((value - cells[place // 2]) ** 2 for place, value in enumerate(YIELDS))
    squares = {
        "factor 1": 2 * (high1 + high2 - low1 - low2) ** 2 / 4,
        "factor 2": 2 * (low2 + high2 - low1 - high1) ** 2 / 4,
        "factor 1 × factor 2": 2 * (low1 + high2 - low2 - high1) ** 2 / 4,
    }
    for name, square in squares.items():
        df, mean_square, f, p = found[name]
        assert (df, mean_square, f) == (1, pytest.approx(square), pytest.approx(square / (left / 4)))
        assert 0 < p < 1
    assert found["left over"] == (4, pytest.approx(left / 4), "", "")
    assert found["Analysis of variance on 8 plants."] == ("", "", "", "")


def test_a_heading_names_the_factors() -> None:
    plain = crossed(YIELDS, CROSSED)
    named_factors = crossed((None, *YIELDS), [("feed", "light"), *CROSSED])
    assert [row[0] for row in named_factors[1:4]] == ["feed", "light", "feed × light"]
    for ours, theirs in zip(named_factors[1:4], plain[1:4], strict=True):
        assert ours[1:] == pytest.approx(theirs[1:])
    assert [row[0] for row in crossed((None, *YIELDS), [("feed", None), *CROSSED])[1:3]] == ["feed", "factor 2"]
    # What comes again below is no heading, nor is a row with a value.
    assert [row[0] for row in crossed((None, *YIELDS), [("low", 1), *CROSSED])[1:3]] == ["factor 1", "factor 2"]
    assert [row[0] for row in crossed((9.0, *YIELDS), [("mid", 1), *CROSSED])[1:3]] == ["factor 1", "factor 2"]


def test_levels_of_factors_are_names() -> None:
    assert combinations([["Low", "1"], ["low ", "2"], ["HIGH", None], ["high", "1"]], 2) == ["0-0", "0-1", None, "1-0"]
    spelled = [(name.upper() if place % 2 else f" {name}", level) for place, (name, level) in enumerate(CROSSED)]
    assert crossed(YIELDS, spelled) == crossed(YIELDS, CROSSED)


def test_one_factor_is_a_one_way_analysis() -> None:
    one = crossed(YIELDS, [(name,) for name, _ in CROSSED])
    assert one[1][3:] == pytest.approx(tuple(stats.f_oneway(YIELDS[:4], YIELDS[4:])))
    assert growcells.call("GROW_TRIAL_FACTORS", column(YIELDS), column([name for name, _ in CROSSED])) == one


def test_bed_means_of_crossed_factors() -> None:
    beds = column([place // 2 if place < 4 else place for place in range(8)])
    said = crossed(YIELDS, CROSSED, beds)
    assert said[-1][0].startswith("Analysis of variance on 6 bed means.")


def test_as_many_factors_as_are_taken() -> None:
    with pytest.raises(growcells.GrowError, match=r"^factors has 5 columns: give at most 4$"):
        with_names([["a"] * 5], [1.0])
    assert with_names([["a"] * 4], [1.0])[0] == ["factor 1", "factor 2", "factor 3", "factor 4"]
    assert Factors("factors").read("A", growcells.functions()["GROW_TRIAL_FACTORS"].arguments[1]) == [["A"]]
    assert Factors("factors").read(("A", None), growcells.functions()["GROW_TRIAL_FACTORS"].arguments[1]) == [
        ["A"],
        [None],
    ]


def test_three_levels_and_one_degree_of_freedom_left() -> None:
    """Two by three with one cell repeated: type II sums of squares and F against statsmodels."""
    import pandas as pd
    import statsmodels.api as sm
    import statsmodels.formula.api as smf

    factors = [("a", 1), ("a", 2), ("a", 3), ("b", 1), ("b", 2), ("b", 3), ("b", 3)]
    values = [4.0, 6.5, 9.0, 5.0, 9.5, 15.0, 16.0]
    frame = pd.DataFrame({"y": values, "f": [row[0] for row in factors], "g": [row[1] for row in factors]})
    theirs = sm.stats.anova_lm(smf.ols("y ~ C(f) * C(g)", frame).fit(), typ=2)
    ours = {row[0]: row[1:] for row in crossed(values, factors)[1:]}
    for name, term in {"factor 1": "C(f)", "factor 2": "C(g)", "factor 1 × factor 2": "C(f):C(g)"}.items():
        df, mean_square, f, p = ours[name]
        row = theirs.loc[term]
        assert (df, mean_square * df) == (row["df"], pytest.approx(row["sum_sq"]))
        assert (f, p) == (pytest.approx(row["F"]), pytest.approx(row["PR(>F)"]))
    assert ours["left over"][:2] == (1, pytest.approx(theirs["sum_sq"]["Residual"]))


def test_effects_that_cannot_be_told_apart_are_listed() -> None:
    factors = [(a, a, b) for a in (1, 2) for b in (1, 2) for _ in range(2)]
    said = crossed(YIELDS, factors)[-1][0]
    assert said == (
        "Analysis of variance on 8 plants. Cannot be told apart from beds or from other effects: factor 1, factor 2, "
        "factor 1 × factor 2, factor 1 × factor 3, factor 2 × factor 3, factor 1 × factor 2 × factor 3."
    )


def test_what_stays_blank_stays_blank() -> None:
    found = trial((*VALUES, "dead"), (*FEEDS, "C"))
    assert found[3] == ("C", 0, 1, *[""] * 9)
    single = trial((1, 2, 3, 4), ("A", "A", "B", "B"), (1, 1, 2, 2))
    assert single[2] == ("B", 1, 0, 3.5, "", "", "", 2, "", "", "", "")


def test_treatments_with_spreads_of_their_own_that_do_not_differ() -> None:
    found = named(trial((50, 50.1, 49.9, 50.05, 30, 70, 55, 41), ("A",) * 4 + ("B",) * 4))
    assert (found["A"]["letters"], found["B"]["letters"]) == ("a", "a")
    apart = trial((50, 50.1, 49.9, 50.05, 90, 110, 105, 81), ("A",) * 4 + ("B",) * 4)
    assert (named(apart)["A"]["letters"], named(apart)["B"]["letters"]) == ("b", "a")
    assert "their limits, p and the letters are Games–Howell at 0.95." in words(apart)


def test_the_sensitivity_of_blocks_goes_by_what_is_left_of_them() -> None:
    values, feeds, beds = (1, 2.2, 11, 12, 21.5, 22), ("A", "B") * 3, (1, 1, 2, 2, 3, 3)
    left = read_trial(list(map(float, values)), list(feeds), [str(bed) for bed in beds]).comparison
    assert left.test.df_error == 2
    seen = left.sd * detectable_difference(3, 2, 2, 0.8, 0.05)
    assert f"finds a true difference of {seen:.3g} in 8 cases of 10." in words(trial(values, feeds, beds))


def compared(*samples: Sequence[float]) -> Comparison:
    groups = [group for group, sample in enumerate(samples) for _ in sample]
    return compare(Units([value for sample in samples for value in sample], groups, len(samples)))


WIDE = ([2.9e5, 3.1e5, 3.3e5, 2.7e5, 2.5e5, 3.5e5], [3e5, 4e5, 5e5, 2e5, 1e5, 6e5])


def test_a_treatment_without_any_spread_is_not_tested() -> None:
    # 0.1 + 0.2 and 3 × 0.1 differ from 0.3 in the last digit of a double.
    rounding = [0.3e6, (0.1 + 0.2) * 1e6, 3 * 0.1 * 1e6] * 2
    assert statistics.stdev(rounding) > 0
    for alike in (rounding, [3e5] * 6):
        with pytest.raises(Untestable, match="the units of one treatment are all equal"):
            compared(alike, *WIDE)
    # What a scale can show is a spread, however small.
    assert compared([3e5, 3e5 + 1e-6, 3e5 + 2e-6] * 2, *WIDE).own_spreads


@pytest.mark.parametrize(("squares", "is_rounding"), [(0.0, True), (1e-24, True), (1e-22, False)])
def test_what_is_left_over_is_beside_the_size_of_the_values(squares: float, is_rounding: bool) -> None:
    # Ten values of 1000 in double precision: (9e-16 × 1000)² each.
    values = numpy.full(10, 1000.0)
    if is_rounding:
        with pytest.raises(Untestable, match="the same value as far as a cell holds figures"):
            check_spread(squares, values)
    else:
        check_spread(squares, values)


def test_zeros_throughout_have_no_spread() -> None:
    found = trial((0, 0, 0, 0), ("A", "A", "B", "B"))
    assert "the same value as far as a cell holds figures" in words(found)


def test_the_test_does_not_depend_on_the_unit() -> None:
    # Kilograms for grams: R's F of PlantGrowth, whatever the unit.
    weights, groups = zip(*((row[0] / 1000, name[0]) for row, name in zip(*PLANT_GROWTH, strict=True)), strict=True)
    assert "F(2, 17.13) = 5.181, p = 0.0174" in words(trial(weights, groups))


@pytest.mark.parametrize(("sizes", "own"), [((2, 2), False), ((2, 3), True), ((3, 3), True), ((1, 9), False)])
def test_who_keeps_a_spread_of_its_own(sizes: tuple[int, ...], own: bool) -> None:
    samples = [[float(value**2 + 10 * place) for value in range(size)] for place, size in enumerate(sizes)]
    assert compared(*samples).own_spreads is own


def test_values_of_0_and_1_are_shares() -> None:
    cells = (column((1, 0, 1, 1, 1, 1)), column(("A", "A", "A", "B", "B", "B")))
    with pytest.raises(
        growcells.GrowError, match=r"^all values are 0 or 1, which are shares of plants: .* GROW_SHARE_P$"
    ):
        growcells.call("GROW_TRIAL_P", *cells)
    assert "No test: all values are 0 or 1" in words(growcells.call("GROW_TRIAL_TABLE", *cells))
    # Shares of beds are measures of beds.
    beds = column((1, 1, 2, 3, 3, 4))
    assert "GROW_SHARE_P" not in words(growcells.call("GROW_TRIAL_TABLE", *cells, beds))


def test_a_first_treatment_called_the_control_is_one() -> None:
    values = (5, 6, 7, 8, 9, 11, 5, 4, 6)
    plain = trial(values, ("A",) * 3 + ("B",) * 3 + ("C",) * 3)
    beside = trial(values, ("Control tap",) * 3 + ("B",) * 3 + ("C",) * 3)
    assert "Differences are from Control tap, the control; their limits and p are Dunnett at 0.95" in words(beside)
    assert named(beside)["B"]["p"] < named(plain)["B"]["p"]
    assert named(beside)["B"]["letters"] == named(plain)["B"]["letters"]


def test_sentences_on_factors_name_the_argument_that_there_is() -> None:
    with pytest.raises(growcells.GrowError, match=r"^row 2 has a value but no level of a factor"):
        growcells.call("GROW_TRIAL_FACTORS", column((1, 2, 3)), (("a", "x"), ("b", None), ("a", "y")))
    many = [(f"l{row}", f"m{row % 5}") for row in range(30)]
    with pytest.raises(growcells.GrowError, match=r"^factors holds 30 different names"):
        growcells.call("GROW_TRIAL_FACTORS", column(range(1, 31)), tuple(many))


# Sentences and refusals at the edges.


def test_beds_that_tell_nothing_of_crossed_factors() -> None:
    one_bed_a_level = crossed(YIELDS, CROSSED, column([a for a, _ in CROSSED]))
    assert "single bed" in one_bed_a_level.message
    levels = [(a, b) for a in ("low", "high") for bed in (1, 2) for b in ((1, 1, 2) if bed == 1 else (1, 2, 2))]
    levels[3:6] = [("low", 1)] * 3
    beds = column([f"{a}{place // 3}" for place, (a, _) in enumerate(levels)])
    assert (
        "do not all hold the same levels"
        in crossed([float(5 + place % 7) for place in range(12)], levels, beds).message
    )


def test_losses_of_one_treatment_and_of_very_many_are_not_tested(monkeypatch: pytest.MonkeyPatch) -> None:
    alone = growcells.call("GROW_TRIAL_TABLE", column([5, 6, "dead", 7]), column(["A"] * 4))
    assert any("Lost: 1 of 4" in str(row[0]) and "exact" not in str(row[0]) for row in alone)

    def refuse(*counts: object) -> float:
        raise NoAnswer("too many")

    monkeypatch.setattr("growcells.terms.trial_sentences.exact_p", refuse)
    both = growcells.call("GROW_TRIAL_TABLE", column([5, 6, "dead", 7, 8, 9]), column(["A"] * 3 + ["B"] * 3))
    assert any("too many to test exactly" in str(row[0]) for row in both)


def test_plants_measured_once_and_blank_rows_of_growth_rates() -> None:
    days = [1, 8, 1, 8, 1, 8, 1, 8, 1, 8]
    table = growcells.call(
        "GROW_RATES_TABLE",
        column([1, 2, 1, 2.2, 1, 3, 1, 3.1, 1, None]),
        column(["A"] * 4 + ["B"] * 4 + ["A"] * 2),
        column([46000 + day for day in days]),
        column([1, 1, 2, 2, 3, 3, 4, 4, 5, 5]),
    )
    assert "1 plant was measured once only and left out" in str(table[-1][0])
