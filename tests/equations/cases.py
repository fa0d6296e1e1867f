"""Outside values that equations, tables and the engine's constants are held against, as data.

Tests run over them, and `tests.evidence` writes them to data/evidence.csv for
the page that says what each number rests on. A case gives the value as it is
printed in its source; the tolerance is half a unit of the last printed digit
unless one is stated.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from aquacalc.catalogue import data_dir, read_table
from aquacalc.equations import RECORDS
from aquacalc.evidence.engine import CONSTANTS as ENGINE
from aquacalc.units import in_unit

#: Works that the equations are held against: a word of each name as the sources give it.
WORKS = (
    "Hills", "Simpson", "Wyly", "FAO", "EN 12056", "King County", "Kalinske", "Bretherton", "Davies",
    "HEC-22", "fluids", "iapws", "Çengel", "Hydraulic Institute", "Crane", "Idelchik", "Rennels",
    "Choudhary", "J. Hydroinformatics", "Borda", "Machinery's Handbook", "steam tables",
)  # fmt: skip


#: Tables that hold no data of their own: invented prices, and what this package was held against.
NOT_DATA = ("prices-demo", "evidence", "evidence-system")


class Printed:
    """A value as printed somewhere: `printed`, `unit`, `within`, `margin` and what `ours` gives."""

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

    def agrees(self) -> bool:
        """Whether our value lies within the tolerance."""
        low, high = self.band
        return low <= self.ours() <= high


@dataclass(frozen=True)
class Case(Printed):
    """One value from outside for an equation.

    Parameters
    ----------
    equation : str
        Key of `RECORDS`.
    inputs : dict of str to float
        SI values; the record's defaults fill in.
    printed : str
        The value as printed, or "0.03 to 0.09" for a band.
    unit : str
        Unit of `printed`.
    source, status : str
        Who gives it; "read", "from memory", "derived" or "reference library".
    symbol : str
        The symbol that is computed; the equation's own result when "".
    within : float
        Relative tolerance instead of the printed digits.
    margin : float
        Absolute tolerance in `unit` instead of the printed digits.
    """

    equation: str
    inputs: dict[str, float]
    printed: str
    unit: str
    source: str
    status: str
    symbol: str = ""
    within: float = 0.0
    margin: float = 0.0

    def ours(self) -> float:
        """Our value, in `unit`."""
        record = RECORDS[self.equation]
        result = record.solve_for(self.symbol or record.output.key, **self.inputs)
        return in_unit(result.value, result.kind, unit=self.unit)[0]


@dataclass(frozen=True)
class Cell(Printed):
    """One value from outside for a cell of a table in data/.

    `row` picks the row: {column: text}. `unit` is that of `printed`; "in"
    stands against a column in mm.
    """

    table: str
    row: dict[str, str]
    column: str
    printed: str
    unit: str
    source: str
    status: str
    within: float = 0.0
    margin: float = 0.0

    def ours(self) -> float:
        """The table's own value, in `unit`."""
        value = next(r for r in read_table(self.table) if r.items() >= self.row.items())[self.column]
        return value / 25.4 if self.unit == "in" else value


@dataclass(frozen=True)
class Constant(Printed):
    """One value from outside for the constant `name` of `aquacalc.evidence.engine`."""

    name: str
    printed: str
    source: str
    status: str
    within: float = 0.0
    margin: float = 0.0

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
    source: str
    points: Callable[[], Iterable[tuple[dict[str, float], float]]] = field(repr=False)
    within: float = 0.0
    margin: float = 0.0
    status: str = "reference library"

    def differences(self) -> list[tuple[dict[str, float], float, float]]:
        """(inputs, reference, ours) of every point."""
        record = RECORDS[self.equation]
        return [(inputs, ref, record.compute(**inputs).value) for inputs, ref in self.points()]

    def worst(self) -> float:
        """Largest difference over what is allowed; agreement is 1 or less."""
        return max(
            abs(ours - ref) / max(self.within * abs(ref), self.margin) for _, ref, ours in self.differences()
        )

    def agrees(self) -> bool:
        """Whether every point lies within the tolerance."""
        return self.worst() <= 1.0


def data_tables() -> list[str]:
    """Names of the tables whose numbers the package takes."""
    return sorted(p.stem for p in data_dir().glob("*.csv") if p.stem not in NOT_DATA)


def all_cases() -> tuple[Case, ...]:
    """Every printed case, in the order of the topics."""
    from . import cases_flow, cases_losses, cases_storage

    return (*cases_flow.CASES, *cases_losses.CASES, *cases_storage.CASES)


def all_cells() -> tuple[Cell, ...]:
    """Every printed value for a table."""
    from . import cases_fittings, cases_tables

    return (*cases_tables.CELLS, *cases_fittings.CELLS)


def all_constants() -> tuple[Constant, ...]:
    """Every printed value for a constant of the engine."""
    from . import cases_engine

    return cases_engine.CONSTANTS


def all_grids() -> tuple[Grid, ...]:
    """Every comparison with a reference library."""
    from . import grids

    return grids.GRIDS
