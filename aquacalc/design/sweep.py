"""Explore: thousands of plans over any two or more plan values, as a table.

Every plan runs through the same kernels as a single one. A plan that cannot be
built stays in the table as a row with its reason.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from aquacalc import catalogue
from aquacalc.design.many_plans import Progress, Stop, run_plans, spread
from aquacalc.files import write_file
from aquacalc.findings import find, verdict
from aquacalc.plan import edit
from aquacalc.plan.check import check_plan
from aquacalc.plan.errors import PlanError
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle

if TYPE_CHECKING:
    import pandas as pd

#: Plans handed over at a time: long enough to hide the handing over, short enough to stop soon.
CHUNK = 64
#: What happened to each siphon, from worst to best; a plan is as bad as its worst siphon.
WORST_FIRST = ("unsettled", "no inflow", "runs on", "spills", "cycles")
#: What the table tells of each siphon, as the fields of `aquacalc.results.cycle.GroupCycle`.
GROUP_FIELDS = (
    "period",
    "fill_time",
    "spill_time",
    "priming_time",
    "drain_time",
    "inflow",
    "choking",
    "flow_start",
    "flow_break",
)


def result_row(run: SystemCycle) -> dict[str, Any]:
    """Return what one plan does as one flat row of the table (see `sweep_rows`)."""
    outcomes = [group.outcome for group in run.groups]
    row: dict[str, Any] = {
        "outcome": min(outcomes, key=WORST_FIRST.index),
        "reason": "",
        "sump_low": run.sump_low,
        "sump_high": run.sump_high,
        "sump_drained": run.sump_drained,
    }
    for group in run.groups:
        row[f"{group.name}.outcome"] = group.outcome
        row[f"{group.name}.floods_per_hour"] = 3600.0 / group.period if group.period > 0.0 else 0.0
        for field in GROUP_FIELDS:
            row[f"{group.name}.{field}"] = getattr(group, field)
    for node in run.nodes:
        if not node.junction:
            row[f"{node.name}.low"] = node.low
            row[f"{node.name}.high"] = node.high
            row[f"{node.name}.at_break"] = node.at_break
    return row


def finding_row(run: SystemCycle) -> dict[str, Any]:
    """Return the verdict on a plan, what is worst, and the worst state of each finding, as columns."""
    found = find(run)
    worst = found[0]  # findings come worst first, the siphon's before the beds' and the sump's
    row: dict[str, Any] = {"verdict": verdict(found), "worst": "" if worst.state == "good" else worst.title}
    for finding in found:  # worst first
        row.setdefault(f"finding.{finding.key}", finding.state)
    return row


def run_rows(
    plan: Plan, paths: Sequence[str], rows: Sequence[Sequence[Any]], findings: bool
) -> list[dict[str, Any]]:
    """Run the plans that `rows` of values at `paths` make of `plan`; one result row for each.

    Parameters
    ----------
    plan : Plan
    paths : sequence of str, length k
        Paths of `aquacalc.plan.edit`.
    rows : sequence of sequences, shape (n, k)
        SI values.
    findings : bool
        Whether `finding_row` is wanted too.

    Returns
    -------
    list of dict, length n
        The values by path, then `result_row` and `finding_row`; of a plan that cannot be built
        the values, outcome "cannot be built" and the reason alone.
    """
    found: list[dict[str, Any]] = []
    plans, places, unsaid = [], [], edit.unsaid(plan)
    for values in rows:
        given = dict(zip(paths, values, strict=True))
        try:
            changed = edit.followed(edit.put(plan, given), unsaid, paths)
            check_plan(changed)
        except (PlanError, catalogue.CatalogueError) as error:
            found.append({**given, "outcome": "cannot be built", "reason": str(error)})
            continue
        plans.append(changed)
        places.append(len(found))
        found.append(given)
    for at, run in zip(places, run_plans(plans), strict=True):
        found[at].update(result_row(run))
        if findings:
            found[at].update(finding_row(run))
    return found


def _chunks(
    plan: Plan, paths: Sequence[str], rows: Iterator[Sequence[Any]], findings: bool
) -> Iterator[tuple]:
    while chunk := list(itertools.islice(rows, CHUNK)):
        yield plan, paths, chunk, findings


def sweep_rows(
    plan: Plan,
    paths: Sequence[str],
    rows: Sequence[Sequence[Any]],
    *,
    findings: bool = False,
    progress: Progress | None = None,
    stop: Stop = None,
    client: Any = None,
    threads: int | None = None,
) -> pd.DataFrame:
    """Run the plans that `rows` of values at `paths` make of `plan`.

    Parameters
    ----------
    plan : Plan
    paths : sequence of str, length k
        Paths of `aquacalc.plan.edit`, "pump.flow" for instance.
    rows : sequence of sequences, shape (n, k)
        SI values, one row for each plan.
    findings : bool
        Add "verdict", "worst" (title of the worst finding, "" when nothing speaks
        against the plan) and the worst state of each finding as
        "finding.<key>"; costs about as much again as the run.
    progress : callable, optional
        Called with (plans done, plans in all).
    stop : threading.Event or callable, optional
        When it asks, what is finished is returned.
    client : optional
        A `dask.distributed.Client` (or any executor) to run on instead of threads.
    threads : int, optional
        By default one per core.

    Returns
    -------
    pandas.DataFrame
        One row for each finished plan in the order given. Columns: each path;
        "outcome" ("cycles", "spills", "runs on", "no inflow", "unsettled" or
        "cannot be built", the worst of all siphons) and "reason"; sump levels;
        times, flows and "floods_per_hour" as "<siphon>.<what>"; levels as
        "<bed or chamber>.low", ".high", ".at_break". SI units. Its `attrs`
        say "plans" (asked for) and "complete".

    Raises
    ------
    KeyError, TypeError
        For a path that leads nowhere, or a value of the wrong type.
    """
    import pandas as pd

    paths = tuple(paths)
    for path in paths:
        edit.get(plan, path)
    total = len(rows)
    found: list[dict[str, Any]] = []
    if progress is not None:
        progress(0, total)
    jobs = _chunks(plan, paths, iter(rows), findings)
    for part in spread(run_rows, jobs, stop=stop, client=client, threads=threads):
        found += part
        if progress is not None:
            progress(len(found), total)
    table = pd.DataFrame(found) if found else pd.DataFrame(columns=[*paths, "outcome", "reason"])
    table.attrs = {"plans": total, "complete": len(found) == total}
    return table


def grid(values: Mapping[str, Sequence[Any]]) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
    """Return paths and rows of every combination of `values`; the last path varies fastest."""
    for path, each in values.items():
        if len(each) == 0:
            raise ValueError(f'"{path}": no values to try; give at least one')
    return tuple(values), list(itertools.product(*values.values()))


def sweep(
    plan: Plan,
    values: Mapping[str, Sequence[Any]],
    *,
    findings: bool = False,
    progress: Progress | None = None,
    stop: Stop = None,
    client: Any = None,
    threads: int | None = None,
) -> pd.DataFrame:
    """Run every combination of values of a plan.

    Parameters
    ----------
    plan : Plan
    values : mapping of str to sequence
        SI values to try by path: ``{"pump.flow": [...], "siphon.standpipe.height": [...]}``.
    findings, progress, stop, client, threads
        As in `sweep_rows`.

    Returns
    -------
    pandas.DataFrame
        As from `sweep_rows`.

    Examples
    --------
    >>> from aquacalc.catalogue import data_dir
    >>> from aquacalc.plan.read import read_plan
    >>> plan = read_plan(data_dir() / "plans" / "one-bed.toml")
    >>> table = sweep(plan, {"pump.flow": [2e-4, 3e-4], "siphon.standpipe.height": [0.40, 0.42]})
    >>> table.pivot(index="pump.flow", columns="siphon.standpipe.height", values="outcome").shape
    (2, 2)
    """
    return sweep_rows(
        plan, *grid(values), findings=findings, progress=progress, stop=stop, client=client, threads=threads
    )


def save_table(table: pd.DataFrame, path: str | Path, force: bool = False) -> None:
    """Write a table to a .csv or .parquet file, whole or not at all.

    Parameters
    ----------
    table : DataFrame
    path : str or Path
    force : bool
        Whether to replace a file that is there.

    Raises
    ------
    ValueError
        For another ending, or for Parquet without `pyarrow`.
    NotWritten, AlreadyThere
    """
    path = Path(path)
    if path.suffix == ".csv":
        content: str | bytes = table.to_csv(index=False)
    elif path.suffix == ".parquet":
        try:
            content = table.to_parquet(index=False)
        except ImportError:
            raise ValueError(
                f'{path}: Parquet needs pyarrow; pip install "aquacalc[study]", or write .csv'
            ) from None
    else:
        raise ValueError(f"{path}: a table goes to .csv or .parquet; change the ending")
    write_file(path, content, force=force)
