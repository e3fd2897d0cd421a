"""The starter log: its formulas, its dropdowns, and the way from it to a report, with LibreOffice and without."""

from __future__ import annotations

import datetime
import math
import re
import shutil
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from openpyxl.worksheet.worksheet import Worksheet
from openxml_audit import OpenXmlValidator  # type: ignore[import-untyped]

from growcells import CellError, functions
from growcells_workbooks.gate import FileProblem
from growcells_workbooks.reading import Fate, read_log
from growcells_workbooks.recalculation import recalculate
from growcells_workbooks.report import build_report
from growcells_workbooks.starter import clear_examples, new_log
from growcells_workbooks.starter.guide import CLEAR
from libreoffice import RunningOffice
from log_books import ROOFTOP
from report_books import report_book, row_of
from stand_ins.comparison import assert_same
from stand_ins.excel import office_excel, windows_excel
from us_units import CUBIC_INCHES_IN_GALLON, GRAMS_IN_POUND, LITRES_IN_GALLON

pytestmark = pytest.mark.slow  # each test computes or reads a whole log

DAY = datetime.date(2026, 11, 22)
BOX = 42 * 31 * 6 / CUBIC_INCHES_IN_GALLON
METRIC_BOX = 107 * 79 * 15 / 1000 / LITRES_IN_GALLON
OVAL = (math.pi / 4 * 24**2 + (48 - 24) * 24) * 8 / CUBIC_INCHES_IN_GALLON
ROUND = math.pi * 11**2 * 18 / CUBIC_INCHES_IN_GALLON
RATE, HALF_RATE = 1.8, 0.9
"""Of the feeds of the examples [g/gal]."""
EXPECTED = {
    "Beds.K6": BOX,
    "Beds.K7": ROUND,  # its diameter is typed as 22 in and its depth as 1 ft 6 in
    "Beds.L6": BOX * RATE,
    "Costs.C6": BOX * RATE,
    "Costs.D6": BOX * RATE / (5 * GRAMS_IN_POUND) * 14,
    "Feeds.M7": (ROUND + METRIC_BOX) * HALF_RATE,
    "Feeds.N6": 1500 / ((BOX + OVAL) * RATE),
    "Trial.E14": 68,  # checked by the binomial distribution in test_the_trial_sheet
    "Trial.F24": 170 * RATE / LITRES_IN_GALLON,
}


@pytest.fixture(scope="module")
def starter(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return new_log(tmp_path_factory.mktemp("starter") / "log.xlsx", day=DAY)


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log without examples."""
    return new_log(tmp_path_factory.mktemp("empty") / "log.xlsx", day=DAY, examples=False)


def cell(path: Path, place: str) -> Any:
    """The stored value of a cell, given as ``Sheet.A1``."""
    sheet, name = place.split(".")
    return report_book(path, data_only=True)[sheet][name].value


@pytest.mark.parametrize("place", EXPECTED)
def test_it_opens_with_values(starter: Path, place: str) -> None:
    assert cell(starter, place) == pytest.approx(EXPECTED[place])


def test_no_formula_fails_and_blank_rows_stay_blank(starter: Path, tmp_path: Path) -> None:
    done = recalculate(starter, tmp_path / "again.xlsx")
    assert done.failed == () and done.kept == ()
    assert done.formulas > 200
    assert done.changed == 0
    beds = report_book(starter, data_only=True)["Beds"]
    assert all(not beds.cell(row, column).value for row in range(10, 31) for column in range(1, 17))


def test_a_changed_size_changes_dose_and_cost(starter: Path, tmp_path: Path) -> None:
    recalculate(edited(starter, tmp_path / "changed.xlsx", {"Beds.I6": 7}), tmp_path / "computed.xlsx")
    assert cell(tmp_path / "computed.xlsx", "Beds.K6") == pytest.approx(BOX * 7 / 6)
    assert cell(tmp_path / "computed.xlsx", "Costs.D6") == pytest.approx(EXPECTED["Costs.D6"] * 7 / 6)


def test_a_wrong_size_is_told_in_its_row(starter: Path, tmp_path: Path) -> None:
    recalculate(edited(starter, tmp_path / "changed.xlsx", {"Beds.I6": "five"}), tmp_path / "computed.xlsx")
    assert cell(tmp_path / "computed.xlsx", "Beds.K6") == "#VALUE!"
    assert cell(tmp_path / "computed.xlsx", "Beds.N6").startswith('depth is "five": give a number of inches')


def test_the_shape_that_a_bed_has_is_the_one_that_is_complained_of(starter: Path, tmp_path: Path) -> None:
    """The formula holds a call for each shape, and the others lack something too."""
    cells = {"Beds.A10": "box", "Beds.G10": 20, "Beds.A11": "round", "Beds.F11": "round", "Beds.G11": 20}
    cells |= {"Beds.A12": "oval", "Beds.F12": "oval", "Beds.H12": 20, "Beds.I12": 5}
    done = recalculate(edited(starter, tmp_path / "log.xlsx", cells), tmp_path / "computed.xlsx")
    why = {failed.cell: failed.why for failed in done.failed}
    for row, lacking in ((10, "GROW_VOLUME_BOX lacks width"), (11, "GROW_VOLUME_ROUND lacks depth")):
        assert why[f"K{row}"].startswith(lacking)
        assert str(cell(tmp_path / "computed.xlsx", f"Beds.N{row}")) == why[f"K{row}"]
    assert why["K12"] == cell(tmp_path / "computed.xlsx", "Beds.N12")
    assert "over both round ends" in why["K12"]


def test_the_reader_knows_every_sheet(starter: Path) -> None:
    log = read_log(starter)
    assert [(table.sheet, table.kind) for table in log.tables] == [
        ("Feeds", "feeds"),
        ("Beds", "beds"),
        ("Plantings", "plantings"),
        ("Targets", "beds"),
        ("Fills", "fills"),
        ("Readings", "readings"),
        ("Weights", "weights"),
        ("Harvests", "harvests"),
        ("Costs", "beds"),
    ]
    assert (len(log.beds), len(log.readings), len(log.weights)) == (4, 10, 12)
    assert log.count(Fate.UNREADABLE) == 0
    assert log.beds[0].ph_low == 5.5 and log.beds[0].planted == datetime.date(2026, 11, 1)
    assert next(reading for reading in log.readings if reading.notes.startswith("a cell may")).ec == 0.9  # 900 µS/cm
    feed = log.feeds[0]
    assert (feed.scale, feed.use, feed.counted) == (1, 60, DAY)
    assert (log.beds[0].temp_low, log.beds[0].temp_high, log.beds[0].water_ec) == (60, 74, 0.2)


def test_from_starter_to_report(starter: Path, tmp_path: Path) -> None:
    made = build_report(starter, tmp_path / "week.xlsx", as_of=DAY)
    assert (str(made.week), made.beds, made.readings, made.unreadable) == ("2026-W47", 4, 10, 0)
    assert made.problems == ()
    assert row_of(report_book(made.output), "Doses", "Bed 2")[2] == pytest.approx(ROUND)


def contents(path: Path, data_only: bool = False) -> dict[str, Any]:
    """What every cell of the sheets behind the guide holds, formulas or their stored values."""
    book = report_book(path, data_only=data_only)
    return {
        f"{sheet.title}.{one.coordinate}": getattr(one.value, "text", one.value)
        for sheet in book.worksheets[1:]
        for row in sheet.iter_rows()
        for one in row
        if one.value not in (None, "")
    }


def edited(starter: Path, path: Path, cells: dict[str, Any]) -> Path:
    """A copy of the starter log with some cells typed over."""
    book = report_book(starter)
    for place, value in cells.items():
        sheet, name = place.split(".")
        book[sheet][name] = value
    book.save(path)
    return path


@pytest.mark.parametrize("cells", [{"Feeds.G6": 1e30}, {"Feeds.J6": 1e30}])
def test_a_report_of_stock_that_outlasts_the_calendar(starter: Path, tmp_path: Path, cells: dict[str, Any]) -> None:
    """Found by mutated workbooks: a mistyped stock, or time to delivery, ended the report."""
    log = edited(starter, tmp_path / "log.xlsx", cells)
    assert build_report(log, tmp_path / "week.xlsx", as_of=DAY).beds == 4


class TestClearing:
    def test_a_log_without_examples(self, empty: Path, tmp_path: Path) -> None:
        log = read_log(empty)
        assert (log.beds, log.feeds, log.readings, log.weights, log.failed, log.kept) == ((), (), (), (), (), ())
        assert recalculate(empty, tmp_path / "again.xlsx").changed == 0
        assert list(report_book(empty).defined_names) == []
        guide = [str(row[0].value) for row in report_book(empty)["Guide"].iter_rows()]
        assert not any("clear" in text for text in guide)

    def test_clearing_leaves_what_was_never_filled(self, starter: Path, empty: Path, tmp_path: Path) -> None:
        """Formulas, dropdowns and figures are those of a log that was written without examples."""
        before = starter.read_bytes()
        cleared = clear_examples(starter, tmp_path / "cleared.xlsx")
        assert starter.read_bytes() == before
        assert cleared.emptied == {
            **{"Feeds": 3, "Beds": 4, "Plantings": 4, "Targets": 4, "Readings": 10, "Weights": 12, "Climate": 2},
            "Mix": 3,
        }
        assert cleared.left == ()
        for data_only in (False, True):
            assert contents(tmp_path / "cleared.xlsx", data_only) == contents(empty, data_only)

    def test_no_other_byte_changes(self, starter: Path, tmp_path: Path) -> None:
        clear_examples(starter, tmp_path / "cleared.xlsx")
        cell = re.compile(rb"<c [^>]*?(?:/>|>.*?</c>)")
        with zipfile.ZipFile(starter) as old, zipfile.ZipFile(tmp_path / "cleared.xlsx") as new:
            assert old.namelist() == new.namelist()
            for part in old.namelist():
                if "worksheets/sheet" in part:
                    assert cell.sub(b"", old.read(part)) == cell.sub(b"", new.read(part))
                    styles = [
                        re.findall(rb'<c r="([A-Z]+[0-9]+)" s="([0-9]+)"', file.read(part)) for file in (old, new)
                    ]
                    assert styles[0] == styles[1] != []
                else:
                    assert old.read(part) == new.read(part)

    def test_what_was_typed_stays(self, starter: Path, tmp_path: Path) -> None:
        own = {
            "Beds.G7": "24 in",  # a bed of the examples, measured anew
            "Readings.B16": "Bed 2",  # rows of one's own below the examples
            "Readings.C16": 6.4,
            "Weights.E6": "=150+1",  # 151 as in the example, but by a formula
            "Feeds.H8": DAY - datetime.timedelta(days=3),  # only a date: still the example
        }
        log = edited(starter, tmp_path / "log.xlsx", own)
        cleared = clear_examples(log, tmp_path / "cleared.xlsx")
        assert cleared.left == ("Beds row 7", "Weights row 6")
        assert cleared.emptied["Beds"] == 3 and cleared.emptied["Feeds"] == 3
        left = contents(tmp_path / "cleared.xlsx")
        assert left["Beds.A7"] == "Bed 2" and left["Beds.G7"] == "24 in" and "Beds.A6" not in left
        assert left["Weights.A6"] and left["Weights.E6"] == "=150+1" and "Weights.A7" not in left
        assert (left["Readings.B16"], left["Readings.C16"]) == ("Bed 2", 6.4)
        assert "Feeds.A8" not in left

    def test_a_sheet_that_was_renamed_and_rows_that_moved(self, starter: Path, tmp_path: Path) -> None:
        """Spreadsheet programs have the names follow; here the names are changed as they do."""
        book = report_book(starter)
        sheet = book["Targets"]
        sheet.title = "What we want"
        sheet.move_range("A6:J9", rows=2)
        book.defined_names["Examples_Targets"].attr_text = "'What we want'!$A$8:$J$11"
        book.defined_names["Examples_Climate"].attr_text = "#REF!"  # its rows were deleted
        book.save(tmp_path / "log.xlsx")
        cleared = clear_examples(tmp_path / "log.xlsx", tmp_path / "cleared.xlsx")
        assert cleared.emptied["What we want"] == 4 and "Climate" not in cleared.emptied
        assert not any(place.startswith("What we want.A8") for place in contents(tmp_path / "cleared.xlsx"))

    def test_in_place_keeps_a_backup_and_a_second_time_changes_nothing(self, starter: Path, tmp_path: Path) -> None:
        log = Path(shutil.copy(starter, tmp_path / "log.xlsx"))
        cleared = clear_examples(log, in_place=True)
        assert cleared.done.backup is not None and cleared.done.backup.read_bytes() == starter.read_bytes()
        once = log.read_bytes()
        with pytest.raises(FileProblem, match="holds no example rows"):
            clear_examples(log, in_place=True)
        assert log.read_bytes() == once
        assert len(list(tmp_path.iterdir())) == 2

    def test_a_log_that_another_program_has_open(self, starter: Path, tmp_path: Path) -> None:
        log = Path(shutil.copy(starter, tmp_path / "log.xlsx"))
        (tmp_path / ".~lock.log.xlsx#").write_text("somebody")
        with pytest.raises(FileProblem, match="open in another program"):
            clear_examples(log, in_place=True)
        assert log.read_bytes() == starter.read_bytes()

    @pytest.mark.parametrize("meaning", ["(((", "Beds!$A:$A", "17", "Beds!$A$6:$J$9,Beds!$A$20:$J$21", "Nowhere!$A$1"])
    def test_a_name_that_means_something_else_now(self, starter: Path, tmp_path: Path, meaning: str) -> None:
        book = report_book(starter)
        book.defined_names["Examples_Beds"].attr_text = meaning
        book.save(tmp_path / "log.xlsx")
        cleared = clear_examples(tmp_path / "log.xlsx", tmp_path / "cleared.xlsx")
        assert "Beds" not in cleared.emptied and cleared.emptied["Feeds"] == 3

    def test_another_log_is_refused(self, tmp_path: Path) -> None:
        with pytest.raises(FileProblem, match="holds no example rows"):
            clear_examples(ROOFTOP, tmp_path / "out.xlsx")
        assert list(tmp_path.iterdir()) == []

    def test_after_libreoffice_has_saved_it(
        self, office: RunningOffice, starter: Path, empty: Path, tmp_path: Path
    ) -> None:
        with office.open(starter) as book:
            book.write("Beds.G7", [["24 in"]])
            book.save(tmp_path / "saved.xlsx")
        cleared = clear_examples(tmp_path / "saved.xlsx", tmp_path / "cleared.xlsx")
        assert sum(cleared.emptied.values()) == 41 and cleared.left == ("Beds row 7",)
        with office.open(tmp_path / "cleared.xlsx") as book:
            assert book.read("Beds.A6:B7") == [[None, None], ["Bed 2", "lettuce"]]

    def test_an_empty_log_shows_no_error_in_libreoffice(self, office: RunningOffice, empty: Path) -> None:
        with office.open(empty) as book:
            for area in ("Feeds.A6:O30", "Beds.A6:N30", "Costs.A6:F30", "Climate.A6:K30", "Trial.A4:L50", "Mix.A4:H32"):
                shown = [value for row in book.read(area) for value in row]
                assert not [value for value in shown if isinstance(value, CellError)], area
            assert not [value for row in book.read("Costs.A6:F30") for value in row if value]


def test_the_names_are_blocks_that_libreoffice_can_select(starter: Path) -> None:
    names = {name: str(defined.attr_text) for name, defined in report_book(starter).defined_names.items()}
    assert len(names) == 8
    for name, area in names.items():
        assert name in "\n".join(CLEAR)
        assert re.fullmatch(rf"{name.removeprefix('Examples_')}!\$A\$\d+:\$[A-Z]\$\d+", area)


def test_more_treatments_than_there_is_room_for(starter: Path, tmp_path: Path) -> None:
    cells = {f"Weights.{letter}{row}": None for row in range(6, 30) for letter in "BCE"}
    for row in range(6, 22):
        cells |= {
            f"Weights.B{row}": f"Bed {row}",
            f"Weights.C{row}": f"mix {row // 2}",
            f"Weights.E{row}": 100 + row % 5,
        }
    log = edited(starter, tmp_path / "log.xlsx", cells)
    done = recalculate(log, tmp_path / "computed.xlsx")
    assert done.failed == ()
    assert str(cell(tmp_path / "computed.xlsx", "Trial.A42")).startswith("Only the first 6 treatments are shown")
    assert cell(tmp_path / "computed.xlsx", "Trial.A43") in (None, "")


def test_what_is_not_known_yet_is_blank_and_no_error(starter: Path, tmp_path: Path) -> None:
    """A bed without sizes, a feed without rate, price or analysis."""
    cells = {"Beds.A10": "Bed 5", "Beds.C10": "leaf", "Feeds.E6": None, "Feeds.C6": None, "Feeds.F7": None}
    done = recalculate(edited(starter, tmp_path / "log.xlsx", cells), tmp_path / "computed.xlsx")
    assert done.failed == ()
    for place in ("Beds.K10", "Beds.L10", "Beds.N10", "Costs.D6", "Beds.M6", "Beds.L7", "Costs.C7"):
        assert cell(tmp_path / "computed.xlsx", place) in (None, ""), place
    assert cell(tmp_path / "computed.xlsx", "Beds.L6") == pytest.approx(BOX * RATE)


def test_dropdowns(starter: Path) -> None:
    sheet = report_book(starter)["Readings"]
    assert isinstance(sheet, Worksheet)
    lists = {str(rule.sqref): rule.formula1 for rule in sheet.data_validations.dataValidation if rule.type == "list"}
    assert lists == {"B6:B1005": "Beds!$A$6:$A$30"}
    recipe = report_book(starter)["Mix"].data_validations.dataValidation[0]
    rules = [recipe, *sheet.data_validations.dataValidation]
    assert all(rule.showErrorMessage and rule.errorStyle == "warning" and rule.error for rule in rules)
    assert str(recipe.sqref) == "E4" and "Hoagland & Arnon 1" in str(recipe.formula1)


def test_the_trial_sheet(starter: Path) -> None:
    from scipy.stats import binom, f, ncf

    sheet = report_book(starter, data_only=True)["Trial"]
    column = {str(row[0].value): row[4].value for row in sheet.iter_rows(min_row=5, max_row=30)}
    needed = column["Beds needed for each"]

    def power(beds: float) -> float:
        limit = f.ppf(0.95, 1, 2 * beds - 2)
        return float(ncf.sf(limit, 1, 2 * beds - 2, beds * (20 / 8) ** 2 / 2))

    assert power(needed) >= 0.8 > power(needed - 1)
    seeds = column["Seeds to sow"]
    low = next(p / 10_000 for p in range(10_000) if binom.sf(16, 20, p / 10_000) > 0.025)  # Clopper & Pearson, 17 of 20
    assert binom.sf(35, seeds, low) >= 0.95 > binom.sf(35, seeds - 1, low)
    texts = [str(row[0].value) for row in sheet.iter_rows(min_row=30)]
    assert any(text.startswith("One-way analysis of variance on 4 bed means") for text in texts)
    assert "Each treatment has two beds or more: the test is on their means." in texts
    base = next(row for row in sheet.iter_rows(min_row=35, max_col=12, values_only=True) if row[0] == "base")
    assert base[3] == pytest.approx(((151 + 148 + 160) / 3 + (142 + 155 + 149) / 3) / 2)


def test_the_mix_sheet(starter: Path) -> None:
    sheet = report_book(starter, data_only=True)["Mix"]
    rows = {row[0].value: [cell.value for cell in row[1:5]] for row in sheet.iter_rows(min_row=16, max_row=31)}
    litres = 34 * LITRES_IN_GALLON
    nitrogen = (61.2 * 0.17 + 46 * 2 * 14.007 / 236.15) * 1000 / litres  # IUPAC atomic weights: Ca(NO3)2.4H2O
    assert rows["N"] == [pytest.approx(nitrogen, rel=1e-4), 150, pytest.approx(nitrogen / 1.5, rel=1e-4), "fine"]
    assert rows["Fe"][0] == 0 and str(rows["Fe"][3]).startswith("absent: no iron")


def test_the_climate_sheet(starter: Path) -> None:
    row = [cell.value for cell in report_book(starter, data_only=True)["Climate"][6]]
    celsius = (72 - 32) / 1.8
    pressure = 0.6108 * math.exp(17.27 * celsius / (celsius + 237.3))  # FAO Irrigation and Drainage Paper 56, eq. 11
    assert row[8] == pytest.approx(pressure * (1 - 0.61))
    assert row[10] == pytest.approx(210 * 16 * 3600 / 1e6)


def test_the_guide_lists_every_function(starter: Path) -> None:
    column = [row[0].value for row in report_book(starter)["Guide"].iter_rows()]
    assert set(functions()) <= set(column)


def test_the_schema_check_passes(starter: Path) -> None:
    result = OpenXmlValidator().validate(starter)
    assert [error.description for error in result.errors if "error" in str(error.severity).lower()] == []


def test_the_same_day_gives_the_same_bytes(starter: Path, tmp_path: Path) -> None:
    assert new_log(tmp_path / "again.xlsx", day=DAY).read_bytes() == starter.read_bytes()


def test_it_does_not_replace_a_file(tmp_path: Path) -> None:
    mine = tmp_path / "log.xlsx"
    mine.write_bytes(b"mine")
    with pytest.raises(FileProblem, match="exists already"):
        new_log(mine)
    assert mine.read_bytes() == b"mine"


def test_each_table_prints_on_a_page(office: RunningOffice, starter: Path, empty: Path, tmp_path: Path) -> None:
    """The guide with five pages of functions, and each other sheet on one."""
    for log in (starter, empty):
        with office.open(log) as book:
            book.save(tmp_path / "log.pdf")
        with pypdfium2.PdfDocument(tmp_path / "log.pdf") as printed:
            footers = [page.get_textpage().get_text_bounded().splitlines()[0] for page in printed]
        assert footers == [
            f"{title} page {number} of 18"
            for number, title in enumerate(
                [
                    *["A grow log"] * 6,
                    *("Feeds", "Beds", "Plantings", "Targets"),
                    *("Fills", "Readings", "Weights of the trial", "Harvests", "What a fill costs", "Climate", "Trial"),
                    "What a mix brings, and what it lacks",
                ],
                1,
            )
        ]


def test_a_sentence_beside_a_bed_makes_nothing_smaller_on_paper(starter: Path) -> None:
    assert report_book(starter)["Beds"].print_area == "'Beds'!$A$1:$N$30"


CELL, AREA = r"\$?[A-Z]{1,2}\$?\d+", r"\$?[A-Z]{1,2}\$?\d+:\$?[A-Z]{1,2}\$?\d+"


def grow_calls(formula: str) -> Iterator[tuple[str, list[str]]]:
    """Each call of a cell function in a formula: its name and its arguments."""
    for match in re.finditer(r"(GROW_[A-Z_]+)\(", formula):
        depth, arguments = 1, [""]
        for sign in formula[match.end() :]:
            depth += (sign == "(") - (sign == ")")
            if not depth:
                break
            if sign == "," and depth == 1:
                arguments.append("")
            else:
                arguments[-1] += sign
        yield match[1], arguments


class CallsOfLog:
    """The calls of cell functions in a log, with the values that their arguments have there."""

    def __init__(self, log: Path, helper: Path) -> None:
        book = report_book(log)
        self.values = report_book(log, data_only=True)
        self.calls: list[tuple[str, list[str]]] = []
        for sheet in book.worksheets[1:]:
            for row in sheet.iter_rows():
                for one in row:
                    text = getattr(one.value, "text", one.value)
                    if isinstance(text, str) and text.startswith("="):
                        here = re.sub(rf"(?<![\w!$:])({CELL})(?![\w(!])", rf"{sheet.title}!\1", text)
                        self.calls += grow_calls(here)
        leaves = {leaf for _, given in self.calls for leaf in given if leaf and not list(grow_calls(leaf))}
        for row, leaf in enumerate(leaves, 1):
            book["Costs"].cell(row, 20, f"={leaf}")
        book.save(helper)
        recalculate(helper, helper.with_name("computed.xlsx"), as_of=DAY)
        costs = report_book(helper.with_name("computed.xlsx"), data_only=True)["Costs"]
        self.leaves = {leaf: costs.cell(row, 20).value for row, leaf in enumerate(leaves, 1)}

    def value(self, argument: str) -> Any:
        """What Excel hands over for an argument."""
        if nested := list(grow_calls(argument)):
            name, given = nested[0]
            return functions()[name].evaluate([self.value(leaf) for leaf in given])
        sheet, _, place = argument.rpartition("!")
        if re.fullmatch(CELL, place):
            return self.values[sheet][place.replace("$", "")].value
        if sheet and re.fullmatch(AREA, place):
            return tuple(tuple(one.value for one in row) for row in self.values[sheet][place.replace("$", "")])
        return self.leaves.get(argument)


@pytest.fixture(scope="module")
def calls(starter: Path, tmp_path_factory: pytest.TempPathFactory) -> CallsOfLog:
    return CallsOfLog(starter, tmp_path_factory.mktemp("calls") / "helper.xlsx")


@pytest.mark.parametrize("excel", [windows_excel, office_excel])
def test_every_call_in_excel(calls: CallsOfLog, excel: Any) -> None:
    """Excel itself computes IF, INDEX and the like; each call of ours gets there what it gets in the log."""
    tried: dict[str, tuple[str, bool]] = {}  # blank rows make the same calls again and again
    with excel() as host:
        for name, given in calls.calls:
            values = [calls.value(argument) for argument in given]
            call = repr((name, values))
            if call not in tried:
                expected = functions()[name].evaluate(values)
                assert_same(host.call(name, *values), expected)
                tried[call] = name, isinstance(expected, CellError)
    assert {name for name, failed in tried.values() if not failed} == {name for name, _ in calls.calls}


class TestLibreOffice:
    def test_values_and_a_changed_size(self, office: RunningOffice, starter: Path) -> None:
        with office.open(starter) as book:
            book.write("Beds.I6", [[6]])
            for place, value in EXPECTED.items():
                assert book.value(place) == pytest.approx(value), place
            assert book.value("Beds.K10") in ("", None)
            book.write("Beds.I6", [[7]])
            assert book.value("Beds.K6") == pytest.approx(BOX * 7 / 6)
            assert book.value("Costs.D6") == pytest.approx(EXPECTED["Costs.D6"] * 7 / 6)
            book.write("Beds.I6", [["five"]])
            assert "give a number of inches" in str(book.value("Beds.N6"))

    def test_the_trial_and_the_mix_follow_what_is_typed(self, office: RunningOffice, starter: Path) -> None:
        with office.open(starter) as book:
            book.write("Weights.E6", [[181]])  # 151 before
            bed = (181 + 148 + 160) / 3
            rows = {row[0]: row for row in book.read("Trial.A35:L40")}
            assert rows["base"][3] == pytest.approx((bed + (142 + 155 + 149) / 3) / 2)
            assert str(book.value("Trial.A42")).startswith("One-way analysis of variance on 4 bed means")
            before = {row[0]: row[1] for row in book.read("Mix.A16:B30")}
            book.write("Mix.A8", [[122.4]])  # 61.2 before: twice the phosphorus
            after = {row[0]: row[1] for row in book.read("Mix.A16:B30")}
            assert after["P"] == pytest.approx(2 * before["P"])

    def test_the_report_opens_with_the_same_values(self, office: RunningOffice, starter: Path, tmp_path: Path) -> None:
        made = build_report(starter, tmp_path / "week.xlsx", as_of=DAY)
        stored = report_book(made.output, data_only=True)
        with office.open(made.output) as book:
            for sheet in stored.sheetnames[:3]:
                for row, seen in enumerate(book.read(f"{sheet}.A1:K{stored[sheet].max_row}"), 1):
                    for column, value in enumerate(seen, 1):
                        known = stored[sheet].cell(row, column).value
                        if isinstance(known, (int, float)):
                            assert value == pytest.approx(known), f"{sheet} {row} {column}"
                        elif not isinstance(known, datetime.datetime):
                            assert value in (known, "")
