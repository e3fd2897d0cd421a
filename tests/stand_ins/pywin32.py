"""A stand-in for pywin32 and the Windows parts of ctypes: what xlwings asks for to load and to run a UDF.

Nothing here computes or converts: values pass through xlwings' own code only.
"""

from __future__ import annotations

import ctypes
import datetime
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from types import ModuleType, SimpleNamespace
from typing import Any
from unittest import mock


class ComError(Exception):
    """pywintypes.com_error"""


class Iid(str):
    """pywintypes.IID: compared without regard to case."""

    def __new__(cls, text: str) -> Iid:
        return super().__new__(cls, text.lower())


class PyIDispatch:
    """The raw interface type that pythoncom lists under IID_IDispatch."""


class ComClass:
    """win32com's dispatch classes: here only to be compared with."""


def _module(name: str, **attributes: Any) -> ModuleType:
    module = ModuleType(name)
    vars(module).update(attributes)
    return module


def _unwrap(value: object) -> object:
    raise ComError("not an object of this server")


def modules() -> dict[str, ModuleType]:
    """The stand-in modules by name."""
    dispatch = "{00020400-0000-0000-C000-000000000046}"
    client = _module(
        "win32com.client",
        CDispatch=ComClass,
        CoClassBaseClass=ComClass,
        DispatchBaseClass=ComClass,
        Dispatch=lambda xl, **_: xl,
        DispatchEx=mock.Mock(side_effect=ComError("no Excel here")),
    )
    util = _module("win32com.server.util", unwrap=_unwrap, wrap=lambda obj, *_, **__: obj)
    policy = _module("win32com.server.policy", DefaultPolicy=ComClass)
    dispatcher = _module("win32com.server.dispatcher")
    server = _module("win32com.server", util=util, policy=policy, dispatcher=dispatcher)
    found = (
        _module("pywintypes", TimeType=datetime.datetime, com_error=ComError, error=ComError, IID=Iid),
        _module(
            "pythoncom",
            __file__="pythoncom",
            CoInitialize=lambda: None,
            IID_IDispatch=dispatch,
            IID_IEnumVARIANT="{00020404-0000-0000-C000-000000000046}",
            TypeIIDs={dispatch: PyIDispatch},
            ole_error=ComError,
        ),
        _module("win32api"),
        _module("win32con"),
        _module("win32event"),
        _module("win32gui"),
        _module("win32process", GetWindowThreadProcessId=lambda window: (0, 1)),
        _module("win32timezone", TimeZoneInfo=SimpleNamespace(utc=lambda: datetime.UTC)),
        _module("win32com", client=client, server=server),
        client,
        server,
        util,
        policy,
        dispatcher,
    )
    return {module.__name__: module for module in found}


@contextmanager
def loadable() -> Iterator[None]:
    """While this lasts, the modules of pywin32 and the Windows names of ctypes can be imported."""
    found = modules()
    windows_only = {"oledll": mock.MagicMock(), "windll": mock.MagicMock(), "PyDLL": mock.MagicMock()}
    sys.modules.update(found)
    try:
        with mock.patch.multiple(ctypes, create=True, **windows_only):
            yield
    finally:
        # Only these: other modules loaded meanwhile, such as numpy, cannot be loaded twice.
        for name in found:
            sys.modules.pop(name, None)
