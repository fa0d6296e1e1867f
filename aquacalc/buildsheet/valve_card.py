"""The valve card: one page to hang beside the pump, with what to turn, how far, and this plan's marks.

Every number is of this plan, run by the engine; what a turn does is run before it is written.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from html import escape
from typing import Any

from aquacalc.bench.jug import jug_time
from aquacalc.bench.words import flow_text
from aquacalc.design.answer import to_mark
from aquacalc.design.change import built
from aquacalc.design.corners import hard_start
from aquacalc.design.keeping import fill_words, marks
from aquacalc.findings import find
from aquacalc.hydraulics.levels import level_at, volume_at
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.pages.skeleton import skeleton
from aquacalc.plan.model import Bed, Plan
from aquacalc.results.cycle import SystemCycle, run_plan
from aquacalc.results.window import inflow_part, inflow_window, sump_range
from aquacalc.units import show

#: How far inside the window the valve is set, as a part of the flow; no jug shows less.
INSIDE = 0.05
#: Part of its slots that a strainer has left when its bed lags, and part of its inflow that a bed keeps.
CLOGGED, TURNED = 0.1, 0.5
INTRO = "Turn a little, time the jug, wait for one flood. One turn at a time."
CAUTION = (
    "Pull the plug before you reach into the water. The pump hangs on a residual-current device (GFCI), its "
    "plug higher than any splash."
)


@dataclass(frozen=True)
class Line:
    """One thing that goes wrong.

    Attributes
    ----------
    key, seen : str
        What it is, for programs and for the grower.
    steps : tuple of str
        What to turn or fill, in order.
    values : dict of str to object
        What the steps leave in the plan, as `aquacalc.plan.edit.put` takes it; empty where no turn helps.
    """

    key: str
    seen: str
    steps: tuple[str, ...]
    values: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class ValveCard:
    """The card of a plan: its `marks` as (what, where) and a line for each thing that goes wrong."""

    plan: Plan
    marks: tuple[tuple[str, str], ...]
    lines: tuple[Line, ...]

    @property
    def title(self) -> str:
        """Heading of the page."""
        return f"Valve card: {self.plan.name}"


def _jug(flow: float, system: str) -> str:
    return f"{jug_time(flow, system)} ({flow_text(flow, system)})"


def _minutes(seconds: float) -> str:
    return f"{max(math.ceil(seconds / 60.0), 1)} min"


def valve_card(plan: Plan) -> ValveCard:
    """Work out the card of a plan.

    Parameters
    ----------
    plan : Plan
        A checked plan, as it is meant to run.

    Returns
    -------
    ValveCard

    Examples
    --------
    >>> from aquacalc.catalogue import data_dir
    >>> from aquacalc.plan import read_plan
    >>> card = valve_card(read_plan(data_dir() / "plans" / "greenhouse.toml"))
    >>> [line.key for line in card.lines]
    ['trickles', 'runs on', 'lags', 'sump low']
    """
    run, s = run_plan(plan, trace=False), plan.units
    windows = [(inflow_window(plan, siphon, run), inflow_part(plan, siphon)) for siphon in plan.siphons]
    low = max(window.start_high / part for window, part in windows)
    high = min(window.stop_with_margin / part for window, part in windows)
    told = [("The pump now brings", _jug(run.pump, s))]
    if low < high:
        told.append(("Very likely to start from, and to stop up to", f"{_jug(low, s)} to {_jug(high, s)}"))
    for group in run.groups:
        if group.outcome == "cycles":
            fill = group.fill_time + group.spill_time + group.priming_time
            times = f"fills and starts in {_minutes(fill)}, drains in {_minutes(group.drain_time)}"
            told.append((f"One flood of {group.name}", times))
    told.append(("Sump", fill_words(plan, marks(plan, run))))
    lines = [_trickles(plan, run, low, high), _runs_on(plan, run, low, high)]
    lines += [*_lags(plan, run), _sump_low(plan, run, low, high)]
    return ValveCard(plan, tuple(told), tuple(lines))


def _setting(plan: Plan, flow: float) -> dict[str, Any]:
    """Edits that set the flow (m3/s) by the valve; a pump with a curve then gives what the valve lets by."""
    return {"pump.flow": flow} | ({"pump.curve": ()} if plan.pump.curve else {})


def _settled(plan: Plan, flow: float) -> SystemCycle | None:
    """Run the plan at a valve's setting and a hard start; None where it does not start and stop surely."""
    changed = built(plan, _setting(plan, flow) | hard_start(plan))
    run = run_plan(changed, trace=False) if changed else None
    if run is None or any(group.outcome != "cycles" for group in run.groups):
        return None
    judged = [f.state for f in find(run) if f.key in ("start", "spills", "stop", "runs_on")]
    return run if set(judged) == {"good"} else None


def _set(plan: Plan, run: SystemCycle, low: float, high: float, up: bool) -> tuple[float, SystemCycle] | None:
    """Find a setting (m3/s) just inside the window, on the side from which the valve comes."""
    if plan.pump.curve:
        high = min(high, run.pump)  # a valve can only take from what the pump brings
    flow = low * (1.0 + INSIDE) if up else high * (1.0 - INSIDE)
    if not low < flow < high:
        flow = math.sqrt(low * high)
    flow, _ = to_mark(flow, "flow", plan.units, up)
    run = _settled(plan, flow) if low < flow < high else None
    return (flow, run) if run else None


_NO_SETTING = (
    "No setting of the valve is sure to start it and to stop it: see the report for a part to change.",
)


def _trickles(plan: Plan, run: SystemCycle, low: float, high: float) -> Line:
    s, seen = plan.units, "It trickles: water runs over the lip, and the siphon does not start"
    found = _set(plan, run, low, high, up=True)
    if found is None:
        return Line("trickles", seen, _NO_SETTING)
    flow, after = found
    group = after.groups[0]
    wait = _minutes(group.fill_time + group.spill_time + group.priming_time)
    steps = (
        f"Open the valve a little, time the jug, and wait {wait}: a flood takes so long. Go on until the "
        f"jug takes {_jug(flow, s)}.",
        f"No further than {_jug(high, s)}: from there it may not stop.",
        "If it still trickles, leave the valve. Stop the pump and look for a leak at the bell and its "
        "openings, then for roots or a sag in the tail.",
    )
    return Line("trickles", seen, steps, _setting(plan, flow))


def _runs_on(plan: Plan, run: SystemCycle, low: float, high: float) -> Line:
    s, seen = plan.units, "It will not stop: the tail runs on, and the beds stay low"
    found = _set(plan, run, low, high, up=False)
    if found is None:
        return Line("runs on", seen, _NO_SETTING)
    flow, after = found
    steps = (
        f"Stop the pump until the tail is empty, {_minutes(after.groups[0].drain_time)} at most. Close the "
        "valve a little and start the pump again.",
        f"Close it until the jug takes {_jug(flow, s)}; "
        f"let one flood pass, {_minutes(after.groups[0].period)}.",
        f"No further than {_jug(low, s)}: below that it may not start.",
        "If it still runs on, leave the valve. Look whether the bell's rim is bare and level, and whether "
        "the tail's end hangs in the water.",
    )
    return Line("runs on", seen, steps, _setting(plan, flow))


def _lags(plan: Plan, run: SystemCycle) -> Iterator[Line]:
    """Clog the strainer of the bed that has most to lose, and see which turn brings it back."""
    beds = [bed for bed in plan.beds if bed.strainer is not None]
    if len(plan.beds) < 2 or not beds:
        return
    bed = max(beds, key=lambda b: run.node(b.name).at_break - b.floor)
    count = max(int(bed.strainer.count * CLOGGED), 1)
    clog: dict[str, Any] = {f"bed.{bed.name}.strainer.count": count}
    turn = {f"bed.{bed.name}.inflow_share": TURNED * bed.inflow_share}
    levels = []
    for values in ({}, clog, clog | turn):
        changed = built(plan, values)
        levels.append(_stays(changed, bed) if changed else math.nan)
    clean, clogged, turned = levels
    s, gained = plan.units, clogged - turned
    lost = f"{show(clogged - clean, 'length', s, 2)} more water"
    worth = clogged - clean > 0.002 and gained > 0.1 * (clogged - clean)
    steps = [
        "Clean its strainer and the first bend. With a tenth of its openings left "
        f"{bed.name} keeps {lost if clogged - clean > 0.001 else 'hardly more water'}."
    ]
    if worth:
        share = TURNED * bed.inflow_share * run.pump / sum(b.inflow_share for b in plan.beds)
        steps.append(
            f"Until then close its own inlet valve to half ({_jug(share, s)} for {bed.name}), and leave the "
            f"pump's: the others then get more, and {bed.name} keeps {show(gained, 'length', s, 2)} less."
        )
    else:
        steps.append("Leave the valves: half the inflow to such a bed takes off next to nothing.")
    yield Line("lags", "A bed lags: it drains last, or keeps water", tuple(steps), turn if worth else {})


def _stays(plan: Plan, bed: Bed) -> float:
    """Depth (m) in a bed when the siphon breaks."""
    return run_plan(plan, trace=False).node(bed.name).at_break - bed.floor


def _sump_low(plan: Plan, run: SystemCycle, low: float, high: float) -> Line:
    s, sump, cells = plan.units, plan.sump, vessel_cells(plan, plan.sump)
    at = level_at(cells, volume_at(cells, sump_range(plan, run).low))
    step = 0.01 if s == "metric" else 0.0127
    each = show(volume_at(cells, at + step) - volume_at(cells, at), "volume", s, 2)
    said = [
        "Stop the pump before it draws air. Wait an hour, until the beds have drained.",
        f"Fill to the mark: {fill_words(plan, marks(plan, run))}. {show(step, 'length', s, 2)} is {each}.",
    ]
    ends = [_settled(plan, flow) for flow in (low * (1.0 + INSIDE), high * (1.0 - INSIDE))]
    if all(ends):
        apart = show(abs(ends[0].sump_low - ends[1].sump_low), "length", s, 2)
        said.append(f"Leave the valve: all its settings that work change the sump's lowest by {apart} only.")
    said.append("The hose ends above the sump's rim, never in the water.")
    return Line("sump low", "The sump is low: the pump gurgles or its intake shows", tuple(said),
                {"sump.water_level": sump.water_level})  # fmt: skip


def page(card: ValveCard) -> str:
    """Return the card as one HTML page that opens offline and prints on one sheet of A4 or Letter."""
    rows = "".join(f"<tr><th scope=row>{escape(a)}</th><td>{escape(b)}</td></tr>" for a, b in card.marks)
    body = [
        f"<h1>{escape(card.title)}</h1>",
        f"<p>{INTRO}</p>",
        f"<table><caption>Marks of this plan</caption><tbody>{rows}</tbody></table>",
    ]
    for line in card.lines:
        steps = "".join(f"<li>{escape(step)}</li>" for step in line.steps)
        body.append(f'<section><h2>{escape(line.seen)}</h2><ol class="steps">{steps}</ol></section>')
    body.append(f"<p>{CAUTION}</p>")
    return skeleton(card.title, "<main>\n" + "\n".join(body) + "\n</main>", kind="card")
