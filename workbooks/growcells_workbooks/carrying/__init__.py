"""A log that carries the functions, as names that the workbook defines for itself: they compute with nothing installed."""

from .carry import Carried, carry

__all__ = ["Carried", "carry"]
