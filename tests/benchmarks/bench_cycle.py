"""How fast and how close: this engine against a plain loop of scipy `solve_ivp` with `fluids`, in one run.

Run from the top of the repository: ``python -m tests.benchmarks.bench_cycle [plans] [slow]``.
`plans` is how many three-bed plans the sweep has (10000), `slow` how many of
them the plain loop solves (20); its time for all is extrapolated from those,
and the table says so. Everything is timed by the wall clock, so run it on a
machine that does nothing else.
"""

from __future__ import annotations

import dataclasses
import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import numpy as np
import pandas as pd
import psutil

from aquacalc.catalogue import data_dir
from aquacalc.design.many_plans import run_plans
from aquacalc.design.sweep import grid, sweep, sweep_rows
from aquacalc.engine import compiled
from aquacalc.engine.packing import PackedPlan, pack
from aquacalc.hydraulics.levels import drained_sump_level
from aquacalc.plan import edit, read_plan
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import run_plan
from tests.independent import Independent

#: Tolerances of the plain loop: the loosest that still hold its own times within 0.01 %.
RTOL, ATOL = 1e-5, 1e-6
#: Parts of the large sweep, each run on one core and on two.
PARTS = 4
_packed: list[PackedPlan] = []
#: Sweeps over which memory is watched, and the plans in each.
SWEEPS, EACH = 100, 32


def greenhouse() -> Plan:
    """Three beds on a common drain line with tees."""
    return read_plan(data_dir() / "plans" / "greenhouse.toml")


def axes(count: int) -> dict[str, np.ndarray]:
    """Pump flows and standpipe heights that make about `count` plans, all of which cycle."""
    side = max(round(count**0.5), 2)
    flows, heights = np.linspace(12.0, 30.0, side) / 60000.0, np.linspace(0.36, 0.45, side)
    return {"pump.flow": flows, "siphon.standpipe.height": heights}


def plain(plan: Plan, breaks: int) -> tuple[float, float, dict[str, float]]:
    """Period, drain time (s) and levels at the last break (m), by scipy and `fluids`."""
    history = Independent(plan).run(
        drained_sump_level(plan), breaks=breaks, rtol=RTOL, atol=ATOL, method="LSODA"
    )
    ends = [t for t, _, what in history.events if what == "break"]
    full = [t for t, _, what in history.events if what == "full"]
    levels = {v.name: float(history.level(v.name, ends[-1])) for v in (*plan.beds, *plan.chambers)}
    return ends[-1] - ends[-2], ends[-1] - full[-1], levels


def differences(plan: Plan) -> tuple[float, float, float]:
    """Seconds the plain loop took; largest relative difference of times; of levels, m."""
    ours = run_plan(plan, trace=False)
    group = ours.groups[0]
    begun = time.perf_counter()
    period, drain, levels = plain(plan, group.cycles)
    took = time.perf_counter() - begun
    times = max(abs(period / group.period - 1.0), abs(drain / group.drain_time - 1.0))
    return took, times, max(abs(z - ours.node(name).at_break) for name, z in levels.items())


def timed(work, repeats: int = 5) -> float:
    """Shortest of several timings of `work()`, s."""
    best = float("inf")
    for _ in range(repeats):
        begun = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - begun)
    return best


def in_line(beds: int) -> Plan:
    """The greenhouse with `beds` beds, each on its own short run to a common line of tees."""
    plan = greenhouse()
    bed, branch, line = plan.beds[0], plan.runs[1], plan.runs[2]
    names = [f"bed {k}" for k in range(1, beds + 1)]
    tees = [f"tee {k}" for k in range(1, beds + 1)]
    tee = plan.tees[1]
    to = [*tees[1:], "chamber"]
    branches = [
        dataclasses.replace(branch, start=b, to=t, outfall=tee.elevation)
        for b, t in zip(names, tees, strict=True)
    ]
    lines = [
        dataclasses.replace(
            line, start=t, to=n, length=0.3, outfall=0.56 if n == "chamber" else tee.elevation
        )
        for t, n in zip(tees, to, strict=True)
    ]
    sump = dataclasses.replace(
        plan.sump, shape=dataclasses.replace(plan.sump.shape, diameter=0.9 * max(1.0, (beds / 3) ** 0.5))
    )
    return dataclasses.replace(
        plan,
        beds=tuple(dataclasses.replace(bed, name=n) for n in names),
        tees=tuple(dataclasses.replace(tee, name=t) for t in tees),
        runs=(*branches, *lines),
        sump=sump,
    )


def side_by_side(groups: int) -> Plan:
    """`groups` copies of the greenhouse's beds and siphon on one sump and one pump."""
    plan = greenhouse()
    names = [x.name for x in (*plan.beds, *plan.tees, *plan.chambers, *plan.siphons)]
    beds, tees, runs, chambers, siphons = [], [], [], [], []
    for g in range(groups):
        new = {name: f"{name} of {g + 1}" for name in names}
        beds += [dataclasses.replace(x, name=new[x.name]) for x in plan.beds]
        tees += [dataclasses.replace(x, name=new[x.name]) for x in plan.tees]
        runs += [dataclasses.replace(x, start=new[x.start], to=new[x.to]) for x in plan.runs]
        chambers += [dataclasses.replace(x, name=new[x.name]) for x in plan.chambers]
        siphons += [dataclasses.replace(x, name=new[x.name], host=new[x.host]) for x in plan.siphons]
    shape = dataclasses.replace(plan.sump.shape, diameter=0.9 * groups**0.5)
    return dataclasses.replace(
        plan,
        beds=tuple(beds),
        tees=tuple(tees),
        runs=tuple(runs),
        chambers=tuple(chambers),
        siphons=tuple(siphons),
        sump=dataclasses.replace(plan.sump, shape=shape),
        pump=dataclasses.replace(plan.pump, flow=plan.pump.flow * groups),
    )


def alone(_) -> float:
    """Seconds that this process takes for the kernel alone, over plans packed before."""
    if not _packed:
        compiled.build()
        plan = greenhouse()
        names, rows = grid(axes(256))
        _packed.extend(pack(edit.put(plan, dict(zip(names, row, strict=True)))) for row in rows)
    begun = time.perf_counter()
    for packed in _packed:
        compiled.run(packed)
    return time.perf_counter() - begun


def machine_gain(repeats: int = 9) -> float:
    """What two processes that share nothing get done in the time of one: the most two cores can give."""
    gains = []
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        list(pool.map(alone, range(2)))
        for _ in range(repeats):
            (one,) = pool.map(alone, range(1))
            gains.append(2.0 * one / max(pool.map(alone, range(2))))
    return float(np.median(gains))


def megabytes() -> float:
    """Memory that this process holds now."""
    return psutil.Process().memory_info().rss / 1e6


def exponent(sizes: list[int], costs: list[float]) -> float:
    """Power of the size that the cost grows with, over the larger half of the sizes."""
    half = len(sizes) // 2
    return float(np.polyfit(np.log(sizes[half:]), np.log(costs[half:]), 1)[0])


def row(name: str, value: str, asked: str = "") -> None:
    """Print one row of the table."""
    print(f"| {name:<58} | {value:<44} | {asked:<22} |", flush=True)


def main(count: int = 10000, slow: int = 20) -> None:
    """Print the table."""
    row("What", "Found", "Asked for")
    row("-" * 58, "-" * 44, "-" * 22)
    row("Cores; plain loop: LSODA, rtol, atol", f"{os.cpu_count()}; {RTOL:g}, {ATOL:g} m")
    compiled.build()
    plan = greenhouse()
    run_plan(plan)
    one, plain_one = timed(lambda: run_plan(plan, trace=False)), timed(lambda: plain(plan, 2), 2)
    row(
        "One three-bed cycle, ours / plain",
        f"{one * 1e3:.2f} / {plain_one * 1e3:.0f} ms: {plain_one / one:.0f} times",
        "10 times",
    )

    values = axes(count)
    names, rows = grid(values)
    # In turns, part by part: the speed of a shared computer drifts.
    cores, parts = (1, 2), [rows[k::PARTS] for k in range(PARTS)]
    spent: dict[int, list[float]] = {threads: [] for threads in cores}
    tables = []
    for part in parts:
        for threads in cores:
            begun = time.perf_counter()
            table = sweep_rows(plan, names, part, threads=threads)
            spent[threads].append(time.perf_counter() - begun)
        tables.append(table)
    seconds = {threads: sum(each) for threads, each in spent.items()}
    gains = [one / two for one, two in zip(*spent.values(), strict=True)]
    table = pd.concat(tables, ignore_index=True)
    peak = megabytes()
    cycling = table[table["outcome"] == "cycles"]
    row("Plans in the sweep, of which cycle", f"{len(table)}, {len(cycling)}")
    chosen = cycling.iloc[np.linspace(0, len(cycling) - 1, slow).astype(int)]
    plans = [edit.put(plan, {path: chosen[path].iloc[k] for path in values}) for k in range(slow)]
    found = [differences(p) for p in plans]
    per_plan = float(np.mean([f[0] for f in found]))
    plain_all = per_plan * len(table)
    row(
        f"Plain loop, all plans, extrapolated from {slow}",
        f"{plain_all:.0f} s ({per_plan * 1e3:.0f} ms a plan)",
    )
    for threads in cores:
        took = seconds[threads]
        row(
            f"Our sweep, {threads} thread{'s' if threads > 1 else ''}",
            f"{took:.1f} s ({took / len(table) * 1e3:.2f} ms a plan): {plain_all / took:.0f} times",
            "100 times",
        )
    row(
        f"1 to 2 cores: in all; median and least of {PARTS} parts",
        f"{seconds[1] / seconds[2]:.2f}; {np.median(gains):.2f}, {min(gains):.2f} times",
        "near 2",
    )
    row("  two processes that share nothing, the kernel alone", f"{machine_gain():.2f} times")
    row("Largest difference of times", f"{max(f[1] for f in found):.4%}", "0.2 %")
    row("Largest difference of levels", f"{max(f[2] for f in found) * 1e3:.3f} mm", "0.5 mm")
    row("Memory after the sweep", f"{peak:.0f} MB", "under 1000 MB")

    for name, sizes, make in (
        ("beds", [1, 2, 5, 10, 15, 20, 30], in_line),
        ("groups", [1, 2, 3, 4, 6, 8], side_by_side),
    ):
        costs = []
        for size in sizes:
            case = [make(size)]
            costs.append(timed(lambda case=case: run_plans(case), 3))
        shown = ", ".join(f"{s}: {c * 1e3:.1f}" for s, c in zip(sizes, costs, strict=True))
        row(f"Cost against {name}, ms", shown if len(shown) <= 44 else "(next line)")
        if len(shown) > 44:
            row("", shown)
        row("  grows as the power", f"{exponent(sizes, costs):.2f}", "2 at most")

    small = {"pump.flow": np.linspace(12.0, 30.0, EACH) / 60000.0, "siphon.standpipe.height": [0.43]}
    held = []
    for k in range(SWEEPS):
        sweep(plan, small)
        if k % 10 == 9:
            held.append(megabytes())
    row(f"Memory over {SWEEPS} sweeps, tenth / last", f"{held[0]:.1f} / {held[-1]:.1f} MB", "no growth")


if __name__ == "__main__":
    main(*(int(x) for x in sys.argv[1:3]))
