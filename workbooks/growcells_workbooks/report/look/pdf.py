"""The report as a PDF, printed by LibreOffice where it is there."""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

from growcells_addin.bridge_files import BridgeProblem
from growcells_addin.libreoffice.attended import attended
from growcells_addin.libreoffice.program import clean_environment, find_office, profile_options

from ...gate import FileProblem, write_whole

PATIENCE = 180
"""Seconds that LibreOffice gets for a report: our choice, many times the five that it takes on an ordinary machine."""


def write_pdf(workbook: Path, output: Path) -> Path:
    """Print a workbook into a PDF with a LibreOffice of its own settings, so that one that is open is left alone.

    Raises FileProblem.
    """
    try:
        office = find_office()
    except BridgeProblem as problem:
        raise FileProblem(f"a PDF needs LibreOffice. {problem}") from None
    with tempfile.TemporaryDirectory() as folder:
        command = [
            str(office.soffice),
            *profile_options(Path(folder) / "profile"),
            *("--headless", "--norestore", "--convert-to", "pdf", "--outdir", folder, str(workbook.absolute())),
        ]
        heard = Path(folder) / "said.txt"
        try:
            with (
                heard.open("wb") as told,
                subprocess.Popen(
                    attended(command),
                    stdin=subprocess.PIPE,
                    stdout=told,
                    stderr=told,
                    env=clean_environment(),
                    start_new_session=True,
                ) as process,
            ):
                process.wait(PATIENCE)  # leaving the block closes the pipe, by which LibreOffice ends
        except subprocess.TimeoutExpired:
            raise FileProblem(f"LibreOffice did not print {workbook} within {PATIENCE} seconds") from None
        except OSError as problem:
            raise FileProblem(f"LibreOffice cannot be started: {problem.strerror}") from None
        printed = Path(folder) / f"{workbook.stem}.pdf"
        if not printed.is_file():
            said = heard.read_text(errors="replace").strip().splitlines()
            raise FileProblem(f"LibreOffice did not print {workbook}: {said[-1] if said else 'it said nothing'}")
        write_whole(output, printed.read_bytes())
    return output
