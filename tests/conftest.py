"""The LibreOffice that the tests share, and what the whole test run tells at its end."""

from __future__ import annotations

import sys

import pytest

from libreoffice import RunningOffice, running_office


@pytest.fixture(scope="session")
def office() -> RunningOffice:
    """The LibreOffice of this test run."""
    return running_office()


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
