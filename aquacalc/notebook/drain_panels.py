"""Bends of drain line and tail, outlets, and where the head goes: panels and tables."""

from __future__ import annotations

from dataclasses import replace

from aquacalc import catalogue
from aquacalc.buildsheet.options import compare
from aquacalc.buildsheet.stock import read_workshop
from aquacalc.design.drains import drain_flows
from aquacalc.equations import RECORDS
from aquacalc.equations.formulas import GRAVITY, circle_area, water_kinematic_viscosity
from aquacalc.figures.head_budget import Loss, head_budget, run_losses, siphon_losses
from aquacalc.figures.vector import Drawn
from aquacalc.notebook.equation_panel import EquationPanel
from aquacalc.notebook.panel_pictures import Levels, LivePicture, State
from aquacalc.notebook.plan_panel import Move, PlanPanel
from aquacalc.notebook.reader_units import units
from aquacalc.notebook.table import Grid, grid
from aquacalc.plan import edit
from aquacalc.plan.model import Fitting, Pipe, Plan, Siphon
from aquacalc.plan.records import fitting_k
from aquacalc.results.cycle import SystemCycle, run_plan
from aquacalc.units import show

#: A right angle made another way, as the tables name it; two 45s as close as two moulded sockets fit.
RIGHT_ANGLES = ("bend 90, sharp", "bend 90, screwed", "bend 90, short", "two 45s", "bend 90, swept")
AS_PLANNED = "as planned"
#: Middles of the two 45s where a panel makes them, in bores: room for both sockets.
SPACING = 2.2
_CHOICES = (AS_PLANNED, "bend 90, sharp", "bend 90, short", "two 45s", "bend 90, swept")


def other_bends(fittings: tuple[Fitting, ...], pipe: Pipe, name: str) -> tuple[Fitting, ...]:
    """Return the fittings of a pipe with every right angle made as `name` says.

    Parameters
    ----------
    fittings : tuple of Fitting
    pipe : Pipe
    name : str
        One of `RIGHT_ANGLES`.
    """
    spacing = SPACING * pipe.bore if name == "two 45s" else 0.0
    made = Fitting(name, 1, fitting_k(name, spacing, pipe.bore), spacing)
    return tuple(replace(made, count=f.count) if f.name in RIGHT_ANGLES else f for f in fittings)


def tail_bends(plan: Plan, name: str) -> Plan:
    """Return the plan with every right angle of the first siphon's tail made as `name` says."""
    siphon = plan.siphons[0]
    fittings = other_bends(siphon.tail.fittings, siphon.tail.pipe, name)
    return edit.put(plan, {f"siphon.{siphon.name}.tail.fittings": fittings})


def line_bends(plan: Plan, name: str) -> Plan:
    """Return the plan with every right angle of the drain lines made as `name` says."""
    values = {f"run.{r.start}.fittings": other_bends(r.fittings, r.pipe, name) for r in plan.runs}
    return edit.put(plan, values)


def right_angles() -> Grid:
    """Return the loss coefficients of a right angle made in different ways, as a table."""
    mitre = RECORDS["mitre_90_smooth"].compute().value
    rows = [["one 90° mitre", "", mitre]]
    rows += [
        ["two 45° mitres", f"{spacing:g}", RECORDS["two_45_smooth"].compute(a=spacing, D=1.0).value]
        for spacing in (0.71, 1.174, 1.42, 1.86, 3.14, 6.28)
    ]
    rows += [
        ["two screwed 45s", "", 2.0 * catalogue.fitting("bend 45").k],
        ["two swept 45s", "", 2.0 * catalogue.fitting("bend 45, swept").k],
        ["one screwed 90", "", catalogue.fitting("bend 90, screwed").k],
        ["one short moulded 90", "", catalogue.fitting("bend 90, short").k],
        ["one swept 90", "", catalogue.fitting("bend 90, swept").k],
    ]
    return grid(
        "A right angle made in different ways, smooth pipe",
        ["made of", "distance over bore", "K", "of the mitre, %"],
        [[name, apart, f"{k:.2f}", f"{100.0 * k / mitre:.0f}"] for name, apart, k in rows],
        "Mitres and screwed fittings: Hydraulic Institute, Engineering Data Book. Others: the middle of "
        "Crane, Ito, Miller and Rennels at r/D 1 (short) and 1.5 (swept). Two 45s: twice one.",
    )


def bend_times(plan: Plan) -> Grid:
    """Return how long draining takes with the right angles made in different ways, as a table."""

    def time(tried: Plan) -> str:
        group = run_plan(tried, trace=False).group(plan.siphons[0].name)
        return show(group.drain_time, "time") if group.outcome == "cycles" else group.outcome

    return grid(
        "Time to drain, with all right angles made the same way",
        ["right angles", "changed in the tail", "changed in the drain line"],
        [[name, time(tail_bends(plan, name)), time(line_bends(plan, name))] for name in _CHOICES[1:]],
        f"Two 45s with {SPACING:g} bores from middle to middle, as close as two moulded sockets fit.",
    )


def outlets(plan: Plan) -> Grid:
    """Return the plan with its outlets as they are and the other way, floor or side, as a table.

    The prices are the demo workshop's.

    Parameters
    ----------
    plan : Plan
    """
    system, rows = units(), []
    for option in compare(plan, read_workshop(catalogue.data_dir() / "workshop-demo.toml")):
        if option.name not in (AS_PLANNED, "side outlets", "floor outlets"):
            continue
        cells = [option.problem or option.outcome]
        if option.drain_time is not None:
            cells += [
                show(option.drain_time, "time"),
                show(option.residual, "volume", system),
                show(option.swing, "length", system),
                "" if option.cost is None else f"{option.cost}",
            ]
        rows.append([option.name, *cells, *[""] * (5 - len(cells))])
    here = " and ".join(sorted({bed.outlet for bed in plan.beds}))
    return grid(
        "Floor or side outlets",
        ["outlets", "what it does", "drain time", "water left in the beds", "sump swing", "cost"],
        rows,
        f"As planned, the outlets are in the {here}.",
    )


def bends_alone(plan: Plan) -> EquationPanel:
    """Return the siphon's flow by its bends and openings, with a slider for the friction of the wall."""
    siphon, found, flow = _first_siphon(plan)
    area = circle_area(siphon.standpipe.pipe.bore)
    local = sum(loss.head for loss in found if loss.kind != "wall")
    given = {
        "A": area,
        "H": sum(loss.head for loss in found),
        "K": local * 2.0 * GRAVITY / (flow / area) ** 2,
        "L": siphon.standpipe.height + siphon.tail.length,
        "D": siphon.standpipe.pipe.bore,
    }
    return EquationPanel("siphon_flow", {"f": (0.0, 0.0, 0.05)}, given=given)


def eddies_panel(plan: Plan) -> EquationPanel:
    """Return the Reynolds number in the standpipe, with sliders that begin at its own bore and speed."""
    bore, speed, nu = _stream(plan)
    ranges = {"v": ("0.05 m/s", speed, "3 m/s"), "D": ("15 mm", bore, "80 mm")}
    return EquationPanel("reynolds", ranges, given={"nu": nu})


def wall_panel(plan: Plan) -> EquationPanel:
    """Return the friction factor of the standpipe, with a slider for the Reynolds number."""
    bore, speed, nu = _stream(plan)
    rough = plan.siphons[0].standpipe.pipe.roughness / bore
    return EquationPanel("friction_factor", {"Re": (1000, speed * bore / nu, 100000)}, given={"e": rough})


def _stream(plan: Plan) -> tuple[float, float, float]:
    """Return bore (m), speed (m/s) and viscosity (m2/s) of the water in the first standpipe."""
    siphon, _, flow = _first_siphon(plan)
    bore = siphon.standpipe.pipe.bore
    return bore, flow / circle_area(bore), water_kinematic_viscosity(plan.water_temperature)


def _first_siphon(plan: Plan) -> tuple[Siphon, list[Loss], float]:
    """Return the first siphon, where its head goes, and its highest flow (m3/s)."""
    siphon = plan.siphons[0]
    flow = run_plan(plan).group(siphon.name).flow_high
    return siphon, siphon_losses(plan, siphon, flow), flow


def head_in_siphon(plan: Plan) -> Drawn:
    """Draw where the head goes between the bell's foot and the end of the tail."""
    _, found, flow = _first_siphon(plan)
    return head_budget("the siphon", found, flow, units())


def head_in_line(plan: Plan) -> Drawn:
    """Draw where the head goes between the first bed and its siphon."""
    first = drained(plan)
    return head_budget(f"the drain line of {first}", *line_losses(plan, run_plan(plan), first), units())


def line_losses(plan: Plan, run: SystemCycle, bed: str) -> tuple[list[Loss], float]:
    """Return the losses from a bed to its siphon at its highest flow, and the last stretch's flow (m3/s).

    Parameters
    ----------
    plan : Plan
    run : SystemCycle
        Of the plan.
    bed : str
        Where the water starts.
    """
    siphon = plan.siphon(run.node(bed).group)
    flows = drain_flows(plan, run, siphon)
    found: list[Loss] = []
    flow = 0.0
    for line in plan.way(bed):
        flow = flows[line.start]
        found += [replace(x, name=f"{line.start}: {x.name}") for x in run_losses(plan, line, flow)]
    return found, flow


def drained(plan: Plan) -> str:
    """Return the name of the first bed with a drain line; of the first bed when none has one."""
    starts = {run.start for run in plan.runs}
    return next((bed.name for bed in plan.beds if bed.name in starts), plan.beds[0].name)


class LineHead(LivePicture):
    """Where the head goes between the first bed and the siphon."""

    name = "Head in the drain line"

    @staticmethod
    def fix(state: State) -> dict:
        """Return an axis with room for a line that takes twice as much."""
        found, _ = line_losses(state.plan, state.run, drained(state.plan))
        return {"rows": len(found), "high": 2.0 * sum(x.head for x in found) or None}

    @staticmethod
    def draw(state: State, **fixed) -> Drawn:
        """Draw a state."""
        bed = drained(state.plan)
        found, flow = line_losses(state.plan, state.run, bed)
        return head_budget(f"the drain line of {bed}", found, flow, state.system, **fixed)


class SiphonHead(LivePicture):
    """Where the head goes from the foot of the bell to the end of the tail."""

    name = "Head in the siphon"

    @staticmethod
    def fix(state: State) -> dict:
        """Return an axis of all the height there is, which is lost whatever the bends."""
        found, _ = _siphon(state)
        return {"rows": len(found), "high": 1.05 * sum(x.head for x in found)}

    @staticmethod
    def draw(state: State, **fixed) -> Drawn:
        """Draw a state."""
        return head_budget("the siphon", *_siphon(state), state.system, **fixed)


def _siphon(state: State) -> tuple[list[Loss], float]:
    siphon = state.plan.siphons[0]
    flow = state.run.group(siphon.name).flow_high
    return siphon_losses(state.plan, siphon, flow), flow


class BendsPanel(PlanPanel):
    """Bends of the tail and of the drain line: what they cost in time.

    Parameters
    ----------
    plan : Plan
    """

    def __init__(self, plan: Plan):
        def move(key: str, label: str, put) -> Move:
            def changed(p: Plan, name: str) -> Plan:
                return p if name == AS_PLANNED else put(p, name)

            return Move(key, label, "size", lambda p: AS_PLANNED, changed, sizes=_CHOICES)

        moves = (
            move("tail", "Bends of the tail", tail_bends),
            move("line", "Bends of the drain line", line_bends),
        )
        super().__init__(plan, moves, (SiphonHead, LineHead, Levels), moment=False)
        for knob in self.knobs.values():
            knob.list.layout.width = "11em"  # names of bends are longer than sizes

    def told(self) -> tuple[str, str]:
        """Say how fast it drains."""
        system, group = units(), self.run.group(self.plan.siphons[0].name)
        if group.outcome != "cycles":
            return super().told()
        text = (
            f"The siphon runs at up to {show(group.flow_high, 'flow', system)} and drains the beds in "
            f"{show(group.drain_time, 'time', system)}. At the bell rim it still carries "
            f"{show(group.flow_break, 'flow', system)}."
        )
        return text, super().told()[1]
