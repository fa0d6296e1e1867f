"""The Equation record: one declaration from which number, rearrangement and text come.

`relation` is text until somebody asks for symbols, so importing the records
imports no sympy.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from dataclasses import dataclass

from aquacalc.units import KINDS, show, si

#: What a formula raises where it has no real value; TypeError comes of comparing a complex number.
_NO_VALUE = (ValueError, ZeroDivisionError, OverflowError, TypeError)


@dataclass(frozen=True)
class Source:
    """Where a formula comes from.

    Parameters
    ----------
    primary : str
        The work that first gave it.
    read : str
        The work that was read for it here ("" when none was).
    status : {"read", "from memory", "derived", "common practice, no source"}
        "derived" is arithmetic from stated inputs or first principles.
    """

    primary: str
    read: str
    status: str


#: Keys that are Greek letters, alone or before an index.
_GREEK = (
    "alpha", "beta", "gamma", "delta", "epsilon", "eta", "theta", "kappa", "lambda", "mu", "nu", "rho",
    "sigma", "tau", "phi", "psi", "omega",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Symbol:
    """A quantity in a formula.

    Parameters
    ----------
    key, name, meaning : str
        Argument name, a word or two, a sentence.
    kind : str
        Key of `aquacalc.units.KINDS`.
    low, high : float
        Range in which the source holds, in the SI unit of the kind.
    why : str
        Why the range ends there.
    latex : str, optional
        How it is written, where that is not its key.
    default : float, optional
        SI value taken when none is given.
    """

    key: str
    name: str
    meaning: str
    kind: str
    low: float
    high: float
    why: str
    latex: str = ""
    default: float | None = None

    def __post_init__(self):
        if not self.latex:
            head, _, _ = self.key.partition("_")
            object.__setattr__(self, "latex", f"\\{self.key}" if head.lower() in _GREEK else self.key)


@dataclass(frozen=True, kw_only=True)
class Limit:
    """A range on a ratio of symbols, from `low` to `high`: `function` takes the values, `name` is "h/D"."""

    name: str
    function: Callable[[dict[str, float]], float]
    low: float
    high: float
    why: str

    @classmethod
    def ratio(cls, top: str, bottom: str, *, low: float, high: float, why: str) -> Limit:
        """Return the range of one symbol over another."""
        return cls(
            name=f"{top}/{bottom}",
            function=lambda values: values[top] / values[bottom],
            low=low,
            high=high,
            why=why,
        )

    def value(self, values: dict[str, float]) -> float:
        """Return the combination's value; infinity where it divides by zero."""
        try:
            return self.function(values)
        except ZeroDivisionError:
            return math.inf


@dataclass(frozen=True)
class RangeWarning:
    """A `value` (SI) beyond the `limit` (SI) of the range in which the source of an equation holds."""

    symbol: str
    value: float
    limit: float
    source: str
    text: str

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True, repr=False)
class Result:
    """A computed value in the SI unit of `kind`, with what stood outside its range."""

    symbol: str
    kind: str
    value: float
    warnings: tuple[RangeWarning, ...]
    name: str = ""

    def __repr__(self) -> str:
        """Say its name and value, and every warning on a line of its own."""
        said = f"{self.name or self.symbol}: {show(self.value, self.kind)}"
        return "\n".join([said, *(f"! {warning.text}" for warning in self.warnings)])


@dataclass(frozen=True)
class Choice:
    """The branch that a set of values falls into.

    Parameters
    ----------
    relation : str
        The formula of the branch.
    sentence : str
        Which branch it is and by which numbers.
    looked_up : tuple of (Symbol, float)
        Further values that the branch's relation uses.
    """

    relation: str
    sentence: str
    looked_up: tuple[tuple[Symbol, float], ...] = ()


@dataclass(frozen=True, kw_only=True)
class Equation:
    """A formula with its symbols, range and source.

    Parameters
    ----------
    key : str
        By default the name of `function`.
    title, topic : str
    relation : str
        "Q = C_d * A * sqrt(2*g*H)", in the order it is written on paper. It may
        be implicit in the first symbol.
    symbols : tuple of Symbol
        The first is the one that `function` returns, the others its arguments.
    function : callable
        Plain floats in, plain float out.
    source : Source
    assumptions : tuple of str
    choose : callable, optional
        values -> `Choice`, for a formula with branches or table values.
    limits : tuple of Limit
        Ranges on combinations of symbols, such as h/D.
    topic : str
        Set where the records are gathered.
    """

    title: str
    relation: str
    symbols: tuple[Symbol, ...]
    function: Callable[..., float]
    source: Source
    assumptions: tuple[str, ...] = ()
    choose: Callable[[dict[str, float]], Choice] | None = None
    limits: tuple[Limit, ...] = ()
    topic: str = ""
    key: str = ""

    def __post_init__(self):
        if not self.key:
            object.__setattr__(self, "key", self.function.__name__)
        given = {s.key for s in self.symbols[1:]}
        code = self.function.__code__
        taken = set(code.co_varnames[: code.co_argcount])
        if given != taken:
            raise ValueError(f"{self.key}: symbols {sorted(given)} are not the arguments {sorted(taken)}")

    @property
    def output(self) -> Symbol:
        """The symbol that `function` returns."""
        return self.symbols[0]

    def symbol(self, key: str) -> Symbol:
        """Return the symbol called `key`; ValueError with near names when there is none."""
        for symbol in self.symbols:
            if symbol.key == key:
                return symbol
        import difflib

        names = [s.key for s in self.symbols]
        near = difflib.get_close_matches(key, names, n=2) or names
        raise ValueError(f"{self.key} has no symbol {key!r}; use one of {', '.join(near)}")

    def complete(self, wanted: str, given: dict[str, float]) -> dict[str, float]:
        """Check the values for finding `wanted` and add the defaults.

        Raises
        ------
        ValueError
            For an unknown name, a missing value, or one that is not finite.
        """
        self.symbol(wanted)
        values = {s.key: s.default for s in self.symbols if s.default is not None and s.key != wanted}
        for key, value in given.items():
            symbol = self.symbol(key)
            if key == wanted:
                raise ValueError(f"{self.key}: {key} is what is wanted and cannot be given too")
            values[key] = si(value, symbol.kind, f"{self.key}: {key} ({symbol.name})")
        missing = [s.key for s in self.symbols if s.key != wanted and s.key not in values]
        if missing:
            raise ValueError(f"{self.key}: no value for {', '.join(missing)}; give it in SI units")
        return values

    def compute(self, **si: float) -> Result:
        """Evaluate the formula.

        Parameters
        ----------
        **si : float or str or pint.Quantity
            Value of each symbol: a number in its SI unit, text with a unit
            ("26.6 mm"), or a quantity; those with a default may be left out.

        Returns
        -------
        Result

        Raises
        ------
        ValueError
            For an unknown, missing or non-finite value, and where the formula
            has no real value.
        """
        values = self.complete(self.output.key, si)
        value = self._evaluate(values)
        return self._result(self.output, value, values | {self.output.key: value})

    def solve_for(self, key: str, **si: float) -> Result:
        """Find another symbol from the rest.

        The formula is rearranged where the symbol stands in it once; otherwise
        the value is bracketed within ten times the symbol's range and closed in
        on.

        Parameters
        ----------
        key : str
            The symbol wanted.
        **si : float or str or pint.Quantity
            The other symbols, the formula's own result included.

        Returns
        -------
        Result

        Raises
        ------
        ValueError
            As `compute`; also when no value, or more than one, fits.
        """
        if key == self.output.key:
            return self.compute(**si)
        values = self.complete(key, si)
        form = None if self.choose else self._rearranged(key)
        if form is not None:
            try:
                value = float(form(**values))
            except _NO_VALUE:
                value = math.nan
        else:
            value = self._bracketed(key, values)
        symbol = self.symbol(key)
        if not math.isfinite(value):
            raise ValueError(f"{self.key}: no value of {key} ({symbol.name}) fits the others")
        return self._result(symbol, value, values | {key: value})

    def _evaluate(self, values: dict[str, float]) -> float:
        arguments = {k: v for k, v in values.items() if k != self.output.key}
        try:
            value = self.function(**arguments)
        except _NO_VALUE:
            value = math.nan
        if isinstance(value, complex) or not math.isfinite(value):
            shown = ", ".join(f"{k} = {v:g}" for k, v in arguments.items())
            raise ValueError(f"{self.key}: the formula has no value at {shown}")
        return float(value)

    def _result(self, symbol: Symbol, value: float, values: dict[str, float]) -> Result:
        return Result(symbol.key, symbol.kind, value, self.out_of_range(values), symbol.name)

    def out_of_range(self, values: dict[str, float]) -> tuple[RangeWarning, ...]:
        """Warnings for the values that stand outside the range of the source."""
        checks = [(s.key, s.name, s.kind, values[s.key], s.low, s.high, s.why) for s in self.symbols]
        checks += [(m.name, m.name, "number", m.value(values), m.low, m.high, m.why) for m in self.limits]
        found = []
        for key, name, kind, value, low, high, why in checks:
            # A relative hair, so that a value read from text as its limit is inside.
            if low - 1e-12 * abs(low) <= value <= high + 1e-12 * abs(high):
                continue
            limit, side = (low, "below") if value < low else (high, "above")
            text = (
                f"{name} {show(value, kind, digits=4)} is {side} {show(limit, kind, digits=4)}, "
                f"the end of the range that {self.source.primary} holds for: {why}"
            )
            found.append(RangeWarning(key, value, limit, self.source.primary, text))
        return tuple(found)

    def _rearranged(self, key: str) -> Callable[..., float] | None:
        from aquacalc.equations import algebra

        return _rearranged(self.relation, key, algebra)

    def _bracketed(self, key: str, values: dict[str, float]) -> float:
        """Close in on the one value of `key` that gives the result wanted."""
        from scipy.optimize import brentq

        symbol = self.symbol(key)
        wanted = values[self.output.key]
        others = {k: v for k, v in values.items() if k != self.output.key}

        def gap(x: float) -> float:
            try:
                found = self.function(**others, **{key: x}) - wanted
            except _NO_VALUE:
                return math.nan
            return math.nan if isinstance(found, complex) else found

        roots = []
        grid = _grid(symbol)
        before, gap_before = grid[0], gap(grid[0])
        for x in grid[1:]:
            gap_x = gap(x)
            if gap_before == 0.0:
                roots.append(before)
            elif gap_before * gap_x < 0.0:
                roots.append(brentq(gap, before, x, xtol=1e-300, rtol=1e-14))
            before, gap_before = x, gap_x
        if len(roots) > 1:  # a root outside the range is no rival of one inside
            inside = [r for r in roots if not self.out_of_range(values | {key: r})]
            roots = inside or roots
        if len(roots) > 1:
            shown = " and ".join(show(r, symbol.kind, digits=5) for r in roots[:3])
            raise ValueError(f"{self.key}: more than one {key} ({symbol.name}) fits: {shown}")
        return roots[0] if roots else math.nan


@functools.lru_cache(maxsize=512)
def _rearranged(relation: str, key: str, algebra) -> Callable[..., float] | None:
    eq = algebra.isolate(algebra.parse(relation), key)
    return None if eq is None else algebra.numeric(eq.rhs)


def _grid(symbol: Symbol) -> list[float]:
    """Points to look for a change of sign at: the range, from 0 up, and ten times beyond."""
    low, high = symbol.low, symbol.high
    bottom, top = math.log10((low or high * 1e-6) / 10.0), math.log10(high * 10.0)
    return [0.0] * (low == 0.0) + [10.0 ** (bottom + (top - bottom) * i / 400) for i in range(401)]


def check_kinds(equations) -> None:
    """Raise ValueError for a symbol whose kind is not known."""
    for equation in equations:
        for symbol in equation.symbols:
            if symbol.kind not in KINDS:
                raise ValueError(f"{equation.key}: kind {symbol.kind!r} of {symbol.key} is not known")
