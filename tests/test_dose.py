"""Doses, scales and strengths against balances worked out by hand."""

from __future__ import annotations

from decimal import Decimal

import pytest

import growcells
from growcells.families.dose import dilute, swap, top_up, weigh
from us_units import GRAMS_IN_OUNCE


@pytest.mark.parametrize(
    ("mass", "step", "shown"),
    [
        (60.87, 0.1, 60.9),
        (61.05, 0.1, 61.1),  # half way, though 61.05 ÷ 0.1 is a hair less in binary
        (61.2, 0.1, 61.2),
        (0.5, 1, 1.0),
        (1.5, 1, 2.0),  # a half goes up, not to the even step
        (2.5, 1, 3.0),
        (7.4, 5, 5.0),
        (7.5, 5, 10.0),
        (212.6214234375, 4.375e-6, 212.621425625),  # half way to twelve figures goes up as well
        (1e6, 0.01, 1e6),
        (0.123456, 0.001, 0.123),
    ],
)
def test_weigh_is_the_nearest_step(mass: float, step: float, shown: float) -> None:
    assert growcells.call("GROW_WEIGH", mass, step) == shown
    # No other number of steps is nearer.
    assert abs(Decimal(str(mass)) - Decimal(str(shown))) <= Decimal(str(step)) / 2


def test_weigh_says_masses_in_the_unit_of_the_mass() -> None:
    assert growcells.call("GROW_WEIGH", "2 oz", "1 g") == 57.0
    assert growcells.call("GROW_WEIGH", 2, 1, "oz", "g") == pytest.approx(57 / GRAMS_IN_OUNCE)
    assert growcells.call("GROW_WEIGH", 2, 1, "oz", "g", "g") == 57.0


def test_half_a_step_is_the_least_that_a_scale_shows() -> None:
    assert weigh(0.5, 1.0) == 1.0
    with pytest.raises(growcells.GrowError, match=r"^mass is less than half a scale step: .* use a part of it$"):
        weigh(0.4999, 1.0)


@pytest.mark.parametrize(("mass", "step", "share"), [(5, 1, 0.1), (100, 0.1, 0.0005), (0.25, 0.5, 1.0)])
def test_weigh_error_is_half_a_step(mass: float, step: float, share: float) -> None:
    assert growcells.call("GROW_WEIGH_ERROR", mass, step) == pytest.approx(share)


@pytest.mark.parametrize(("rate", "step", "tolerance"), [(2, 1, 0.02), (3, 0.1, 0.005), (0.7, 0.01, 1)])
def test_smallest_batch_can_just_be_weighed(rate: float, step: float, tolerance: float) -> None:
    volume = growcells.call("GROW_BATCH_MIN", rate, step, tolerance)
    dose = growcells.call("GROW_DOSE", volume, rate)
    assert growcells.call("GROW_WEIGH_ERROR", dose, step) == pytest.approx(tolerance)


@pytest.mark.parametrize(
    ("full", "now", "strength_now", "target", "water"),
    [(34, 20, 1.2, 1.6, 0), (100, 50, 1.2, 1.6, 0.4), (40, 39, 1.59, 1.6, 0.3), (10, 5, 3, 2, 0.5)],
)
def test_top_up_reaches_its_target(full: float, now: float, strength_now: float, target: float, water: float) -> None:
    """What is dissolved, added up anew: old solution, refill water, and the feed at its strength for each g/gal."""
    rate = 1.25
    mass = growcells.call("GROW_TOPUP", full, now, strength_now, target, rate, water)
    feed = growcells.call("GROW_RATE", mass, full) / rate
    assert (now * strength_now + (full - now) * water) / full + feed == pytest.approx(target)


def test_top_up_of_a_tank_at_its_target_is_nothing() -> None:
    assert growcells.call("GROW_TOPUP", 34, 34, 1.6, 1.6, 1.25) == 0.0
    # The same strength by way of sums that round: 0.1 × 3 is a hair more than 0.3.
    assert growcells.call("GROW_TOPUP", "3 L", "1 L", 0.1, 0.1, 1.25, 0.1) == pytest.approx(0, abs=1e-12)
    # A rounding above the target is no solution too strong, and never a negative mass.
    assert top_up(1.0, 1.0, 1.6 * (1 + 5e-13), 1.6, 1.0, 0.0) == 0.0
    with pytest.raises(growcells.GrowError, match="GROW_SWAP"):
        top_up(1.0, 1.0, 1.6 * (1 + 1e-11), 1.6, 1.0, 0.0)


@pytest.mark.parametrize(
    ("volume", "now", "target", "water"), [(20, 2, 1.6, 0), (80, 2, 1.6, 0.4), (5, 1.61, 1.6, 1.5)]
)
def test_dilute_and_swap_reach_their_target(volume: float, now: float, target: float, water: float) -> None:
    added = growcells.call("GROW_DILUTE", volume, now, target, water)
    assert (volume * now + added * water) / (volume + added) == pytest.approx(target)
    swapped = growcells.call("GROW_SWAP", volume, now, target, water)
    assert ((volume - swapped) * now + swapped * water) / volume == pytest.approx(target)


def test_a_tank_at_its_target_needs_no_water() -> None:
    assert growcells.call("GROW_DILUTE", 20, 1.6, 1.6) == growcells.call("GROW_SWAP", 20, 1.6, 1.6) == 0.0
    assert dilute(20.0, 1.6, 1.6, 0.0) == 0.0
    assert swap(20.0, 1.6, 1.6, 0.0) == 0.0
