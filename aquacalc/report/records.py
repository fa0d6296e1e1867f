"""Records of the report's content, which text, JSON and page all show."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from aquacalc.design.advice import Advice
from aquacalc.design.closest import Turn
from aquacalc.equations.worked import Working
from aquacalc.findings import Finding
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.window import Window
from aquacalc.units import show

#: Kind of a value that is words and not a quantity.
TEXT = "text"


@dataclass(frozen=True)
class Row:
    """One labelled value.

    Parameters
    ----------
    key : str
        Name for programs, unlike any other in its section.
    label : str
    value : float or str or None
        In the SI unit of `kind`; words for the kind "text"; None when there is no such value.
    kind : str
        Key of `aquacalc.units.KINDS`, or "text".
    note : str
        What the value means to a grower.
    worked : Working or None
    low, high : float or None
        Band of a value that is uncertain, SI.
    """

    key: str
    label: str
    value: float | str | None
    kind: str
    note: str = ""
    worked: Working | None = None
    low: float | None = None
    high: float | None = None

    def shown(self, system: str) -> str:
        """Write the value, with its band if it has one, in the units of `system`."""
        text = shown(self.value, self.kind, system)
        if self.low is None or self.high is None:
            return text
        return f"{text} ({show(self.low, self.kind, system)} to {show(self.high, self.kind, system)})"


@dataclass(frozen=True)
class Column:
    """A column of a table: name for programs, heading, kind of its values."""

    key: str
    heading: str
    kind: str


@dataclass(frozen=True)
class Cell:
    """A value of a table, SI, with the equation it comes from."""

    value: float | str | None
    worked: Working | None = None


@dataclass(frozen=True)
class Line:
    """A row of a table: the name of what it is about, and one cell for each column."""

    name: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Table:
    """Values of several things of one sort; `about` heads the column of their names."""

    key: str
    title: str
    about: str
    columns: tuple[Column, ...]
    lines: tuple[Line, ...]
    note: str = ""


@dataclass(frozen=True)
class Section:
    """A part of the report: a title, a paragraph, rows and tables.

    `subject` is the siphon that it is about; "" when it is about the whole plan.
    """

    key: str
    title: str
    intro: str
    subject: str = ""
    rows: tuple[Row, ...] = ()
    tables: tuple[Table, ...] = ()


@dataclass(frozen=True, repr=False)
class Report:
    """All that is said about one plan.

    Parameters
    ----------
    plan : Plan
    run : SystemCycle
        With its trace, for the pictures.
    windows : tuple of Window
        One for each siphon, in the plan's order.
    findings : tuple of Finding
        Worst first.
    sections : tuple of Section
    verdict : {"works", "may or may not", "does not"}
        What the findings come to.
    advice : tuple of Advice
        Changes that were tried, the best first.
    turns : tuple of Turn
        Values at which the verdict turns, the closest first.
    """

    plan: Plan
    run: SystemCycle
    windows: tuple[Window, ...]
    findings: tuple[Finding, ...]
    sections: tuple[Section, ...]
    verdict: str
    advice: tuple[Advice, ...] = ()
    turns: tuple[Turn, ...] = ()

    def __repr__(self) -> str:
        """Say the verdict and what speaks against the plan."""
        return f"{self.plan.name}: {self.findings!r}"


def shown(value: Any, kind: str, system: str) -> str:
    """Write a value in the units of `system`; "-" when there is none."""
    if value is None:
        return "-"
    return str(value) if kind == TEXT else show(value, kind, system)
