"""A log that carries the functions, as names that the workbook defines for itself: nothing else need be installed."""
