"""Formulas that say the same in less: an engine copies the formula under a name for each call."""

from __future__ import annotations

import ast
import math
import re
from collections.abc import Iterator, Mapping

from .flat_lets import arguments_of

Bounds = tuple[float, float]
"""The least and the greatest that a value may be."""

ANYTHING: Bounds = (-math.inf, math.inf)
ERROR = "error_"
"""What stands for an error value where a formula is read as an expression of Python."""
ROUNDINGS = 1e-14
"""Nearer to a whole number than this, a product of constants is that number, which a few roundings missed; ours."""

_SIGNS = {"<>": "!=", "=": "==", "^": "**"}


def parts_of(formula: str, function: str) -> list[str]:
    """The arguments of a call of a function, or none where a formula is not one such call as a whole."""
    if not formula.startswith(f"{function}("):
        return []
    *parts, end = arguments_of(formula, len(function) + 1)
    return [str(part) for part in parts] if end == len(formula) else []


def let(name: str, value: str, formula: str) -> str:
    """A formula with a local name, in one LET with the names that the formula has."""
    inner = parts_of(formula, "LET")
    if inner and name not in inner[:-1:2]:
        return f"LET({','.join([name, value, *inner])})"
    return f"LET({name},{value},{formula})"


def guarded(check: str, formula: str) -> str:
    """A formula behind a check, which is TRUE or gives an error; or nothing where the check is of another form."""
    if check == "TRUE":
        return formula
    match parts_of(check, "IF"):
        case [test, error, rest] if error.startswith("#"):
            inner = guarded(rest, formula)
            return inner and f"IF({test},{error},{inner})"
    return ""


def tree(formula: str) -> ast.expr | None:
    """A formula as an expression of Python, or None where it has no such form."""
    said = re.sub(r"#[A-Z/0!?]+", ERROR, formula)
    said = re.sub(r"[<>]=|<>|=|\^", lambda sign: _SIGNS.get(sign[0], sign[0]), said)
    try:
        return ast.parse(said, mode="eval").body
    except SyntaxError:
        return None


def folded(formula: str) -> str:
    """A product or quotient with its constants made one; any other formula as it is."""
    parsed = tree(formula)
    factors = list(_factors(parsed, 1)) if parsed else [None]
    if None in factors:
        return formula
    known = math.prod(factor**power for factor, power in filter(None, factors) if isinstance(factor, float))
    above = [factor for factor, power in filter(None, factors) if isinstance(factor, str) and power > 0]
    below = [factor for factor, power in filter(None, factors) if isinstance(factor, str) and power < 0]
    divides = known < 1 and _whole(1 / known).is_integer()
    number = _whole(1 / known if divides else known)
    if number != 1 or not above:
        (below if divides else above).append(repr(number).removesuffix(".0").replace("e", "E"))
    return "/".join(["*".join(above or ["1"]), *below])


def _whole(number: float) -> float:
    """A number, or the whole one that it misses by roundings."""
    return float(round(number)) if abs(round(number) / number - 1) < ROUNDINGS else number


def _factors(node: ast.expr, power: int) -> Iterator[tuple[float | str, int] | None]:
    """The factors of a product, each with 1 where it multiplies and -1 where it divides, None for what is none."""
    match node:
        case ast.Constant(value=(int() | float()) as number) if number > 0:
            yield float(number), power
        case ast.Name(id=name) if name != ERROR:
            yield name, power
        case ast.BinOp(left=left, op=ast.Mult(), right=right):
            yield from (*_factors(left, power), *_factors(right, power))
        case ast.BinOp(left=left, op=ast.Div(), right=right):
            yield from (*_factors(left, power), *_factors(right, -power))
        case ast.BinOp(left=base, op=ast.Pow(), right=ast.Constant(value=2)):
            yield from (*_factors(base, power), *_factors(base, power))
        case _:
            yield None


def bounds(node: ast.expr, known: Mapping[str, Bounds]) -> Bounds:
    """What a formula may be, given what its names may be; errors apart."""
    match node:
        case ast.Constant(value=(int() | float()) as number):
            return float(number), float(number)
        case ast.Name(id=name):
            return known.get(name, ANYTHING)
        case ast.BinOp(left=left, op=operator, right=right):
            return _combined(operator, bounds(left, known), bounds(right, known))
        case ast.Call(func=ast.Name(id="IF"), args=[_, *branches]):
            given = [bounds(branch, known) for branch in branches if not is_error(branch)]
            return min(low for low, _ in given), max(high for _, high in given)
        case ast.Call(func=ast.Name(id="LET"), args=[ast.Name(id=name), value, *rest]):
            inner = {**known, name: bounds(value, known)}
            return bounds(rest[0] if len(rest) == 1 else ast.Call(node.func, rest, []), inner)
        case ast.Call(func=ast.Name(id="MAX"), args=parts):
            each = [bounds(part, known) for part in parts]
            return max(low for low, _ in each), max(high for _, high in each)
        case ast.Call(func=ast.Name(id="EXP" | "SQRT")):
            return 0.0, math.inf
    return ANYTHING


def is_error(node: ast.expr) -> bool:
    """Whether it is an error value."""
    return isinstance(node, ast.Name) and node.id == ERROR


def _combined(operator: ast.operator, left: Bounds, right: Bounds) -> Bounds:
    found = _of_two(operator, left, right)
    return ANYTHING if any(map(math.isnan, found)) else found


def _of_two(operator: ast.operator, left: Bounds, right: Bounds) -> Bounds:
    match operator:
        case ast.Add():
            return left[0] + right[0], left[1] + right[1]
        case ast.Sub():
            return left[0] - right[1], left[1] - right[0]
        case ast.Mult():
            corners = [0.0 if 0 in (one, other) else one * other for one in left for other in right]
            return min(corners), max(corners)
        case ast.Div() if left[0] >= 0 and right[0] >= 0:  # nothing is divided by zero without an error
            return 0.0, math.inf
        case ast.Pow() if left[0] >= 0:
            return 0.0, math.inf
    return ANYTHING
