"""The wheel and the sdist: what an index is told of them, and that each computes in a bare environment."""

from __future__ import annotations

import email
import email.message
import re
import subprocess
import sys
import tarfile
import tomllib
import venv
import zipfile
from pathlib import Path

import pytest
import readme_renderer.markdown
from packaging.requirements import Requirement
from trove_classifiers import classifiers

import growcells
from libreoffice import not_tested
from processes import PROJECT
from try_it import LOCKED, python_of

BED = "import growcells; print(growcells.call('GROW_DOSE', growcells.call('GROW_VOLUME_BOX', 42, 31, 6), 1.8))"
BED_GRAMS = 42 * 31 * 6 / 231 * 1.8  # a gallon is 231 cubic inches: NIST Handbook 44, Appendix C

PIP = [sys.executable, "-m", "pip", "--disable-pip-version-check"]

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def index(tmp_path_factory: pytest.TempPathFactory) -> None:
    """A package index that pip reaches, or a skip."""
    fetch = [*PIP, "download", "--quiet", "--no-cache-dir", "--no-deps", "--dest", tmp_path_factory.mktemp("reached")]
    if subprocess.run([*fetch, "setuptools"], capture_output=True).returncode:
        not_tested("how the package installs: pip reaches no package index")


@pytest.fixture(scope="module", params=["wheel", "sdist"])
def package(request: pytest.FixtureRequest, index: None, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Each of the two files, built as a release is."""
    folder = tmp_path_factory.mktemp(request.param)
    subprocess.run([sys.executable, "-m", "build", f"--{request.param}", "--outdir", folder, PROJECT], check=True)
    (file,) = folder.iterdir()
    return file


def contents(package: Path) -> dict[str, bytes]:
    """The files in a package by their paths, without the folder that an sdist has around them."""
    if package.suffix == ".whl":
        with zipfile.ZipFile(package) as wheel:
            return {name: wheel.read(name) for name in wheel.namelist()}
    with tarfile.open(package) as sdist:
        return {member.name.partition("/")[2]: file.read() for member in sdist if (file := sdist.extractfile(member))}


def metadata(package: Path) -> email.message.Message:
    """What the package tells of itself."""
    (told,) = (
        data for name, data in contents(package).items() if re.fullmatch(r"PKG-INFO|[^/]+\.dist-info/METADATA", name)
    )
    return email.message_from_bytes(told)


def test_what_an_index_is_told(package: Path) -> None:
    told = metadata(package)
    assert told["Name"] == "growcells" and told["Version"] == growcells.call("GROW_VERSION")
    assert set(told.get_all("Classifier", [])) <= classifiers
    assert "hydroponics" in told["Keywords"]
    assert told["License-Expression"] == "MIT"
    assert told.get_all("License-File") == ["LICENSE"]
    assert not told.get_all("Project-URL")  # no place of the project is known
    needs = map(Requirement, told.get_all("Requires-Dist", []))
    declared = tomllib.loads((PROJECT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    assert {need for need in needs if "extra ==" not in str(need)} == set(map(Requirement, declared))


def test_the_long_description_renders_and_its_pictures_and_links_do_not_break(package: Path) -> None:
    told = metadata(package)
    assert told["Description-Content-Type"] == "text/markdown"
    text = str(told.get_payload())
    assert text.startswith("# growcells\n") and "python3 workbooks/try_it.py" in text
    shown = readme_renderer.markdown.render(text)
    assert shown is not None and "Try it" in shown
    places = re.findall(r'(?:src|href)="([^"]*)"', shown)
    assert all(place.startswith(("https://", "#user-content-")) for place in places), places


def test_the_licence_and_everything_else_is_inside(package: Path) -> None:
    held = contents(package)
    licences = [name for name in held if name.endswith("LICENSE")]
    assert licences and all(held[name] == (PROJECT / "LICENSE").read_bytes() for name in licences)
    for room in ("functions/growcells", "addin/growcells_addin", "workbooks/growcells_workbooks"):
        for file in (PROJECT / room).rglob("*"):
            if file.is_file() and "__pycache__" not in file.parts:
                inside = file.relative_to((PROJECT / room).parent if package.suffix == ".whl" else PROJECT)
                assert inside.as_posix() in held


def test_the_tests_come_with_the_source_alone(package: Path) -> None:
    helpers = {f"tests/{name}" for name in ("run.py", "locked.txt", "conftest.py", "data/sentences.tsv")}
    assert (set(contents(package)) & helpers) == (set() if package.suffix == ".whl" else helpers)


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An environment with nothing but pip, for each package in turn."""
    folder = tmp_path_factory.mktemp("environment") / "bare"
    venv.create(folder, with_pip=True)
    return folder


def test_it_installs_into_a_bare_environment_and_computes(package: Path, bare: Path, tmp_path: Path) -> None:
    """What the one brought that growcells needs is there for the other, which needs the same: see its metadata."""
    python = python_of(bare)
    pip = [python, "-m", "pip", "--quiet", "--disable-pip-version-check"]
    assert subprocess.run([python, "-I", "-c", "import growcells"], capture_output=True).returncode, "it is not bare"
    subprocess.run([*pip, "install", "--no-compile", "--constraint", LOCKED, package], cwd=tmp_path, check=True)
    subprocess.run([*pip, "check"], check=True)

    def said(*command: str | Path) -> str:
        return subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=True).stdout

    assert float(said(python, "-I", "-c", BED)) == pytest.approx(BED_GRAMS)
    command = python.with_name("growcells")
    assert growcells.call("GROW_VERSION") in said(command, "--version")
    said(command, "new", "log.xlsx")
    assert "formulas, 0 values changed" in said(command, "recalc", "log.xlsx", "--output", "computed.xlsx")
    subprocess.run([*pip, "uninstall", "--yes", "growcells"], check=True)
