"""mutmut's command, with tests that are collected once and not anew for each mutant. ``mutation.py`` runs it.

A worker is forked from a process that has collected all tests already and runs those that are to try its mutant,
which costs a tenth of a start of pytest. A mutant counts as noticed where the body of a test fails; anything else that
goes wrong is left to the second run, which starts pytest for each mutant.
"""

from __future__ import annotations

import os
from collections.abc import Iterable

import pytest
from _pytest.runner import runtestprotocol
from mutmut.__main__ import cli
from mutmut.runners.harness import PytestRunner
from mutmut.utils.file_utils import change_cwd
from mutmut.workers import isolation

from mutation import WARM_UP

NOTICED, NOT_NOTICED, LEFT_OPEN = 1, 0, 35
"""Exit codes of a worker, as mutmut reads them."""


class Collected:
    """A plugin of pytest that keeps the tests found."""

    def __init__(self) -> None:
        self.items: dict[str, pytest.Item] = {}

    def pytest_collection_finish(self, session: pytest.Session) -> None:
        """Keep the tests by the names that mutmut knows them by."""
        self.items = {item.nodeid: item for item in session.items}


class CollectedOnce(PytestRunner):
    """Runs tests that were collected before the fork."""

    collected = Collected()

    def warm_up(self) -> None:
        """Collect all tests, in the process from which every worker is forked."""
        with change_cwd("mutants"):
            arguments = ["--collect-only", "-qqq", *self._pytest_add_cli_args_test_selection]
            self.execute_pytest(arguments, plugins=[self.collected])

    def run_tests(self, *, mutant_name: str | None, tests: Iterable[str]) -> int:
        """Run some tests, until one fails."""
        items = self.collected.items
        if not items:
            return super().run_tests(mutant_name=mutant_name, tests=tests)
        try:
            next(iter(items.values())).config.pluginmanager.getplugin("capturemanager").start_global_capturing()
            with change_cwd("mutants"):
                for test in tests:
                    for report in runtestprotocol(items[test], log=False, nextitem=None):
                        if report.failed:
                            return NOTICED if report.when == "call" else LEFT_OPEN
        except Exception:
            return LEFT_OPEN
        return NOT_NOTICED


if __name__ == "__main__":
    if WARM_UP in os.environ:
        isolation.PytestRunner = CollectedOnce
    cli()
