"""Logs with one slip of the hand in each: a cell forgotten, a note typed, a row or a column put in.

``python tests/slips_of_hand.py --logs 5000`` prints by slip what became of the values. What a slip makes unclear may be
said to be unread; it must not be read as something else.
"""

from __future__ import annotations

import argparse
import random
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from openpyxl.utils import get_column_letter
from openpyxl.utils.cell import coordinate_to_tuple

from growcells_workbooks.reading.read import read_tables
from log_outcomes import Outcome, outcome_of
from log_pages import Made, Page
from random_logs import made

FIRST = 5_000_000
"""The seed of the first log; no other run begins there."""
NOTES = (
    *("leaf tips burnt", "check pump", "refilled", "rain", "harvest soon", "see other sheet", "?", "ok", "Note"),
    *("new batch", "calibrated the pen", "total", "done", "last week"),
)
Place = tuple[int, int]


def name_of(place: Place) -> str:
    """The name of a cell, such as B3."""
    return f"{get_column_letter(place[1])}{place[0]}"


def move(log: Made, page: Page, by: Callable[[Place], Place]) -> None:
    """Move the cells of a page, and the truth with them."""
    page.cells = {by(place): cell for place, cell in page.cells.items()}
    page.merged = [(*by(area[:2]), *by(area[2:])) for area in page.merged]
    log.truths = [
        replace(truth, cell=name_of(by(coordinate_to_tuple(truth.cell)))) if truth.sheet == page.title else truth
        for truth in log.truths
    ]


def forget_a_cell(choose: random.Random, log: Made, page: Page) -> None:
    """Take out a heading, a name, a date or a unit."""
    values = {truth.cell for truth in log.truths if truth.sheet == page.title}
    others = [place for place in page.cells if name_of(place) not in values]
    if others:
        del page.cells[choose.choice(others)]


def type_a_note(choose: random.Random, log: Made, page: Page) -> None:
    """Write a few words where nothing stood."""
    last = max(column for _, column in page.cells) + 2
    covered = {
        (row, column)
        for top, left, bottom, right in page.merged
        for row in range(top, bottom + 1)
        for column in range(left, right + 1)
    }
    blank = [(row, column) for row in range(1, page.bottom + 3) for column in range(1, last + 1)]
    place = choose.choice([place for place in blank if place not in page.cells and place not in covered])
    page.cells[place] = (choose.choice(NOTES), "General")


def put_a_row_in(choose: random.Random, log: Made, page: Page) -> None:
    """Put a blank row between others, or two."""
    first, count = choose.choice(list(page.cells))[0], choose.choice((1, 2))
    move(log, page, lambda place: (place[0] + (count if place[0] >= first else 0), place[1]))


def put_a_column_in(choose: random.Random, log: Made, page: Page) -> None:
    """Put a blank column between others."""
    first = choose.choice(list(page.cells))[1]
    move(log, page, lambda place: (place[0], place[1] + (place[1] >= first)))


def move_all(choose: random.Random, log: Made, page: Page) -> None:
    """Begin some rows and columns further in."""
    down, right = choose.randint(1, 3), choose.randint(0, 3)
    move(log, page, lambda place: (place[0] + down, place[1] + right))


def write_headings_again(choose: random.Random, log: Made, page: Page) -> None:
    """Write what stands beside values once more below, such as headings for rows to come."""
    values = {truth.cell for truth in log.truths if truth.sheet == page.title}
    others = [place for place in page.cells if name_of(place) not in values]
    if others:
        row, below = choose.choice(others)[0], page.bottom + choose.choice((1, 2, 3))
        page.cells |= {(below, place[1]): page.cells[place] for place in others if place[0] == row}


SLIPS = (forget_a_cell, forget_a_cell, type_a_note, put_a_row_in, put_a_column_in, move_all, write_headings_again)


def slipped(seed: int) -> tuple[str, Made]:
    """A random log with one slip, and which."""
    choose = random.Random(seed)
    whole = made(FIRST + seed)
    pages = [Page(page.title, dict(page.cells), list(page.merged)) for page in whole.pages]
    log = Made(whole.seed, whole.layout, pages, list(whole.truths))
    slip = choose.choice(SLIPS)
    slip(choose, log, choose.choice([page for page in pages if page.cells]))
    return slip.__name__.replace("_", " "), log


def run(seeds: Sequence[int]) -> Iterator[tuple[str, Made, Outcome]]:
    """Read logs with a slip and hold them against their truth."""
    for seed in seeds:
        slip, log = slipped(seed)
        outcome = outcome_of(log, read_tables(log.sheets(), Path("log.xlsx")))
        # A mass is read without the number of its plant or the day of its harvest where those are forgotten.
        outcome.wrong = [wrong for wrong in outcome.wrong if wrong[0][-1] not in ("", None)]
        yield slip, log, outcome


def counted(seeds: Sequence[int], show: Callable[[str], None] = lambda line: None) -> dict[str, Counter[str]]:
    """What became of the values of logs, by slip; each log with a wrong value is shown."""
    totals: dict[str, Counter[str]] = {}
    for seed, (slip, log, outcome) in zip(seeds, run(seeds), strict=True):
        totals.setdefault(slip, Counter()).update(
            logs=1, right=outcome.right, said=outcome.said, missing=len(outcome.missing), wrong=len(outcome.wrong)
        )
        if outcome.wrong:
            show(f"{seed} {log.layout}, {slip}: {outcome.wrong[:2]}")
    return totals


def main(arguments: Sequence[str] | None = None) -> None:
    """Print what became of the values of many logs, by slip."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--logs", type=int, default=5000)
    parser.add_argument("--first", type=int, default=0)
    given = parser.parse_args(arguments)
    totals = counted(range(given.first, given.first + given.logs), print)
    names = ("logs", "right", "said", "missing", "wrong")
    print(f"{'slip':<24}" + "".join(f"{name:>10}" for name in names))
    for slip, of in [*totals.items(), ("all", sum(totals.values(), Counter()))]:
        print(f"{slip:<24}" + "".join(f"{of[name]:>10,}" for name in names))


if __name__ == "__main__":
    main()
