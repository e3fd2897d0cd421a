"""What is known of the functions of spreadsheets: which take single values, which ranges, which give several cells."""

from __future__ import annotations

_SINGLE = (
    "ABS ACOS ACOSH ARABIC ASIN ASINH ATAN ATAN2 ATANH BASE CEILING CEILING.MATH CHAR CLEAN CODE COMBIN CONCATENATE "
    "CONVERT COS COSH DATE DATEDIF DATEVALUE DAY DAYS DAYS360 DECIMAL DEGREES DOLLAR EDATE EOMONTH ERROR.TYPE EVEN "
    "EXACT EXP FACT FIND FIXED FLOOR FLOOR.MATH HOUR IFNA IFS INT ISBLANK ISERR ISERROR ISEVEN ISLOGICAL ISNA "
    "ISNONTEXT ISNUMBER ISODD ISOWEEKNUM ISTEXT LEFT LEN LN LOG LOG10 LOWER MID MINUTE MOD MONTH MROUND NOT "
    "NUMBERVALUE ODD PERMUT POWER PROPER QUOTIENT RADIANS REPLACE REPT RIGHT ROMAN ROUND ROUNDDOWN ROUNDUP SEARCH "
    "SECOND SIGN SIN SINH SQRT SUBSTITUTE SWITCH TAN TANH TEXT TEXTAFTER TEXTBEFORE TIME TIMEVALUE TRIM TRUNC UNICHAR "
    "UNICODE UPPER VALUE WEEKDAY WEEKNUM YEAR YEARFRAC"
)
_ARGUMENT_CLASSES: dict[str, str] = dict.fromkeys(_SINGLE.split(), "e") | {
    "AVERAGEIF": "wew",
    "AVERAGEIFS": "wwe",
    "COUNTIF": "we",
    "COUNTIFS": "we",
    "HLOOKUP": "ewee",
    "INDEX": "wee",
    "LARGE": "we",
    "MATCH": "ewe",
    "MAXIFS": "wwe",
    "MINIFS": "wwe",
    "PERCENTILE": "we",
    "QUARTILE": "we",
    "RANK": "ewe",
    "SMALL": "we",
    "SUMIF": "wew",
    "SUMIFS": "wwe",
    "VLOOKUP": "ewee",
    "XLOOKUP": "ewweee",
    "XMATCH": "ewee",
}
"""For functions whose arguments are single values (e) or ranges taken whole (w): the class of each argument.

From the argument types in ISO/IEC 29500-1, 18.17.7; arguments beyond the last are as the last two, or the last one.
"""

# Functions that compute on whole arrays even in an ordinary formula (OpenFormula calls such parameters ForceArray).
# The later ones were made for arrays from the start.
_ARRAY_FUNCTION_NAMES = (
    "SUMPRODUCT MMULT MINVERSE MDETERM TRANSPOSE FREQUENCY LOOKUP INDEX MODE MODE.MULT LINEST LOGEST TREND GROWTH "
    "SUMX2MY2 SUMX2PY2 SUMXMY2 CORREL COVAR FORECAST INTERCEPT SLOPE RSQ PEARSON PROB FTEST TTEST "
    "FILTER SORT SORTBY UNIQUE SEQUENCE LET LAMBDA XLOOKUP XMATCH TEXTJOIN CONCAT ARRAYTOTEXT VSTACK HSTACK "
    "CHOOSECOLS CHOOSEROWS TOCOL TOROW TAKE DROP EXPAND WRAPCOLS WRAPROWS MAP REDUCE SCAN BYROW BYCOL"
)
ARRAY_FUNCTIONS = frozenset(_ARRAY_FUNCTION_NAMES.split())

# Functions whose first arguments are days or times, and how many: the engine takes a typed date such as 2026-05-03
# as a day in arithmetic, but not in these.
_DAY_FUNCTIONS = "YEAR MONTH DAY WEEKDAY HOUR MINUTE SECOND WEEKNUM ISOWEEKNUM EDATE EOMONTH WORKDAY"
DAY_ARGUMENTS = dict.fromkeys(_DAY_FUNCTIONS.split(), 1) | dict.fromkeys(
    ("DAYS", "DATEDIF", "YEARFRAC", "NETWORKDAYS"), 2
)

# Functions whose result may be several cells though their arguments are not.
GIVES_MANY = frozenset(("OFFSET", "INDIRECT", "SEQUENCE", "RANDARRAY", "TEXTSPLIT", "CHOOSE"))

# Functions that make one value of the ranges that they take whole.
_GIVES_ONE_NAMES = (
    "AGGREGATE AND AVERAGE AVERAGEA CONCAT CORREL COUNT COUNTA COUNTBLANK COLUMNS DEVSQ FORECAST GEOMEAN HARMEAN "
    "INTERCEPT IRR KURT MAX MAXA MEDIAN MIN MINA MODE NPV OR PRODUCT RSQ ROWS SKEW SLOPE STDEV STDEV.P STDEV.S "
    "STDEVP SUBTOTAL SUM SUMPRODUCT SUMSQ TEXTJOIN VAR VAR.P VAR.S VARP XOR"
)
GIVES_ONE = frozenset(_GIVES_ONE_NAMES.split()) | _ARGUMENT_CLASSES.keys() - {"INDEX"}  # which gives rows and columns


def argument_class(function: str, index: int) -> str:
    """``e`` for a single value, ``w`` for a range taken whole, ``""`` for a function that is not listed."""
    classes = _ARGUMENT_CLASSES.get(function, "")
    if not classes or index < 0:
        return ""
    if index < len(classes):
        return classes[index]
    repeats_in_pairs = classes in ("we", "wwe")
    return classes[len(classes) - 2 + (index - len(classes)) % 2] if repeats_in_pairs else classes[-1]
