"""The one error that the sciences raise: they know no cell and no grower."""

from __future__ import annotations


class NoAnswer(ValueError):
    """Values for which there is no answer; the text says why. A cell shows it as ``#NUM!``."""
