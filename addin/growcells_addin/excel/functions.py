"""Every cell function of the registry, ready for xlwings.

In Excel on Windows this is the UDF module of the xlwings add-in. In xlwings Lite (Mac, web, Windows without
Python) the whole ``main.py`` of a workbook is ``from growcells_addin.excel.functions import *``.
"""

from growcells import functions

from .declare import declare

_DECLARED = {name: declare(function) for name, function in functions().items()}

__all__ = tuple(_DECLARED)

globals().update(_DECLARED)
