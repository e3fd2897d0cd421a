"""The calls of native functions in a formula: which uses of them have to be proven, which of them give many values."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .criteria_calls import criteria_of, is_no_number
from .doubtful_numbers import TAKES_NUMBERS
from .frames import Frame, Text
from .look_up_calls import NEAREST, searched
from .native import (
    ANYWHERE,
    FORCES_ARRAYS,
    GIVES_MANY,
    GIVES_ONE,
    GIVES_TEXT,
    HIDES_ERRORS,
    LOCATES,
    LOOKED_UP,
    MODES,
    RANDOM,
    SAME_MODES,
    TAKES_ONE_CELL,
)
from .native_call import NativeCall
from .operands import names_something, put_name
from .range_sizes import cut_ranges
from .readings import NOW_MARK, TODAY_MARK
from .rewriting import rewritten
from .text_calls import read_as_number
from .tokens import Kind, NotComputed, Token

if TYPE_CHECKING:
    from .formula_walk import Walk

_FORMS_TOLD_APART = 4  # argument positions; later ones count as the last two in turn, as in COUNTIFS
_CLOCK = {"NOW": NOW_MARK, "TODAY": TODAY_MARK}


def put_native_call(walk: Walk, frame: Frame, closing: str) -> None:
    """Put a call of a native function that has been read whole; raises NotComputed."""
    name, first, form = frame.name, frame.text(0).strip(), frame.form(0)
    if name in _CLOCK and form == "o" and len(frame.arguments) == 1:
        walk.clock = True
        walk.put(_CLOCK[name], "n")
        return
    if name == "INDIRECT" and form == "t" and names_something(walk, first[1:-1]):
        put_name(walk, Token(Kind.NAME, first[1:-1]))
        return
    cut_ranges(walk, frame)
    call = _call(walk, frame, closing)
    is_nearest = searched(name, call.forms, call.texts)
    _note_arrays(walk, call)
    _note_uses(walk, frame, call, is_nearest)
    _note_criteria(walk, frame, call)
    if name == "FORMULATEXT" and call.forms in (("t",), ("e",)):  # put in by constants.py
        walk.put(call.texts[0], "x")
        return
    if is_nearest:
        _note_search(walk, call)
    text = rewritten(call)
    many = _gives_many(call)
    walk.put(Text(text) if name in GIVES_TEXT and not many else text, "y" if many else "x")


def _call(walk: Walk, frame: Frame, closing: str) -> NativeCall:
    """The call with its arguments as they were read."""
    forms = tuple([frame.form(index) for index in range(len(frame.arguments))])
    texts = tuple([_argument(frame, index) for index in range(len(frame.arguments))])
    reader = walk.reader
    return NativeCall(
        frame.name,
        frame.head,
        texts,
        () if forms == ("o",) else forms,
        closing,
        reader.days_before,
        reader.book.of_macintosh,
        walk.arrays or walk.is_forced(),
    )


def _argument(frame: Frame, index: int) -> str:
    """An argument, not computed where it is a text that the function takes for a number and another program may not."""
    text = frame.text(index)
    return read_as_number(text) if frame.name in TAKES_NUMBERS and frame.is_text(index) else text


def _note_arrays(walk: Walk, call: NativeCall) -> None:
    """Note whether the engine has to compute on arrays; raises NotComputed where Excel takes one cell of a range."""
    if call.name in FORCES_ARRAYS and "y" in call.forms:
        walk.as_array = True
    elif call.name == "IF" and call.forms[:1] in (("r",), ("h",)) and not walk.arrays and not walk.is_forced():
        raise NotComputed(TAKES_ONE_CELL)


def _note_uses(walk: Walk, frame: Frame, call: NativeCall, is_nearest: bool) -> None:
    """Note the function with the forms of its arguments, which have to be proven, and what its value hangs on."""
    name, forms = call.name, call.forms
    walk.random |= name in RANDOM
    walk.anywhere |= name in ANYWHERE
    number = str(len(forms)) if len(forms) <= _FORMS_TOLD_APART else "more"
    walk.uses.add((name, 0, NEAREST if is_nearest else number))
    for index, form in enumerate(forms):
        if index in MODES.get(name, ()) and form in ("n", "-n", "+n", "t", "l", "o"):
            mode = call.texts[index].strip().upper()
            mode = SAME_MODES.get(name, {}).get(mode, mode)
            if mode:
                walk.uses.add((name, index + 1, f"={mode}"))
            if mode or form != "o":
                continue
        position = index + 1 if index < _FORMS_TOLD_APART else _FORMS_TOLD_APART - 1 + index % 2
        use = name, position, walk.in_context(form)
        walk.uses.add(use)
        if name in TAKES_NUMBERS and form in "ct":
            walk.note_numbers(frame, index)
        if form in ("c", "r"):
            walk.operands.append((use, frame.areas[index][-1]))
            if name in LOCATES:
                walk.located.add(frame.areas[index][-1])


def _note_criteria(walk: Walk, frame: Frame, call: NativeCall) -> None:
    """Note the references that are asked for what may be a number, of which the engine takes no text for one."""
    for index in criteria_of(call):
        form = call.forms[index]
        is_text = is_no_number(call.texts[index].strip()[1:-1]) if form == "t" else frame.is_text(index)
        if call.forms[index - 1] in "cr" and not is_text:
            walk.asked.append((frame.areas[index - 1][-1], frame.areas[index][-1] if form == "c" else None))


def _note_search(walk: Walk, call: NativeCall) -> None:
    """Note what a call that looks for the nearest smaller value looks through; raises NotComputed."""
    if any(outer.name in HIDES_ERRORS for outer in walk.frames):
        raise NotComputed("it hides whether a look-up of the nearest smaller value can be computed")
    if call.forms[1] == "r":
        walk.searches.append(call.texts[1].rpartition("!")[2].strip(" ()"))


def _gives_many(call: NativeCall) -> bool:
    """Whether a call may give several values."""
    name, forms = call.name, call.forms
    if name in GIVES_MANY:
        return True
    if name not in LOOKED_UP:
        return name not in GIVES_ONE and any(form in "rayh" for form in forms)
    whole = name == "INDEX" and ("o" in forms[1:3] or "0" in [text.strip() for text in call.texts[1:3]])
    return whole or any(index < len(forms) and forms[index] in "rayh" for index in LOOKED_UP[name])
