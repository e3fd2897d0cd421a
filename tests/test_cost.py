"""Costs and stock on hand against arithmetic by hand."""

from __future__ import annotations

import datetime

import pytest

import growcells
from us_units import GRAMS_IN_POUND

EPOCH = datetime.date(1899, 12, 30)


def test_cost_is_the_share_of_the_package() -> None:
    assert growcells.call("GROW_COST", 10 * GRAMS_IN_POUND, 31.5, 10) == pytest.approx(31.5)
    assert growcells.call("GROW_COST", GRAMS_IN_POUND, 31.5, 10) == pytest.approx(3.15)
    assert growcells.call("GROW_COST", "2 lb", "€40", "10 lb") == pytest.approx(8)
    assert growcells.call("GROW_COST", 68, "0", 10) == 0.0


@pytest.mark.parametrize("price", ["$31.50", "31.5 €", " £ 31.5", "¥31.5", "31.5"])
def test_signs_of_money_are_passed_over(price: str) -> None:
    assert growcells.call("GROW_COST", GRAMS_IN_POUND, price, 10) == pytest.approx(3.15)


def test_cost_of_a_head() -> None:
    assert growcells.call("GROW_COST_HEAD", ((12,), (None,), (0,), (6,)), 4) == 4.5
    assert growcells.call("GROW_COST_HEAD", ((12, 6),), 4) == 4.5
    assert growcells.call("GROW_COST_HEAD", 0, 4) == 0.0


def test_fills_left() -> None:
    assert growcells.call("GROW_FILLS_LEFT", 130, 65) == 2.0
    assert growcells.call("GROW_FILLS_LEFT", 65, 130) == 0.5
    assert growcells.call("GROW_FILLS_LEFT", 0, 65) == 0.0


@pytest.mark.parametrize(
    ("on_hand", "weekly", "lead", "order"),
    [
        (2600, 650, 2, datetime.date(2026, 11, 30)),
        (650, 650, 2, datetime.date(2026, 11, 9)),
        (0, 650, 0, datetime.date(2026, 11, 16)),
        (6500, 650, "3 week", datetime.date(2027, 1, 4)),
        (6500, 650, "21 day", datetime.date(2027, 1, 4)),
    ],
)
def test_reorder(on_hand: float, weekly: float, lead: object, order: datetime.date) -> None:
    assert growcells.call("GROW_REORDER", on_hand, weekly, lead, "2026-11-16") == (order - EPOCH).days
