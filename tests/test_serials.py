"""Dates and number formats of workbooks are what openpyxl takes them for."""

from __future__ import annotations

import datetime
import os
import random
import subprocess
import sys
from pathlib import Path

import pytest
from openpyxl.styles.numbers import BUILTIN_FORMATS, is_date_format, is_timedelta_format
from openpyxl.utils.datetime import MAC_EPOCH, WINDOWS_EPOCH, from_excel

from growcells_workbooks.reading.inputs.serials import (
    SHORT_DATE,
    duration_of,
    known_formats,
    moment_of,
    shows_date,
    shows_duration,
)
from growcells_workbooks.recalculation.days import EPOCH_1900, EPOCH_1904
from log_books import ROOFTOP

SOURCES = [Path(__file__).parent.parent / folder for folder in ("functions", "addin", "workbooks")]
SERIALS = (
    *(0, 0.0, 0.25, 0.999999999999, 1, 1.5, 59, 59.5, 60, 60.5, 61, 61.5, 45977, 45977.5, 45977.999999999, 2_900_000.9),
    *(-1, -0.5, -400.25, 45977 + 1 / 3, 7.000000005787, 1e6),
)
FORMATS = (
    *BUILTIN_FORMATS.values(),
    *("yyyy-mm-dd", "[$-409]d-mmm-yy;@", "[h]:mm", "[HH]:mm:ss", "[mm]:ss", "[s]", "[ss].00", "[hhh]", "[Red]0.0"),
    *(
        '0.0 "days"',
        '0" g";[Red]d',
        '"hours "[h]',
        "General",
        "",
        "@",
        "_d0",
        r"\d0",
        "# ??/??",
        "DD.MM.YYYY",
        "[Blue]",
    ),
)


@pytest.mark.parametrize(("ours", "theirs"), [(EPOCH_1900, WINDOWS_EPOCH), (EPOCH_1904, MAC_EPOCH)])
def test_numbers_are_the_moments_and_durations_that_openpyxl_takes_them_for(
    ours: datetime.datetime, theirs: datetime.datetime
) -> None:
    assert ours == theirs
    chance = random.Random(7)
    for serial in (
        *SERIALS,
        *(chance.uniform(-10, 70) for _ in range(2000)),
        *(chance.uniform(0, 8e4) for _ in "x" * 2000),
    ):
        assert moment_of(serial, ours) == from_excel(serial, theirs)
        assert duration_of(serial) == from_excel(serial, theirs, timedelta=True)


@pytest.mark.parametrize("serial", [1e300, -1e300, 1e12, -1e12])
def test_no_year_is_so_far_away(serial: float) -> None:
    for function in (moment_of, from_excel):
        with pytest.raises(OverflowError):
            function(serial, EPOCH_1900)


def test_formats_show_what_openpyxl_says() -> None:
    chance = random.Random(8)
    made = ("".join(chance.choices('dmyhs0#[]";_\\ -@:', k=chance.randint(1, 12))) for _ in range(20_000))
    for number_format in (*FORMATS, *made):
        assert shows_date(number_format) == is_date_format(number_format), number_format
        assert shows_duration(number_format) == is_timedelta_format(number_format), number_format


def test_the_table_of_formats_is_openpyxls() -> None:
    assert known_formats() == BUILTIN_FORMATS
    assert known_formats()[14] == SHORT_DATE


def test_a_log_is_read_without_what_takes_longer_to_load_than_it() -> None:
    program = (
        "import sys\nfrom pathlib import Path\nfrom growcells_workbooks.gate import here\n"
        "from growcells_workbooks.log_check import check_log\n"
        "print(bool(check_log(Path(sys.argv[1]), run=here).lines))\n"
        "print([name for name in ('openpyxl', 'pint', 'numpy') if name in sys.modules])"
    )
    asked = [sys.executable, "-c", program, str(ROOFTOP)]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(map(str, SOURCES))}
    done = subprocess.run(asked, env=environment, capture_output=True, text=True, check=True)
    assert done.stdout.splitlines() == ["True", "[]"]
