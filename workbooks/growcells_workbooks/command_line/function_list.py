"""The command that tells of the cell functions."""

from __future__ import annotations

from typing import Annotated

import typer

from growcells import CellFunction, functions

from .terminal import WRONG_USAGE, Stop, say


def list_functions(
    name: Annotated[str | None, typer.Argument(metavar="NAME", help="A function, to read all about it.")] = None,
    search: Annotated[
        str | None,
        typer.Option("--search", metavar="WORD", help="List only the functions whose texts mention this word."),
    ] = None,
    whole: Annotated[bool, typer.Option("--reference", help="Print the whole reference as Markdown.")] = False,
) -> None:
    """List the cell functions, or tell all about one."""
    if whole:
        from growcells.cells.reference import reference

        print(reference(functions()), end="")
        return
    if name is not None:
        function = functions().get(name.upper())
        if function is None:
            raise Stop(
                f"{name} is not a function of growcells: growcells functions lists them all, and "
                f"growcells functions --search {name} those that mention it",
                WRONG_USAGE,
            )
        say(function.__doc__ or "")
        return
    found = [function for function in functions().values() if search is None or mentions(function, search)]
    if not found:
        raise Stop(f"no function mentions {search}: growcells functions lists them all")
    family = ""
    for function in found:
        if function.family != family:
            family = function.family
            say(f"\n{family}", style="bold")
        say(f"  {function.signature}")
        say(f"      {function.help}", style="dim")


def mentions(function: CellFunction, word: str) -> bool:
    """Whether the texts of a function hold a word."""
    return word.lower() in f"{function.family} {function.__doc__}".lower()
