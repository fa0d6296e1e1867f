"""Equations, tables and constants against published values and reference libraries."""

from __future__ import annotations

from collections import Counter

import pytest

from aquacalc import catalogue
from aquacalc.equations import RECORDS
from aquacalc.evidence.engine import CONSTANTS as ENGINE

from .cases import WORKS, all_cases, all_cells, all_constants, all_grids, data_tables

CASES = all_cases()
GRIDS = all_grids()
CELLS = all_cells()
CONSTANTS = all_constants()


def named(case) -> str:
    return f"{case.equation}-{case.source[:30]}"


@pytest.mark.outside
@pytest.mark.parametrize("case", CASES, ids=named)
def test_printed_value(case):
    low, high = case.band
    assert low <= case.ours() <= high, case


@pytest.mark.outside
@pytest.mark.parametrize("table", sorted({c.table for c in CELLS}))
def test_printed_cells(table):
    for cell in (c for c in CELLS if c.table == table):
        low, high = cell.band
        assert low <= cell.ours() <= high, cell


@pytest.mark.outside
@pytest.mark.parametrize("constant", CONSTANTS, ids=lambda c: c.name)
def test_constants_of_the_engine(constant):
    low, high = constant.band
    assert low <= constant.ours() <= high, constant


@pytest.mark.identity
def test_every_constant_of_the_engine_has_an_outside_value():
    assert {c.name for c in CONSTANTS} == set(ENGINE)


@pytest.mark.identity
def test_every_column_of_every_table_has_an_outside_value():
    held = {(c.table, c.column) for c in CELLS}
    for table in data_tables():
        described = catalogue.sidecar(table)
        common = {k for k, s in described["source"].items() if s["status"] == "common practice, no source"}
        for column, about in described["columns"].items():
            rows = [
                r for r in catalogue.read_table(table) if about["unit"] != "text" and r[column] is not None
            ]
            if not rows or column == "parts":  # how many to buy is a count, no measured value
                continue
            # What common practice gives, without a source, cannot be held against one.
            if all(r.get("source") in common or r[column] == 0 for r in rows):
                continue
            assert (table, column) in held, (table, column)


@pytest.mark.identity
def test_every_size_of_pipe_and_every_fitting_has_an_outside_value():
    held = {(c.table, c.row.get("series"), c.row.get("size"), c.column) for c in CELLS}
    for row in catalogue.read_table("pipes"):
        for column in ("outside_diameter", "wall", "bore", "roughness"):
            assert ("pipes", row["series"], row["size"], column) in held
    named = {(c.row["name"], c.column) for c in CELLS if c.table == "fittings"}
    for row in catalogue.read_table("fittings"):
        column = "k_low" if row["k"] is None else "k"
        assert (row["name"], column) in named


@pytest.mark.outside
@pytest.mark.parametrize("grid", GRIDS, ids=named)
def test_reference_library(grid):
    points = grid.differences()
    assert len(points) >= 3
    for inputs, reference, ours in points:
        assert abs(ours - reference) <= max(grid.within * abs(reference), grid.margin), inputs


@pytest.mark.identity
def test_there_are_enough_cases_from_enough_sources():
    said = [c.source for c in CASES] + [g.source for g in GRIDS]
    found = {work: sum(work in s for s in said) for work in WORKS}
    by_equation = Counter(c.equation for c in CASES)
    grids = Counter(g.equation for g in GRIDS)
    assert all(found.values()), found
    assert len(found) >= 12
    assert len(CASES) >= 150
    assert all(by_equation[key] + grids[key] for key in RECORDS)


@pytest.mark.identity
def test_stated_tolerances_are_no_wider_than_a_twentieth():
    # A cell of a table may be as far off as its sources are from each other, which its reason says.
    for case in (*CASES, *CONSTANTS):
        low, high = case.band
        if case.within or case.margin:
            assert (high - low) / 2 <= 0.05 * abs(float(case.printed)), case
