"""Air and light against FAO Irrigation and Drainage Paper 56 and psychrolib."""

from __future__ import annotations

import psychrolib
import pytest

import growcells
from growcells import CellError
from growcells.families.climate import saturation_pressure

# FAO-56 Annex 2, table of e°(T): 24.5 and 15 °C are Example 3's; the others from memory.
PRINTED = {15: 1.705, 24.5: 3.075, 1: 0.657, 10: 1.228, 18: 2.064, 20: 2.338, 25: 3.168, 30: 4.243, 40: 7.376}


@pytest.fixture(autouse=True)
def si_units() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.parametrize(("temperature", "pressure"), PRINTED.items())
def test_saturation_pressure_as_printed(temperature: float, pressure: float) -> None:
    assert saturation_pressure(temperature) == pytest.approx(pressure, abs=0.00051)


def test_fao_56_example_5() -> None:
    """Actual vapour pressure is saturation pressure less the deficit: 82 % at 18 °C, 54 % at 25 °C, mean 1.70 kPa."""
    cold = saturation_pressure(18) - growcells.call("GROW_VPD", 18, 82)
    warm = saturation_pressure(25) - growcells.call("GROW_VPD", 25, 54)
    assert (cold + warm) / 2 == pytest.approx(1.70, abs=0.005)  # the result from memory


@pytest.mark.parametrize("humidity", [0.05, 0.3, 0.54, 0.8, 0.99])
@pytest.mark.parametrize("temperature", [1, 5, 12, 18, 24.5, 30, 38, 45])
def test_deficit_and_dew_point_against_psychrolib(temperature: float, humidity: float) -> None:
    deficit = psychrolib.GetSatVapPres(temperature) * (1 - humidity) / 1000
    assert growcells.call("GROW_VPD", temperature, humidity) == pytest.approx(deficit, rel=0.01)
    dew = psychrolib.GetTDewPointFromRelHum(temperature, humidity)
    if dew > 0:  # below it psychrolib's is the frost point, over ice
        assert growcells.call("GROW_DEW_POINT", temperature, humidity) == pytest.approx(dew, abs=0.1)


@pytest.mark.parametrize("leaf", [18, 22, 27])
def test_leaf_temperature_against_psychrolib(leaf: float) -> None:
    deficit = (psychrolib.GetSatVapPres(leaf) - 0.6 * psychrolib.GetSatVapPres(25)) / 1000
    assert growcells.call("GROW_VPD", 25, 0.6, leaf) == pytest.approx(deficit, rel=0.01)


def test_a_leaf_at_the_dew_point_has_no_deficit_and_a_colder_one_a_negative() -> None:
    dew = growcells.call("GROW_DEW_POINT", 25, 60)
    assert growcells.call("GROW_VPD", 25, 60, dew) == pytest.approx(0, abs=1e-12)
    assert growcells.call("GROW_VPD", 25, 60, dew - 2) < 0


@pytest.mark.parametrize("humidity", [65, 0.65, "65 %", "65%", "0.65"])
def test_humidity_as_people_write_it(humidity: object) -> None:
    assert growcells.call("GROW_VPD", 25, humidity) == pytest.approx(saturation_pressure(25) * 0.35)


def test_units() -> None:
    assert growcells.call("GROW_VPD", "77 °F", 50) == pytest.approx(growcells.call("GROW_VPD", 25, 50))
    assert growcells.call("GROW_VPD", 77, 50, None, "F", "Pa") == pytest.approx(
        growcells.call("GROW_VPD", 25, 50) * 1000
    )
    assert growcells.call("GROW_DEW_POINT", 77, 50, "F") == pytest.approx(
        growcells.call("GROW_DEW_POINT", 25, 50) * 1.8 + 32
    )
    assert growcells.call("GROW_DEW_POINT", 77, 50, "F", "°C") == pytest.approx(
        growcells.call("GROW_DEW_POINT", 25, 50)
    )


def test_humidities_at_their_ends() -> None:
    # 1 is the whole, 1.01 a percent; more than 100 percent cannot be.
    assert growcells.call("GROW_VPD", 25, 1) == pytest.approx(0)
    assert growcells.call("GROW_VPD", 25, 100) == pytest.approx(0)
    assert growcells.call("GROW_VPD", 25, 1.5) == pytest.approx(saturation_pressure(25) * 0.985)
    assert growcells.call("GROW_VPD", 25, "1 %") == pytest.approx(saturation_pressure(25) * 0.99)
    assert growcells.call("GROW_VPD", 25, "0.5 % ") == pytest.approx(saturation_pressure(25) * 0.995)
    assert growcells.call("GROW_VPD", 25, " 65 ") == pytest.approx(saturation_pressure(25) * 0.35)
    assert isinstance(growcells.functions()["GROW_VPD"].evaluate((25, 100.1)), CellError)
    assert (
        growcells.functions()["GROW_VPD"]
        .evaluate((25, "%"))
        .message.startswith('humidity is "%": give a number such as 65')
    )


def test_a_leaf_warmer_than_the_air() -> None:
    assert growcells.call("GROW_VPD", 20, 50, 25) == pytest.approx(
        saturation_pressure(25) - saturation_pressure(20) / 2
    )


def test_daily_light() -> None:
    assert growcells.call("GROW_DLI", 100, 10) == pytest.approx(3.6)
    assert growcells.call("GROW_DLI", 100, "30 min") == pytest.approx(0.18)


def test_dew_point_is_where_the_air_is_saturated() -> None:
    for temperature, humidity in ((30, 0.4), (-10, 0.8), (5, 1)):
        dew = growcells.call("GROW_DEW_POINT", temperature, humidity)
        assert saturation_pressure(dew) == pytest.approx(humidity * saturation_pressure(temperature))
