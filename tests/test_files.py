"""Files that cannot be read or written: one sentence, no traceback, and the input as it was."""

from __future__ import annotations

import io
import os
import signal
import stat
import subprocess
import sys
import time
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from growcells_addin.libreoffice.program import clean_environment, profile_options
from growcells_workbooks.gate import FileProblem, write_whole, zip_parts
from growcells_workbooks.gate import reading as gate_reading
from growcells_workbooks.recalculation import computed_values, recalculate
from libreoffice import needed_office
from log_books import ROOFTOP
from processes import ENVIRONMENT, run_python
from recalc_books import change_part, first_sheet, flip_byte, read_values, write_book

OLE = bytes.fromhex("D0CF11E0A1B11AE1")
SHEET = "xl/worksheets/sheet1.xml"
PICTURE = "xl/media/image1.png"
"""A part that is only copied."""

posix_only = pytest.mark.skipif(os.name != "posix", reason="NOT TESTED: needs a POSIX system")


def problem_of(source: Path, output: Path | None = None, **options: bool) -> str:
    """The sentence that recalculation refuses with; the source must stay as it was."""
    before = source.read_bytes() if source.is_file() else None
    with pytest.raises(FileProblem) as caught:
        recalculate(source, output, **options)
    assert (source.read_bytes() if source.is_file() else None) == before
    sentence = str(caught.value)
    assert sentence and "\n" not in sentence and "Traceback" not in sentence
    return sentence


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A small log of two formulas."""
    return write_book(tmp_path / "log.xlsx", {"A1": 34, "B1": "=GROW_DOSE(A1,2)", "B2": "=B1*2"})


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("nothing.xlsx", None, "does not exist"),
        ("empty.xlsx", b"", "is empty"),
        ("text.xlsx", b"bed,length\nT1,38\n", "is not an Excel workbook"),
        ("page.xlsx", b"<html>log</html>", "is not an Excel workbook"),
        ("old.xls", OLE + bytes(4096), "old .xls kind"),
        ("locked.xlsx", OLE + bytes(512) + "EncryptedPackage".encode("utf-16-le") + bytes(512), "by a password"),
        ("cut.xlsx", ROOFTOP.read_bytes()[:9000], "damaged or cut short"),
        ("head.xlsx", b"PK\x03\x04", "damaged or cut short"),
        ("tail.xlsx", ROOFTOP.read_bytes()[2000:], "is not an Excel workbook"),
    ],
)
def test_what_is_no_workbook(tmp_path: Path, name: str, content: bytes | None, words: str) -> None:
    source = tmp_path / name
    if content is not None:
        source.write_bytes(content)
    assert words in problem_of(source, tmp_path / f"out{source.suffix}")
    assert not (tmp_path / f"out{source.suffix}").exists()


def test_a_folder(tmp_path: Path) -> None:
    assert "is a folder" in problem_of(tmp_path, tmp_path / "out.xlsx")


def test_another_kind_of_zip(tmp_path: Path) -> None:
    source = tmp_path / "log.xlsx"
    with zipfile.ZipFile(source, "w") as package:
        package.writestr("readme.txt", "no workbook")
    assert "some other kind of zip file" in problem_of(source, tmp_path / "out.xlsx")
    with zipfile.ZipFile(source, "w") as package:
        package.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        package.writestr("content.xml", "<x/>")
    assert "OpenDocument" in problem_of(source, tmp_path / "out.xlsx")


def test_a_real_workbook_with_a_password(tmp_path: Path, book: Path) -> None:
    """A file that a library encrypted as Excel does."""
    office_file = pytest.importorskip("msoffcrypto.format.ooxml", reason="NOT TESTED: msoffcrypto-tool is not there")
    source = tmp_path / "locked.xlsx"
    with book.open("rb") as plain, source.open("wb") as target:
        office_file.OOXMLFile(plain).encrypt("a password", target)
    assert "protected by a password" in problem_of(source, tmp_path / "out.xlsx")


@pytest.mark.parametrize("size", range(0, 100, 7))
def test_every_truncation_is_refused(tmp_path: Path, size: int) -> None:
    data = ROOFTOP.read_bytes()
    source = tmp_path / "cut.xlsx"
    source.write_bytes(data[: len(data) * size // 100])
    assert str(source) in problem_of(source, tmp_path / "out.xlsx")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["cut.xlsx"]


def test_a_flipped_byte_in_a_part(tmp_path: Path) -> None:
    """A part whose checksum is wrong is found even where it is only copied, and no output is left."""
    source = flip_byte(ROOFTOP, tmp_path / "log.xlsx", PICTURE)
    assert PICTURE in problem_of(source, tmp_path / "out.xlsx")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["log.xlsx"]


def test_damage_found_while_writing_in_place(tmp_path: Path) -> None:
    """Damage in a part that is only copied is found late: the log is as it was, and no backup is left of it."""
    source = flip_byte(ROOFTOP, tmp_path / "log.xlsx", PICTURE)
    assert PICTURE in problem_of(source, in_place=True)
    assert [path.name for path in tmp_path.iterdir()] == ["log.xlsx"]


def test_a_zip_bomb(tmp_path: Path, book: Path) -> None:
    """Too much to unpack, said by the package itself, is refused before anything is unpacked."""
    packed_as_a_trap = tmp_path / "trap.xlsx"
    change_part(book, packed_as_a_trap, PICTURE, lambda _: bytes(20 * 2**20))
    assert "only a trap" in problem_of(packed_as_a_trap, tmp_path / "out.xlsx")
    assert packed_as_a_trap.stat().st_size < 2**20


def test_limits(tmp_path: Path, book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each limit refuses what is above it; the limits themselves are set low for the test."""
    output = tmp_path / "out.xlsx"
    with monkeypatch.context() as limit:
        limit.setattr(zip_parts, "MAX_UNPACKED_BYTES", 1000)
        assert "would unpack to" in problem_of(book, output)
    with monkeypatch.context() as limit:
        limit.setattr(zip_parts, "MAX_PARTS", 5)
        assert "parts" in problem_of(book, output)
    with monkeypatch.context() as limit:
        limit.setattr(gate_reading, "MAX_FILE_BYTES", 1000)
        assert "the largest such file read" in problem_of(book, output)
    recalculate(book, output)


def lying_size(path: Path, part: str, size: int) -> None:
    """Write another unpacked size for a part into the package's directory."""
    data = bytearray(path.read_bytes())
    place = data.rindex(part.encode()) - 46  # central directory header: APPNOTE.TXT 4.3.12
    assert data[place : place + 4] == b"PK\x01\x02"
    data[place + 24 : place + 28] = size.to_bytes(4, "little")
    path.write_bytes(data)


def test_a_part_that_is_larger_than_it_says(tmp_path: Path, book: Path) -> None:
    """Never more is unpacked than was declared, and the difference shows as damage."""
    lying_size(book, SHEET, 100)
    assert "damaged" in problem_of(book, tmp_path / "out.xlsx")


@pytest.mark.parametrize("part", [SHEET, "xl/workbook.xml", "_rels/.rels", "xl/_rels/workbook.xml.rels"])
def test_entities_are_refused(tmp_path: Path, book: Path, part: str) -> None:
    """A document type with entities that would swell to gigabytes ("billion laughs"), in each part that is read."""
    laughs = b'<!DOCTYPE l [<!ENTITY a "ha">' + b"".join(
        b'<!ENTITY %c "%s">' % (letter, b"&%c;" % (letter - 1) * 10) for letter in range(98, 110)
    )
    bad = change_part(
        book,
        tmp_path / "bad.xlsx",
        part,
        lambda data: data.replace(b"?>", b"?>" + laughs + b"]>", 1),
    )
    assert "declares a document type" in problem_of(bad, tmp_path / "out.xlsx")


CHANGES: dict[str, tuple[str, Callable[[bytes], bytes], str]] = {
    "cut XML": (SHEET, lambda data: data[:-40], "no well-formed XML"),
    "a sheet of another kind": (SHEET, lambda _: b"<notes/>", "not a <worksheet>"),
    "another encoding": (SHEET, lambda data: data.replace(b"UTF-8", b"UTF-16"), "only UTF-8"),
    "an encoding not said": (SHEET, lambda data: data.decode().partition("?>")[2].encode("utf-16"), "only UTF-8"),
    "a cell beyond the sheet": (SHEET, lambda data: data.replace(b'r="B1"', b'r="XFE1"'), "is not the name of a cell"),
    "a cell of no name": (SHEET, lambda data: data.replace(b'r="B1"', b'r="../1"'), "is not the name of a cell"),
    "a row beyond the sheet": (SHEET, lambda data: data.replace(b'<row r="2"', b'<row r="1048577"'), "not the name of"),
    "a row of no number": (
        SHEET,
        lambda data: data.replace(b'<row r="2"', b'<row r="' + b"9" * 5000 + b'"'),
        "not the name",
    ),
    "a formula of no cell": (SHEET, lambda data: data.replace(b"<sheetData>", b"<f>1</f><sheetData>"), "damaged"),
    "a formula between cells": (SHEET, lambda data: data.replace(b"</row>", b"<f>1</f></row>", 1), "is damaged"),
    "a formula after the rows": (SHEET, lambda data: data.replace(b"</sheetData>", b"</sheetData><f>1</f>"), "damaged"),
    "a formula after a value": (
        SHEET,
        lambda data: data.replace(b"</c></row>", b"<f>1</f></c></row>", 1),
        "wrong place",
    ),
    "two formulas for a cell": (SHEET, lambda data: data.replace(b'r="B2"', b'r="B1"'), "two formulas for one cell"),
    "no sheets": ("xl/workbook.xml", lambda data: data.replace(b"<sheet ", b"<other "), "no worksheet"),
    "a sheet that is missing": (
        "xl/_rels/workbook.xml.rels",
        lambda data: data.replace(b"sheet1.xml", b"sheet9.xml"),
        "is missing",
    ),
    "a sheet outside of the package": (
        "xl/_rels/workbook.xml.rels",
        lambda data: data.replace(b"worksheets/sheet1.xml", b"../../../../etc/passwd"),
        "is missing",
    ),
    "a part that points outside": ("../../evil.txt", lambda _: b"x", "points out of the file"),
    "a part on the root": ("/etc/evil.txt", lambda _: b"x", "points out of the file"),
}


OF_ANY_SHEET = ("cut XML", "a sheet of another kind", "another encoding", "an encoding not said")


@pytest.mark.parametrize("name", OF_ANY_SHEET)
def test_damage_of_a_log_without_formulas(tmp_path: Path, name: str) -> None:
    """It is read without the engine of formulas, and refused for the same."""
    part, change, words = CHANGES[name]
    book = write_book(tmp_path / "plain.xlsx", {"A1": "Date", "B1": "pH", "A2": "2026-11-16", "B2": 6.1})
    with pytest.raises(FileProblem, match=words):
        computed_values(change_part(book, tmp_path / "bad.xlsx", part, change))


@pytest.mark.parametrize("name", CHANGES)
def test_damage_and_tricks(tmp_path: Path, book: Path, name: str) -> None:
    part, change, words = CHANGES[name]
    bad = change_part(book, tmp_path / "bad.xlsx", part, change)
    assert words in problem_of(bad, tmp_path / "out.xlsx")
    assert not (tmp_path / "out.xlsx").exists()


@pytest.mark.parametrize("method", [99, zipfile.ZIP_LZMA])
def test_a_part_packed_in_another_way(tmp_path: Path, book: Path, method: int) -> None:
    """A way of packing that no office program reads, in the package's directory."""
    data = bytearray(book.read_bytes())
    place = data.rindex(b"docProps/core.xml") - 46  # central directory header: APPNOTE.TXT 4.3.12
    data[place + 10 : place + 12] = method.to_bytes(2, "little")
    book.write_bytes(data)
    assert "packed in an unknown way" in problem_of(book, tmp_path / "out.xlsx")


def test_two_parts_of_one_name(tmp_path: Path, book: Path) -> None:
    with zipfile.ZipFile(book, "a") as package, pytest.warns(UserWarning, match="Duplicate name"):
        package.writestr(SHEET, "<worksheet/>")
    assert "two parts of the same name" in problem_of(book, tmp_path / "out.xlsx")


def test_deep_nesting(tmp_path: Path, book: Path) -> None:
    """A sheet nested a hundred thousand deep is refused or computed, and takes no program down."""
    deep = b"<a>" * 100_000 + b"</a>" * 100_000
    bad = change_part(
        book, tmp_path / "bad.xlsx", SHEET, lambda data: data.replace(b"</sheetData>", b"</sheetData>" + deep)
    )
    program = (
        "from pathlib import Path; from growcells_workbooks.gate import FileProblem\n"
        "from growcells_workbooks.recalculation import recalculate\n"
        f"try: recalculate(Path({str(bad)!r}))\nexcept FileProblem as why: print(why)"
    )
    done = run_python(program)
    assert done.returncode == 0, done.stderr


# ---- outputs


def test_an_output_that_exists(tmp_path: Path, book: Path) -> None:
    output = tmp_path / "out.xlsx"
    output.write_text("mine")
    assert "exists already" in problem_of(book, output)
    assert output.read_text() == "mine"
    recalculate(book, output, overwrite=True)
    assert read_values(output)("B2") == pytest.approx(136)


def test_the_input_as_output(tmp_path: Path, book: Path) -> None:
    for overwrite in (False, True):
        assert "is the input itself" in problem_of(book, book, overwrite=overwrite)
    link = tmp_path / "link.xlsx"
    link.symlink_to(book)
    assert "is the input itself" in problem_of(book, link, overwrite=True)
    assert "one of the two" in problem_of(book, tmp_path / "out.xlsx", in_place=True)


def test_outputs_that_cannot_be(tmp_path: Path, book: Path) -> None:
    (tmp_path / "folder.xlsx").mkdir()
    assert "is a folder" in problem_of(book, tmp_path / "folder.xlsx")
    assert "make that folder first" in problem_of(book, tmp_path / "nowhere" / "out.xlsx")
    assert "not the name of a workbook" in problem_of(book, tmp_path / "out.csv")
    assert "end its name in .xlsx too" in problem_of(book, tmp_path / "out.xlsm")


def test_nothing_is_written_without_an_output(tmp_path: Path, book: Path) -> None:
    done = recalculate(book)
    assert (done.output, done.backup, done.formulas, done.changed) == (None, None, 2, 2)
    assert [path.name for path in tmp_path.iterdir()] == ["log.xlsx"]


@pytest.mark.parametrize("lock", ["~$log.xlsx", ".~lock.log.xlsx#"])
def test_a_log_that_another_program_has_open(tmp_path: Path, book: Path, lock: str) -> None:
    """Reading is harmless, so a copy may be written; replacing would lose what the other program saves."""
    (tmp_path / lock).write_text("somebody")
    sentence = problem_of(book, in_place=True)
    assert "open in another program" in sentence and lock in sentence
    recalculate(book, tmp_path / "copy.xlsx")
    output = tmp_path / "other" / "log.xlsx"
    output.parent.mkdir()
    output.write_text("open elsewhere")
    (output.parent / lock).write_text("somebody")
    assert "open in another program" in problem_of(book, output, overwrite=True)
    assert output.read_text() == "open elsewhere"


@pytest.mark.office
def test_a_log_that_libreoffice_has_open(tmp_path: Path, book: Path) -> None:
    """The lock that a running LibreOffice leaves is the one that is respected."""
    office = subprocess.Popen(
        [
            str(needed_office().soffice),
            *profile_options(tmp_path / "profile"),
            "--headless",
            "--norestore",
            str(book),
        ],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
        env=clean_environment(),
    )
    try:
        deadline = time.monotonic() + 120
        while not (tmp_path / ".~lock.log.xlsx#").exists():
            assert time.monotonic() < deadline, "LibreOffice did not open the log"
            time.sleep(0.2)
        assert "open in another program" in problem_of(book, in_place=True)
    finally:
        if os.name == "posix":
            os.killpg(office.pid, signal.SIGKILL)
        else:
            office.kill()
        office.wait(30)


def test_in_place_keeps_a_backup(tmp_path: Path, book: Path) -> None:
    before = book.read_bytes()
    if os.name == "posix":
        book.chmod(0o640)
    done = recalculate(book, in_place=True)
    assert done.output == book and done.backup is not None
    assert done.backup.parent == tmp_path and done.backup.name.startswith("log.backup-")
    assert done.backup.read_bytes() == before
    assert read_values(book)("B1") == pytest.approx(68)
    again = recalculate(book, in_place=True)
    assert again.changed == 0 and again.backup != done.backup
    if os.name == "posix":
        assert (book.stat().st_mode & 0o777, done.backup.stat().st_mode & 0o777) == (0o640, 0o640)
    assert sorted(path.suffix for path in tmp_path.iterdir()) == [".xlsx"] * 3


@posix_only
def test_in_place_through_a_link(tmp_path: Path, book: Path) -> None:
    """The file is replaced, and the link to it stays a link."""
    link = tmp_path / "link.xlsx"
    link.symlink_to(book)
    recalculate(link, in_place=True)
    assert link.is_symlink()
    assert read_values(book)("B1") == pytest.approx(68)


def test_a_log_that_changes_meanwhile(tmp_path: Path, book: Path) -> None:
    """What another program saves while growcells computes is not overwritten."""

    def save(step: str, done: int, total: int) -> None:
        if step == "computing" and done == total:
            book.write_bytes(b"PK saved by somebody else")

    with pytest.raises(FileProblem, match="changed by another program"):
        recalculate(book, in_place=True, progress=save)
    assert book.read_bytes() == b"PK saved by somebody else"
    assert [path.name for path in tmp_path.iterdir()] == ["log.xlsx"]


# ---- faults while writing, in a process of their own


RECALCULATE = """
import sys
from pathlib import Path
from growcells_workbooks.gate import FileProblem
from growcells_workbooks.recalculation import recalculate
try:
    recalculate({arguments})
except FileProblem as problem:
    print(problem)
    sys.exit(1)
"""


@posix_only
@pytest.mark.parametrize("in_place", [True, False])
def test_a_full_disk(tmp_path: Path, in_place: bool) -> None:
    """A write that the system cuts short, by a limit on file sizes: the same path as a full disk."""
    source, output = tmp_path / "log.xlsx", tmp_path / "out.xlsx"
    source.write_bytes(ROOFTOP.read_bytes())
    where = "Path({!r}), in_place=True" if in_place else "Path({!r}), Path({!r})"
    done = run_python(
        "import resource, signal; signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (5000, 5000))\n"
        + RECALCULATE.format(arguments=where.format(str(source), str(output)))
    )
    assert (done.returncode, done.stderr) == (1, "")
    assert "the disk is full" in done.stdout
    assert source.read_bytes() == ROOFTOP.read_bytes()
    assert [path.name for path in tmp_path.iterdir()] == ["log.xlsx"]


@pytest.mark.skipif(not sys.platform.startswith("linux") or os.geteuid() != 0, reason="NOT TESTED: needs root on Linux")
@pytest.mark.parametrize(
    "call",
    ["recalculate(log)", "export_log(log, log.parent / 'out')", "read_photos(log.parent / 'photos', [], None, None)"],
)
def test_a_folder_that_may_not_be_entered(tmp_path: Path, book: Path, call: str) -> None:
    """As another user than the one whose folder it is."""
    folder = tmp_path / "guarded"
    folder.mkdir(mode=0o700)
    (folder / "log.xlsx").write_bytes(book.read_bytes())
    program = f"""
import os
from pathlib import Path
from growcells_workbooks.export import export_log
from growcells_workbooks.gate import FileProblem
from growcells_workbooks.recalculation import recalculate
from growcells_workbooks.report.figures.photo_folder import read_photos
log = Path({str(folder / "log.xlsx")!r})
os.setuid(65534)
try:
    {call}
except FileProblem as problem:
    print(problem)
"""
    done = run_python(program)
    assert done.stderr == "" and "may not be read" in done.stdout


@pytest.mark.skipif(not sys.platform.startswith("linux") or os.geteuid() != 0, reason="NOT TESTED: needs root on Linux")
def test_a_disk_that_is_really_full(tmp_path: Path) -> None:
    """The same on a file system of 64 KiB."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(disk)], capture_output=True, text=True
    )
    if mounted.returncode:
        pytest.skip(f"NOT TESTED: a small disk cannot be mounted here ({mounted.stderr.strip()})")
    try:
        source = disk / "log.xlsx"
        source.write_bytes(ROOFTOP.read_bytes())
        room = disk / "filler"
        with pytest.raises(OSError), room.open("wb", buffering=0) as filler:
            while True:
                filler.write(bytes(1024))
        assert "the disk is full" in problem_of(source, disk / "out.xlsx")
        assert "the disk is full" in problem_of(source, in_place=True)
        assert sorted(path.name for path in disk.iterdir()) == ["filler", "log.xlsx"]
    finally:
        subprocess.run(["umount", str(disk)], check=True)


@posix_only
def test_a_folder_that_may_not_be_written(tmp_path: Path, book: Path) -> None:
    """As root rights do not bind, so the process takes another user there."""
    folder = tmp_path / "guarded"
    folder.mkdir()
    source = folder / "log.xlsx"
    source.write_bytes(book.read_bytes())
    folder.chmod(0o555)
    for parent in (tmp_path, *tmp_path.parents):
        if os.geteuid() == 0 and parent != Path("/") and parent.stat().st_uid == 0:
            parent.chmod(parent.stat().st_mode | 0o055)
    lower = "import os; os.setuid(65534)\n" if os.geteuid() == 0 else ""
    # All is loaded before the user changes: the Python that runs may be readable for root alone.
    program = "from pathlib import Path; from growcells_workbooks.recalculation import recalculate\n"
    program += f"recalculate(Path({str(source)!r}))\n"
    program += lower
    for arguments in ("Path({0!r}), in_place=True", "Path({0!r}), Path({1!r})"):
        done = run_python(
            program + RECALCULATE.format(arguments=arguments.format(str(source), str(folder / "out.xlsx")))
        )
        assert (done.returncode, done.stderr) == (1, ""), done.stderr
        assert "may not be" in done.stdout
    assert source.read_bytes() == book.read_bytes()
    folder.chmod(0o755)
    assert [path.name for path in folder.iterdir()] == ["log.xlsx"]


@pytest.mark.slow
@posix_only
def test_a_kill_at_any_moment(tmp_path: Path) -> None:
    """Killed at many moments, in place: the log is the old one or the new one, whole, and a backup is whole too."""
    old = ROOFTOP.read_bytes()
    reference = tmp_path / "reference.xlsx"
    recalculate(ROOFTOP, reference)
    new = first_sheet(reference)
    folder = tmp_path / "log"
    seen: set[str] = set()
    for moment in range(24):
        folder.mkdir()
        source = folder / "log.xlsx"
        source.write_bytes(old)
        # Slow down what writes, so that the kills fall into it: every call that touches the disk waits a little.
        program = (
            "import os, time\nprint('ready', flush=True)\n"
            "for name in ('fsync', 'replace'):\n"
            "    def slow(*given, real=getattr(os, name)):\n"
            "        time.sleep(0.05); result = real(*given); time.sleep(0.05); return result\n"
            "    setattr(os, name, slow)\n"
        ) + RECALCULATE.format(arguments=f"Path({str(source)!r}), in_place=True")
        process = subprocess.Popen([sys.executable, "-c", program], env=ENVIRONMENT, stdout=subprocess.PIPE)
        assert process.stdout is not None
        process.stdout.readline()
        # The first half falls anywhere, the second while there is a temporary file or a backup.
        if moment < 6:
            time.sleep(0.1 * moment)
        else:
            deadline = time.monotonic() + 60
            while len(list(folder.iterdir())) < 2 and process.poll() is None:
                assert time.monotonic() < deadline
                time.sleep(0.001)
            time.sleep(0.03 * (moment - 6))
        process.kill()
        process.wait(30)
        process.stdout.close()
        data = source.read_bytes()
        if data == old:
            seen.add("old")
        else:
            seen.add("new")
            with zipfile.ZipFile(io.BytesIO(data)) as package:
                assert package.testzip() is None
            assert first_sheet(source) == new
        for path in folder.iterdir():
            if path.name.startswith("log.backup-"):
                seen.add("backup")
                assert path.read_bytes() == old
            path.unlink()
        folder.rmdir()
    assert seen == {"old", "new", "backup"}, "the kills must fall before and after the replacement"


def test_a_failed_write_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "out.xlsx"
    path.write_text("old")

    def fail(handle: int) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(FileProblem, match="was not written: Input/output error"):
        write_whole(path, b"new")
    assert path.read_text() == "old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["out.xlsx"]


def test_what_a_killed_process_left(tmp_path: Path) -> None:
    """An unfinished file is deleted the next time, where it is older than a day and of the same workbook."""
    dead = (".out[1].xlsx.abc123_x.part", ".out[1].backup-20260302-101010.xlsx.abc123_x.part")
    others = (".out[1].xlsx.young.part", ".other.xlsx.abc.part", ".out[1]2.xlsx.abc.part", "out[1].xlsx.part")
    names = (*dead, *others)
    for name in names:
        (tmp_path / name).write_text("unfinished")
        age = 60 if "young" in name else 25 * 3600
        os.utime(tmp_path / name, (time.time() - age,) * 2)
    write_whole(tmp_path / "out[1].xlsx", b"")
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([*others, "out[1].xlsx"])


# ---- as Windows behaves; simulated, since no Windows runs here


@pytest.mark.parametrize("call", ["replace", "fsync"])
def test_a_system_that_refuses(tmp_path: Path, book: Path, monkeypatch: pytest.MonkeyPatch, call: str) -> None:
    """Windows refuses to replace a file that a program has open: the old one stays, with no backup and no rest."""
    before = book.read_bytes()

    def refuse(*_: object) -> None:
        raise PermissionError(13, "The process cannot access the file because it is being used by another process")

    monkeypatch.setattr(*((Path, "replace") if call == "replace" else (os, "fsync")), refuse)
    assert "may not be written: close the program" in problem_of(book, in_place=True)
    assert "may not be written: close the program" in problem_of(book, tmp_path / "out.xlsx")
    assert [path.name for path in tmp_path.iterdir()] == ["log.xlsx"]
    assert book.read_bytes() == before


def test_a_replacement_that_is_refused_after_the_backup(
    tmp_path: Path, book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A program opens the log between the backup and the replacement."""
    replace = Path.replace

    def refuse_the_log(path: Path, target: Path) -> Path:
        if target == book:
            raise PermissionError(13, "sharing violation")
        return replace(path, target)

    monkeypatch.setattr(Path, "replace", refuse_the_log)
    assert "close the program" in problem_of(book, in_place=True)
    assert [path.name for path in tmp_path.iterdir()] == ["log.xlsx"]


def test_a_system_without_folders_that_sync(tmp_path: Path, book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Some network disks refuse to sync a folder: the file is written all the same."""
    sync = os.fsync

    def refuse_folders(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(22, "Invalid argument")
        sync(handle)

    monkeypatch.setattr(os, "fsync", refuse_folders)
    assert recalculate(book, in_place=True).changed == 2


def test_a_log_that_may_not_be_opened(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Windows keeps a file from others while a program has it open for itself."""
    opened = Path.open

    def refuse(path: Path, mode: str = "r", *given: object, **more: object) -> object:
        if path == book and mode == "r+b":
            raise PermissionError(13, "sharing violation")
        return opened(path, mode, *given, **more)  # type: ignore[call-overload]

    monkeypatch.setattr(Path, "open", refuse)
    assert "close the program" in problem_of(book, in_place=True)
