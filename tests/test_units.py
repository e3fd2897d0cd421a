"""Units and quantities as text, against NIST values and scipy.constants."""

from __future__ import annotations

import math

import pint
import pytest
import scipy.constants as si

import growcells
from growcells.cells import units
from growcells.cells.errors import GrowError
from growcells.cells.units import (
    LONGEST_LINE,
    conversion,
    dimension_name,
    parse_number,
    parse_unit,
    split_number,
    split_quantity,
)

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
    ("fl_oz_uk", "m3", si.fluid_ounce_imp),
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


PINTS_OWN = """
inch foot yard hectare liter gallon quart pint cup fluid_ounce tablespoon teaspoon imperial_gallon cubic_foot cubic_inch
pound ounce tonne grain minute hour day week watt joule watt_hour pascal bar millibar
"""


@pytest.mark.parametrize("unit", PINTS_OWN.split())
def test_units_are_those_that_pint_brings_along(unit: str) -> None:
    own = pint.Quantity(1.0, unit).to_base_units()
    assert conversion(unit, str(own.units)) == (pytest.approx(own.magnitude, rel=1e-12), 0)


@pytest.mark.parametrize(("celsius", "fahrenheit"), [(0, 32), (100, 212), (20, 68), (-40, -40)])
def test_temperature_scales(celsius: float, fahrenheit: float) -> None:
    assert si.convert_temperature(celsius, "C", "F") == pytest.approx(fahrenheit)
    assert growcells.call("GROW_CONVERT", celsius, "°C", "°F") == pytest.approx(fahrenheit)
    assert growcells.call("GROW_CONVERT", fahrenheit, "°F", "°C") == pytest.approx(celsius, abs=1e-9)


NUMBERS = [
    ("42", 42),
    (" 42 ", 42),
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
    ("42 in", 42),
    ("42in", 42),
    ("3 ft 6 in", 42),
    ("3'6\"", 42),
    ("3' 6\"", 42),
    ("3 ft", 36),
    ("3 1/2 in", 3.5),
    ("1.2 m", 1.2 / 0.0254),
    ("15.24 cm", 6),
    ("12.7 CM", 5),
    ('5"', 5),
]


@pytest.mark.parametrize(("text", "inches"), QUANTITIES)
def test_lengths_as_text(text: str, inches: float) -> None:
    assert split_quantity(text)
    expected = growcells.call("GROW_VOLUME_BOX", inches, 10, 10)
    assert growcells.call("GROW_VOLUME_BOX", text, 10, 10) == pytest.approx(expected)


@pytest.mark.parametrize("unit", ["foo", "in)", "[[", "", "gal gal gal(", "2 g", "'", "__import__('os')", "\x00"])
def test_no_unit(unit: str) -> None:
    with pytest.raises(GrowError):
        conversion(unit, "L")


def test_wrong_dimension_names_both() -> None:
    with pytest.raises(GrowError, match=r"volume.*length"):
        growcells.call("GROW_VOLUME_BOX", "5 gal", 1, 1)


@pytest.mark.parametrize(("unit", "short"), [("gal", "gal"), ("gallons", "gal"), ("g/gal", "g/gal"), ("degF", "degF")])
def test_short_forms(unit: str, short: str) -> None:
    assert units.short_unit(unit) == short


def test_conversions_are_kept() -> None:
    conversion.cache_clear()
    for _ in range(5):
        assert math.isclose(conversion("gal", "L")[0], 3.785411784)
    assert conversion.cache_info().misses == 1


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("3 ft 6 in", [(3, "ft"), (6, "in")]),
        ("3'6\"", [(3, "'"), (6, '"')]),
        ("3' 6 1/2\"", [(3, "'"), (6.5, '"')]),
        ("1e3 g", [(1000, "g")]),
        ("2 g/gal", [(2, "g/gal")]),
        ("-5 °C", [(-5, "°C")]),
        ("+5", [(5, "")]),
        ("5", [(5, "")]),
        ("3 lb 4 oz 2 grain", [(3, "lb"), (4, "oz"), (2, "grain")]),
        ("1,234.5 gal", [(1234.5, "gal")]),
        (" 12 in ", [(12, "in")]),
    ],
)
def test_parts_of_a_quantity(text: str, parts: list[tuple[float, str]]) -> None:
    assert split_quantity(text) == parts


@pytest.mark.parametrize("text", ["in 5", "", "3 ft 1/0 in", "five gal", "1/0 gal"])
def test_no_quantity(text: str) -> None:
    assert split_quantity(text) is None


@pytest.mark.parametrize(
    ("text", "number", "rest"),
    [
        ("5", 5, ""),
        ("5 in", 5, "in"),
        ("-.5e2x", -50, "x"),
        ("1 1/2 cup", 1.5, "cup"),
        ("2-1/4", 2.25, ""),
        ("⅝ in", 0.625, "in"),
    ],
)
def test_a_number_and_what_follows(text: str, number: float, rest: str) -> None:
    assert split_number(text) == (number, rest)
    assert parse_number(text) == (number if not rest else None)


def test_fractions_are_spelled_out_and_no_other_sign_is_changed() -> None:
    assert parse_number("3½") == 3.5
    assert split_number("3½ °C") == (3.5, "°C")
    assert split_number("5 µS") == (5, "µS")


@pytest.mark.parametrize(
    ("text", "meanings"), [("1,5", "1.5 or 15"), ("-1,234", "-1.234 or -1234"), ("12,34 gal", "12.34 or 1234")]
)
def test_both_meanings_of_a_comma_are_told(text: str, meanings: str) -> None:
    with pytest.raises(GrowError) as problem:
        split_number(text)
    assert str(problem.value) == (
        f'"{text}" may mean {meanings}: write the number with a point for decimals and no comma'
    )


def test_a_comma_behind_a_number_and_no_figure_is_no_number() -> None:
    assert split_number("5, or so") == (5, ", or so")


@pytest.mark.parametrize(
    ("spelled", "unit"),
    [
        ('"', "in"),
        ("''", "in"),
        ("′", "ft"),
        ("fl oz", "fl_oz"),
        ("US gal", "gal"),
        ("gal UK", "gal_uk"),
        ("GAL", "gal"),
        ("in.", "in"),
        ("° C", "degC"),
        ("g per gal", "g/gal"),
        ("gal.", "gal"),
        ("cm²", "cm**2"),
        ("m³", "m**3"),
        ("g·cm", "g*cm"),
        (" mS  /  cm ", "mS/cm"),
        ("%", "percent"),
        ("cm^2", "cm**2"),
    ],
)
def test_spellings_of_units(spelled: str, unit: str) -> None:
    assert parse_unit(spelled) == parse_unit(unit)


@pytest.mark.parametrize(
    "unit", ["m**10", "m**9**9", "m^9^9^9", "(m**9)**9", "m**999", "km**1e9", "km¹²", "m**9⁹", "m⁹**9"]
)
def test_no_unit_has_such_a_power(unit: str) -> None:
    with pytest.raises(GrowError, match="is no unit known here: use one such as in, cm, gal"):
        parse_unit(unit)


def test_powers_that_units_have() -> None:
    assert conversion("km**9", "m**9") == (1e27, 0)
    assert conversion("m**-9", "km**-9") == (pytest.approx(1e27), 0)


@pytest.mark.parametrize(
    ("unit", "measures"),
    [
        ("gal", "volume"),
        ("cm", "length"),
        ("acre", "area"),
        ("oz", "mass"),
        ("g/gal", "mass per volume"),
        ("ppm", "mass per volume"),
        ("degF", "temperature"),
        ("mS/cm", "conductivity"),
        ("mS", "conductance"),
        ("week", "time"),
        ("mmol", "amount of substance"),
        ("mmol/L", "amount per volume"),
        ("kW", "power"),
        ("kWh", "energy"),
        ("kPa", "pressure"),
        ("%", "a plain number"),
        ("m/s", "something else"),
    ],
)
def test_what_units_measure(unit: str, measures: str) -> None:
    assert dimension_name(unit) == measures


def test_both_units_are_named_where_they_do_not_go_together() -> None:
    with pytest.raises(GrowError) as problem:
        conversion("gal", "cm")
    assert str(problem.value) == (
        '"gal" measures volume and "cm" measures length: neither can be turned into the other'
    )


def test_offsets_of_temperature() -> None:
    assert conversion("degF", "degC") == (pytest.approx(5 / 9, rel=1e-15), pytest.approx(-160 / 9, rel=1e-15))
    assert conversion("degC", "degF") == (1.8, 32)
    assert conversion("K", "degC") == (1, -273.15)
    assert 32 * conversion("degF", "degC")[0] + conversion("degF", "degC")[1] == 0


def test_units_whose_factor_is_no_number() -> None:
    with pytest.raises(GrowError, match=r'^"km\*\*9\*kg\*\*9\*kW\*\*9" cannot be turned into ".*": use simpler units$'):
        conversion("km**9*kg**9*kW**9", "nm**9*ng**9*nW**9")


def test_texts_longer_than_a_line_are_no_quantity_and_no_unit() -> None:
    line = "1 " * (LONGEST_LINE // 2 + 1)
    assert split_number(line) is None and split_quantity(line) is None
    with pytest.raises(GrowError, match=r"^a text of 256 characters is no unit: use one such as in, cm"):
        parse_unit(line)


def test_pint_forgets_texts_once_they_are_many(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(units, "MOST_TEXTS", 0)
    remembered = units.unit_registry()._cache
    units.unit_registry().parse_units("gallon / hour")
    assert remembered.parse_unit
    units._forget_texts()
    assert not remembered.parse_unit and not remembered.root_units
