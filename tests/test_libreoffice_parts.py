"""The parts of the LibreOffice bridge that need no LibreOffice: texts, values, finding programs, gathering packages."""

from __future__ import annotations

import base64
import errno
import hashlib
import math
import os
import re
import struct
import sys
import zipfile
from importlib.metadata import PathDistribution, distribution
from pathlib import Path
from xml.etree import ElementTree

import pytest

from growcells import functions
from growcells.cells.errors import ERROR_CODES, CellError
from growcells_addin.bridge_files import BridgeProblem, write_new_file
from growcells_addin.libreoffice import component, install, opening, packages, probe, program, texts
from growcells_addin.libreoffice.extension import EVENTS, build_extension, write_portable_extension
from libreoffice import needed_office
from processes import PROJECT, run_python

OOR = "{http://openoffice.org/2001/registry}"
EVERY = list(functions().values())
LOCKED = PROJECT / "tests" / "locked.txt"


def test_each_function_is_a_method_that_takes_its_arguments() -> None:
    methods = dict(re.findall(r"sequence< sequence<any> > (\w+)\((.*)\);", texts.type_library(EVERY)))
    assert list(methods) == [component.method_name(function.name) for function in EVERY]
    for function in EVERY:
        parameters = [part for part in methods[component.method_name(function.name)].split(", ") if part]
        assert len(parameters) == len(function.arguments)
        repeated = [part.startswith("[in] sequence<any> ") for part in parameters]
        assert repeated == [argument.repeated for argument in function.arguments]


def test_names_inside_libreoffice_are_lawful_and_differ() -> None:
    """UNOIDL takes letters and digits, a small letter first; unopkg refuses others as an illegal identifier."""
    names = [component.method_name(function.name) for function in EVERY]
    assert len({name.lower() for name in names}) == len(names)
    for function in EVERY:
        parameters = [texts.parameter_name(argument) for argument in function.arguments]
        assert len({name.lower() for name in parameters}) == len(parameters)
        names += parameters
    assert all(re.fullmatch(r"[a-z][A-Za-z0-9]*", name) for name in names)


def test_the_configuration_holds_each_text() -> None:
    root = ElementTree.fromstring(texts.configuration(EVERY))
    entries = {entry.get(f"{OOR}name"): entry for entry in root.iterfind("node/node/node/node")}
    for function in EVERY:
        entry = entries.pop(component.method_name(function.name))
        shown = {prop.get(f"{OOR}name"): prop.findtext("value") for prop in entry.findall("prop")}
        assert shown["DisplayName"] == shown["CompatibilityName"] == function.name
        assert shown["Description"] == f"{function.family}: {function.help}"
        described = [prop.findtext("value") for prop in entry.findall("node/node/prop")]
        assert described[::2] == [argument.name for argument in function.arguments]
        for argument, text in zip(function.arguments, described[1::2], strict=True):
            assert text == ("Required: " if argument.required else "") + argument.help
    assert not entries


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("COMPONENT", component.IMPLEMENTATION),
        ("FUNCTIONS", component.SERVICE),
        ("LOADED", component.LOADED),
        ("OPENING", opening.OPENING_SERVICE),
        ("EXTENSION", texts.IDENTIFIER),
        ("FITS", probe.FITS),
    ],
)
def test_basic_and_python_call_it_the_same(name: str, value: str) -> None:
    (written,) = re.findall(rf'^Const {name} = "(.*?)"', EVENTS.read_text(encoding="utf-8"), re.MULTILINE)
    assert written == value


@pytest.mark.parametrize(
    ("text", "root"),
    [
        (texts.components(), "components"),
        (texts.events(), "component-data"),
        (texts.basic_library("Events"), "library"),
        (texts.basic_module("a < b"), "module"),
        (texts.manifest(), "manifest"),
        (texts.description("1.2", "25.2"), "description"),
    ],
)
def test_the_other_texts_are_xml(text: str, root: str) -> None:
    assert ElementTree.fromstring(text).tag.rpartition("}")[2] == root


@pytest.mark.parametrize("code", ERROR_CODES)
def test_an_error_is_a_number_that_carries_libreoffice_s_own(code: str) -> None:
    number = component.to_rows(CellError(code))[0][0]
    assert isinstance(number, float) and math.isnan(number)
    (bits,) = struct.unpack("<Q", struct.pack("<d", number))
    assert bits & 0xFFFF_FFFF == component.OFFICE_ERRORS[code]


def test_rows_keep_numbers_texts_and_blanks_and_carry_errors() -> None:
    rows = component.to_rows((("N", 210.0), ("", None), (CellError("#N/A"), True)))
    assert rows[:2] == (("N", 210.0), ("", None))
    assert math.isnan(rows[2][0]) and rows[2][1] is True  # type: ignore[arg-type]  # a float


def test_an_exception_in_a_function_is_an_error_value() -> None:
    def broken(cells: tuple[object, ...]) -> object:
        raise RuntimeError(cells)

    assert component.method_for(broken, repeated=False)(None, 1.0, None) is component.FAULT
    (strange,) = component.method_for(lambda cells: object(), repeated=False)(None)[0]
    assert math.isnan(strange)  # type: ignore[arg-type]  # a float


def test_a_repeated_argument_is_handed_on_one_by_one() -> None:
    method = component.method_for(lambda cells: repr(cells), repeated=True)
    assert method(None, "GROW_DOSE", (34.0, None, "two")) == (("('GROW_DOSE', 34.0, None, 'two')",),)
    assert method(None, "GROW_VERSION", ()) == (("('GROW_VERSION',)",),)


def test_a_function_that_cannot_be_loaded_shows_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    assert component.load_method("growNothing")(None) is component.FAULT
    monkeypatch.setitem(sys.modules, "growcells", None)  # an import of it fails now
    assert component.load_method("growDose")(None, 34.0, 2.0) is component.FAULT


@pytest.mark.parametrize(
    ("formula", "mended"),
    [
        ("=[1]!GROW_DOSE(A1;2)", "=GROW_DOSE(A1;2)"),
        ("=[12]!grow_dose(A1;2)*2", "=grow_dose(A1;2)*2"),
        ("=SUM([1]!GROW_DOSE(1;2);[1]!GROW_DOSE(3;4))", "=SUM(GROW_DOSE(1;2);GROW_DOSE(3;4))"),
        ("=[1]!OTHER(A1)", "=[1]!OTHER(A1)"),
        ("=[1]Sheet1!GROWTH", "=[1]Sheet1!GROWTH"),
    ],
)
def test_references_to_an_addin_file_come_off(formula: str, mended: str) -> None:
    assert opening.without_reference(formula) == mended


def settings_of(folder: Path, product: str) -> Path:
    """A folder that looks like LibreOffice's programs."""
    folder.mkdir(parents=True)
    name = "bootstrap.ini" if os.name == "nt" else "bootstraprc"
    (folder / name).write_text(f"[Bootstrap]\nInstallMode=<installmode>\nProductKey={product}\n")
    return folder


def test_an_old_libreoffice_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(program.PROGRAM_VARIABLE, str(settings_of(tmp_path / "program", "LibreOffice 7.4")))
    with pytest.raises(BridgeProblem, match=r"LibreOffice 7\.4 in .*too old.*xlsx.*25\.2 or newer"):
        program.find_office()


def test_no_libreoffice_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(program.PROGRAM_VARIABLE, str(tmp_path))
    with pytest.raises(BridgeProblem, match=r"not found: install LibreOffice Calc 25\.2 or newer"):
        program.find_office()


@pytest.mark.parametrize(("required", "outcome"), [("", pytest.skip.Exception), ("1", pytest.fail.Exception)])
def test_what_needs_libreoffice_is_skipped_or_fails_as_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, required: str, outcome: type[BaseException]
) -> None:
    monkeypatch.setenv(program.PROGRAM_VARIABLE, str(tmp_path))
    monkeypatch.setenv("GROWCELLS_REQUIRE_LIVE", required)
    with pytest.raises(outcome, match=r"NOT TESTED: .* install LibreOffice Calc"):
        needed_office()


def test_the_newest_libreoffice_is_taken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    places = [settings_of(tmp_path / name, f"LibreOffice {name}") for name in ("25.2", "25.8", "7.6")]
    monkeypatch.setattr(program, "_folders", lambda: iter(places))
    assert program.find_office() == program.Office(tmp_path / "25.8", (25, 8))


def test_libreoffice_on_macos_has_its_settings_elsewhere(tmp_path: Path) -> None:
    settings_of(tmp_path / "Contents" / "Resources", "LibreOffice 25.8")
    office = program.read_office(tmp_path / "Contents" / "MacOS")
    assert office == program.Office(tmp_path / "Contents" / "MacOS", (25, 8))


def test_a_libreoffice_without_python_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    office = program.Office(settings_of(tmp_path / "program", "LibreOffice 25.2"), (25, 2))
    monkeypatch.setattr(program, "_pythons", lambda office: iter([tmp_path / "none"]))
    with pytest.raises(BridgeProblem, match="has no Python: install its Python support"):
        program.find_python(office)


def test_an_old_python_in_libreoffice_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    old = program.OfficePython(tmp_path, (3, 9), "cpython-39", "linux-x86_64")
    monkeypatch.setattr(program, "_pythons", lambda office: iter([tmp_path]))
    monkeypatch.setattr(program, "_facts", lambda _: old)
    with pytest.raises(BridgeProblem, match=r"runs Python 3\.9, and growcells needs 3\.11 or newer"):
        program.find_python(program.Office(tmp_path, (25, 2)))


def this_python(version: tuple[int, int] | None = None) -> program.OfficePython:
    """The Python that runs the tests, as if it were LibreOffice's; of another version on demand."""
    this = program.this_python()
    return this if version is None else program.OfficePython(this.executable, version, "cpython-39", this.platform)


def test_packages_are_copied_and_run_from_the_folder_alone(tmp_path: Path) -> None:
    told: list[str] = []
    assert packages.gather(tmp_path, this_python(), (), told.append) == ()
    assert told == []  # nothing was fetched
    held = {entry.name for entry in tmp_path.iterdir()}
    assert {"growcells", "pint", "molmass", "flexparser", "flexcache", "typing_extensions.py"} <= held
    assert not list(tmp_path.rglob("*.pyc"))


def test_compiled_packages_are_copied_only_for_the_same_python() -> None:
    numpy, pint = distribution("numpy"), distribution("pint")
    assert packages.fits(numpy, this_python()) and packages.fits(pint, this_python())
    assert not packages.fits(numpy, this_python((3, 9))) and packages.fits(pint, this_python((3, 9)))


def test_what_cannot_be_had_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packages, "fetch", lambda *_: False)  # no network
    told: list[str] = []
    assert packages.gather(tmp_path, this_python(), ("no-such-package-of-ours",), told.append) == (
        "no-such-package-of-ours",
    )
    assert told == [f"fetching no-such-package-of-ours for LibreOffice's Python {sys.version_info.major}."
                    f"{sys.version_info.minor}"]  # fmt: skip
    monkeypatch.setattr(packages, "runs", lambda *_: False)
    with pytest.raises(BridgeProblem, match=r"pint and molmass could not be provided .* connect to the internet"):
        packages.gather(tmp_path / "again", this_python(), (), told.append)


@pytest.mark.slow
def test_pip_is_asked_where_nothing_fits(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """From a folder of wheels that PIP_FIND_LINKS names, without a network."""
    wheels = tmp_path / "wheels"
    wheels.mkdir()
    with zipfile.ZipFile(wheels / "growcells_trial-1.0-py3-none-any.whl", "w") as wheel:
        wheel.writestr("growcells_trial.py", "")
        wheel.writestr(
            "growcells_trial-1.0.dist-info/METADATA", "Metadata-Version: 2.1\nName: growcells-trial\nVersion: 1.0\n"
        )
        wheel.writestr(
            "growcells_trial-1.0.dist-info/WHEEL", "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n"
        )
        wheel.writestr("growcells_trial-1.0.dist-info/RECORD", "")
    monkeypatch.setenv("PIP_FIND_LINKS", str(wheels))
    monkeypatch.setenv("PIP_NO_INDEX", "1")
    (wheel_file,) = wheels.iterdir()
    digest = hashlib.sha256(wheel_file.read_bytes()).hexdigest()
    locked = tmp_path / "locked.txt"
    locked.write_text(f"growcells-trial==1.0 --hash=sha256:{digest}\n")
    target = tmp_path / "target"
    assert packages.fetch(target, this_python(), locked)
    assert (target / "growcells_trial.py").is_file()
    for other in (f"growcells-trial==1.0 --hash=sha256:{'0' * 64}", "growcells-trial==1.0", "growcells-trial-two==1.0"):
        locked.write_text(f"{other}\n")
        assert not packages.fetch(tmp_path / "other", this_python(), locked)


def test_what_is_fetched_is_what_the_tests_ran_with() -> None:
    tested = dict(re.findall(r"^(\S+)==(\S+)$", LOCKED.read_text().lower().replace("_", "-"), re.MULTILINE))
    needs = {need for function in EVERY for need in function.needs}
    files = {file.stem: file.read_text() for file in packages.LOCKED.glob("*.txt")}
    assert set(files) == {"always", *needs}
    for text in files.values():
        pinned = re.findall(r"^(\S+)==(\S+) \\\n    --hash=sha256:[0-9a-f]{64}", text, re.MULTILINE)
        assert pinned and all(tested[name] == version for name, version in pinned)
        assert len(pinned) == text.count("==")


def test_a_package_that_was_changed_is_not_packed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packages, "fetch", lambda *_: False)
    monkeypatch.setattr(packages, "unchanged", lambda package: package.name != "Pint")
    told: list[str] = []
    with pytest.raises(BridgeProblem, match="pint and molmass could not be provided"):
        packages.gather(tmp_path, this_python(), (), told.append)
    assert told[0].startswith("Pint is not as it was installed here, by the hashes in its RECORD: not used")
    assert not (tmp_path / "pint").exists()


@pytest.mark.parametrize("harm", ["none", "changed", "gone", "no hash", "other digest"])
def test_the_files_of_a_package_are_held_against_its_record(tmp_path: Path, harm: str) -> None:
    content = b"a = 1\n"
    digest = base64.urlsafe_b64encode(hashlib.sha256(content).digest()).decode().rstrip("=")
    (tmp_path / "trial.py").write_bytes(b"a = 2\n" if harm == "changed" else content)
    if harm == "gone":
        (tmp_path / "trial.py").unlink()
    named = {"no hash": "", "other digest": f"nodigest={digest}"}.get(harm, f"sha256={digest}")
    info = tmp_path / "trial-1.0.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: trial\nVersion: 1.0\n")
    recorded = base64.urlsafe_b64encode(hashlib.sha256((info / "METADATA").read_bytes()).digest()).decode().rstrip("=")
    (info / "RECORD").write_text(
        f"trial.py,{named},6\n../../bin/trial,,\ntrial-1.0.dist-info/METADATA,sha256={recorded},\n"
        "trial-1.0.dist-info/RECORD,,\n"
    )
    assert packages.unchanged(PathDistribution(info)) is (harm == "none")


def test_a_file_is_written_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    target = tmp_path / "growcells.oxt"
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        with pytest.raises(BridgeProblem, match=r"growcells\.oxt cannot be written: No space left on device"):
            write_new_file(target, b"half")
        assert list(tmp_path.iterdir()) == []
    write_new_file(target, b"whole")
    assert target.read_bytes() == b"whole"
    with pytest.raises(BridgeProblem, match="exists already"):
        write_new_file(target, b"another")
    assert target.read_bytes() == b"whole" and list(tmp_path.iterdir()) == [target]


def test_the_extension_is_the_same_file_again(tmp_path: Path) -> None:
    folder = tmp_path / "packages"
    folder.mkdir()
    (folder / "a.py").write_text("a = 1\n")
    for name in ("one.oxt", "two.oxt"):
        build_extension(tmp_path / name, folder)
    assert (tmp_path / "one.oxt").read_bytes() == (tmp_path / "two.oxt").read_bytes()
    with zipfile.ZipFile(tmp_path / "one.oxt") as archive:
        named = re.findall(r'full-path="(.*?)"', archive.read("META-INF/manifest.xml").decode())
        files = {name for name in named if not name.endswith("/")}
        assert {
            *files,
            "component.py",
            "opening.py",
            "probe.py",
            "growcells/Events.xba",
            "growcells/script.xlb",
            "growcells/dialog.xlb",
            "description.xml",
            "packages/a.py",
        } <= set(archive.namelist())


def test_an_extension_for_a_double_click_holds_pure_python_only(tmp_path: Path) -> None:
    told: list[str] = []
    write_portable_extension(tmp_path / "growcells.oxt", told.append)
    assert told[-1].startswith(f"wrote {tmp_path / 'growcells.oxt'} with {len(functions())} functions")
    with zipfile.ZipFile(tmp_path / "growcells.oxt") as archive:
        names = archive.namelist()
    assert "packages/growcells/cells/registry.py" in names and "packages/pint/__init__.py" in names
    assert not [name for name in names if name.endswith((".so", ".pyd", ".dylib", ".pyc"))]


def test_an_extension_is_written_to_a_new_file_only(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("growcells_addin.libreoffice.extension.gather", lambda *_: ())
    mine = tmp_path / "mine.oxt"
    mine.write_text("mine")
    with pytest.raises(BridgeProblem, match=r"mine\.oxt exists already: give the name of a new file"):
        write_portable_extension(mine, print)
    assert mine.read_text() == "mine"
    with pytest.raises(BridgeProblem, match=r"growcells\.zip would not be known for what it is: end its name in \.oxt"):
        write_portable_extension(tmp_path / "growcells.zip", print)
    with pytest.raises(BridgeProblem, match=r"cannot be written: No such file or directory; give"):
        write_portable_extension(tmp_path / "nowhere" / "growcells.oxt", print)


PROFILES = {
    "win32": ("APPDATA", "LibreOffice/4"),
    "darwin": ("HOME", "Library/Application Support/LibreOffice/4"),
    "linux": ("XDG_CONFIG_HOME", "libreoffice/4"),
}


@pytest.mark.skipif(os.name != "posix", reason="NOT TESTED: home folders as POSIX systems name them")
@pytest.mark.parametrize("system", PROFILES)
def test_where_libreoffice_keeps_a_user_s_settings(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, system: str
) -> None:
    variable, folder = PROFILES[system]
    monkeypatch.setattr(sys, "platform", system)
    monkeypatch.setenv(variable, str(tmp_path))
    assert program.profile_folder(None) == tmp_path / folder
    assert program.profile_folder(tmp_path / "mine") == tmp_path / "mine"


@pytest.mark.skipif(os.name != "posix", reason="NOT TESTED: the stand-in for LibreOffice's program is a shell script")
def test_what_libreoffice_s_program_for_extensions_says_is_passed_on(tmp_path: Path) -> None:
    office = program.Office(tmp_path, (25, 2))
    with pytest.raises(BridgeProblem, match="unopkg did not run"):
        install.is_installed(office, tmp_path)
    office.unopkg.write_text("#!/bin/sh\necho the disk is full\nexit 1\n")
    office.unopkg.chmod(0o755)
    with pytest.raises(BridgeProblem, match="unopkg did not list the extension: the disk is full"):
        install.is_installed(office, tmp_path)


@pytest.mark.skipif(os.name != "posix", reason="NOT TESTED: the stand-in for LibreOffice's program is a shell script")
def test_what_unpacking_left_behind_is_removed(tmp_path: Path) -> None:
    office = program.Office(tmp_path, (25, 2))
    office.unopkg.write_text("#!/bin/sh\n")
    office.unopkg.chmod(0o755)
    unpacked = tmp_path / "user" / "extensions" / "tmp" / "extensions"
    ours, other = unpacked / "lu1" / "growcells.oxt", unpacked / "lu2" / "another.oxt"
    ours.mkdir(parents=True)
    other.mkdir(parents=True)
    install.tidy(office, tmp_path)
    assert not ours.parent.exists() and other.exists()


def test_importing_the_bridge_brings_no_spreadsheet_library_and_no_numpy() -> None:
    code = (
        "import sys; import growcells_addin.libreoffice.install\n"
        "print([n for n in ('xlwings', 'openpyxl', 'numpy', 'scipy', 'pint') if n in sys.modules])"
    )
    told = run_python(code)
    assert told.stdout.strip() == "[]", told.stderr


def test_libreoffice_does_not_find_the_python_that_runs_now(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "base_prefix", "/opt/other")
    monkeypatch.setenv("PATH", os.pathsep.join(["/opt/other/bin", "/usr/bin"]))
    monkeypatch.setenv("PYTHONPATH", "/opt/other/lib")
    environment = program.clean_environment()
    assert environment["PATH"].split(os.pathsep)[0] == "/usr/bin"
    assert "PYTHONPATH" not in environment
