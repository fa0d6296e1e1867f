"""Write what the tests hold this package against to data/evidence.csv and data/evidence-system.csv.

Run as ``python tests/evidence.py`` after a change of a case, of a plan or of
the engine; it prints the count of outside values by equation. The second file
takes a minute, because every plan is run in three other solvers; with
``--cases`` only the first is written. `tests/test_evidence.py` fails while a
file is not current.
"""

from __future__ import annotations

import csv
import io
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from aquacalc.catalogue import data_dir
from aquacalc.cycle import run_plan
from aquacalc.equations import RECORDS
from aquacalc.evidence.engine import CONSTANTS as ENGINE
from aquacalc.flow.layout import drained_sump_level
from aquacalc.plan.read import read_plan
from aquacalc.units import KINDS
from tests.equations.cases import WORKS, all_cases, all_cells, all_constants, all_grids

COLUMNS = (
    "of", "subject", "place", "given", "printed", "unit", "low", "high", "cited", "status", "points",
)  # fmt: skip
SYSTEM_COLUMNS = ("layout", "siphon", "solver", "quantity", "unit", "theirs", "ours")
ROOT = Path(__file__).parent.parent


def number(x: float) -> str:
    return f"{x:.10g}"


def given(values: dict) -> str:
    return "; ".join(f"{k}={v if isinstance(v, str) else number(v)}" for k, v in values.items())


def case_rows() -> Iterator[tuple[str, ...]]:
    """Rows of data/evidence.csv: printed cases, then three points of every grid, then tables and engine."""
    for case in sorted(all_cases(), key=lambda c: list(RECORDS).index(c.equation)):
        place = case.symbol or RECORDS[case.equation].output.key
        low, high = case.band
        yield ("equation", case.equation, place, given(case.inputs), case.printed, case.unit,
               number(low), number(high), case.source, case.status, "1")  # fmt: skip
    for grid in all_grids():
        output = RECORDS[grid.equation].output
        points = list(grid.points())
        for inputs, ref in (points[0], points[len(points) // 2], points[-1]):
            # The reference is written to nine digits, which is rounding of its own.
            spread = max(grid.within * abs(ref), grid.margin) + 1e-9 * abs(ref)
            yield ("equation", grid.equation, output.key, given(inputs), f"{ref:.9g}",
                   KINDS[output.kind].si, number(ref - spread), number(ref + spread), grid.source,
                   grid.status, str(len(points)))  # fmt: skip
    for cell in all_cells():
        low, high = cell.band
        yield ("table", cell.table, cell.column, given(cell.row), cell.printed, cell.unit,
               number(low), number(high), cell.source, cell.status, "1")  # fmt: skip
    for constant in all_constants():
        low, high = constant.band
        yield ("engine", constant.name, "", "", constant.printed, ENGINE[constant.name].unit,
               number(low), number(high), constant.source, constant.status, "1")  # fmt: skip


def system_rows() -> Iterator[tuple[str, ...]]:
    """Rows of data/evidence-system.csv: every plan in scipy, in SWMM and in EPANET."""
    from tests.test_system_storm import NAMES

    for name in ("greenhouse", *NAMES):
        plan = read_plan(plan_file(name))
        ours = run_plan(plan)
        for solver in (by_scipy, by_storm, by_network):
            for siphon, quantity, unit, theirs, own in solver(plan, ours):
                digits = ".4g" if unit == "mm" else ".1f"
                values = (f"{x:{digits}}" for x in (theirs, own))
                yield name, siphon, solver.__doc__, quantity, unit, *values


def plan_file(name: str) -> Path:
    return (
        data_dir() / "plans" / "greenhouse.toml"
        if name == "greenhouse"
        else ROOT / "tests" / "plans" / f"{name}.toml"
    )


def by_scipy(plan, ours):
    """scipy with fluids"""
    from tests.independent import Independent
    from tests.test_system import their_events

    theirs = Independent(plan).run(drained_sump_level(plan), breaks=2)
    for group in ours.groups:
        events = their_events(theirs, group.name)
        breaks = [t for t, what in events if what == "break"]
        full = max(t for t, what in events if what == "full" and t < breaks[1])
        yield group.name, "one cycle", "s", breaks[1] - breaks[0], group.period
        yield group.name, "running full", "s", breaks[1] - full, group.drain_time


def by_storm(plan, ours):
    """SWMM through pyswmm"""
    from tests.storm_twin import run_storm
    from tests.test_system import our_events

    with tempfile.TemporaryDirectory() as folder:
        theirs = run_storm(plan, drained_sump_level(plan), Path(folder), breaks=1)
    for group in ours.groups:
        mine = dict(reversed([(what, t) for t, what in our_events(ours, group.name)]))
        other = dict(reversed([(what, t) for t, name, what in theirs.events if name == group.name]))
        for what, words in (("full", "pump on to running full"), ("break", "pump on to the first break")):
            yield group.name, words, "s", other[what], mine[what]


def by_network(plan, ours):
    """EPANET through wntr"""
    import warnings

    from tests.test_system_network import draining

    warnings.filterwarnings("ignore", message="Changing the headloss formula")
    for number_, group in enumerate(ours.groups):
        levels, twin, bed, last = draining(plan, ours, number_)
        words = f"fall of {bed} in {last} s while pipes run full"
        yield group.name, words, "mm", *(1e3 * (x[bed][0] - x[bed][last]) for x in (twin, levels))


def text(columns, rows) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return out.getvalue()


def counts() -> str:
    """Outside cases by equation, and the totals."""
    cases, grids = all_cases(), all_grids()
    by, on = Counter(c.equation for c in cases), Counter(g.equation for g in grids)
    lines = [f"{key:22} {by[key]:3} printed" + (f", {on[key]} grid" if on[key] else "") for key in RECORDS]
    said = [c.source for c in cases] + [g.source for g in grids]
    named = sum(any(work in s for s in said) for work in WORKS)
    lines.append(
        f"{len(cases)} cases and {len(grids)} grids on {len(RECORDS)} equations from {named} named works; "
        f"{len(all_cells())} on tables, {len(all_constants())} on constants of the engine"
    )
    return "\n".join(lines)


def main(arguments: list[str]) -> None:
    """Write the files and print the counts."""
    (ROOT / "data" / "evidence.csv").write_text(text(COLUMNS, case_rows()), encoding="utf-8")
    if "--cases" not in arguments:
        (ROOT / "data" / "evidence-system.csv").write_text(
            text(SYSTEM_COLUMNS, system_rows()), encoding="utf-8"
        )
    print(counts())


if __name__ == "__main__":
    main(sys.argv[1:])
