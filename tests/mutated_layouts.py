"""Logs of every layout, their rows and columns moved by chance, for the fuzz test."""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Callable, Sequence

from log_pages import Made, Page
from random_logs import made

LOGS = 1_000_000
"""Seeds of logs to choose from."""

Cells = dict[tuple[int, int], tuple[object, str]]
Move = Callable[[random.Random, Cells, int], Cells]


def take_rows_out(choose: random.Random, cells: Cells, row: int) -> Cells:
    count = choose.choice((1, 1, 3))
    kept = {place: cell for place, cell in cells.items() if not row <= place[0] < row + count}
    return {(at - count if at > row else at, column): cell for (at, column), cell in kept.items()}


def put_a_row_in(choose: random.Random, cells: Cells, row: int) -> Cells:
    return {(at + (at >= row), column): cell for (at, column), cell in cells.items()}


def write_rows_again(choose: random.Random, cells: Cells, row: int) -> Cells:
    """Write some rows once more further down, over what stands there."""
    last, by = row + choose.choice((1, 5, 20)), choose.randrange(40)
    return cells | {(at + by, column): cell for (at, column), cell in cells.items() if row <= at < last}


def turn(choose: random.Random, cells: Cells, row: int) -> Cells:
    """Make rows of columns."""
    return {(column, at): cell for (at, column), cell in cells.items()}


def swap_two(choose: random.Random, cells: Cells, row: int) -> Cells:
    one, other = choose.choice(list(cells)), choose.choice(list(cells))
    return cells | {one: cells[other], other: cells[one]}


MOVES: tuple[Move, ...] = (take_rows_out, put_a_row_in, write_rows_again, turn, swap_two)


def moved(choose: random.Random, page: Page) -> Page:
    """A page with some of its rows or columns moved."""
    cells = page.cells
    for _ in range(choose.choice((0, 1, 1, 2))):
        if not cells:
            break
        across = choose.random() < 0.4
        cells = turn(choose, cells, 0) if across else cells
        cells = choose.choice(MOVES)(choose, cells, choose.choice([row for row, _ in cells]))
        cells = turn(choose, cells, 0) if across else cells
    return Page(page.title, cells, page.merged)


def moved_log(choose: random.Random) -> Made:
    """A log of some layout with some of its rows or columns moved."""
    log = made(choose.randrange(LOGS))
    return Made(log.seed, log.layout, [moved(choose, page) for page in log.pages], [])


def delimited(pages: Sequence[Page]) -> bytes:
    """The page with the most rows, as text."""
    page = max(pages, key=lambda page: page.bottom)
    text = io.StringIO(newline="")
    last = max((column for _, column in page.cells), default=1)
    csv.writer(text).writerows(
        [page.cells.get((row, column), ("", ""))[0] for column in range(1, last + 1)]
        for row in range(1, page.bottom + 1)
    )
    return text.getvalue().encode()
