"""Make the pictures of the READMEs anew: a LibreOffice window with a dose in it, and the demo's report on
paper and on a phone.

python3 tests/run.py tests/test_libreoffice_window.py    brings what this needs
.test-venv/bin/python tests/pictures.py             with --report those of the report alone
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path

import pypdfium2
from PIL import Image

PROJECT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(PROJECT / folder) for folder in ("functions", "addin", "workbooks", "tests")]

from browsers import found_chromium  # noqa: E402
from growcells_addin.libreoffice.install import install_libreoffice  # noqa: E402
from growcells_workbooks.demo import run as run_demo  # noqa: E402
from growcells_workbooks.demo.scenario import LAST_DAY  # noqa: E402
from growcells_workbooks.report import build_form, build_report  # noqa: E402
from libreoffice import RunningOffice, needed_office  # noqa: E402
from test_libreoffice_window import Screen, go_to, until  # noqa: E402

WINDOWS = PROJECT / "addin" / "pictures"
PAGES = PROJECT / "workbooks" / "pictures"
PRINTED = {"weekly-report": "Week", "charts": "pH, EC and water"}
"""Pictures of the demo's report, and the title of the page that each shows."""
PHONE = 360, 1500
"""The view of a phone that is taken [pixels]."""
SCALE = 1.25
"""Pixels to a point of a printed page: 90 to an inch."""
CELLS = {
    "A1": "length (in)",
    "B1": "width (in)",
    "C1": "water (in)",
    "D1": "gallons",
    "E1": "feed (g)",
    "F1": "N (ppm)",
    "A2": "42",
    "B2": "31",
    "C2": "6",
    "D2": "=GROW_VOLUME_BOX(A2,B2,C2)",
    "E2": "=GROW_DOSE(D2,1.8)",
    "F2": '=GROW_PPM(E2,D2,"17-7-21","N")',
}


def picture_of_a_dose(folder: Path) -> None:
    """The walk of the README, typed into a window."""
    office = needed_office()
    install_libreoffice(lambda _: None, folder / "profile")
    screen = Screen()
    running = RunningOffice(office, folder / "profile", screen.display)
    try:
        before = screen.windows()
        with running.open(visible=True) as book:
            until(lambda: set(screen.windows()) - set(before))
            screen.focus(next(iter(set(screen.windows()) - set(before))))
            for cell, text in CELLS.items():
                go_to(screen, cell)
                screen.type(text)
                screen.press("Return")
            until(lambda: isinstance(book.value("Sheet1.F2"), float))
            go_to(screen, "E2")
            time.sleep(1)
            keep(screen.picture("a-dose-in-a-cell"), "1000x420+0+0")
            screen.press("ctrl+F2")
            time.sleep(2)
            keep(screen.picture("the-function-wizard"), "1000x690+0+0")
            screen.focus(screen.windows()[-1])
            screen.press("Escape")
    finally:
        running.close()
        screen.close()


def keep(taken: Path, part: str) -> None:
    """Keep a part of a screenshot as a picture of a README."""
    WINDOWS.mkdir(exist_ok=True)
    subprocess.run(["convert", taken, "-crop", part, "+repage", "-colors", "64", WINDOWS / taken.name], check=True)


def pictures_of_a_report(folder: Path) -> None:
    """Pages of the demo's report and its form as they print, and its first page on a phone."""
    log = run_demo(folder / "demo", lambda _: None).changed_log
    report = build_report(log, folder / "week.xlsx", as_of=LAST_DAY, pdf=True, html=True)
    form = build_form(log, folder / "form.xlsx", as_of=LAST_DAY, pdf=True)
    assert report.pdf is not None and report.html is not None and form.pdf is not None
    PAGES.mkdir(exist_ok=True)
    with closing(pypdfium2.PdfDocument(report.pdf)) as document:
        for name, title in PRINTED.items():
            page = next(page for page in document if title in page.get_textpage().get_text_bounded())
            keep_page(page.render(scale=SCALE).to_pil(), name)
    with closing(pypdfium2.PdfDocument(form.pdf)) as document:
        keep_page(document[0].render(scale=SCALE).to_pil(), "form-of-the-week")
    shot = folder / "phone.png"
    size = ",".join(map(str, PHONE))
    options = ["--headless", "--no-sandbox", "--hide-scrollbars", f"--window-size={size}", f"--screenshot={shot}"]
    chromium = found_chromium(folder).program
    subprocess.run([chromium, *options, report.html.as_uri()], check=True, capture_output=True)
    keep_page(Image.open(shot), "on-a-phone")


def keep_page(picture: Image.Image, name: str) -> None:
    """Keep a picture of few colours."""
    picture.convert("RGB").quantize(64).save(PAGES / f"{name}.png", optimize=True)


def main() -> None:
    """Make all pictures, or only those of the report."""
    with tempfile.TemporaryDirectory() as folder:
        if "--report" not in sys.argv[1:]:
            picture_of_a_dose(Path(folder))
        pictures_of_a_report(Path(folder))


if __name__ == "__main__":
    main()
