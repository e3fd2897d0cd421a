"""Files that ask for too much, or are broken: each command refuses or copes within seconds and bounded memory."""

from __future__ import annotations

import os
import random
import re
import sys
import zipfile
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from lxml import etree
from PIL import Image

from growcells_workbooks.gate.safe_xml import literal
from growcells_workbooks.sheets.print_setup import LONGEST_FOOTER
from hostile_files import (
    CORE,
    STYLES,
    changed,
    corrupt,
    encrypted,
    large_png,
    log_with,
    many_styles,
    named_long,
    packed_oddly,
    padded,
    starter,
    swelling,
    write_readings,
)
from processes import Done, measured
from recalc_books import read_values, write_book
from report_books import report_book

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(sys.platform != "linux", reason="NOT TESTED: time and memory are measured on Linux"),
]
SECONDS, MEMORY = 19, 1.5e9
"""What each command may take [s, bytes]: ours, so that nobody waits and no machine swaps. Of 20 s one is left to the
start of Python, which a copied process does not take."""
PATIENCE = 6.0
"""How many times longer a test may take than the command: machines that run tests do other things as well."""
COMMANDS = ("recalc", "check", "report", "clear-examples")
Rows = Sequence[Sequence[object]]
BEDS: Rows = [["Bed", "Crop", "Volume gal"], ["T1", "basil", 30], ["T2", "basil", 30]]


def run(*arguments: str | Path) -> Done:
    """Run a command within its limits, and without a traceback."""
    done = measured(*arguments)
    assert done.processor < SECONDS and done.seconds < PATIENCE * SECONDS, done
    assert done.memory < MEMORY, done
    assert "Traceback" not in done.complaint and "fault of growcells" not in done.complaint, done.complaint
    return done


def refused(*arguments: str | Path) -> str:
    """The one sentence with which a command refuses."""
    done = run(*arguments)
    assert done.code == 1 and len(done.complaint.splitlines()) == 1, done
    return done.complaint


@pytest.mark.parametrize("command", ["recalc", "check", "report"])
def test_texts_that_double_each_other(tmp_path: Path, command: str) -> None:
    book = swelling(tmp_path / "log.xlsx")
    assert book.stat().st_size < 10_000
    run(command, book)
    assert [path.name for path in tmp_path.iterdir()] in (["log.xlsx"], ["log.computed.xlsx", "log.xlsx"])


FAULTS: dict[str, tuple[Callable[[Path], None], str]] = {
    "huge properties": (changed(CORE, padded(300 * 2**20)), "docProps/core.xml has 300 MiB"),
    "encrypted properties": (encrypted(CORE), "protected by a password"),
    "oddly packed properties": (packed_oddly(CORE), "packed in an unknown way"),
    "corrupt properties": (corrupt(CORE), "damaged or cut short in its part docProps/core.xml"),
    "huge style sheet": (changed(STYLES, padded(60 * 2**20)), "xl/styles.xml has 60 MiB"),
    "many styles": (changed(STYLES, many_styles), "xl/styles.xml has 41 MiB"),
}


@pytest.mark.parametrize("name", FAULTS)
def test_the_same_sentence_from_every_command(tmp_path: Path, name: str) -> None:
    log = starter(tmp_path / "log.xlsx")
    change, words = FAULTS[name]
    change(log)
    sentences = {refused(command, log) for command in COMMANDS}
    assert len(sentences) == 1 and words in sentences.pop()
    assert [path.name for path in tmp_path.iterdir()] == ["log.xlsx"]


def test_a_map_with_a_number_of_thousands_of_digits(tmp_path: Path) -> None:
    log, mapping = starter(tmp_path / "log.xlsx"), tmp_path / "map.toml"
    mapping.write_text("a = " + "9" * 5000)
    for command in ("check", "report"):
        assert "thousands of digits" in refused(command, log, "--map", mapping)
    mapping.write_text("a = " + "[" * 100_000)
    assert "is no mapping file" in refused("check", log, "--map", mapping)


def test_a_long_text_where_a_size_is_meant(tmp_path: Path) -> None:
    book = named_long(tmp_path / "log.xlsx")
    assert "a text of 32,767 characters" in run("recalc", book).said
    assert "a text of 32,767 characters" in run("check", book).said
    long = "5 " + "m" * 32_765
    beds: Rows = [["Bed", "Length in", "Width in", "Water in", "Volume gal"], ["T1", long, 20, 6, long]]
    readings: Rows = [["Date", "Bed", "pH", "EC " + "m" * 32_000], ["2026-11-16", "T1", long, 1]]
    log = log_with(tmp_path / "beds.xlsx", beds, readings)
    run("check", log)
    run("report", log, "--week", "2026-W47")


def test_a_text_of_thousands_of_figures_where_a_day_is_meant(tmp_path: Path) -> None:
    rows: Rows = [["Date", "Bed", "pH"], ["2026-11-16", "T1", 6], ["9" * 15_000, "T1", 6], ["²", "T1", 6]]
    log = log_with(tmp_path / "log.xlsx", BEDS, rows)
    run("check", log)
    assert run("report", log, "--week", "2026-W47").code == 0


def test_ranges_of_the_whole_sheet(tmp_path: Path) -> None:
    """Also within a growcells function: the engine would look at 17 milliard cells."""
    formulas = {
        "A1": "=GROW_DOSE(MAX(CONVERT(A:XFD,1,1)),2)",
        "B1": "=SUM(A1:XFD1048576)",
        "C1": "=GROW_DOSE(5,2)",
        "D1": "=GROW_DOSE(128+,2)",
    }
    said = run("recalc", write_book(tmp_path / "log.xlsx", formulas)).said
    assert "its range is too large" in said and "an operator without a value" in said


def test_a_loop_without_end(tmp_path: Path) -> None:
    book = write_book(tmp_path / "log.xlsx", {"A1": "=GROW_SEEDS_PER_SITE(1E-30,0.95)"})
    assert "more than a billion seeds" in run("recalc", book).said


@pytest.mark.parametrize("heading", ["Temp C", "Temp F", "20 C", "Water temp. F", "Temp °C"])
def test_ordinary_temperatures(tmp_path: Path, heading: str) -> None:
    """None of them ends in a fault; what each means is tested where logs are read."""
    rows: Rows = [["2026-11-16", "T1", 6.0, 20], ["2026-11-17", "T1", 6.1, "20 C"], ["2026-11-18", "T2", 6.2, "67F"]]
    log = log_with(tmp_path / "log.xlsx", BEDS, [["Date", "Bed", "pH", heading], *rows])
    run("check", log)
    assert run("report", log, "--week", "2026-W47").code == 0


@pytest.mark.parametrize("value", [1e300, 1.7e308, -1.7e308, 5e-324])
@pytest.mark.parametrize("day", [2958465, 2958466, 1e300, -5, "9999-12-31"])
def test_dates_and_values_that_overflow(tmp_path: Path, day: object, value: float) -> None:
    beds: Rows = [["Bed", "Crop", "Volume gal", "Feed", "g/gal"], ["T1", "basil", value, "A", value]]
    rows: Rows = [[f"2026-11-{16 + n}", "T1", 6.0 if n % 2 else value, value, value, value] for n in range(5)]
    headings = ["Date", "Bed", "pH", "EC mS", "water in", "added gal"]
    log = log_with(tmp_path / "log.xlsx", beds, [headings, [day, "T1", value, value, value, value], *rows])
    for arguments in (
        ("report", log, "--week", "2026-W47"),
        ("season", log, "--output", tmp_path / "season.xlsx"),
        ("export", log, "--output", tmp_path / "tables"),
    ):
        done = run(*arguments)
        assert done.code == 0 or "far beyond any reading" in done.complaint


CIRCLES: dict[str, dict[str, object]] = {
    "single values": {
        "A1": "=GROW_DOSE(IF(A2>5,1,9),1)",
        "A2": "=GROW_DOSE(IF(A3>5,1,9),1)",
        "A3": "=GROW_DOSE(IF(A1>5,1,9),1)",
    },
    "many": {f"A{row}": f"=GROW_DOSE(IF(A{row % 3001 + 1}>5,1,9),1)" for row in range(1, 3002)},
}


@pytest.mark.parametrize("name", CIRCLES)
def test_calls_in_a_circle(tmp_path: Path, name: str) -> None:
    """Which never settle: each call gives another value when the one that it rests on does."""
    said = run("recalc", write_book(tmp_path / "log.xlsx", CIRCLES[name])).said
    assert "in too long a row of growcells functions, or in a circle" in said


def test_rows_that_rest_on_the_row_below(tmp_path: Path) -> None:
    """Computed from the last to the first, in as few rounds as from the first to the last."""
    rows = 3000
    formulas = {f"A{row}": f"=GROW_DOSE(A{row + 1},1)" for row in range(1, rows)}
    done = run("recalc", write_book(tmp_path / "log.xlsx", {**formulas, f"A{rows}": 5}))
    assert done.code == 0 and f"{rows - 1:,} values changed" in done.said


WHOLE_COLUMNS: dict[str, dict[str, object]] = {
    "one formula": {
        "C1": '=GROW_HEAT_TIME("100 L",15,20,A1:A5<=A:A)',
        "D1": '=GROW_TOPUP("100 L","50 L","1.2 mS/cm","1.6 mS/cm","1 g/L"&A:A,0.4)',
    },
    "many formulas": {f"C{row}": f'=GROW_HEAT_TIME("100 L",15,{row},A1:A5<=A:A)' for row in range(1, 41)},
    "ranges that reach to the last row": {f"C{row}": f"=GROW_DOSE(A{row}:A1048576,2)" for row in range(1, 41)},
    "ranges that grow by a row": {f"C{row}": f"=GROW_COST_HEAD($A$1:A{row},40)" for row in range(1, 5001)},
}


@pytest.mark.parametrize("name", WHOLE_COLUMNS)
def test_whole_columns_in_growcells_functions(tmp_path: Path, name: str) -> None:
    """Of which a function would compute each of a million rows; what is not computed is said."""
    typed = {f"A{row}": row % 7 + 1 for row in range(1, 30)}
    said = run("recalc", write_book(tmp_path / "log.xlsx", {**WHOLE_COLUMNS[name], **typed})).said
    assert "its range is too large, with those that other growcells functions read" in said


COUNTED = ("FACT(?)", "FACTDOUBLE(?)", "COMBIN(?,?)", "COMBINA(1,?)", "PERMUT(?,?)", "MULTINOMIAL(2,?)", "BASE(5,2,?)")


def test_numbers_up_to_which_the_engine_counts(tmp_path: Path) -> None:
    """Typed in the formula, as a number or a text in a cell, in a range: what has no end is kept, the rest computed."""
    cells: dict[str, object] = {"A1": 1e308, "A2": "1E10", "A3": 5, "D1": "=FACT(A3)", "D2": "=COMBIN(10,A3)"}
    given = ("1E308", "A1", "A2", "A2+0", "A1:A2")
    for row, formula in enumerate(COUNTED, 1):
        for column, number in zip("FGHIJ", given, strict=True):
            cells[f"{column}{row}"] = "=" + formula.replace("?", number)
    cells |= {"D3": "=MULTINOMIAL(A3:A3,1)", "D4": "=COMBIN(TODAY(),1)=TODAY()", "D5": "=FACT()"}
    book = write_book(tmp_path / "log.xlsx", cells)
    run("recalc", book, "--output", tmp_path / "out.xlsx")
    value = read_values(tmp_path / "out.xlsx")
    assert [value(f"D{row}") for row in (1, 2, 3, 4)] == [120, 252, 6, True]


# ---- what goes into a report


def test_photos_that_ask_for_too_much(tmp_path: Path) -> None:
    """A JPEG of any size is unpacked at a fraction of it; other pictures of 169 million pixels are refused."""
    log = log_with(tmp_path / "log.xlsx", BEDS, [["Date", "Bed", "pH"], ["2026-11-16", "T1", 6.0]])
    photos = tmp_path / "photos"
    photos.mkdir()
    Image.new("RGB", (13_000, 13_000), "green").save(photos / "2026-11-16 T1.jpg", quality=50)
    large_png(photos / "2026-11-17 T2.png", 13_000)
    os.mkfifo(photos / "2026-11-03 T1.jpg")
    (photos / "2026-11-04 T2.jpg").write_bytes(b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n")
    done = run("report", log, "--photos", photos, "--week", "2026-W47")
    assert done.code == 0 and done.complaint == "", done.complaint
    assert "1 photo shown" in done.said and "3 not used" in done.said
    book = report_book(tmp_path / "log.week.xlsx")
    told = [str(cell.value) for sheet in book for row in sheet.iter_rows() for cell in row]
    for words in ("13000 × 13000 pixels", "is a pipe or a device", "its format is not known"):
        assert any(words in text for text in told), words


def test_characters_that_no_workbook_holds(tmp_path: Path) -> None:
    """In the name of a bed, which stands in tables, charts and their titles."""
    log = tmp_path / "log.csv"
    rows = "".join(f"2026-11-{16 + day},T\x19,6.{day},1.{day}\n" for day in range(5))
    log.write_text(f"Date,Bed,pH,EC mS/cm\n{rows}", "utf-8")
    assert run("report", log, "--week", "2026-W47").code == 0


HIDDEN = "_x003D_1+1"


def decoded(text: str) -> str:
    """A text as a reader shows it that knows escapes (ISO/IEC 29500-1, 22.9.2.19)."""
    return re.sub("_x([0-9A-Fa-f]{4})_", lambda match: chr(int(match[1], 16)), text)


def test_a_text_that_a_reader_would_make_a_formula_of(tmp_path: Path) -> None:
    """Every text in the report reads as it stands in the log, also by a reader that decodes escapes."""
    name = literal(HIDDEN)
    beds: Rows = [["Bed", "Crop", "Volume gal"], [name, name, 30]]
    log = log_with(tmp_path / "log.xlsx", beds, [["Date", "Bed", "pH"], ["2026-11-16", name, 6.0]])
    assert run("report", log, "--week", "2026-W47").code == 0
    with zipfile.ZipFile(tmp_path / "log.week.xlsx") as package:
        # Titles of charts are DrawingML, whose texts know no escapes.
        names = [name for name in package.namelist() if name.startswith(("xl/worksheets/", "xl/sharedStrings"))]
        parts = [package.read(name) for name in names if name.endswith(".xml")]
    texts = [decoded(str(text)) for part in parts for text in etree.fromstring(part).itertext()]
    assert any(HIDDEN in text for text in texts)
    assert not any(text.startswith("=1+1") for text in texts)


def test_a_bed_whose_name_looks_like_a_cell(tmp_path: Path) -> None:
    """Neither the title of a chart nor the name of a line in it becomes a reference to that cell."""
    name = "Bed!A1"
    log = log_with(
        tmp_path / "log.xlsx", [BEDS[0], [name, "basil", 30]], [["Date", "Bed", "pH"], ["2026-11-16", name, 6]]
    )
    assert run("report", log, "--week", "2026-W47").code == 0
    with zipfile.ZipFile(tmp_path / "log.week.xlsx") as package:
        charts = [etree.fromstring(package.read(part)) for part in package.namelist() if "/charts/" in part]
    texts = [(*chart.itertext("{*}t"), *chart.itertext("{*}v")) for chart in charts]
    assert len(charts) == 3 and all(
        f"{name}, low" in shown and shown[0].startswith(f"{name}, basil: ") for shown in texts
    )


def test_texts_that_look_like_escapes() -> None:
    assert literal(HIDDEN) == "_x005F_x003D_1+1"
    assert literal("_x00zz_ x_y _xABCD") == "_x00zz_ x_y _xABCD"


def test_a_long_name(tmp_path: Path) -> None:
    log = log_with(tmp_path / f"{'n&' * 120}.xlsx", BEDS, [["Date", "Bed", "pH"], ["2026-11-16", "T1", 6.0]])
    assert len(log.name) == 245
    output = tmp_path / "week.xlsx"
    assert run("report", log, "--week", "2026-W47", "--output", output).code == 0
    for sheet in report_book(output):
        footer = sheet.oddFooter
        assert footer is not None
        written = f"&L{footer.left}&R{footer.right}"
        assert len(written) <= LONGEST_FOOTER
        assert written.count("n&&") > 20 and "page &P of &N" in written


def test_bytes_that_are_no_text_in_a_name(tmp_path: Path) -> None:
    """Linux names files by bytes; such a name goes through, and what cannot be written of it is left out."""
    log = Path(os.fsdecode(os.fsencode(tmp_path) + b"/log\xff.xlsx"))
    log_with(tmp_path / "plain.xlsx", BEDS, [["Date", "Bed", "pH"], ["2026-11-16", "T1", 6.0]]).rename(log)
    assert run("report", log, "--week", "2026-W47", "--output", tmp_path / "week.xlsx").code == 0
    run("check", log, "--write-map")
    assert run("recalc", log, "--output", tmp_path / "out.xlsx").code == 0


# ---- large logs


@pytest.fixture(scope="module")
def large_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """100,000 rows of 10 cells."""
    return write_readings(tmp_path_factory.mktemp("large") / "log.xlsx", 100_000)


@pytest.mark.parametrize("command", ["check", "report", "recalc"])
def test_a_large_log(large_log: Path, command: str) -> None:
    done = run(command, large_log)
    print(f"{command} of 100,000 rows: {done.processor:.1f} s of the processor, {done.memory / 1e6:.0f} MB")
    assert done.complaint == ""


def test_logs_with_anything_in_any_place(tmp_path: Path) -> None:
    """Headings and cells by chance, of which none may end in a fault."""
    choose = random.Random(5)
    words = ["Date", "Bed", "pH", "EC", "Temp C", "20 C", "67F", "=1+1", "_x003D_1", "1e999", 1e300, -1, 46351, "T1"]
    for number in range(6):
        rows: Rows = [[choose.choice(words) for _ in range(6)] for _ in range(12)]
        log = log_with(tmp_path / f"{number}.xlsx", rows[:4], rows[4:])
        run("check", log)
        run("report", log, "--week", "2026-W47")
