"""Every sentence by which a cell says what is wrong, as the grower reads it.

Each is said by GROW_WHY too. A sentence tells what was given, what was expected, and where it helps an example.
"""

from __future__ import annotations

import datetime

import pytest

from growcells import CellError, functions
from growcells.errors import ERROR_CODES


def rows(*cells: object) -> tuple[tuple[object], ...]:
    return tuple((cell,) for cell in cells)


# Function, arguments, error code, sentence.
SENTENCES: list[tuple[str, tuple[object, ...], str, str]] = [
    # declaring, calling, kinds
    (
        "GROW_DOSE",
        (28,),
        "#VALUE!",
        "GROW_DOSE lacks rate: type GROW_DOSE(volume, rate, [volume_unit], [rate_unit], [mass_unit])",
    ),
    (
        "GROW_DOSE",
        (28, 2, "gal", "g/gal", "g", 1),
        "#VALUE!",
        ("GROW_DOSE was given 6 values and takes 5: GROW_DOSE(volume, rate, [volume_unit], [rate_unit], [mass_unit])"),
    ),
    ("GROW_DOSE", (None, 2), "#VALUE!", "volume is blank: give the volume of water in the tank"),
    ("GROW_DOSE", (28, 0), "#VALUE!", "rate is zero or blank: give the rate of the feed, such as grams a gallon"),
    (
        "GROW_DOSE",
        (28, "0 g/gal"),
        "#NUM!",
        'rate is "0 g/gal": give the rate of the feed, such as grams a gallon, above zero',
    ),
    ("GROW_DOSE", (28, -2), "#NUM!", "rate is -2, below zero: give the rate of the feed, such as grams a gallon"),
    ("GROW_DOSE", (28, "two"), "#VALUE!", 'rate is "two": give a number of grams a gallon or a text such as "2 g/gal"'),
    ("GROW_DOSE", ("28 in", 2), "#VALUE!", 'volume is "28 in", which measures length: give a volume such as "28 gal"'),
    (
        "GROW_DOSE",
        ("28 foos", 2),
        "#VALUE!",
        (
            'volume is "28 foos": "foos" is no unit known here: use one such as in, cm, gal, L, g, oz, lb, '
            "g/gal, ppm or °F"
        ),
    ),
    (
        "GROW_DOSE",
        (28, 2, "in"),
        "#VALUE!",
        'volume_unit is "in", which measures length: give a unit of volume such as gal',
    ),
    (
        "GROW_DOSE",
        (28, 2, "foos"),
        "#VALUE!",
        '"foos" is no unit known here: use one such as in, cm, gal, L, g, oz, lb, g/gal, ppm or °F',
    ),
    ("GROW_DOSE", (28, 2, 3.5), "#VALUE!", 'volume_unit is 3.5: give a unit as text, such as "gal" or "L"'),
    (
        "GROW_DOSE",
        (28, 2, None, None, "L"),
        "#VALUE!",
        'mass_unit is "L", which measures volume: give a unit of mass such as g',
    ),
    ("GROW_DOSE", (28, True), "#VALUE!", 'rate is True: give a number such as 2 or a text such as "2 g/gal"'),
    (
        "GROW_DOSE",
        (28, datetime.date(2026, 11, 16)),
        "#VALUE!",
        'rate is 2026-11-16: give a number such as 2 or a text such as "2 g/gal"',
    ),
    ("GROW_DOSE", (28, float("inf")), "#NUM!", "rate is inf: give a number that can be measured"),
    ("GROW_DOSE", (28, "1e999 g/gal"), "#NUM!", "rate is inf: give a number that can be measured"),
    ("GROW_DOSE", (10**400, 2), "#NUM!", "volume is too large: give a number that can be measured"),
    (
        "GROW_DOSE",
        (1e300, 1e300),
        "#NUM!",
        "GROW_DOSE gives no finite number with these values: look for one far too large or small",
    ),
    (
        "GROW_DOSE",
        (28, 2, "L", "g/L", "0 g"),
        "#VALUE!",
        '"0 g" is no unit known here: use one such as in, cm, gal, L, g, oz, lb, g/gal, ppm or °F',
    ),
    ("GROW_DOSE", (28, CellError("#REF!")), "#REF!", "rate is an error already (#REF!): mend that cell first"),
    ("GROW_DOSE", (28, CellError("#REF!", "told before")), "#REF!", "told before"),
    (
        "GROW_DOSE",
        ("1,5", 2),
        "#VALUE!",
        '"1,5" may mean 1.5 or 15: write the number with a point for decimals and no comma',
    ),
    (
        "GROW_DOSE",
        ("12,345 gal", 2),
        "#VALUE!",
        '"12,345 gal" may mean 12.345 or 12345: write the number with a point for decimals and no comma',
    ),
    ("GROW_DOSE", ("3 gal 5", 2), "#VALUE!", 'volume is "3 gal 5": give one number and one unit such as "28 gal"'),
    ("GROW_DOSE", ((), 2), "#VALUE!", "a range is empty or ragged: give a rectangle of cells"),
    ("GROW_DOSE", (((1, 2), (3,)), 2), "#VALUE!", "a range is empty or ragged: give a rectangle of cells"),
    (
        "GROW_DOSE",
        (rows(1, 2), rows(1, 2, 3)),
        "#VALUE!",
        "volume has 2 rows and 1 columns, rate 3 and 1: give ranges of one shape",
    ),
    (
        "GROW_MIX_TEMP",
        (10, "5 °C 3 °C", 10, 20),
        "#VALUE!",
        'temp1 is "5 °C 3 °C": give one number and one unit such as "21 °C"',
    ),
    (
        "GROW_MIX_TEMP",
        (10, 0, 10, 20),
        "#VALUE!",
        'temp1 is zero or blank: give its temperature, or the text "0 °C" where that is meant',
    ),
    ("GROW_MIX_TEMP", (10, 101, 10, 20), "#NUM!", "temp1 is 101: give its temperature, from 0 to 100 °C"),
    ("GROW_MIX_TEMP", (10, 20, 10, "-1 °C"), "#NUM!", 'temp2 is "-1 °C": give its temperature, from 0 to 100 °C'),
    (
        "GROW_HEAT_TIME",
        (28, 20, 15, 300),
        "#NUM!",
        "to is colder than from: a heater only warms; give the higher temperature as to",
    ),
    (
        "GROW_CONVERT",
        (1, "gal", "in"),
        "#VALUE!",
        '"gal" measures volume and "in" measures length: neither can be turned into the other',
    ),
    ("GROW_CONVERT", (1, "gal", 5), "#VALUE!", 'to_unit is 5: give a unit as text, such as "gal" or "L"'),
    (
        "GROW_CONVERT",
        (1, "km**9**9", "nm**9**9"),
        "#VALUE!",
        '"km**9**9" is no unit known here: use one such as in, cm, gal, L, g, oz, lb, g/gal, ppm or °F',
    ),
    (
        "GROW_CONVERT",
        (1, "km**10", "nm**10"),
        "#VALUE!",
        '"km**10" is no unit known here: use one such as in, cm, gal, L, g, oz, lb, g/gal, ppm or °F',
    ),
    (
        "GROW_CONVERT",
        (1, "km**999", "nm**999"),
        "#VALUE!",
        '"km**999" is no unit known here: use one such as in, cm, gal, L, g, oz, lb, g/gal, ppm or °F',
    ),
    (
        "GROW_CONVERT",
        (1, "km**9*kg**9*kW**9", "nm**9*ng**9*nW**9"),
        "#VALUE!",
        '"km**9*kg**9*kW**9" cannot be turned into "nm**9*ng**9*nW**9": use simpler units',
    ),
    (
        "GROW_CONVERT",
        (1, "foos", "gal"),
        "#VALUE!",
        '"foos" is no unit known here: use one such as in, cm, gal, L, g, oz, lb, g/gal, ppm or °F',
    ),
    ("GROW_CONVERT", ("1 gal", "gal", "L"), "#VALUE!", 'value is "1 gal": give a number such as 5'),
    (
        "GROW_CONVERT",
        (1e308, "km", "nm"),
        "#NUM!",
        "GROW_CONVERT gives no finite number with these values: look for one far too large or small",
    ),
    (
        "GROW_CONVERT",
        (1, "m/s", "gal"),
        "#VALUE!",
        '"m/s" measures something else and "gal" measures volume: neither can be turned into the other',
    ),
    (
        "GROW_CONVERT",
        (1, "gal", "uS"),
        "#VALUE!",
        '"gal" measures volume and "uS" measures conductance: neither can be turned into the other',
    ),
    ("GROW_VOLUME_OVAL", (20, 30, 5), "#NUM!", "length is less than width: give the longer side as length"),
    (
        "GROW_VOLUME_PIPE",
        (4, 120, 5),
        "#NUM!",
        "water_depth is more than diameter: water cannot stand deeper than the pipe is wide",
    ),
    ("GROW_DEPTH_FOR", (10, "cone", 5), "#N/A", 'shape is "cone": give one of box, round, oval, taper, bucket, pipe'),
    ("GROW_DEPTH_FOR", (10, 5, 5), "#N/A", "shape is 5: give one of box, round, oval, taper, bucket, pipe"),
    (
        "GROW_DEPTH_FOR",
        (10, "taper", 5, 4),
        "#VALUE!",
        "a taper takes 4 sizes (top_length, top_width, base_length, base_width) and 2 were given",
    ),
    (
        "GROW_DEPTH_FOR",
        ("100 L", "pipe", "1 dm", "10 dm"),
        "#NUM!",
        "volume is more than the full pipe of 7.85398 L: give less, or a longer or wider pipe",
    ),
    (
        "GROW_WEIGH",
        (0.4, 1),
        "#NUM!",
        "mass is less than half a scale step: weigh a larger batch, dissolve it and use a part of it",
    ),
    (
        "GROW_TOPUP",
        (28, 30, 1, 1.6, 1.25),
        "#NUM!",
        "volume_now is more than full_volume: give the volume of the full tank first",
    ),
    (
        "GROW_TOPUP",
        (20, 10, 2, 1.6, 1.25, 1.8),
        "#NUM!",
        (
            "the full tank would stand at 1.9, above the target of 1.6, with no feed added: add none, and "
            "use GROW_SWAP for the solution to replace"
        ),
    ),
    (
        "GROW_TOPUP",
        (28, "0 gal", "strong", 1.6, 1.25),
        "#VALUE!",
        'strength_now is "strong": give a number or a text such as "1.8 mS/cm" or "900 ppm"',
    ),
    (
        "GROW_DILUTE",
        (20, 1, 2),
        "#NUM!",
        "strength_target is above strength_now: water only weakens; use GROW_TOPUP to add feed",
    ),
    (
        "GROW_DILUTE",
        (20, 2, 1, 1),
        "#NUM!",
        "strength_target is not above water_strength: this water cannot bring the tank so low",
    ),
    (
        "GROW_SWAP",
        (20, 1, 2),
        "#NUM!",
        "strength_target is above strength_now: water only weakens; use GROW_TOPUP to add feed",
    ),
    (
        "GROW_SWAP",
        (20, 2, 1, 1.5),
        "#NUM!",
        "strength_target is not above water_strength: this water cannot bring the tank so low",
    ),
    (
        "GROW_SWAP",
        (20, "2 mS/cm", "900 ppm"),
        "#VALUE!",
        "the strengths are given as conductivity and mass per volume: give all in one unit",
    ),
    ("GROW_BATCH_MIN", (2, 1, 5), "#NUM!", 'tolerance is 5: give a fraction such as 0.85 or a text such as "85 %"'),
    (
        "GROW_BATCH_MIN",
        (2, 1, "x %"),
        "#VALUE!",
        'tolerance is "x %": give a number such as 0.85 or a text such as "85 %"',
    ),
    ("GROW_COST", (56, "much", 10), "#VALUE!", 'price is "much": give a number such as 31.5'),
    (
        "GROW_COST",
        (56, 0, 10),
        "#VALUE!",
        'price is zero or blank: give the price of the package, or the text "0" where that is meant',
    ),
    ("GROW_COST_HEAD", (((None,), (None,)), 3), "#VALUE!", "costs are blank: give at least one cost"),
    ("GROW_COST_HEAD", (((1, 2), (3, 4)), 3), "#VALUE!", "costs has 2 rows and 2 columns: give a single column"),
    (
        "GROW_COST_HEAD",
        (((1,), (CellError("#N/A"),)), 3),
        "#N/A",
        "costs is an error already (#N/A): mend that cell first",
    ),
    (
        "GROW_REORDER",
        (2600, 650, 2, "16/11/2026"),
        "#VALUE!",
        'from_date is "16/11/2026": give a real date of the spreadsheet or a text such as "2026-11-25"',
    ),
    (
        "GROW_REORDER",
        (2600, 650, 2, 3e6),
        "#NUM!",
        "from_date is 3e+06: give a date, which is a number from 1 to 2958465",
    ),
    (
        "GROW_REORDER",
        (2600, 650, 2, "-1"),
        "#VALUE!",
        'from_date is "-1": give a real date of the spreadsheet or a text such as "2026-11-25"',
    ),
    (
        "GROW_WHY",
        ("GROW_NOTHING", 1),
        "#N/A",
        '"GROW_NOTHING" is no function of growcells: give a name such as "GROW_DOSE"',
    ),
    ("GROW_WHY", (None,), "#VALUE!", 'function is blank: give the name of the function, such as "GROW_DOSE"'),
    # seed growth climate
    ("GROW_SITES_FILLED", (85, 2), "#NUM!", 'germination is 85: give a fraction such as 0.85 or a text such as "85 %"'),
    ("GROW_SITES_FILLED", (0.85, 1.5), "#VALUE!", "seeds is 1.5: give a whole number such as 12"),
    (
        "GROW_SITES_FILLED",
        (0.85, 2e9),
        "#NUM!",
        "seeds is 2e+09: give how many seeds are sown in each site, at most 1e+09",
    ),
    (
        "GROW_SEEDS_PER_SITE",
        (0.85, 1),
        "#NUM!",
        "confidence is 1: no number of seeds makes it certain; give a fraction such as 0.95",
    ),
    (
        "GROW_SEEDS_TO_SOW",
        (36, 0.0005, 0.95),
        "#NUM!",
        ("germination is 0.0005: give the share of seeds that sprout, such as 0.85 or 85 %, at least 0.001"),
    ),
    (
        "GROW_SEEDS_TO_SOW",
        (36, 0.85, 1),
        "#NUM!",
        "confidence is 1: no number of seeds makes it certain; give a fraction such as 0.95",
    ),
    ("GROW_GERM_LOW", (21, 20), "#NUM!", "sprouted is 21 and sown 20: no more seeds can sprout than were sown"),
    ("GROW_DAYS_SINCE", ("2026-03-06", "2026-02-20"), "#NUM!", "as_of is before date: give the later date as as_of"),
    (
        "GROW_GROWTH_TABLE",
        (rows(1, 2), rows("a", None), rows(46001, 46002)),
        "#VALUE!",
        "row 2 has a size and no plant: fill it in or clear the row",
    ),
    (
        "GROW_GROWTH_TABLE",
        (rows(1, 2), rows("a", "a"), rows(46001, None)),
        "#VALUE!",
        "row 2 has a size and no date: fill it in or clear the row",
    ),
    (
        "GROW_GROWTH_TABLE",
        (rows(1, 2), rows("a", "a"), rows(46001, 46002), rows("x", None)),
        "#VALUE!",
        "row 2 has a size and no treatment: fill it in or clear the row",
    ),
    (
        "GROW_GROWTH_TABLE",
        (rows(None, None), rows(None, None), rows(None, None)),
        "#VALUE!",
        "sizes, plants and dates have no filled row: give at least one",
    ),
    (
        "GROW_GROWTH_TABLE",
        (rows("dead", 2), rows("a", "a"), rows(46001, 46002)),
        "#VALUE!",
        "plant a has a size after it was lost: mend the row in which it was lost",
    ),
    (
        "GROW_GROWTH_TABLE",
        (rows(1, 2), rows("a", "a"), rows(46001, 46001)),
        "#VALUE!",
        "plant a has two sizes on 2025-12-10: keep one, or tell the plants apart by name",
    ),
    (
        "GROW_GROWTH_TABLE",
        (rows(1, 2), rows("a", "a", "a"), rows(46001, 46001)),
        "#VALUE!",
        "sizes has 2 rows and plants 3: give columns of one length",
    ),
    ("GROW_VPD", (25, 101), "#NUM!", "humidity is 101: give a relative humidity of at most 100 %"),
    (
        "GROW_VPD",
        (61, 50),
        "#NUM!",
        "air_temp is 61: give the temperature of the air among the leaves, from -40 to 60 °C",
    ),
    (
        "GROW_DEW_POINT",
        (25, "damp"),
        "#VALUE!",
        'humidity is "damp": give a number such as 65, 0.65 or a text such as "65 %"',
    ),
    ("GROW_DLI", (200, 25), "#NUM!", "hours is 25: give the hours of light in a day, at most 24 h"),
    # nutrients, analysis
    ("GROW_PERCENT", ("20-20-20", 7), "#VALUE!", "nutrient is 7: give a nutrient as text, such as N, Ca or P2O5"),
    (
        "GROW_PERCENT",
        ("20-20-20", "NO3"),
        "#VALUE!",
        ('nutrient: "NO3" may mean nitrate or the nitrogen in it: give NO3-N; 1 ppm of nitrate is 0.2259 ppm of NO3-N'),
    ),
    (
        "GROW_PERCENT",
        ("20-20-20", "ammonia"),
        "#VALUE!",
        (
            'nutrient: "ammonia" may mean ammonium or the nitrogen in it: give NH4-N; 1 ppm of ammonium is '
            "0.7765 ppm of NH4-N"
        ),
    ),
    (
        "GROW_PERCENT",
        ("20-20-20", "potasium"),
        "#N/A",
        ('nutrient: "potasium" is no nutrient known here: did you mean potassium, potassium oxide, potash?'),
    ),
    (
        "GROW_PERCENT",
        ("20-20-20", "wwww"),
        "#N/A",
        ('nutrient: "wwww" is no nutrient known here: give a symbol such as N, P, K, Ca, Mg, NO3-N or P2O5'),
    ),
    (
        "GROW_PERCENT",
        ("20-20-20", "NH4-N"),
        "#VALUE!",
        (
            '"20-20-20" does not tell the form of all its nitrogen: copy it from the label, such as '
            '"20-20-20 NO3-N 5.6 NH4-N 3.9 urea-N 10.5"'
        ),
    ),
    (
        "GROW_PERCENT",
        ("20-20-x", "N"),
        "#VALUE!",
        (
            'analysis is "20-20-x": at character 7, "x", the percent of K2O was expected: give a grade such '
            'as "20-20-20", with more such as "6-11-31 Mg 3.5", or a substance such as "KNO3 99%"'
        ),
    ),
    (
        "GROW_PERCENT",
        ("20-20", "N"),
        "#VALUE!",
        (
            'analysis is "20-20": at its end a hyphen and the percent of K2O was expected: give a grade '
            'such as "20-20-20", with more such as "6-11-31 Mg 3.5", or a substance such as "KNO3 99%"'
        ),
    ),
    (
        "GROW_PERCENT",
        ("20-20-20x", "N"),
        "#VALUE!",
        (
            'analysis is "20-20-20x": at character 9, "x", a space was expected: give a grade such as '
            '"20-20-20", with more such as "6-11-31 Mg 3.5", or a substance such as "KNO3 99%"'
        ),
    ),
    (
        "GROW_PERCENT",
        ("-5-5-5", "N"),
        "#VALUE!",
        (
            'analysis is "-5-5-5": at character 1, "-5-5-5", the percent of N was expected: give a grade '
            'such as "20-20-20", with more such as "6-11-31 Mg 3.5", or a substance such as "KNO3 99%"'
        ),
    ),
    (
        "GROW_PERCENT",
        ("NO3 5 Ca 3", "N"),
        "#VALUE!",
        (
            'analysis is "NO3 5 Ca 3": "NO3" may mean nitrate or the nitrogen in it: give NO3-N; 1 ppm of '
            "nitrate is 0.2259 ppm of NO3-N"
        ),
    ),
    (
        "GROW_PERCENT",
        ("20-20-20 Ca", "N"),
        "#VALUE!",
        (
            'analysis is "20-20-20 Ca": at character 10, "Ca", a nutrient and its percent was expected: '
            'give a grade such as "20-20-20", with more such as "6-11-31 Mg 3.5", or a substance such as '
            '"KNO3 99%"'
        ),
    ),
    (
        "GROW_PERCENT",
        ("20-20-20 Ca 3 CaO 4", "N"),
        "#VALUE!",
        (
            'analysis is "20-20-20 Ca 3 CaO 4": CaO is listed twice: give each nutrient once, as the '
            "element or the oxide"
        ),
    ),
    (
        "GROW_PERCENT",
        ("20-20-20 alkalinity 4", "N"),
        "#VALUE!",
        (
            'analysis is "20-20-20 alkalinity 4": alkalinity is no part of an analysis: give nutrients such '
            "as N, P2O5 or Ca"
        ),
    ),
    (
        "GROW_PERCENT",
        ("20-20-20 Ca -3", "N"),
        "#NUM!",
        'analysis is "20-20-20 Ca -3": Ca is -3 percent, below zero: give what the label says',
    ),
    (
        "GROW_PERCENT",
        ("60-60-60", "N"),
        "#NUM!",
        'analysis is "60-60-60": the percents add up to 180, over 100: give what the label says',
    ),
    (
        "GROW_PERCENT",
        ("40-40-40", "N"),
        "#NUM!",
        'analysis is "40-40-40": the percents add up to 120, over 100: give what the label says',
    ),
    (
        "GROW_PERCENT",
        ("5-0-0 Fe 98", "N"),
        "#NUM!",
        'analysis is "5-0-0 Fe 98": the percents add up to 103, over 100: give what the label says',
    ),
    (
        "GROW_PERCENT",
        ("20-20-20 NO3-N 15 NH4-N 15", "N"),
        "#NUM!",
        (
            'analysis is "20-20-20 NO3-N 15 NH4-N 15": the forms of nitrogen add up to 30 percent, more '
            "than the total of N"
        ),
    ),
    (
        "GROW_PERCENT",
        ("KNO3 120%", "N"),
        "#NUM!",
        'analysis is "KNO3 120%": a purity of 120 % cannot be: give one above 0 and up to 100 %',
    ),
    (
        "GROW_PERCENT",
        ("KNO3 0%", "N"),
        "#NUM!",
        'analysis is "KNO3 0%": a purity of 0 % cannot be: give one above 0 and up to 100 %',
    ),
    (
        "GROW_PERCENT",
        ("iron EDTA 99%", "Fe"),
        "#VALUE!",
        (
            'analysis is "iron EDTA 99%": a chelate is given by its grade: write "0-0-0 Fe 13" with the '
            "figure of the label"
        ),
    ),
    (
        "GROW_PERCENT",
        ("snake oil", "N"),
        "#N/A",
        (
            'analysis is "snake oil": no substance of this name is known here: give its formula, such as '
            "MgSO4.7H2O, or a grade such as 20-20-20"
        ),
    ),
    (
        "GROW_PERCENT",
        ("epson salt", "N"),
        "#N/A",
        ('analysis is "epson salt": no substance of this name is known here: did you mean Epsom salt, Epsom salts?'),
    ),
    (
        "GROW_PERCENT",
        ("H2O", "N"),
        "#VALUE!",
        'analysis is "H2O": this formula holds no nutrient: give one such as KNO3',
    ),
    (
        "GROW_PERCENT",
        ("Ca(NO3", "N"),
        "#VALUE!",
        (
            'analysis is "Ca(NO3": as a formula it goes wrong at character 3, "(NO3" (missing closing '
            "parenthesis ')]}>'): give one such as Ca(NO3)2.4H2O"
        ),
    ),
    (
        "GROW_PERCENT",
        ("KQ3", "N"),
        "#VALUE!",
        (
            'analysis is "KQ3": as a formula it goes wrong at character 2, "Q3" (no element or sign of a '
            "formula): give one such as Ca(NO3)2.4H2O"
        ),
    ),
    (
        "GROW_PERCENT",
        ("K" * 61, "N"),
        "#VALUE!",
        (
            'analysis is "KKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKKK": a formula longer '
            "than 60 signs: give one such as Ca(NO3)2.4H2O"
        ),
    ),
    (
        "GROW_PERCENT",
        ("caffeine3", "N"),
        "#N/A",
        (
            'analysis is "caffeine3": no substance of this name is known here: give its formula, such as '
            "MgSO4.7H2O, or a grade such as 20-20-20"
        ),
    ),
    (
        "GROW_PERCENT",
        (20.0, "N"),
        "#VALUE!",
        (
            "analysis is 20: give a text; where a grade turned into a date, type an apostrophe before it, "
            "such as '6-11-31"
        ),
    ),
    (
        "GROW_PERCENT",
        (True, "N"),
        "#VALUE!",
        (
            'analysis is True: give a grade such as "20-20-20", with more such as "6-11-31 Mg 3.5", or a '
            'substance such as "KNO3 99%"'
        ),
    ),
    (
        "GROW_PERCENT",
        (None, "N"),
        "#VALUE!",
        (
            'analysis is blank: give what the product holds: a grade such as "20-20-20" or "6-11-31 Mg '
            '3.5", a substance such as "KNO3", or a range of nutrient, percent'
        ),
    ),
    (
        "GROW_PERCENT",
        ((("N", 15.5), ("Zz", 19)), "N"),
        "#N/A",
        'analysis: "Zz" is no nutrient known here: give a symbol such as N, P, K, Ca, Mg, NO3-N or P2O5',
    ),
    (
        "GROW_PERCENT",
        ((("N", 15.5), ("Ca", "much")), "N"),
        "#VALUE!",
        'row 2 of analysis is "Ca", "much": give a nutrient and its percent, such as "Ca" and 19',
    ),
    (
        "GROW_PERCENT",
        ((("N", 15.5), (None, 19)), "N"),
        "#VALUE!",
        'row 2 of analysis is blank, 19: give a nutrient and its percent, such as "Ca" and 19',
    ),
    (
        "GROW_PERCENT",
        ((("N", 15.5), (7, 19)), "N"),
        "#VALUE!",
        'row 2 of analysis is 7, 19: give a nutrient and its percent, such as "Ca" and 19',
    ),
    (
        "GROW_PERCENT",
        ((("x", 1e300), ("y", None)), "N"),
        "#VALUE!",
        "analysis is blank: give rows of nutrient and percent",
    ),
    (
        "GROW_PERCENT",
        ((("N", 15.5), ("Ca", CellError("#DIV/0!"))), "N"),
        "#DIV/0!",
        "analysis is an error already (#DIV/0!): mend that cell first",
    ),
    (
        "GROW_PPM_TABLE",
        (1, 1, "20-20-20", (("Ca", 40, 1),)),
        "#VALUE!",
        "water: give a range of two columns, nutrient and ppm",
    ),
    (
        "GROW_ELEMENTAL",
        (10, "P"),
        "#VALUE!",
        "oxide is P, which is elemental already: give an oxide such as P2O5 or K2O",
    ),
    (
        "GROW_OXIDE",
        (10, "Fe"),
        "#VALUE!",
        "element is Fe, which has no oxide basis on labels: give one of P, K, Ca, Mg, S, Si, Na, B",
    ),
    # ppm
    (
        "GROW_PPM_TABLE",
        (1, 1, "20-20-20", "Ca 40"),
        "#VALUE!",
        "water is a single cell: give a range of two columns, nutrient and ppm",
    ),
    (
        "GROW_PPM_TABLE",
        (1, 1, "20-20-20", CellError("#NAME?")),
        "#NAME?",
        "water is an error already (#NAME?): mend that cell first",
    ),
    ("GROW_PPM_TABLE", (1, 1, "20-20-20", (("Ca", -4.0),)), "#NUM!", "water: Ca is -4, below zero: give 0 or more"),
    (
        "GROW_PPM_TABLE",
        (1, 1, "20-20-20", (("Ca", 4.0), ("CaO", 3))),
        "#VALUE!",
        "water lists Ca twice: give each nutrient once",
    ),
    ("GROW_PPM_TABLE", (1, 1, "20-20-20", (("pH", 17),)), "#NUM!", "water: pH is 17: give one from 0 to 14"),
    (
        "GROW_PPM_TABLE",
        (1, 1, "20-20-20", (("Ca", None), ("Mg", None))),
        "#VALUE!",
        "water is blank: give rows of nutrient and ppm",
    ),
    (
        "GROW_PPM_TABLE",
        (1, 1, "20-20-20", (("N", 10), ("NO3-N", 30))),
        "#NUM!",
        "the forms of nitrogen in water add up to 30 ppm, more than N with 10",
    ),
    (
        "GROW_PPM_TABLE",
        (rows(1, 2), 1, rows("KNO3")),
        "#VALUE!",
        "masses has 2 rows and analyses 1: give columns of one length",
    ),
    (
        "GROW_PPM_TABLE",
        (rows(1, 2), 1, rows("KNO3", None)),
        "#VALUE!",
        "row 2 has no analyses: fill the row or clear it",
    ),
    (
        "GROW_PPM_TABLE",
        (rows(1, None), 1, rows("KNO3", "KCl")),
        "#VALUE!",
        "row 2 has no masses: fill the row or clear it",
    ),
    (
        "GROW_PPM_TABLE",
        (rows(None, None), 1, rows(None, None)),
        "#VALUE!",
        "masses and analyses are blank: give at least one part",
    ),
    (
        "GROW_PPM_TABLE",
        (1, rows(1, 2), "KNO3"),
        "#VALUE!",
        "GROW_PPM_TABLE gives a table and takes one value for volume",
    ),
    ("GROW_BLEND", (rows(0, 0), rows("KNO3", "KCl")), "#VALUE!", "the masses add up to 0: give the mass of each part"),
    (
        "GROW_BLEND",
        (rows(1, 2), rows("KNO3")),
        "#VALUE!",
        "masses has 2 rows and analyses 1: give columns of one length",
    ),
    ("GROW_BLEND", (rows(None, 2), rows("KNO3", "KCl")), "#VALUE!", "row 1 has no masses: fill the row or clear it"),
    ("GROW_NITRATE_SHARE", ("K2SO4",), "#NUM!", '"K2SO4" lists no N: give a product that holds it'),
    (
        "GROW_NITRATE_SHARE",
        ("20-20-20",),
        "#VALUE!",
        (
            '"20-20-20" does not tell the form of all its nitrogen: copy it from the label, such as '
            '"20-20-20 NO3-N 5.6 NH4-N 3.9 urea-N 10.5"'
        ),
    ),
    ("GROW_COST_NUTRIENT", (10, 5, "20-20-20", "Fe"), "#NUM!", '"20-20-20" lists no Fe: give a product that holds it'),
    (
        "GROW_DOSE_FOR",
        (100, "N", "20-20-20", 5, 120),
        "#NUM!",
        "the water holds 120 ppm of N, above the target of 100: add none",
    ),
    ("GROW_DOSE_FOR", (100, "Ca", "20-20-20", 5), "#NUM!", '"20-20-20" lists no Ca: give a product that holds it'),
    (
        "GROW_STOCK",
        (2, 0.5, 5),
        "#NUM!",
        ("ratio is 0.5: give the ratio of the injector: 100 is one part of concentrate in 100 of feed, at least 1"),
    ),
    # charges recipes conductivity
    ("GROW_MEQ", (100, "N"), "#VALUE!", '"N" has no charge of its own: give NO3-N for nitrate or NH4-N for ammonium'),
    (
        "GROW_MEQ",
        (100, "nitrogen"),
        "#VALUE!",
        '"nitrogen" has no charge of its own: give NO3-N for nitrate or NH4-N for ammonium',
    ),
    (
        "GROW_MEQ",
        (100, "B"),
        "#VALUE!",
        "B is boric acid in water culture, which carries no charge: give an ion such as Ca",
    ),
    ("GROW_MEQ", (100, "sulfat"), "#N/A", '"sulfat" is no ion known here: did you mean sulfate, sulphate, sulfur?'),
    ("GROW_MEQ", (100, "wwww"), "#N/A", '"wwww" is no ion known here: give one such as Ca, K, NO3-N, SO4 or HCO3'),
    ("GROW_MEQ", (100, 7), "#VALUE!", "ion is 7: give an ion as text, such as Ca or NO3-N"),
    (
        "GROW_TARGET",
        ("Hogland & Arnon 1", "N"),
        "#N/A",
        (
            '"Hogland & Arnon 1" is no recipe known here: did you mean Hoagland & Arnon 1, Hoagland & Arnon '
            "2, Hoagland and Arnon 1?"
        ),
    ),
    (
        "GROW_TARGET",
        ("wwww", "N"),
        "#N/A",
        (
            '"wwww" is no recipe known here: give one of Hoagland & Arnon 1, Hoagland & Arnon 2, Steiner, '
            "Cooper, Lettuce Sonneveld, Lettuce half strength, Leafy greens"
        ),
    ),
    (
        "GROW_TARGET",
        ("Steiner", "Mo"),
        "#N/A",
        "the source of this recipe gives no figure for Mo: give one of the others",
    ),
    (
        "GROW_GAPS",
        ((("N", 100),), CellError("#N/A")),
        "#N/A",
        "recipe is an error already (#N/A): mend that cell first",
    ),
    (
        "GROW_GAPS",
        ((("N", 100),), (("pH", 6), ("alkalinity", 100))),
        "#VALUE!",
        "recipe lists no nutrient: give rows such as N, 150",
    ),
    ("GROW_RECIPE", ("Steiner", rows(None, None), 1), "#VALUE!", "analyses are blank: give at least one part"),
    (
        "GROW_EC",
        ((("K", 39000), ("Cl", 35000)),),
        "#NUM!",
        (
            "the solution has an ionic strength of 0.99 mol/L, too strong for this formula: give the ppm of "
            "the diluted feed"
        ),
    ),
    (
        "GROW_EC",
        ((("K", 2e6), ("Cl", 2e6)),),
        "#NUM!",
        ("this is stronger than the activity formulas reach (some mol/L of salts): give less mass or more water"),
    ),
    (
        "GROW_EC",
        ((("K", 100), ("Cl", 90)), 80),
        "#NUM!",
        (
            "temperature is 80: give the temperature of the water; 25 °C if left out, which is what meters "
            "refer to, from 0 to 50 °C"
        ),
    ),
    ("GROW_TDS", (1.8, 600), "#NUM!", "scale is 600: give that of the meter, 500, 640 or 700"),
    ("GROW_EC_FROM_TDS", (900, 600), "#NUM!", "scale is 600: give that of the meter, 500, 640 or 700"),
    # acid stock
    (
        "GROW_ACID",
        (28, 120, 7.8, 5.8, "phosforic"),
        "#N/A",
        '"phosforic" is no acid known here: did you mean phosphoric, phosphoric acid?',
    ),
    (
        "GROW_ACID",
        (28, 120, 7.8, 5.8, "wwww"),
        "#N/A",
        '"wwww" is no acid known here: give one of nitric, phosphoric, sulfuric, hydrochloric, citric',
    ),
    ("GROW_ACID", (28, 120, 7.8, 5.8, 7), "#VALUE!", "acid is 7: give an acid as text, such as phosphoric"),
    (
        "GROW_ACID",
        (28, 120, 7.8, 7.8, "nitric"),
        "#NUM!",
        "target_ph is 7.8, not below the pH of 7.8: acid only lowers pH",
    ),
    ("GROW_ACID", (28, 120, 17, 5.8, "nitric"), "#NUM!", "ph is 17: give the pH of the water now, from 0 to 14"),
    (
        "GROW_ACID",
        (28, 5, 11, 5.8, "nitric"),
        "#NUM!",
        (
            "no water has a pH of 11 and an alkalinity of 5 mg/L: measure both again; natural water lies "
            "between pH 5 and 9.5"
        ),
    ),
    (
        "GROW_ACID",
        (28, 120, 3.5, 3.2, "nitric"),
        "#NUM!",
        (
            "no water has a pH of 3.5 and an alkalinity of 120 mg/L: measure both again; natural water lies "
            "between pH 5 and 9.5"
        ),
    ),
    (
        "GROW_ACID",
        (28, "1 meq/L 2 meq/L", 7.8, 5.8, "nitric"),
        "#VALUE!",
        ('alkalinity is "1 meq/L 2 meq/L": give mg/L as CaCO3, such as 120 or a text such as "1.8 meq/L" or "5 dKH"'),
    ),
    (
        "GROW_ACID",
        (28, 120, 7.8, 1.5, "citric"),
        "#NUM!",
        "citric acid cannot bring this water to pH 1.5: give a higher target_ph",
    ),
    (
        "GROW_ACID",
        (28, 120, 7.8, 5.8, "nitric", 98),
        "#NUM!",
        "nitric acid of 98 % is not in the tables: give up to 70 %",
    ),
    (
        "GROW_ACID",
        (28, 120, 7.8, 5.8, "nitric", 140),
        "#NUM!",
        'strength is 140: give percent by mass up to 100 or mol/L, such as 38, "38%" or "2 mol/L"',
    ),
    (
        "GROW_ACID",
        (28, 120, 7.8, 5.8, "nitric", "-3 %"),
        "#NUM!",
        'strength is -3 %: give percent by mass up to 100 or mol/L, such as 38, "38%" or "2 mol/L"',
    ),
    (
        "GROW_ACID",
        (28, 120, 7.8, 5.8, "nitric", "strong"),
        "#VALUE!",
        'strength is "strong": give percent by mass or mol/L, such as 38, "38%" or "2 mol/L"',
    ),
    (
        "GROW_ACID",
        (28, 120, 7.8, 5.8, "nitric", True),
        "#VALUE!",
        'strength is True: give a number such as 38, "38%" or "2 mol/L"',
    ),
    (
        "GROW_ACID",
        (28, "hard", 7.8, 5.8, "nitric"),
        "#VALUE!",
        'alkalinity is "hard": give mg/L as CaCO3, such as 120 or a text such as "1.8 meq/L" or "5 dKH"',
    ),
    (
        "GROW_ACID",
        (28, "5 gal", 7.8, 5.8, "nitric"),
        "#VALUE!",
        'alkalinity is "5 gal": give mg/L as CaCO3, such as 120 or a text such as "1.8 meq/L" or "5 dKH"',
    ),
    (
        "GROW_ACID",
        (28, True, 7.8, 5.8, "nitric"),
        "#VALUE!",
        'alkalinity is True: give a number such as 120 or a text such as "1.8 meq/L" or "5 dKH"',
    ),
    # trial
    (
        "GROW_TRIAL_P",
        (rows(1, "tall", 3, 4), rows("A", "A", "B", "B")),
        "#VALUE!",
        (
            'row 2 of values: values is "tall": give a plain number, "dead" for a plant that was lost, or '
            "leave the cell blank where nothing was measured"
        ),
    ),
    (
        "GROW_TRIAL_P",
        (rows(1, 2, 3, 4), rows("A", None, "B", "B")),
        "#VALUE!",
        "row 2 has a value and no treatment: fill it in or clear the row",
    ),
    (
        "GROW_TRIAL_P",
        (rows(1, 2, 3, 4), rows("A", "A", "B", "B"), rows(1, 1, None, 2)),
        "#VALUE!",
        "row 3 has a value and no bed: fill it in or clear the row",
    ),
    (
        "GROW_TRIAL_P",
        (rows("dead", None), rows("A", "B")),
        "#VALUE!",
        "values hold no number: give at least one measured plant",
    ),
    (
        "GROW_TRIAL_P",
        (rows(*range(1, 31)), rows(*range(100, 130))),
        "#NUM!",
        "treatments holds 30 different names: give a column with at most 20",
    ),
    (
        "GROW_TRIAL_P",
        (rows(*range(1, 302)), rows(*["A"] * 301), rows(*range(1, 302))),
        "#NUM!",
        "beds holds 301 different names: give a column with at most 200",
    ),
    (
        "GROW_TRIAL_P",
        (rows(1, 2, 3), rows("A", "A", "A")),
        "#NUM!",
        "there is one treatment with living plants: a comparison needs two",
    ),
    (
        "GROW_TRIAL_P",
        (rows(1, 2, 3), rows("A", "B", "C")),
        "#NUM!",
        "no treatment is repeated: the spread between units that were treated alike is unknown",
    ),
    (
        "GROW_TRIAL_P",
        (rows(1, 1, 2, 2), rows("A", "A", "B", "B")),
        "#NUM!",
        "units that were treated alike are equal to the last digit: there is no spread to test with",
    ),
    (
        "GROW_TRIAL_P",
        (rows(1, 2, 3, 4), rows("A", "A", "B", "B"), rows(1, 1, 2, 2)),
        "#NUM!",
        (
            "each treatment has a single bed, so that bed and treatment cannot be told apart: give each "
            "treatment two beds or more"
        ),
    ),
    (
        "GROW_TRIAL_P",
        (rows(*range(8)), rows(*"ABABCDCD"), rows(1, 1, 2, 2, 3, 3, 4, 4)),
        "#NUM!",
        "no bed joins all treatments: some share no bed, not even by way of others",
    ),
    (
        "GROW_TRIAL_P",
        (rows(1, True, 3), rows("A", "A", "B")),
        "#VALUE!",
        "row 2 of values: values is True: give a number such as 52",
    ),
    (
        "GROW_TRIAL_P",
        (rows(1, 2, 3), rows("A", "A")),
        "#VALUE!",
        "values has 3 rows and treatments 2: give columns of one length",
    ),
    (
        "GROW_TRIAL_P",
        (rows(1, 2, 3), rows("A", "A", "B"), rows(1, 2)),
        "#VALUE!",
        "values has 3 rows and beds 2: give columns of one length",
    ),
    (
        "GROW_STOCK_CHECK",
        (rows(1, 2), rows("KNO3"), 5),
        "#VALUE!",
        "masses has 2 rows and analyses 1: give columns of one length",
    ),
    (
        "GROW_STOCK_CHECK",
        (rows(None, 2), rows("KNO3", "KCl"), 5),
        "#VALUE!",
        "row 1 has no masses: fill the row or clear it",
    ),
    (
        "GROW_GROWTH_TABLE",
        (rows(1, 2), rows("a", "b"), rows(46001)),
        "#VALUE!",
        "sizes has 2 rows and dates 1: give columns of one length",
    ),
    (
        "GROW_GROWTH_TABLE",
        (rows(1, 2), rows("a", "b"), rows(46001, 46002), rows("x")),
        "#VALUE!",
        "sizes has 2 rows and treatments 1: give columns of one length",
    ),
    (
        "GROW_TRIAL_SIZE",
        (0.0001, 10, 2),
        "#NUM!",
        "more than 1,000,000 units a treatment are needed: look for a larger difference",
    ),
    ("GROW_TRIAL_SIZE", (5, 10, 21), "#NUM!", "treatments is 21: give how many treatments are compared, from 2 to 20"),
    (
        "GROW_TRIAL_DETECTS",
        (1, 10, 2),
        "#NUM!",
        "units is 1: give plants (or beds, where treated by the bed) in each treatment, from 2 to 1e+06",
    ),
    (
        "GROW_TRIAL_FACTORS",
        (rows(1, 2, 3), ((1, 1), (1, 2))),
        "#VALUE!",
        "values has 3 rows and factors 2: give columns of one length",
    ),
    (
        "GROW_TRIAL_FACTORS",
        (rows(1, 2), ((1, 1, 1, 1, 1), (1, 2, 2, 2, 2))),
        "#NUM!",
        "factors has 5 columns: give at most 4",
    ),
    (
        "GROW_TRIAL_FACTORS",
        (rows(1, 2), ((1, CellError("#N/A")), (1, 2))),
        "#N/A",
        "factors is an error already (#N/A): mend that cell first",
    ),
    (
        "GROW_TRIAL_FACTORS",
        (rows(1, 2, 3, 4), ((1, 1), (1, 2), (2, 1), (2, 2))),
        "#NUM!",
        "no combination is repeated: the spread between units that were treated alike is unknown",
    ),
]


@pytest.mark.parametrize(("name", "cells", "code", "sentence"), SENTENCES)
def test_sentence(name: str, cells: tuple[object, ...], code: str, sentence: str) -> None:
    error = functions()[name].evaluate(cells)
    assert error == CellError(code, sentence)
    assert code in ERROR_CODES
    if name != "GROW_WHY":
        assert functions()["GROW_WHY"].evaluate((name, *cells)) == sentence
