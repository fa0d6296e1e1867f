"""The system in time: run a plan until its cycle repeats and say what one cycle is.

Levels are elevations in metres above the plan's datum, times in seconds,
flows in m3/s, volumes in m3.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

from aquacalc.engine import state as e
from aquacalc.engine.packing import pack
from aquacalc.engine.runner import run_packed
from aquacalc.equations.formulas import GRAVITY, froude_bore
from aquacalc.hydraulics.levels import floods
from aquacalc.hydraulics.starting import choke, start_band
from aquacalc.plan.model import Plan
from aquacalc.plan.network import order
from aquacalc.results import tables

if TYPE_CHECKING:
    import pandas as pd

#: Part of a flow at which a siphon is made to start, so that it does.
SURELY = 0.97
OUTCOMES = {
    e.CYCLES: "cycles",
    e.SPILLS: "spills",
    e.RUNS_ON: "runs on",
    e.IDLE: "no inflow",
    e.UNSETTLED: "unsettled",
}
REGIMES = {e.FILLING: "filling", e.SPILLING: "spilling", e.PURGING: "priming", e.SIPHONING: "siphoning"}


@dataclass(frozen=True)
class NodeCycle:
    """One bed, chamber or tee over one cycle.

    Attributes
    ----------
    name, group : str
        Its name and the siphon it drains to.
    junction : bool
        True for a tee, which stores nothing.
    low, high : float
        Lowest and highest level of the last cycle, m.
    at_start, at_break : float
        Levels when the siphon starts to run full and when it breaks, m.
    """

    name: str
    group: str
    junction: bool
    low: float
    high: float
    at_start: float
    at_break: float


@dataclass(frozen=True)
class GroupCycle:
    """One siphon and the beds it drains, over the last cycle.

    Attributes
    ----------
    outcome : {"cycles", "spills", "runs on", "no inflow", "unsettled"}
    period, fill_time, spill_time, priming_time, drain_time : float
        Whole cycle; break to lip; lip to choking; choking to full; full to break, s (0 unless it cycles).
    inflow : float
        The pump's flow into this group, m3/s.
    flow_start, flow_high, flow_break : float
        Siphon flow when it first runs full, at its highest, at the break, m3/s.
    flow_steady : float
        Outflow once nothing moves any more, for "spills" and "runs on", m3/s.
    level : float
        Level at the siphon at the end of the run, m.
    volume_low, volume_high : float
        Least and most water held by the group, m3.
    pumped, drained, balance : float
        Volumes of the last cycle (m3) and |in - out - stored| / in.
    cycles : int
        Breaks until it repeated.
    misfit : float
        Largest difference of a level between the last two breaks, m.
    lip, rim, start_level, choking : float
        Levels of lip, rim and choking (m) and the choking flow (m3/s) used.
    began : float
        When the last cycle began in the trace, s.
    """

    name: str
    host: str
    outcome: str
    period: float
    fill_time: float
    spill_time: float
    priming_time: float
    drain_time: float
    inflow: float
    flow_start: float
    flow_high: float
    flow_break: float
    flow_steady: float
    level: float
    volume_low: float
    volume_high: float
    pumped: float
    drained: float
    balance: float
    cycles: int
    misfit: float
    lip: float
    rim: float
    start_level: float
    choking: float
    began: float


@dataclass(frozen=True)
class Trace:
    """Levels and flows over the whole run, one entry per step the solver took.

    Attributes
    ----------
    times : list of float
    levels, rates : dict of str to list of float
        By name of bed, chamber, tee and sump: level (m) and its rate (m/s).
    outflow : dict of str to list of float
        By siphon, m3/s.
    regime : dict of str to list of str
        By siphon: filling, spilling, priming or siphoning.
    pump : list of float
        Pump flow, m3/s.
    """

    times: Sequence[float]
    levels: dict[str, list[float]]
    rates: dict[str, list[float]]
    outflow: dict[str, list[float]]
    regime: dict[str, list[str]]
    pump: Sequence[float]

    def level(self, name: str, t: float) -> float:
        """Level (m) of `name` at time `t` (s): a cubic through levels and rates of the steps around it."""
        times, levels, rates = self.times, self.levels[name], self.rates[name]
        k = min(max(bisect_right(times, t) - 1, 0), len(times) - 2)
        h = times[k + 1] - times[k]
        if h <= 0.0:
            return levels[k]
        s = min(max((t - times[k]) / h, 0.0), 1.0)
        rise = levels[k + 1] - levels[k]
        m0, m1 = rates[k] * h, rates[k + 1] * h
        if rates[k] == rates[k + 1] == 0.0:  # a tee: its head has no rate of its own
            return levels[k] + s * rise
        return levels[k] + s * (m0 + s * (3 * rise - 2 * m0 - m1 + s * (m0 + m1 - 2 * rise)))


@dataclass(frozen=True, repr=False)
class SystemCycle:
    """What a plan does.

    Attributes
    ----------
    plan : Plan
    groups : tuple of GroupCycle
    nodes : tuple of NodeCycle
    sump_low, sump_high : float
        Lowest and highest sump level of the whole run, m.
    sump_drained : float
        Sump level with the pump off and every bed drained, m.
    pump : float
        Mean pump flow, m3/s.
    pumped, drained, stored, balance : float
        Volumes of the whole run (m3) and the largest relative error of any balance in it.
    duration : float
        Simulated time, s.
    settled : bool
        False when a group neither repeated nor came to rest in the time allowed.
    trace : Trace or None
    """

    plan: Plan
    groups: tuple[GroupCycle, ...]
    nodes: tuple[NodeCycle, ...]
    sump_low: float
    sump_high: float
    sump_drained: float
    pump: float
    pumped: float
    drained: float
    stored: float
    balance: float
    duration: float
    settled: bool
    trace: Trace | None = None

    def __repr__(self) -> str:
        """Say what it comes to, a line for each siphon and one for the sump."""
        return "\n".join((f"{self.plan.name}:", *tables.lines(self)))

    def _repr_html_(self) -> str:
        return tables.html(tables.lines(self), self.frame())

    def frame(self) -> pd.DataFrame:
        """Return the levels over one cycle, in the plan's units: `aquacalc.results.tables.levels`."""
        return tables.levels(self)

    def group(self, name: str) -> GroupCycle:
        """Return the group of the siphon called `name`."""
        return next(g for g in self.groups if g.name == name)

    def node(self, name: str) -> NodeCycle:
        """Return the bed, chamber or tee called `name`."""
        return next(x for x in self.nodes if x.name == name)

    @cached_property
    def floods(self) -> dict[str, float]:
        """Water (m3) of each bed and chamber from drained to its siphon's lip, by name."""
        return floods(self.plan)

    @cached_property
    def shares(self) -> dict[str, float]:
        """Share of its siphon's flood that each bed and chamber holds, by name."""
        group = dict(order(self.plan))
        whole = [0.0] * len(self.plan.siphons)
        for name, volume in self.floods.items():
            whole[group[name]] += volume
        return {
            name: volume / whole[group[name]] if whole[group[name]] > 0.0 else 0.0
            for name, volume in self.floods.items()
        }

    @cached_property
    def drains(self) -> dict[str, float]:
        """Share of its siphon's flow that each run carries, by where it starts: of the water behind it."""
        named, onward = order(self.plan), {run.start: run.to for run in self.plan.runs}
        behind = {name: max(self.shares.get(name, 0.0), 0.0) for name, _ in named}
        for name, _ in named:  # every node stands before the one it drains to
            if name in onward:
                behind[onward[name]] += behind[name]
        return {name: behind[name] for name in onward}

    def one_cycle(self, name: str) -> tuple[float, float]:
        """Start and end (s) of what to show of group `name`: its last cycle, or the whole run."""
        group = self.group(name)
        if group.outcome == "cycles":
            return group.began, group.began + group.period
        return 0.0, self.duration


def run_plan(plan: Plan, trace: bool = True) -> SystemCycle:
    """Run a checked plan until each siphon's cycle repeats or its levels settle.

    Parameters
    ----------
    plan : Plan
        As `aquacalc.plan.read.read_plan` gives it.
    trace : bool
        Keep levels and flows over time.

    Returns
    -------
    SystemCycle

    Raises
    ------
    ArithmeticError
        When the numbers of the plan cannot be worked out.

    Examples
    --------
    >>> from aquacalc.catalogue import data_dir
    >>> from aquacalc.plan.read import read_plan
    >>> plan = read_plan(data_dir() / "plans" / "one-bed.toml")
    >>> run = run_plan(plan, trace=False)
    >>> [group.name for group in run.groups]
    ['siphon']
    """
    packed = pack(plan)
    totals, cycles, kept = run_packed(packed, trace)
    run = unpack(plan, packed, totals, cycles, _trace(plan, totals, kept) if trace else None)
    _believe(run)
    return run


def if_started(run: SystemCycle) -> SystemCycle | None:
    """Run a plan again as if every siphon started that may; None where all do that may.

    Parameters
    ----------
    run : SystemCycle
        One in which a siphon spills with a flow inside the band in which it may start.

    Returns
    -------
    SystemCycle or None
        Of the plan with those siphons made to start at that flow; without a trace.
    """
    changed = {}
    for siphon in run.plan.siphons:
        group, band = run.group(siphon.name), start_band(siphon)
        if group.outcome == "spills" and band.low <= group.flow_steady < band.middle:
            froude = SURELY * froude_bore(group.flow_steady, siphon.standpipe.pipe.bore, GRAVITY)
            priming = replace(siphon.priming, froude=froude, observed=None)
            changed[siphon.name] = replace(siphon, priming=priming)
    if not changed:
        return None
    siphons = tuple(changed.get(s.name, s) for s in run.plan.siphons)
    return run_plan(replace(run.plan, siphons=siphons), trace=False)


def _believe(run: SystemCycle) -> None:
    """Refuse a result that cannot be: a number that is not finite, or water below a floor.

    Raises
    ------
    ArithmeticError
    """
    floors = {v.name: v.floor for v in run.plan.vessels}
    levels = [(run.plan.sump.name, run.sump_low, run.plan.sump.floor)]
    levels += [(node.name, node.low, floors.get(node.name, -math.inf)) for node in run.nodes]
    for name, level, floor in levels:
        if not math.isfinite(level):
            raise ArithmeticError(f"the level in {name} comes out as {level}")
        if level < floor - 1e-6:
            raise ArithmeticError(f"the level in {name} comes out {floor - level:.3g} m below its floor")
    numbers = [run.pump, run.sump_high, *(n.high for n in run.nodes)]
    numbers += [x for g in run.groups for x in (g.period, g.inflow, g.flow_high, g.level)]
    if not all(map(math.isfinite, numbers)):
        raise ArithmeticError("a flow, time or level is not finite")


def unpack(
    plan: Plan, packed: e.PackedPlan, totals: e.Totals, cycles: e.Cycles, trace: Trace | None = None
) -> SystemCycle:
    """Name the numbers of one run of the engine."""
    pump = totals.pumped / totals.time if totals.time > 0.0 else 0.0
    shares = [0.0] * packed.siphons
    for at, share in zip(packed.siphon, packed.share, strict=True):
        shares[at] += share
    groups = []
    for j, siphon in enumerate(plan.siphons):
        outcome = OUTCOMES[cycles.outcome[j]]
        came_round = outcome == "cycles"
        began, ended = cycles.began[j], cycles.ended[j]
        spills, chokes, starts = cycles.spill_time[j], cycles.choke_time[j], cycles.start_time[j]
        period = ended - began if came_round else 0.0
        groups.append(
            GroupCycle(
                name=siphon.name,
                host=siphon.host,
                outcome=outcome,
                period=period,
                fill_time=spills - began if came_round else 0.0,
                spill_time=chokes - spills if came_round else 0.0,
                priming_time=starts - chokes if came_round else 0.0,
                drain_time=ended - starts if came_round else 0.0,
                inflow=cycles.pumped[j] / period if period > 0.0 else pump * shares[j],
                flow_start=cycles.flow_start[j],
                flow_high=cycles.flow_high[j],
                flow_break=cycles.flow_end[j] if came_round else 0.0,
                flow_steady=cycles.flow_end[j] if outcome in ("spills", "runs on") else 0.0,
                level=cycles.level[j],
                volume_low=cycles.volume_low[j],
                volume_high=cycles.volume_high[j],
                pumped=cycles.pumped[j],
                drained=cycles.drained[j],
                balance=abs(cycles.balance[j]),
                cycles=cycles.breaks[j],
                misfit=cycles.misfit[j],
                lip=packed.lip[j],
                rim=packed.rim[j],
                start_level=packed.start_level[j],
                choking=choke(siphon),
                began=began,
            )
        )
    nodes = tuple(
        NodeCycle(
            name=name,
            group=plan.siphons[j].name,
            junction=packed.junction[i] == 1,
            low=cycles.low[i],
            high=cycles.high[i],
            at_start=cycles.at_start[i],
            at_break=cycles.at_break[i],
        )
        for i, (name, j) in enumerate(order(plan))
    )
    return SystemCycle(
        plan=plan,
        groups=tuple(groups),
        nodes=nodes,
        sump_low=totals.sump_low,
        sump_high=totals.sump_high,
        sump_drained=packed.start[packed.nodes],
        pump=pump,
        pumped=totals.pumped,
        drained=totals.drained,
        stored=totals.stored,
        balance=max([totals.balance, *(g.balance for g in groups)]),
        duration=totals.time,
        settled=totals.status == 0,
        trace=trace,
    )


def _trace(plan: Plan, totals: e.Totals, kept: e.Trace) -> Trace:
    def columns(values: Any, names: list[str]) -> dict[str, list]:
        width = len(names)
        return {name: values[i : totals.rows * width : width] for i, name in enumerate(names)}

    levels = [*(name for name, _ in order(plan)), plan.sump.name]
    siphons = [siphon.name for siphon in plan.siphons]
    regimes = columns(kept.regimes, siphons)
    return Trace(
        times=kept.times[: totals.rows],
        levels=columns(kept.levels, levels),
        rates=columns(kept.rates, levels),
        outflow=columns(kept.outflows, siphons),
        regime={name: [REGIMES[x] for x in column] for name, column in regimes.items()},
        pump=kept.pumps[: totals.rows],
    )
