"""Figures, days and names as they stand in the sentences of the report."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from growcells.chemistry.unit_factors import DAYS_IN_WEEK

from ...sheets.shown_values import shown
from .trends import Trend
from .week_figures import Band, Figures

NAMED = 4
"""Beds that a sentence names; of more it tells the number: ours."""


def band_text(band: Band) -> str:
    """A band in words: ``5.5–6.5``, ``up to 2``."""
    if band.low is None:
        return f"up to {number(band.high)}"
    return f"from {number(band.low)}" if band.high is None else f"{number(band.low)}–{number(band.high)}"


def number(value: float | None) -> str:
    """A figure in a sentence: of three digits, whole from 100 on."""
    return "?" if value is None else f"{value:,.0f}" if abs(value) >= 100 else f"{float(f'{value:.3g}'):g}"


def amount(value: float, unit: str) -> str:
    """A quantity in a sentence."""
    return f"{number(value)} {unit}"


def days(count: float) -> str:
    """``1 day``, ``2.5 days``."""
    return f"{number(count)} {'day' if count == 1 else 'days'}"


def day_of(day: datetime.date) -> str:
    """``22 Nov``."""
    return f"{day.day} {day:%b}"


def listed(names: list[str], word: str = "and") -> str:
    """``a, b and c``."""
    return f"{', '.join(names[:-1])} {word} {names[-1]}" if len(names) > 1 else names[0]


def named(names: Sequence[str], all_of_them: int, most: int = NAMED) -> str:
    """The names of some beds, or that they are all, or the first and how many more there are."""
    unique = list(dict.fromkeys(names))
    if len(unique) == all_of_them > 1:
        return "all beds"
    if len(unique) > most:
        return f"{listed(unique[: most - 1])} and {len(unique) - most + 1} more"
    return listed(unique)


def pace(line: Trend) -> str:
    """The change in a week that a trend shows, whichever way, of two digits: more would feign certainty."""
    return number(float(f"{abs(line.per_day) * DAYS_IN_WEEK:.2g}"))


def money_text(figures: Figures, value: float) -> str:
    """An amount of money as the log writes it or, where it names no currency, with the words for that."""
    return shown(value, figures.money) + ("" if figures.currency else " in the log's currency")


def measure_labels(figures: Figures) -> dict[str, str]:
    """The measures of a bed with their units, as headings and axes name them."""
    return {
        "ph": "pH",
        "ec": f"EC [{figures.unit_label('readings.ec')}]",
        "temperature": f"Water [{figures.unit_label('readings.temperature')}]",
    }
