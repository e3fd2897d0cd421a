"""A trial: its plants and treatments, and the units that its test compares: plants, or means of beds."""

from __future__ import annotations

import statistics
from collections import Counter
from dataclasses import dataclass
from enum import Enum
from functools import cached_property

from .comparison import Comparison, Units, Untestable, compare


class Design(Enum):
    """What a trial compares."""

    PLANTS = "plants"
    NESTED = "bed means, each bed with one treatment"
    BLOCKS = "means of each treatment in each bed"


@dataclass(frozen=True)
class Plant:
    """A plant of a trial; ``value`` is None where it was lost."""

    treatment: str
    bed: str | None
    value: float | None


@dataclass(frozen=True)
class Trial:
    """The plants of a trial, its treatments in the order in which they come, and the rows without a value."""

    treatments: list[str]
    plants: list[Plant]
    blanks: int

    @cached_property
    def living(self) -> list[tuple[str, str | None, float]]:
        """Treatment, bed and value of each plant that was measured."""
        return [(plant.treatment, plant.bed, plant.value) for plant in self.plants if plant.value is not None]

    @cached_property
    def lost(self) -> Counter[str]:
        """How many plants each treatment lost."""
        return Counter(plant.treatment for plant in self.plants if plant.value is None)

    @cached_property
    def cells(self) -> dict[tuple[str, str | None], list[float]]:
        """The values of the living plants of each treatment in each bed."""
        cells: dict[tuple[str, str | None], list[float]] = {}
        for treatment, bed, value in self.living:
            cells.setdefault((treatment, bed), []).append(value)
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
            return [(treatment, None, value) for treatment, _, value in self.living]
        return [(treatment, bed, statistics.fmean(values)) for (treatment, bed), values in self.cells.items()]

    @cached_property
    def is_of_shares(self) -> bool:
        """Whether plants without beds have but two values, 0 and 1: whether something happened to each of them."""
        return self.design is Design.PLANTS and {value for _, _, value in self.living} == {0.0, 1.0}

    @cached_property
    def planted(self) -> Counter[str]:
        """How many plants each treatment had."""
        return Counter(plant.treatment for plant in self.plants)

    def values(self, treatment: str) -> list[float]:
        """The values of the units of a treatment."""
        return [value for name, _, value in self.units if name == treatment]

    @cached_property
    def present(self) -> list[str]:
        """The treatments with living plants, in order."""
        named = {treatment for treatment, _, _ in self.living}
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
