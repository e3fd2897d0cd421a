"""A call of a native function as it was read, which is put another way where the engine does not give Excel's value."""

from __future__ import annotations

from dataclasses import dataclass, replace

ONE_VALUE = frozenset(("c", "n", "-n", "+n", "t", "x", "g", "v"))
"""The forms of an argument that is one value."""
ALL = tuple(range(255))
"""The arguments that a function may have: Excel specifications and limits."""


@dataclass(frozen=True, slots=True)
class NativeCall:
    """A call: ``head`` and ``closing`` are what stands around its arguments, ``forms`` these as ``formulas.py`` tells
    them apart.

    ``days_before`` is how many days the workbook's calendar begins after the engine's; ``of_macintosh`` tells that
    Excel for Mac saved it, ``arrays`` that it is computed on arrays.
    """

    name: str
    head: str
    texts: tuple[str, ...]
    forms: tuple[str, ...]
    closing: str
    days_before: int = 0
    of_macintosh: bool = False
    arrays: bool = False

    @property
    def inside(self) -> str:
        """Its arguments."""
        return ",".join(self.texts)

    @property
    def text(self) -> str:
        """The call as it is written."""
        return self.head + self.inside + self.closing

    @property
    def is_of_values(self) -> bool:
        """Whether each argument is one value."""
        return ONE_VALUE.issuperset(self.forms)

    def of(self, *texts: str) -> NativeCall:
        """The call with other arguments."""
        return replace(self, texts=texts)
