"""What a type checker sees of the calculations: the plain types of the functions themselves, three of each family."""

from __future__ import annotations

import re
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from growcells import functions

PROJECT = Path(__file__).resolve().parent.parent
pytestmark = pytest.mark.slow
TYPES = {
    "volume.box": "(length: float, width: float, depth: float) -> float",
    "volume.pipe": "(diameter: float, length: float, water_depth: float) -> float",
    "water.convert": "(value: float, from_unit: str, to_unit: str) -> float",
    "dose.dose": "(volume: float, rate: float) -> float",
    "dose.weigh": "(mass: float, scale_step: float) -> float",
    "stock.stock": "(rate: float, ratio: float, stock_volume: float) -> float",
    "ppm.ppm": "(mass: float, volume: float, analysis: Analysis, nutrient: Nutrient) -> float",
    "ppm.blend": "(masses: list[float | None], analyses: list[Analysis | None]) -> str",
    "balance.balance": "(ppm_table: Mapping[str, float]) -> float",
    "conductivity.expected_conductivity": "(ppm_table: Mapping[str, float], temperature: float) -> float",
    "conductivity.meter_ppm": "(ec: float, scale: float) -> float",
    "acid.acid_volume": "(volume: float, alkalinity: float, ph: float, target_ph: float, acid: Acid, "
    "strength: AcidStrength | None =, contact: str =, feed: Mapping[str, float] =) -> float",
    "cost.cost": "(mass: float, price: float, package_mass: float) -> float",
    "cost.cost_per_head": "(costs: list[float | None], heads: float) -> float",
    "cost.fills_left": "(on_hand: float, mass_per_fill: float) -> float",
    "seed.sites_filled": "(germination: float, seeds: float) -> float",
    "trial.trial_size": "(difference: float, sd: float, treatments: float, power: float, alpha: float) -> float",
    "climate.dew_point": "(air_temp: float, humidity: float) -> float",
    "help.why": "(function: str, *arguments: object) -> str",
    "help.version": "() -> str",
}


@pytest.fixture(scope="module")
def revealed(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """What ``mypy --strict`` reveals of each function, without the names of modules, and of ``call`` last."""
    lines = [f"import growcells.families.{module}" for module in sorted({name.split(".")[0] for name in TYPES})]
    lines += [f"reveal_type(growcells.families.{name})" for name in TYPES]
    lines.append('reveal_type(growcells.call("GROW_DOSE", "34 gal", rate="1.8 g/gal"))')
    file = tmp_path_factory.mktemp("types") / "revealed.py"
    file.write_text("\n".join(lines), encoding="utf-8")
    command = [sys.executable, "-m", "mypy", "--strict", "--config-file", str(PROJECT / "pyproject.toml"), str(file)]
    told = subprocess.run(command, cwd=PROJECT, capture_output=True, text=True).stdout
    found = re.findall(r'Revealed type is "(.*)"', told)
    assert len(found) == len(TYPES) + 1, told
    return [re.sub(r"\b(?:[a-z_]+\.)+(?=\w)", "", kind.removeprefix("def ")) for kind in found]


@pytest.mark.parametrize(("place", "name"), [*enumerate(TYPES)], ids=TYPES)
def test_plain_types(revealed: list[str], place: int, name: str) -> None:
    assert revealed[place] == TYPES[name]


def test_a_call_gives_an_object(revealed: list[str]) -> None:
    assert revealed[-1] == "object"


def test_three_functions_of_each_family() -> None:
    families = {
        f"{f.calculation.__module__.split('.')[-1]}.{f.calculation.__name__}": f.family for f in functions().values()
    }
    chosen = Counter(families[name] for name in TYPES)
    there = Counter(families.values())
    assert all(chosen[family] >= min(3, count) for family, count in there.items())
