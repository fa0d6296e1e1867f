"""What a live page shows of a plan whenever a slider moves; the page runs the translation of this."""

from __future__ import annotations

from dataclasses import dataclass, replace
from html import escape

from aquacalc.findings import Finding, find_as_run, find_water, verdict, with_started
from aquacalc.live import charts
from aquacalc.live.settings import moved
from aquacalc.plan.check import contradictions
from aquacalc.plan.model import Plan
from aquacalc.report.html import findings_markup
from aquacalc.results.cycle import SystemCycle, run_plan
from aquacalc.results.tables import lines
from aquacalc.results.window import inflow_window, sump_range
from aquacalc.units import typeset


@dataclass(frozen=True)
class Answer:
    """A plan as the sliders have it.

    Attributes
    ----------
    plan : Plan
    faults : tuple of str
        Why it cannot be built; then there is nothing else.
    run : SystemCycle or None
    findings : tuple of Finding
    verdict : {"works", "may or may not", "does not"}
    """

    plan: Plan
    faults: tuple[str, ...] = ()
    run: SystemCycle | None = None
    findings: tuple[Finding, ...] = ()
    verdict: str = ""


def run_moved(start: Plan, settings: list) -> Answer:
    """Run a plan with other values (see `settings.moved`); what it means is still to be judged."""
    plan = moved(start, settings)
    faults = contradictions(plan)
    if faults:
        return Answer(plan, tuple(str(fault) for fault in faults))
    return Answer(plan, (), run_plan(plan))


def judged(found: Answer) -> Answer:
    """Add what a run says of the water, and its verdict; of the verdicts only "does not" is the last word."""
    findings = find_water(found.plan, found.run)
    return replace(found, findings=tuple(findings), verdict=verdict(findings))


def completed(found: Answer) -> Answer:
    """Add the rest: what cannot be built, and what fails once those siphons start that may."""
    findings = with_started(found.plan, found.run, find_as_run(found.plan, found.run))
    return replace(found, findings=tuple(findings), verdict=verdict(findings))


def answer(start: Plan, settings: list) -> Answer:
    """Work out what a plan does with other values, and what that means."""
    found = run_moved(start, settings)
    return found if found.faults else completed(found)


def drawn(found: Answer, width: float) -> dict[str, str]:
    """Return the markup of what the page shows at once, by its id.

    Parameters
    ----------
    found : Answer
        Of a plan that can be built.
    width : float
        Of the pictures, in CSS pixels.
    """
    return {
        "result": "".join(f"<li>{escape(typeset(line))}</li>" for line in lines(found.run)),
        "levels": charts.levels(found.run, width),
    }


def told(found: Answer, width: float) -> dict[str, str]:
    """Return the markup of what is told of it once its verdict is out; parameters as of `drawn`.

    Parameters
    ----------
    found : Answer
        As `completed` gives it.
    width : float
        Of the pictures, in CSS pixels.
    """
    plan, run = found.plan, found.run
    levels = sump_range(plan, run)
    windows = [
        charts.window(inflow_window(plan, siphon, run, levels), plan, width) for siphon in plan.siphons
    ]
    return {
        "window": "".join(windows),
        "findings": "".join(findings_markup(found.findings, plan.units, ())),
    }
