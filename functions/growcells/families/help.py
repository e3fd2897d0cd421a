"""The functions that tell about the others."""

from __future__ import annotations

from ..cells.arguments import Argument, Example, Result
from ..cells.errors import CellError, UnknownName
from ..cells.kinds import ANYTHING, TEXT
from ..cells.registry import Family, cell_function
from ..version import VERSION
from . import functions

ALL_WELL = "OK"
EXPLAINING = "GROW_WHY"
"""The function that takes the name and the arguments of another."""


@cell_function(
    EXPLAINING,
    family=Family.HELP,
    help="What is wrong with a call and what to type instead, in one sentence, or OK and what of it was not checked.",
    arguments=(
        Argument("function", TEXT, 'the name of the function, such as "GROW_DOSE"'),
        Argument("arguments", ANYTHING, "the arguments of that call", False, repeated=True),
    ),
    result=Result(TEXT, "a sentence, or OK and what of the call was held against no source"),
    examples=(
        Example(("GROW_DOSE", 34, 2), ALL_WELL, "the call works"),
        Example(
            ("GROW_DOSE", 34, "two"),
            'rate is "two": give a number of grams a gallon or a text such as "2 g/gal"',
            "the sentence of the error",
        ),
        Example(
            ("GROW_TARGET", "Lettuce Sonneveld", "N"),
            "OK; the figures of Lettuce Sonneveld are from memory; its ions balance at 23.25 meq/L",
            "data/recipes.csv",
        ),
    ),
    formula="the error of the same call",
    source="growcells",
)
def why(function: str, *arguments: object) -> str:
    """The sentence for the first error of a call, or ``OK`` with what was not checked behind it.

    Raises UnknownName for no such function.

    >>> why("GROW_DOSE", "34 gal", "1.8 g/gal")
    'OK'
    """
    name = function.strip().removeprefix("=").split("(")[0].upper()
    called = functions().get(name)
    if called is None:
        raise UnknownName(f'"{function}" is no function of growcells: give a name such as "GROW_DOSE"')
    result = called.evaluate(trimmed(arguments))
    rows = result if isinstance(result, tuple) else ((result,),)
    errors = [cell for row in rows for cell in row if isinstance(cell, CellError)]
    if errors:
        return errors[0].message
    given = zip(called.arguments, arguments, strict=False)
    remarks = [argument.kind.remark(cell) for argument, cell in given if cell is not None]
    return "; ".join([ALL_WELL, *filter(None, remarks)])


def trimmed(arguments: tuple[object, ...]) -> list[object]:
    """The arguments without those left out at the end."""
    given = list(arguments)
    while given and given[-1] is None:
        given.pop()
    return given


@cell_function(
    "GROW_VERSION",
    family=Family.HELP,
    help="The version of growcells that computes this cell.",
    arguments=(),
    result=Result(TEXT, "the version"),
    examples=(Example((), VERSION, "functions/growcells/version.py"),),
    formula="none",
    source="growcells",
)
def version() -> str:
    """The version of growcells.

    >>> version() == VERSION
    True
    """
    return VERSION
