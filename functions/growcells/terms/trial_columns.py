"""The columns of a trial, read as its plants and treatments."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..cells.arguments import Argument
from ..cells.errors import CellError, GrowError, OutOfRange, PassedOn
from ..cells.kinds import TEXT, Kind, is_blank
from ..cells.ranges import Column, as_row, check_lengths
from ..statistics.crossed_factors import SEPARATOR
from ..statistics.trials import Plant, Trial
from .plant_values import LARGEST, OUTCOMES, Lost, labels

MOST_TREATMENTS = 20
"""More would be compared in seconds rather than at once, and no grower runs so many."""

MOST_BEDS = 200
"""A column with more different names is most likely not that of beds."""


def read_trial(
    values: Sequence[float | Lost | None],
    treatments: list[str | None],
    beds: list[str | None] | None,
    argument: str = "treatments",
    cell: str = "treatment",
) -> Trial:
    """The trial that columns of values, treatments and beds describe; the second of them by its name for sentences.

    Raises GrowError where a value has no treatment or bed, where the columns differ in length, where no plant was
    measured; OutOfRange where there are too many treatments or beds.
    """
    named_beds: Sequence[str | None] = [None] * len(values) if beds is None else labels(beds)
    named = labels(treatments)
    check_lengths({"values": values, argument: named, "beds": named_beds})
    order: list[str] = []
    plants = []
    blanks = 0
    for row, (value, treatment, bed) in enumerate(zip(values, named, named_beds, strict=True), 1):
        if treatment is not None and treatment not in order:
            order.append(treatment)
        if value is None:
            blanks += treatment is not None
        elif treatment is None or (beds is not None and bed is None):
            lacking = cell if treatment is None else "bed"
            raise GrowError(f"row {row} has a value but no {lacking}: fill in the {lacking} or clear the row")
        else:
            plants.append(Plant(treatment, bed, None if isinstance(value, Lost) else value))
    if all(plant.value is None for plant in plants):
        raise GrowError("values holds no number: give at least one measured plant")
    _check_variety(argument, len(order), MOST_TREATMENTS)
    _check_variety("beds", len({plant.bed for plant in plants}), MOST_BEDS)
    return Trial(order, plants, blanks)


def _check_variety(name: str, found: int, most: int) -> None:
    if found > most:
        raise OutOfRange(f"{name} holds {found} different names: give a column with at most {most}")


MOST_FACTORS = 4
"""With two levels each they make 16 treatments already."""


@dataclass(frozen=True)
class Factors(Kind):
    """A range with a column for each factor; None where a row is blank."""

    whole = True

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> list[list[str | None]]:
        if not isinstance(cell, (list, tuple)):
            cell = ((cell,),)
        rows = [as_row(row) for row in cell]
        for error in (value for row in rows for value in row if isinstance(value, CellError)):
            raise PassedOn(argument.name, error)
        return [[None if is_blank(value) else TEXT.read(value, argument) for value in row] for row in rows]


def with_names(factors: list[list[str | None]], values: Sequence[object]) -> tuple[list[str], list[list[str | None]]]:
    """The names of the factors and their rows beside the values.

    A first row without a value is a heading where what stands in it never comes again below. Raises GrowError where
    the rows do not fit, OutOfRange where there are too many columns.
    """
    check_lengths({"values": values, "factors": factors})
    count = len(factors[0])
    if count > MOST_FACTORS:
        raise OutOfRange(f"factors has {count} columns: give at most {MOST_FACTORS}")
    heading, *rest = factors
    names = [f"factor {number}" for number in range(1, count + 1)]
    once = all(level not in below for level, below in zip(heading, zip(*rest, strict=True), strict=False))
    if values[0] is not None or not once:
        return names, factors
    return [given or name for given, name in zip(heading, names, strict=True)], [[None] * count, *rest]


def combinations(rows: list[list[str | None]], count: int) -> list[str | None]:
    """For each row the numbers of its levels, such as ``0-1-1``; None where a level is blank."""
    columns = [labels([row[number] for row in rows]) for number in range(count)]
    numbers = [{level: str(place) for place, level in enumerate(dict.fromkeys(column))} for column in columns]
    return [
        None if None in levels else SEPARATOR.join(number[level] for number, level in zip(numbers, levels, strict=True))
        for levels in zip(*columns, strict=True)
    ]


VALUES = Argument(
    "values",
    OUTCOMES,
    "a column of one value a plant; dead where a plant was lost, blank where nothing was measured",
    zero=True,
    negative=True,
    low=-LARGEST,
    high=LARGEST,
)

TREATMENTS = Argument("treatments", Column("treatments", TEXT), "a column with the treatment of each plant")

BEDS = Argument(
    "beds",
    Column("beds", TEXT),
    "a column with the bed or reservoir of each plant, named apart in all treatments",
    False,
)

REPLICATES = (
    "A replicate is what is treated together: all plants on one reservoir are a single one. Give each treatment two "
    "beds or more, choose by lot which bed gets which treatment, and give the beds to this function."
)
