"""Runs in Pyodide: answers calls as the main.py of a workbook in xlwings Lite does, and says what was loaded."""

import json
import os
import sys

sys.path.insert(0, "/packages")
os.environ |= {"XLWINGS_ON_SERVER": "true", "XLWINGS_LICENSE_KEY": "noncommercial"}

import growcells

heavy = [name for name in ("numpy", "scipy", "pandas", "pint") if name in sys.modules]

from xlwings import server  # noqa: E402

import growcells_addin.excel.functions as main  # noqa: E402

answers = [
    await server.custom_functions_call(call, main)  # noqa: F704, PLE1142
    for call in calls_from_excel.to_py()  # noqa: F821
]
json.dumps(
    {
        "answers": answers,
        "functions": [entry["name"] for entry in server.custom_functions_meta(main)["functions"]],
        "heavy": heavy,
        "platform": sys.platform,
        "version": growcells.functions()["GROW_VERSION"].evaluate([]),
    }
)
