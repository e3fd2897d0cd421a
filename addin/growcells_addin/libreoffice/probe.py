"""Whether LibreOffice can start its Python in this environment, tried in a process of its own.

An embedded Python looks for its library beside the first ``python3`` of the path. The system's Python does just the
same when it is called by that name alone, so that it meets what LibreOffice would meet. The extension holds this file;
it needs the standard library alone.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

NAME = "python3"
"""The name that an embedded Python takes for its own (Python's documentation of PyConfig.program_name)."""

NEEDED = "import uno, unohelper"
"""What LibreOffice's loader of Python imports first (its file pythonloader.py)."""

SECONDS = 20


def fits(python: str, environment: dict[str, str] | None = None) -> bool:
    """Whether the Python inside LibreOffice would start there; in this environment if none is given."""
    try:
        tried = subprocess.run(
            [NAME, "-B", "-c", NEEDED], executable=python, env=environment, capture_output=True, timeout=SECONDS
        )
    except (OSError, subprocess.SubprocessError):
        return False
    return tried.returncode == 0


if __name__ == "__main__":
    Path(sys.argv[1]).write_text("fits" if fits(sys.executable) else "", encoding="utf-8")
