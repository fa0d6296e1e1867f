"""Where sources contradict each other: what was chosen, and what each choice does to a plan's answers.

The effects are worked out by running the plan; nothing here is a result typed in.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from aquacalc.catalogue import CatalogueError, pipe
from aquacalc.cycle import run_plan
from aquacalc.equations import losses
from aquacalc.formulas import GRAVITY, lip_head
from aquacalc.plan.model import Fitting, Pipe, Plan
from aquacalc.window import inflow_window

#: Half of what ASTM D1785 lets a wall be thicker than its least: 0.020 in or 12 %, from memory; m and share.
HALF_TOLERANCE = (0.000254, 0.06)
#: Loss of a projecting entrance: ends of what is in print, and the catalogue's own.
PROJECTING = (0.5, 0.6, 1.0)


@dataclass(frozen=True)
class Effect:
    """What one siphon of a plan does under one choice.

    Attributes
    ----------
    choice : str
    chosen : bool
        Whether it is the one this package takes for this plan.
    outcome : str
    period, drain_time : float
        s; 0 unless it cycles.
    start, stop : float
        Inflow at which it starts (central) and below which it stops, m3/s.
    head : float
        Head over the lip when it starts, m.
    """

    choice: str
    chosen: bool
    outcome: str
    period: float
    drain_time: float
    start: float
    stop: float
    head: float


@dataclass(frozen=True)
class Contradiction:
    """Sources that do not agree.

    Attributes
    ----------
    title, sources, why : str
        What it is about; who says what; what was chosen and for which reason.
    variants : callable
        plan -> [(name of the choice, plan that follows it, whether it is ours)].
    """

    title: str
    sources: str
    why: str
    variants: Callable[[Plan], list[tuple[str, Plan, bool]]]

    def effects(self, plan: Plan) -> list[Effect]:
        """Run the plan under each choice."""
        return [effect(name, changed, ours) for name, changed, ours in self.variants(plan)]


def effect(name: str, plan: Plan, chosen: bool) -> Effect:
    """Run a plan and read off its first siphon what a grower asks."""
    run = run_plan(plan, trace=False)
    siphon, group = plan.siphons[0], run.groups[0]
    window = inflow_window(plan, siphon, run)
    head = lip_head(
        siphon.lip_weir, siphon.lip_orifice, siphon.standpipe.lip_diameter, group.choking, GRAVITY
    )
    return Effect(
        name, chosen, group.outcome, group.period, group.drain_time, window.start, window.stop, head
    )


def with_siphon(plan: Plan, **changes) -> Plan:
    """Return the plan with other values in its first siphon."""
    return replace(plan, siphons=(replace(plan.siphons[0], **changes), *plan.siphons[1:]))


def thicker(own: Pipe) -> Pipe:
    """Return a pipe with the mean wall that its standard allows instead of the least."""
    try:
        wall = pipe(own.series, own.size).wall
    except CatalogueError:  # a pipe of the grower's own, whose bore was measured
        return own
    more = max(HALF_TOLERANCE[0], HALF_TOLERANCE[1] * wall)
    return replace(own, bore=own.bore - 2.0 * more)


def _walls(plan: Plan) -> list[tuple[str, Plan, bool]]:
    siphon = plan.siphons[0]
    changed = with_siphon(
        plan,
        standpipe=replace(siphon.standpipe, pipe=thicker(siphon.standpipe.pipe)),
        tail=replace(siphon.tail, pipe=thicker(siphon.tail.pipe)),
    )
    changed = replace(changed, runs=tuple(replace(run, pipe=thicker(run.pipe)) for run in plan.runs))
    return [("least wall", plan, True), ("mean wall", changed, False)]


def _lips(plan: Plan) -> list[tuple[str, Plan, bool]]:
    own = plan.siphons[0].lip_weir
    return [(f"{c:.2f}", with_siphon(plan, lip_weir=c), c == own) for c in sorted({1.34, own, 1.84})]


def _froude(plan: Plan) -> list[tuple[str, Plan, bool]]:
    priming = plan.siphons[0].priming
    values = sorted({priming.froude_low, priming.froude, priming.froude_high})
    return [
        (f"{fr:.2f}", with_siphon(plan, priming=replace(priming, froude=fr)), fr == priming.froude)
        for fr in values
    ]


def contraction_hooper(b: float, f: float) -> float:
    """Sudden contraction by Hooper 1988 (turbulent, friction `f` before it), on the small bore.

    `b` is the small bore over the large one. From the documentation of fluids 1.3.1.
    """
    return (0.6 + 0.48 * f) * (1.0 - b**2)


def contraction_rennels(b: float) -> float:
    """Sudden contraction by Rennels & Hudson 2012, on the small bore `b` times the large one.

    From the documentation of fluids 1.3.1.
    """
    jet = 1.0 + 0.622 * (1.0 - 0.215 * b**2 - 0.785 * b**5)
    return 0.0696 * (1.0 - b**5) * jet**2 + (jet - 1.0) ** 2


def _contractions(plan: Plan) -> list[tuple[str, Plan, bool]]:
    siphon = plan.siphons[0]
    stand = replace(siphon.standpipe, entry="square", cone_length=0.0)
    b = min(stand.pipe.bore / stand.lip_diameter, 1.0)
    ours = losses.sudden_contraction(b, 1.0)
    found = []
    for name, k in (
        ("Crane", ours),
        ("Hooper", contraction_hooper(b, 0.025)),
        ("Rennels", contraction_rennels(b)),
    ):
        # Standpipe and tail are one pipe, so what one law is above another may stand in the tail.
        more = Fitting("between two laws of a contraction", 1, k - ours, given=True)
        tail = replace(siphon.tail, fittings=(*siphon.tail.fittings, more))
        found.append((f"{name}, K {k:.2f}", with_siphon(plan, standpipe=stand, tail=tail), name == "Crane"))
    return found


def _projecting(plan: Plan) -> list[tuple[str, Plan, bool]]:
    def swapped(k: float) -> Plan:
        runs = tuple(
            replace(
                run,
                fittings=tuple(
                    replace(f, name="entrance, projecting", k=k, given=True)
                    if f.name.startswith("entrance")
                    else f
                    for f in run.fittings
                ),
            )
            for run in plan.runs
        )
        return replace(plan, runs=runs)

    return [(f"K {k:.1f}", swapped(k), k == 0.6) for k in PROJECTING]


CONTRADICTIONS = (
    Contradiction(
        "Bore by least or by mean wall",
        "ASTM D1785 prints the least wall; pipe as made is up to 0.020 in or 12 % thicker (from memory), so "
        "its "
        "bore is narrower by up to 3 %.",
        "The least wall, because it is what the standard prints and what the reference library holds. A bore "
        'that was measured goes into the plan with series "own".',
        _walls,
    ),
    Contradiction(
        "Weir coefficient of a lip, per metre of lip",
        "EN 12056-3 1.34; King County Surface Water Design Manual 1.71; sharp crest 1.84 (all from memory).",
        "1.71: it was given for standing risers of pipe, as a lip is. It sets how high the water stands over "
        "the "
        "lip, and so a little of the cycle.",
        _lips,
    ),
    Contradiction(
        "Froude number at which a bore fills",
        "Below 0.3 a bore vents itself (Hills 1983, read second-hand); above about 1 it runs full (Simpson "
        "1968, "
        "from memory). Drainage stacks with an open core carry about 1 without filling (Wyly & Eaton 1961, "
        "from memory), and FAO Technical Paper 589 gives flows of 0.23 to 0.57 in a bore of 25 mm that work.",
        "0.55, where a plain lip passes from weir to orifice by King County (0.53) and EN 12056-3 (0.61), "
        "always "
        "shown with its band. The grower's own lowest flow that started it replaces all three.",
        _froude,
    ),
    Contradiction(
        "Sudden contraction",
        "Crane 0.5 (1 - b²); Hooper up to a fifth and Rennels up to a third more (fluids 1.3.1).",
        "Crane in the siphon, whose entry is a square step only where the plan says so; the table of "
        "fittings "
        "gives the mean of the three with their span. Shown here as if the reducer were a plain step.",
        _contractions,
    ),
    Contradiction(
        "Pipe that stands into the bed",
        "1.0 for a thin wall, nearer 0.5 to 0.6 for the wall of ordinary PVC pipe (from memory); Rennels by "
        "the "
        "wall's thickness.",
        "0.6, because pressure pipe has a thick wall. Shown here as if every bed's entrance projected.",
        _projecting,
    ),
)
