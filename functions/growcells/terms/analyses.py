"""Analyses: the texts and ranges that say how much of each nutrient a product holds.

``17-7-21`` · ``7-9-26 Ca 0 Mg 3.5 Fe 0.2`` · ``Epsom salt`` · ``Ca(NO3)2.4H2O 98%`` · a range of nutrient, percent.
"""

from __future__ import annotations

import datetime
import functools
import math
import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from types import MappingProxyType

from ..cells.arguments import Argument
from ..cells.errors import CellError, GrowError, OutOfRange, PassedOn, UnknownName
from ..cells.kinds import Kind, is_blank, is_range, shown
from ..cells.ranges import Column, is_word
from ..cells.units import MOST_TEXTS
from ..chemistry.chemical_formulas import BadFormula
from ..chemistry.nutrient_bases import ALKALINITY, NITROGEN_FORMS, TOTAL_NITROGEN, Nutrient, nutrients
from ..chemistry.products import LABEL_ROUNDING, Analysis
from ..chemistry.substances import formula_percents
from ..chemistry.unit_factors import PERCENT_IN_WHOLE
from .names import find_nutrient, find_substance, unknown_substance

LARGEST_FIGURE = 1e9
"""Larger than any percent or ppm can be; keeps infinities and numbers that no float holds out."""

GRADE = ("N", "P2O5", "K2O")

EXAMPLES = 'a grade such as "17-7-21", with more such as "7-9-26 Mg 3.5", or a substance such as "KNO3 99%"'

_FIGURE = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"

_GRADE_FIGURE = re.compile(r"\d+(?:\.\d*)?|\.\d+")

_WORD = r"[^\W\d_][\w()-]*"

_CONTENT = re.compile(rf"(?P<name>{_WORD}(?:\s+{_WORD})*?)(?:\s*[:=]\s*|\s+)(?P<figure>{_FIGURE})\s*%?(?![\w.])")

_PURITY = re.compile(rf"^(?P<name>.*\S)\s+(?P<figure>{_FIGURE})\s*%$")

_DENSITY = re.compile(rf"\bdensity\s*[:=]?\s*(?P<figure>{_FIGURE})\s*(?:kg/L|g/mL|g/cm3|g/cc)?$", re.IGNORECASE)

DENSITIES = (0.5, 3.0)
"""[kg/L] From the lightest to the heaviest liquid that anybody feeds with; ours."""

_MEANT_AS_GRADE = re.compile(r"[+-]?[\d.]+\s*(?:-|,|%|$|\s)")


@functools.lru_cache(MOST_TEXTS)
def parse_analysis(text: str) -> Analysis:
    """The analysis that a text is.

    Raises GrowError where it does not parse, UnknownName for an unknown nutrient or substance, OutOfRange for
    percents that cannot be.
    """
    spelled = re.sub(r"[–−‐‑]", "-", " ".join(unicodedata.normalize("NFKC", text).split()))
    dense = _DENSITY.search(spelled)
    if dense is not None:
        return replace(parse_analysis(spelled[: dense.start()].rstrip(" ;,")), text=text, density=_density(dense))
    if _MEANT_AS_GRADE.match(spelled):
        figures, end = _grade(spelled)
        return Analysis(text, contents([*figures, *_listed(spelled, end)]))
    if _is_list(spelled):
        return Analysis(text, contents(_listed(spelled, 0)))
    return _substance(text, spelled)


def _density(match: re.Match[str]) -> float:
    """The density [kg/L] that a text ends with. Raises OutOfRange for one that no liquid feed has."""
    density = float(match["figure"])
    if not DENSITIES[0] <= density <= DENSITIES[1]:
        raise OutOfRange(
            f"a density of {density:g} kg in a litre cannot be: give what the label says, such as density 1.15"
        )
    return density


def stops_at(text: str, position: int, expected: str) -> GrowError:
    """The error for a text that stops making sense at a place."""
    rest = text[position:].strip()
    where = f'at character {position + 1}, "{rest}",' if rest else "at its end"
    return GrowError(f"{where} {expected} was expected: give {EXAMPLES}")


def _grade(text: str) -> tuple[list[tuple[Nutrient, float]], int]:
    """The three figures that a grade starts with, and where they end."""
    figures, position = [], 0
    for index, symbol in enumerate(GRADE):
        if index:
            dash = re.compile(r"\s*-\s*").match(text, position)
            if dash is None:
                raise stops_at(text, position, f"a hyphen and the percent of {symbol}")
            position = dash.end()
        figure = _GRADE_FIGURE.match(text, position)
        if figure is None:
            raise stops_at(text, position, f"the percent of {symbol}")
        figures.append((nutrients()[symbol], float(figure.group())))
        position = figure.end()
    if position < len(text) and text[position] not in " ;,":
        raise stops_at(text, position, "a space")
    return figures, position


def _is_list(text: str) -> bool:
    """Whether a text without a grade lists nutrients: its first word is one, and a figure follows."""
    first = _CONTENT.match(text)
    if first is None:
        return False
    try:
        find_nutrient(first["name"])
    except UnknownName:
        return False
    except GrowError:
        pass
    return find_substance(first["name"]) is None


def _listed(text: str, position: int) -> list[tuple[Nutrient, float]]:
    """The pairs of nutrient and percent from a place in a text on."""
    pairs = []
    while rest := text[position:].lstrip(" ;,"):
        position = len(text) - len(rest)
        pair = _CONTENT.match(text, position)
        if pair is None:
            raise stops_at(text, position, "a nutrient and its percent")
        pairs.append((find_nutrient(pair["name"]), float(pair["figure"])))
        position = pair.end()
    return pairs


def _substance(text: str, spelled: str) -> Analysis:
    """A substance by name or formula, with its purity where one is given."""
    pure = _PURITY.match(spelled)
    name, purity = (pure["name"], float(pure["figure"])) if pure else (spelled, PERCENT_IN_WHOLE)
    if not 0 < purity <= PERCENT_IN_WHOLE:
        raise OutOfRange(f"a purity of {purity:g} % cannot be: give one above 0 and up to 100 %")
    substance = find_substance(name)
    if substance is not None and substance.grade:
        if pure:
            raise GrowError(f'a chelate is given by its grade: write "{substance.grade}" with the figure of the label')
        return Analysis(text, parse_analysis(substance.grade).percents, substance.name)
    formula = substance.formula if substance else spelled_formula(name)
    if substance is None and not looks_like_formula(formula):
        raise unknown_substance(name)
    try:
        pure_percents = formula_percents(formula)
    except BadFormula as problem:
        raise GrowError(f"{problem}: give one such as Ca(NO3)2.4H2O") from None
    percents = {key: share * purity / PERCENT_IN_WHOLE for key, share in pure_percents.items()}
    if substance is None and not percents:
        raise GrowError("this formula holds no nutrient: give one such as KNO3")
    return Analysis(text, MappingProxyType(percents), substance.name if substance else "", formula, purity)


def contents(pairs: Iterable[tuple[Nutrient, float]]) -> Mapping[str, float]:
    """Percents by key of pairs of nutrient and percent, the total of nitrogen completed from its forms.

    Raises GrowError for a nutrient listed twice, OutOfRange for percents that cannot be.
    """
    percents: dict[str, float] = {}
    as_given = 0.0
    for nutrient, percent in pairs:
        if nutrient.key in percents:
            raise GrowError(f"{nutrient.symbol} is listed twice: give each nutrient once, as the element or the oxide")
        if nutrient.key == ALKALINITY:
            raise GrowError(f"{nutrient.symbol} is no part of an analysis: give nutrients such as N, P2O5 or Ca")
        if percent < 0:
            raise OutOfRange(f"{nutrient.symbol} is {percent:g} percent, below zero: give what the label says")
        percents[nutrient.key] = percent * nutrient.share
        as_given += percent if nutrient.symbol in GRADE else 0.0
    forms = sum(percents.get(form, 0.0) for form in NITROGEN_FORMS)
    if TOTAL_NITROGEN not in percents and any(form in percents for form in NITROGEN_FORMS):
        percents[TOTAL_NITROGEN] = forms
    if forms > percents.get(TOTAL_NITROGEN, 0.0) + LABEL_ROUNDING:
        raise OutOfRange(f"the forms of nitrogen add up to {forms:g} percent, more than the total of N")
    total = sum(percent for key, percent in percents.items() if key not in NITROGEN_FORMS)
    if max(total, as_given) > PERCENT_IN_WHOLE + LABEL_ROUNDING:
        raise OutOfRange(f"the percents add up to {max(total, as_given):.4g}, over 100: give what the label says")
    return MappingProxyType(percents)


@dataclass(frozen=True)
class AnalysisKind(Kind):
    """An analysis: a text, or a range of two columns."""

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> Analysis:
        if is_range(cell):
            return self._read_range(cell, argument)
        if isinstance(cell, (datetime.date, int, float)) and not isinstance(cell, bool):
            raise GrowError(
                f"{argument.name} is {shown(cell)}: give a text; where a grade turned into a date, "
                "type an apostrophe before it, such as '7-9-26"
            )
        if not isinstance(cell, str):
            raise GrowError(f"{argument.name} is {shown(cell)}: give {EXAMPLES}")
        try:
            return parse_analysis(cell.strip())
        except GrowError as problem:
            raise type(problem)(f'{argument.name} is "{cell.strip()}": {problem}') from None

    def takes_range(self, cells: object) -> bool:
        """Whether a range is one analysis: two columns, with a number in the second."""
        assert isinstance(cells, (list, tuple))
        if not all(isinstance(row, (list, tuple)) and len(row) == 2 for row in cells):
            return False
        return any(isinstance(row[1], (int, float)) and not isinstance(row[1], bool) for row in cells)

    def _read_range(self, cells: object, argument: Argument) -> Analysis:
        pairs = nutrient_rows(cells, argument, "percent")
        try:
            percents = contents(((find_nutrient(name), figure) for name, figure in pairs))
        except GrowError as problem:
            raise type(problem)(f"{argument.name}: {problem}") from None
        return Analysis(grade_text(percents), percents)


ANALYSIS = AnalysisKind("analysis")


@dataclass(frozen=True)
class AnalysisColumn(Column):
    """A column of analyses; a range of nutrient, percent is a column of one."""

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> list[object]:
        if is_range(cell) and ANALYSIS.takes_range(cell):
            return [ANALYSIS.read(cell, argument)]
        return super().read(cell, argument, unit)


ANALYSES = AnalysisColumn("analyses", ANALYSIS)

ANALYSIS_GIVEN = Argument(
    "analysis",
    ANALYSIS,
    'what the product holds: a grade such as "17-7-21" or "7-9-26 Mg 3.5", a substance such as "KNO3", a liquid with '
    'its density such as "3-1.2-4.4 density 1.15", or a range of nutrient, percent',
)

ANALYSES_GIVEN = Argument("analyses", ANALYSES, "the analysis of each of them, in the same order")


def nutrient_rows(cells: object, argument: Argument, second: str) -> list[tuple[str, float]]:
    """The filled rows of a range of nutrient and number; a heading row is passed over.

    Raises GrowError for a range that is not two columns wide or a second cell that is no number,
    PassedOn for a cell that is an error.
    """
    assert isinstance(cells, (list, tuple))
    pairs = []
    for index, row in enumerate(cells, 1):
        if not isinstance(row, (list, tuple)) or len(row) != 2:
            raise GrowError(f"{argument.name}: give a range of two columns, nutrient and {second}")
        for cell in row:
            if isinstance(cell, CellError):
                raise PassedOn(argument.name, cell)
        name, figure = row
        if is_blank(figure):
            continue
        number = _figure(figure)
        if number is None and index == 1 and is_word(figure):
            continue
        if number is None or not isinstance(name, str) or is_blank(name):
            raise GrowError(
                f"row {index} of {argument.name} is {shown(name)}, {shown(figure)}: "
                f'give a nutrient and its {second}, such as "Ca" and 19'
            )
        pairs.append((name.strip(), number))
    return pairs


def _figure(cell: object) -> float | None:
    """The number that a cell of a second column is, or None."""
    if isinstance(cell, str):
        match = re.fullmatch(rf"({_FIGURE})\s*(?:%|ppm|mg/[lL])?", cell.strip())
        return float(match.group(1)) if match and math.isfinite(float(match.group(1))) else None
    if isinstance(cell, (int, float)) and not isinstance(cell, bool) and abs(cell) < LARGEST_FIGURE:
        return float(cell)
    return None


def plain_figure(number: float) -> str:
    """A number in at most six figures, never with an exponent, which a grade could not hold."""
    return format(Decimal(f"{number:.6g}").normalize(), "f")


def grade_text(percents: Mapping[str, float]) -> str:
    """The analysis as a text that parses again: the grade, then every other nutrient, elemental."""
    grade = "-".join(
        plain_figure(percents.get(nutrients()[symbol].key, 0.0) / nutrients()[symbol].share) for symbol in GRADE
    )
    in_grade = [nutrients()[symbol].key for symbol in GRADE]
    others = [f"{key} {plain_figure(percents[key])}" for key in nutrients() if key in percents and key not in in_grade]
    return " ".join([grade, *others])


def looks_like_formula(text: str) -> bool:
    """Whether a text is meant as a formula: it starts with an element's symbol or a bracket, and has no spaces."""
    return " " not in text and re.match(r"\d*[\[(]*[A-Z]", text) is not None and not re.search(r"[a-z]{2}", text)


def spelled_formula(text: str) -> str:
    """A formula in plain signs: figures on the line, a full stop before water of crystallization."""
    return re.sub(r"[·•∙⋅*×]", ".", text)
