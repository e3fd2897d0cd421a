"""By what a log is known to carry functions."""

from __future__ import annotations

from growcells.version import VERSION

from ..recalculation.package import Book

SHEET = "growcells_tables"
"""The hidden sheet. A plain word needs no quotes in formulas."""

VERSION_NAME = "GROWCELLS.VERSION_CARRIED"
"""The name whose formula is the version of growcells that gave the log its names."""

TEXTS_NAME = "GROWCELLS.TEXTS"
"""The name of the table of texts in a copy without growcells functions: a key, and what it is read as."""


def note_of(book: Book) -> str:
    """What to say of the names that a log carries, or nothing where it carries those of this growcells."""
    carried = book.names.get((None, VERSION_NAME))
    if carried is None or carried == f'"{VERSION}"':
        return ""
    return (
        f"the log carries the functions of growcells {carried.strip(chr(34))}, and this is {VERSION}: "
        "growcells carry renews them"
    )
