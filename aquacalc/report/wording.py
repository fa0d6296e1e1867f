"""Sections, rows and tables of the report in the words of `wording.toml`."""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from aquacalc.equations.worked import Working
from aquacalc.report.records import Cell, Column, Line, Row, Section, Table


@functools.cache
def words() -> dict[str, dict[str, dict[str, Any]]]:
    """Read the words: {"section" or "table": {key: its words}}."""
    return tomllib.loads(Path(__file__).with_name("wording.toml").read_text(encoding="utf-8"))


def rows_of(section: str) -> Callable[..., Row]:
    """Return `row` for one section."""
    return functools.partial(row, section)


def row(
    section: str,
    key: str,
    value: float | str | None,
    worked: Working | None = None,
    *,
    name: str = "",
    note: str | None = None,
    low: float | None = None,
    high: float | None = None,
    **put: object,
) -> Row:
    """Return a row of a section.

    Parameters
    ----------
    section, key : str
        Where its words are.
    value : float or str or None
    worked : Working, optional
    name : str
        Name for programs where that is not its key.
    note : str, optional
        Instead of the usual one.
    low, high : float, optional
        Band, SI.
    **put
        What is put into the words.
    """
    label, kind, *rest = words()["section"][section]["rows"][key]
    if note is None:
        note = "".join(rest).format(**put)
    return Row(name or key, label.format(**put), value, kind, note, worked, low, high)


def line(name: str, *values: Cell | float | str | None) -> Line:
    """Return a row of a table; values without an equation may be given bare."""
    return Line(name, tuple(v if isinstance(v, Cell) else Cell(v) for v in values))


def table(
    key: str, lines: Iterable[Line], *, name: str = "", note: str | None = None, **put: object
) -> Table:
    """Return a table; `name` is its name for programs, `note` what is said below, where not the usual."""
    said = words()["table"][key]
    columns = (
        Column(column, heading.format(**put), kind) for column, (heading, kind) in said["columns"].items()
    )
    if note is None:
        note = said.get("note", "").format(**put)
    return Table(name or key, said["title"].format(**put), said["about"], tuple(columns), tuple(lines), note)


def section(
    key: str,
    subject: str = "",
    *,
    rows: Iterable[Row] = (),
    tables: Iterable[Table] = (),
    name: str = "",
    **put: object,
) -> Section:
    """Return a section; `name` is its name for programs where that is not its key."""
    said = words()["section"][key]
    intro = said.get("intro", "").format(**put)
    return Section(name or key, said["title"], intro, subject, tuple(rows), tuple(tables))
