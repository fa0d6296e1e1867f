"""Readings of a siphon that was built, what a plan says they would be, and the things they can tell.

Each of the four things fitted is a factor on the plan, log-normal about 1.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from aquacalc import catalogue
from aquacalc.design.answer import positive, the_siphon
from aquacalc.findings.record import the
from aquacalc.hydraulics.siphon import siphon_flow
from aquacalc.hydraulics.starting import choke, start_band
from aquacalc.plan.model import Bed, Fitting, Plan, Siphon
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.window import sump_range
from aquacalc.units import show

if TYPE_CHECKING:
    pass

#: Readings there may be: what -> (kind of unit, what it is).
READINGS = {
    "fill time": ("time", "from the siphon's break until it runs full again"),
    "drain time": ("time", "from running full until the break"),
    "jug flow": ("flow", "the pump's whole flow, by jug and watch"),
    "level at break": ("length", "water in the bed named, above its floor, when the siphon breaks"),
    "sump rise": ("length", "from the sump's lowest to its highest in one cycle"),
    "lowest start": ("flow", "lowest inflow that started the siphon"),
    "highest stop": ("flow", "highest inflow at which it stopped"),
}
#: What is fitted: name -> (words for it, kind of unit, readings that tell it, the best first).
FITTED = {
    "porosity": ("the drainable porosity", "ratio", ("sump rise", "fill time")),
    "inflow": ("the inflow", "flow", ("jug flow", "fill time")),
    "loss": ("the losses of drain line and tail", "number", ("drain time", "highest stop")),
    "start": ("the flow that starts the siphon", "flow", ("lowest start",)),
}
#: Standard deviations to either side of the middle that hold nine cases in ten (from memory).
NINE_IN_TEN = 1.644854
#: Readings of one thing that lie further apart than so many times their error contradict each other.
CONTRADICTION = 5.0
#: The same of readings of two kinds of which one must be the lower.
CROSSED = 2.0
#: Longest time (s: a week) and largest flow (m3/s) that anybody reads on a grow bed.
LONGEST_TIME, LARGEST_FLOW = 7 * 86400.0, 1.0
#: Standard deviation of ln(inflow) where nothing is said: common practice, no source.
INFLOW_SPREAD = 0.15
#: The same of the losses: published coefficients of one small fitting differ by 20 to 50 % (Hydraulic
#: Institute, Engineering Data Book; from memory).
LOSS_SPREAD = 0.25
#: The same of porosity for a media that is in no table: common practice, no source.
POROSITY_SPREAD = 0.10


@dataclass(frozen=True)
class Reading:
    """One reading.

    Attributes
    ----------
    what : str
        Key of `READINGS`.
    value, error : float
        Reading and its error, SI. Two readings in three are that close.
    bed : str
        Bed of a "level at break".
    """

    what: str
    value: float
    error: float
    bed: str = ""


def members(plan: Plan, siphon: Siphon) -> set[str]:
    """Return the names of all that drains to a siphon, its host included."""
    names = {siphon.host}
    while more := {r.start for r in plan.runs if r.to in names} - names:
        names |= more
    return names


def _times(fittings: tuple[Fitting, ...], factor: float) -> tuple[Fitting, ...]:
    return tuple(dataclasses.replace(f, k=f.k * factor, given=True) for f in fittings)


def adjusted(plan: Plan, siphon: Siphon, factors: Mapping[str, float]) -> Plan:
    """Return the plan with the fitted things multiplied.

    Parameters
    ----------
    plan : Plan
    siphon : Siphon
        Whose beds, runs, tail and start are meant.
    factors : mapping of str to float
        By names of `FITTED`; what is left out stays.
    """
    names = members(plan, siphon)
    changes: dict[str, Any] = {}
    if "porosity" in factors:
        changes["beds"] = tuple(_porous(b, factors["porosity"]) if b.name in names else b for b in plan.beds)
    if "inflow" in factors:
        q, pump = factors["inflow"], plan.pump
        flow = None if pump.flow is None else pump.flow * q
        curve = tuple((x * q, head) for x, head in pump.curve)
        changes["pump"] = dataclasses.replace(pump, flow=flow, curve=curve)
    new = siphon
    if "loss" in factors:
        k = factors["loss"]
        changes["runs"] = tuple(
            dataclasses.replace(r, fittings=_times(r.fittings, k)) if r.start in names else r
            for r in plan.runs
        )
        new = dataclasses.replace(
            new, tail=dataclasses.replace(new.tail, fittings=_times(new.tail.fittings, k))
        )
    if "start" in factors:
        p = siphon.priming
        seen = dataclasses.replace(
            p, observed=choke(siphon) * factors["start"], observed_error=p.observed_error * factors["start"]
        )
        new = dataclasses.replace(new, priming=seen, tested="")
    changes["siphons"] = tuple(new if s.name == siphon.name else s for s in plan.siphons)
    return dataclasses.replace(plan, **changes)


def _porous(bed: Bed, factor: float) -> Bed:
    porosity = min(bed.media.porosity * factor, 0.999)
    return dataclasses.replace(bed, media=dataclasses.replace(bed.media, porosity=porosity))


def spreads(plan: Plan, siphon: str | None = None) -> dict[str, float]:
    """Return how uncertain the plan's values are before any reading.

    Returns
    -------
    dict of str to float
        Standard deviation of the logarithm of each of `FITTED`. Porosity:
        a quarter of the range of the beds' media in the tables. Start: a
        quarter of the band of Froude numbers, or the error of the grower's
        own reading. Inflow and loss: the module's constants.
    """
    s = the_siphon(plan, siphon)
    names = members(plan, s)
    media = []
    for bed in plan.beds:
        if bed.name in names and bed.media.name in catalogue.media_names():
            known = catalogue.media(bed.media.name)
            media.append(math.log(known.porosity_high / known.porosity_low) / 4.0)
    band = start_band(s)
    if band.measured:
        start = max((band.high / band.middle - 1.0) / NINE_IN_TEN, 0.01)
    else:
        start = math.log(band.high / band.low) / 4.0
    return {
        "porosity": max(media) if media else POROSITY_SPREAD,
        "inflow": INFLOW_SPREAD,
        "loss": LOSS_SPREAD,
        "start": start,
    }


def predict(plan: Plan, run: SystemCycle, siphon: Siphon, reading: Reading) -> float:
    """Return what a reading would be on this plan, SI; NaN when its siphon does not cycle."""
    group = run.group(siphon.name)
    if reading.what == "jug flow":
        return run.pump
    if reading.what == "lowest start":
        return choke(siphon)
    if reading.what == "highest stop":
        return siphon_flow(plan, siphon, group.rim, sump_range(plan, run).high)
    if group.outcome != "cycles":
        return math.nan
    if reading.what == "fill time":
        return group.fill_time + group.spill_time + group.priming_time
    if reading.what == "drain time":
        return group.drain_time
    if reading.what == "level at break":
        return run.node(reading.bed).at_break - plan.vessel(reading.bed).floor
    levels = sump_range(plan, run)
    return levels.high - levels.low


def check_readings(plan: Plan, siphon: Siphon, readings: Sequence[Reading]) -> None:
    """Refuse readings that cannot be used.

    Raises
    ------
    ValueError
        Naming the reading, what is wrong and what to give.
    """
    if not readings:
        raise ValueError("no readings; give at least one, the fill time for example")
    names = members(plan, siphon)
    for r in readings:
        if r.what not in READINGS:
            near = catalogue.near_matches(r.what, READINGS)
            raise ValueError(f'"{r.what}" is not a reading; {catalogue.suggestion(near, tuple(READINGS))}')
        positive(**{r.what: r.value, f"error of {r.what}": r.error})
        if r.what == "level at break" and r.bed not in {b.name for b in plan.beds if b.name in names}:
            raise ValueError(f'level at break: there is no bed "{r.bed}" on {the(siphon.name)}; name the bed')
        _believable(plan, r)
    for i, one in enumerate(readings):
        for other in readings[:i]:
            apart, error = abs(one.value - other.value), math.hypot(one.error, other.error)
            if (one.what, one.bed) == (other.what, other.bed) and apart > CONTRADICTION * error:
                kind = READINGS[one.what][0]
                raise ValueError(
                    f"{one.what}: {show(one.value, kind)} and {show(other.value, kind)} contradict each "
                    f"other, {apart / error:.0f} times their error apart; read it again, or "
                    "give a larger error"
                )


def contradictions(plan: Plan, readings: Sequence[Reading]) -> tuple[str, ...]:
    """Say which readings of different kinds cannot both be true of one siphon, whatever the plan.

    Parameters
    ----------
    plan : Plan
    readings : sequence of Reading

    Returns
    -------
    tuple of str
        A sentence each; of a plan with several siphons none, whose shares of the jug's flow differ.
    """
    if len(plan.siphons) > 1:
        return ()
    flows = {r.what: r for r in readings if READINGS[r.what][0] == "flow"}
    cycled = next((r.what for r in readings if r.what in ("fill time", "drain time", "level at break")), "")
    said = []
    for low, high, because in (
        ("lowest start", "jug flow", cycled and f"it would not have started, but a {cycled} was read"),
        ("jug flow", "highest stop", cycled and f"it would not have stopped, but a {cycled} was read"),
        ("lowest start", "highest stop", "it could not both start and stop at any flow"),
    ):
        a, b = flows.get(low), flows.get(high)
        if a and b and because and a.value - b.value > CROSSED * math.hypot(a.error, b.error):
            said.append(
                f"These contradict each other: {low} {show(a.value, 'flow', plan.units)}, {high} "
                f"{show(b.value, 'flow', plan.units)}; {because}. Read them again."
            )
    return tuple(said)


def _believable(plan: Plan, r: Reading) -> None:
    """Refuse a reading that cannot be one of this plan."""
    kind, limit = READINGS[r.what][0], math.inf
    if r.what == "level at break":
        limit = plan.vessel(r.bed).shape.depth
    elif r.what == "sump rise":
        limit = plan.sump.shape.depth
    elif kind == "time":
        limit = LONGEST_TIME
    elif kind == "flow":
        limit = LARGEST_FLOW
    if r.value > limit:
        raise ValueError(
            f"{r.what} of {show(r.value, kind)} is not possible: it is at most {show(limit, kind)} here; "
            "read it again"
        )
