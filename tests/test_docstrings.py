"""The docstrings of the calculations: units, source, and examples that run."""

from __future__ import annotations

import doctest
import importlib
import pkgutil
import re
from types import ModuleType

import pytest

import growcells
from growcells import CellFunction, functions

MODULES = [
    growcells,
    *(importlib.import_module(module.name) for module in pkgutil.walk_packages(growcells.__path__, "growcells.")),
]
FUNCTIONS = list(functions().values())
UNIT = re.compile(r"\[[^\]]+\]| unit |``OK``|version")
"""A unit in brackets, or words that say whose unit it is."""


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_examples_run(module: ModuleType) -> None:
    failed, _ = doctest.testmod(module, optionflags=doctest.ELLIPSIS)
    assert failed == 0


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.name)
def test_a_calculation_tells_its_units_its_source_and_an_example(function: CellFunction) -> None:
    told = function.calculation.__doc__ or ""
    ours, _, declared = told.partition("\n    Formula: ")
    assert UNIT.search(ours) or function.name == "GROW_BLEND"
    assert f"Source: {function.source}." in declared and f"In cells: {function.name}." in declared
    examples = doctest.DocTestParser().get_examples(told)
    assert any(f"{function.calculation.__name__}(" in example.source for example in examples)


def test_the_decorator_returns_the_function_itself() -> None:
    for function in FUNCTIONS:
        module = importlib.import_module(function.calculation.__module__)
        assert getattr(module, function.calculation.__name__) is function.calculation
