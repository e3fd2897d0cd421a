"""Make the pictures of the READMEs anew: a LibreOffice window with a dose in it, and the pages of the demo's report.

python3 tests/run.py tests/test_libreoffice_window.py    brings what this needs
.test-venv/bin/python tests/pictures.py
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(PROJECT / folder) for folder in ("functions", "addin", "workbooks", "tests")]

from growcells_addin.libreoffice.install import install_libreoffice  # noqa: E402
from growcells_addin.libreoffice.program import clean_environment, find_office, profile_options  # noqa: E402
from growcells_workbooks.demo import run as run_demo  # noqa: E402
from libreoffice import RunningOffice, needed_office  # noqa: E402
from test_libreoffice_window import Screen, go_to, until  # noqa: E402

WINDOWS = PROJECT / "addin" / "pictures"
PAGES = PROJECT / "workbooks" / "pictures"
PRINTED = {"weekly-report": 1, "readings-of-the-week": 4}
"""Pictures of the demo's report, and the pages they show."""
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


def picture_of_a_report(folder: Path) -> None:
    """Pages of the demo's report, as they print."""
    report = run_demo(folder / "demo", lambda _: None).report.output
    office = [find_office().soffice, *profile_options(folder / "printing"), "--headless"]
    printing = [*office, "--convert-to", "pdf", "--outdir", folder, report]
    subprocess.run(printing, check=True, stdout=subprocess.DEVNULL, timeout=180, env=clean_environment())
    PAGES.mkdir(exist_ok=True)
    printed = folder / report.with_suffix(".pdf").name
    for name, page in PRINTED.items():
        picture = PAGES / f"{name}.png"
        one = ["-f", str(page), "-l", str(page), "-singlefile"]
        subprocess.run(["pdftoppm", "-r", "90", "-png", *one, printed, picture.with_suffix("")], check=True)
        subprocess.run(["convert", picture, "-colors", "64", picture], check=True)


def main() -> None:
    """Make both pictures."""
    with tempfile.TemporaryDirectory() as folder:
        picture_of_a_dose(Path(folder))
        picture_of_a_report(Path(folder))


if __name__ == "__main__":
    main()
