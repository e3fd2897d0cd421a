"""Every cell function for the macros that growcells writes: an error is its code behind a mark, not a sentence."""

from growcells import functions

from .declare import CodedResult, declare

_DECLARED = {name: declare(function, CodedResult) for name, function in functions().items()}

__all__ = tuple(_DECLARED)

globals().update(_DECLARED)
