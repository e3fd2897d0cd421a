"""The cell functions inside LibreOffice. The extension holds this file, and LibreOffice's own Python runs it.

Nothing may escape from here: whatever goes wrong becomes an error value in the cell. growcells is imported at the
first call, so that a broken installation shows errors in cells and does no other harm.
"""

from __future__ import annotations

import os
import struct
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

SERVICE = "growcells.Functions"
"""The service with the cell functions. Files in the .ods format name it, so it must never change."""

IMPLEMENTATION = "growcells.Component"
INTERFACE = "growcells.XFunctions"
PACKAGES = "packages"
"""The folder beside this file that holds growcells and what it needs."""

LOADED = "GROWCELLS_LOADED"
"""The variable of the environment that says in LibreOffice's process that it has loaded this file, as events.bas reads.

LibreOffice does so once, while it reads the first formula or name that calls one of the functions.
"""

OFFICE_ERRORS = {
    "#VALUE!": 519,
    "#NUM!": 503,
    "#N/A": 32767,
    "#DIV/0!": 532,
    "#REF!": 524,
    "#NAME?": 525,
    "#NULL!": 521,
}
"""LibreOffice's numbers of the error values (its source file include/formula/errorcodes.hxx, and its help)."""

METHOD_PREFIX = "grow"

Rows = tuple[tuple[object, ...], ...]


def method_name(name: str) -> str:
    """The name inside LibreOffice, which takes no underscores: GROW_VOLUME_BOX is growVolumeBox there."""
    first, *others = name.lower().split("_")
    return first + "".join(word.capitalize() for word in others)


def error_number(code: str) -> float:
    """The number that LibreOffice shows as an error value: not a number, with the error in its lower half.

    Source: CreateDoubleError in LibreOffice's formula/errorcodes.hxx.
    """
    quiet_nan = 0x7FF8_0000_0000_0000
    bits = quiet_nan | OFFICE_ERRORS.get(code, OFFICE_ERRORS["#VALUE!"])
    number: float = struct.unpack("<d", struct.pack("<Q", bits))[0]
    return number


ERRORS = {code: error_number(code) for code in OFFICE_ERRORS}
FAULT: Rows = ((ERRORS["#VALUE!"],),)


def to_rows(result: object) -> Rows:
    """The result of a cell function as rows of cells."""
    if isinstance(result, tuple):
        return tuple(tuple(to_cell(value) for value in row) for row in result)
    return ((to_cell(result),),)


def to_cell(value: object) -> object:
    """A value as LibreOffice takes it."""
    if value is None or isinstance(value, (bool, int, float, str)):
        return value
    return ERRORS.get(getattr(value, "code", ""), ERRORS["#VALUE!"])


def method_for(evaluate: Callable[[tuple[object, ...]], object], *, repeated: bool) -> Callable[..., Rows]:
    """The method that computes a cell function; LibreOffice hands a repeated last argument over as one tuple."""

    def method(_self: object, *cells: Any) -> Rows:
        try:
            result = evaluate((*cells[:-1], *cells[-1]) if repeated else cells)
            return ((result,),) if result.__class__ is float else to_rows(result)
        except Exception:
            return FAULT

    return method


def failing_method(_self: object, *_cells: object) -> Rows:
    """Stands in for a function that cannot be loaded."""
    return FAULT


def load_method(name: str) -> Callable[..., Rows]:
    """The method of this name for a function of the registry, whatever state the installation is in."""
    try:
        from growcells import functions

        function = next(function for function in functions().values() if method_name(function.name) == name)
        repeated = bool(function.arguments) and function.arguments[-1].repeated
        return method_for(function.evaluate, repeated=repeated)
    except Exception:
        return failing_method


def declare_component() -> object:
    """The component for LibreOffice, to be registered in this module under ``g_ImplementationHelper``."""
    import uno  # type: ignore[import-not-found]  # LibreOffice brings these two
    import unohelper  # type: ignore[import-not-found]

    interface: Any = uno.getClass(INTERFACE)
    service_info: Any = uno.getClass("com.sun.star.lang.XServiceInfo")

    class Component(unohelper.Base, interface, service_info):  # type: ignore[misc]  # of unknown types
        """One method for each cell function, added to the class when it is first called."""

        def __init__(self, _context: object) -> None:
            """Take the context that LibreOffice gives every component."""

        def __getattr__(self, name: str) -> Callable[..., Rows]:
            if not name.startswith(METHOD_PREFIX):
                raise AttributeError(name)
            setattr(Component, name, load_method(name))
            return getattr(self, name)  # type: ignore[no-any-return]  # set in the line above

        def getImplementationName(self) -> str:
            return IMPLEMENTATION

        def supportsService(self, name: str) -> bool:
            return name == SERVICE

        def getSupportedServiceNames(self) -> tuple[str, ...]:
            return (SERVICE,)

    helper = unohelper.ImplementationHelper()
    helper.addImplementation(Component, IMPLEMENTATION, (SERVICE,))
    return helper


if __name__ == "uno_component":  # the name under which LibreOffice's loader runs the file
    os.environ[LOADED] = "1"
    # First, so that older copies elsewhere in LibreOffice's Python do not get in the way.
    sys.path.insert(0, str(Path(__file__).with_name(PACKAGES)))
    g_ImplementationHelper = declare_component()
