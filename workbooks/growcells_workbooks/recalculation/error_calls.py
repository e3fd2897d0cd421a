"""Calls that hide errors as the engine is given them: see ``rewriting.py``.

What is not computed is an error in the engine, of a number that no error of Excel has: ``number_formats.UNKNOWN``, and
what the engine itself does not have. A function that asks whether a value is an error, or takes another one in place
of it, would make a value of that.
"""

from __future__ import annotations

from .look_up_calls import searched
from .native_call import ONE_VALUE, NativeCall
from .number_formats import UNKNOWN

HIDES = frozenset(
    (
        "ERROR.TYPE",
        "IFERROR",
        "ISBLANK",
        "ISERR",
        "ISERROR",
        "ISLOGICAL",
        "ISNA",
        "ISNONTEXT",
        "ISNUMBER",
        "ISTEXT",
        "TYPE",
    )
)
PASSES_OVER = frozenset(("AGGREGATE", "COUNT", "LOOKUP", "MATCH", "XLOOKUP", "XMATCH"))
_ASKED, _ONE = "_xlpm.growasked", "_xlpm.growerror"
_LAST_OF_EXCEL = 100
"""A number above those of Excel's errors, and below those of the engine's own: Microsoft's page of ERROR.TYPE."""


def passed_on(call: NativeCall) -> str | None:
    """A call that passes on what is not computed; of a list it asks for each value, as the engine does for IFERROR
    alone, which is not computed of lists in which something may not be."""
    asks = call.of(_ASKED, *call.texts[1:]).text
    value = f"IF(IFERROR(ERROR.TYPE({_ASKED}),0)>{_LAST_OF_EXCEL},{_ASKED},{asks})"
    if call.forms[0] in ONE_VALUE:
        return f"_xlfn.LET({_ASKED},{call.texts[0]},{value})" if "(" in call.texts[0] else None
    if call.arrays and call.name.startswith("IS") and call.forms[0] in "ary":
        return f"_xlfn.MAP({call.texts[0]},_xlfn.LAMBDA({_ASKED},{value}))"
    return UNKNOWN if UNKNOWN in call.texts[0] else None


def of_computed(call: NativeCall) -> str | None:
    """A function that passes over errors in lists, not computed of a list in which something is not computed."""
    odd = [index for index, form in enumerate(call.forms) if form == "y" and UNKNOWN in call.texts[index]]
    if not odd:
        return None
    if len(odd) > 1 or call.name != "MATCH" or searched(call.name, call.forms, call.texts):
        return UNKNOWN
    texts = list(call.texts)
    texts[odd[0]] = _ASKED
    is_own = f"IF(ISERROR({_ONE}),ERROR.TYPE({_ONE})>{_LAST_OF_EXCEL},FALSE)"
    some_own = f"OR(_xlfn.MAP({_ASKED},_xlfn.LAMBDA({_ONE},{is_own})))"
    return f"_xlfn.LET({_ASKED},{call.texts[odd[0]]},IF({some_own},{UNKNOWN},{call.of(*texts).text}))"
