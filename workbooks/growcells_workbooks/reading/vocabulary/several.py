"""Cells that hold more than one number, or a number behind its label: ``pH 6.1, EC 1.4 mS`` and ``6.1 / 1.4``."""

from __future__ import annotations

import re
from functools import lru_cache

from .units import MOST_TEXTS, is_unit, unit_of
from .words import MEASURED, Claim, claims

LONGEST = 120
"""Characters beyond which a text is a note; ours."""
_ENDS = re.compile(r"\s*(?:;|\||\n|&|\band\b|,(?!\d)|\s/\s|/(?!cm\b)(?=\s*[a-z]+\W*\d))\s*", re.IGNORECASE)
_NUMBER = r"[+-]?\d+(?:[.,]\d+)?"
_LABELLED = re.compile(rf"\s*(?P<label>[^\W\d][^\d:=]{{0,24}}?)\s*[:=]?\s*(?P<value>{_NUMBER})(?!\w)")
_WORD = re.compile(r"\s*([^\s\d]+)")
_TRAILED = re.compile(rf"\s*(?P<value>{_NUMBER})\s*(?P<label>[^\d\s][^\d]{{0,24}})")
_HEADINGS = re.compile(r"\s*(?:/(?!\s*(?:cm|m|l|gal)\b)|&|\band\b|\+|,|;)\s*", re.IGNORECASE)
_NUMBERS = re.compile(_NUMBER)
Values = tuple[tuple[Claim, str], ...]


@lru_cache(MOST_TEXTS)
def measure_named(label: str, spelled: bool = True) -> Claim | None:
    """The only measure that a label names; ``spelled``: as it is spelled."""
    offers = [claim for claim in claims(label.strip(" :=.-@"), "readings") if claim.field.name in MEASURED]
    most = max((claim.points for claim in offers), default=0.0)
    best = [claim for claim in offers if claim.points == most]
    return best[0] if len(best) == 1 and (best[0].exact or not spelled) else None


@lru_cache(MOST_TEXTS)
def values_in(text: str) -> Values:
    """The measures that a text names with their numbers, in their order; () where any part of it is something else."""
    if len(text) > LONGEST or not any(sign.isdigit() for sign in text):
        return ()
    found: list[tuple[Claim, str]] = []
    for part in filter(None, _ENDS.split(text.strip(" .,;"))):
        if not (values := _in_part(part)):
            return ()
        found += values
    if len(found) == 1 and found[0][0].bare:
        return ()  # a number with its unit
    return tuple(found) if len({claim.field.name for claim, _ in found}) == len(found) else ()


def _in_part(part: str) -> list[tuple[Claim, str]]:
    """The values in a part of a text, each with its label or, as the last, with a unit or a label behind it."""
    found, end = [], 0
    while match := _LABELLED.match(part, end):
        claim = None if is_unit(match["label"].strip()) else measure_named(match["label"])
        if claim is None:
            return []
        unit = _WORD.match(part, match.end())
        unit = unit if unit and unit_of(claim.field.quantity, unit[1]) else None
        end = unit.end() if unit else match.end()
        found.append((claim, part[match.start("value") : end]))
    if not part[end:].strip():
        return found
    match = _TRAILED.fullmatch(part, end)
    claim = measure_named(match["label"]) if match else None
    return [*found, (claim, match["value"])] if match and claim else []


@lru_cache(MOST_TEXTS)
def measures_headed(heading: str) -> tuple[Claim, ...]:
    """The measures of a heading of several, such as ``pH / EC``; () where it is of one or none."""
    parts = _HEADINGS.split(heading)
    if len(parts) < 2 or claims(heading, "readings"):
        return ()
    found = [measure_named(part) for part in parts]
    named = [claim for claim in found if claim is not None]
    return tuple(named) if len({claim.field.name for claim in named}) == len(parts) else ()


def pieces(text: str, headed: tuple[Claim, ...]) -> Values:
    """The values in a cell under a heading of several measures, or by their own labels."""
    numbers = _NUMBERS.findall(text) if headed else []
    if len(numbers) == len(headed) and numbers and not re.search(r"[^\W\d]", text):
        return tuple(zip(headed, numbers, strict=True))
    return values_in(text)
