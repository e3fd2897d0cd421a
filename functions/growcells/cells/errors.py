"""What goes wrong in a cell, said in one sentence, with the error code that a spreadsheet shows for it."""

from __future__ import annotations

from dataclasses import dataclass

ERROR_CODES = ("#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A")
"""The error values of Excel, LibreOffice and the file format (ISO/IEC 29500-1, 18.17.3)."""


@dataclass(frozen=True, slots=True)
class CellError:
    """A cell value that stands for an error: its code and, where growcells raised it, the sentence."""

    code: str
    message: str = ""

    def __str__(self) -> str:
        return self.code


class GrowError(ValueError):
    """A wrong value; the text of the error is one sentence that says what to type instead."""

    code = "#VALUE!"

    def as_cell(self) -> CellError:
        """The same error as a cell value."""
        return CellError(self.code, str(self))


class Missing(GrowError):
    """An argument that must be given and is blank, or a plain 0 that can only be a blank cell."""


class OutOfRange(GrowError):
    """A number of the right kind that cannot be: negative, too large, a pipe filled above its top."""

    code = "#NUM!"


class UnknownName(GrowError):
    """A name that no table of growcells holds: a nutrient, a substance, a recipe, a shape."""

    code = "#N/A"


class PassedOn(GrowError):
    """An error that already stood in a cell given as an argument."""

    def __init__(self, argument: str, error: CellError) -> None:
        super().__init__(error.message or f"{argument} is an error already ({error.code}): mend that cell first")
        self.code = error.code
