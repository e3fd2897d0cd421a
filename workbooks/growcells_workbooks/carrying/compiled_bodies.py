"""The body of a calculation as a formula: Python's own syntax tree, read statement by statement.

What a body may hold is what a formula can say: local names (LET), conditions that raise or return (IF), arithmetic,
comparisons, the functions of ``math``, and calls of other plain functions of growcells, which are compiled where they
are called. Whatever else stands there makes the function one that cannot be carried.
"""

from __future__ import annotations

import ast
import functools
import inspect
import math
import textwrap
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from growcells.cells.errors import GrowError
from growcells.chemistry.nutrient_bases import Nutrient
from growcells.no_answer import NoAnswer

from .nutrient_formulas import COLUMNS
from .shorter_formulas import guarded, let

NOTHING = '""'
"""What stands for Python's None in a formula."""


class NotNative(Exception):
    """A body that no formula can say; the text tells what stands in the way."""


OPERATORS: Mapping[type[ast.AST], str] = {
    ast.Add: "+",
    ast.Sub: "-",
    ast.Mult: "*",
    ast.Div: "/",
    ast.Pow: "^",
    ast.Eq: "=",
    ast.Is: "=",
    ast.NotEq: "<>",
    ast.IsNot: "<>",
    ast.Lt: "<",
    ast.LtE: "<=",
    ast.Gt: ">",
    ast.GtE: ">=",
}

FUNCTIONS: Mapping[str, str] = {
    "math.sqrt": "SQRT({0})",
    "math.acos": "ACOS({0})",
    "math.exp": "EXP({0})",
    "math.log": "LN({0})",
    "math.expm1": "GROWCELLS.EXPM1({0})",
    "math.log1p": "GROWCELLS.LOG1P({0})",
    "math.isfinite": "ISNUMBER({0})",
    "math.floor": "FLOOR.MATH({0})",
    "float": "{0}",
    "abs": "ABS({0})",
    "stats.beta.ppf": "BETA.INV({0},{1},{2})",
    "nearest_multiple": "GROWCELLS.NEAREST_MULTIPLE({0},{1})",
    "converted": "GROWCELLS.CONVERTED({0},{1},{2})",
    "percent_of": "GROWCELLS.PERCENT_OF({0},{1})",
    "stats.nbinom.ppf": "GROWCELLS.FAILURES({0},{1},{2})",
    "numpy.interp": "GROWCELLS.INTERPOLATED({0},{1},{2})",
    # A log carries what is weighed: of a liquid by volume its reading is an error.
    "alike": "{1}",
    "mass_of": "{0}",
    "of_density": "{0}",
    "check_alike": "TRUE",
}
"""What calls of libraries are in a formula, by how bodies write them."""

SEVERAL: Mapping[str, str] = {"max": "MAX", "min": "MIN"}

Scope = Mapping[str, object]
"""Local names of a body: the formula that each is, or a value known beforehand."""


class Formula(str):
    """A piece of a formula, which Python values known beforehand are told from.

    ``record`` names the table of which the piece gives a row, or is ``LIST`` for a text that lists
    figures and ``COLUMN`` for an array of numbers and blanks.
    """

    record: str = ""


def record_formula(piece: str, record: str) -> Formula:
    """A piece of a formula that stands for an object of Python."""
    formula = Formula(piece)
    formula.record = record
    return formula


LIST = "LIST"
COLUMN = "COLUMN"


def body_formula(calculation: Callable[..., object], arguments: Scope) -> str:
    """The formula of a calculation for these arguments. Raises NotNative."""
    return _Compiler(calculation).body(arguments)


@functools.cache
def _syntax_tree(calculation: Callable[..., object]) -> ast.FunctionDef:
    tree = ast.parse(textwrap.dedent(inspect.getsource(calculation))).body[0]
    if not isinstance(tree, ast.FunctionDef):
        raise NotNative("it is no plain function")
    return tree


class _Compiler:
    """Compiles one function; each function that it calls is compiled by another."""

    def __init__(self, calculation: Callable[..., object], depth: int = 0) -> None:
        self.tree = _syntax_tree(calculation)
        self.names: Mapping[str, object] = inspect.unwrap(calculation).__globals__
        self.depth = depth

    def body(self, arguments: Scope) -> str:
        return self.block(self.tree.body, arguments)

    def local(self, name: str) -> str:
        """The name by which a formula knows a local name; functions called have others than those that call them."""
        return f"{name}_{'in_' * self.depth}"

    def block(self, statements: Sequence[ast.stmt], scope: Scope) -> str:
        """What the statements return."""
        if not statements:
            return "TRUE"
        first, *rest = statements
        match first:
            case ast.Expr(value=ast.Constant()) | ast.Import() | ast.ImportFrom():
                return self.block(rest, scope)
            case ast.Return(value=value):
                return NOTHING if value is None else self.expression(value, scope)
            case ast.Raise(exc=ast.Call(func=raised)):
                return self.error(raised)
            case ast.If(test=test, body=body, orelse=orelse):
                return self.condition(test, [*body, *rest], [*orelse, *rest], scope)
            case ast.Expr(value=ast.Call() as call):
                checked = self.local("checked")
                passed = self.expression(call, scope)
                then = self.block(rest, scope)
                return guarded(passed, then) or let(checked, passed, f"IF(ISERROR({checked}),{checked},{then})")
            case ast.Assign(targets=[ast.Name(id=name)], value=value):
                return self.assigned(name, value, rest, scope)
            case ast.Assign(targets=[ast.Tuple(elts=targets)], value=value) if self.is_known(value, scope):
                known = self.known(value, scope)
                assert isinstance(known, tuple)
                found = {
                    target.id: part for target, part in zip(targets, known, strict=True) if isinstance(target, ast.Name)
                }
                return self.block(rest, {**scope, **found})
            case ast.Assign(targets=[ast.Tuple(elts=targets)], value=ast.Tuple(elts=values)) if len(targets) == len(
                values
            ):
                given = {target.id for target in targets if isinstance(target, ast.Name)}
                used = {part.id for value in values for part in ast.walk(value) if isinstance(part, ast.Name)}
                if given.isdisjoint(used):  # then one after the other is the same
                    each = [ast.Assign([target], value) for target, value in zip(targets, values, strict=True)]
                    return self.block([*each, *rest], scope)
        raise NotNative(f"its body has {ast.unparse(first).splitlines()[0]}")

    def assigned(self, name: str, value: ast.expr, rest: Sequence[ast.stmt], scope: Scope) -> str:
        several = self.sequence(value, scope)
        if several is not None:
            return self.block(rest, {**scope, name: several})
        filled = self.filled_cells(value, scope)
        if filled is not None:
            return self.block(rest, {**scope, name: filled})
        if self.is_known(value, scope):
            return self.block(rest, {**scope, name: self.known(value, scope)})
        local = self.local(name)
        while local in scope.values():  # a name given another value
            local += "again_"
        formula = self.expression(value, scope)
        if formula.isidentifier():  # another name for the same
            return self.block(rest, {**scope, name: formula})
        return let(local, formula, self.block(rest, {**scope, name: Formula(local)}))

    def sequence(self, value: ast.expr, scope: Scope) -> tuple[object, ...] | None:
        """The values of a tuple of local names, or a known part of it."""
        match value:
            case ast.Subscript(value=ast.Tuple(elts=parts), slice=ast.Slice(lower=lower, upper=upper)):
                ends = [None if end is None else self.known(end, scope) for end in (lower, upper)]
                first, last = (end if isinstance(end, int) else None for end in ends)
                return tuple(self.value(part, scope) for part in parts)[first:last]
        return None

    def value(self, node: ast.expr, scope: Scope) -> object:
        """What an expression is: a value known beforehand, a function, or a formula."""
        if isinstance(node, ast.Lambda):
            return Closure(self, node, scope)
        if isinstance(node, ast.Name) and node.id in scope:
            return scope[node.id]
        return self.known(node, scope) if self.is_known(node, scope) else self.expression(node, scope)

    def filled_cells(self, value: ast.expr, scope: Scope) -> object:
        """The column of which these are the cells that are not blank: sums and counts pass over blanks anyway."""
        match value:
            case ast.ListComp(
                elt=ast.Name(id=kept),
                generators=[
                    ast.comprehension(
                        target=ast.Name(id=each),
                        iter=ast.Name(id=column),
                        ifs=[ast.Compare(left=ast.Name(id=tested), ops=[ast.IsNot()])],
                    )
                ],
            ) if kept == each == tested and self.record(column, scope) == COLUMN:
                return scope[column]
        return None

    def condition(self, test: ast.expr, body: Sequence[ast.stmt], orelse: Sequence[ast.stmt], scope: Scope) -> str:
        if self.is_known(test, scope):
            return self.block(body if self.known(test, scope) else orelse, scope)
        return f"IF({self.expression(test, scope)},{self.block(body, scope)},{self.block(orelse, scope)})"

    def error(self, raised: ast.expr) -> str:
        """The error value that a cell shows for what is raised."""
        kind = self.known(raised, {})
        if inspect.isfunction(kind):  # one that makes the error
            kind = inspect.get_annotations(kind, eval_str=True)["return"]
        if isinstance(kind, type) and issubclass(kind, (NoAnswer, ArithmeticError)):
            return "#NUM!"
        code = getattr(kind, "code", None)
        if not isinstance(code, str):
            raise NotNative(f"it raises {ast.unparse(raised)}")
        return code

    def is_known(self, node: ast.expr, scope: Scope) -> bool:
        """Whether the value of an expression is the same in every call."""
        if any(isinstance(part, (ast.Lambda, ast.comprehension, ast.Starred)) for part in ast.walk(node)):
            return False
        names = {part.id for part in ast.walk(node) if isinstance(part, ast.Name)}
        if any(holds_formula(scope.get(name)) for name in names):
            return False
        return all(
            name in scope or name in self.names or name in ("float", "max", "min", "abs", "len") for name in names
        )

    def known(self, node: ast.expr, scope: Scope) -> object:
        code = compile(ast.Expression(node), "<body>", "eval")
        try:
            return eval(code, dict(self.names), dict(scope))  # our own code, which a body would run just so
        except (TypeError, ArithmeticError, GrowError, NoAnswer) as fault:
            raise NotNative(f"its body has {ast.unparse(node)}, which gives an error here") from fault

    def expression(self, node: ast.expr, scope: Scope) -> Formula:
        return Formula(self.said(node, scope))

    def said(self, node: ast.expr, scope: Scope) -> str:
        """An expression as a formula, in brackets wherever it may stand in another."""
        if self.is_known(node, scope):
            return constant(self.known(node, scope))
        match node:
            case ast.Name(id=name):
                return str(scope[name])
            case ast.BinOp(left=left, op=operator, right=right) if type(operator) in OPERATORS:
                return f"({self.said(left, scope)}{OPERATORS[type(operator)]}{self.said(right, scope)})"
            case ast.UnaryOp(op=ast.USub(), operand=operand):
                return f"(0-{self.said(operand, scope)})"
            case ast.UnaryOp(op=ast.Not(), operand=ast.Name(id=name)) if self.record(name, scope) == COLUMN:
                return f"(GROWCELLS.NUMBERS({scope[name]})=0)"
            case ast.Call(func=ast.Name(id="sum"), args=[ast.Name(id=name)]) if self.record(name, scope) == COLUMN:
                return f"SUM({scope[name]})"
            case ast.UnaryOp(op=ast.Not(), operand=operand):
                return f"NOT({self.said(operand, scope)})"
            case ast.BoolOp(op=operator, values=[first, *others]):
                # AND and OR of a spreadsheet compute all their values, also those that Python does not.
                rest = others[0] if len(others) == 1 else ast.BoolOp(operator, others)
                if self.is_known(first, scope):  # Python would not look at the rest where this decides
                    decides = bool(self.known(first, scope)) is isinstance(operator, ast.Or)
                    return constant(isinstance(operator, ast.Or)) if decides else self.said(rest, scope)
                kept = (self.said(first, scope), self.said(rest, scope))
                return (
                    f"IF({kept[0]},{kept[1]},FALSE)"
                    if isinstance(operator, ast.And)
                    else f"IF({kept[0]},TRUE,{kept[1]})"
                )
            case ast.IfExp(test=test, body=body, orelse=orelse) if self.is_known(test, scope):
                return self.said(body if self.known(test, scope) else orelse, scope)
            case ast.IfExp(test=test, body=body, orelse=orelse):
                return f"IF({self.said(test, scope)},{self.said(body, scope)},{self.said(orelse, scope)})"
            case ast.Compare():
                return self.comparison(node, scope)
            case ast.Call():
                return self.call(node, scope)
            case ast.Attribute(value=ast.Name(id=name), attr=attribute) if self.record(name, scope) in COLUMNS:
                record = self.record(name, scope)
                column = COLUMNS[record].index(attribute) + 1
                return f"INDEX(GROWCELLS.{record},{scope[name]},{column})"
            case ast.Subscript(value=ast.Name(id=name), slice=key) if self.record(name, scope) == LIST:
                return f"GROWCELLS.LISTED({scope[name]},{self.said(key, scope)})"
            case ast.Subscript() | ast.Attribute():
                return self.looked_up(node, scope)
        raise NotNative(f"its body has {ast.unparse(node)}")

    def record(self, name: str, scope: Scope) -> str:
        """What a local name stands for, where it is no number or text."""
        value = scope.get(name)
        return value.record if isinstance(value, Formula) else ""

    def looked_up(self, node: ast.expr, scope: Scope) -> str:
        """What depends only on what a key is in a mapping known beforehand: a choice among its values."""
        for part in ast.walk(node):
            if (
                isinstance(part, ast.Subscript)
                and self.is_known(part.value, scope)
                and not self.is_known(part.slice, scope)
            ):
                mapping = self.known(part.value, scope)
                if isinstance(mapping, Mapping) and len(mapping) < MOST_CHOICES:
                    choices = ",".join(
                        f"{constant(key)},{constant(self.known(_Put(part).visit(node), {**scope, PUT: value}))}"
                        for key, value in mapping.items()
                    )
                    return f"SWITCH({self.said(part.slice, scope)},{choices})"
        raise NotNative(f"its body has {ast.unparse(node)}")

    def comparison(self, node: ast.Compare, scope: Scope) -> str:
        said = []
        for left, operator, right in zip([node.left, *node.comparators], node.ops, node.comparators, strict=False):
            listed = isinstance(right, ast.Name) and self.record(right.id, scope) == LIST
            if isinstance(operator, (ast.In, ast.NotIn)) and listed:
                held = f"GROWCELLS.IS_LISTED({self.said(right, scope)},{self.said(left, scope)})"
                said.append(held if isinstance(operator, ast.In) else f"NOT({held})")
            elif isinstance(operator, (ast.In, ast.NotIn)) and self.is_known(right, scope):
                choices = self.known(right, scope)
                assert isinstance(choices, (tuple, Mapping))
                is_one = ",".join(f"{self.said(left, scope)}={constant(choice)}" for choice in choices)
                said.append(f"OR({is_one})" if isinstance(operator, ast.In) else f"NOT(OR({is_one}))")
            elif type(operator) in OPERATORS:
                said.append(f"{self.said(left, scope)}{OPERATORS[type(operator)]}{self.said(right, scope)}")
            else:
                raise NotNative(f"its body has {ast.unparse(node)}")
        return f"({said[0]})" if len(said) == 1 else f"AND({','.join(said)})"

    def call(self, node: ast.Call, scope: Scope) -> str:
        name = ast.unparse(node.func)
        match node:
            case ast.Call(func=ast.Name(id="brentq"), args=[ast.Lambda() as difference, low, high]):
                said = Closure(self, difference, scope).formula()
                return f"GROWCELLS.ROOT({said},{self.said(low, scope)},{self.said(high, scope)},{HALVINGS})"
            case ast.Call(
                func=ast.Name(id="any"),
                args=[
                    ast.GeneratorExp(elt=test, generators=[ast.comprehension(ast.Name(id=each), ast.Name(id=several))])
                ],
            ):
                parts = scope[several]
                assert isinstance(parts, tuple)
                tests = [self.said(test, {**scope, each: part}) for part in parts]
                return f"OR({','.join(tests)})" if tests else "FALSE"
        if node.keywords:
            raise NotNative(f"its body has {ast.unparse(node)}")
        if name in FUNCTIONS:
            form = FUNCTIONS[name]
            asked = (f"{{{place}}}" in form for place in range(len(node.args)))
            parts_said = (self.said(part, scope) if used else "" for part, used in zip(node.args, asked, strict=True))
            return form.format(*parts_said)
        if name in SEVERAL:
            return f"{SEVERAL[name]}({','.join(self.said(argument, scope) for argument in node.args)})"
        is_local = isinstance(node.func, ast.Name) and node.func.id in scope
        called = self.value(node.func, scope) if is_local or self.is_known(node.func, scope) else None
        given = [value for argument in node.args for value in self.arguments(argument, scope)]
        if isinstance(called, Closure):
            return called.called(given)
        if inspect.isfunction(called) and called.__module__.startswith("growcells"):
            return self.inlined(called, given)
        raise NotNative(f"its body calls {name}")

    def arguments(self, argument: ast.expr, scope: Scope) -> tuple[object, ...]:
        """What an argument of a call is, one with a star each of its parts."""
        if isinstance(argument, ast.Starred):
            several = self.value(argument.value, scope)
            assert isinstance(several, tuple)
            return several
        return (self.value(argument, scope),)

    def inlined(self, called: Callable[..., object], given: Sequence[object]) -> str:
        """The body of a function called, its arguments computed once."""
        inner = _Compiler(called, self.depth + 1)
        arguments: dict[str, object] = {}
        computed: list[tuple[str, str]] = []
        parameters = list(inspect.signature(called).parameters.values())
        for parameter, value in zip(parameters, given, strict=False):
            if isinstance(value, Formula) and not value.isidentifier():
                computed.append((inner.local(parameter.name), value))
                value = Formula(inner.local(parameter.name))
            arguments[parameter.name] = value
        for left_out in parameters[len(given) :]:
            arguments[left_out.name] = left_out.default
        body = inner.body(arguments)
        for name, formula in reversed(computed):
            body = let(name, formula, body)
        return body


class Closure:
    """A lambda of a body, with what its names stand for where it is written."""

    def __init__(self, compiler: _Compiler, node: ast.Lambda, scope: Scope) -> None:
        self.compiler, self.node, self.scope = compiler, node, scope
        self.names = [argument.arg for argument in node.args.args]

    def called(self, given: Sequence[object]) -> str:
        """Its body for these arguments."""
        return self.compiler.said(self.node.body, {**self.scope, **dict(zip(self.names, given, strict=True))})

    def formula(self) -> str:
        """It as a LAMBDA."""
        local = [Formula(f"{self.compiler.local(name)}sought_") for name in self.names]
        return f"LAMBDA({','.join([*local, self.called(local)])})"


HALVINGS = 100
"""Steps in which an interval is halved: to the last bit of the depth of a tank filled to 1e-14 of its height."""


def holds_formula(value: object) -> bool:
    """Whether a value, or a part of it, is known only when the formula is computed."""
    return isinstance(value, (Formula, Closure)) or (isinstance(value, tuple) and any(map(holds_formula, value)))


PUT = "put_"
MOST_CHOICES = 100
"""Keys of a mapping that are written out in a formula: our choice."""


class _Put(ast.NodeTransformer):
    """Puts a name in the place of a part of an expression; the expression itself stays as it is."""

    def __init__(self, part: ast.AST) -> None:
        self.part = part

    def visit(self, node: ast.AST) -> Any:
        if node is self.part:
            return ast.copy_location(ast.Name(PUT, ast.Load()), node)
        fields = {
            name: self.visit(value) if isinstance(value, ast.AST) else value for name, value in ast.iter_fields(node)
        }
        return ast.copy_location(type(node)(**fields), node)


def constant(value: object) -> str:
    """A value known beforehand as it stands in a formula."""
    if value is None:
        return NOTHING
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, str):
        return '"' + value.replace('"', '""') + '"'
    if isinstance(value, (int, float)) and math.isfinite(value):
        written = repr(value).removesuffix(".0").replace("e", "E")
        return f"({written})" if value < 0 else written
    if isinstance(value, Nutrient):
        return f'GROWCELLS.NUTRIENT("{value.symbol}")'
    if isinstance(value, tuple) and all(isinstance(part, (int, float)) for part in value):
        return "{" + ",".join(repr(part).removesuffix(".0") for part in value) + "}"
    raise NotNative(f"{value!r} has no form in a formula")
