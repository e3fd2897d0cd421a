"""Runs in Pyodide: answers calls as the main.py of a workbook in xlwings Lite does, and says what was loaded."""

import importlib
import importlib.util
import json
import os
import sys

sys.path.insert(0, "/packages")
os.environ |= {"XLWINGS_ON_SERVER": "true", "XLWINGS_LICENSE_KEY": "noncommercial"}

# A main.py that holds growcells is all there is of it.
main = importlib.import_module("main" if importlib.util.find_spec("main") else "growcells_addin.excel.functions")
heavy = [name for name in ("numpy", "scipy", "pandas", "pint") if name in sys.modules]

from xlwings import server  # noqa: E402

import growcells  # noqa: E402

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
