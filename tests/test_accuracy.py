"""The table of functions/README.md that tells how near other programs our answers are, measured anew."""

from __future__ import annotations

import pytest

from accuracy import FAMILIES, README, Family


@pytest.mark.slow
@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.what)
def test_each_row_is_what_was_measured(family: Family) -> None:
    row = family.row()
    print(row)
    assert row in README.read_text("utf-8").splitlines()


def test_the_table_lists_every_family_and_no_other() -> None:
    rows = [line for line in README.read_text("utf-8").partition("| what | against |")[2].splitlines()[2:] if line]
    told = [row.split(" | ")[0].removeprefix("| ") for row in rows[: len(FAMILIES)]]
    assert told == [family.what for family in FAMILIES]
