"""Where sources contradict each other: what was chosen, and what each choice does to a plan's answers.

The effects are worked out by running the plan; nothing here is a result typed in.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from aquacalc.equations import losses
from aquacalc.equations.formulas import GRAVITY, lip_head
from aquacalc.plan.model import Fitting, Pipe, Plan
from aquacalc.results.cycle import run_plan
from aquacalc.results.window import inflow_window

#: Mean bore of ASTM D1785 schedule 40, mm (Hydraulic Institute, Engineering Data Book, tables of PVC pipe).
MEAN_BORE = {
    "1/2 in": 15.62, "3/4 in": 20.75, "1 in": 26.44, "1-1/4 in": 34.85, "1-1/2 in": 40.67, "2 in": 52.27,
    "2-1/2 in": 62.41, "3 in": 77.60, "4 in": 101.90, "6 in": 153.62,
}  # fmt: skip
#: Loss of a projecting entrance: ends of what is in print, the catalogue's own, and Crane's.
PROJECTING = (0.5, 0.6, 0.78, 1.0)


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


def as_made(own: Pipe) -> Pipe:
    """Return a pipe of schedule 40 with the mean bore in print; any other as it is."""
    if own.series != "ASTM D1785 schedule 40":
        return own
    return replace(own, bore=1e-3 * MEAN_BORE[own.size])


def _walls(plan: Plan) -> list[tuple[str, Plan, bool]]:
    siphon = plan.siphons[0]
    changed = with_siphon(
        plan,
        standpipe=replace(siphon.standpipe, pipe=as_made(siphon.standpipe.pipe)),
        tail=replace(siphon.tail, pipe=as_made(siphon.tail.pipe)),
    )
    changed = replace(changed, runs=tuple(replace(run, pipe=as_made(run.pipe)) for run in plan.runs))
    return [("least wall", plan, True), ("mean bore", changed, False)]


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
    """Sudden contraction by Hooper 1988 (turbulent, friction factor `f` before it), on the small bore.

    `b` is the ratio of the small bore to the large one. From the documentation of fluids 1.3.1.
    """
    return (0.6 + 0.48 * f) * (1.0 - b**2)


def contraction_rennels(b: float) -> float:
    """Sudden contraction by Rennels & Hudson 2012, `b` the ratio of small bore to large one.

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

    return [(f"K {k:g}", swapped(k), k == 0.6) for k in PROJECTING]


_VARIANTS = {
    "walls": _walls,
    "lips": _lips,
    "froude": _froude,
    "contractions": _contractions,
    "projecting": _projecting,
}


def contradictions() -> tuple[Contradiction, ...]:
    """Return every contradiction, in the words of `contradictions.toml`."""
    text = Path(__file__).with_name("contradictions.toml").read_text(encoding="utf-8")
    return tuple(Contradiction(**said, variants=_VARIANTS[key]) for key, said in tomllib.loads(text).items())
