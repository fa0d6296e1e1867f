"""How far a verdict leans on what nobody knows: which value, moved how far, turns it into which other.

From the formulas of the limits alone; no plan is run.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from aquacalc.design.readings import NINE_IN_TEN, spreads
from aquacalc.findings import Finding, verdict
from aquacalc.findings.record import brief, told_apart
from aquacalc.hydraulics.levels import volume_at
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.window import Window, inflow_window, sump_range

#: Standard deviations taken of what no reading and no table gives: a saw's cut and a floor's slope, m, and
#: the part of the water that evaporates or is topped up too high between two looks (common practice, no
#: source).
LEVEL_SPREAD = 0.010
WATER_SPREAD = 0.05


@dataclass(frozen=True, kw_only=True)
class Turn:
    """A value at which the verdict turns.

    Parameters
    ----------
    name : str
        "inflow less", "inflow more", "loss", "level", "water more" or "water less".
    says : str
        A sentence with the value now, where it turns, and into what.
    to : {"works", "may or may not", "does not"}
        The verdict there.
    far : float
        How far it is, in standard deviations of what is not known of the value.
    """

    name: str
    says: str
    to: str
    far: float

    @property
    def plausible(self) -> bool:
        """Whether the range that holds nine cases in ten reaches it."""
        return self.far <= NINE_IN_TEN


def turns(run: SystemCycle, findings: Sequence[Finding]) -> tuple[Turn, ...]:
    """Return where the verdict turns, the closest first.

    Parameters
    ----------
    run : SystemCycle
    findings : sequence of Finding
        On that run.

    Returns
    -------
    tuple of Turn
        Of a plan that works what makes it fail, of one that may or may not what settles it; none of one
        that does not, where advice says more.
    """
    now = verdict(findings)
    if now == "does not":
        return ()
    levels = sump_range(run.plan, run)
    found: list[Turn] = []
    alone = sum(f.state == now for f in findings) == 1
    for siphon in run.plan.siphons:
        window = inflow_window(run.plan, siphon, run, levels)
        known = spreads(run.plan, siphon.name)
        found += _inflow(run, window, known["inflow"], now, alone)
        if now == "works" and not window.stop_observed:
            found += _losses(run, window, known["loss"])
    if now == "works":
        found += _levels(run, findings)
        found += _water(run, findings)
    closest: dict[str, Turn] = {}
    for turn in sorted(found, key=lambda t: t.far):
        closest.setdefault(turn.name, turn)
    return tuple(closest.values())


def _of(run: SystemCycle, name: str) -> str:
    return f" to {name}" if len(run.plan.siphons) > 1 else ""


def _inflow(run: SystemCycle, window: Window, spread: float, now: str, alone: bool) -> Iterator[Turn]:
    """Hold the pump's flow against the ends of the window."""
    ends = (
        (window.start_low, window.today_low, "less", "does not", "it does not start"),
        (window.start_high, window.today_low, "less", "may or may not", "it may or may not start"),
        (window.stop_with_margin, window.today_high, "more", "may or may not", "it may or may not stop"),
        (window.stop, window.today_high, "more", "does not", "it runs on without stopping"),
    )
    for limit, today, side, to, what in ends:
        if limit <= 0.0 or today <= 0.0:
            continue
        beyond = today < limit if side == "less" else today > limit
        if beyond and to == "does not":
            continue
        if beyond:  # it has turned already: the same limit is where it works again
            side, to, what = "more" if side == "less" else "less", "works", "it works"
        if to == now or (to == "works" and not alone):
            continue
        at, flow = told_apart((limit, today), "flow", run.plan.units)
        part = abs(limit / today - 1.0)
        says = f"{at}{_of(run, window.siphon)} in place of {flow} ({_percent(part)} {side}), and {what}."
        yield Turn(
            name=f"inflow {side}",
            says=f"The pump's flow: {says}",
            to=to,
            far=abs(math.log(limit / today)) / spread,
        )


def _percent(part: float) -> str:
    return f"{100.0 * part:.0f} %" if part >= 0.0095 else "under 1 %"


def _losses(run: SystemCycle, window: Window, spread: float) -> Iterator[Turn]:
    """Let the losses grow until the siphon may not stop: its flow goes with one over their root."""
    if window.stop_with_margin <= window.today_high or window.today_high <= 0.0:
        return
    factor = (window.stop_with_margin / window.today_high) ** 2
    says = (
        f"The losses of {_of(run, window.siphon)[4:] or 'the siphon'}: about {factor:.2g} times those worked "
        "out (more or sharper bends, slime, roots), and it may or may not stop."
    )
    yield Turn(name="loss", says=says, to="may or may not", far=math.log(factor) / spread)


def _levels(run: SystemCycle, findings: Sequence[Finding]) -> Iterator[Turn]:
    """Raise the water in the bed or chamber that has least room."""
    rooms = [f for f in findings if f.key in ("bed_freeboard", "chamber_freeboard") and f.value > 0.0]
    if not rooms:
        return
    least = min(rooms, key=lambda f: f.value)
    room = brief(least.value, "length", run.plan.units)
    says = (
        f"Water {room} higher in {least.subject} (a taller standpipe, a floor out of level), and it "
        "overflows."
    )
    yield Turn(name="level", says=says, to="does not", far=least.value / LEVEL_SPREAD)


def _water(run: SystemCycle, findings: Sequence[Finding]) -> Iterator[Turn]:
    """Put water in until the sump overflows, and take it out until the pump draws air."""
    plan = run.plan
    cells, levels = vessel_cells(plan, plan.sump), sump_range(plan, run)
    held = volume_at(cells, levels.high)
    more = volume_at(cells, plan.sump.rim) - volume_at(cells, max(levels.high, levels.pump_off))
    less = volume_at(cells, levels.low) - volume_at(cells, plan.sump.floor + plan.pump.intake)
    for volume, word, what in (
        (more, "more", "the sump overflows"),
        (
            less,
            "less (evaporated, or taken up by media more porous than the plan says)",
            "the pump draws air",
        ),
    ):
        if volume > 0.0 and held > 0.0:
            says = f"Water in the sump: {brief(volume, 'volume', plan.units)} {word}, and {what}."
            yield Turn(name=f"water {word[:4]}", says=says, to="does not", far=volume / held / WATER_SPREAD)
