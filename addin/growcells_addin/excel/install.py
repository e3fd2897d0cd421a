"""Settings of the xlwings add-in, so that Excel on Windows finds the cell functions; the macros as a file."""

from __future__ import annotations

import argparse
import contextlib
import importlib
import io
import platform
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

from ..bridge_files import BridgeProblem, check_new_file, write_new_file

UDF_MODULE = "growcells_addin.excel.functions"
"""The module that Excel's xlwings add-in imports the functions from."""

_MODULES_KEY = "UDF MODULES"

_LITE = (
    "a log from `growcells new` or `growcells carry` is made to compute there with nothing installed; for every "
    "function get the xlwings Lite add-in inside Excel and use the file of `growcells install excel --file main.py` "
    "as its main.py"
)

_ELSEWHERE = {
    "Darwin": f"xlwings does not run Python functions in Excel on a Mac: {_LITE}",
    "Linux": "Excel does not run on Linux: use `growcells install libreoffice` for LibreOffice Calc or "
    f"`growcells recalc` for the files themselves. Excel on the web: {_LITE}",
}

CLICKS_LEFT = (
    "What is left to click, once, in Excel:",
    "1. File > Options > Trust Center > Trust Center Settings > Macro Settings: tick "
    '"Trust access to the VBA project object model", so that xlwings may write the macros that call Python.',
    "And in each workbook that is to have the functions:",
    "2. Save it as an Excel Macro-Enabled Workbook (.xlsm).",
    "3. On the ribbon's tab xlwings click Import Functions, and again after each update of growcells.",
    "4. Type =GROW_VERSION() into a cell: the version of growcells appears.",
)


def install_excel(report: Callable[[str], None]) -> None:
    """Install the xlwings add-in, enter this Python and the cell functions in its settings, tell what is left.

    What other modules the settings name stays. Raises BridgeProblem where this cannot be, and why.
    """
    xlwings, cli = _xlwings()
    report(_install_addin(cli))
    modules = _udf_modules()
    if UDF_MODULE not in modules:
        modules.append(UDF_MODULE)
    conda_path, _ = cli.get_conda_settings()
    try:
        if not conda_path:  # with conda, xlwings enters the environment itself
            cli.update_user_config("INTERPRETER_WIN", sys.executable)
        cli.update_user_config(_MODULES_KEY, ";".join(modules))
    except OSError as problem:
        raise BridgeProblem(f"{xlwings.USER_CONFIG_FILE} cannot be written: {problem}") from problem
    report(f"The settings in {xlwings.USER_CONFIG_FILE} name this Python and the growcells functions.")
    for line in CLICKS_LEFT:
        report(line)


def uninstall_excel(report: Callable[[str], None]) -> None:
    """Take the cell functions out of the settings of the xlwings add-in; the add-in itself stays.

    Raises BridgeProblem where this cannot be, and why.
    """
    xlwings, cli = _xlwings()
    modules = _udf_modules()
    if UDF_MODULE not in modules:
        report("The settings of the xlwings add-in do not name the growcells functions: nothing to remove.")
        return
    modules.remove(UDF_MODULE)
    try:
        if modules:
            cli.update_user_config(_MODULES_KEY, ";".join(modules))
        else:
            cli.update_user_config(_MODULES_KEY, action="delete")
    except OSError as problem:
        raise BridgeProblem(f"{xlwings.USER_CONFIG_FILE} cannot be written: {problem}") from problem
    report(f"The growcells functions are out of the add-in's settings in {xlwings.USER_CONFIG_FILE}.")
    report("Workbooks keep the macro module xlwings_udfs: delete it with Alt+F11 where it is not wanted.")
    report("The xlwings add-in stays, since others may use it; `xlwings addin remove` removes it.")


FILES = (".bas", ".py")
"""Endings of the files that can be written for an Excel: macros for Windows, a main.py for xlwings Lite."""


def export_file(path: Path) -> None:
    """Write a file for an Excel, this one's or another's: the macros (.bas) or all of growcells as main.py (.py).

    The macros are imported with File > Import File in Excel's macro editor (Alt+F11) and need the xlwings add-in ticked
    under Tools > References. Raises BridgeProblem where the file cannot be written, and why.
    """
    ending = path.suffix.lower()
    if ending not in FILES:
        raise BridgeProblem(
            f"{path} would not be known for what it is: end its name in .bas for the macros of Excel on Windows, "
            "or in .py for the main.py of xlwings Lite"
        )
    check_new_file(path, ending)
    if ending == ".bas":
        from .macros import macro_module

        write_new_file(path, macro_module().replace("\n", "\r\n").encode("ascii"))
    else:
        from .one_file import main_py

        write_new_file(path, main_py().encode("ascii"))


def _xlwings() -> tuple[ModuleType, ModuleType]:
    """xlwings and its command line; raises BridgeProblem where it cannot drive Excel."""
    system = platform.system()
    if system != "Windows":
        raise BridgeProblem(_ELSEWHERE.get(system, f"Excel does not run on {system or 'this system'}"))
    try:
        xlwings = importlib.import_module("xlwings")
        importlib.import_module("pythoncom")
    except ImportError as problem:
        raise BridgeProblem(f"xlwings needs pywin32 ({problem}): pip install xlwings pywin32") from problem
    return xlwings, importlib.import_module("xlwings.cli")


def _udf_modules() -> list[str]:
    """The modules that the settings of the add-in name."""
    settings = importlib.import_module("xlwings.utils").read_user_config()
    names = str(settings.get(_MODULES_KEY.lower()) or "")
    return [name for name in names.split(";") if name]


def _install_addin(cli: ModuleType) -> str:
    """Let xlwings copy its add-in to where Excel starts it, and return what it says; raises BridgeProblem."""
    said = io.StringIO()
    try:
        with contextlib.redirect_stdout(said):
            cli.addin_install(argparse.Namespace(glob=False, dir=None, file=None))
    except Exception as problem:  # pywin32's errors share no base class with a name
        raise BridgeProblem(f"Excel did not answer, so the add-in is not installed: {problem}") from problem
    answer = said.getvalue().strip()
    if "Successfully" not in answer:
        raise BridgeProblem(f"the xlwings add-in could not be installed: {answer}")
    return answer
