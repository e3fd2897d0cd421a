"""What the extension costs LibreOffice where a workbook holds none of its functions, in instructions of the processor.

    tests/opening_instructions.py

Unlike seconds, they are the same on a busy machine. LibreOffice starts under valgrind without a window, opens plain
workbooks and saves them as .csv; a further workbook is a tenth of what eleven cost more than one. Before the extension
come its parts, each beside those before it: nothing; the names and texts of functions and arguments, as every add-in
has them; a macro without a line for each event; a macro that asks only whether a workbook was opened, for which Basic
goes through all types of the document.
"""

from __future__ import annotations

import os
import re
import subprocess
import tempfile
import zipfile
from pathlib import Path
from xml.etree import ElementTree

from benchmarks.in_office import convert, write_plain
from growcells_addin.libreoffice import texts
from growcells_addin.libreoffice.extension import EXTENSION_FILE, build_extension
from growcells_addin.libreoffice.install import install_libreoffice
from growcells_addin.libreoffice.program import clean_environment, find_office, profile_options

FURTHER = 10
ROWS = 20
"""Of the plain workbook that is not empty, each with a formula."""

BASIC = (texts.EVENTS_FILE, f"{texts.BASIC_LIBRARY}/")
NAMES = (texts.TYPES_FILE, texts.CONFIGURATION_FILE, texts.COMPONENTS_FILE)
EMPTY_MACROS = """
Sub Started(event)
End Sub
Sub Opened(event)
End Sub
"""
ASKING_MACROS = """
Sub Started(event)
End Sub
Sub Opened(event)
	HasUnoInterfaces(event.Source, "com.sun.star.sheet.XSpreadsheetDocument")
End Sub
"""
PARTS = {
    "holds nothing": ((*BASIC, *NAMES), ""),
    "names the functions": (BASIC, ""),
    "calls empty macros": ((), EMPTY_MACROS),
    "asks what was opened": ((), ASKING_MACROS),
}
"""What the extensions before ours do not hold of it, and the macros that take the place of its own."""


def instructions(profile: Path, books: list[Path], folder: Path) -> int:
    """How many LibreOffice needs to start, open workbooks, save them and end."""
    office = [str(find_office().program / "soffice.bin"), *profile_options(profile), "--headless", "--norestore"]
    valgrind = ["valgrind", "--tool=cachegrind", "--cache-sim=no", f"--cachegrind-out-file={folder / 'counted'}"]
    done = subprocess.run(
        [*valgrind, *office, "--convert-to", "csv", "--outdir", folder, *books],
        env=clean_environment() | {"SAL_USE_VCLPLUGIN": "svp", "TMPDIR": str(folder)},
        capture_output=True,
        text=True,
        check=True,
    )
    # Processes that it starts are counted from its own beginning; it ends last, with the most.
    return max(int(count.replace(",", "")) for count in re.findall(r"I +refs: +([\d,]+)", done.stderr))


def install_part(profile: Path, left_out: tuple[str, ...], macros: str, folder: Path) -> None:
    """Put what is left of the extension into a profile, with other macros where they are given."""
    whole, part = folder / "whole.oxt", folder / EXTENSION_FILE
    (folder / "none").mkdir(exist_ok=True)
    build_extension(whole, folder / "none")
    with zipfile.ZipFile(whole) as every, zipfile.ZipFile(part, "w") as target:
        for name in every.namelist():
            content = every.read(name)
            if name == texts.MANIFEST_FILE:
                manifest = ElementTree.fromstring(content)
                for entry in list(manifest):
                    if any(value in left_out for value in entry.attrib.values()):
                        manifest.remove(entry)
                content = ElementTree.tostring(manifest)
            if macros and name == texts.BASIC_FILE:
                content = texts.basic_module(macros).encode()
            if not name.startswith(left_out):
                target.writestr(name, content)
    shared = ["--shared"] if os.geteuid() == 0 else []
    subprocess.run(
        [find_office().unopkg, "add", *shared, "--suppress-license", part, *profile_options(profile)],
        env=clean_environment() | {"TMPDIR": str(folder)},
        capture_output=True,
        check=True,
    )


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory(prefix="growcells-") as place:
        folder = Path(place)
        empty = [write_plain(folder / f"empty{number}.xlsx", 0) for number in range(FURTHER + 1)]
        plain = write_plain(folder / "plain.xlsx", ROWS)
        counts: dict[str, tuple[float, ...]] = {}
        for name in ("no extension", *PARTS, "growcells"):
            profile = folder / name.replace(" ", "-")
            if name == "growcells":
                install_libreoffice(lambda _: None, profile)
            elif name in PARTS:
                install_part(profile, *PARTS[name], folder)
            convert(plain, folder / "made", profile)  # makes the profile, after which LibreOffice starts anew
            first, filled = (instructions(profile, [book], folder) for book in (empty[0], plain))
            every = instructions(profile, empty, folder)
            counts[name] = (first, filled, (every - first) / FURTHER)
            bare = counts["no extension"]
            told = (
                f"{count / 1e6:.1f} ({count / base - 1:+.1%})" for count, base in zip(counts[name], bare, strict=True)
            )
            start, with_formulas, further = told
            print(f"{name}, million instructions: start and an empty workbook {start},")
            print(f"    start and one of {ROWS} formulas {with_formulas}, each further empty one {further}", flush=True)


if __name__ == "__main__":
    main()
