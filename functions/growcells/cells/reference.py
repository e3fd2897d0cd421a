"""The function reference, written from the registry."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ..data import read_data
from .arguments import Argument, Example
from .cell_function import CellFunction
from .kinds import Kind, Quantity
from .ranges import Column

HEAD = """# Cell functions

Written from the declarations by `growcells functions --reference`; not edited by hand.

Arguments in [ ] are optional. A plain number is in the default unit given; a text may bring its own: `42 in`,
`3 ft 6 in`, `34 gal`, `129 L`, `2 g/gal`. Where one value is meant and a range is given, each row is computed in turn.
A wrong value gives an error, and `GROW_WHY` with the same arguments says in a sentence what to type instead. Every
function may give these errors: `#VALUE!` for a blank, a text or a unit that cannot be, `#NUM!` for a number that cannot
be, `#N/A` for a name that is not known, and any error that already stands in an argument.
"""


@dataclass(frozen=True)
class Names:
    """A table of names that the functions know: its heading, its file, and the columns shown with their headings."""

    heading: str
    file: str
    columns: Mapping[str, str]


NAMES = (
    Names("Nutrients", "nutrients.csv", {"symbol": "nutrient", "names": "also written"}),
    Names(
        "Substances",
        "substances.csv",
        {
            "name": "substance",
            "formula": "formula",
            "grade": "usual grade",
            "usual_percent": "usual purity, percent",
            "nitrogen": "nitrogen as",
            "aliases": "also written",
            "source": "source",
        },
    ),
    Names(
        "Published solutions",
        "recipes.csv",
        {
            "recipe": "solution",
            "crop": "crop",
            **{symbol: symbol for symbol in ("N", "P", "K", "Ca", "Mg", "S", "Fe", "Mn", "Zn", "Cu", "B", "Mo")},
            "names": "also written",
            "certainty": "how sure",
            "source": "source",
        },
    ),
    Names(
        "Acids",
        "acids.csv",
        {"acid": "acid", "default_percent": "usual strength, percent", "names": "also written", "source": "source"},
    ),
    Names(
        "Bases",
        "bases.csv",
        {"base": "base", "default_percent": "usual percent", "names": "also written", "source": "source"},
    ),
    Names("Words for a plant that was lost", "loss_words.csv", {"word": "word"}),
)


def reference(functions: Mapping[str, CellFunction]) -> str:
    """The whole reference of these functions as Markdown."""
    parts = [HEAD]
    family = ""
    for function in functions.values():
        if function.family != family:
            family = function.family
            parts.append(f"## {family}\n")
        parts.append(entry(function))
    parts.append("## Names that the functions know\n\nCapitals, spaces and hyphens do not matter. ppm are elemental.\n")
    parts += [names_table(names) for names in NAMES]
    return "\n".join(parts)


def names_table(names: Names) -> str:
    """A table of names as Markdown."""
    lines = [f"### {names.heading}", ""]
    lines += [table_row(names.columns.values()), table_row("---" for _ in names.columns)]
    lines += [table_row(escaped(row[column]) for column in names.columns) for row in read_data(names.file)]
    return "\n".join([*lines, ""])


def table_row(cells: Iterable[str]) -> str:
    """A row of a table of Markdown."""
    return f"| {' | '.join(cells)} |"


def entry(function: CellFunction) -> str:
    """One function as Markdown."""
    lines = [f"### {function.name}", "", function.help, "", f"`{function.signature}`", ""]
    if function.arguments:
        lines += [table_row(("argument", "what it is", "unit", "left out")), table_row(("---",) * 4)]
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
    return table_row(
        (argument.name, f"{escaped(argument.help)}{zero}", unit_of(argument.kind, "{}"), escaped(left_out))
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
