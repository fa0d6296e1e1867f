"""Equations, tables and constants against what their cases give, each failure by name and number."""

from __future__ import annotations

from collections import Counter

import pytest

from aquacalc import catalogue
from aquacalc.equations import RECORDS
from aquacalc.evidence.engine import CONSTANTS as ENGINE
from aquacalc.evidence.given import Given, parse
from aquacalc.evidence.kinds import COUNTED, LIBRARY, MEANING, OWN, READ, RECOMPUTED, best

from .cases import (
    Case,
    all_cases,
    all_cells,
    all_constants,
    all_grids,
    complaints,
    data_tables,
    is_outside,
    numbered,
    source_key,
)
from .works import HI, Cited, Work, cite, own, works

CASES = numbered(all_cases())
GRIDS = numbered(all_grids())
CELLS = numbered(all_cells())
CONSTANTS = numbered(all_constants())


def outside_or_not(named):
    """Parameters of a test: what somebody could look up is `outside`, the rest an identity."""
    return [
        pytest.param(name, id=name, marks=pytest.mark.outside if is_outside(case) else pytest.mark.identity)
        for name, case in named.items()
    ]


@pytest.mark.parametrize("name", outside_or_not(CASES))
def test_value_of_an_equation(name):
    assert CASES[name].off() == ""


@pytest.mark.parametrize("name", outside_or_not(CONSTANTS))
def test_constants_of_the_engine(name):
    assert CONSTANTS[name].off() == ""


@pytest.mark.outside
@pytest.mark.parametrize("table", sorted({c.table for c in CELLS.values()}))
def test_cells_that_can_be_looked_up(table):
    held = {n: c for n, c in CELLS.items() if c.table == table and is_outside(c)}
    if table == "media":  # no open table of loose media was found
        assert held == {}
    assert [f"{n}: {c.off()}" for n, c in held.items() if c.off()] == []


@pytest.mark.identity
def test_cells_of_our_own_arithmetic_or_of_common_practice():
    assert [f"{n}: {c.off()}" for n, c in CELLS.items() if not is_outside(c) and c.off()] == []


@pytest.mark.outside
@pytest.mark.parametrize("name", GRIDS)
def test_reference_library(name):
    grid = GRIDS[name]
    assert grid.cited.kind == LIBRARY
    assert len(grid.differences()) >= 3
    assert grid.off() == ""


@pytest.mark.identity
@pytest.mark.parametrize("named", [CASES, GRIDS, CELLS, CONSTANTS], ids=["cases", "grids", "cells", "engine"])
def test_every_source_can_be_looked_up(named):
    assert complaints(named) == []


@pytest.mark.identity
def test_works_are_named_in_full_and_used():
    used = {c.cited.work for named in (CASES, GRIDS, CELLS, CONSTANTS) for c in named.values()}
    for work in works():
        assert work.author
        assert work.title
        assert work.published
        assert set(work.kinds) <= set(MEANING), work
        assert work in used, f"{work.title} is listed and not used"


INVENTED = Work("A. Smith", "Handbook of Siphons", "2021", (READ,))


@pytest.mark.identity
@pytest.mark.parametrize(
    ("cited", "why"),
    [
        (cite(INVENTED, "table 3", READ), "'Handbook of Siphons' is not in tests/equations/works.py"),
        (cite(Work("", "Handbook of Siphons", "2021", (READ,)), "table 3", READ), "the work has no author"),
        (cite(Work("A. Smith", " ", "2021", (READ,)), "table 3", READ), "the work has no title"),
        (cite(HI, "", READ), "no section or table of 'Engineering Data Book' is named"),
        (cite(HI, "table 3.D.1", RECOMPUTED), "not as published (recomputed)"),
        (Cited(None, "handbooks", READ), "names no work"),
        (Cited(HI, "table 3.D.1", OWN), "own arithmetic names a work"),
        (own(""), "does not say from what"),
        (cite(HI, "table 3.D.1", "read"), "kind 'read' is not known"),
    ],
    ids=lambda x: x if isinstance(x, str) else "",
)
def test_an_invented_case_is_refused_by_name_and_number(cited, why):
    right = Case("velocity_head", {"v": 1.0}, "0.051", "m", own("one over 2 g"))
    invented = Case("velocity_head", {"v": 2.0}, "0.204", "m", cited)
    assert invented.off() == ""  # its number is right; only its source is not
    (said,) = complaints(numbered([right, invented]))
    assert said.startswith("velocity_head 2: ")
    assert why in said


@pytest.mark.identity
def test_a_value_that_is_off_is_said_with_case_and_number():
    wrong = Case("velocity_head", {"v": 66.8 * 0.3048}, "70.3", "ft", cite(HI, "table 3.D.1", READ))
    said = wrong.off()
    assert said.startswith("velocity_head(v=20.36064) by Hydraulic Institute, Engineering Data Book, table")
    assert "ours is 69.345" in said
    assert "printed 70.3 ft (70.25 to 70.35 would agree)" in said


@pytest.mark.identity
def test_a_chain_is_written_and_read_back():
    chain = next(c.given for c in CASES.values() if "annulus_area" in c.equations and len(c.equations) > 1)
    again = parse(chain.call())
    assert set(again.equations()) == {
        "reynolds", "mean_velocity", "annulus_area", "annulus_diameter", "kinematic_viscosity",
    }  # fmt: skip
    assert again.result().value == pytest.approx(chain.result().value, rel=1e-9)
    turned = Given(
        "hole_area", {"A_o": Given("strainer_head", {"Q": 0.058, "H": 0.2}, "A_o"), "d": 0.01}, "n"
    )
    assert parse(turned.call()) == turned
    with pytest.raises(ValueError, match="is not an equation with named values"):
        parse("circle_area(0.05)")


@pytest.mark.identity
def test_every_constant_of_the_engine_has_a_value():
    assert {c.name for c in CONSTANTS.values()} == set(ENGINE)


@pytest.mark.identity
def test_every_column_of_every_table_has_a_value():
    held = {(c.table, c.column) for c in CELLS.values()}
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
            if not [r for r in rows if source_key(r, column) not in common and r[column] != 0]:
                continue
            assert (table, column) in held, (table, column)


@pytest.mark.identity
def test_every_size_of_pipe_and_every_fitting_has_a_value():
    held = {(c.table, c.row.get("series"), c.row.get("size"), c.column) for c in CELLS.values()}
    for row in catalogue.read_table("pipes"):
        for column in ("outside_diameter", "wall", "bore", "roughness"):
            what = ("pipes", row["series"], row["size"], column)
            assert what in held, "give it values in tests/equations/cases_tables.py"
    named = {(c.row["name"], c.column) for c in CELLS.values() if c.table == "fittings"}
    for row in catalogue.read_table("fittings"):
        column = "k_low" if row["k"] is None else "k"
        assert (row["name"], column) in named, "give it values in tests/equations/cases_fittings.py"


@pytest.mark.identity
def test_enough_equations_rest_on_print_or_a_library():
    kinds: dict[str, list[str]] = {key: [] for key in RECORDS}
    for case in CASES.values():
        for key in case.equations:
            kinds[key].append(case.cited.kind)
    for grid in GRIDS.values():
        kinds[grid.equation].append(grid.cited.kind)
    bare = [key for key, found in kinds.items() if not found]
    assert bare == [], "no case at all"
    counted = Counter(best(found) in COUNTED for found in kinds.values())
    assert counted[True] >= 60


@pytest.mark.identity
def test_stated_tolerances_are_no_wider_than_a_twentieth():
    # A cell of a table may be as far off as its sources are from each other, which its reason says.
    for name, case in (*CASES.items(), *CONSTANTS.items()):
        low, high = case.band
        if case.within or case.margin:
            assert (high - low) / 2 <= 0.05 * abs(float(case.printed)), name
