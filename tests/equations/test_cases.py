"""The equations against published values and reference libraries."""

from __future__ import annotations

import pytest

from .cases import all_cases, all_grids

CASES = all_cases()
GRIDS = all_grids()


def named(case) -> str:
    return f"{case.equation}-{case.source[:30]}"


@pytest.mark.outside
@pytest.mark.parametrize("case", CASES, ids=named)
def test_printed_value(case):
    low, high = case.band
    assert low <= case.ours() <= high, case


@pytest.mark.outside
@pytest.mark.parametrize("grid", GRIDS, ids=named)
def test_reference_library(grid):
    points = grid.differences()
    assert len(points) >= 3
    for inputs, reference, ours in points:
        assert abs(ours - reference) <= max(grid.within * abs(reference), grid.margin), inputs


@pytest.mark.identity
def test_there_are_enough_cases_from_enough_sources():
    works = (
        "Hills", "Simpson", "Wyly", "FAO", "EN 12056", "King County", "Kalinske", "Bretherton", "Davies",
        "HEC-22", "fluids", "iapws", "Çengel", "Hydraulic Institute", "Crane", "Idelchik", "Rennels",
        "Choudhary", "J. Hydroinformatics", "Borda", "Machinery's Handbook", "steam tables",
    )  # fmt: skip
    said = " ".join(c.source for c in CASES) + " ".join(g.source for g in GRIDS)
    assert [w for w in works if w not in said] == []
    assert len(CASES) >= 150


@pytest.mark.identity
def test_stated_tolerances_are_no_wider_than_a_twentieth():
    for case in CASES:
        low, high = case.band
        if case.within or case.margin:
            assert (high - low) / 2 <= 0.05 * abs(float(case.printed)), case
