"""A sweep over two plan values as regions: which plans work, and what is worst in the rest."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from aquacalc.figures import style as s
from aquacalc.figures.chart import shown
from aquacalc.figures.map_cells import edges
from aquacalc.plan.schema import TABLES
from aquacalc.units import KINDS

if TYPE_CHECKING:
    import pandas as pd

#: Fill of each verdict, and the hatches that tell its regions apart; dots would make a page of one heavy.
#: Plans that work with something to watch keep the colour and get a light hatch.
FILLS = {
    "works": ("#9ccbe8", ("", "/", "\\\\", "-", "+")),
    "may or may not": ("#f7e3b5", ("////", "\\\\\\\\", "++++", "--", "//")),
    "does not": ("#eaa77f", ("xxxx", "||||", "----", "\\\\", "xx")),
    "cannot be built": ("#ececec", ("",)),
    "not run": (s.PAPER, ("",)),
}
#: Name of the smallest regions of a verdict together.
REST = "something else"
#: What is said before a finding.
BEFORE = {"may or may not": "may or may not: ", "does not": "fails: "}
#: Name of the region of plans against which nothing speaks.
WORKS = "works"
#: Words for the outcomes of a sweep without findings, and their verdicts.
OUTCOMES = {
    "cycles": ("floods and drains", "works"),
    "spills": ("spills without starting", "does not"),
    "runs on": ("runs on without stopping", "does not"),
    "no inflow": ("does not flood", "does not"),
    "unsettled": ("does not settle", "does not"),
}


@dataclass(frozen=True)
class Axis:
    """One plan value of a sweep: its path, words and kind, and the values tried, in order of the axis."""

    path: str
    words: str
    kind: str | None
    values: tuple

    @property
    def at(self) -> list[float]:
        """Return where the values stand; names stand side by side."""
        return [float(v) for v in self.values] if self.kind else [float(k) for k in range(len(self.values))]

    def told(self, value, system: str) -> str:
        """Write one value; None has none, or differs from bed to bed."""
        if value is None:
            return "has no one value"
        counted = self.kind == "number" and isinstance(value, int)
        return str(value) if self.kind is None or counted else shown(float(value), self.kind, system)

    def place(self, value) -> float | None:
        """Return where a value stands on the axis; None off its ends."""
        if self.kind is None:
            return float(self.values.index(value)) if value in self.values else None
        ends = edges(self.at)
        return float(value) if value is not None and ends[0] <= value <= ends[-1] else None


@dataclass(frozen=True)
class Regions:
    """A sweep's table as a map.

    Attributes
    ----------
    x, y : Axis
    names : tuple of (str, str)
        (words, verdict) of each region: those that work first, those not run last.
    of : numpy.ndarray of int, shape (n, m)
        Region at each pair of values.
    """

    x: Axis
    y: Axis
    names: tuple[tuple[str, str], ...]
    of: np.ndarray

    @property
    def runs(self) -> int:
        """Return how many plans were run."""
        return sum(int((self.of == k).sum()) for k, n in enumerate(self.names) if n[1] != "not run")

    def label(self, region: int) -> str:
        """Return the words for a region."""
        words, verdict = self.names[region]
        if verdict == "works" and words not in (WORKS, OUTCOMES["cycles"][0]):
            return f"works; watch: {words}"
        return BEFORE.get(verdict, "") + words

    def at(self, x: float, y: float) -> int:
        """Return the region at the place (`x`, `y`) of the axes, in their units."""
        i, j = (int(np.searchsorted(edges(axis.at)[1:-1], v)) for axis, v in ((self.x, x), (self.y, y)))
        return int(self.of[i, j])

    def column(self, table: pd.DataFrame, name: str) -> np.ndarray:
        """Return a column of numbers over the map, shape (n, m); NaN where a plan does not cycle.

        Raises
        ------
        ValueError
            For a column that is not there, and where an axis has names.
        """
        if name not in table.columns:
            raise ValueError(f'the table has no column "{name}"; give one of its columns')
        if self.x.kind is None or self.y.kind is None:
            raise ValueError("lines need numbers on both axes; leave the lines out")
        cycles = table["outcome"] == "cycles"
        places = {"index": self.x.path, "columns": self.y.path}
        return (
            table.assign(**{name: table[name].where(cycles)})
            .pivot(**places, values=name)
            .reindex(index=self.x.values, columns=self.y.values)
            .to_numpy(dtype=float)
        )


def axis_of(path: str, values: Sequence) -> Axis:
    """Return the axis of a path of `aquacalc.plan.edit` over the values of a table's column."""
    parts = path.split(".")
    inner = f"{parts[0]}.{parts[-2]}" if len(parts) > 2 else ""
    table = TABLES[inner if inner in TABLES else parts[0]]
    key, name = table.key(parts[-1]), parts[1 : -2 if inner in TABLES else -1]
    owner = f"the {table.path.split('.')[-1]}"
    if name:
        who = f"every {parts[0]}" if name[0] == "*" else name[0]
        if parts[0] == "run" and name[0] != "*":
            who = f"the run from {who}"
        owner = f"{owner}, {who}" if inner in TABLES else who
    word = parts[-1].replace("_", " ")
    words = word if parts[0] == "plan" else f"{word} of {owner}"
    tried = list(dict.fromkeys(values))
    if any(isinstance(v, str) for v in tried):
        return Axis(path, words, None, tuple(tried))
    kind = key.kind if key is not None and key.kind in KINDS else "number"
    return Axis(path, words, kind, tuple(sorted(tried)))


def regions(table: pd.DataFrame) -> Regions:
    """Sort the plans of a sweep into regions.

    Parameters
    ----------
    table : pandas.DataFrame
        From `aquacalc.design.sweep.sweep`, over two paths; further paths may
        have one value only.

    Returns
    -------
    Regions
        With findings, a plan belongs to its worst one; without, to its outcome.

    Raises
    ------
    ValueError
        For a table that is no grid of two plan values; it says the fix.
    """
    x, y = _axes(table)
    of = np.full((len(x.values), len(y.values)), -1)
    column, row = ({v: k for k, v in enumerate(a.values)} for a in (x, y))
    kinds = [_kind(r) for r in table.to_dict("records")]
    names = _names(kinds)
    number = {name: k for k, name in enumerate(names)}
    for i, j, kind in zip(table[x.path].map(column), table[y.path].map(row), kinds, strict=True):
        if of[i, j] >= 0:
            raise ValueError(
                f"{x.path} = {x.values[i]} with {y.path} = {y.values[j]} is in the table twice; keep one row"
            )
        of[i, j] = number.get(kind, number.get((REST, kind[1])))
    empty = of < 0
    if 2 * empty.sum() > of.size:
        raise ValueError("the plans do not lie on a grid; make the table with `sweep`, not with single rows")
    if empty.any():
        of[empty] = len(names)
        names.append(("not run", "not run"))
    return Regions(x, y, tuple(names), of)


def _axes(table: pd.DataFrame) -> tuple[Axis, Axis]:
    columns = list(table.columns)
    if "outcome" not in columns:
        raise ValueError('the table has no column "outcome"; give the table that `sweep` returns')
    paths = columns[: columns.index("outcome")]
    if not len(table):
        raise ValueError("the table has no plans; let the sweep run longer")
    moved = [path for path in paths if table[path].nunique() > 1]
    if len(moved) < 2:
        only = f"only {moved[0]} varies" if moved else "nothing varies"
        raise ValueError(f"a map needs two plan values and {only}; give `sweep` two paths of several values")
    if len(moved) > 2:
        last = moved[-1]
        raise ValueError(
            f"a map shows two plan values and {len(moved)} vary ({', '.join(moved)}); keep one value of the "
            f'others, for example table[table["{last}"] == {table[last].tolist()[0]!r}]'
        )
    x, y = (axis_of(path, table[path].tolist()) for path in moved)
    return x, y


def _kind(row: dict) -> tuple[str, str]:
    """Return (words, verdict) of one row of a table."""
    if row["outcome"] == "cannot be built":
        return "cannot be built", "cannot be built"
    if "verdict" not in row:
        return OUTCOMES[row["outcome"]]
    worst = row["worst"]
    if not isinstance(worst, str) or not worst:  # a file gives NaN for an empty text
        return WORKS, "works"
    return worst[0].lower() + worst[1:], row["verdict"]


def _names(kinds: Sequence[tuple[str, str]]) -> list[tuple[str, str]]:
    """Return the regions by verdict, the largest first; the smallest together where hatches run out."""
    seen = Counter(kinds)
    names: list[tuple[str, str]] = []
    for verdict, (_, hatches) in FILLS.items():
        each = [name for name, _ in seen.most_common() if name[1] == verdict]
        each.sort(key=lambda name: name[0] != WORKS)
        if len(each) > len(hatches):
            each = [*each[: len(hatches) - 1], (REST, verdict)]
        names += each
    return names
