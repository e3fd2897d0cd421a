"""The first command of the README: what it says where it cannot work, and that it works from any folder."""

from __future__ import annotations

import builtins
import re
import subprocess
import sys
from collections import namedtuple
from pathlib import Path

import openpyxl
import pytest

import try_it

pytestmark = pytest.mark.slow  # each test makes the demo or an environment

Version = namedtuple("Version", "major minor")


def test_an_old_python_is_told_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "version_info", Version(3, 9))
    with pytest.raises(SystemExit, match=r"^growcells needs Python 3\.11 or newer, and this is 3\.\d+\.\d+\S*\.$"):
        try_it.check_python()


def test_a_python_without_environments_is_told_which_package_brings_them(monkeypatch: pytest.MonkeyPatch) -> None:
    original = builtins.__import__

    def without_ensurepip(name: str, *others: object) -> object:
        if name == "ensurepip":
            raise ImportError(name)
        return original(name, *others)  # type: ignore[arg-type]

    monkeypatch.setattr(builtins, "__import__", without_ensurepip)
    with pytest.raises(SystemExit, match=r"sudo apt-get install python3-venv$"):
        try_it.check_python()


def test_an_installation_that_fails_is_a_sentence(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def no_network(command: list[str], **_: object) -> subprocess.CompletedProcess[str]:
        return subprocess.CompletedProcess(command, 1)

    monkeypatch.setattr(try_it.venv, "create", lambda *_, **__: None)
    monkeypatch.setattr(try_it.subprocess, "run", no_network)
    with pytest.raises(SystemExit, match=r"^The installation failed; pip says why above\. Is there a network\?$"):
        try_it.make_environment(tmp_path / ".venv", ["--editable", "."])
    assert not (tmp_path / ".venv" / "growcells-installed").exists()


def test_an_environment_is_made_once_for_the_same_packages(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    made = []
    python = try_it.python_of(tmp_path)

    def create(environment: Path, **_: object) -> None:
        made.append(environment)
        python.parent.mkdir(parents=True, exist_ok=True)
        python.touch()

    monkeypatch.setattr(try_it.venv, "create", create)
    monkeypatch.setattr(try_it.subprocess, "run", lambda command, **_: subprocess.CompletedProcess(command, 0))
    for requirements in (["--editable", "."], ["--editable", "."], ["--editable", ".[test]"]):
        assert try_it.make_environment(tmp_path, requirements) == python
    assert len(made) == 2


def test_the_demo_runs_in_a_folder_that_holds_the_project_as_growcells(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    # A folder of that name on Python's path would hide the package.
    (tmp_path / "growcells" / "functions").mkdir(parents=True)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(try_it, "make_environment", lambda *_: Path(sys.executable))
    monkeypatch.setattr(sys, "argv", ["try_it.py"])
    assert try_it.main() == 0
    told = capfd.readouterr().out
    assert "all of it invented" in told
    # The command that the last line names is there.
    command = re.search(r"^Here growcells is (\S+), or growcells alone after: (?:\. )?(\S+)$", told, re.MULTILINE)
    assert command is not None
    assert Path(command[1]).resolve().parent == Path(sys.executable).parent == Path(command[2]).resolve().parent
    logs = sorted(file.name for file in (tmp_path / "growcells-demo").iterdir())
    assert len(logs) == 3
    for name in logs:
        assert openpyxl.load_workbook(tmp_path / "growcells-demo" / name).sheetnames
