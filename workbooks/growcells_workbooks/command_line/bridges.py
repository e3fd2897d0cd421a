"""The commands that put the cell functions into spreadsheet programs and take them out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from .terminal import WRONG_USAGE, Stop, say, sentences

PROGRAMS = ("libreoffice", "excel")
Program = Annotated[str, typer.Argument(metavar="PROGRAM", help=f"The program: {' or '.join(PROGRAMS)}.")]


def install(
    program: Program,
    file: Annotated[
        Path | None,
        typer.Option(
            "--file",
            metavar="FILE",
            help="Install nothing, but write a file that can be given to others: an extension for LibreOffice (.oxt) "
            "that a double click installs; for Excel the macros (.bas) to import by hand, or all of growcells in one "
            "main.py for xlwings Lite (.py). It may be written on any system.",
        ),
    ] = None,
) -> None:
    """Put the functions into a spreadsheet program; run it again to upgrade them."""
    with sentences():
        if file is None:
            bridge(program, "install")(say)
            return
        bridge(program, "write")(file)
        say(f"Written: {file}")


def uninstall(program: Program) -> None:
    """Take the functions out of a spreadsheet program."""
    with sentences():
        bridge(program, "uninstall")(say)


def bridge(program: str, verb: str) -> Callable[..., object]:
    """What installs into a program, uninstalls from it, or writes the file that another can install from."""
    if program.lower() not in PROGRAMS:
        raise Stop(f"{program} is not a program growcells knows: give {' or '.join(PROGRAMS)}", WRONG_USAGE)
    actions: dict[str, Callable[..., object]]
    if program.lower() == "excel":
        from growcells_addin.excel import install as excel

        actions = {"install": excel.install_excel, "uninstall": excel.uninstall_excel, "write": excel.export_file}
    else:
        from growcells_addin.libreoffice import extension
        from growcells_addin.libreoffice import install as libreoffice

        actions = {
            "install": libreoffice.install_libreoffice,
            "uninstall": libreoffice.uninstall_libreoffice,
            "write": lambda target: extension.write_portable_extension(target, say),
        }
    return actions[verb]
