"""The plants of a trial as columns name them, and the units that its test compares: plants, or means of beds."""

from __future__ import annotations

import statistics
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cached_property

from .comparison import Comparison, Units, Untestable, compare
from .errors import GrowError, OutOfRange
from .outcomes import Lost, labels
from .ranges import check_lengths

MOST_TREATMENTS = 20
"""More would be compared in seconds rather than at once, and no grower runs so many."""
MOST_BEDS = 200
"""A column with more different names is most likely not that of beds."""


class Design(Enum):
    """What a trial compares."""

    PLANTS = "plants"
    NESTED = "bed means, each bed with one treatment"
    BLOCKS = "means of each treatment in each bed"


@dataclass(frozen=True)
class Plant:
    """A plant of a trial, measured or lost."""

    treatment: str
    bed: str | None
    value: float | Lost


@dataclass(frozen=True)
class Trial:
    """The plants of a trial, its treatments in the order in which they come, and the rows without a value."""

    treatments: list[str]
    plants: list[Plant]
    blanks: int

    @cached_property
    def living(self) -> list[Plant]:
        """The plants that were measured."""
        return [plant for plant in self.plants if not isinstance(plant.value, Lost)]

    @cached_property
    def lost(self) -> Counter[str]:
        """How many plants each treatment lost."""
        return Counter(plant.treatment for plant in self.plants if isinstance(plant.value, Lost))

    @cached_property
    def cells(self) -> dict[tuple[str, str | None], list[float]]:
        """The values of the living plants of each treatment in each bed."""
        cells: dict[tuple[str, str | None], list[float]] = {}
        for plant in self.living:
            cells.setdefault((plant.treatment, plant.bed), []).append(float(plant.value))
        return cells

    @cached_property
    def design(self) -> Design:
        """What the trial compares."""
        beds = [bed for _, bed in self.cells]
        if None in beds:
            return Design.PLANTS
        return Design.NESTED if len(set(beds)) == len(beds) else Design.BLOCKS

    @cached_property
    def units(self) -> list[tuple[str, str | None, float]]:
        """Treatment, bed and value of each unit that the test compares."""
        if self.design is Design.PLANTS:
            return [(plant.treatment, None, float(plant.value)) for plant in self.living]
        return [(treatment, bed, statistics.fmean(values)) for (treatment, bed), values in self.cells.items()]

    def values(self, treatment: str) -> list[float]:
        """The values of the units of a treatment."""
        return [value for name, _, value in self.units if name == treatment]

    @cached_property
    def present(self) -> list[str]:
        """The treatments with living plants, in order."""
        named = {plant.treatment for plant in self.living}
        return [treatment for treatment in self.treatments if treatment in named]

    @cached_property
    def comparison(self) -> Comparison:
        """The comparison of the treatments with living plants. Raises Untestable."""
        numbers = {treatment: number for number, treatment in enumerate(self.present)}
        if self.design is Design.NESTED and len(self.units) == len(self.present) > 1:
            raise Untestable(
                "each treatment has a single bed, so that bed and treatment cannot be told apart: "
                "give each treatment two beds or more"
            )
        beds = list(dict.fromkeys(bed for _, bed, _ in self.units))
        return compare(
            Units(
                [value for _, _, value in self.units],
                [numbers[treatment] for treatment, _, _ in self.units],
                len(numbers),
                [beds.index(bed) for _, bed, _ in self.units] if self.design is Design.BLOCKS else None,
            )
        )


def read_trial(
    values: Sequence[float | Lost | None], treatments: list[str | None], beds: list[str | None] | None
) -> Trial:
    """The trial that columns of values, treatments and beds describe.

    Raises GrowError where a value has no treatment or bed, where the columns differ in length, where no plant was
    measured; OutOfRange where there are too many treatments or beds.
    """
    named_beds: Sequence[str | None] = [None] * len(values) if beds is None else labels(beds)
    named = labels(treatments)
    check_lengths({"values": values, "treatments": named, "beds": named_beds})
    order: list[str] = []
    plants = []
    blanks = 0
    for row, (value, treatment, bed) in enumerate(zip(values, named, named_beds, strict=True), 1):
        if treatment is not None and treatment not in order:
            order.append(treatment)
        if value is None:
            blanks += treatment is not None
        elif treatment is None or (beds is not None and bed is None):
            lacking = "treatment" if treatment is None else "bed"
            raise GrowError(f"row {row} has a value and no {lacking}: fill it in or clear the row")
        else:
            plants.append(Plant(treatment, bed, value))
    if all(isinstance(plant.value, Lost) for plant in plants):
        raise GrowError("values hold no number: give at least one measured plant")
    _check_variety("treatments", len(order), MOST_TREATMENTS)
    _check_variety("beds", len({plant.bed for plant in plants}), MOST_BEDS)
    return Trial(order, plants, blanks)


def _check_variety(name: str, found: int, most: int) -> None:
    if found > most:
        raise OutOfRange(f"{name} holds {found} different names: give a column with at most {most}")
