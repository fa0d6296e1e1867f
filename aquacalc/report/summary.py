"""The first screen of a report: what a grower looks for first, in a few lines and bars."""

from __future__ import annotations

import math
from dataclasses import dataclass

from aquacalc.design.advice import Advice, mends
from aquacalc.design.closest import Turn
from aquacalc.design.keeping import fill_words, marks
from aquacalc.findings import Finding
from aquacalc.findings.record import brief
from aquacalc.report.records import Report
from aquacalc.results.pump_off import timer
from aquacalc.units import show

#: Beds named each by itself; of more only the worst.
BEDS = 4
#: Margins shown as bars.
BARS = 4
#: What is written before the values at which a verdict turns.
CLOSEST = {"works": "Closest failure", "may or may not": "Where it turns", "does not": ""}
#: Words for what a siphon comes to when it does not flood and drain.
STUCK = {
    "spills": "spills over the lip and never drains",
    "runs on": "runs on and never fills",
    "no inflow": "gets no water to flood with",
    "unsettled": "does not settle into a cycle",
}


@dataclass(frozen=True)
class Bar:
    """One margin: what it is about, the share `used` of it (1 at the limit), and in words."""

    title: str
    state: str
    used: float
    words: str


def facts(report: Report) -> list[tuple[str, str]]:
    """Return the lines of the first screen: a label and what is said.

    Parameters
    ----------
    report : Report

    Returns
    -------
    list of (str, str)
    """
    system, several = report.plan.units, len(report.plan.siphons) > 1
    lines = []
    for siphon in report.plan.siphons:
        name = f" ({siphon.name})" if several else ""
        for label, keys in (("Start", ("start", "spills", "no_inflow")), ("Stop", ("stop", "runs_on"))):
            found = next((f for f in report.findings if f.key in keys and f.subject == siphon.name), None)
            if found is not None:
                lines.append((f"{label}{name}", _sentence(found, system, label)))
        group, timed = report.run.group(siphon.name), timer(report.plan)
        if timed and timed.floods[siphon.name]:
            on, off = (show(t, "time", system) for t in (report.plan.pump.on, report.plan.pump.off))
            floods = f"{3600.0 * timed.floods[siphon.name]:.2g} an hour by the timer: on {on}, off {off}"
            lines.append((f"Floods{name}", floods))
        elif group.outcome == "cycles":
            times = (show(t, "time", system) for t in (group.period - group.drain_time, group.drain_time))
            fills, drains = times
            floods = f"{3600.0 / group.period:.2g} an hour; fills and starts in {fills}, drains in {drains}"
            lines.append((f"Floods{name}", floods))
        else:
            lines.append((f"Floods{name}", f"none: the siphon {STUCK[group.outcome]}"))
    lines += [("Beds", line) for line in _beds(report)]
    lines.append(("Fill the sump to", fill_words(report.plan, marks(report.plan, report.run))))
    return lines


def _sentence(finding: Finding, system: str, label: str) -> str:
    """Say a finding beside its label, which is not said twice: "Start: may go either way between ..."."""
    shown = finding.shown(system)
    if finding.state == "good" or not shown or finding.title.startswith(label):
        return shown or finding.title
    return f"{finding.title.lower()}: {shown}"


def _beds(report: Report) -> list[str]:
    """Say how much of each bed stays dry on top and what water stays, or of the worst of many."""
    plan, told = report.plan, []
    for bed in plan.beds:
        node = report.run.node(bed.name)
        room = bed.rim - node.high
        left = max(node.low - bed.floor, 0.0)  # what the outlet as built keeps, and what drains too late
        cycles = report.run.group(node.group).outcome == "cycles"
        dry = brief(abs(bed.floor + bed.media.depth - node.high), "length", plan.units)
        over = node.high > bed.floor + bed.media.depth
        top = f"water {dry} over the media" if over else f"top {dry} of the media dry"
        top = f"{top}, {brief(room, 'length', plan.units)} to the rim" if room > 0.0 else "overflows"
        stays = f", {brief(left, 'length', plan.units)} of water left on its floor" if cycles else ""
        told.append((room, left if cycles else 0.0, f"{top}{stays}", bed.name))
    if len(told) > BEDS:
        worst = dict.fromkeys((min(told), max(told, key=lambda t: t[1])))
        return [f"worst of {len(told)} beds: {'; '.join(f'{name}: {words}' for _, _, words, name in worst)}"]
    same: dict[str, list[str]] = {}
    for _, _, words, name in told:
        same.setdefault(words, []).append(name)
    return ["; ".join(f"{', '.join(names)}: {words}" for words, names in same.items())]


def bars(report: Report) -> list[Bar]:
    """Return the tightest margins, each the worst of its title.

    Parameters
    ----------
    report : Report

    Returns
    -------
    list of Bar
        At most `BARS`, the tightest first.
    """
    made: dict[str, Bar] = {}
    for f in report.findings:
        used = _used(f)
        if used is None or (f.key in made and made[f.key].used >= used):
            continue
        subject = f" ({f.subject})" if sum(g.key == f.key for g in report.findings) > 1 else ""
        made[f.key] = Bar(f"{f.title}{subject}", f.state, used, f.shown(report.plan.units))
    return sorted(made.values(), key=lambda bar: -bar.used)[:BARS]


def _used(finding: Finding) -> float | None:
    """Part of what is allowed that is used: 1 at the limit; None where that has no meaning."""
    if finding.margin is None or finding.kind == "elevation" or not finding.limit > 0.0:
        return None
    if finding.direction == "at most":
        return finding.value / finding.limit
    return finding.limit / finding.value if finding.value > 0.0 else math.inf


def change(report: Report) -> tuple[str, str] | None:
    """Return the one change worth making, with what it is: tried, or only what usually helps."""
    deciding = [f for f in report.findings if f.state == report.verdict]
    useful = [a for a in report.advice if not deciding or any(mends(a, f) for f in deciding)]
    if useful:
        return "Best change", tried(useful[0])
    if report.verdict == "may or may not":
        return "To settle it", deciding[0].change
    return ("What may help", deciding[0].change) if deciding else None


def tried(advice: Advice) -> str:
    """Say a change that was tried, and what came of it."""
    then = {"works": "it works", "may or may not": "it may or may not work"}
    came = then.get(advice.verdict, "it fixes this; other faults remain")
    return " ".join(filter(None, (advice.words, f"Tried: {came}.", advice.gives)))


def leaning(turns: tuple[Turn, ...], verdict: str) -> list[str]:
    """Say how close the verdict is to another: what a plausible value would change, or what comes first."""
    plausible = [turn.says for turn in turns if turn.plausible][:3]
    if plausible:
        return plausible
    if verdict == "works" and turns:
        return [f"{turns[0].says} That is more than such values are usually off."]
    return []
