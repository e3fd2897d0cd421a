"""The formualizer engine, with every growcells function in it."""

from __future__ import annotations

import datetime
import functools
import io
import zipfile
from collections.abc import Callable, Mapping
from typing import TypeVar

import formualizer

from growcells import functions
from growcells.cells.errors import CellError

from ..gate import FileProblem
from ..gate.safe_xml import attribute
from .arrays import DIGITS, EACH, FIT, LAST_BELOW, digits, each_in, fit, last_below
from .cells import Area, ErrorValue, Value, read_area
from .days import Evaluate, counting_from_1904
from .formulas import LEFT_OUT
from .package import Book

_ERROR_CODES = {
    "Na": "#N/A",
    "Div": "#DIV/0!",
    "Value": "#VALUE!",
    "Ref": "#REF!",
    "Name": "#NAME?",
    "Num": "#NUM!",
    "Null": "#NULL!",
    "Spill": "#SPILL!",
    "Calc": "#CALC!",
}
_ERROR_KINDS = {code: kind for kind, code in _ERROR_CODES.items()}
NOT_COMPUTED = {
    "Circ": "it refers to itself, directly or through other cells",
    "NImpl": "the engine does not have a part of it",
    "Error": "the engine cannot read it",
    "Cancelled": "the computation was stopped",
}
"""Kinds of the engine's own errors, which no cell can hold, and what to say of them."""

_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_CONTENT = "application/vnd.openxmlformats-officedocument.spreadsheetml"
_HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>'


Given = TypeVar("Given")


class Uncomputed:
    """What the engine gives for a cell that it cannot compute; ``why`` says it in a few words."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        self.why = NOT_COMPUTED.get(kind, f"the engine gives {kind} for it")


class Engine:
    """A workbook loaded into the engine. Raises FileProblem where the engine cannot take it."""

    def __init__(
        self,
        book: Book,
        sheets: Mapping[str, bytes],
        shared_strings: bytes | None,
        as_of: datetime.date | None,
        called: Callable[[], None],
    ) -> None:
        settings = formualizer.EvaluationConfig()
        settings.enable_parallel = False  # most formulas call Python, where threads only wait for one another
        settings.date_system = "1904" if book.starts_1904 else "1900"
        if book.iterates:
            settings.cycle_policy = "iterate"
        self._workbook: formualizer.Workbook = _guarded(
            lambda: formualizer.Workbook.from_bytes(
                _package(sheets, shared_strings), config=formualizer.WorkbookConfig(eval_config=settings)
            )
        )
        self._workbook.set_temporal_egress("serial")
        if as_of is not None:
            midnight = datetime.datetime.combine(as_of, datetime.time(), datetime.UTC)
            self._workbook.set_deterministic_clock(midnight, "utc")
        for name, function in functions().items():
            evaluate = counting_from_1904(function) if book.starts_1904 else function.evaluate
            self._workbook.register_function(name, _callback(evaluate, called), min_args=0, max_args=None)
        helpers = {FIT: fit, EACH: each_in(settings.date_system), LAST_BELOW: last_below, DIGITS: digits}
        for name, helper in helpers.items():
            self._workbook.register_function(name, helper, min_args=1, max_args=None)

    def compute(self) -> None:
        """Compute every formula."""
        _guarded(self._workbook.evaluate_all)

    def value(self, sheet: str, row: int, column: int) -> Value | ErrorValue | Uncomputed:
        """The value of a cell after compute()."""
        return _value(self._workbook.get_value(sheet, row, column))

    def answer(self, formula: str, row: int, column: int) -> Value | ErrorValue | Uncomputed:
        """What a formula would give in that place of a sheet of its own."""
        scratch = "growcells scratch"
        self._workbook.add_sheet(scratch)
        try:
            self._workbook.set_formula(scratch, row, column, "=" + formula)
        except RuntimeError:  # as formualizer raises for what is no formula to it
            return Uncomputed("Error")
        return _value(_guarded(lambda: self._workbook.evaluate_cell(scratch, row, column)))

    def spilled_area(self, address: str) -> Area | None:
        """The cells that the result of the dynamic formula at ``'Sheet'!A1`` takes; None where it is one value."""
        spill = self._workbook.inspect_cell(address, include_values=False).cell.spill
        return None if spill is None or spill.extent is None else read_area(spill.extent.rpartition("!")[2])

    def dependents(self, address: str) -> list[str]:
        """The cells whose formulas read the cell at ``'Sheet'!A1``."""
        report = self._workbook.dependents(address, max_results=2**31, max_work=2**31)
        return [dependent.cell for dependent in report.dependents]


def _guarded(action: Callable[[], Given]) -> Given:
    """Run an action of the engine; raises FileProblem for whatever it raises, a panic of its own included."""
    try:
        return action()
    except (KeyboardInterrupt, SystemExit, GeneratorExit):
        raise
    except BaseException as problem:  # a panic in the engine is no Exception
        raise FileProblem(f"the workbook cannot be computed: {str(problem).splitlines()[0][:200]}") from None


@functools.cache
def knows(name: str) -> bool:
    """Whether the engine has a function of this name, asked of the engine itself."""
    if name.upper() in functions():
        return True
    workbook = _probe()
    try:
        workbook.set_formula("probe", 1, 1, f"={name}()")
        value = workbook.evaluate_cell("probe", 1, 1)
    except Exception:  # the engine raises in several ways for what it cannot read
        return False
    return not (isinstance(value, dict) and value.get("kind") == "Name")


@functools.cache
def _probe() -> formualizer.Workbook:
    workbook = formualizer.Workbook()
    workbook.add_sheet("probe")
    return workbook


def _value(raw: object) -> Value | ErrorValue | Uncomputed:
    if raw is None or isinstance(raw, (float, str, bool)):
        return raw
    if isinstance(raw, int):
        return float(raw)
    if isinstance(raw, dict):
        kind = str(raw.get("kind"))
        return ErrorValue(_ERROR_CODES[kind]) if kind in _ERROR_CODES else Uncomputed(kind)
    return Uncomputed(type(raw).__name__)


def _callback(evaluate: Evaluate, called: Callable[[], None]) -> Callable[..., object]:
    def call(*arguments: object) -> object:
        called()
        # Nearly all are numbers, which are the same on both sides.
        cells = [argument if isinstance(argument, float) else _handed_in(argument) for argument in arguments]
        result = evaluate(cells)
        return result if isinstance(result, float) else _given_back(result)

    return call


def _handed_in(argument: object) -> object:
    """An argument as the registry takes it."""
    if isinstance(argument, list):
        return tuple(tuple(_handed_in(cell) for cell in row) for row in argument)
    if isinstance(argument, dict):
        return CellError(_ERROR_CODES.get(str(argument.get("kind")), "#VALUE!"))
    return None if argument == LEFT_OUT else argument


def _given_back(result: object) -> object:
    """A result as the engine takes it: a table as lists, nothing as an empty text, since it would make it 0."""
    if isinstance(result, (tuple, list)):
        return [[_given_back(cell) for cell in row] for row in result]
    if isinstance(result, CellError):
        return {"type": "Error", "kind": _ERROR_KINDS.get(result.code, "Value"), "message": result.message}
    return "" if result is None else result


def _package(sheets: Mapping[str, bytes], shared_strings: bytes | None) -> bytes:
    """A workbook of these sheets and nothing else, for the engine to load."""
    listed = "".join(
        f'<sheet name="{attribute(name)}" sheetId="{number}" r:id="rId{number}"/>'
        for number, name in enumerate(sheets, 1)
    )
    related = "".join(
        f'<Relationship Id="rId{number}" Type="{_RELATIONS}/worksheet" Target="worksheets/sheet{number}.xml"/>'
        for number in range(1, len(sheets) + 1)
    )
    typed = "".join(
        f'<Override PartName="/xl/worksheets/sheet{number}.xml" ContentType="{_CONTENT}.worksheet+xml"/>'
        for number in range(1, len(sheets) + 1)
    )
    if shared_strings is not None:
        related += f'<Relationship Id="rIdS" Type="{_RELATIONS}/sharedStrings" Target="sharedStrings.xml"/>'
        typed += f'<Override PartName="/xl/sharedStrings.xml" ContentType="{_CONTENT}.sharedStrings+xml"/>'
    parts = {
        "[Content_Types].xml": f'{_HEAD}<Types xmlns="{_PACKAGE}/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{_CONTENT}.sheet.main+xml"/>{typed}</Types>',
        "_rels/.rels": f'{_HEAD}<Relationships xmlns="{_PACKAGE}/relationships">'
        f'<Relationship Id="rId1" Type="{_RELATIONS}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'{_HEAD}<workbook xmlns="{_MAIN}" xmlns:r="{_RELATIONS}">'
        f"<sheets>{listed}</sheets></workbook>",
        "xl/_rels/workbook.xml.rels": f'{_HEAD}<Relationships xmlns="{_PACKAGE}/relationships">'
        f"{related}</Relationships>",
    }
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as package:
        for part, text in parts.items():
            package.writestr(part, text)
        for number, data in enumerate(sheets.values(), 1):
            package.writestr(f"xl/worksheets/sheet{number}.xml", data)
        if shared_strings is not None:
            package.writestr("xl/sharedStrings.xml", shared_strings)
    return buffer.getvalue()
