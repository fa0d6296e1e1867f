"""What a run means to the grower: each finding in plain words, with value, limit and what to change."""

from __future__ import annotations

from dataclasses import replace

from aquacalc.findings.beds import find_bed, find_chambers
from aquacalc.findings.building import find_building
from aquacalc.findings.delivery import find_delivery
from aquacalc.findings.record import EXIT_STATUS, STATES, VERDICTS, Finding, Findings, verdict
from aquacalc.findings.siphons import find_siphon
from aquacalc.findings.sump import find_sump
from aquacalc.findings.timer import find_timer
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle, if_started
from aquacalc.results.window import inflow_window, short_of_water, sump_range

__all__ = ["EXIT_STATUS", "STATES", "VERDICTS", "Finding", "Findings", "find", "verdict"]


def find(run: SystemCycle, system: str | None = None) -> Findings:
    """All findings on a run, worst first.

    Parameters
    ----------
    run : SystemCycle
        Of a checked plan.
    system : {"metric", "us"}, optional
        Units of what is said; the plan's own if not given.

    Returns
    -------
    Findings
        A tuple of `Finding`.

    Examples
    --------
    >>> from aquacalc.catalogue import data_dir
    >>> from aquacalc.plan.read import read_plan
    >>> from aquacalc.results.cycle import run_plan
    >>> run = run_plan(read_plan(data_dir() / "plans" / "sump-overflows.toml"), trace=False)
    >>> find(run)[0].state
    'does not'
    """
    plan = run.plan if system in (None, run.plan.units) else replace(run.plan, units=system)
    return Findings(with_started(plan, run, find_as_run(plan, run)))


def find_as_run(plan: Plan, run: SystemCycle) -> list[Finding]:
    """All findings on a run as it went, worst first; `plan` is the run's, in the units of what is said."""
    return _worst_first(_judged(plan, run, find_building(plan)))


def find_water(plan: Plan, run: SystemCycle) -> list[Finding]:
    """Those of `find_as_run` that tell of the water, not of what is built: known four times as fast."""
    return _worst_first(_judged(plan, run, []))


def with_started(plan: Plan, run: SystemCycle, found: list[Finding]) -> list[Finding]:
    """Add what fails once those siphons start that may: another run, where there are any.

    It takes the place of what is said of water that only spills, and never makes a verdict better.
    """
    started = if_started(run)
    if started is None:
        return found
    plan = replace(plan, siphons=started.plan.siphons)
    return _worst_first(_with_faults(found, _judged(plan, started, find_building(plan))))


def _worst_first(found: list[Finding]) -> list[Finding]:
    return sorted(found, key=lambda finding: STATES.index(finding.state))


def _with_faults(found: list[Finding], started: list[Finding]) -> list[Finding]:
    said = {(f.key, f.subject): STATES.index(f.state) for f in found}
    worse = [
        replace(f, cause=f"If it starts: {f.cause}")
        for f in started
        if f.key not in ("start", "spills")
        and STATES.index(f.state) < min(2, said.get((f.key, f.subject), len(STATES)))
    ]
    replaced = {(f.key, f.subject) for f in worse}
    return [*(f for f in found if (f.key, f.subject) not in replaced), *worse]


def _judged(plan: Plan, run: SystemCycle, built: list[Finding]) -> list[Finding]:
    """All findings on one run, those on what is built in their place."""
    found: list[Finding] = []
    levels = sump_range(plan, run)
    for siphon in plan.siphons:
        window = inflow_window(plan, siphon, run, levels)
        found += find_siphon(plan, run.group(siphon.name), siphon, window, levels, short_of_water(plan, run))
    for bed in plan.beds:
        found += find_bed(plan, run, bed)
    found += find_chambers(plan, run)
    found += find_sump(plan, run, levels)
    found += built
    found += find_delivery(plan, run)
    found += find_timer(plan, run)
    return found
