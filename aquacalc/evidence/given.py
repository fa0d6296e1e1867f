"""What a value belongs to: an equation with its inputs, which may be results of other equations.

A worked example seldom stops at one formula. "The flow of an annulus" is
written `reynolds(v=mean_velocity(Q=1.2e-05, A=annulus_area(...)), ...)`, in
data/evidence.csv as here, and every equation in it is held by the one number
that the book prints.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass, field

from aquacalc.equations import RECORDS, Result


@dataclass(frozen=True)
class Given:
    """An equation and the values put into it.

    Parameters
    ----------
    equation : str
        Key of `RECORDS`.
    inputs : dict of str to float or Given
        SI values; the record's defaults fill in.
    symbol : str
        The symbol that is found; the equation's own result when "".
    """

    equation: str
    inputs: dict[str, float | Given] = field(default_factory=dict)
    symbol: str = ""

    def values(self) -> dict[str, float]:
        """Return the inputs as numbers, the inner equations worked out now."""
        return {k: v.result().value if isinstance(v, Given) else v for k, v in self.inputs.items()}

    def result(self) -> Result:
        """Work it out now."""
        record = RECORDS[self.equation]
        return record.solve_for(self.symbol or record.output.key, **self.values())

    def equations(self) -> Iterator[str]:
        """Yield the key of every equation in it, this one first."""
        yield self.equation
        for value in self.inputs.values():
            if isinstance(value, Given):
                yield from value.equations()

    def text(self) -> str:
        """Write the inputs as data/evidence.csv has them, numbers to ten digits."""
        return ", ".join(
            f"{k}={v.call() if isinstance(v, Given) else format(v, '.10g')}" for k, v in self.inputs.items()
        )

    def call(self) -> str:
        """Write equation and inputs."""
        name = f"{self.equation}.{self.symbol}" if self.symbol else self.equation
        return f"{name}({self.text()})"


def parse(call: str) -> Given:
    """Read what `Given.call` writes.

    Raises
    ------
    ValueError
        For text that is not an equation with named numbers.
    """
    return _given(ast.parse(call, mode="eval").body)


def _given(node: ast.expr) -> Given:
    if not isinstance(node, ast.Call) or node.args:
        raise ValueError(f"{ast.unparse(node)!r} is not an equation with named values")
    of, symbol = node.func, ""
    if isinstance(node.func, ast.Attribute):
        of, symbol = node.func.value, node.func.attr
    inputs = {
        str(word.arg): _given(word.value) if isinstance(word.value, ast.Call) else _number(word.value)
        for word in node.keywords
    }
    return Given(ast.unparse(of), inputs, symbol)


def _number(node: ast.expr) -> float:
    return float(ast.literal_eval(node))
