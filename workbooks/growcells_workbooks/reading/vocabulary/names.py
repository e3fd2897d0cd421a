"""Which bed a text names: as it is listed, by another spelling of it, by a mapping file, or by its looks."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache

from ..inputs.log_cells import LogCell
from ..model.entries import name_key
from .date_texts import MONTHS, is_date_text, month_of, weekday_of
from .shapes import is_text
from .units import is_unit
from .words import all_claims, field_of, is_filler, is_other, is_word, words_of

MOST_NAMES = 100_000
"""Texts whose bed is kept; far more than a log names."""
MOST_WORDS_OF_NAME = 4
_GENERIC = frozenset(
    {"sheet", "log", "reading", "data", "diary", "journal", "daily", "weekly", "note", "record", "measurement", "form",
     "response", "tracking", "tracker", "check", "water", "entry", "all", "main", "table", "month", "week", "day",
     "season", "spring", "summer", "fall", "autumn", "winter", "year", "tab", "book", "our", "the", "of", "my", "copy",
     "v", "ver", "rev", "vol", "pg", "p", "fig", "wk", "no"}
)  # fmt: skip
"""Words of names of sheets that name no bed; common practice, no source."""
_NO_BEDS = frozenset("nkpsvwqx")
"""Letters that before a number mean a nutrient, a version, a week, a quarter or times."""
_BED_WORDS = field_of("beds", "bed").phrases | field_of("readings", "bed").phrases
_ID = re.compile(r"(?:no\.?\s*|#\s*)?(?:[a-z]?\d{1,3}[a-z]?|[a-z])", re.IGNORECASE)
_DECIMAL = re.compile(r"\d[.,]\d")
_SHORT = re.compile(r"[A-Za-z]{1,4}[\s_#-]*\d{1,3}[A-Za-z]?")
NUMBERED = re.compile(r"#\s?\d{1,3}")
"""A name that is a number: ``#2``."""
_TOTAL = re.compile(
    r"(?:(?:sub|grand|week(?:ly)?|month(?:ly)?|season|year(?:ly)?|overall|bed|all)[\s-]*)?"
    r"(?:totals?|sum|averages?|avg|mean|median|min(?:imum)?|max(?:imum)?|std ?dev|count)"
    r"(?:\s+(?:of\s+)?\w+){0,2}\s*[:.=]?"
)
"""What people write in front of a row of totals; common practice, no source."""


@lru_cache(MOST_NAMES)
def parts_of(name: str) -> tuple[str, ...]:
    """Words and numbers of a name, without zeros in front: ``Tub-01`` is tub and 1."""
    found = re.findall(r"[^\W\d_]+|\d+", re.sub(r"\(.*?\)", " ", name).casefold())
    return tuple(part.lstrip("0") or "0" for part in found if part not in ("no", "nr"))


@lru_cache(MOST_NAMES)
def is_bed_word(word: str) -> bool:
    """Whether a word means a bed of any kind: tub, tank, tote."""
    return any(frozenset(words_of(word)) == phrase for phrase, _ in _BED_WORDS if len(phrase) == 1)


@lru_cache(MOST_NAMES)
def looks_like_bed(text: str) -> bool:
    """Whether a text names a bed by itself: ``T1``, ``Tub 2`` and ``Bed A`` do, ``2``, ``pH 2``, ``week 2`` do not."""
    text = text.strip()
    first, _, rest = text.replace("#", " ").replace("-", " ").replace(":", " ").partition(" ")
    if is_bed_word(first) and rest.strip():
        return _ID.fullmatch(rest.strip()) is not None
    if not _SHORT.fullmatch(text) or is_word(text.casefold()):
        return False
    letters = re.sub(r"[^a-z]", "", text.casefold())
    glued = re.sub(r"\d.*", "", text.casefold()).strip(" _#-")
    if is_bed_word(glued):
        return True
    if len(glued) == 1:
        return glued not in _NO_BEDS
    known = all_claims(glued) or is_word(glued) or is_unit(glued) or is_other(glued) or glued in _GENERIC
    is_of_calendar = letters[:3] in MONTHS or weekday_of(glued) is not None
    return not known and not is_of_calendar and len(glued) <= 3


@lru_cache(MOST_NAMES)
def is_generic(title: str) -> bool:
    """Whether the name of a sheet says nothing of a bed: a month, ``log 2026``, ``Form responses 1``."""
    if is_date_text(title):
        return True
    return all(_says_nothing(word) for word in words_of(title))


@lru_cache(MOST_NAMES)
def _says_nothing(word: str) -> bool:
    """Whether a word of a title names no bed."""
    if word.isdigit() or word in _GENERIC or month_of(word) or is_bed_word(word) or is_other(word):
        return True
    return any(
        claim.field.table == "readings" and claim.field.name not in ("bed", "crop") for claim in all_claims(word)
    )


class Names:
    """The beds that are listed, to be found by what people call them."""

    def __init__(self, names: Iterable[str] = (), others: Mapping[str, str] | None = None) -> None:
        self.names = list(dict.fromkeys(names))
        self.keys = {name_key(name): name for name in reversed(self.names)}
        self.others = {key: self.keys.get(name_key(name), name) for key, name in (others or {}).items()}
        self.spelled = self._unique(lambda parts: [parts])
        letters = {parts[0] for name in self.names if _is_coded(parts := parts_of(name))}
        # Of A1, A2 and B1 none is the bed 2: B2 is another one, which is not listed.
        self.short = self._unique(_short_forms if len(letters) < 2 else _without_word)
        self._found: dict[str, str | None] = {}

    def _unique(self, forms: object) -> dict[tuple[str, ...], str]:
        found: dict[tuple[str, ...], set[str]] = {}
        for name in self.names:
            for form in forms(parts_of(name)):  # type: ignore[operator]
                found.setdefault(form, set()).add(name_key(name))
        return {form: self.keys[next(iter(names))] for form, names in found.items() if len(names) == 1 and form}

    def __bool__(self) -> bool:
        return bool(self.names)

    def exactly(self, text: str) -> str | None:
        """The bed that a text names by the letters of its name, or by another name of a mapping file."""
        key = name_key(text)
        return self.others.get(key) or self.keys.get(key)

    def find(self, text: str) -> str | None:
        """The bed that a text names: ``tub-01`` and, where no other bed is number 1, ``1`` name Tub 1."""
        if text not in self._found:
            self._found[text] = self.exactly(text) or self._alike(text)
        return self._found[text]

    def _alike(self, text: str) -> str | None:
        parts = parts_of(text)
        if not parts or len(parts) > MOST_WORDS_OF_NAME or _DECIMAL.search(text):
            return None
        if parts in self.spelled:
            return self.spelled[parts]
        found = {self.spelled[form] for form in _short_forms(parts) if form in self.spelled}
        found |= {self.short[form] for form in (parts, *_without_word(parts)) if form in self.short}
        return found.pop() if len(found) == 1 else None

    def within(self, text: str) -> str | None:
        """The bed that words of a title name, the most words first."""
        if name := self.exactly(text):
            return name
        words = re.sub(r"[:,;()\[\]|]| - ", " ", text).split()
        for size in range(min(MOST_WORDS_OF_NAME, len(words)), 0, -1):
            found = dict.fromkeys(
                self._named(" ".join(words[start : start + size]) for start in range(len(words) - size + 1))
            )
            if found:
                return next(iter(found)) if len(found) == 1 else None
        return None

    def titled(self, text: str) -> str:
        """The bed that a title names where it says nothing else: ``Bed: T1``, ``T1 readings``; "" for none."""
        name = self.within(text) or numbered_in(text)
        if not name:
            return ""
        rest = [word for word in words_of(text) if word not in words_of(name)]
        return name if all(_says_nothing(word) or is_filler(word) for word in rest) else ""

    def _named(self, texts: Iterable[str]) -> Iterator[str]:
        for text in texts:
            parts = parts_of(text)
            name = self.exactly(text) or self.spelled.get(parts)
            if name and not (len(parts) == 1 and parts[0].isdigit()):
                yield name
            elif not name and looks_like_bed(text) and (known := self.find(text)):
                yield known


def _short_forms(parts: tuple[str, ...]) -> list[tuple[str, ...]]:
    """Shorter ways to say a name: without the word or letters for a bed, or with its first letter for the word."""
    return [parts[1:]] if _is_coded(parts) else _without_word(parts)


def _is_coded(parts: tuple[str, ...]) -> bool:
    """Whether a name is a letter or two and a number: ``T1``, ``B-02``."""
    word, *others = parts or ("",)
    return len(others) == 1 and word.isalpha() and len(word) <= 2 and others[0].isdigit() and not is_bed_word(word)


def _without_word(parts: tuple[str, ...]) -> list[tuple[str, ...]]:
    if len(parts) < 2:
        return []
    if is_bed_word(parts[0]):
        return [parts[1:], (parts[0][0], *parts[1:])]
    return [parts[:-1]] if is_bed_word(parts[-1]) else []


def numbered_in(text: str) -> str:
    """The words of a title that look like the name of a bed, or ""."""
    label, sign, name = text.partition(":")
    if sign and is_bed_word(label.strip()) and looks_like_bed(name):
        return name.strip()
    if looks_like_bed(text):
        return " ".join(text.replace(":", " ").split()) if sign and name.strip() else text.strip(" :")
    words = re.sub(r"[:,;()\[\]|]| - ", " ", text).split()
    for size in (2, 1):
        for start in range(len(words) - size + 1):
            name = " ".join(words[start : start + size])
            if looks_like_bed(name):
                return name
    return ""


def is_total(text: str) -> bool:
    """Whether a text stands in front of a row of totals."""
    return _TOTAL.fullmatch(text.casefold()) is not None


def may_be_name(cell: LogCell) -> bool:
    """Whether a text that stands alone may be the name of a bed: short, no heading, no month, no total."""
    text = cell.text.strip(" :")
    if looks_like_bed(text) or NUMBERED.fullmatch(text):
        return True
    return (
        is_text(cell)
        and len(text.split()) <= MOST_WORDS_OF_NAME
        and not is_generic(text)
        and not is_other(text)
        and not all_claims(text)
        and not is_total(text)
    )
