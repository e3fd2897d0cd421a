"""The LibreOffice and the stand-ins for Excel that the tests share, and what the whole test run tells at its end."""

from __future__ import annotations

import sys
from collections.abc import Iterator

import pytest

from libreoffice import RunningOffice, running_office
from stand_ins.excel import OfficeExcel, WindowsExcel, office_excel, windows_excel


@pytest.fixture(scope="session")
def office() -> RunningOffice:
    """The LibreOffice of this test run."""
    return running_office()


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


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print the table of conformance where its tests ran."""
    conformance = sys.modules.get("test_conformance")
    if conformance is None or not conformance.ran:
        return
    terminalreporter.section("examples of the cell functions that gave their value")
    for bridge, count in conformance.ran.items():
        where, how = conformance.HOW[bridge]
        terminalreporter.line(f"{where:36} {count:4} of {len(conformance.CASES)}   {how}")
    terminalreporter.line(f"{sum(conformance.ran.values())} examples x bridges")
