"""What we found no source for: how it is treated, and how the grower's own observation replaces it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from aquacalc.evidence.choices import with_siphon
from aquacalc.hydraulics.starting import choke, purge, trapped_air
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.window import inflow_window
from aquacalc.units import show

#: Reading error taken for the example of an observed start, share.
_READING = 0.05


@dataclass(frozen=True)
class Unpublished:
    """One thing that was not found in print: how it is treated, what that is for a plan, what replaces it."""

    title: str
    missing: str
    treated: str
    here: str
    replaced: str


def unpublished(plan: Plan, run: SystemCycle) -> tuple[Unpublished, ...]:
    """Say it for a plan that has been run; the numbers are of its first siphon."""
    siphon, group = plan.siphons[0], run.groups[0]
    window = inflow_window(plan, siphon, run)
    own = choke(siphon)
    seen = with_siphon(plan, priming=replace(siphon.priming, observed=own, observed_error=_READING * own))
    known = inflow_window(seen, seen.siphons[0], run)
    quick, central, slow = purge(siphon)

    def flow(x: float) -> str:
        return show(x, "flow", plan.units)

    def time(x: float) -> str:
        return show(x, "time", plan.units)

    return (
        Unpublished(
            "The lowest inflow that starts a siphon, by size of standpipe",
            "We found no published table of starting flows by standpipe size.",
            "A band of Froude numbers on the real bore, 0.3 to 1, with 0.55 as the central one; every answer "
            "that depends on it says so.",
            f"With a bore of {show(siphon.standpipe.pipe.bore, 'length', plan.units)} the band is "
            f"{flow(window.start_low)} to {flow(window.start_high)}, and {flow(window.start)} is taken.",
            "Find it before you cut with a hose, a bucket and a jug: `aquacalc bench` and workbook 10 say "
            "which flows to try, and put observed and observed_error under [siphon.priming]. They replace "
            f"the three Froude numbers: {flow(own)} to within {100 * _READING:.0f} % would leave "
            f"{flow(known.start_low)} to {flow(known.start_high)} of the band.",
        ),
        Unpublished(
            "The highest inflow at which a siphon stops",
            "No published upper limit was found.",
            "Continuity: air comes in only when the water falls to the bell rim, so the inflow must be below "
            "what the siphon carries with the water there, with a margin.",
            f"The siphon carries {flow(window.stop)} with the water at the rim; less the margin that is "
            f"{flow(window.stop_with_margin)}, and the plan has {flow(window.today)}.",
            "The bench test finds this too. Readings of the time from running full to the break, and of the "
            "highest inflow at which it "
            'stopped, are "drain time" and "highest stop" of workbook 07: the losses of drain line and tail '
            "are "
            "fitted to them and go back into the plan.",
        ),
        Unpublished(
            "The time from choking to running full",
            "We found no published time that a bell takes to lose its air.",
            "An estimate from the air that a hydraulic jump carries off (Kalinske & Robertson 1943), at jump "
            "Froude numbers of 10, 5 and 3; the central one goes into the cycle.",
            f"The {show(trapped_air(siphon), 'volume', plan.units)} of air under the bell take {time(quick)} "
            "to "
            f"{time(slow)}; {time(central)} of the cycle of {time(group.period)} are this.",
            "There is no key for it: it moves the start of the flow, not whether the siphon starts or stops. "
            "A "
            'reading of the time from break to running full ("fill time" of workbook 07) takes it in.',
        ),
    )
