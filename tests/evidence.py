"""Rows of data/evidence.csv and data/evidence-system.csv: what the tests hold this package against.

`python -m tests.regenerate evidence systems` writes the files and
`python -m tests.evidence` prints the count by equation; `tests/test_evidence.py`
fails while a file is not current.
"""

from __future__ import annotations

import csv
import io
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from aquacalc.catalogue import data_dir
from aquacalc.equations import RECORDS
from aquacalc.evidence.given import Given
from aquacalc.evidence.kinds import COUNTED, best
from aquacalc.hydraulics.levels import drained_sump_level
from aquacalc.plan.read import read_plan
from aquacalc.results.cycle import run_plan
from aquacalc.units import KINDS
from tests.equations.cases import all_cases, all_cells, all_constants, all_grids
from tests.equations.works import Cited, works

COLUMNS = (
    "of", "subject", "place", "given", "printed", "unit", "low", "high", "author", "title", "section", "note",
    "kind", "points",
)  # fmt: skip
WORK_COLUMNS = ("author", "title", "published", "values")
SYSTEM_COLUMNS = ("layout", "siphon", "solver", "quantity", "unit", "theirs", "ours")
ROOT = Path(__file__).parent.parent


def number(x: float) -> str:
    return f"{x:.10g}"


def who(cited: Cited) -> tuple[str, ...]:
    """Author, title, section, note and kind."""
    work = (cited.work.author, cited.work.title) if cited.work else ("", "")
    return *work, cited.section, cited.note, cited.kind


def case_rows() -> Iterator[tuple[str, ...]]:
    """Rows of data/evidence.csv: printed cases, then three points of every grid, then tables and engine."""
    order = list(RECORDS)
    for case in sorted(all_cases(), key=lambda c: order.index(c.equation)):
        place = case.symbol or RECORDS[case.equation].output.key
        low, high = case.band
        yield ("equation", case.equation, place, case.given.text(), case.printed, case.unit,
               number(low), number(high), *who(case.cited), "1")  # fmt: skip
    for grid in all_grids():
        output = RECORDS[grid.equation].output
        points = list(grid.points())
        for inputs, ref in (points[0], points[len(points) // 2], points[-1]):
            # The reference is written to nine digits, which is rounding of its own.
            spread = max(grid.within * abs(ref), grid.margin) + 1e-9 * abs(ref)
            yield ("equation", grid.equation, output.key, Given(grid.equation, inputs).text(), f"{ref:.9g}",
                   KINDS[output.kind].si, number(ref - spread), number(ref + spread), *who(grid.cited),
                   str(len(points)))  # fmt: skip
    for cell in all_cells():
        low, high = cell.band
        row = "; ".join(f"{k}={v}" for k, v in cell.row.items())
        yield ("table", cell.table, cell.column, row, cell.printed, cell.unit,
               number(low), number(high), *who(cell.cited), "1")  # fmt: skip
    for constant in all_constants():
        low, high = constant.band
        yield ("engine", constant.name, "", "", constant.printed, constant.unit,
               number(low), number(high), *who(constant.cited), "1")  # fmt: skip


def work_rows() -> Iterator[tuple[str, ...]]:
    """Rows of data/evidence-works.csv: every work, and how many values are taken from it."""
    every = (*all_cases(), *all_grids(), *all_cells(), *all_constants())
    count = Counter(case.cited.work for case in every if case.cited.work)
    for work in sorted(works(), key=lambda w: (w.author.casefold(), w.title)):
        yield work.author, work.title, work.published, str(count[work])


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
    """Values by equation with the best kind of each, and the totals."""
    cases, grids = all_cases(), all_grids()
    kinds: dict[str, list[str]] = {key: [] for key in RECORDS}
    for case in cases:
        for key in case.equations:
            kinds[key].append(case.cited.kind)
    for grid in grids:
        kinds[grid.equation].append(grid.cited.kind)
    lines = [f"{key:22} {len(found):3} values, best: {best(found)}" for key, found in kinds.items()]
    totals = Counter(best(found) for found in kinds.values())
    lines += [f"{n:3} {kind}" for kind, n in totals.most_common()]
    lines.append(f"{sum(totals[k] for k in COUNTED)} of {len(RECORDS)} on print that was read, or a library")
    lines.append(
        f"{len(cases)} cases and {len(grids)} grids on equations, {len(all_cells())} values on tables, "
        f"{len(all_constants())} on constants of the engine"
    )
    return "\n".join(lines)


if __name__ == "__main__":
    print(counts())
