"""How many of one unit make another, by the names of both."""

from __future__ import annotations

PERCENT_IN_WHOLE = 100.0
MILLIGRAMS_IN_GRAM = 1000.0
GRAMS_IN_KILOGRAM = 1000.0
MILLIMOLES_IN_MOLE = 1000.0
MILLIEQUIVALENTS_IN_EQUIVALENT = 1000.0
DAYS_IN_WEEK = 7
