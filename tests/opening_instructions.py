"""What the extension costs LibreOffice where a workbook holds none of its functions, in instructions of the processor.

    tests/opening_instructions.py

Unlike seconds, they are the same on a busy machine. LibreOffice starts under valgrind, opens empty workbooks and saves
them as .csv, with the extension and without; a further workbook is a tenth of what eleven cost more than one.
"""

from __future__ import annotations

import re
import subprocess
import tempfile
from pathlib import Path

from benchmarks.in_office import convert, write_plain
from growcells_addin.libreoffice.install import install_libreoffice
from growcells_addin.libreoffice.program import clean_environment, find_office, profile_options

FURTHER = 10


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


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory(prefix="growcells-") as place:
        folder = Path(place)
        profiles = {"with": folder / "with", "without": folder / "without"}
        install_libreoffice(lambda _: None, profiles["with"])
        books = [write_plain(folder / f"empty{number}.xlsx", 0) for number in range(FURTHER + 1)]
        counts: dict[tuple[str, int], int] = {}
        for name, profile in profiles.items():
            convert(books[0], folder / "made", profile)  # makes the profile, after which LibreOffice starts anew
            for number in (1, FURTHER + 1):
                counts[name, number] = instructions(profile, books[:number], folder)
        first = [counts[name, 1] for name in profiles]
        further = [(counts[name, FURTHER + 1] - counts[name, 1]) // FURTHER for name in profiles]
        for what, (ours, bare) in (("start and first workbook", first), ("each further workbook", further)):
            print(f"{what}: {ours / 1e6:.1f} to {bare / 1e6:.1f} million instructions, {ours / bare - 1:+.1%}")


if __name__ == "__main__":
    main()
