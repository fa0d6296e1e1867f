"""The panels of the workbooks: lip and bore, one bed, several beds, sump and standpipe."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import ipywidgets as w

from aquacalc import catalogue
from aquacalc.equations.formulas import GRAVITY, lip_head
from aquacalc.figures.lips import TRICKLES, three_pipes
from aquacalc.hydraulics.levels import flood_volume
from aquacalc.hydraulics.starting import start_band
from aquacalc.notebook.equation_panel import EquationPanel
from aquacalc.notebook.panel_pictures import InflowWindow, Levels, Lips, PrimingMap, Section
from aquacalc.notebook.plan_panel import Move, PlanPanel
from aquacalc.notebook.reader_units import units
from aquacalc.plan import edit
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import run_plan
from aquacalc.results.window import inflow_window, sump_range
from aquacalc.units import show


def with_standpipe(plan: Plan, height: float) -> Plan:
    """Change the standpipe's `height` (m); the bell keeps its clearance over the lip."""
    siphon = plan.siphons[0]
    crown = siphon.bell.top_height - siphon.standpipe.height
    at = f"siphon.{siphon.name}"
    return edit.put(plan, {f"{at}.standpipe.height": height, f"{at}.bell.top_height": height + crown})


def with_bore(plan: Plan, size: str) -> Plan:
    """Change the standpipe's size, and the tail's where both are one pipe; a lip is never narrower."""
    siphon = plan.siphons[0]
    stand = siphon.standpipe
    pipe = edit.put(plan, {f"siphon.{siphon.name}.standpipe.size": size}).siphons[0].standpipe.pipe
    plain = stand.lip_diameter <= 1.001 * stand.pipe.bore
    values = {
        f"siphon.{siphon.name}.standpipe.pipe": pipe,
        f"siphon.{siphon.name}.standpipe.lip_diameter": pipe.bore
        if plain
        else max(stand.lip_diameter, pipe.bore),
    }
    if siphon.tail.pipe == stand.pipe:
        values[f"siphon.{siphon.name}.tail.pipe"] = pipe
    return edit.put(plan, values)


def with_lip(plan: Plan, lip: float) -> Plan:
    """Change the lip's diameter (m), down to the bore."""
    siphon = plan.siphons[0]
    return edit.put(
        plan, {f"siphon.{siphon.name}.standpipe.lip_diameter": max(lip, siphon.standpipe.pipe.bore)}
    )


def with_drain(plan: Plan, size: str) -> Plan:
    """Change the size of every drain line; a drop under a bed is cut as long as the new pipe needs it."""
    beds, longer = {bed.name: bed for bed in plan.beds}, {}
    sized = edit.put(plan, {f"run.{run.start}.size": size for run in plan.runs})
    for run in sized.runs:
        bed = beds.get(run.start)
        if bed is not None and bed.outlet == "floor":
            # A pipe's length is along its middle and its end is given by its bottom.
            drop = bed.outlet_invert - run.outfall - 0.5 * run.pipe.bore
            if run.length < drop:
                longer[f"run.{run.start}.length"] = drop
    return edit.put(sized, longer) if longer else sized


def with_flow(plan: Plan, flow: float) -> Plan:
    """Give the pump a constant flow, m3/s."""
    return replace(plan, pump=replace(plan.pump, flow=flow, curve=()))


def less_flow(plan: Plan, part: float) -> Plan:
    """Turn the pump down to a `part` of what it brings."""
    return with_flow(plan, part * pump_flow(plan))


@lru_cache(maxsize=16)
def pump_flow(plan: Plan) -> float:
    """Return what the pump brings, m3/s: with a curve, what it delivers in this plan."""
    return plan.pump.flow if plan.pump.flow is not None else run_plan(plan, trace=False).pump


def _height(plan: Plan) -> Move:
    """Heights from a low flood to the rim of the siphon's vessel."""
    siphon = plan.siphons[0]
    crown = siphon.bell.top_height - siphon.standpipe.height
    low = max(2.5 * siphon.bell.rim_height, 0.4 * siphon.standpipe.height)
    high = plan.vessel(siphon.host).shape.depth - crown

    def get(plan: Plan) -> float:
        return plan.siphons[0].standpipe.height

    return Move("standpipe", "Standpipe height", "length", get, with_standpipe, low, high)


def _inflow(high: float) -> Move:
    return Move("inflow", "Pump flow", "flow", pump_flow, with_flow, 2.0 / 60e3, high)


def _edited(key: str, label: str, kind: str, path: str, low: float, high: float) -> Move:
    def get(plan: Plan):
        found = edit.get(plan, path)
        return found[0] if isinstance(found, tuple) else found

    return Move(key, label, kind, get, lambda p, v: edit.put(p, {path: v}), low, high)


def _size(plan: Plan, widest: float) -> Move:
    """Sizes of the standpipe's own series up to a bore of `widest`."""
    pipe = plan.siphons[0].standpipe.pipe
    sizes = pipe_sizes(pipe.series, 0.015, max(widest, pipe.bore))
    return Move(
        "bore", "Standpipe size", "size", lambda p: p.siphons[0].standpipe.pipe.size, with_bore, sizes=sizes
    )


def pipe_sizes(series: str, low: float, high: float) -> tuple[str, ...]:
    """Sizes of a pipe series with bores from `low` to `high` (m), smallest first."""
    return tuple(s.size for s in catalogue.sizes(series) if low <= s.bore <= high)


class LipPanel(PlanPanel):
    """Lip and bore of a standpipe: where it starts, how high the water stands then, and what that costs.

    Parameters
    ----------
    plan : Plan
    """

    def __init__(self, plan: Plan):
        siphon = plan.siphons[0]
        pipe = siphon.standpipe.pipe
        widest = siphon.bell.bore - (pipe.outside_diameter - pipe.bore)  # the lip has a wall as well
        super().__init__(
            plan,
            (
                _size(plan, 0.5 * widest),
                Move("lip", "Lip diameter", "length",
                     lambda p: p.siphons[0].standpipe.lip_diameter, with_lip, 0.015, widest - 0.002),
                _inflow(40.0 / 60e3),
            ),
            (Lips, PrimingMap, InflowWindow),
            moment=False,
        )  # fmt: skip

    def told(self):
        """Say where it starts, at what head, and what the bore costs."""
        siphon = self.plan.siphons[0]
        stand, system = siphon.standpipe, units()
        band = start_band(siphon)
        low, likely, high = band.low, band.middle, band.high
        laws = (siphon.lip_weir, siphon.lip_orifice)
        window = inflow_window(self.plan, siphon, self.run)
        today, spills = window.today, min(window.today, likely)
        head, plain = (lip_head(*laws, d, spills, GRAVITY) for d in (stand.lip_diameter, stand.pipe.bore))

        def q(flow: float) -> str:
            return show(flow, "flow", system)

        heads = (
            f"{show(head, 'head', system)} over the lip; over a plain end it would be "
            f"{show(plain, 'head', system)}"
        )
        if today < low:
            does = f"it never starts: the water runs down the wall, and stands {heads}"
        elif today < likely:
            does = f"it may start, or trickle on with the water {heads}"
        else:
            sure = "starts" if today >= high else "is expected to start, and may not"
            does = f"it {sure}. The water then stands {heads}"
        text = (
            f"A bore of {show(stand.pipe.bore, 'length', system)} is expected to fill at {q(likely)} "
            f"({q(low)} to {q(high)}): with {q(today)} {does}. Once full it still carries {q(window.stop)} "
            "with the water at the bell rim: "
        )
        if today >= window.stop:
            text += f"{q(today)} is more, so it never stops."
        else:
            text += "an inflow above that never lets it stop."
        wide = three_pipes(siphon, today)[2]
        needs = f"{q(wide.band.low)} to {q(wide.band.high)}"
        does = "only trickles" if wide.does == TRICKLES else wide.does
        return f"{text} A pipe as wide as the lip all the way {does}: it fills at {needs}.", ""


class BedPanel(PlanPanel):
    """One bed and its siphon: standpipe, bore, lip, inflow and porosity.

    Parameters
    ----------
    plan : Plan
    """

    def __init__(self, plan: Plan):
        super().__init__(
            plan,
            (
                _height(plan),
                _inflow(40.0 / 60e3),
                _size(plan, 0.5 * plan.siphons[0].bell.bore),
                _edited("porosity", "Porosity of the media", "ratio", "bed.*.porosity", 0.2, 0.7),
            ),
            (Section, Levels, InflowWindow),
        )  # fmt: skip


class BedsPanel(PlanPanel):
    """Several beds on one siphon: standpipe, inflow and drain line.

    Parameters
    ----------
    plan : Plan
    """

    def __init__(self, plan: Plan):
        pipe = plan.runs[0].pipe
        super().__init__(
            plan,
            (
                _height(plan),
                _inflow(40.0 / 60e3),
                Move("drain", "Drain line size", "size", lambda p: p.runs[0].pipe.size,
                     with_drain, sizes=pipe_sizes(pipe.series, 0.020, 0.080)),
            ),
            (Levels, Section, InflowWindow),
        )  # fmt: skip


class SumpPanel(PlanPanel):
    """Sump and standpipe: how far the water swings, and what overflows or runs dry.

    Parameters
    ----------
    plan : Plan
        Its sump is round, or its width is what the slider changes.
    """

    def __init__(self, plan: Plan):
        shape = plan.sump.shape
        knobs = [_height(plan)]
        for across in shape.sides[:2][-1:]:  # its diameter or its width; a table of areas has neither
            size = getattr(shape, across)
            knobs.append(
                _edited("sump", f"Sump {across}", "length", f"sump.{across}", 0.5 * size, 1.5 * size)
            )
        least = plan.pump.intake + 0.02
        knobs.append(_edited("water", "Water in the sump", "length", "sump.water_level", least, shape.depth))
        super().__init__(plan, tuple(knobs), (Section, Levels))

    def told(self):
        """Say how the sump swings, then what the plan does."""
        levels, system = sump_range(self.plan, self.run), units()
        sump = self.plan.sump
        said = (
            f"{show(flood_volume(self.plan), 'volume', system)} goes back and forth: the sump swings from "
            f"{show(levels.low, 'elevation', system)} to {show(levels.high, 'elevation', system)}; its rim "
            f"is at {show(sump.rim, 'elevation', system)}, and the pump needs water up to "
            f"{show(sump.floor + self.plan.pump.intake, 'elevation', system)}."
        )
        text, more = super().told()
        return f"{said} {text}", more


#: What is said instead of a button that saves a plan fitted to readings that nobody took.
INVENTED = (
    "Fitted to invented readings, so it cannot be saved: type your own into the form, and run the boxes "
    "below it again."
)


class FittedPanel(PlanPanel):
    """A plan as it is, without sliders: its cycle, its window, and a button that saves it.

    Parameters
    ----------
    plan : Plan
    keep : bool
        Whether it may be saved; not where it was fitted to invented readings.
    """

    def __init__(self, plan: Plan, keep: bool = True):
        super().__init__(plan, (), (Levels, InflowWindow, Section))
        if not keep:
            self.saving.children = (w.HTML(INVENTED),)


def flood_panel(plan: Plan) -> EquationPanel:
    """Return the water of one flood of the first bed, with sliders that begin at its own sizes."""
    bed = plan.beds[0]
    area, deep = bed.shape.area(0.5 * bed.media.depth), bed.media.depth
    ranges = {
        "A": (0.3 * area, area, 2.5 * area),
        "h": (0.2 * deep, 0.9 * deep, 1.2 * deep),
        "phi": (0.2, bed.media.porosity, 0.7),
    }
    return EquationPanel("bed_water", ranges, given={"h_m": deep})


def cycle_panel(plan: Plan) -> EquationPanel:
    """Return the time of a cycle by hand, with sliders that begin at what the plan's run gives."""
    group = run_plan(plan).groups[0]
    flood = group.volume_high - group.volume_low
    mean = group.drained / group.drain_time if group.drain_time else 2.0 * group.inflow
    ranges = {
        "V": (0.2 * flood, flood, 2.5 * flood),
        "Q_i": (0.2 * mean, group.inflow, 0.95 * mean),
        "Q_s": (mean, mean, 2.0 * mean),
    }
    return EquationPanel("cycle_time", ranges)
