"""The LibreOffice and the stand-ins for Excel that the tests share, and what the whole test run tells at its end."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from growcells_workbooks.gate.limits import SPARING
from libreoffice import RunningOffice, installed_extensions, profile_with_growcells, running_office
from stand_ins.excel import OfficeExcel, WindowsExcel, office_excel, windows_excel

os.environ.update(SPARING)  # a process that is copied from this one holds what libraries reserve here

NEEDS = {"office", "browser"}
"""Fixtures that are markers as well."""


@pytest.fixture(scope="session", autouse=True)
def extensions_stay() -> Iterator[None]:
    """The extensions that are installed on this machine are none of the tests' business."""
    before = installed_extensions()
    yield
    assert installed_extensions() == before, "the tests changed which extensions LibreOffice has on this machine"


@pytest.fixture(scope="session")
def office_profile(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Iterator[Path]:
    """A profile of LibreOffice with growcells installed, to be copied: one for all processes of this test run."""
    own = tmp_path_factory.getbasetemp()
    with profile_with_growcells((own if worker_id == "master" else own.parent) / "growcells-installed") as profile:
        yield profile


@pytest.fixture(scope="session")
def office(office_profile: Path) -> Iterator[RunningOffice]:
    """The LibreOffice of this process of the test run."""
    with running_office(office_profile) as running:
        yield running


@pytest.fixture
def excel_on_windows() -> Iterator[WindowsExcel]:
    """A stand-in for Excel on Windows, with the add-in imported anew."""
    with windows_excel() as excel:
        yield excel


@pytest.fixture
def excel_elsewhere() -> Iterator[OfficeExcel]:
    """A stand-in for Excel on Mac and web, with the add-in imported anew."""
    with office_excel() as excel:
        yield excel


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what needs LibreOffice or a browser by its fixtures; modules with tests that take patience come first.

    So no processor is left alone with one of them at the end.
    """
    patient = set()
    for item in items:
        for marker in NEEDS & set(getattr(item, "fixturenames", ())):
            item.add_marker(marker)
        if any(item.iter_markers("slow")) or any(item.iter_markers("browser")) or any(item.iter_markers("office")):
            patient.add(item.path)
    items.sort(key=lambda item: item.path not in patient)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print the table of conformance where its tests ran."""
    passed = terminalreporter.stats.get("passed", [])
    ran = Counter(value for report in passed for name, value in report.user_properties if name == "bridge")
    if ran:
        terminalreporter.section("examples of the cell functions that gave their value")
        for bridge, count in ran.items():
            terminalreporter.line(f"{count:5}  {bridge}")
        terminalreporter.line(f"{ran.total()} examples x bridges")
