"""Random logs of every layout: each value is read right or said not to be, and none is made up."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from growcells_workbooks.reading.mapping import load_map, map_text
from growcells_workbooks.reading.read import read_tables
from log_outcomes import outcome_of, run
from random_logs import made

LOGS = 300
ENOUGH = 0.98
"""The share of the values that must be read; all others must be listed as not understood."""
IN_FILES = range(40)


@pytest.mark.slow
def test_every_value_is_read_right_or_listed() -> None:
    totals: Counter[str] = Counter()
    for log, _, outcome in run(range(LOGS)):
        assert not outcome.wrong, f"seed {log.seed}, {log.layout}: {outcome.wrong[:3]}"
        assert not outcome.missing, f"seed {log.seed}, {log.layout}: {outcome.missing[:3]}"
        totals.update(right=outcome.right, said=outcome.said)
    assert totals["right"] >= ENOUGH * totals.total()
    assert totals.total() > LOGS


def test_every_cell_is_counted() -> None:
    for log, read, _ in run(range(LOGS, LOGS + 20)):
        filled = sum(len(page.cells) for page in log.pages)
        assert read.counts.filled == filled, f"seed {log.seed}, {log.layout}"


@pytest.mark.parametrize("seed", IN_FILES)
def test_a_file_is_read_as_its_cells_in_memory(tmp_path: Path, seed: int) -> None:
    from growcells_workbooks.reading import read_log

    log = made(seed)
    log.save(tmp_path / "log.xlsx")
    from_file = read_log(tmp_path / "log.xlsx")
    from_memory = read_tables(log.sheets(), tmp_path / "log.xlsx")
    assert from_file.readings == from_memory.readings
    assert not outcome_of(log, from_file).wrong


def test_the_mapping_file_of_a_log_reads_it_alike(tmp_path: Path) -> None:
    """What growcells writes of a log, unchanged, changes nothing."""
    path, readings = tmp_path / "log.map.toml", 0
    for seed in range(LOGS, LOGS + 60):
        log = made(seed)
        alone = read_tables(log.sheets(), path)
        path.write_text(map_text(alone), "utf-8")
        mapped = read_tables(log.sheets(), path, load_map(path))
        assert mapped.readings == alone.readings, f"seed {seed}, {log.layout}"
        readings += len(alone.readings)
    assert readings > LOGS
