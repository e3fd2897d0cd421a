"""Runs in LibreOffice's own Python: has a running LibreOffice compute a workbook and save a copy of it.

Arguments: the pipe that LibreOffice listens on, the URLs of the workbook and of the copy, the service that must be
there ("" for none). It prints one line, ``done`` or what went wrong, and waits for a line that says whether to end
LibreOffice. Only the standard library and LibreOffice's ``uno`` are here.
"""

from __future__ import annotations

import sys
import time
from typing import Any

START_SECONDS = 90
"""How long LibreOffice may take to start; ours."""
DONE, MISSING, UNREADABLE, FINISH = "done", "missing", "unreadable", "finish"


def connected(pipe: str) -> Any:
    """The context of the LibreOffice that listens on a pipe; waits until it does."""
    import uno  # type: ignore[import-not-found]  # LibreOffice brings it

    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
    end = time.monotonic() + START_SECONDS
    while True:
        try:
            return resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
        except Exception:  # of a type that uno makes when it runs
            if time.monotonic() > end:
                raise
            time.sleep(0.1)


def properties(**values: object) -> tuple[Any, ...]:
    """Named values as LibreOffice takes them."""
    import uno

    made = []
    for name, value in values.items():
        entry = uno.createUnoStruct("com.sun.star.beans.PropertyValue")
        entry.Name, entry.Value = name, value
        made.append(entry)
    return tuple(made)


def recomputed(context: Any, source: str, target: str, service: str) -> str:
    """Compute every formula of a workbook and save a copy; the workbook itself is only read."""
    manager = context.ServiceManager
    if service and service not in manager.getAvailableServiceNames():
        return MISSING
    desktop = manager.createInstanceWithContext("com.sun.star.frame.Desktop", context)
    # Macros of the workbook do not run, and what it links to is not fetched.
    how = properties(Hidden=True, ReadOnly=True, MacroExecutionMode=0, UpdateDocMode=0)
    document = desktop.loadComponentFromURL(source, "_blank", 0, how)
    if document is None or not document.supportsService("com.sun.star.sheet.SpreadsheetDocument"):
        return UNREADABLE
    try:
        document.calculateAll()
        document.storeToURL(target, properties(FilterName="calc8"))
    finally:
        document.close(True)
    return DONE


def end(context: Any) -> None:
    """End LibreOffice, unless somebody has opened something in it meanwhile."""
    desktop = context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)
    if not desktop.Components.createEnumeration().hasMoreElements():
        desktop.terminate()


def main(pipe: str, source: str, target: str, service: str) -> None:
    """Do the work, say how it went, and end LibreOffice if that is asked for."""
    context = connected(pipe)
    try:
        said = recomputed(context, source, target, service)
    except Exception as problem:
        said = " ".join(str(problem).split()) or type(problem).__name__
    print(said, flush=True)
    if sys.stdin.readline().strip() == FINISH:
        end(context)


if __name__ == "__main__":
    main(*sys.argv[1:])
