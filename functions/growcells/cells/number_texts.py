"""Numbers as sentences print them."""

from __future__ import annotations


def figure(number: float) -> str:
    """Six figures; whole numbers from a million on in full."""
    return f"{number:,.0f}" if 1e6 <= abs(number) < 1e12 and not number % 1 else f"{number:g}"


def count(number: int, noun: str) -> str:
    """``1 plant``, ``1,200 plants``."""
    return f"{number:,} {noun}" if number == 1 else f"{number:,} {noun}s"
