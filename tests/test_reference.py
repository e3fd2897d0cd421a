"""The function reference: current, and each part of an entry as it should read."""

from __future__ import annotations

from pathlib import Path

import pytest

from growcells import functions
from growcells.cells.arguments import Argument, value_text
from growcells.cells.kinds import CONCENTRATION, NUMBER, TEXT
from growcells.cells.ranges import Column
from growcells.cells.reference import argument_row, default_text, entry, escaped, reference, unit_of
from growcells.chemistry.substances import substances
from growcells.terms.acids import find_acid
from growcells.terms.bases import find_base
from growcells.terms.names import NUTRIENT_ASKED, find_nutrient, find_substance
from growcells.terms.plant_values import is_loss
from growcells.terms.ppm_tables import find_recipe

WRITTEN = Path(__file__).resolve().parent.parent / "functions" / "REFERENCE.md"


def test_reference_is_current() -> None:
    assert WRITTEN.read_text("utf-8") == reference(functions()), (
        "run: growcells functions --reference > functions/REFERENCE.md"
    )


def test_each_function_stands_once_below_its_family() -> None:
    lines = reference(functions()).partition("## Names")[0].splitlines()
    assert [line[4:] for line in lines if line.startswith("### ")] == list(functions())
    families = [line[3:] for line in lines if line.startswith("## ")]
    assert families == list(dict.fromkeys(function.family for function in functions().values()))


def listed(heading: str, *columns: int) -> list[str]:
    """Every name in these columns of a table of names."""
    table = reference(functions()).partition(f"### {heading}\n")[2].partition("\n#")[0]
    rows = [[cell.strip() for cell in line.strip("| ").split(" | ")] for line in table.splitlines() if line][2:]
    return [name for row in rows for column in columns for name in row[column].split("; ") if name]


def test_names_are_those_that_the_functions_know() -> None:
    assert all(find_substance(name) for name in listed("Substances", 0, 5))
    assert len(listed("Substances", 0)) == len(substances())
    assert all(find_nutrient(name) for name in listed("Nutrients", 0, 1))
    assert all(find_recipe(name) for name in listed("Published solutions", 0, 14))
    assert all(find_acid(name) for name in listed("Acids", 0, 2))
    assert all(find_base(name) for name in listed("Bases", 0, 2))
    assert all(map(is_loss, listed("Words for a plant that was lost", 0)))


def test_an_entry() -> None:
    assert entry(functions()["GROW_WEIGH_ERROR"]).splitlines() == [
        "### GROW_WEIGH_ERROR",
        "",
        "The worst relative error in weighing a mass on a scale, from the scale's step alone.",
        "",
        "`GROW_WEIGH_ERROR(mass, scale_step, [mass_unit], [scale_unit])`",
        "",
        "| argument | what it is | unit | left out |",
        "| --- | --- | --- | --- |",
        "| mass | the mass of the feed | g | must be given |",
        "| scale_step | the smallest step that the scale shows | g | must be given |",
        "| mass_unit | unit of mass; g if left out |  | – |",
        "| scale_unit | unit of scale_step; g if left out |  | – |",
        "",
        "Gives the largest share by which the true mass may differ, as a fraction.",
        "",
        "Formula: half a scale step ÷ mass. Source: a display rounds to the nearest step.",
        "",
        "- `=GROW_WEIGH_ERROR(5,1)` → 0.1 (half a gram in 5 g)",
        "- `=GROW_WEIGH_ERROR(61.2,0.1)` → 0.000816993 (0.05 g in 61.2 g)",
    ]


def test_an_entry_without_arguments_has_no_table() -> None:
    assert "|" not in entry(functions()["GROW_VERSION"])


def test_an_entry_tells_columns_needs_and_cautions() -> None:
    lines = entry(functions()["GROW_RECIPE"]).splitlines()
    assert "Gives a mass for each row of analyses, no heading row [g]." in lines
    assert lines[lines.index("Columns: mass.") - 1].startswith("Gives ")
    assert lines[-1] == "Needs numpy and scipy."
    assert lines[-3] == functions()["GROW_RECIPE"].advice


def test_rows_of_arguments() -> None:
    temperature = functions()["GROW_MIX_TEMP"].arguments[1]
    assert argument_row(temperature) == "| temp1 | its temperature; a zero is written `0 °C` | °C | must be given |"
    fallback = Argument("a", CONCENTRATION, "this | that", False, 0.5)
    assert argument_row(fallback) == "| a | this \\| that | ppm | 0.5 |"
    assert argument_row(NUTRIENT_ASKED).endswith("|  | must be given |")


@pytest.mark.parametrize(("default", "text"), [(0.95, "0.95"), (25.0, "25"), ("word", "word"), (None, "–"), ((), "–")])
def test_what_an_argument_counts_as_that_is_left_out(default: object, text: str) -> None:
    assert default_text(default) == text


def test_units_of_plain_numbers() -> None:
    assert unit_of(CONCENTRATION, " [{}]") == " [ppm]"
    assert unit_of(Column("masses", CONCENTRATION), "{}") == "ppm"
    assert unit_of(NUMBER, "{}") == unit_of(TEXT, "{}") == unit_of(Column("names", TEXT), " [{}]") == ""


@pytest.mark.parametrize(
    ("value", "text"),
    [(1 / 3, "0.333333"), (50.0, "50"), ("OK", "OK"), (((1, 2, 3), (4, 5, 6)), "a table of 2 rows and 3 columns")],
)
def test_values_as_a_reader_wants_them(value: object, text: str) -> None:
    assert value_text(value) == text


def test_nothing_breaks_a_table() -> None:
    assert escaped("a | b\nc") == "a \\| b c"


def test_examples_too_long_to_read_are_left_out() -> None:
    for function in functions().values():
        shown = [line for line in entry(function).splitlines() if line.startswith("- `=")]
        formulas = [example.formula(function.name) for example in function.examples]
        assert len(shown) == sum(len(formula) <= 300 for formula in formulas)
