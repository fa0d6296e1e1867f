"""A record and its values as a worked calculation: formula, numbers, result.

The numbers of a row are in units that fit together (metre, kilogram, second;
or foot and second), so that a reader can check them on a calculator; the result
is given in the unit of the trade as well.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from aquacalc.equations import forms
from aquacalc.equations.record import Equation, RangeWarning, Symbol
from aquacalc.units import KINDS, show

#: Units that fit together in US calculations; a formula that needs any other kind is worked in SI.
_US = {
    "length": "ft",
    "area": "ft²",
    "volume": "ft³",
    "flow": "ft³/s",
    "velocity": "ft/s",
    "acceleration": "ft/s²",
    "time": "s",
    "lip coefficient": "ft^0.5/s",
    "number": "",
    "angle": "deg",
}
#: Formulas whose own numbers are in SI units, whatever the reader uses.
_SI_ONLY = ("stack_flow",)


class Working(NamedTuple):
    """The equation a number comes from.

    Attributes
    ----------
    equation : str
        Key of `aquacalc.equations.RECORDS`.
    values : dict of str to float
        SI value of every symbol but the one that is found.
    solve_for : str or None
        Symbol found; None for the equation's own result.
    """

    equation: str
    values: dict[str, float]
    solve_for: str | None = None


@dataclass(frozen=True)
class Worked:
    """A worked calculation.

    Parameters
    ----------
    title : str
    formula_latex, numbers_latex, result_latex : str
        The three rows, each a whole equation.
    formula_text, numbers_text, result_text : str
        The same in plain text.
    where : tuple of str
        A line for each symbol: what it is, its value in the unit of the trade.
    branch : str
        Which branch or table rows were taken and by which numbers; "" for none.
    warnings : tuple of RangeWarning
    value : float
        The result in SI.
    """

    title: str
    formula_latex: str
    numbers_latex: str
    result_latex: str
    formula_text: str
    numbers_text: str
    result_text: str
    where: tuple[str, ...]
    branch: str
    warnings: tuple[RangeWarning, ...]
    value: float

    @property
    def rows(self) -> tuple[str, str, str]:
        """The three rows in LaTeX, for a page that sets them one by one."""
        return self.formula_latex, self.numbers_latex, self.result_latex

    @property
    def text(self) -> str:
        """The calculation in plain text: branch, three rows, warnings."""
        lines = [self.branch] if self.branch else []
        lines += [self.formula_text, self.numbers_text, self.result_text]
        lines += [f"Warning: {w}" for w in self.warnings]
        return "\n".join(lines)

    def latex(self) -> str:
        """Return the three rows as one aligned block."""
        rows = [row.replace(" = ", " &= ", 1) for row in self.rows]
        return "\\begin{aligned}\n" + " \\\\\n".join(rows) + "\n\\end{aligned}"

    def _repr_latex_(self) -> str:
        return f"$$\n{self.latex()}\n$$"


def worked(
    equation: Equation, values: dict[str, float], system: str = "metric", for_symbol: str | None = None
) -> Worked:
    """Work an equation out step by step.

    Parameters
    ----------
    equation : Equation
    values : dict of str to float
        SI values of all symbols but the one wanted; defaults may be left out.
    system : {"metric", "us"}
    for_symbol : str, optional
        The symbol wanted; the equation's own result when not given.

    Returns
    -------
    Worked

    Raises
    ------
    ValueError
        As `Equation.compute` and `Equation.solve_for`.

    Examples
    --------
    >>> from aquacalc.equations import RECORDS
    >>> worked(RECORDS["choking_flow"], {"Fr": 0.55, "D": 0.0266}).result_text
    'Q = 0.0001561 m³/s = 9.37 L/min'
    """
    key = for_symbol or equation.output.key
    wanted = equation.symbol(key)
    result = equation.solve_for(key, **values)
    full = equation.complete(key, values) | {key: result.value}
    choice = equation.choose(full) if equation.choose else None
    looked_up = dict(choice.looked_up) if choice else {}
    symbols = [*equation.symbols, *looked_up]
    full |= {s.key: v for s, v in looked_up.items()}

    form = forms.form(choice.relation if choice else equation.relation, key)
    branch = choice.sentence if choice else ""
    if not form.closed:
        branch = f"{branch} {key} appears more than once, so it is found by trial.".strip()

    units = _units(equation.key, symbols, system)
    names = {s.key: s.latex for s in symbols}
    plain = {s.key: s.key for s in symbols}
    shown = {s.key: _number(full[s.key], s, units) for s in equation.symbols}
    shown |= {s.key: f"{value:.6g}" for s, value in looked_up.items()}
    numbers = {k: _bracketed_latex(v) for k, v in shown.items()}
    plain_numbers = {k: f"({v})" if " " in v or v.startswith("-") else v for k, v in shown.items()}
    for table, own in ((numbers, names), (plain_numbers, plain)):
        table[key] = own[key]

    fitting = _number(result.value, wanted, units)
    traded = show(result.value, wanted.kind, system)
    same_unit = fitting.partition(" ")[2] == traded.partition(" ")[2]
    parts = [traded] if same_unit else [fitting, traded]
    return Worked(
        title=equation.title,
        formula_latex=form.in_latex(names),
        numbers_latex=form.in_latex(numbers),
        result_latex=" = ".join([wanted.latex, *map(latex_quantity, parts)]),
        formula_text=form.in_text(plain),
        numbers_text=form.in_text(plain_numbers),
        result_text=" = ".join([plain[key], *parts]),
        where=tuple(
            f"{plain[s.key]}: {s.meaning}, {show(full[s.key], s.kind, system)}"
            for s in symbols
            if s.key != key
        ),
        branch=branch,
        warnings=result.warnings,
        value=result.value,
    )


def _units(key: str, symbols: list[Symbol], system: str) -> dict[str, str]:
    """Dimension -> unit for the row of numbers."""
    dimensions = {KINDS[s.kind].dimension for s in symbols}
    if system == "us" and dimensions <= set(_US) and key not in _SI_ONLY:
        return _US
    return {kind.dimension: kind.si for kind in KINDS.values()}


def fitting_units(equation: Equation, system: str, symbol: Symbol) -> str:
    """Return the unit of a symbol in the row of numbers."""
    return _units(equation.key, [*equation.symbols], system)[KINDS[symbol.kind].dimension]


def _number(value: float, symbol: Symbol, units: dict[str, str]) -> str:
    return fitting(value, symbol.kind, units[KINDS[symbol.kind].dimension])


def fitting(value: float, kind: str, unit: str) -> str:
    """Write an SI value with one more significant digit than a result has; zeros at the end dropped."""
    shown = show(value, kind, digits=KINDS[kind].digits + 1, unit=unit)
    number, _, unit = shown.partition(" ")
    mantissa, e, power = number.partition("e")
    if "." in mantissa:
        mantissa = mantissa.rstrip("0").rstrip(".")
    return f"{mantissa}{e}{power} {unit}".rstrip()


def _bracketed_latex(shown: str) -> str:
    bare = " " not in shown and "e" not in shown and not shown.startswith("-")
    return shown if bare else rf"\left({latex_quantity(shown)}\right)"


def latex_quantity(shown: str) -> str:
    """Turn "8.4e-5 m³/s" or "4 min 10 s" into LaTeX.

    Parameters
    ----------
    shown : str
        Text made by `aquacalc.units.show`.

    Returns
    -------
    str
    """
    pieces = []
    for word in shown.split(" "):
        if word[0].isdigit() or (word[0] == "-" and word[1:2].isdigit()):
            mantissa, e, power = word.partition("e")
            pieces.append(rf"{mantissa} \times 10^{{{power}}}" if e else mantissa)
        elif word == "degC" or word == "degF":
            pieces.append(rf"{{}}^{{\circ}}\mathrm{{{word[-1]}}}")
        elif word == "deg":
            pieces.append(r"{}^{\circ}")
        else:
            power = (
                word.replace("²", "^{2}").replace("³", "^{3}").replace("^0.5", "^{0.5}").replace("%", r"\%")
            )
            pieces.append(rf"\mathrm{{{power}}}")
    return r"\,".join(pieces)
