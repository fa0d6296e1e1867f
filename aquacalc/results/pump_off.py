"""What happens when the pump stops: a power cut at the worst moment, and a timer that stops it often.

Runs one after another from where the one before left off, so that no water is
lost between them. What stands in the delivery pipe is not in beds or sump; it
runs back into the sump while the pump is off, unless a check valve holds it.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass

from aquacalc.engine import state as e
from aquacalc.engine.packing import REPEAT, pack
from aquacalc.engine.runner import run_packed
from aquacalc.equations.formulas import circle_area
from aquacalc.hydraulics.levels import level_at, start_level, volume_at
from aquacalc.hydraulics.pump import pump_flow
from aquacalc.hydraulics.starting import choke, purge, spill_level, start_band
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan.model import Plan
from aquacalc.plan.network import order
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.window import inflow_part, system_water

#: Longest time (s) that the water takes to come to rest without the pump.
REST = 86400.0
#: Periods of a timer after which it is taken not to repeat itself.
PERIODS = 60
#: Part of an inflow at which a siphon that needs all of it is taken to start, so that it does some time.
LATEST = 0.97


@dataclass(frozen=True)
class Standing:
    """Where everything stands at one moment.

    Attributes
    ----------
    levels : tuple of float
        By node in the order of the network, then of the sump, m.
    regime, open : tuple of int
        By siphon: what it does, and 1 while air stands in its tail (`aquacalc.engine.state`).
    purged : tuple of float
        By siphon: what has gone over its lip since its bore filled, m3.
    """

    levels: tuple[float, ...]
    regime: tuple[int, ...]
    open: tuple[int, ...]
    purged: tuple[float, ...]


def phase(packed: e.PackedPlan, at: Standing, seconds: float, pump: bool):
    """Run on from `at` for some `seconds` (s), or until all is at rest; where it then stands, and its totals.

    `pump` says whether the pump runs.
    """
    if not pump:
        packed = packed._replace(pump_flow=0.0, curve_flow=[], curve_head=[])
    packed = packed._replace(
        start=list(at.levels), regime=list(at.regime), open=list(at.open), purged=list(at.purged),
        time_max=seconds, repeat=-1.0,
    )  # fmt: skip
    totals, cycles, _ = run_packed(packed, trace=False)
    n, m = packed.nodes, packed.siphons
    levels, purged = tuple(cycles.last[: n + 1]), tuple(cycles.purged[:m])
    return Standing(levels, tuple(cycles.regime[:m]), tuple(cycles.open[:m]), purged), totals, cycles


def pipe_water(plan: Plan) -> float:
    """Water (m3) in the delivery pipe that runs back when the pump stops."""
    delivery = plan.pump.delivery
    if delivery is None or delivery.check_valve == "fitted":
        return 0.0
    return circle_area(delivery.pipe.bore) * delivery.length


def _siphoned_back(plan: Plan, at: Standing) -> Standing:
    """Let what stands over the end of the delivery pipe run back through it into the sump."""
    delivery = plan.pump.delivery
    if delivery is None or delivery.check_valve == "fitted" or max(at.levels) <= delivery.outlet:
        return at
    levels, back = list(at.levels), 0.0
    for i, (name, _) in enumerate(order(plan)):
        if levels[i] > delivery.outlet:
            if plan.tee(name) is None:
                cells = vessel_cells(plan, plan.vessel(name))
                back += volume_at(cells, levels[i]) - volume_at(cells, delivery.outlet)
            levels[i] = delivery.outlet
    cells = vessel_cells(plan, plan.sump)
    levels[-1] = level_at(cells, volume_at(cells, levels[-1]) + back)
    return Standing(tuple(levels), at.regime, at.open, at.purged)


def _held(plan: Plan, levels: Sequence[float]) -> float:
    """Water (m3) in beds and chambers at these levels."""
    vessels = [(plan.vessel(n), z) for (n, _), z in zip(order(plan), levels, strict=False) if not plan.tee(n)]
    return sum(volume_at(vessel_cells(plan, vessel), z) for vessel, z in vessels)


@dataclass(frozen=True)
class PowerCut:
    """The pump stops for good, at the worst moment for the sump and at the worst for the beds.

    Attributes
    ----------
    sump : float
        Highest level of the sump when it stops just after every siphon has started, the delivery pipe run
        back, m.
    comes_back : float
        Water that comes back into the sump from then on, m3.
    rest : float
        Time from then until all is at rest, s.
    left : dict of str to float
        Level of each bed and chamber then, m.
    stands : dict of str to float
        Level of each when it stops just before the siphons start: they stay flooded, m.
    held : float
        Water that then stays in beds and chambers, beyond what stays when they have drained, m3.
    """

    sump: float
    comes_back: float
    rest: float
    left: dict[str, float]
    stands: dict[str, float]
    held: float


def power_cut(run: SystemCycle) -> PowerCut:
    """Stop the pump of a plan that has been run, at the worst moments.

    Parameters
    ----------
    run : SystemCycle

    Returns
    -------
    PowerCut

    Examples
    --------
    >>> from aquacalc.catalogue import data_dir
    >>> from aquacalc.plan.read import read_plan
    >>> from aquacalc.results.cycle import run_plan
    >>> cut = power_cut(run_plan(read_plan(data_dir() / "plans" / "one-bed.toml"), trace=False))
    >>> all(cut.left[bed] < level for bed, level in cut.stands.items())
    True
    """
    plan, packed = run.plan, pack(run.plan)
    regimes = {"spills": e.SPILLING, "no inflow": e.FILLING}
    names = [name for name, _ in order(plan)]
    nodes = [run.node(name) for name in names]
    goes = {g.name: g.outcome for g in run.groups}
    levels = [n.at_start if goes[n.group] in ("cycles", "unsettled") else n.at_break for n in nodes]
    sump = vessel_cells(plan, plan.sump)
    water = system_water(plan, run)
    now = level_at(sump, water - _held(plan, levels))
    at = Standing(
        (*levels, now),
        tuple(regimes.get(g.outcome, e.SIPHONING) for g in run.groups),
        tuple(
            1 - (packed.fills_drowned if now > end else packed.fills)[j] for j, end in enumerate(packed.tail)
        ),
        (0.0,) * packed.siphons,
    )
    rest, totals, _ = phase(packed, at, REST, pump=False)
    rest = _siphoned_back(plan, rest)
    back = volume_at(sump, rest.levels[-1]) - volume_at(sump, now) + pipe_water(plan)
    lips = {s.name: plan.lip_level(s) for s in plan.siphons}
    floods = [
        max(start_level(plan, n.name), min(lips[n.group], n.high if goes[n.group] == "no inflow" else 1e9))
        for n in nodes
    ]
    stands = _siphoned_back(plan, Standing((*floods, now), at.regime, at.open, at.purged)).levels
    drained = tuple(start_level(plan, name) for name in names)
    return PowerCut(
        sump=level_at(sump, volume_at(sump, now) + back),
        comes_back=back,
        rest=totals.time,
        left={n: z for n, z in zip(names, rest.levels, strict=False) if not plan.tee(n)},
        stands={n: z for n, z in zip(names, stands, strict=False) if not plan.tee(n)},
        held=_held(plan, stands) - _held(plan, drained),
    )


@dataclass(frozen=True)
class Timer:
    """A pump on a timer, once its periods repeat themselves.

    Attributes
    ----------
    periods : int
        Periods after which it repeats; those run where it does not.
    repeats : bool
    tried : int
        Periods run in all.
    floods : dict of str to float
        By siphon: floods that drain in an hour, 1/s.
    first : dict of str to int
        By siphon: period in which it first drains, from 1; 0 for never.
    cut_short : dict of str to int
        By siphon: periods in which the pump stops with water over the lip and the siphon not yet started.
    at_off, at_on : dict of str to (float, float)
        By bed: lowest and highest level when the pump is switched off, and when it comes on again, m.
    sump_low, sump_high : float
        m; the highest with the delivery pipe run back.
    pumped, runs_back : float
        Water that comes to the beds in one time on, and that runs back in one time off, at most, m3.
    balance : float
        Water lost between the first switching on and the end, over what was pumped (a share).
    """

    periods: int
    repeats: bool
    tried: int
    floods: dict[str, float]
    first: dict[str, int]
    cut_short: dict[str, int]
    at_off: dict[str, tuple[float, float]]
    at_on: dict[str, tuple[float, float]]
    sump_low: float
    sump_high: float
    pumped: float
    runs_back: float
    balance: float


@dataclass(frozen=True)
class _Period:
    """One time on and off: floods by siphon, levels by node when it switches, the sump, water pumped.

    `starting` says by siphon whether it was between lip and running full when the pump stopped.
    """

    breaks: tuple[int, ...]
    starting: tuple[bool, ...]
    at_off: tuple[float, ...]
    at_on: tuple[float, ...]
    sump_low: float
    sump_high: float
    pumped: float


def _period(plan: Plan, packed: e.PackedPlan, at: Standing) -> tuple[Standing, _Period]:
    """Run one time on and off from `at`."""
    on, ends, breaks, pumped = max(plan.pump.on - fills_pipe(plan), 0.0), [at], [0] * packed.siphons, 0.0
    lows, highs = [at.levels[-1]], [at.levels[-1]]
    for seconds, pump in ((on, True), (plan.pump.off, False)):
        if seconds > 0.0:
            at, totals, cycles = phase(packed, at, seconds, pump)
            breaks = [a + b for a, b in zip(breaks, cycles.breaks, strict=False)]
            lows.append(totals.sump_low)
            highs.append(totals.sump_high)
            pumped += totals.pumped
        ends.append(at)
    at = _siphoned_back(plan, at)
    high = max(*highs, at.levels[-1])
    starting = tuple(regime in (e.SPILLING, e.PURGING) for regime in ends[1].regime)
    return at, _Period(tuple(breaks), starting, ends[1].levels, at.levels, min(lows), high, pumped)


def fills_pipe(plan: Plan) -> float:
    """Time (s) that the pump takes to fill the delivery pipe before anything comes out of its end."""
    flow = pump_flow(plan, plan.sump.floor + plan.sump.water_level)
    return pipe_water(plan) / flow if flow > 0.0 else 0.0


def _late(plan: Plan, packed: e.PackedPlan) -> e.PackedPlan:
    """Let each siphon start as late as it may: at the end of its band, and priming for longest."""
    pumped = pump_flow(plan, plan.sump.floor + plan.sump.water_level)
    bands = [(s, start_band(s)) for s in plan.siphons]
    flows = [max(b.middle, min(b.high, LATEST * inflow_part(plan, s) * pumped)) for s, b in bands]
    return packed._replace(
        start_level=[spill_level(plan, s, q) for s, q in zip(plan.siphons, flows, strict=True)],
        purge=[purge(s)[2] * choke(s) for s in plan.siphons],
    )


@functools.lru_cache(maxsize=16)
def latest_start(plan: Plan) -> dict[str, tuple[float, float]]:
    """Time on (s) from drained beds until water is at each lip, and until the siphon has very likely started.

    The delivery pipe fills first.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    dict of str to (float, float)
        By siphon; 0 where it does not cycle.
    """
    _, cycles, _ = run_packed(_late(plan, pack(plan)), trace=False)
    late = {}
    for j, s in enumerate(plan.siphons):
        began = cycles.began[j] - fills_pipe(plan)
        goes = cycles.outcome[j] in (e.CYCLES, e.RUNS_ON)
        late[s.name] = (cycles.spill_time[j] - began, cycles.start_time[j] - began) if goes else (0.0, 0.0)
    return late


@functools.lru_cache(maxsize=16)
def timer(plan: Plan, late: bool = False) -> Timer | None:
    """Run a plan by its timer until its periods repeat; None without a timer.

    Parameters
    ----------
    plan : Plan
    late : bool
        With every siphon starting as late as it may.

    Returns
    -------
    Timer or None

    Examples
    --------
    >>> from aquacalc.catalogue import data_dir
    >>> from aquacalc.plan import edit
    >>> from aquacalc.plan.read import read_plan
    >>> plan = read_plan(data_dir() / "plans" / "one-bed.toml")
    >>> timer(plan) is None
    True
    >>> hourly = timer(edit.put(plan, {"pump.on": 900.0, "pump.off": 2700.0}))
    >>> hourly.balance < 1e-9
    True
    """
    if plan.pump.on is None:
        return None
    packed = _late(plan, pack(plan)) if late else pack(plan)
    none = (0,) * packed.siphons
    at = Standing(tuple(packed.start), none, none, (0.0,) * packed.siphons)
    sump = vessel_cells(plan, plan.sump)
    water = _held(plan, at.levels) + volume_at(sump, at.levels[-1])
    seen: list[Standing] = [at]
    kept: list[_Period] = []
    again: int | None = None
    while again is None and len(kept) < PERIODS:
        at, period = _period(plan, packed, at)
        kept.append(period)
        again = next((k for k, s in enumerate(seen) if _alike(s, at)), None)
        seen.append(at)
    block = kept[again or 0 :]
    span = len(block) * (plan.pump.on + plan.pump.off)
    lost = abs(_held(plan, at.levels) + volume_at(sump, at.levels[-1]) - water)
    total, back = sum(p.pumped for p in kept), pipe_water(plan)
    beds = {bed.name for bed in plan.beds}
    off, on = (
        {name: (min(z), max(z)) for (name, _), z in zip(order(plan), columns, strict=False) if name in beds}
        for columns in (
            zip(*(p.at_off for p in block), strict=True),
            zip(*(p.at_on for p in block), strict=True),
        )
    )
    return Timer(
        periods=len(block),
        repeats=again is not None,
        tried=len(kept),
        floods={s.name: sum(p.breaks[j] for p in block) / span for j, s in enumerate(plan.siphons)},
        first={
            s.name: next((k for k, p in enumerate(kept, 1) if p.breaks[j]), 0)
            for j, s in enumerate(plan.siphons)
        },
        cut_short={s.name: sum(p.starting[j] for p in block) for j, s in enumerate(plan.siphons)},
        at_off=off,
        at_on=on,
        sump_low=min(p.sump_low for p in block),
        sump_high=level_at(sump, volume_at(sump, max(p.sump_high for p in block)) + back),
        pumped=max(p.pumped for p in block),
        runs_back=back,
        balance=lost / total if total > 0.0 else lost,
    )


def _alike(a: Standing, b: Standing) -> bool:
    apart = max(abs(x - y) for x, y in zip(a.levels, b.levels, strict=True))
    return a.regime == b.regime and apart < REPEAT
