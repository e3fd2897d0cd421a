"""What is known of native functions beforehand: which give several values, which choose what they do."""

from __future__ import annotations

GIVES_TEXT = frozenset(
    [
        "CHAR",
        "CONCAT",
        "CONCATENATE",
        "FIXED",
        "LEFT",
        "LOWER",
        "MID",
        "PROPER",
        "REPLACE",
        "REPT",
        "RIGHT",
        "SUBSTITUTE",
        "T",
        "TEXT",
        "TEXTJOIN",
        "TRIM",
        "UPPER",
    ]
)

LOCATES = frozenset(("ROW", "ROWS", "COLUMN", "COLUMNS"))
"""Functions that ask for the place or the size of cells, whatever these hold."""

RANDOM = frozenset(("RAND", "RANDBETWEEN", "RANDARRAY"))

ANYWHERE = frozenset(("OFFSET", "INDIRECT", "CELL", "INFO", "FORMULATEXT", "ISFORMULA", "SHEET", "SHEETS"))
"""Functions whose value depends on more than the values of the cells that they name."""

READS_ANYWHERE = frozenset(("OFFSET", "INDIRECT"))
"""Those of them that read values; the others tell of formulas and sheets, which no new value changes."""

OF_LANGUAGE = frozenset(
    ("TEXT", "CODE", "VALUE", "NUMBERVALUE", "DATEVALUE", "TIMEVALUE", "FIXED", "DOLLAR", "FORMULATEXT")
)
"""Functions whose value hangs on the language or the system of the program that computes: names of months, signs
between figures, codes. A stored value that differs from theirs is not old for that."""

_LESS_EXACT_NAMES = (
    "ASINH BETADIST BETAINV BINOMDIST CHIDIST CHIINV CONVERT CRITBINOM CUMIPMT CUMPRINC ERF ERFC EXPONDIST FDIST FINV "
    "GAMMADIST GAMMAINV GAMMALN GEOMEAN HYPGEOMDIST IPMT IRR LINEST LOGINV LOGNORMDIST NEGBINOMDIST NORMDIST NORMINV "
    "NORMSDIST NORMSINV PMT POISSON PPMT STDEV STDEVA STDEVP STDEVPA TDIST TINV VAR VARA VARP VARPA WEIBULL XIRR"
)

LESS_EXACT = frozenset(_LESS_EXACT_NAMES.split())
"""Functions that Excel computes more exactly since its version of 2010: Microsoft's account of that, from memory; a
value of ERFC that the version of 2007 stored is off in its seventh figure."""

CANCELS_NOTHING = frozenset(("*", "/", "^", "%", "&", "=", "<>", "<", ">", "<=", ">=", "IF", "IFERROR", "PRODUCT"))
"""Operations that take no number from another: a small result of large numbers is as exact as these."""

HIDES_ERRORS = frozenset(("COUNT", "COUNTA", "AGGREGATE"))
"""Functions of lists that leave errors out: what is not computed would be left out as well."""

_GIVES_MANY_NAMES = (
    "FILTER SORT SORTBY UNIQUE SEQUENCE RANDARRAY TRANSPOSE MMULT MINVERSE MUNIT OFFSET INDIRECT HSTACK VSTACK TAKE "
    "DROP CHOOSECOLS CHOOSEROWS TOCOL TOROW WRAPROWS WRAPCOLS EXPAND TEXTSPLIT FREQUENCY LINEST LOGEST TREND GROWTH "
    "MAP SCAN BYROW BYCOL MAKEARRAY LET MODE.MULT TRIMRANGE"
)

GIVES_MANY = frozenset(_GIVES_MANY_NAMES.split())

_GIVES_ONE_NAMES = (
    "AGGREGATE AND AVERAGE AVERAGEA CONCAT CORREL COUNT COUNTA COUNTBLANK COLUMNS DEVSQ FORECAST GEOMEAN HARMEAN "
    "INTERCEPT IRR KURT MAX MAXA MEDIAN MIN MINA MODE NPV OR PRODUCT RSQ ROWS SKEW SLOPE STDEV STDEV.P STDEV.S STDEVP "
    "SUBTOTAL SUM SUMPRODUCT SUMSQ TEXTJOIN VAR VAR.P VAR.S VARP XOR LARGE SMALL PERCENTILE QUARTILE"
)

GIVES_ONE = frozenset(_GIVES_ONE_NAMES.split())
TAKES_ONE_CELL = "it computes with ranges, and is no array formula"
"""Of ranges that an ordinary formula computes with, Excel takes the one cell in the own row or column; within functions
that give one value of many, and of a condition, the engine takes all of them."""

MODES: dict[str, tuple[int, ...]] = {
    "AGGREGATE": (0, 1),
    "DATEDIF": (2,),
    "DAYS360": (2,),
    "HLOOKUP": (3,),
    "MATCH": (2,),
    "NETWORKDAYS.INTL": (2,),
    "SUBTOTAL": (0,),
    "T.TEST": (2, 3),
    "TTEST": (2, 3),
    "VALUETOTEXT": (1,),
    "VLOOKUP": (3,),
    "WEEKDAY": (1,),
    "WEEKNUM": (1,),
    "WORKDAY.INTL": (2,),
    "XLOOKUP": (4, 5),
    "XMATCH": (2, 3),
    "YEARFRAC": (2,),
}
"""The arguments that choose what a function does: each value of them is proven by itself."""

SAME_MODES = {
    "HLOOKUP": {"1": "TRUE", "": "FALSE"},
    "MATCH": {"TRUE": "1", "": "0"},
    "VLOOKUP": {"1": "TRUE", "": "FALSE"},
    "WEEKDAY": {"1": ""},
}
"""Of these arguments those that mean the same as another one, or as none: Excel takes a truth for a number, and what is
left out behind its comma for 0; Microsoft's pages."""

FORCES_ARRAYS = frozenset(("SUMPRODUCT", "MMULT", "LOOKUP"))
"""Functions that compute what they enclose on arrays, in an ordinary formula too."""

_PASSES_BLANKS_NAMES = (
    "VLOOKUP LOOKUP MATCH XMATCH XLOOKUP SUM SUMIF SUMIFS AVERAGE AVERAGEIF AVERAGEIFS MAX MAXIFS MIN MINIFS COUNT "
    "COUNTA SUMPRODUCT SUMSQ PRODUCT MEDIAN MODE MODE.SNGL LARGE SMALL RANK RANK.EQ RANK.AVG STDEV STDEV.S STDEV.P "
    "STDEVP VAR VAR.S VAR.P VARP DEVSQ AVEDEV GEOMEAN HARMEAN SKEW KURT TRIMMEAN PERCENTILE PERCENTILE.INC "
    "PERCENTILE.EXC QUARTILE QUARTILE.INC QUARTILE.EXC CORREL PEARSON SLOPE INTERCEPT FORECAST FORECAST.LINEAR COVAR"
)

PASSES_BLANKS = frozenset(_PASSES_BLANKS_NAMES.split())
"""Functions to which it does not matter that a column goes on after its last value."""

KNOWS_ONE_OF_EACH = frozenset(("MAX", "MIN"))
"""Those of them to which it does not matter how often a value comes."""

LOOKED_UP = {
    "INDEX": (1, 2),
    "MATCH": (0,),
    "XMATCH": (0,),
    "VLOOKUP": (0, 2),
    "HLOOKUP": (0, 2),
    "LOOKUP": (0,),
    "XLOOKUP": (0,),
    "COUNTIF": (1,),
    "COUNTIFS": (1, 3, 5),
    "SUMIF": (1,),
    "SUMIFS": (2, 4, 6),
    "AVERAGEIF": (1,),
    "AVERAGEIFS": (2, 4, 6),
    "MAXIFS": (2, 4, 6),
    "MINIFS": (2, 4, 6),
}
"""For functions that take ranges whole: the arguments that give several results where they are ranges."""

COUNTS_UP: dict[str, tuple[int, ...]] = {
    "BASE": (2,),
    "BESSELJ": (0, 1),
    "BESSELK": (0, 1),
    "BESSELY": (0, 1),
    "BETA.INV": (1, 2),
    "BETAINV": (1, 2),
    "COMBIN": (0, 1),
    "COMBINA": (0, 1),
    "FACT": (0,),
    "FACTDOUBLE": (0,),
    "MULTINOMIAL": tuple(range(255)),
    "PERMUT": (0, 1),
}
"""The arguments up to whose number the engine counts, so that one of 10³⁰⁸ has no end."""

AGGREGATE_WITH_RANK = 14
"""The first function of AGGREGATE that is given a rank, beside one list: Microsoft's page of it."""
