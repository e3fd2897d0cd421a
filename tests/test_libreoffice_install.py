"""Putting the extension into LibreOffice and taking it out again, in a profile of its own."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest

from growcells import functions
from growcells.cells.errors import CellError
from growcells.version import VERSION
from growcells_addin.bridge_files import BridgeProblem
from growcells_addin.libreoffice.attended import PIPES
from growcells_addin.libreoffice.extension import write_portable_extension
from growcells_addin.libreoffice.install import install_libreoffice, is_installed, uninstall_libreoffice
from growcells_addin.libreoffice.program import (
    PROFILE_VARIABLE,
    Office,
    clean_environment,
    find_python,
    profile_options,
)
from libreoffice import RunningOffice, needed_office
from test_libreoffice_starts import lay_out_pythons
from us_units import LITRES_IN_GALLON


@pytest.fixture(scope="module")
def office() -> Office:
    """LibreOffice, not running."""
    return needed_office()


def traces(profile: Path) -> list[str]:
    """Every file in a profile whose path or content tells of growcells."""
    files = [file for file in profile.rglob("*") if file.is_file()]
    return [str(file) for file in files if b"growcells" in str(file.relative_to(profile)).encode() + file.read_bytes()]


def extension_folders(profile: Path) -> list[Path]:
    """Each unpacked copy of the extension."""
    return [folder for folder in profile.rglob("growcells.oxt") if folder.is_dir()]


def test_install_use_upgrade_break_uninstall(office: Office, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    profile = tmp_path / "profile"
    monkeypatch.setenv(PROFILE_VARIABLE, str(profile))
    temporary = tmp_path / "temporary"
    temporary.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(temporary))
    told: list[str] = []

    assert not uninstall_libreoffice(told.append)
    assert told == [f"growcells was not installed in LibreOffice {office.version[0]}.{office.version[1]}"]

    told.clear()
    assert install_libreoffice(told.append) == ()
    assert told[0].startswith("found LibreOffice 25.") or office.version[0] != 25
    assert f"built the extension with {len(functions())} functions" in told[1]
    assert any("MB of it is scipy, for " in line and "GROW_TRIAL_P" in line for line in told)
    assert f"installed growcells {VERSION} in {profile}, for a LibreOffice that is started with -env:" in "".join(told)
    assert is_installed(office, profile)

    told.clear()
    assert install_libreoffice(told.append) == ()
    assert [line for line in told if line.endswith("already, and whole")] and len(told) <= 3
    if os.name == "posix":
        told.clear()
        lay_out_pythons(tmp_path, find_python(office).executable)
        with monkeypatch.context() as shell:
            shell.setenv("PATH", str(tmp_path / "venv" / "bin"), prepend=os.pathsep)
            install_libreoffice(told.append)
        assert f"{tmp_path}/venv/bin/python3 comes first: growcells would rest" in told[-1]
    (folder,) = extension_folders(profile)
    (folder / "packages" / "pint" / "__init__.py").write_text("broken\n")
    install_libreoffice(told.append)
    (folder,) = extension_folders(profile)
    assert (folder / "packages" / "pint" / "__init__.py").read_text() != "broken\n"

    running = RunningOffice(office, profile)
    try:
        assert running.evaluate(["=GROW_VERSION()"]) == [VERSION]
        with pytest.raises(BridgeProblem, match=r"LibreOffice is running .*close it"):
            install_libreoffice(told.append)
        with pytest.raises(BridgeProblem, match=r"LibreOffice is running .*close it"):
            uninstall_libreoffice(told.append)
        assert running.evaluate(["=GROW_VERSION()"]) == [VERSION]
    finally:
        running.close()

    # An upgrade takes the place of the older one.
    for module in ("extension", "contents"):
        monkeypatch.setattr(f"growcells_addin.libreoffice.{module}.VERSION", "9.9.9")
    install_libreoffice(told.append)
    (folder,) = extension_folders(profile)
    assert '"9.9.9"' in (folder / "description.xml").read_text()

    # A broken installation shows errors and does no other harm.
    shutil.rmtree(folder / "packages" / "growcells")
    running = RunningOffice(office, profile)
    try:
        assert running.evaluate(["=GROW_DOSE(34,2)", "=GROW_VERSION()", "=1+1"]) == [
            CellError("#VALUE!"),
            CellError("#VALUE!"),
            2.0,
        ]
        assert running.alive
    finally:
        running.close()

    told.clear()
    assert uninstall_libreoffice(told.append)
    assert told == [f"removed growcells from LibreOffice {office.version[0]}.{office.version[1]}"]
    assert not is_installed(office, profile)
    assert not extension_folders(profile)
    running = RunningOffice(office, profile)
    try:
        assert running.evaluate(["=GROW_DOSE(34,2)"]) == [CellError("#NAME?")]
    finally:
        running.close()
    assert traces(profile) == []
    assert list(temporary.iterdir()) == []


def test_a_package_that_cannot_be_had_is_named_with_its_functions(
    office: Office, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As without a network, where LibreOffice's Python cannot run the compiled packages of this one."""
    from growcells_addin.libreoffice import packages

    fits = packages.fits
    monkeypatch.setattr(packages, "fits", lambda package, python: package.name != "scipy" and fits(package, python))
    monkeypatch.setattr(packages, "fetch", lambda *_: False)
    monkeypatch.setenv("PATH", "/usr/bin:/bin")  # so that the last line that is told is not on the path
    told: list[str] = []
    missing = install_libreoffice(told.append, tmp_path / "profile")
    needy = [function.name for function in functions().values() if "scipy" in function.needs]
    assert missing == ("scipy",)
    assert told[-1] == (
        f"scipy could not be had, so that these show an error: {', '.join(needy)}; "
        "connect to the internet, install again"
    )
    running = RunningOffice(office, tmp_path / "profile")
    try:
        assert running.evaluate(["=ROUND(GROW_DOSE(34,2),9)"]) == [68.0]
        formulas = [functions()[name].examples[0].formula(name) for name in needy]
        reasons = running.evaluate([re.sub(r"=(\w+)\(", r'=GROW_WHY("\1",', formula) for formula in formulas])
        failing = [shown for shown in running.evaluate(formulas) if isinstance(shown, CellError)]
        assert failing and len(failing) == sum(
            re.search("needs the Python package (scipy|numpy)", str(reason)) is not None for reason in reasons
        )
    finally:
        running.close()


def test_a_file_for_a_double_click(office: Office, tmp_path: Path) -> None:
    """What a double click does: LibreOffice's own program for extensions adds the file."""
    profile = tmp_path / "profile"
    write_portable_extension(tmp_path / "growcells.oxt", lambda _: None)
    add = [
        str(office.unopkg),
        "add",
        *(["--shared"] if os.name == "posix" and os.geteuid() == 0 else []),
        "--suppress-license",
    ]
    subprocess.run(
        [*add, str(tmp_path / "growcells.oxt"), *profile_options(profile)],
        check=True,
        capture_output=True,
        env=clean_environment() | {"TMPDIR": str(tmp_path)},
        timeout=120,
    )
    running = RunningOffice(office, profile)
    try:
        dose, ppm, depth, why = running.evaluate(
            [
                "=ROUND(GROW_DOSE(34,2),9)",
                '=ROUND(GROW_PPM(68,34,"KNO3","K"),6)',
                '=GROW_DEPTH_FOR(3,"pipe",4,120)',
                '=GROW_WHY("GROW_DEPTH_FOR",3,"pipe",4,120)',
            ]
        )
    finally:
        running.close()
    assert dose == 68.0
    assert ppm == pytest.approx(68 / (34 * LITRES_IN_GALLON) * 386.7, rel=1e-3)  # mg/g of K in KNO3, CRC Handbook
    # Where LibreOffice's Python has no scipy of its own, the sentence says that it lacks.
    assert isinstance(depth, float) or (isinstance(depth, CellError) and "scipy" in str(why))


@pytest.mark.slow
@pytest.mark.parametrize("how", [RunningOffice.close, RunningOffice.kill])
def test_libreoffice_leaves_nothing_however_it_ends(
    office: Office, tmp_path: Path, how: Callable[[RunningOffice], None]
) -> None:
    temporary = tmp_path / "temporary"
    temporary.mkdir()
    environment = clean_environment() | {"TMPDIR": str(temporary)}
    running = RunningOffice(office, tmp_path / "profile", environment=environment)
    pipe = PIPES / f"OSL_PIPE_{os.getuid()}_{running.pipe}"
    assert list(temporary.iterdir()) and (os.name == "nt" or pipe.exists())
    how(running)
    assert list(temporary.iterdir()) == [] and not pipe.exists()
