"""What a trial table says in words below its numbers: which test, on what, and what it cannot tell."""

from __future__ import annotations

import statistics
from collections import Counter
from collections.abc import Sequence

from ..cells.number_texts import count
from ..no_answer import NoAnswer
from ..statistics.comparison import Comparison
from ..statistics.proportions import exact_p
from ..statistics.trial_sizes import detectable_difference
from ..statistics.trials import Design, Trial
from .plant_values import is_control

USUAL_POWER = 0.8
"""Common practice, no source."""

SMALLEST_P = 0.0001


def probability(p: float) -> str:
    """A probability as people print it."""
    return f"p = {p:.4f}" if p >= SMALLEST_P else f"p < {SMALLEST_P}"


def sentences(trial: Trial, comparison: Comparison | str, confidence: float) -> list[str]:
    """The sentences for a trial, always as many, so that an array formula keeps its size; some may be blank.

    Where no test was made, ``comparison`` is the reason.
    """
    if isinstance(comparison, str):
        about_test = [f"No test: {comparison}.", "", "", ""]
    else:
        about_test = [
            tested(trial, comparison),
            paired(trial, comparison, confidence),
            spreads(trial, comparison),
            sensitivity(trial, comparison, confidence),
        ]
    return [*about_test, counted(trial), lost(trial), caution(trial)]


def tested(trial: Trial, comparison: Comparison) -> str:
    """The test, on what it was made, and its result."""
    name = "Welch's analysis of variance" if comparison.own_spreads else "One-way analysis of variance"
    if trial.design is Design.BLOCKS:
        name = "Analysis of variance with beds as blocks"
    units = "plant" if trial.design is Design.PLANTS else "bed mean"
    test = comparison.test
    return (
        f"{name} on {count(len(trial.units), units)}: "
        f"F({test.df_effect:g}, {test.df_error:.4g}) = {test.f:.4g}, {probability(test.p)}."
    )


def paired(trial: Trial, comparison: Comparison, confidence: float) -> str:
    """How the pairs were compared, and what the letters mean."""
    method = "Games–Howell" if comparison.own_spreads else "Tukey–Kramer"
    adjusted = ""
    if trial.design is Design.BLOCKS and len(trial.units) < len(trial.present) * len(
        {bed for _, bed, _ in trial.units}
    ):
        adjusted = (
            " Not every treatment stands in every bed: differences are those within beds, not those of the means."
        )
    first = trial.present[0]
    if is_control(first):
        said = (
            f"Differences are from {first}, the control; their limits and p are Dunnett at {confidence:.4g}, "
            f"the letters {method}."
        )
    else:
        said = f"Differences are from {first}; their limits, p and the letters are {method} at {confidence:.4g}."
    return f"{said} Treatments that share a letter are not shown to differ.{adjusted}"


def spreads(trial: Trial, comparison: Comparison) -> str:
    """Whose spread counts."""
    if comparison.own_spreads:
        return "Each treatment keeps its own spread, whether or not it looks like those of the others."
    reason = "With beds as blocks" if trial.design is Design.BLOCKS else "With so few units in a treatment"
    return f"{reason} all treatments are taken to have one spread."


def sensitivity(trial: Trial, comparison: Comparison, confidence: float) -> str:
    """The difference that the trial could have seen."""
    sizes = [len(trial.values(treatment)) for treatment in trial.present]
    df_error = sum(sizes) - len(sizes) if comparison.own_spreads else comparison.test.df_error
    seen = comparison.sd * detectable_difference(
        statistics.harmonic_mean(sizes), len(sizes), df_error, USUAL_POWER, 1 - confidence
    )
    return (
        f"A trial of this size and spread (sd {comparison.sd:.3g}) finds a true difference of {seen:.3g} "
        f"in {USUAL_POWER * 10:g} cases of 10."
    )


def counted(trial: Trial) -> str:
    """What n counts, and the rows left out."""
    if trial.design is Design.PLANTS:
        said = "n counts measured plants."
    else:
        plants = count(len(trial.living), "measured plant")
        said = f"n counts beds. Each bed counts the same, however many of the {plants} it holds."
    if trial.blanks:
        rows = "1 row has no value and was" if trial.blanks == 1 else f"{trial.blanks:,} rows have no value and were"
        said += f" {rows} left out: type dead where a plant was lost."
    return said


def lost(trial: Trial) -> str:
    """How many plants each treatment lost."""
    total = sum(trial.lost.values())
    if not total:
        return "No plant is noted as lost."
    planted = [name for name in trial.treatments if trial.planted[name]]
    each = ", ".join(f"{name} {trial.lost[name]} of {trial.planted[name]}" for name in planted)
    return (
        f"Lost: {total} of {count(len(trial.plants), 'plant')} ({each}){losses_tested(trial, planted)}. Means are of "
        "the plants that lived: a treatment that kills its weak plants looks better than it is."
    )


def losses_tested(trial: Trial, planted: Sequence[str]) -> str:
    """Whether treatments lost different shares of their plants: an exact test in which each plant counts alone."""
    if len(planted) < 2:
        return ""
    try:
        p = exact_p([trial.lost[name] for name in planted], [trial.planted[name] for name in planted])
    except NoAnswer:
        return ", too many to test exactly"
    return f", {probability(p)} of Fisher's exact test, each plant on its own"


def caution(trial: Trial) -> str:
    """What the trial cannot tell apart."""
    if trial.design is Design.PLANTS:
        return (
            "Each plant is counted as a replicate of its own. Where the plants of a treatment share one bed or "
            "reservoir, bed and treatment cannot be told apart: give beds, two or more for each treatment."
        )
    if trial.design is Design.BLOCKS:
        holders = Counter(bed for _, bed, _ in trial.units)
        shared = [str(bed) for bed, held in holders.items() if held > 1]
        return (
            f"{count(len(shared), 'bed')} with several treatments, such as {shared[0]}. "
            "If these are different beds with the same name, give each its own name."
        )
    single = [name for name in trial.present if len(trial.values(name)) == 1]
    if not single:
        return "Each treatment has two beds or more: the test is on their means."
    return (
        f"A single bed: {', '.join(single)}. There bed and treatment cannot be told apart; "
        "any spread between beds is taken from the other treatments."
    )
