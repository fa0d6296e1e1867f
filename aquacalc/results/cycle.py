"""The system in time: run a plan until its cycle repeats and say what one cycle is.

Levels are elevations in metres above the plan's datum, times in seconds,
flows in m3/s, volumes in m3.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from aquacalc.engine import deck as d
from aquacalc.engine.packing import Deck, pack
from aquacalc.engine.runner import run_deck
from aquacalc.equations.formulas import lip_head
from aquacalc.hydraulics.levels import drained_sump_level
from aquacalc.hydraulics.starting import choke
from aquacalc.plan.model import Plan

OUTCOMES = {
    d.CYCLES: "cycles",
    d.SPILLS: "spills",
    d.RUNS_ON: "runs on",
    d.IDLE: "no inflow",
    d.UNSETTLED: "unsettled",
}
REGIMES = {d.FILLING: "filling", d.SPILLING: "spilling", d.PURGING: "priming", d.SIPHONING: "siphoning"}


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

    times: list[float]
    levels: dict[str, list[float]]
    rates: dict[str, list[float]]
    outflow: dict[str, list[float]]
    regime: dict[str, list[str]]
    pump: list[float]
    complete: bool = True

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


@dataclass(frozen=True)
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
    trace: Trace | None = field(repr=False, default=None)

    def group(self, name: str) -> GroupCycle:
        """Return the group of the siphon called `name`."""
        return next(g for g in self.groups if g.name == name)

    def node(self, name: str) -> NodeCycle:
        """Return the bed, chamber or tee called `name`."""
        return next(x for x in self.nodes if x.name == name)

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
    out, rows = run_deck(packed, trace)
    run = unpack(plan, packed, out, _trace(plan, packed, out, rows) if trace else None)
    _believe(run)
    return run


def _believe(run: SystemCycle) -> None:
    """Refuse a result that cannot be: a number that is not finite, or water below a floor.

    Raises
    ------
    ArithmeticError
    """
    floors = {v.name: v.floor for v in (*run.plan.beds, *run.plan.chambers)}
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


def unpack(plan: Plan, packed: Deck, out: Sequence[float], trace: Trace | None) -> SystemCycle:
    """Name the numbers of one kernel result."""
    n, count = len(packed.nodes), len(packed.groups)
    duration = out[d.O_TIME]
    pump = out[d.O_PUMPED] / duration if duration > 0.0 else 0.0
    shares = [0.0] * count
    for i, group in enumerate(packed.group_of):
        shares[group] += packed.floats[d.HEADER_FLOATS + d.NODE_FLOATS * i + d.NF_SHARE]
    groups = []
    for j, siphon in enumerate(plan.siphons):
        o = d.HEADER_OUT + d.GROUP_OUT * j
        gf = d.HEADER_FLOATS + d.NODE_FLOATS * n + d.GROUP_FLOATS * j
        outcome = OUTCOMES[int(out[o + d.GO_OUTCOME])]
        t = [out[o + k] for k in (d.GO_T_START, d.GO_T_SPILL, d.GO_T_CHOKE, d.GO_T_PRIMED, d.GO_T_BREAK)]
        spans = [b - a for a, b in pairwise(t)] if outcome == "cycles" else [0.0] * 4
        period = t[-1] - t[0] if outcome == "cycles" else 0.0
        groups.append(
            GroupCycle(
                name=siphon.name,
                host=siphon.host,
                outcome=outcome,
                period=period,
                fill_time=spans[0],
                spill_time=spans[1],
                priming_time=spans[2],
                drain_time=spans[3],
                inflow=out[o + d.GO_PUMPED] / period if period > 0.0 else pump * shares[j],
                flow_start=out[o + d.GO_FLOW_PRIMED],
                flow_high=out[o + d.GO_FLOW_HIGH],
                flow_break=out[o + d.GO_FLOW_BREAK] if outcome == "cycles" else 0.0,
                flow_steady=out[o + d.GO_FLOW_STEADY] if outcome in ("spills", "runs on") else 0.0,
                level=out[o + d.GO_ROOT_LEVEL],
                volume_low=out[o + d.GO_V_LOW],
                volume_high=out[o + d.GO_V_HIGH],
                pumped=out[o + d.GO_PUMPED],
                drained=out[o + d.GO_DRAINED],
                balance=abs(out[o + d.GO_BALANCE]),
                cycles=int(out[o + d.GO_BREAKS]),
                misfit=out[o + d.GO_MISFIT],
                lip=packed.floats[gf + d.GF_LIP],
                rim=packed.floats[gf + d.GF_RIM],
                start_level=_start_level(packed, gf),
                choking=choke(siphon),
                began=t[0],
            )
        )
    nodes = []
    for i, name in enumerate(packed.nodes):
        o = d.HEADER_OUT + d.GROUP_OUT * count + d.NODE_OUT * i
        nodes.append(
            NodeCycle(
                name,
                packed.groups[packed.group_of[i]],
                packed.junction[i],
                out[o + d.NO_LOW],
                out[o + d.NO_HIGH],
                out[o + d.NO_PRIMED],
                out[o + d.NO_BREAK],
            )
        )
    return SystemCycle(
        plan=plan,
        groups=tuple(groups),
        nodes=tuple(nodes),
        sump_low=out[d.O_SUMP_LOW],
        sump_high=out[d.O_SUMP_HIGH],
        sump_drained=drained_sump_level(plan),
        pump=pump,
        pumped=out[d.O_PUMPED],
        drained=out[d.O_DRAINED],
        stored=out[d.O_STORED],
        balance=max([out[d.O_BALANCE], *(g.balance for g in groups)]),
        duration=duration,
        settled=out[d.O_STATUS] == 0.0,
        trace=trace,
    )


def _start_level(packed: Deck, gf: int) -> float:
    f = packed.floats
    return f[gf + d.GF_LIP] + lip_head(
        f[gf + d.GF_LIP_WEIR],
        f[gf + d.GF_LIP_ORIFICE],
        f[gf + d.GF_LIP_DIAMETER],
        f[gf + d.GF_CHOKING],
        f[d.F_GRAVITY],
    )


def _trace(plan: Plan, packed: Deck, out: Sequence[float], rows: Sequence[float]) -> Trace:
    n, count = len(packed.nodes), len(packed.groups)
    width = d.trace_width(n, count)
    used = int(out[d.O_TRACE_ROWS])
    flat = rows[: used * width]
    flat = flat.tolist() if hasattr(flat, "tolist") else flat  # an array, from machine code
    columns = [flat[k::width] for k in range(width)]
    names = [*packed.nodes, plan.sump.name]
    regimes = columns[1 + 2 * (n + 1) + count :]
    return Trace(
        times=columns[0],
        levels={name: columns[1 + i] for i, name in enumerate(names)},
        rates={name: columns[2 + n + i] for i, name in enumerate(names)},
        outflow={g: columns[1 + 2 * (n + 1) + j] for j, g in enumerate(packed.groups)},
        regime={g: [REGIMES[int(x)] for x in regimes[j]] for j, g in enumerate(packed.groups)},
        pump=columns[-1],
        complete=used * width < len(rows),
    )
