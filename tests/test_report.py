"""The weekly report: its figures against sums by hand, its text, its bytes, and what other programs say of the file."""

from __future__ import annotations

import datetime
import re
import zipfile
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from openpyxl import Workbook
from openxml_audit import OpenXmlValidator  # type: ignore[import-untyped]

from growcells_workbooks.gate import FileProblem
from growcells_workbooks.recalculation import recalculate
from growcells_workbooks.report import Report, build_report, parse_week
from growcells_workbooks.report.figures.log_money import currency
from growcells_workbooks.report.look.charts import shaded
from growcells_workbooks.report.look.workbook import units
from growcells_workbooks.report.pages.page import Section, Table, Text
from growcells_workbooks.report.pages.scale import Scale, scale
from log_books import ROOFTOP
from report_books import cells_of, report_book, row_of, rows_of, sheet_of, texts_of, titles_of
from us_units import CUBIC_INCHES_IN_GALLON, GRAMS_IN_POUND, LITRES_IN_GALLON

OURS = re.compile(r"=SUM\([A-Z]\d+:[A-Z]\d+\)|=\(?[A-Z]\d+([*/+-][A-Z]\d+\)?|[*/][\d.]+)+")
"""The formulas of a report: sums, and a few cells with signs between them."""
DANGEROUS = ('=cmd|"/c calc"!A1', "+1+1", "-2+3", "@SUM(1,1)", '=HYPERLINK("http://example.invalid","x")', "#N/A")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Report:
    return build_report(ROOFTOP, tmp_path_factory.mktemp("report") / "week.xlsx", week="2026-W47")


@pytest.fixture(scope="module")
def book(made: Report) -> Workbook:
    return report_book(made.output)


class TestRooftop:
    def test_counts(self, made: Report) -> None:
        assert (made.beds, made.readings, made.unreadable, made.ignored) == (6, 24, 4, 10)
        assert made.problems == ()
        assert made.as_of == datetime.date(2026, 11, 22)

    def test_pages_are_in_the_order_of_use(self, book: Workbook) -> None:
        assert titles_of(book) == [
            *("Week", "Doses", "Form", "Charts", "Trial", "Costs"),
            *("Reasons", "Method", "Checks", "Cautions", "Readings", "Water", "Nutrients", "History"),
        ]
        assert [sheet.title for sheet in book.worksheets if sheet.sheet_state == "hidden"] == ["History"]

    def test_the_short_one_ends_at_the_divider(self, tmp_path: Path) -> None:
        short = report_book(build_report(ROOFTOP, tmp_path / "w.xlsx", week="2026-W47", short=True).output)
        assert titles_of(short) == ["Week", "Doses", "Form", "Charts", "Trial", "Costs", "History"]

    def test_a_bed_on_the_first_page(self, book: Workbook) -> None:
        # T3 of the log in week 47: pH 5.9 6 6 6, EC 1.27 1.36 1.35 1.32, water 69 64 65 65 °F; the log has no bands.
        row = next(row for row in rows_of(book, "Week") if str(row[0]).startswith("T3"))
        assert [value for value in row if value] == [
            "T3 · basil",
            "pH 6\nin 5.5–6.5 *",
            "EC 1.32 mS/cm\nin 1–2 *",
            "Water 65 °F\nin 59–75.2 *",
        ]

    def test_what_it_cost_in_short(self, book: Workbook) -> None:
        texts = texts_of(book, "Week")
        costs = next(text for text in texts if "were added in the week" in text)
        assert (
            "18.6 gal of water and 21.3 g of feed were added in the week. "
            "The feed cost $0.14 in the week and $2.89 to date, including one fill of each bed." in costs
        )

    @pytest.mark.parametrize(
        ("money", "sign"), [("$#,##0.00", "$"), ("[$€-407] #,##0.00", "€"), ('"£"0.00', "£"), ("#,##0.00", "")]
    )
    def test_currency(self, money: str, sign: str) -> None:
        assert currency(money) == sign

    def test_doses_are_volume_times_rate(self, made: Report, book: Workbook) -> None:
        volume = 38 * 21 * 8.5 / CUBIC_INCHES_IN_GALLON
        row = row_of(report_book(made.output, data_only=True), "Doses", "T3")
        assert row[:2] == ["T3", "C"]
        assert row[2:5] == pytest.approx([volume, 2, volume * 2])
        assert row[5] == pytest.approx(volume * 2 * 2 * 0.02)  # half a step is 2 % of the dose
        formula = re.fullmatch(r"=([A-Z])(\d+)\*([A-Z])\2", str(row_of(book, "Doses", "T3")[4]))
        assert formula
        cells = next(row for row in cells_of(book, "Doses") if row[0].value == "T3")
        assert [cells[2].column_letter, cells[3].column_letter] == [formula[1], formula[3]]

    def test_what_was_added(self, made: Report) -> None:
        row = row_of(report_book(made.output, data_only=True), "Water", "T3")
        assert row[2] == pytest.approx(1.9 + 1.1)
        row = row_of(report_book(made.output, data_only=True), "Costs", "T3")
        assert row[3] == pytest.approx(1.6 + 2.7)

    def test_formulas_have_the_values_that_they_give(self, made: Report, tmp_path: Path) -> None:
        again = tmp_path / "again.xlsx"
        done = recalculate(made.output, again)
        assert done.formulas > 40 and not done.failed and not done.kept
        before, after = (report_book(path, data_only=True) for path in (made.output, again))
        for sheet in before.worksheets:
            for row in sheet.iter_rows():
                for cell in row:
                    computed = after[sheet.title][cell.coordinate].value
                    if isinstance(cell.value, float):
                        assert cell.value == pytest.approx(computed), f"{sheet.title}!{cell.coordinate}"
                    else:
                        assert cell.value == computed

    def test_every_reading_of_the_week_and_no_other(self, book: Workbook) -> None:
        rows = [row for row in rows_of(book, "Readings") if len(row) > 1 and isinstance(row[1], datetime.datetime)]
        assert len(rows) == 24
        assert {row[1].date().day for row in rows} == {16, 18, 20, 22}
        assert rows[0][2:6] == [6.3, 1.76, 65, 8.77]

    def test_charts_draw_the_beds_rows(self, made: Report, book: Workbook) -> None:
        history = sheet_of(book, "History")

        def points_of(series: Any) -> list[Any]:
            cells = history[series.yVal.numRef.f.split("!")[1].replace("$", "")]
            return [cell for row in cells for cell in row] if isinstance(cells, tuple) else [cells]

        def stops_of(number: int) -> list[tuple[float, str | None]]:
            with zipfile.ZipFile(made.output) as package:
                root = etree.fromstring(package.read(f"xl/charts/chart{number}.xml"))
            found = root.iterfind(".//{*}plotArea/{*}spPr/{*}gradFill//{*}gs")
            return [(int(stop.get("pos", "")) / 100_000, stop[0].get("val")) for stop in found]

        charts = sheet_of(book, "Charts")._charts  # type: ignore[attr-defined]
        assert len(charts) == 18
        for number, chart in enumerate(charts, 1):
            assert not chart.x_axis.delete and not chart.y_axis.delete
            *ends, series, latest = chart.series[:4]
            assert [line.graphicalProperties.line.prstDash for line in ends] == ["dash", "dash"]
            low, high = (points_of(line)[0].value for line in ends)
            positions, colors = zip(*stops_of(number), strict=True)
            assert colors == (*["FFFFFF"] * 2, *["E0E0E0"] * 2, *["FFFFFF"] * 2)
            limits = chart.y_axis.scaling
            shaded = [limits.max - part * (limits.max - limits.min) for part in positions]
            exact = [limits.max, high, high, low, low, limits.min]
            assert shaded == pytest.approx(exact, abs=(limits.max - limits.min) * 1e-5)
            bed = series.tx.v.split(",")[0]
            drawn = points_of(series)
            assert {history.cell(cell.row, 1).value for cell in drawn} == {bed}
            assert len(drawn) == sum(history.cell(row, 1).value == bed for row in range(1, history.max_row + 1))
            assert series.dLbls is None and latest.dLbls.showVal
            assert points_of(latest) == [cell for cell in drawn if cell.value is not None][-1:]

    def test_nutrients_are_elemental(self, made: Report) -> None:
        book = report_book(made.output, data_only=True)
        grams_a_litre = 2 / LITRES_IN_GALLON
        nitrogen, phosphorus, potassium, calcium = (
            row_of(book, "Nutrients", name)
            for name in ("N   nitrogen", "P   phosphorus", "K   potassium", "Ca   calcium")
        )
        # Feed C is the third: columns I, J, K.
        assert nitrogen[8] == pytest.approx(180 * grams_a_litre)
        assert phosphorus[8] == pytest.approx(90 * grams_a_litre * 0.4364, rel=2e-4)  # IUPAC: P of P2O5
        assert potassium[8] == pytest.approx(180 * grams_a_litre * 0.8302, rel=2e-4)  # IUPAC: K of K2O
        assert calcium[8:11] == [0, 0, "○ absent"]
        assert nitrogen[1] == 150  # Leafy greens of data/recipes.csv
        assert nitrogen[9] == pytest.approx(nitrogen[8] / 150)
        assert nitrogen[10] == "▼ short"

    def test_another_recipe(self, tmp_path: Path) -> None:
        made = build_report(ROOFTOP, tmp_path / "w.xlsx", week="2026-W47", recipe="Hoagland")
        assert row_of(report_book(made.output), "Nutrients", "Ca   calcium")[1] == 200  # Hoagland & Arnon 1950

    def test_costs(self, made: Report) -> None:
        book = report_book(made.output, data_only=True)
        dose = 38 * 21 * 9 / CUBIC_INCHES_IN_GALLON * 2.4
        gram = 31.5 / (10 * GRAMS_IN_POUND)
        bed = row_of(book, "Costs", "T1")
        assert bed[5] == pytest.approx(dose * gram)
        assert bed[6] == pytest.approx((0.1 + 1.5) * gram)  # added on 18 and 22 November
        assert bed[8] == pytest.approx(bed[5] + bed[7])
        assert bed[9:11] == [8, pytest.approx(bed[8] / 8)]  # eight plants were weighed, none dead
        both = dose + 52 * 24 * 7 / CUBIC_INCHES_IN_GALLON * 2.4
        stock = row_of(book, "Costs", "A")
        assert stock[4] == pytest.approx(both)
        assert stock[5] == pytest.approx(2600 / both)

    def test_an_order_years_ahead_has_no_day(self, book: Workbook) -> None:
        assert row_of(book, "Costs", "A")[9] == "over a year"

    def test_the_functions_that_made_the_figures_are_listed(self, book: Workbook) -> None:
        listed = {row[0] for row in rows_of(book, "Method") if str(row[0]).startswith("GROW_")}
        # GROW_VOLUME_BOX stands in the log's own formulas; the scales of its feeds are not known
        assert {"GROW_VOLUME_BOX", "GROW_DOSE", "GROW_GAPS", "GROW_COST", "GROW_TRIAL_TABLE"} <= listed
        assert not listed & {"GROW_VOLUME_OVAL", "GROW_WEIGH", "GROW_WEIGH_ERROR"}

    def test_the_trial_says_that_a_bed_is_one_replicate(self, book: Workbook) -> None:
        texts = texts_of(book, "Trial")
        # said once, though it holds of both crops
        assert sum(text.startswith("A single bed: A, B, C.") for text in texts) == 1
        assert sum(text.startswith("No test: each treatment has a single bed") for text in texts) == 1

    def test_everything_left_out_has_its_cell_and_reason(self, book: Workbook) -> None:
        rows = [row[:5] for row in rows_of(book, "Checks") if len(row) >= 5 and row[1]]
        assert rows[1] == [
            "log 2026", "C80", "six", "not understood", 'pH is "six": give a number such as 6.1',
        ]  # fmt: skip
        assert ["log 2026", "B81", "T9", "not understood", '"T9" is not in the list of beds'] in rows
        assert len(rows) == 1 + 4
        assert any("Passed over on purpose: 10 cells" in text for text in texts_of(book, "Checks"))

    def test_numbers_are_numbers_and_dates_are_dates(self, book: Workbook) -> None:
        for sheet in book.worksheets:
            for row in sheet.iter_rows():
                for cell in row:
                    if isinstance(cell.value, (int, float)):
                        assert cell.number_format != "General", f"{sheet.title}!{cell.coordinate}"
                    if isinstance(cell.value, datetime.datetime):
                        assert cell.is_date

    def test_pages_are_set_up_for_print(self, book: Workbook) -> None:
        for sheet in book.worksheets:
            assert sheet.page_setup.fitToWidth in (
                None,
                1,
            )  # where nothing is said it is 1 (ISO/IEC 29500-1, 18.3.1.63)
            assert sheet.sheet_properties.pageSetUpPr is not None and sheet.sheet_properties.pageSetUpPr.fitToPage
            assert "rooftop-log.xlsx" in str(sheet.oddFooter.left.text)  # type: ignore[union-attr]

    @pytest.mark.slow
    def test_the_schema_check_passes(self, made: Report) -> None:
        result = OpenXmlValidator().validate(made.output)
        assert [error.description for error in result.errors if "error" in str(error.severity).lower()] == []

    def test_the_same_day_gives_the_same_bytes(self, made: Report, tmp_path: Path) -> None:
        again = build_report(ROOFTOP, tmp_path / "again.xlsx", week="2026-W47")
        assert again.output.read_bytes() == made.output.read_bytes()

    def test_no_clock_time_in_the_file(self, made: Report) -> None:
        with zipfile.ZipFile(made.output) as package:
            assert {entry.date_time for entry in package.infolist()} == {(1980, 1, 1, 0, 0, 0)}
            core = package.read("docProps/core.xml").decode()
        assert core.count("2026-11-22T00:00:00Z") == 2


@pytest.mark.parametrize(
    ("band", "positions"),
    [
        ((5.5, 6.5), [0, 25, 25, 75, 75, 100]),
        ((None, 6.5), [0, 25, 25, 100]),
        ((5.5, None), [0, 75, 75, 100]),
        ((5.0, 7.0), [0, 100]),
    ],
)
def test_the_shade_of_a_band(band: tuple[float | None, float | None], positions: list[float]) -> None:
    """From the top of the plot down, without stops of no height."""
    assert shaded(band, Scale(5.0, 7.0, 0.5))["positions"] == positions


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ((5.5, 6.5), Scale(5.0, 7.0, 0.5)),  # the ends of a band are not hidden by the axes
        ((0.0, 0.3), Scale(0.0, 1.0, 0.5)),
        ((6.1, None), Scale(6.0, 7.0, 0.5)),
        ((59.0, 75.2), Scale(50.0, 80.0, 10.0)),
        ((-3.0, 4.0), Scale(-5.0, 5.0, 5.0)),
        ((), Scale(0.0, 1.0, 0.5)),
    ],
)
def test_the_scale_of_a_chart(values: tuple[float | None, ...], expected: Scale) -> None:
    assert scale(values) == expected


def test_formulas_that_cannot_be_computed_are_not_said_to_be(tmp_path: Path) -> None:
    log = Workbook()
    assert log.active is not None
    for row in (["Bed", "Water in", "gal"], ["T1", 9, '=CUBEVALUE("x","y")'], [], ["Date", "Bed", "pH"]):
        log.active.append(row)
    log.active.append([datetime.date(2026, 11, 20), "T1", 6.1])
    log.save(tmp_path / "log.xlsx")
    made = build_report(tmp_path / "log.xlsx", tmp_path / "w.xlsx", week="2026-W47")
    texts = texts_of(report_book(made.output), "Method")
    assert "The log is log.xlsx. It holds 1 formula. Not computed here, and not used: 1." in texts


class TestDays:
    def test_the_last_week_with_readings_up_to_a_day(self, tmp_path: Path) -> None:
        made = build_report(ROOFTOP, tmp_path / "w.xlsx", as_of=datetime.date(2026, 11, 15))
        assert str(made.week) == "2026-W46"

    def test_readings_after_the_day_are_not_used_and_counted(self, tmp_path: Path) -> None:
        made = build_report(ROOFTOP, tmp_path / "w.xlsx", week="2026-W47", as_of=datetime.date(2026, 11, 18))
        assert made.readings == 12
        texts = texts_of(report_book(made.output), "Week")
        assert any(
            "18 readings are dated after 18 November 2026, the day of this report, and not used." in text
            for text in texts
        )

    def test_a_week_without_readings(self, tmp_path: Path) -> None:
        made = build_report(ROOFTOP, tmp_path / "w.xlsx", week="2026-W30")
        assert made.readings == 0
        row = next(row for row in rows_of(report_book(made.output), "Week") if str(row[0]).startswith("T1"))
        assert [value for value in row if value][1:] == ["pH not read", "EC not read", "Water not read"]

    @pytest.mark.parametrize(
        ("text", "first"), [("2026-W47", (2026, 11, 16)), ("2026w1", (2025, 12, 29)), ("2020-W53", (2020, 12, 28))]
    )
    def test_iso_weeks(self, text: str, first: tuple[int, int, int]) -> None:
        assert parse_week(text).first == datetime.date(*first)  # ISO 8601: week 1 has the year's first Thursday

    @pytest.mark.parametrize("text", ["2026-W54", "2026-W00", "47", "next", "2025-W53"])
    def test_what_is_no_week(self, text: str) -> None:
        with pytest.raises(FileProblem, match="such as 2026-W47"):
            parse_week(text)


def log_with(folder: Path, texts: tuple[str, ...]) -> Path:
    """A log whose names, crops, notes and titles are these texts, stored as text."""
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["a log of & and texts"])
    sheet.append([])
    sheet.append(["Bed", "Crop", "Feed", "Volume gal", "Dose g"])
    for number, text in enumerate(texts):
        sheet.append([f"B{number} {text}", text, text, 10, 20])
    sheet.append([])
    sheet.append(["Feed", "Product", "Analysis", "Price", "g/gal"])
    for text in texts:
        sheet.append([text, text, text, 5, 2])
    sheet.append([])
    sheet.append(["Date", "Bed", "pH", "Notes"])
    for number, text in enumerate(texts):
        sheet.append(["2026-11-16", f"B{number} {text}", 6.0, text])
        sheet.append(["2026-11-17", f"B{number} {text}", text, text])
    for row in sheet.iter_rows():
        for cell in row:
            if isinstance(cell.value, str):
                cell.data_type = "s"
    path = folder / "log & texts.xlsx"
    book.save(path)
    return path


def test_text_of_the_log_never_becomes_a_formula(tmp_path: Path) -> None:
    made = build_report(log_with(tmp_path, DANGEROUS), tmp_path / "week.xlsx", week="2026-W47")
    book = report_book(made.output)
    found = set()
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type != "e"
                if cell.data_type == "f":
                    assert OURS.fullmatch(str(cell.value)), f"{sheet.title}!{cell.coordinate} {cell.value}"
                    continue
                if cell.value in DANGEROUS:
                    found.add(cell.value)
                if isinstance(cell.value, str) and cell.value[:1] in ("=", "+", "-", "@"):
                    assert cell.quotePrefix, f"{sheet.title}!{cell.coordinate} would become a formula when edited"
    assert found == set(DANGEROUS)
    assert made.readings == 2 * len(DANGEROUS)


def test_readings_of_one_day_stand_apart_by_their_times(tmp_path: Path) -> None:
    log = Workbook()
    assert log.active is not None
    moments = [datetime.datetime(2026, 11, 16, hour, 30) for hour in (14, 8, 20)]
    log.active.append(["Date", "Bed", "pH"])
    for moment in moments:
        log.active.append([moment, "T1", 6.0])
    log.save(tmp_path / "log.xlsx")
    book = report_book(build_report(tmp_path / "log.xlsx", tmp_path / "week.xlsx", week="2026-W47").output)
    assert [row[1] for row in rows_of(book, "History") if row[0] == "T1"] == sorted(moments)
    readings = [row[1:3] for row in rows_of(book, "Readings") if row[0] == "T1"]
    assert readings == [[datetime.datetime(2026, 11, 16), moment.time()] for moment in sorted(moments)]


def test_beds_that_do_not_fit_go_on_a_second_page_in_the_same_form(tmp_path: Path) -> None:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    names = [f"Channel {letter}" for letter in "ABCDEFGHIJKLMNOPQRST"]
    sheet.append(["Bed", "Crop", "Volume gal"])
    for name in names:
        sheet.append([name, "lettuce", 20])
    sheet.append([])
    sheet.append(["Date", "Bed", "pH", "EC mS/cm"])
    for name in names:
        sheet.append(["2026-11-16", name, 7.4, 2.9])
    book.save(tmp_path / "log.xlsx")
    made = report_book(build_report(tmp_path / "log.xlsx", tmp_path / "week.xlsx", week="2026-W47").output)
    shown = [str(row[0]) for row in rows_of(made, "Week") if str(row[0]).startswith("Channel")]
    assert shown == [f"{name} · lettuce" for name in names]
    week = sheet_of(made, "Week")
    last = max(row for row in range(1, week.max_row) if str(week.cell(row, 1).value).startswith(f"{names[-1]} ·"))
    begins = [str(week.cell(cut.id + 1, 1).value) for cut in week.row_breaks.brk if cut.id < last]
    assert len(begins) >= 2 and all(name.startswith("Channel") for name in begins), begins


def test_the_footer_keeps_an_ampersand(tmp_path: Path) -> None:
    made = build_report(log_with(tmp_path, ("x",)), tmp_path / "week.xlsx", week="2026-W47")
    with zipfile.ZipFile(made.output) as package:
        assert b"log &amp;&amp; texts.xlsx" in package.read("xl/worksheets/sheet1.xml")


class TestRefusals:
    def test_an_output_that_exists(self, tmp_path: Path) -> None:
        output = tmp_path / "week.xlsx"
        output.write_bytes(b"mine")
        with pytest.raises(FileProblem, match="exists already"):
            build_report(ROOFTOP, output, week="2026-W47")
        assert output.read_bytes() == b"mine"
        build_report(ROOFTOP, output, week="2026-W47", overwrite=True)
        assert output.read_bytes() != b"mine"

    def test_the_log_itself_as_output(self, tmp_path: Path) -> None:
        log = tmp_path / "log.xlsx"
        log.write_bytes(ROOFTOP.read_bytes())
        with pytest.raises(FileProblem, match="the log itself"):
            build_report(log, log, week="2026-W47", overwrite=True)
        assert log.read_bytes() == ROOFTOP.read_bytes()

    def test_a_workbook_that_is_no_log(self, tmp_path: Path) -> None:
        book = Workbook()
        assert book.active is not None
        book.active.append(["milk", 2])
        book.save(tmp_path / "list.xlsx")
        with pytest.raises(FileProblem, match="holds no beds and no readings"):
            build_report(tmp_path / "list.xlsx", tmp_path / "week.xlsx")

    def test_a_report_is_no_log(self, made: Report, tmp_path: Path) -> None:
        with pytest.raises(FileProblem, match="is a report that growcells wrote"):
            build_report(made.output, tmp_path / "week.xlsx")

    def test_an_unknown_recipe(self, tmp_path: Path) -> None:
        with pytest.raises(FileProblem, match='"Hoglund" is no recipe'):
            build_report(ROOFTOP, tmp_path / "week.xlsx", recipe="Hoglund")

    def test_no_readings_before_the_day(self, tmp_path: Path) -> None:
        with pytest.raises(FileProblem, match="no reading up to 2020-01-01"):
            build_report(ROOFTOP, tmp_path / "week.xlsx", as_of=datetime.date(2020, 1, 1))


def test_what_stands_together_on_paper() -> None:
    """A heading with what follows it, a table with what leads to it below its heading, and with its notes."""
    heading, lead, table, note = (
        Section("Changes"),
        Text("Beside last week:"),
        Table((), ()),
        Text("A note.", small=True),
    )
    parts = units([heading, lead, table, note, note, lead, table, heading, table, heading, lead, heading])
    together = [[heading, lead, table, note, note], [lead], [table], [heading, table], [heading, lead], [heading]]
    assert list(parts) == together
