"""The main.py of a workbook in xlwings Lite that holds all of growcells, for where no package index has it."""

from __future__ import annotations

import base64
import io
import textwrap
import zipfile
from collections.abc import Iterator
from pathlib import Path

import growcells
import growcells_addin
from growcells.version import VERSION

FIRST_DAY = (1980, 1, 1, 0, 0, 0)
"""The date of every file in the archive, the first that a zip can hold: the same growcells gives the same file."""

REQUIREMENTS = ("numpy", "scipy", "pint", "molmass")
"""What requirements.txt of the workbook lists; xlwings Lite brings xlwings."""

_MAIN = '''"""growcells {version} for xlwings Lite, all of it in this file.

Paste it into main.py of a workbook, and write these lines into its requirements.txt:

{requirements}

PACKAGES is a zip of the Python packages growcells and growcells_addin, in base85. The lines below it unpack it into a
folder of its own and offer every function to the cells.
"""

import base64
import io
import sys
import tempfile
import zipfile

PACKAGES = """
{packages}
"""

folder = tempfile.mkdtemp(prefix="growcells-")
zipfile.ZipFile(io.BytesIO(base64.b85decode(PACKAGES.replace("\\n", "")))).extractall(folder)
sys.path.insert(0, folder)

from growcells_addin.excel.functions import *  # noqa: E402, F403
'''


def main_py() -> str:
    """The text of the file."""
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as packed:
        for name, path in sorted(_files()):
            packed.writestr(zipfile.ZipInfo(name, FIRST_DAY), path.read_bytes(), zipfile.ZIP_DEFLATED)
    packages = base64.b85encode(archive.getvalue()).decode("ascii")
    return _MAIN.format(
        version=VERSION, requirements="\n".join(REQUIREMENTS), packages="\n".join(textwrap.wrap(packages, 118))
    )


def _files() -> Iterator[tuple[str, Path]]:
    """The files of the packages that Excel needs, by their names in the archive."""
    for package, wanted in ((growcells, ("",)), (growcells_addin, ("__init__.py", "bridge_files.py", "excel/"))):
        assert package.__file__ is not None
        folder = Path(package.__file__).parent
        for path in folder.rglob("*"):
            name = path.relative_to(folder).as_posix()
            if path.is_file() and "__pycache__" not in path.parts and name.startswith(wanted):
                yield f"{folder.name}/{name}", path
