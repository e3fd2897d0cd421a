"""A copy of a log without growcells functions: each call written out, for programs that know no LAMBDA."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from growcells import functions
from growcells.cells.ranges import Column
from growcells.families.help import ALL_WELL, EXPLAINING

from ..gate import FileProblem, Progress, Runner, Target, here
from ..gate.safe_xml import escaped
from ..recalculation.lifted_calls import literal
from ..recalculation.package import Book, Package
from ..recalculation.sheet_edits import Edit, patched
from ..recalculation.sheet_xml import SheetCell, scan_sheet
from ..recalculation.tokens import Kind, NotComputed, Token, tokens_of
from . import package_edits as edits
from .carry import WORKBOOKS, copied, give_sheet, take_away
from .compiled_bodies import NotNative
from .inline_calls import call_formula
from .marks import SHEET, TEXTS_NAME
from .native_names import NativeName, carried
from .read_texts import ReadTexts
from .stored_form import DEEPEST, LONGEST_FORMULA, depth


@dataclass(frozen=True)
class WrittenOut:
    """What became of a log."""

    cells: int
    """Cells that compute without growcells now."""
    kept: tuple[str, ...]
    """Cells that still need it, each with why."""
    output: Path | None = None


def write_out(
    log: Path, output: Path, *, overwrite: bool = False, progress: Progress | None = None, run: Runner = here
) -> WrittenOut:
    """Write a copy of a log in which calls of growcells functions are native formulas. The log itself stays.

    Texts are looked up in a hidden sheet, which holds those that the log has now: another text gives #N/A. Raises
    FileProblem, whose text is one sentence.
    """
    if log.suffix.lower() not in WORKBOOKS:
        raise FileProblem(f"{log} is no Excel workbook: give an .xlsx")
    target = Target.checked(log, output, in_place=False, overwrite=overwrite)
    done, content = run(partial(writing_out, target.source), log, progress)
    target.put(content)
    return replace(done, output=target.path)


def writing_out(log: Path, progress: Progress) -> tuple[WrittenOut, bytes]:
    """A log with its calls written out."""
    package = Package(log)
    progress("carrying", 0, 1)
    take_away(package)
    texts = ReadTexts(list(_texts(package)))
    kept: list[str] = []
    written = 0
    for title, part in package.book.sheets.items():
        data = package.read(part)
        changes: list[Edit] = []
        for cell in scan_sheet(data):
            if not edits.functions_called(cell.formula or ""):
                continue
            try:
                changes.append(_written(data, cell, without_calls(cell, package.book, texts)))
                written += 1
            except (NotNative, NotComputed) as why:
                kept.append(f"{title}!{cell.name}: {why}")
        if changes:
            package.edit(part, patched(data, changes))
    table = texts.table()
    if table:
        give_sheet(package, [table])
        workbook = package.workbook_part
        name = NativeName(TEXTS_NAME, f"{SHEET}!$A$1:$B${len(table)}")
        package.edit(workbook, edits.with_computing(edits.with_names(package.read(workbook), [name])))
    return WrittenOut(written, tuple(kept)), copied(package, progress)


def without_calls(cell: SheetCell, book: Book, texts: ReadTexts) -> str:
    """The formula of a cell with its calls written out. Raises NotNative and NotComputed."""
    if cell.kind == "array" and cell.area is not None and cell.area.rows * cell.area.columns > 1:
        raise NotNative("it fills several cells")
    formula = "".join(token.scope + token.text for token in _without_calls(tokens_of(cell.formula or ""), book, texts))
    if len(formula) > LONGEST_FORMULA or depth(formula) > DEEPEST:
        raise NotNative("written out it is longer than a formula can be")
    return formula


def _without_calls(tokens: Sequence[Token], book: Book, texts: ReadTexts) -> Iterator[Token]:
    place = 0
    while place < len(tokens):
        token = tokens[place]
        name = token.text[:-1].upper()
        if token.kind is not Kind.CALL or name not in functions():
            yield token
            place += 1
            continue
        arguments, place = _arguments(tokens, place + 1)
        if name == EXPLAINING:
            yield Token(Kind.NAME, _why(arguments, book, texts))
        else:
            yield Token(Kind.NAME, _called(name, arguments, book, texts))


NO_SENTENCE = "an error: growcells, which is not in this copy, says why"


def _why(arguments: Sequence[Sequence[Token]], book: Book, texts: ReadTexts) -> str:
    """What stands for a sentence on a call: whether it gives an error."""
    name = literal(arguments[0][0].text) if arguments and len(arguments[0]) == 1 else None
    if not isinstance(name, str):
        raise NotNative(f"{EXPLAINING} is given a name that is not typed")
    return f'IF(ISERROR({_called(name.strip().upper(), arguments[1:], book, texts)}),"{NO_SENTENCE}","{ALL_WELL}")'


def _called(name: str, arguments: Sequence[Sequence[Token]], book: Book, texts: ReadTexts) -> str:
    """The native formula of a call."""
    if name not in carried():
        raise NotNative(f"{name} does more than a formula can")
    function = carried()[name].function
    for argument, tokens in zip(function.arguments, arguments, strict=False):
        if not isinstance(argument.kind, Column) and _gives_range(tokens, book):
            raise NotNative(f"{name} is given a range")
    return call_formula(function, [tuple(_without_calls(tokens, book, texts)) for tokens in arguments], texts)


def _arguments(tokens: Sequence[Token], place: int) -> tuple[list[list[Token]], int]:
    """The arguments of a call whose bracket stands before ``place``, without space around them, and where it ends."""
    arguments: list[list[Token]] = [[]]
    level = 0
    while place < len(tokens):
        token = tokens[place]
        place += 1
        if level == 0 and token.kind is Kind.CLOSE:
            return arguments if len(arguments) > 1 or arguments[0] else [], place
        level += token.kind in (Kind.CALL, Kind.OPEN, Kind.ARRAY)
        level -= token.kind in (Kind.CLOSE, Kind.ARRAY_END)
        if level == 0 and token.kind is Kind.SEPARATOR:
            arguments.append([])
        elif token.kind is not Kind.SPACE:
            arguments[-1].append(token)
    raise NotComputed("a bracket is not closed")


def _gives_range(tokens: Sequence[Token], book: Book) -> bool:
    """Whether an argument is several cells; what stands in the brackets of a call is that function's own."""
    level = 0
    for token in tokens:
        level += token.kind in (Kind.CALL, Kind.OPEN)
        level -= token.kind is Kind.CLOSE
        defined = book.names.get((None, token.text.upper()), "") if token.kind is Kind.NAME else token.text
        several = token.kind in (Kind.NAME, Kind.AREA) and ":" in defined
        whole = token.kind is Kind.TABLE and "@" not in token.text
        if level == 0 and (several or whole or token.kind is Kind.ARRAY):
            return True
    return False


def _written(data: bytes, cell: SheetCell, formula: str) -> Edit:
    """The edit that puts another formula between the tags of a cell's own."""
    assert cell.formula_span is not None
    start, end = cell.formula_span
    tags = re.fullmatch(rb"(<[^>]*>).*(</[^>]*>)", data[start:end], re.DOTALL)
    if tags is None:
        raise NotNative("it shares the formula of another cell")
    return start + tags.end(1), start + tags.start(2), escaped(formula)


_INLINE_TEXT = re.compile(rb"<(?:\w+:)?t\b[^>]*>([^<]*)</(?:\w+:)?t>")


def _texts(package: Package) -> Iterator[str]:
    """Every text that a cell of a log shows."""
    yield from package.shared_texts()
    for part in package.book.sheets.values():
        data = package.read(part)
        yield from (html.unescape(text.decode()) for text in _INLINE_TEXT.findall(data))
        yield from (cell.stored for cell in scan_sheet(data) if cell.type == "str")
