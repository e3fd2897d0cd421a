"""The cell functions as a person meets them: a real window, a formula typed, the function wizard, a size changed.

Screenshots are kept in tests/artefacts.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from growcells_workbooks.starter import new_log
from libreoffice import RunningOffice, Workbook, needed_office, not_tested
from log_books import ROOFTOP

pytestmark = pytest.mark.office
ARTEFACTS = Path(__file__).with_name("artefacts")
PROGRAMS = {"Xvfb": "xvfb", "xdotool": "xdotool", "import": "imagemagick"}
EXAMPLES = {
    **{"Feeds": "A6:L8", "Beds": "A6:J9", "Targets": "A6:J9", "Readings": "A6:I15", "Weights": "A6:F17"},
    **{"Climate": "A6:H7", "Mix": "A8:B10"},
}
"""Where the examples of the starter log stand."""
PATIENCE = 30
"""Seconds that anything on the screen may take."""


class Screen:
    """An X display of its own, with a keyboard and a camera."""

    def __init__(self) -> None:
        told, tell = os.pipe()
        self._server = subprocess.Popen(
            ["Xvfb", "-displayfd", str(tell), "-screen", "0", "1280x800x24", "-nolisten", "tcp", "-noreset"],
            pass_fds=[tell],
            stderr=subprocess.DEVNULL,
        )
        os.close(tell)
        with os.fdopen(told) as answer:
            self.display = f":{answer.readline().strip()}"

    def _run(self, *command: str) -> str:
        done = subprocess.run(
            command, capture_output=True, text=True, timeout=PATIENCE, env={**os.environ, "DISPLAY": self.display}
        )
        return done.stdout

    def windows(self) -> list[str]:
        """The windows that show, the newest last."""
        return self._run("xdotool", "search", "--onlyvisible", "--name", ".").split()

    def focus(self, window: str) -> None:
        """Let the keyboard go to a window; there is no window manager that would."""
        self._run("xdotool", "windowfocus", "--sync", window)

    def press(self, *keys: str) -> None:
        """Press keys."""
        self._run("xdotool", "key", "--clearmodifiers", "--delay", "80", *keys)
        time.sleep(0.3)

    def type(self, text: str) -> None:
        """Type a text."""
        self._run("xdotool", "type", "--delay", "40", text)
        time.sleep(0.3)

    def picture(self, name: str) -> Path:
        """Keep what the screen shows."""
        ARTEFACTS.mkdir(exist_ok=True)
        file = ARTEFACTS / f"{name}.png"
        self._run("import", "-window", "root", str(file))
        return file

    def close(self) -> None:
        """Switch it off."""
        self._server.terminate()
        self._server.wait(PATIENCE)


def until(condition: Callable[[], object]) -> None:
    """Wait until a condition holds."""
    end = time.monotonic() + PATIENCE
    while not condition():
        assert time.monotonic() < end, "it did not come about in time"
        time.sleep(0.2)


def needed_screen() -> Screen:
    """A screen, or a test that is skipped (or fails) and says loudly what would bring it."""
    lacking = [package for program, package in PROGRAMS.items() if not shutil.which(program)]
    if lacking:
        not_tested(f"a real window. Debian packages that would bring it: {' '.join(lacking)}")
    return Screen()


@pytest.fixture
def screen() -> Iterator[Screen]:
    """A screen for one test."""
    made = needed_screen()
    yield made
    made.close()


def test_as_a_person_would(screen: Screen, office_profile: Path, tmp_path: Path) -> None:
    office = RunningOffice(needed_office(), shutil.copytree(office_profile, tmp_path / "profile"), screen.display)
    try:
        log = Path(shutil.copyfile(ROOFTOP, tmp_path / "log.xlsx"))
        before = screen.windows()
        with office.open(log, visible=True) as book:
            until(lambda: set(screen.windows()) - set(before))
            window = next(iter(set(screen.windows()) - set(before)))
            screen.focus(window)
            type_a_formula(screen, book)
            use_the_wizard(screen, book, window)
            change_a_size(screen, book)
            assert book.value("Tubs.K4") == pytest.approx(38 * 21 * 10 / 231 * 2), "the typed formula did not follow"
    finally:
        office.close()


def test_examples_are_cleared_by_hand(screen: Screen, tmp_path: Path) -> None:
    """As the guide of the starter log says: their names typed into the name box, Enter, Delete."""
    office = RunningOffice(needed_office(), tmp_path / "profile", screen.display)
    try:
        before = screen.windows()
        with office.open(new_log(tmp_path / "log.xlsx"), visible=True) as book:
            until(lambda: set(screen.windows()) - set(before))
            screen.focus(next(iter(set(screen.windows()) - set(before))))
            for sheet, area in EXAMPLES.items():
                assert all(row[0] is not None for row in book.read(f"{sheet}.{area}"))
                go_to(screen, f"Examples_{sheet}")
                screen.press("Delete")
                until(lambda: book.value(f"{sheet}.{area.partition(':')[0]}") is None)  # noqa: B023  # within the loop
                assert {value for row in book.read(f"{sheet}.{area}") for value in row} == {None}
            assert book.formulas("Beds.K6:K6")[0][0].startswith("=")
    finally:
        office.close()


def go_to(screen: Screen, cell: str) -> None:
    """Select a cell, or the cells of a name, by typing it into the name box."""
    screen.press("ctrl+shift+t", "ctrl+a")
    screen.type(cell)
    screen.press("Return")


def type_a_formula(screen: Screen, book: Workbook) -> None:
    """A dose at 2 g a gallon for the first tub, beside the log."""
    go_to(screen, "K4")
    screen.type("=GROW_DOSE(G4,2)")
    screen.press("Return")
    until(lambda: book.value("Tubs.K4") is not None)
    assert book.value("Tubs.K4") == pytest.approx(38 * 21 * 9 / 231 * 2)
    screen.picture("formula-typed")


def use_the_wizard(screen: Screen, book: Workbook, window: str) -> None:
    """It shows the call that is there; then a new call is made with it, found by a part of its name."""
    go_to(screen, "K4")
    shown = screen.windows()
    screen.press("ctrl+F2")
    until(lambda: len(screen.windows()) > len(shown))
    time.sleep(1)  # it draws itself
    screen.picture("wizard-with-a-call")
    screen.focus(screen.windows()[-1])
    screen.press("Escape")
    until(lambda: len(screen.windows()) == len(shown))

    screen.focus(window)
    go_to(screen, "K6")
    screen.press("ctrl+F2")
    until(lambda: len(screen.windows()) > len(shown))
    screen.focus(screen.windows()[-1])
    time.sleep(1)
    screen.type("volume_box")
    screen.press("Tab", "Tab", "Tab", "Down", "Return")
    screen.picture("wizard-finds-a-function")
    for size in ("38", "21", "9"):
        screen.type(size)
        screen.picture("wizard-arguments")
        screen.press("Tab", "Tab", "Tab")  # over the buttons beside the field to the next one
    screen.press("Return")
    until(lambda: len(screen.windows()) == len(shown))
    screen.focus(window)
    assert book.value("Tubs.K6") == pytest.approx(38 * 21 * 9 / 231)


def change_a_size(screen: Screen, book: Workbook) -> None:
    """The water of the first tub, from 9 in to 10 in: its volume and dose follow."""
    go_to(screen, "F4")
    screen.type("10")
    screen.press("Return")
    until(lambda: book.value("Tubs.F4") == 10)
    gallons = 38 * 21 * 10 / 231
    assert book.value("Tubs.G4") == pytest.approx(gallons)
    assert book.value("Tubs.H4") == pytest.approx(gallons * 2.4)
    picture = screen.picture("size-changed")
    assert picture.stat().st_size > 20_000  # an empty screen is smaller by far
