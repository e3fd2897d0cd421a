"""Which formulas read which cells: what a change reaches."""

from __future__ import annotations

import contextlib
from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Set
from graphlib import CycleError, TopologicalSorter

from .cells import Area
from .readings import Reading

CellPlace = tuple[str, int, int]
"""The name of a cell's sheet, its row and column."""

_BLOCK = 64  # rows that share an entry of the index
_MOST_ENTRIES = 256  # a range over more blocks than that is looked through on its own


def unread(sheets: Set[str], readings: Iterable[Reading]) -> Set[str]:
    """Those of some sheets of which no formula reads a cell, so that the engine need not have them filled."""
    left = set(sheets)
    for reading in readings:
        if reading.anywhere:
            return frozenset()
        left.difference_update(sheet for sheet, _ in reading.areas)
    return left


class Readers:
    """An index of formulas by the cells that they read."""

    def __init__(self, read: Iterable[tuple[CellPlace, Iterable[tuple[str, Area]]]]) -> None:
        self._single: dict[CellPlace, list[CellPlace]] = {}
        self._blocks: dict[CellPlace, list[tuple[Area, CellPlace]]] = {}
        self._large: dict[str, dict[Area, list[CellPlace]]] = {}
        for reader, areas in read:
            for sheet, area in areas:
                self._enter(reader, sheet, area)

    def _enter(self, reader: CellPlace, sheet: str, area: Area) -> None:
        if area.rows == area.columns == 1:
            self._single.setdefault((sheet, area.first_row, area.first_column), []).append(reader)
            return
        first, last = area.first_row // _BLOCK, area.last_row // _BLOCK
        if (last - first + 1) * area.columns > _MOST_ENTRIES:
            self._large.setdefault(sheet, {}).setdefault(area, []).append(reader)
            return
        for block in range(first, last + 1):
            for column in range(area.first_column, area.last_column + 1):
                self._blocks.setdefault((sheet, block, column), []).append((area, reader))

    def of(self, place: CellPlace) -> Iterator[CellPlace]:
        """The formulas that read a cell; one that names it twice comes twice."""
        sheet, row, column = place
        yield from self._single.get(place, ())
        for area, reader in self._blocks.get((sheet, row // _BLOCK, column), ()):
            if area.has(row, column):
                yield reader
        for area, readers in self._large.get(sheet, {}).items():
            if area.has(row, column):
                yield from readers

    def reached(self, from_: Iterable[CellPlace], among: Mapping[CellPlace, object]) -> dict[CellPlace, CellPlace]:
        """The formulas that read these cells, directly or through one another, and the first one each rests on."""
        rests_on: dict[CellPlace, CellPlace] = {}
        waiting = deque((place, place) for place in from_)
        while waiting:
            read, origin = waiting.popleft()
            for reader in self.of(read):
                if reader in among and reader not in rests_on:
                    rests_on[reader] = origin
                    waiting.append((reader, origin))
        return rests_on

    def circles(self, among: Mapping[CellPlace, object]) -> list[CellPlace]:
        """The cells that read one another in circles, with those between two circles."""
        readers = {place: [reader for reader in self.of(place) if reader in among] for place in among}
        left = _behind_circles(readers)
        read: dict[CellPlace, list[CellPlace]] = {place: [] for place in left}
        for place in left:
            for reader in readers[place]:
                if reader in read:
                    read[reader].append(place)
        return _behind_circles(read)


def _behind_circles(after: Mapping[CellPlace, Iterable[CellPlace]]) -> list[CellPlace]:
    """The cells that have a circle after them, or are in one."""
    graph = TopologicalSorter(after)
    with contextlib.suppress(CycleError):
        graph.prepare()
    free: set[CellPlace] = set()
    while ready := graph.get_ready():
        free.update(ready)
        graph.done(*ready)
    return [place for place in after if place not in free]
