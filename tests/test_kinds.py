"""How each kind of value is read from a cell."""

from __future__ import annotations

import datetime
import math

import pytest

from growcells import CellError, GrowError
from growcells.cells.arguments import Argument
from growcells.cells.errors import Missing, OutOfRange, PassedOn
from growcells.cells.kinds import (
    ANYTHING,
    CONDUCTIVITY,
    COUNT,
    DATE,
    FRACTION,
    LENGTH,
    MONEY,
    NUMBER,
    STRENGTH,
    TEMPERATURE,
    TEXT,
    UNIT,
    VOLUME,
    Choice,
    Kind,
    MeasuredStrength,
    is_blank,
    is_range,
    shown,
)
from growcells.cells.ranges import Column, column_cells


def asked(kind: Kind, **changes: object) -> Argument:
    """An argument of a kind."""
    return Argument("it", kind, "a value", **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize("cell", [None, "", " ", "\t\n"])
def test_blank(cell: object) -> None:
    assert is_blank(cell)
    assert shown(cell) == "blank"


@pytest.mark.parametrize("cell", [0, 0.0, False, "0", (), CellError("#N/A")])
def test_not_blank(cell: object) -> None:
    assert not is_blank(cell)


def test_ranges_are_lists_and_tuples() -> None:
    assert is_range([]) and is_range(((1,),))
    assert not is_range("text") and not is_range(5)


def test_cells_as_sentences_quote_them() -> None:
    assert [
        shown(cell) for cell in (2e9, 2e12, 1234567.8, 999999.0, -1e6, 0.1, 5, "a", True, datetime.date(2026, 1, 2))
    ] == [
        "2,000,000,000",
        "2e+12",
        "1.23457e+06",
        "999999",
        "-1,000,000",
        "0.1",
        "5",
        '"a"',
        "True",
        "2026-01-02",
    ]


# Quantities, in the units of calculations: dm, L, °C, mS/cm.


@pytest.mark.parametrize(
    ("kind", "cell", "unit", "value"),
    [
        (LENGTH, 10, None, 2.54),
        (LENGTH, "10", None, 2.54),
        (LENGTH, 10, "cm", 1.0),
        (LENGTH, "10", "cm", 1.0),
        (LENGTH, "10 in", "cm", 2.54),
        (LENGTH, "1 ft 6 in", None, 18 * 0.254),
        (LENGTH, "-1 ft 6 in", None, -18 * 0.254),
        (LENGTH, "1 m 5 cm", "in", 10.5),
        (VOLUME, 1, " gal ", 3.785411784),
        (TEMPERATURE, 20, None, 20.0),
        (TEMPERATURE, 68, "F", 20.0),
        (TEMPERATURE, "68 F", None, 20.0),
        (TEMPERATURE, "68 deg F", "C", 20.0),
        (TEMPERATURE, "20 c", "F", 20.0),
        (TEMPERATURE, "-40 f", None, -40.0),
        (CONDUCTIVITY, "1.8 mS", None, 1.8),
        (CONDUCTIVITY, "1800 uS", None, 1.8),
        (CONDUCTIVITY, 1800, "µS", 1.8),
        (CONDUCTIVITY, "1800 μS", None, 1.8),
        (CONDUCTIVITY, "0.18 S/m", None, 1.8),
    ],
)
def test_quantities(kind: Kind, cell: object, unit: str | None, value: float) -> None:
    assert kind.read(cell, asked(kind), unit) == pytest.approx(value)


@pytest.mark.parametrize(
    ("kind", "cell", "sentence"),
    [
        (LENGTH, "1 ft 6", 'it is "1 ft 6": give one number and one unit such as "42 in"'),
        (LENGTH, "tall", 'it is "tall": give a number of inches or a text such as "42 in"'),
        (TEMPERATURE, "5 °C 3 °C", 'it is "5 °C 3 °C": give one number and one unit such as "21 °C"'),
        (LENGTH, "5 L", 'it is "5 L", which measures volume: give a length such as "42 in"'),
        (LENGTH, (), 'it is (): give a number such as 42 or a text such as "42 in"'),
    ],
)
def test_no_quantity(kind: Kind, cell: object, sentence: str) -> None:
    with pytest.raises(GrowError) as problem:
        kind.read(cell, asked(kind))
    assert str(problem.value) == sentence


def test_the_unit_beside_is_named_where_a_text_is_no_number() -> None:
    with pytest.raises(GrowError, match=r"^it is \"tall\": give a number of cm or a text"):
        LENGTH.read("tall", asked(LENGTH), "cm")


def test_units_of_a_kind() -> None:
    TEMPERATURE.check_unit("F", "temp_unit")
    TEMPERATURE.check_unit(" C ", "temp_unit")
    with pytest.raises(
        GrowError, match=r'^temp_unit is "gal", which measures volume: give a unit of temperature such as °C$'
    ):
        TEMPERATURE.check_unit("gal", "temp_unit")


# Other kinds.


def test_numbers() -> None:
    assert NUMBER.read("1,234.5", asked(NUMBER)) == 1234.5
    assert NUMBER.read(5, asked(NUMBER)) == 5.0 and type(NUMBER.read(5, asked(NUMBER))) is float
    for cell in ("x", True, datetime.date(2026, 1, 1), b"5"):
        with pytest.raises(GrowError, match=r"give a number such as 5$"):
            NUMBER.read(cell, asked(NUMBER))


@pytest.mark.parametrize("cell", [math.inf, -math.inf, math.nan, "1e999"])
def test_numbers_that_cannot_be_measured(cell: object) -> None:
    for kind in (NUMBER, STRENGTH, LENGTH):
        with pytest.raises(OutOfRange, match=r"give a number that can be measured$"):
            kind.read(cell, asked(kind))


@pytest.mark.parametrize(
    ("cell", "share"),
    [(0.85, 0.85), ("85 %", 0.85), ("85%", 0.85), ("0.85", 0.85), (1, 1.0), ("100 % ", 1.0), ("½%", 0.005)],
)
def test_fractions(cell: object, share: float) -> None:
    assert FRACTION.read(cell, asked(FRACTION)) == pytest.approx(share)


@pytest.mark.parametrize("cell", [1.0001, 85, "100.1 %", "1e999 %"])
def test_no_fraction_is_more_than_the_whole(cell: object) -> None:
    with pytest.raises(OutOfRange, match=r'give a fraction such as 0.85 or a text such as "85 %"$'):
        FRACTION.read(cell, asked(FRACTION))


def test_counts_are_whole() -> None:
    assert COUNT.read("12", asked(COUNT)) == 12
    with pytest.raises(GrowError, match=r"^it is 1.5: give a whole number such as 12$"):
        COUNT.read(1.5, asked(COUNT))
    with pytest.raises(GrowError, match=r'^it is "a": give a number such as 12$'):
        COUNT.read("a", asked(COUNT))


def test_money() -> None:
    assert [MONEY.read(cell, asked(MONEY)) for cell in ("$31.50", "31.5 €", 31.5)] == [31.5] * 3
    with pytest.raises(GrowError, match=r'^it is "X5": '):
        MONEY.read("X5", asked(MONEY))
    with pytest.raises(GrowError, match=r'^it is "free": give a number such as 31.5$'):
        MONEY.read("free", asked(MONEY))


def test_strengths_know_what_they_measure() -> None:
    argument = asked(STRENGTH)
    plain = [STRENGTH.read(cell, argument) for cell in (1.8, "1.8")]
    assert plain == [1.8, 1.8] and not any(isinstance(strength, MeasuredStrength) for strength in plain)
    conductivity, concentration = STRENGTH.read("1800 uS/cm", argument), STRENGTH.read("0.9 g/L", argument)
    assert isinstance(conductivity, MeasuredStrength) and isinstance(concentration, MeasuredStrength)
    assert (conductivity, conductivity.measures) == (pytest.approx(1.8), "conductivity")
    assert (concentration, concentration.measures) == (pytest.approx(900), "mass per volume")
    with pytest.raises(GrowError, match=r"^it is True: give a number such as 1.8$"):
        STRENGTH.read(True, argument)


def test_numbers_that_no_float_holds() -> None:
    with pytest.raises(OutOfRange, match=r"^it is too large: give a number that can be measured$"):
        NUMBER.read(10**400, asked(NUMBER))


def test_errors_in_cells_are_passed_on() -> None:
    with pytest.raises(PassedOn, match=r"^it is an error already \(#REF!\): mend that cell first$") as problem:
        asked(NUMBER).read(CellError("#REF!"))
    assert problem.value.code == "#REF!"


def test_texts() -> None:
    assert [TEXT.read(cell, asked(TEXT)) for cell in (" A ", 1.0, 1.5, 7, True)] == ["A", "1", "1.5", "7", "True"]
    assert UNIT.read(" gal ", asked(UNIT)) == "gal"
    shape = Choice("shape", ("box", "round"))
    assert shape.read(" BOX ", asked(shape)) == "box"


def test_dates() -> None:
    argument = asked(DATE)
    day = datetime.date(2026, 11, 16)
    noon = datetime.datetime(2026, 11, 16, 12, tzinfo=datetime.UTC)
    assert [DATE.read(cell, argument) for cell in (day, "2026-11-16", " 2026-11-16 ", 46342, noon)] == [
        46342,
        46342,
        46342,
        46342,
        46342.5,
    ]
    assert DATE.read(datetime.date(1900, 3, 1), argument) == 61  # ISO/IEC 29500-1, 18.17.4.1
    assert DATE.read(0.5, argument) == 0.5
    assert DATE.read(2958465.99, argument) == 2958465.99  # the last minutes of 9999
    for serial in (-1, 2958466, 0):
        with pytest.raises(OutOfRange, match=r"give a date, which is a number from 1 to 2,958,465$"):
            DATE.read(serial, argument)
    with pytest.raises(GrowError, match=r"^it is True: give a number such as 46351, or a date$"):
        DATE.read(True, argument)


def test_anything_is_handed_on() -> None:
    cells = ((1, "x"), (None, CellError("#N/A")))
    assert asked(ANYTHING).read(cells) is cells
    assert asked(ANYTHING).read(0) == 0
    assert asked(ANYTHING, required=False).read(None) is None


def test_a_kind_without_a_reading_of_its_own() -> None:
    with pytest.raises(GrowError, match=r"^it cannot be read as mystery$"):
        Kind("mystery").read(1, asked(NUMBER))


# Columns.


def test_cells_of_a_column() -> None:
    argument = asked(Column("numbers", NUMBER))
    assert column_cells(((1,), (None,), (" ",), (2,)), argument) == [1, None, None, 2]
    assert column_cells(((1, 2, 3),), argument) == [1, 2, 3]
    assert column_cells([1, 2], argument) == [1, 2]
    assert column_cells(7, argument) == [7]
    with pytest.raises(GrowError, match=r"^it has 2 rows and 2 columns: give a single column$"):
        column_cells(((1, 2), (3, 4)), argument)
    with pytest.raises(PassedOn, match=r"^it is an error already \(#REF!\): mend that cell first$"):
        column_cells(((1,), (CellError("#REF!"),)), argument)


def test_rows_of_a_column_are_told_by_number() -> None:
    argument = asked(Column("numbers", NUMBER))
    assert argument.read(((1,), ("",), (3,))) == [1, None, 3]
    with pytest.raises(Missing, match=r"^row 3 of it is zero or blank: give a value$"):
        argument.read(((1,), (None,), (0,)))
    with pytest.raises(OutOfRange, match=r"^row 2 of it is -2, below zero: give a value$"):
        argument.read(((1,), (-2,)))


def test_headings_of_columns() -> None:
    numbers, texts = Column("numbers", NUMBER), Column("names", TEXT)
    assert numbers.is_heading("mass", asked(numbers)) is True
    assert numbers.is_heading(5, asked(numbers)) is False
    assert numbers.is_heading("5 kg", asked(numbers)) is False
    assert numbers.is_heading("½", asked(numbers)) is False
    assert texts.is_heading("name", asked(texts)) is None
    units = Column("units", UNIT)
    assert units.is_heading("gal", asked(units)) is False


# Arguments.


def test_what_is_left_out() -> None:
    assert asked(NUMBER, required=False, default=7.0).read(None) == 7.0
    assert asked(NUMBER, required=False, default=7.0).read(" ") == 7.0
    # LibreOffice hands a blank cell over as 0.0: where no number can be meant it is a blank.
    assert asked(TEXT, required=False, default="x").read(0.0) == "x"
    for kind, cell in ((TEXT, 0.0), (TEXT, None), (NUMBER, None)):
        with pytest.raises(Missing, match=r"^it is blank: give a value$"):
            asked(kind).read(cell)
    assert asked(TEXT).read(False) == "False"


def test_zeros() -> None:
    for zero in (0, 0.0, -0.0):
        with pytest.raises(Missing, match=r"^it is zero or blank: give a value$"):
            asked(NUMBER).read(zero)
        assert asked(NUMBER, zero=True).read(zero) == 0
    with pytest.raises(Missing, match=r'^it is zero or blank: give a value, or type "0 L" as text if you mean zero$'):
        asked(VOLUME, rare_zero="0 L").read(0)
    assert asked(VOLUME, rare_zero="0 L").read("0 L") == 0
    assert asked(NUMBER, negative=True).read("0") == 0
    with pytest.raises(OutOfRange, match=r'^it is "0": give a value, above zero$'):
        asked(NUMBER).read("0")


@pytest.mark.parametrize(
    ("limits", "cell", "said"),
    [
        ({"low": 1}, 0.9, "at least 1"),
        ({"high": 14}, 15, "at most 14"),
        ({"low": 1, "high": 14}, 15, "from 1 to 14"),
        ({"low": 1, "high": 14}, 0.9, "from 1 to 14"),
    ],
)
def test_limits(limits: dict[str, float], cell: float, said: str) -> None:
    with pytest.raises(OutOfRange) as problem:
        asked(NUMBER, **limits).read(cell)
    assert str(problem.value) == f"it is {cell:g}: give a value, {said}"
    for end in limits.values():
        assert asked(NUMBER, **limits).read(end) == end


def test_limits_of_quantities_are_in_the_unit_of_calculations() -> None:
    argument = asked(TEMPERATURE, negative=True, low=0, high=50)
    assert argument.read("32 F") == pytest.approx(0)
    assert argument.read(122, "F") == pytest.approx(50)
    assert asked(TEMPERATURE, negative=True, low=-40, high=60).read("-40 F") == pytest.approx(-40)
    with pytest.raises(OutOfRange, match=r"^it is 123: give a value, from 0 to 50 °C$"):
        argument.read(123, "F")


def test_arguments_know_whether_a_range_is_one_value() -> None:
    assert asked(Column("numbers", NUMBER)).whole and asked(ANYTHING).whole
    assert not asked(NUMBER).whole
    assert asked(Column("numbers", NUMBER)).kind.takes_range(((1,),))
    assert not NUMBER.takes_range(((1,),))
