"""The texts of a log as growcells reads them: the table in which a copy without growcells looks them up."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial

from growcells import CellFunction
from growcells.cells.arguments import Argument
from growcells.cells.errors import GrowError
from growcells.cells.kinds import Quantity
from growcells.cells.liquids import ProductQuantity
from growcells.chemistry.charges import Ion
from growcells.chemistry.nutrient_bases import Nutrient
from growcells.no_answer import NoAnswer
from growcells.terms.analyses import parse_analysis
from growcells.terms.mixes import percent_of
from growcells.terms.names import find_ion, find_nutrient

from ..gate import FileProblem
from .compiled_bodies import constant
from .marks import TEXTS_NAME

MOST_ROWS = 100_000
"""Rows of the table: a log of a thousand texts, twenty of them units, has fewer. Our choice."""

WILDCARDS = "*?~"
"""What a look-up of a text takes for any letters: ISO/IEC 29500-1, 18.17.7.343. A text with one is not found."""


class ReadTexts:
    """Look-ups of texts, and what they find. ``texts`` is every text that a cell of the log shows."""

    def __init__(self, texts: Sequence[str]) -> None:
        self.texts = [text for text in dict.fromkeys(texts) if not any(sign in text for sign in WILDCARDS)]
        self.rows: dict[str, object] = {}
        self._done: set[str] = set()
        self._found: dict[str, bool] = {}

    def table(self) -> tuple[tuple[object, ...], ...]:
        """Its rows; of two keys that differ in capitals alone and not in value neither, since look-ups see one."""
        found: dict[str, tuple[str, object]] = {}
        clashes = set()
        for key, value in self.rows.items():
            before = found.setdefault(key.casefold(), (key, value))
            if before[1] != value:
                clashes.add(key.casefold())
        return tuple(row for key, row in found.items() if key not in clashes)

    def number(self, function: CellFunction, argument: Argument, unit: str | None, unit_cell: str, cell: str) -> str:
        """The look-up of a text that an argument takes as a number, in a unit that is known or that a cell tells."""
        name = f"{function.name.removeprefix('GROW_')}.{argument.name}"
        units = [None, *(text for text, _ in self._units(argument.kind))] if unit_cell else [unit]
        for one in units:
            self._read(f"{name}|{one or ''}|", partial(argument.read, unit=one), blank=argument.default)
        if unit_cell:
            return self._look_up(f"{name}|", unit_cell, cell)
        return self._look_up(f"{name}|{unit or ''}|", cell)

    def slope(self, kind: Quantity, cell: str) -> str:
        """The slope of the unit in a cell."""
        return self._factor("slope", kind, cell, 0)

    def offset(self, kind: Quantity, cell: str) -> str:
        """The offset of the unit in a cell."""
        return self._factor("offset", kind, cell, 1) if kind.name == "temperature" else "0"

    def percent(self, product: str, nutrient: str) -> str:
        """The percent of a nutrient in a product; the nutrient is a symbol that is known, or a formula of its cell."""
        symbol = nutrient.removeprefix('GROWCELLS.NUTRIENT("').removesuffix('")')
        if symbol != nutrient:
            prefix = f"percent|{symbol}|"
            self._read(prefix, partial(_percent, find_nutrient(symbol)))
            return self._look_up(prefix, product)
        for text in self.texts:
            if _is_read(find_nutrient, text):
                self._read(f"percent|{text}|", partial(_percent, find_nutrient(text)))
        return self._look_up("percent|", nutrient, product)

    def attribute(self, table: str, attribute: str, cell: str) -> str:
        """What a nutrient or an ion that a cell names has as an attribute."""
        find: Callable[[str], Nutrient | Ion] = find_ion if table == "IONS" else find_nutrient
        prefix = f"{table.lower()}.{attribute}|"
        self._read(prefix, lambda text: getattr(find(text), attribute))
        return self._look_up(prefix, cell)

    def _factor(self, word: str, kind: Quantity, cell: str, place: int) -> str:
        prefix = f"{word}|{kind.unit}|{kind.inside}|"
        self._put(prefix, kind.factors(None)[place])
        for unit, factors in self._units(kind):
            self._put(prefix + unit, factors[place])
        return self._look_up(prefix, cell)

    def _units(self, kind: object) -> Iterator[tuple[str, tuple[float, float]]]:
        assert isinstance(kind, Quantity)
        for text in self.texts:
            by_volume = isinstance(kind, ProductQuantity) and kind.is_volume(text)
            if not by_volume and _is_read(partial(kind.check_unit, argument_name="unit"), text):
                yield text, kind.factors(text)

    def _read(self, prefix: str, read: Callable[[str], object], blank: object = None) -> None:
        """Put down what every text is read as, each prefix once."""
        if prefix in self._done:
            return
        self._done.add(prefix)
        if isinstance(blank, (int, float)):
            self._put(prefix, float(blank))
        for text in self.texts:
            try:
                value = read(text)
            except (GrowError, NoAnswer):
                continue
            if type(value) in (float, int, str):  # not an amount that knows that it is a volume
                self._put(prefix + text, value)

    def _put(self, key: str, value: object) -> None:
        if len(self.rows) >= MOST_ROWS:
            raise FileProblem(f"the log has more than {MOST_ROWS:,} readings of texts, too many for a copy to look up")
        self.rows[key] = value

    def _look_up(self, prefix: str, *cells: str) -> str:
        """The look-up of what cells hold, with no sign in it that stands for others; an error where no text is read."""
        if prefix not in self._found:
            self._found[prefix] = any(key.startswith(prefix) for key in self.rows)
        if not self._found[prefix]:
            return "#VALUE!"
        keys = []
        for cell in cells:
            plain = cell
            for sign in WILDCARDS:
                plain = f'SUBSTITUTE({plain},"{sign}","#")'
            keys.append(plain)
        key = '&"|"&'.join((constant(prefix) + "&" + keys[0], *keys[1:]))
        return f"VLOOKUP({key},{TEXTS_NAME},2,FALSE)"


def _percent(nutrient: Nutrient, product: str) -> float:
    return percent_of(parse_analysis(product), nutrient)


def _is_read(read: Callable[[str], object], text: str) -> bool:
    try:
        read(text)
    except GrowError:
        return False
    return True
