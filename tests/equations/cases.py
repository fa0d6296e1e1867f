"""Values that equations, tables and the engine's constants are held against, as data.

Tests run over them, and `python -m tests.regenerate evidence` writes them to
data/evidence.csv for the page that says what each number rests on. A case gives
the value as it is printed in its source, and says who gives it and how it came
here (`works.cite`, `works.own`, `works.practice`). The tolerance is half a unit
of the last printed digit unless one is stated.

To add one, put a line such as this into the file of its topic::

    Case("velocity_head", {"v": 66.8 * FT}, "69.3", "ft", cite(HI, "table 3.D.1", READ))

Where a book's number comes from several equations, give an input as
`Given("pipe_velocity", {"Q": ..., "D": ...})`: all of them are then held by it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from aquacalc.catalogue import data_dir, read_table
from aquacalc.equations import RECORDS
from aquacalc.evidence.engine import CONSTANTS as ENGINE
from aquacalc.evidence.given import Given
from aquacalc.evidence.kinds import OUTSIDE
from aquacalc.units import in_unit

from .works import Cited, refused

#: Tables that hold no data of their own: invented prices, and what this package was held against.
NOT_DATA = ("prices-demo", "evidence", "evidence-works", "evidence-system")


class Printed:
    """A value as printed somewhere: `printed`, `unit`, `cited`, `within`, `margin` and what `ours` gives."""

    @property
    def band(self) -> tuple[float, float]:
        """Lowest and highest value that agree, in `unit`."""
        if " to " in self.printed:
            low, high = (float(x) for x in self.printed.split(" to "))
            return low, high
        value = float(self.printed)
        if self.within:
            spread = abs(value) * self.within
        elif self.margin:
            spread = self.margin
        else:
            mantissa, _, power = self.printed.partition("e")
            decimals = len(mantissa.partition(".")[2])
            spread = 0.5 * 10.0 ** (int(power or 0) - decimals) * (1.0 + 1e-9)
        return value - spread, value + spread

    def off(self) -> str:
        """Say how our value misses the printed one, or "" when it agrees."""
        low, high = self.band
        ours = self.ours()
        if low <= ours <= high:
            return ""
        return (
            f"{self}: ours is {ours:.10g} {self.unit}, printed {self.printed} {self.unit} "
            f"({low:.10g} to {high:.10g} would agree)"
        )


@dataclass(frozen=True)
class Case(Printed):
    """One value for an equation.

    Parameters
    ----------
    equation : str
        Key of `RECORDS`.
    inputs : dict of str to float or Given
        SI values, or the result of another equation; the record's defaults fill in.
    printed : str
        The value as printed, or "0.03 to 0.09" for a band.
    unit : str
        Unit of `printed`.
    cited : Cited
        Who gives it, and how it came here.
    symbol : str
        The symbol that is computed; the equation's own result when "".
    within : float
        Relative tolerance instead of the printed digits.
    margin : float
        Absolute tolerance in `unit` instead of the printed digits.
    """

    equation: str
    inputs: dict[str, float | Given]
    printed: str
    unit: str
    cited: Cited
    symbol: str = ""
    within: float = 0.0
    margin: float = 0.0

    def __str__(self) -> str:
        return f"{self.given.call()} by {self.cited.text}"

    @property
    def given(self) -> Given:
        """The equation and what is put into it."""
        return Given(self.equation, self.inputs, self.symbol)

    @property
    def equations(self) -> set[str]:
        """Every equation that the value holds."""
        return set(self.given.equations())

    def ours(self) -> float:
        """Our value, in `unit`."""
        result = self.given.result()
        return in_unit(result.value, result.kind, unit=self.unit)[0]


@dataclass(frozen=True)
class Cell(Printed):
    """One value for a cell of a table in data/.

    `row` picks the row: {column: text}. `unit` is that of `printed`; "in"
    stands against a column in mm.
    """

    table: str
    row: dict[str, str]
    column: str
    printed: str
    unit: str
    cited: Cited
    within: float = 0.0
    margin: float = 0.0

    def __str__(self) -> str:
        return f"{self.table}, {', '.join(self.row.values())}: {self.column} by {self.cited.text}"

    def ours(self) -> float:
        """The table's own value, in `unit`."""
        value = next(r for r in read_table(self.table) if r.items() >= self.row.items())[self.column]
        return value / 25.4 if self.unit == "in" else value


@dataclass(frozen=True)
class Constant(Printed):
    """One value for the constant `name` of `aquacalc.evidence.engine`."""

    name: str
    printed: str
    cited: Cited
    within: float = 0.0
    margin: float = 0.0

    def __str__(self) -> str:
        return f"{self.name} by {self.cited.text}"

    @property
    def unit(self) -> str:
        """Unit of the constant."""
        return ENGINE[self.name].unit

    def ours(self) -> float:
        """Our value, in the constant's own unit."""
        return ENGINE[self.name].value()


@dataclass(frozen=True)
class Grid:
    """A reference library over the range of an equation.

    `points` yields (inputs, reference value) in SI; `within` is relative and
    `margin` absolute, the wider of the two holds.
    """

    equation: str
    cited: Cited
    points: Callable[[], Iterable[tuple[dict[str, float], float]]] = field(repr=False)
    within: float = 0.0
    margin: float = 0.0

    def __str__(self) -> str:
        return f"{self.equation} by {self.cited.text}"

    def differences(self) -> list[tuple[dict[str, float], float, float]]:
        """(inputs, reference, ours) of every point."""
        record = RECORDS[self.equation]
        return [(inputs, ref, record.compute(**inputs).value) for inputs, ref in self.points()]

    def off(self) -> str:
        """Say at which point ours misses the library's by most, or "" when all agree."""
        worst, said = 1.0, ""
        for inputs, ref, ours in self.differences():
            part = abs(ours - ref) / max(self.within * abs(ref), self.margin)
            if part > worst:
                worst = part
                said = f"{self} at {inputs}: ours is {ours:.10g}, the library's {ref:.10g}"
        return said


def numbered(cases: Iterable[Case | Cell | Constant | Grid]) -> dict[str, Case | Cell | Constant | Grid]:
    """Return each under a name of its own: what it holds, and its number among those on the same thing.

    "drain_time 3" is the third case on `drain_time` in the order of the files.
    """
    count: Counter[str] = Counter()
    found = {}
    for case in cases:
        subject = getattr(case, "equation", "") or getattr(case, "table", "") or case.name
        count[subject] += 1
        found[f"{subject} {count[subject]}"] = case
    return found


def complaints(cases: dict[str, Case | Cell | Constant | Grid]) -> list[str]:
    """List the cases whose source is none, each by name and number with the reason."""
    said = ((name, refused(case.cited)) for name, case in cases.items())
    return [f"{name}: {why}" for name, why in said if why]


def is_outside(case: Case | Cell | Constant | Grid) -> bool:
    """Whether somebody could look the value up."""
    return case.cited.kind in OUTSIDE


def data_tables() -> list[str]:
    """Names of the tables whose numbers the package takes."""
    return sorted(p.stem for p in data_dir().glob("*.csv") if p.stem not in NOT_DATA)


def source_key(row: dict, column: str) -> str:
    """Key of the source of a number in a table: the row's own, or that of its column ("grain_source")."""
    if "source" in row:
        return row["source"]
    return next(v for k, v in row.items() if k.endswith("_source") and k.removesuffix("_source") in column)


def all_cases() -> tuple[Case, ...]:
    """Every case, in the order of the topics."""
    from . import cases_flow, cases_losses, cases_mouths, cases_storage

    return (*cases_flow.CASES, *cases_losses.CASES, *cases_mouths.CASES, *cases_storage.CASES)


def all_cells() -> tuple[Cell, ...]:
    """Every value for a table."""
    from . import cases_fittings, cases_tables

    return (*cases_tables.CELLS, *cases_fittings.CELLS)


def all_constants() -> tuple[Constant, ...]:
    """Every value for a constant of the engine."""
    from . import cases_engine

    return cases_engine.CONSTANTS


def all_grids() -> tuple[Grid, ...]:
    """Every comparison with a reference library."""
    from . import grids

    return grids.GRIDS
