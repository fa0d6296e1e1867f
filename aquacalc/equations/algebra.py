"""Relations as sympy trees in their written order, and their rearrangement.

The only module that imports sympy; `record` and `worked` import it when asked
for a rearrangement or for LaTeX.
"""

from __future__ import annotations

import functools
import keyword
import re
from fractions import Fraction

import sympy
from sympy.core.function import Function
from sympy.printing.latex import LatexPrinter

_FUNCTIONS = ("sqrt", "log10", "exp", "sin", "cos", "tan", "asin", "acos", "atan", "pi")


class log10(Function):  # the name is what sympy prints and lambdify looks up
    """Common logarithm, kept as one name when printed."""

    nargs = 1

    def _latex(self, printer, exp=None):
        shown = rf"\log_{{10}}\left({printer._print(self.args[0])}\right)"
        return shown if exp is None else rf"\left({shown}\right)^{{{exp}}}"


@functools.lru_cache(maxsize=512)
def parse(relation: str) -> sympy.Eq:
    """Turn "Q = C_d * A * sqrt(2*g*H)" into an unevaluated `sympy.Eq`."""
    left, right = (side.strip() for side in relation.split("="))
    names = {
        n for n in re.findall(r"[A-Za-z_]\w*", relation) if n not in _FUNCTIONS and not keyword.iskeyword(n)
    }
    known = {n: sympy.Symbol(n, real=True) for n in names} | {"log10": log10}

    def tree(side: str):
        return _without_ones(sympy.parse_expr(side, local_dict=known, evaluate=False))

    return sympy.Eq(tree(left), tree(right), evaluate=False)


def _without_ones(node):
    """Drop the factor 1 that parsing puts in front of 1/x."""
    if not node.args or node.is_Rational:
        return node
    args = [_without_ones(a) for a in node.args]
    if node.is_Mul and args[0] == 1:
        args = args[1:]
        if len(args) == 1:
            return args[0]
    return node.func(*args, evaluate=False)


def isolate(eq: sympy.Eq, key: str) -> sympy.Eq | None:
    """Rearrange for `key` by undoing one operation after another.

    Returns
    -------
    sympy.Eq or None
        None when `key` stands more than once or under something with no single
        inverse.
    """
    target = sympy.Symbol(key, real=True)
    if _count(eq.lhs, target) + _count(eq.rhs, target) != 1:
        return None
    side, other = (eq.lhs, eq.rhs) if eq.lhs.has(target) else (eq.rhs, eq.lhs)
    with sympy.evaluate(False):
        while side != target:
            inside = next(a for a in side.args if a.has(target))
            rest = [a for a in side.args if a is not inside]
            if side.is_Add:
                for part in rest:
                    other = other - part
            elif side.is_Mul:
                other = _divide(other, rest)
            elif side.is_Pow and side.exp is inside:
                return None
            elif side.is_Pow:
                other = _root(other, side.exp)
            else:
                undone = _undo(side, other)
                if undone is None:
                    return None
                other = undone
            side = inside
    return sympy.Eq(target, other, evaluate=False)


def _count(expression, target) -> int:
    return sum(1 for node in sympy.preorder_traversal(expression) if node == target)


def _divide(value, factors):
    """`value` over the product of `factors`, written as one fraction."""
    below = [f for f in factors if not (f.is_Pow and f.exp == -1) and f != -1]
    above = [f.base for f in factors if f.is_Pow and f.exp == -1]
    tops = [f for f in (value, *above) if f != 1] or [value]
    top = sympy.Mul(*tops, evaluate=False) if len(tops) > 1 else tops[0]
    if sympy.Integer(-1) in factors:
        top = sympy.Mul(-1, top, evaluate=False)
    if not below:
        return top
    bottom = sympy.Mul(*below, evaluate=False) if len(below) > 1 else below[0]
    return sympy.Mul(top, sympy.Pow(bottom, -1, evaluate=False), evaluate=False)


def _root(value, exponent):
    """`value` to one over `exponent`, the exponent written as a fraction."""
    ratio = Fraction(float(exponent)).limit_denominator(1000)
    inverse = sympy.Rational(ratio.denominator, ratio.numerator)
    if inverse == -1 and value.is_Mul and any(f.is_Pow and f.exp == -1 for f in value.args):
        return _divide(sympy.Integer(1), list(value.args))
    return value if inverse == 1 else sympy.Pow(value, inverse, evaluate=False)


def _undo(side, value):
    inverse = {
        "log10": lambda v: sympy.Pow(10, v, evaluate=False),
        "exp": sympy.log,
        "sin": sympy.asin,
        "tan": sympy.atan,
        "atan": sympy.tan,
    }.get(side.func.__name__)
    return None if inverse is None else inverse(value)


def numeric(expression):
    """Plain-float function of an expression's own symbols, by keyword; others are ignored."""
    names = sorted(str(s) for s in expression.free_symbols)
    compiled = sympy.lambdify([sympy.Symbol(n, real=True) for n in names], expression, modules="math")

    def function(**values: float) -> float:
        return compiled(*(values[n] for n in names))

    return function


class _Printer(LatexPrinter):
    """Set exp on the line: a long exponent would be too small to read."""

    def _print_exp(self, expression, exp=None):
        shown = rf"\exp\left({self._print(expression.args[0])}\right)"
        return shown if exp is None else rf"\left({shown}\right)^{{{exp}}}"


def latex(expression, names: dict[str, str]) -> str:
    """LaTeX in the written order, each symbol as `names` says."""
    shown = {sympy.Symbol(key, real=True): name for key, name in names.items()}
    settings = {"symbol_names": shown, "order": "none", "mul_symbol": "dot"}
    return _Printer(settings).doprint(expression)


def text(expression, names: dict[str, str]) -> str:
    """One line of plain text in the written order, each symbol as `names` says."""
    if expression.is_Symbol:
        return names[str(expression)]
    if expression.is_Add:
        return _sum(expression, names)
    if expression.is_Mul:
        return _product(expression, names)
    if expression.is_Pow:
        return _power(expression, names)
    if expression.is_Function:
        return f"{expression.func.__name__}({', '.join(_inside(a, names) for a in expression.args)})"
    if expression.is_Float:
        return f"{float(expression):.15g}"
    return str(expression)


def _sum(expression, names) -> str:
    shown = ""
    for part in expression.args:
        minus = part.could_extract_minus_sign() and part.is_Mul and part.args[0] == -1
        body = sympy.Mul(*part.args[1:], evaluate=False) if minus else part
        piece = text(body, names)
        if (minus and body.is_Add) or (shown and piece.startswith("-")):
            piece = f"({piece})"
        shown += f" {'-' if minus else '+'} {piece}" if shown else f"{'-' if minus else ''}{piece}"
    return shown


def _product(expression, names) -> str:
    above = [a for a in expression.args if not _is_divisor(a)]
    below = [a.base for a in expression.args if _is_divisor(a)]
    top = " × ".join(_wrapped(a, names) for a in above) or "1"
    if above and above[0].is_Number:
        first = text(above[0], names)
        top = first + top.removeprefix(f"({first})").removeprefix(first)
    for part in below:
        top += f" / {_wrapped(part, names, tight=True)}"
    return top


def _power(expression, names) -> str:
    if expression.exp == sympy.Rational(1, 2):
        return f"sqrt({_inside(expression.base, names)})"
    if _is_divisor(expression):
        return f"1 / {_wrapped(expression.base, names, tight=True)}"
    return f"{_wrapped(expression.base, names, tight=True)}^{_wrapped(expression.exp, names, tight=True)}"


def _inside(expression, names) -> str:
    """Text between brackets that are already there."""
    shown = text(expression, names)
    return shown[1:-1] if expression.is_Symbol and shown.startswith("(") else shown


def _is_divisor(part) -> bool:
    return part.is_Pow and part.exp == -1


def _wrapped(part, names, tight: bool = False) -> str:
    """Bracket what would read wrongly inside a product, or (`tight`) as a divisor or under a power."""
    shown = text(part, names)
    negative = part.is_Number and part < 0
    fraction = part.is_Rational and not part.is_Integer
    if (
        part.is_Add
        or negative
        or fraction
        or (tight and (part.is_Mul or (part.is_Pow and not _is_root(part))))
    ):
        return f"({shown})"
    return shown


def _is_root(part) -> bool:
    return part.exp == sympy.Rational(1, 2)
