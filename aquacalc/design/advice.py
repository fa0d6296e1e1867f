"""What to change in a plan: a change is tried before it is told.

Each fault has a few changes that a grower can make, the cheapest first. The
limits that follow from formulas are looked at before a plan is run; what is
run and mends its fault without a new one is advice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from aquacalc.design.change import Change, built, listed
from aquacalc.design.mends import MENDS
from aquacalc.findings import STATES, VERDICTS, Finding, Findings, find, verdict
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle, run_plan

#: Runs that a report as text, and a page, may spend on advice.
TEXT_RUNS, PAGE_RUNS = 5, 10
#: Findings that are two ends of one thing, and go by one name.
SAME = {"spills": "start", "runs_on": "stop"}


@dataclass(frozen=True, kw_only=True)
class Advice:
    """A change that was tried.

    Parameters
    ----------
    mends : tuple of (str, str)
        Key and subject of each finding that it mends.
    words : str
        What to do, in the reader's units.
    values : dict of str to object
        The same as paths and SI values of `aquacalc.plan.edit.put`.
    plan : Plan
        The plan with the change.
    findings : tuple of Finding
        On the changed plan, worst first.
    verdict : {"works", "may or may not", "does not"}
        On the changed plan.
    gives : str
        What it then does, with numbers.
    """

    mends: tuple[tuple[str, str], ...]
    words: str
    values: dict[str, Any]
    plan: Plan
    findings: tuple[Finding, ...]
    verdict: str
    gives: str


def advise(run: SystemCycle, findings: Sequence[Finding], runs: int = TEXT_RUNS) -> tuple[Advice, ...]:
    """Try changes to a plan, and return those that mend a fault without a new one.

    Parameters
    ----------
    run : SystemCycle
    findings : sequence of Finding
        On that run, worst first.
    runs : int
        Number of changed plans that may be run.

    Returns
    -------
    tuple of Advice
        At most one for each finding that is not good: those that make the plan work first.
    """
    trials = _Trials(run, findings, runs)
    found: list[Advice] = []
    mended: set[tuple[str, str]] = set()
    for finding in sorted(findings, key=_cause_first):
        if finding.state != "good" and name_of(finding) not in mended:
            advice = trials.for_finding(finding)
            if advice is not None:
                found.append(advice)
                mended |= set(advice.mends)
    order = ("works", "may or may not", "does not")
    found.sort(key=lambda a: (order.index(a.verdict), -len(a.mends)))
    kept = [a for k, a in enumerate(found) if not any(set(a.mends) < set(b.mends) for b in found[:k])]
    deciding = [a for a in kept if trials.decides(a)]
    if len(deciding) > 1 and deciding[0].verdict != "works":
        together = trials.together(deciding)
        if together is not None and together.verdict == "works":
            kept.insert(0, together)
    return tuple(kept)


class _Trials:
    """Changed plans of one plan, as long as runs are left."""

    def __init__(self, run: SystemCycle, findings: Sequence[Finding], runs: int):
        self.run, self.findings, self.left = run, findings, runs
        self.told: dict[str, tuple[Plan, SystemCycle, Findings]] = {}

    def for_finding(self, finding: Finding) -> Advice | None:
        """Return the first change after which the finding is good, or else a note."""
        second = None
        for change in MENDS[finding.key](self.run, finding) if finding.key in MENDS else ():
            advice = self.tried(change, finding)
            if advice is None or name_of(finding) not in advice.mends:
                continue
            notes = any(f.state != "good" for f in advice.findings if name_of(f) == name_of(finding))
            if not notes and not _worse(self.findings, advice.findings):
                return advice
            second = second or advice
        return second

    def tried(self, change: Change, finding: Finding) -> Advice | None:
        """Run a changed plan once; None where it cannot be built, has a new fault, or no run is left."""
        name = repr(sorted(change.values.items()))
        if name not in self.told:
            plan = built(self.run.plan, change.values) if self.left > 0 else None
            if plan is None:
                return None
            self.left -= 1
            after = run_plan(plan, trace=False)
            self.told[name] = plan, after, find(after)
        plan, after, new = self.told[name]
        good = _mends(self.findings, new)
        worse = _worse(self.findings, new)
        # A new note is worth it where the plan as a whole gets better for it.
        better = VERDICTS.index(verdict(new)) > VERDICTS.index(verdict(self.findings))
        # Where nothing flooded, start and stop were not judged.
        unheard = better and any(f.key == "no_inflow" for f in self.findings)
        known = {name_of(f) for f in self.findings}
        faults = [f for f in worse if f.state in VERDICTS and not (unheard and name_of(f) not in known)]
        if not good or faults or (worse and not better):
            return None
        return Advice(
            mends=tuple(sorted(good)),
            words=change.words,
            values=change.values,
            plan=plan,
            findings=new,
            verdict=verdict(new),
            gives=_gives(after, new, finding, worse),
        )

    def decides(self, advice: Advice) -> bool:
        """Whether it mends a finding that decides the verdict."""
        return any(f.state in VERDICTS and name_of(f) in advice.mends for f in self.findings)

    def together(self, each: Sequence[Advice]) -> Advice | None:
        """Try several changes at once."""
        values: dict[str, Any] = {}
        for advice in each:
            if values.keys() & advice.values.keys():
                return None
            values |= advice.values
        change = Change(" ".join(advice.words for advice in each), values)
        return self.tried(change, next(f for f in self.findings if name_of(f) in each[0].mends))


def _cause_first(finding: Finding) -> tuple[int, int]:
    """Order of a finding: the worst first, and among those what causes others."""
    keys = list(MENDS)
    return STATES.index(finding.state), keys.index(finding.key) if finding.key in MENDS else len(keys)


def mends(advice: Advice, finding: Finding) -> bool:
    """Whether a change mends a finding."""
    return name_of(finding) in advice.mends


def name_of(finding: Finding) -> tuple[str, str]:
    """Return key and subject of a finding, the two ends of one thing under one name."""
    return SAME.get(finding.key, finding.key), finding.subject


def _ranks(findings: Sequence[Finding]) -> dict[tuple[str, str], int]:
    """Return how bad each thing is, the worst of what is said of it."""
    worst: dict[tuple[str, str], int] = {}
    for f in findings:
        worst[name_of(f)] = min(STATES.index(f.state), worst.get(name_of(f), len(STATES)))
    return worst


def _mends(before: Sequence[Finding], after: Sequence[Finding]) -> set[tuple[str, str]]:
    """Return the findings that are good or a note now and were worse."""
    old, new, watch = _ranks(before), _ranks(after), STATES.index("watch")
    return {name for name, rank in old.items() if rank < new.get(name, watch + 1) >= watch}


def _worse(before: Sequence[Finding], after: Sequence[Finding]) -> list[Finding]:
    """Return the findings that are worse now; what did not arise before counts only where it decides."""
    old, watch = _ranks(before), STATES.index("watch")
    return [f for f in after if STATES.index(f.state) < old.get(name_of(f), watch)]


def _gives(run: SystemCycle, findings: Sequence[Finding], mended: Finding, notes: Sequence[Finding]) -> str:
    """Say what the changed plan does: the finding that was mended, floods an hour, and new notes."""
    system, said = run.plan.units, []
    now = next((f for f in findings if name_of(f) == name_of(mended)), None)
    if now is not None and now.shown(system):
        shown = now.shown(system)
        said.append(f"{shown[0].upper()}{shown[1:]}." if now.wording else f"{now.title}: {shown}.")
    cycles = [group for group in run.groups if group.outcome == "cycles"]
    if len(cycles) == len(run.groups):
        floods = " and ".join(f"{3600.0 / group.period:.2g}" for group in cycles)
        said.append(f"{floods} floods an hour.")
    about: dict[str, list[str]] = {}
    for f in notes:
        about.setdefault(f.title, []).append(f.subject)
    said += [
        f"To watch then: {title[0].lower()}{title[1:]} ({listed(names)})." for title, names in about.items()
    ]
    return " ".join(said)
