"""The function reference, written from the registry."""

from __future__ import annotations

from collections.abc import Iterable

from .calling import CellFunction
from .declaring import Argument, Example
from .kinds import Kind, Quantity
from .ranges import Column
from .registry import functions

HEAD = """# Cell functions

Written from the declarations by `growcells functions --reference`; not edited by hand.

Arguments in [ ] are optional. A plain number is in the default unit given; a text may bring its own: `45 in`,
`3 ft 9 in`, `28 gal`, `106 L`, `2 g/gal`. Where one value is meant and a range is given, each row is computed in turn.
A wrong value gives an error, and `GROW_WHY` with the same arguments says in a sentence what to type instead. Every
function may give these errors: `#VALUE!` for a blank, a text or a unit that cannot be, `#NUM!` for a number that cannot
be, `#N/A` for a name that is not known, and any error that already stands in an argument.
"""


def reference() -> str:
    """The whole reference as Markdown."""
    parts = [HEAD]
    family = ""
    for function in functions().values():
        if function.family != family:
            family = function.family
            parts.append(f"## {family}\n")
        parts.append(entry(function))
    return "\n".join(parts)


def entry(function: CellFunction) -> str:
    """One function as Markdown."""
    lines = [f"### {function.name}", "", function.help, "", f"`{function.signature}`", ""]
    if function.arguments:
        lines += ["| argument | what it is | unit | left out |", "| --- | --- | --- | --- |"]
        lines += [argument_row(argument) for argument in function.arguments]
        lines.append("")
    lines.append(f"Gives {function.result.help}{unit_of(function.result.kind, ' [{}]')}.")
    if function.result.columns:
        lines.append(f"Columns: {', '.join(function.result.columns)}.")
    lines += ["", f"Formula: {function.formula}. Source: {function.source}.", ""]
    lines += example_lines(function, function.examples)
    if function.advice:
        lines += ["", function.advice]
    if function.needs:
        lines += ["", f"Needs {' and '.join(function.needs)}."]
    return "\n".join([*lines, ""])


def argument_row(argument: Argument) -> str:
    """A row of the table of arguments."""
    left_out = "must be given" if argument.required else default_text(argument.default)
    zero = f"; a zero is written `{argument.rare_zero}`" if argument.rare_zero else ""
    return (
        f"| {argument.name} | {escaped(argument.help)}{zero} | {unit_of(argument.kind, '{}')} | {escaped(left_out)} |"
    )


def default_text(default: object) -> str:
    """What an argument counts as that is left out."""
    return f"{default:g}" if isinstance(default, float) else default if isinstance(default, str) else "–"


def unit_of(kind: Kind, pattern: str) -> str:
    """The unit of plain numbers of a kind, or nothing."""
    element = kind.element if isinstance(kind, Column) else kind
    return pattern.format(element.unit) if isinstance(element, Quantity) else ""


def example_lines(function: CellFunction, examples: Iterable[Example]) -> list[str]:
    """The examples with their values and where these come from."""
    lines = []
    for example in examples:
        formula = example.formula(function.name)
        if len(formula) <= LONGEST_EXAMPLE:
            lines.append(f"- `{formula}` → {escaped(example.value_text)} ({escaped(example.source)})")
    return lines


LONGEST_EXAMPLE = 300
"""A longer formula, with a data set in it, tells a reader nothing."""


def escaped(text: str) -> str:
    """A text that does not break a table of Markdown."""
    return text.replace("|", "\\|").replace("\n", " ")
