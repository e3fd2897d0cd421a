"""Units and quantities as text, against NIST values and scipy.constants."""

from __future__ import annotations

import math

import pytest
import scipy.constants as si

import growcells
from growcells.errors import GrowError
from growcells.units import conversion, parse_number, split_quantity

# NIST SP 811 (2008) Appendix B and NIST Handbook 44 Appendix C; scipy.constants carries the same figures.
FACTORS = [
    ("in", "cm", 2.54),
    ("in", "m", si.inch),
    ("ft", "in", 12.0),
    ("yd", "m", si.yard),
    ("gal", "in3", 231.0),
    ("gal", "L", 3.785411784),
    ("gal", "m3", si.gallon),
    ("gal_uk", "L", 4.54609),
    ("gal_uk", "m3", si.gallon_imp),
    ("fl_oz", "m3", si.fluid_ounce),
    ("qt", "fl_oz", 32.0),
    ("cup", "fl_oz", 8.0),
    ("tbsp", "tsp", 3.0),
    ("lb", "g", 453.59237),
    ("lb", "kg", si.pound),
    ("oz", "g", 28.349523125),
    ("oz", "kg", si.oz),
    ("grain", "kg", si.grain),
    ("ft3", "gal", 1728 / 231),
    ("ppm", "mg/L", 1.0),
    ("bar", "Pa", si.bar),
    ("week", "h", 168.0),
    ("acre", "m**2", si.acre),
]


@pytest.mark.parametrize(("unit", "to", "factor"), FACTORS)
def test_factors_are_nist(unit: str, to: str, factor: float) -> None:
    slope, offset = conversion(unit, to)
    assert slope == pytest.approx(factor, rel=1e-12)
    assert offset == 0


@pytest.mark.parametrize(("celsius", "fahrenheit"), [(0, 32), (100, 212), (20, 68), (-40, -40)])
def test_temperature_scales(celsius: float, fahrenheit: float) -> None:
    assert si.convert_temperature(celsius, "C", "F") == pytest.approx(fahrenheit)
    assert growcells.GROW_CONVERT(celsius, "°C", "°F") == pytest.approx(fahrenheit)
    assert growcells.GROW_CONVERT(fahrenheit, "°F", "°C") == pytest.approx(celsius, abs=1e-9)


NUMBERS = [
    ("45", 45),
    (" 45 ", 45),
    ("1,234.5", 1234.5),
    ("1,234,567", 1234567),
    ("3 1/2", 3.5),
    ("3-1/2", 3.5),
    ("3½", 3.5),
    ("¾", 0.75),
    ("1/8", 0.125),
    ("-5", -5),
    ("−5", -5),
    (".5", 0.5),
    ("1e-3", 0.001),
]


@pytest.mark.parametrize(("text", "number"), NUMBERS)
def test_numbers_as_text(text: str, number: float) -> None:
    assert parse_number(text) == pytest.approx(number)


@pytest.mark.parametrize("text", ["five", "", "10.5.3", "1 2", "1/0", "2 gal", "--3"])
def test_no_number(text: str) -> None:
    assert parse_number(text) is None


@pytest.mark.parametrize("text", ["1,5", "1,234", "12,34"])
def test_a_doubtful_comma_is_refused(text: str) -> None:
    with pytest.raises(GrowError, match="may mean"):
        parse_number(text)


QUANTITIES = [
    ("45 in", 45),
    ("45in", 45),
    ("3 ft 9 in", 45),
    ("3'9\"", 45),
    ("3' 9\"", 45),
    ("3 ft", 36),
    ("3 1/2 in", 3.5),
    ("1.2 m", 1.2 / 0.0254),
    ("12.7 cm", 5),
    ("12.7 CM", 5),
    ('5"', 5),
]


@pytest.mark.parametrize(("text", "inches"), QUANTITIES)
def test_lengths_as_text(text: str, inches: float) -> None:
    assert split_quantity(text)
    expected = growcells.GROW_VOLUME_BOX(inches, 10, 10)
    assert growcells.GROW_VOLUME_BOX(text, 10, 10) == pytest.approx(expected)


@pytest.mark.parametrize("unit", ["foo", "in)", "[[", "", "gal gal gal(", "2 g", "'", "__import__('os')", "\x00"])
def test_no_unit(unit: str) -> None:
    with pytest.raises(GrowError):
        conversion(unit, "L")


def test_wrong_dimension_names_both() -> None:
    with pytest.raises(GrowError, match=r"volume.*length"):
        growcells.GROW_VOLUME_BOX("5 gal", 1, 1)


def test_conversions_are_kept() -> None:
    conversion.cache_clear()
    for _ in range(5):
        assert math.isclose(conversion("gal", "L")[0], 3.785411784)
    assert conversion.cache_info().misses == 1
