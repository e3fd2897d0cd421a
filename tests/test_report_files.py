"""What a report is given beside the log, and what it becomes: photos, an earlier log, PDF, many logs at once."""

from __future__ import annotations

import datetime
import io
import zipfile
from functools import partial
from pathlib import Path

import pytest
from openxml_audit import OpenXmlValidator  # type: ignore[import-untyped]
from PIL import Image

from growcells_workbooks.command_line.options import paper_of_locale
from growcells_workbooks.gate import FileProblem
from growcells_workbooks.reading import Reading
from growcells_workbooks.report import build_report
from growcells_workbooks.report.advice.odd_readings import factors, jumps, overfull, stuck
from growcells_workbooks.report.figures.iso_week import parse_week
from growcells_workbooks.report.figures.photo_folder import LONGEST_SIDE, prepared, read_name, read_photos
from growcells_workbooks.report.many import Failed, build_reports
from growcells_workbooks.sheets.print_setup import A4
from libreoffice import RunningOffice
from log_books import ROOFTOP
from processes import growcells
from report_books import report_book, rows_of, texts_of
from us_units import CUBIC_INCHES_IN_GALLON

SUNDAY = datetime.date(2026, 11, 22)
WEEK = parse_week("2026-W47")
BEDS = ["T1", "T2", "T10", "Raft 1", "Raft 1 west"]
ORIENTATION, GPS = 0x0112, 0x8825
"""Tags of EXIF 2.3."""
RED, BLUE = (200, 20, 20), (20, 20, 200)


def picture(path: Path, size: tuple[int, int] = (400, 300), orientation: int = 1, kind: str = "") -> Path:
    """A picture with a red upper half and a blue lower one, taken at a place that its file gives."""
    image = Image.new("RGB", size, BLUE)
    image.paste(RED, (0, 0, size[0], size[1] // 2))
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    exif.get_ifd(GPS)[1] = "N"
    exif.get_ifd(GPS)[2] = (41.0, 24.0, 12.2)
    image.save(path, kind or None, exif=exif)
    return path


def near(pixel: object, colour: tuple[int, int, int]) -> bool:
    """Whether a pixel of a JPEG has a colour, but for what compression does to it."""
    assert isinstance(pixel, tuple)
    return all(abs(one - other) < 30 for one, other in zip(pixel, colour, strict=True))


class TestPhotos:
    @pytest.mark.parametrize(
        ("stem", "bed"),
        [
            ("2026-11-16 T1", "T1"),
            ("20261116_T10_b", "T10"),
            ("t1-2026.11.16", "T1"),
            ("Raft 1 2026-11-16", "Raft 1"),
            ("2026-11-16 raft1", "Raft 1"),
            ("2026-11-16 Raft_1_west (2)", "Raft 1 west"),
        ],
    )
    def test_names(self, stem: str, bed: str) -> None:
        assert read_name(stem, BEDS) == (bed, datetime.date(2026, 11, 16))

    @pytest.mark.parametrize(
        ("stem", "why"),
        [
            ("IMG_1234", "no date"),
            ("2026-11-16", "no bed"),
            ("2026-11-16 T11", "no bed"),
            ("2026-13-40 T1", "is not a date"),
        ],
    )
    def test_names_that_say_nothing(self, stem: str, why: str) -> None:
        assert why in str(read_name(stem, BEDS))

    @pytest.mark.parametrize("orientation", range(1, 9))
    def test_upright(self, tmp_path: Path, orientation: int) -> None:
        # EXIF 2.3, tag 0x0112: where row 0 and column 0 of the file stand in the scene, here top for red
        data, width, height = prepared(picture(tmp_path / "p.jpg", orientation=orientation))
        shown = Image.open(io.BytesIO(data))
        assert (width, height) == shown.size == ((400, 300) if orientation < 5 else (300, 400))
        middle, near_end = width // 2, 10
        edge = {
            **dict.fromkeys((1, 2), (middle, near_end)),  # top
            **dict.fromkeys((3, 4), (middle, height - near_end)),  # bottom
            **dict.fromkeys((5, 8), (near_end, height // 2)),  # left
            **dict.fromkeys((6, 7), (width - near_end, height // 2)),  # right
        }[orientation]
        assert near(shown.getpixel(edge), RED)

    def test_place_and_camera_are_left_out(self, tmp_path: Path) -> None:
        path = picture(tmp_path / "p.jpg")
        assert Image.open(path).getexif().get_ifd(GPS)
        data, _, _ = prepared(path)
        shown = Image.open(io.BytesIO(data))
        assert not shown.getexif() and "exif" not in shown.info and b"Exif" not in data

    def test_small(self, tmp_path: Path) -> None:
        _, width, height = prepared(picture(tmp_path / "p.jpg", (4000, 1000)))
        assert (width, height) == (LONGEST_SIDE, LONGEST_SIDE // 4)

    def test_what_is_see_through_is_white(self, tmp_path: Path) -> None:
        Image.new("RGBA", (40, 40), (0, 0, 0, 0)).save(tmp_path / "p.png")
        data, _, _ = prepared(tmp_path / "p.png")
        assert near(Image.open(io.BytesIO(data)).getpixel((20, 20)), (255, 255, 255))

    def test_the_latest_of_each_week(self, tmp_path: Path) -> None:
        for name in (
            *("2026-11-16 T1.jpg", "2026-11-20 T1.jpg", "2026-11-20 T1 b.jpg", "2026-11-09 T1.jpg"),
            *("2026-11-23 T1.jpg", "2026-10-25 T1.jpg", "2026-11-18 T2.png"),
        ):
            picture(tmp_path / name)
        (tmp_path / "notes.txt").write_text("no picture")
        (tmp_path / "2026-11-21 T2.jpg").write_bytes(b"torn")
        picture(tmp_path / "holiday.jpg")
        photos = read_photos(tmp_path, BEDS, WEEK, SUNDAY)
        assert [str(week) for week in photos.weeks] == ["2026-W44", "2026-W45", "2026-W46", "2026-W47"]
        shown = {(bed, str(week)): photo.name for (bed, week), photo in photos.shown.items()}
        assert shown == {("T1", "2026-W47"): "2026-11-20 T1 b.jpg", ("T1", "2026-W46"): "2026-11-09 T1.jpg"}
        assert [name for name, _ in photos.left_out] == ["2026-11-21 T2.jpg", "holiday.jpg"]

    def test_on_their_page(self, tmp_path: Path) -> None:
        folder = tmp_path / "photos"
        folder.mkdir()
        picture(folder / "2026-11-16 T1.jpg", orientation=6)
        picture(folder / "2026-11-10 T1.png", (100, 300))
        picture(folder / "who knows.jpg")
        made = build_report(ROOFTOP, tmp_path / "week.xlsx", week="2026-W47", photos=folder)
        assert (made.photos, made.photos_left_out) == (2, 1)
        sheet = report_book(made.output)["Photos"]
        places = {(image.anchor._from.row, image.anchor._from.col): image for image in sheet._images}
        assert [column for _, column in sorted(places)] == [2, 3]  # weeks 46 and 47 side by side
        assert len({row for row, _ in places}) == 1
        for image in sheet._images:
            begin, end = image.anchor._from, image.anchor.to
            assert (begin.row, begin.col) == (end.row, end.col)  # within a cell, however wide a program shows it
            across, down = end.colOff - begin.colOff, end.rowOff - begin.rowOff
            assert across / down == pytest.approx(image.width / image.height, rel=0.02)
        texts = [cell.value for row in sheet.iter_rows() for cell in row if cell.value]
        assert "week 47: Mon 16 Nov" in texts and "week 44: no photo" in texts
        assert "who knows.jpg: its name has no date: name it like 2026-11-16 T1.jpg." in texts
        with zipfile.ZipFile(made.output) as package:
            pictures = [package.read(name) for name in package.namelist() if name.startswith("xl/media/")]
        assert len(pictures) == 2 and all(b"Exif" not in data for data in pictures)
        result = OpenXmlValidator().validate(made.output)
        assert [error.description for error in result.errors if "error" in str(error.severity).lower()] == []
        again = build_report(ROOFTOP, tmp_path / "again.xlsx", week="2026-W47", photos=folder)
        assert again.output.read_bytes() == made.output.read_bytes()

    def test_a_folder_that_is_not_there(self, tmp_path: Path) -> None:
        with pytest.raises(FileProblem, match="is not a folder"):
            build_report(ROOFTOP, tmp_path / "week.xlsx", week="2026-W47", photos=tmp_path / "none")


class TestPrevious:
    def changed(self, folder: Path) -> Path:
        """The rooftop log as it was: T1 shorter, T2 on another feed, T6 not there, one bed that is gone."""
        book = report_book(ROOFTOP)
        tubs = book["Tubs"]
        tubs["D4"] = 30
        tubs["C5"] = "A"
        tubs["A9"] = "T7"
        path = folder / "last-week.xlsx"
        book.save(path)
        return path

    def test_what_changed_and_why(self, tmp_path: Path) -> None:
        made = build_report(
            ROOFTOP, tmp_path / "week.xlsx", week="2026-W47", previous=self.changed(tmp_path), overwrite=True
        )
        found = rows_of(report_book(made.output, data_only=True), "Doses")
        texts = [row[0] for row in found]
        start = texts.index("Compared with last-week.xlsx:") + 2
        rows = {row[0]: tuple(row[1:6]) for row in found[start : start + 3]}
        before, now = 30 * 21 * 9 / CUBIC_INCHES_IN_GALLON, 38 * 21 * 9 / CUBIC_INCHES_IN_GALLON
        assert rows["T1"][:4] == pytest.approx((before, now, before * 2.4, now * 2.4))
        assert rows["T1"][4] == "length 30 → 38 in"
        assert rows["T2"][4] == "feed A → B; rate 2.4 → 1.2 g/gal"
        assert rows["T6"][4] == "a new bed" and rows["T6"][0] is None
        assert "No longer in the log: T7." in texts

    def test_nothing_changed(self, tmp_path: Path) -> None:
        made = build_report(ROOFTOP, tmp_path / "week.xlsx", week="2026-W47", previous=ROOFTOP)
        texts = texts_of(report_book(made.output), "Doses")
        assert "Nothing changed." in texts

    def test_without_it_nothing_is_claimed(self, tmp_path: Path) -> None:
        made = build_report(ROOFTOP, tmp_path / "week.xlsx", week="2026-W47")
        texts = texts_of(report_book(made.output), "Method")
        assert any("it cannot tell what they were" in text for text in texts)


class TestMany:
    def test_one_that_fails_does_not_stop_the_others(self, tmp_path: Path) -> None:
        logs = tmp_path / "logs"
        (logs / "other").mkdir(parents=True)
        for name in ("a.xlsx", "c.xlsx", "other/a.xlsx", "~$c.xlsx"):
            (logs / name).write_bytes(ROOFTOP.read_bytes())
        (logs / "b.xlsx").write_bytes(b"torn")
        told: list[tuple[int, int]] = []
        sources = [logs / name for name in ("a.xlsx", "b.xlsx", "~$c.xlsx", "c.xlsx", "other/a.xlsx")]
        build = partial(build_report, week="2026-W47")
        results = build_reports(sources, tmp_path / "out", build, lambda number, total: told.append((number, total)))
        assert [isinstance(result, Failed) for result in results] == [False, True, False, True]
        assert "would have the same name as that of" in str(results[3])
        assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["a.week.xlsx", "c.week.xlsx"]
        assert told == [(0, 4), (1, 4), (2, 4), (3, 4), (4, 4)]

    @pytest.mark.slow
    def test_from_the_command_line(self, tmp_path: Path) -> None:
        (tmp_path / "torn.xlsx").write_bytes(b"torn")
        done = growcells("report", ROOFTOP, tmp_path / "torn.xlsx", "--out", tmp_path / "out", "--week", "2026-W47")
        assert done.returncode == 1
        assert "1 report written, and 1 failed." in done.stdout
        assert "torn.xlsx: no report." in done.stdout
        assert (tmp_path / "out" / "rooftop-log.week.xlsx").is_file()

    def test_several_logs_need_a_folder(self) -> None:
        done = growcells("report", "a.xlsx", "b.xlsx")
        assert done.returncode == 2 and "add --out FOLDER" in done.stderr


class TestPdf:
    def test_without_libreoffice(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        from growcells_addin.libreoffice import program

        monkeypatch.setattr(program, "_folders", lambda: iter(()))
        with pytest.raises(FileProblem, match="a PDF needs LibreOffice"):
            build_report(ROOFTOP, tmp_path / "week.xlsx", week="2026-W47", pdf=True)

    def test_it_does_not_replace_a_file(self, tmp_path: Path) -> None:
        (tmp_path / "week.pdf").write_bytes(b"mine")
        with pytest.raises(FileProblem, match="exists already"):
            build_report(ROOFTOP, tmp_path / "week.xlsx", week="2026-W47", pdf=True)
        assert (tmp_path / "week.pdf").read_bytes() == b"mine"
        assert not (tmp_path / "week.xlsx").exists()

    def test_the_first_sheet_is_the_first_page(self, office: RunningOffice, tmp_path: Path) -> None:
        made = build_report(ROOFTOP, tmp_path / "week.xlsx", week="2026-W47", pdf=True)
        assert made.pdf == tmp_path / "week.pdf"
        data = made.pdf.read_bytes()
        assert data.startswith(b"%PDF") and data.count(b"/Type/Page") > 10
        assert sorted(path.name for path in tmp_path.iterdir()) == ["week.pdf", "week.xlsx"]


class TestPaper:
    @pytest.mark.parametrize(
        ("environment", "paper"),
        [
            ({"LANG": "en_US.UTF-8"}, "Letter"),
            ({"LANG": "de_DE.UTF-8"}, "A4"),
            ({"LANG": "de_DE.UTF-8", "LC_PAPER": "en_CA.UTF-8"}, "Letter"),
            ({"LANG": "en_US.UTF-8", "LC_ALL": "en_GB.UTF-8"}, "A4"),
            ({"LANG": "C.UTF-8"}, ""),  # then the log's units tell
        ],
    )
    def test_by_the_locale(self, monkeypatch: pytest.MonkeyPatch, environment: dict[str, str], paper: str) -> None:
        for name in ("LC_ALL", "LC_PAPER", "LANG"):
            monkeypatch.delenv(name, raising=False)
        for name, value in environment.items():
            monkeypatch.setenv(name, value)
        assert paper_of_locale() == paper

    @pytest.mark.slow
    def test_as_asked(self, tmp_path: Path) -> None:
        done = growcells("form", ROOFTOP, "--week", "2026-W47", "--output", tmp_path / "form.xlsx", "--paper", "a4")
        assert done.returncode == 0 and "A form for 6 beds" in done.stdout, done.stderr
        assert report_book(tmp_path / "form.xlsx")["Form"].page_setup.paperSize == A4
        assert growcells("form", ROOFTOP, "--paper", "tabloid").returncode == 2


class TestOddReadings:
    def row(self, day: int, **values: float) -> Reading:
        return Reading("T", datetime.date(2026, 11, day), **values, sheet="log", row=day)  # type: ignore[arg-type]

    def test_a_jump(self) -> None:
        course = [self.row(1, ph=6.0), self.row(2, ph=7.5), self.row(9, ph=5.8)]
        assert [(odd.place, odd.why) for odd in jumps(course, "ph", "pH", 1.0)] == [
            ("log, row 2", "pH went from 6 to 7.5")
        ]

    def test_a_factor_that_a_refill_explains(self) -> None:
        course = [self.row(1, ec=1.6), self.row(2, ec=0.7, water_added=9), self.row(3, ec=1.6), self.row(4, ec=1.5)]
        assert [odd.place for odd in factors(course, "ec", "EC", 2, "mS/cm")] == ["log, row 3"]

    def test_a_meter_that_is_stuck(self) -> None:
        course = [self.row(1, ph=6.1), *(self.row(day, ph=6.0) for day in range(2, 8))]
        assert [odd.why for odd in stuck(course, "ph", "pH", 6)] == [
            "pH 6 was read 6 times in a row, since log, row 2: the meter may be stuck"
        ]
        assert list(stuck(course, "ph", "pH", 7)) == []

    def test_deeper_than_full(self) -> None:
        course = [self.row(1, depth=9.5), self.row(2, depth=12)]
        assert [odd.place for odd in overfull(course, 9.0, "in")] == ["log, row 2"]
        assert list(overfull(course, None, "in")) == []
