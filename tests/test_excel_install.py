"""``install excel``, its opposite, and the macros as a file: xlwings' own code, with a stand-in for Excel's folder."""

from __future__ import annotations

import importlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

import pytest

from growcells import functions
from growcells_addin.bridge_files import BridgeProblem
from growcells_addin.excel import install as install_here
from processes import run_python
from stand_ins.excel import MODULE, windows_excel


@dataclass
class Machine:
    """A Windows machine with Excel, as far as the installation sees it."""

    install: ModuleType
    settings: Path
    startup: Path

    def read_settings(self) -> dict[str, str]:
        return importlib.import_module("xlwings.utils").read_user_config()  # type: ignore[no-any-return]


@pytest.fixture
def machine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Machine]:
    startup = tmp_path / "XLSTART"
    startup.mkdir()
    settings = tmp_path / ".xlwings" / "xlwings.conf"
    with windows_excel(), monkeypatch.context() as patch:
        install = importlib.import_module("growcells_addin.excel.install")
        patch.setattr("platform.system", lambda: "Windows")
        patch.setattr("xlwings.USER_CONFIG_FILE", str(settings))
        patch.setattr("xlwings.apps", [])  # no Excel window is open
        patch.setattr("xlwings.cli.get_addin_dir", lambda everywhere: str(startup))
        for variable in ("CONDA_DEFAULT_ENV", "CONDA_EXE"):
            patch.delenv(variable, raising=False)
        yield Machine(install, settings, startup)


def test_install_copies_the_addin_and_writes_its_settings(machine: Machine, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.executable", r"C:\growcells\python.exe")
    said: list[str] = []
    machine.install.install_excel(said.append)
    assert (machine.startup / "xlwings.xlam").stat().st_size > 0
    assert machine.read_settings()["udf modules"] == MODULE
    assert machine.read_settings()["interpreter_win"] == r"C:\growcells\python.exe"
    assert "Successfully installed" in said[0]
    assert str(machine.settings) in said[1]
    assert any("Import Functions" in line for line in said)


def test_install_twice_changes_nothing_and_keeps_other_modules(machine: Machine) -> None:
    machine.settings.parent.mkdir()
    machine.settings.write_text('"UDF MODULES","prices;weather"\n"PYTHONPATH","x"\n')
    machine.install.install_excel(print)
    once = machine.settings.read_text()
    machine.install.install_excel(print)
    assert sorted(machine.settings.read_text().splitlines()) == sorted(once.splitlines())
    assert machine.read_settings()["udf modules"] == f"prices;weather;{MODULE}"
    assert machine.read_settings()["pythonpath"] == "x"


def test_uninstall_leaves_what_others_entered(machine: Machine) -> None:
    machine.settings.parent.mkdir()
    machine.settings.write_text('"UDF MODULES","prices"\n')
    machine.install.install_excel(print)
    machine.install.uninstall_excel(print)
    assert machine.read_settings()["udf modules"] == "prices"


def test_uninstall_after_install_leaves_no_module(machine: Machine) -> None:
    machine.install.install_excel(print)
    said: list[str] = []
    machine.install.uninstall_excel(said.append)
    assert "udf modules" not in machine.read_settings()
    assert "out of the add-in's settings" in said[0]


def test_uninstall_without_install_says_so(machine: Machine) -> None:
    said: list[str] = []
    machine.install.uninstall_excel(said.append)
    assert said == ["The settings of the xlwings add-in do not name the growcells functions: nothing to remove."]


def test_excel_that_does_not_answer_is_one_sentence(machine: Machine, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_excel(everywhere: bool) -> str:
        raise RuntimeError("Invalid class string")

    monkeypatch.setattr("xlwings.cli.get_addin_dir", no_excel)
    with pytest.raises(Exception, match=r"Excel did not answer.*Invalid class string") as caught:
        machine.install.install_excel(print)
    assert type(caught.value).__name__ == "BridgeProblem"
    assert not machine.settings.exists()


def test_a_failed_copy_of_the_addin_is_reported(machine: Machine, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("xlwings.cli.get_addin_dir", lambda everywhere: str(machine.startup / "missing"))
    with pytest.raises(Exception, match="the xlwings add-in could not be installed"):
        machine.install.install_excel(print)
    assert not machine.settings.exists()


def test_settings_that_cannot_be_written_are_one_sentence(machine: Machine, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_space(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("xlwings.cli.update_user_config", no_space)
    with pytest.raises(Exception, match=r"cannot be written.*No space left"):
        machine.install.install_excel(print)


def test_export_bas_writes_every_macro_as_the_macro_editor_reads_it(machine: Machine, tmp_path: Path) -> None:
    path = tmp_path / "growcells.bas"
    machine.install.export_file(path)
    raw = path.read_bytes()
    text = raw.decode("ascii")
    assert text.startswith('Attribute VB_Name = "xlwings_udfs"\r\n')
    assert raw.count(b"\n") == raw.count(b"\r\n")
    for name in functions():
        assert f"\r\nFunction {name}(" in text


def test_export_bas_overwrites_nothing(machine: Machine, tmp_path: Path) -> None:
    path = tmp_path / "mine.bas"
    path.write_text("mine")
    with pytest.raises(Exception, match=r"mine\.bas exists already"):
        machine.install.export_file(path)
    assert path.read_text() == "mine"


def test_export_bas_under_a_name_that_excel_does_not_import(machine: Machine, tmp_path: Path) -> None:
    with pytest.raises(Exception, match=r"end its name in \.bas .* or in \.py"):
        machine.install.export_file(tmp_path / "growcells.txt")


def test_export_bas_into_a_folder_that_is_not_there(machine: Machine, tmp_path: Path) -> None:
    with pytest.raises(Exception, match="cannot be written"):
        machine.install.export_file(tmp_path / "missing" / "growcells.bas")


@pytest.mark.parametrize(
    ("system", "instead"),
    [
        ("Linux", "growcells install libreoffice"),
        ("Darwin", "xlwings Lite"),
        ("FreeBSD", "Excel does not run on FreeBSD"),
    ],
)
def test_elsewhere_the_sentence_says_what_works_there(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, system: str, instead: str
) -> None:
    monkeypatch.setattr("platform.system", lambda: system)
    with pytest.raises(BridgeProblem, match=instead):
        install_here.install_excel(print)
    with pytest.raises(BridgeProblem, match=instead):
        install_here.uninstall_excel(print)
    install_here.export_file(tmp_path / "growcells.bas")
    install_here.export_file(tmp_path / "main.py")
    assert len(list(tmp_path.iterdir())) == 2


def test_one_file_holds_every_module_that_it_imports(tmp_path: Path) -> None:
    install_here.export_file(tmp_path / "main.py")
    run = run_python(
        f"import importlib, pkgutil, sys; sys.path.insert(0, {str(tmp_path)!r})\n"
        "import main, growcells_addin.excel\n"
        "assert growcells_addin.__file__.startswith(main.folder), growcells_addin.__file__\n"
        "for module in pkgutil.iter_modules(growcells_addin.excel.__path__, 'growcells_addin.excel.'):\n"
        "    importlib.import_module(module.name)\n"
    )
    assert run.returncode == 0, run.stderr


def test_windows_without_pywin32_is_told_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("platform.system", lambda: "Windows")
    with pytest.raises(BridgeProblem, match="pip install xlwings pywin32"):
        install_here.install_excel(print)
