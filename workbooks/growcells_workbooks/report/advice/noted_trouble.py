"""Notes of the week that speak of trouble: wilting, yellow leaves, slime, dead plants; ``data/trouble_words.csv``."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from ...data import read_data
from ...reading.model import name_key
from ..figures.in_words import day_of
from ..figures.week_figures import BedWeek, Figures
from .action import Action, Urgency

DENIED = (
    r"(?:\b(?:no|not|none|never|without|nothing|zero|free of|free from|gone|isn't|aren't|wasn't|weren't|don't|didn't|"
    r"doesn't|no more|no longer|instead of)\b[^.;,!?]{0,24})$"
)
"""Before a word of trouble in its clause: what is not there."""
OVER = r"^[^.;,!?]{0,24}\b(?:gone|over|cleared|recovered|resolved|free|none|0)\b|^-free\b|^\s*[:=]\s*(?:no|none|0)\b"
"""After a word of trouble: what was."""
MARKS = re.compile(r"[‘’ʼ]")
LONGEST_NOTE = 90
"""Signs of a note that are quoted; our choice, so that it takes no more than three lines."""


@dataclass(frozen=True)
class Trouble:
    """A kind of trouble, the words by which it is known, and what to do first."""

    name: str
    words: re.Pattern[str]
    what_to_do: str


@cache
def troubles() -> tuple[Trouble, ...]:
    """All kinds of trouble."""
    found = []
    for row in read_data("trouble_words.csv"):
        words = sorted(row["words"].split("|"), key=len, reverse=True)
        either = "|".join(re.escape(word).replace(r"\ ", r"\s+") for word in words)
        found.append(Trouble(row["trouble"], re.compile(rf"(?<![\w-])(?:{either})(?![\w-])"), row["what_to_do"]))
    return tuple(found)


def troubles_in(note: str) -> list[Trouble]:
    """The kinds of trouble that a note speaks of, without those that it says are not there."""
    text = MARKS.sub("'", note).casefold()
    return [trouble for trouble in troubles() if any(_meant(text, found) for found in trouble.words.finditer(text))]


def _meant(text: str, found: re.Match[str]) -> bool:
    before, after = text[: found.start()], text[found.end() :]
    if found[0].startswith(("no ", "not ")):  # such as "no air", which is the trouble itself
        return True
    return not re.search(DENIED, before) and not re.search(OVER, after)


def trouble_noted(figures: Figures, bed: BedWeek) -> Iterator[Action]:
    """Trouble that a note of the week speaks of: what to look at, and the note itself."""
    told: dict[str, tuple[Trouble, list[str]]] = {}
    for day, note in _notes(figures, bed):
        for trouble in troubles_in(note):
            told.setdefault(trouble.name, (trouble, []))[1].append(f"{day_of(day)}: “{_quoted(note)}”")
    if not told:
        return
    notes = list(dict.fromkeys(said for _, quoted in told.values() for said in quoted))
    yield Action(
        Urgency.TODAY,
        "trouble",
        bed.name,
        " ".join(trouble.what_to_do for trouble, _ in told.values()),
        f"The notes of the week speak of {', '.join(told)}. {'; '.join(notes)}.",
        f"noted {notes[-1]}" if len(notes) == 1 else f"{len(notes)} notes, the latest {notes[-1]}",
    )


def _notes(figures: Figures, bed: BedWeek) -> Iterator[tuple[datetime.date, str]]:
    """The notes of the week on a bed: beside its readings, its fills and its harvests."""
    key = name_key(bed.name)
    log, week = figures.log, figures.week
    entries = [(reading.date, reading.notes) for reading in bed.in_week]
    entries += [(fill.date, fill.notes) for fill in log.fills if name_key(fill.bed) == key and fill.date in week]
    entries += [
        (cut.date, cut.notes) for cut in log.harvests if name_key(cut.bed) == key and cut.date and cut.date in week
    ]
    yield from sorted((day, note) for day, note in entries if note and day <= figures.as_of)


def _quoted(note: str) -> str:
    short = " ".join(note.split())
    return short if len(short) <= LONGEST_NOTE else f"{short[: LONGEST_NOTE - 1].rstrip()}…"
