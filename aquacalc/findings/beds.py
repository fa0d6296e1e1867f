"""Findings on beds and chambers: do they drain, hold their water, keep their media and stand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from aquacalc.equations.formulas import circle_area, water_density
from aquacalc.findings.draining import find_draining
from aquacalc.findings.record import TIMES, Finding
from aquacalc.geometry.strainers import strainer_area
from aquacalc.hydraulics.levels import volume_at
from aquacalc.hydraulics.starting import late_rise
from aquacalc.hydraulics.storage import vessel_cells
from aquacalc.plan.model import Bed, Plan, Siphon
from aquacalc.results.cycle import SystemCycle
from aquacalc.units import show

#: Room wanted above the water in a chamber, m (our own choice, no source).
CHAMBER_FREEBOARD = 0.010
CAUTION = (
    "Let someone licensed check the floor, bench or frame against your local code: an estimate does "
    "not prove that it can carry this."
)


@dataclass(frozen=True)
class Weight:
    """Mass of a flooded bed, with the volumes and the area behind it.

    Attributes
    ----------
    media_volume, water_volume : float
        m3.
    media, water, total : float
        kg; `total` has the vessel in.
    area : float
        m2.
    load : float
        `total` over `area`, kg/m2.
    support : float
        `total` on each support if all carry alike, kg.
    """

    media_volume: float
    water_volume: float
    media: float
    water: float
    total: float
    area: float
    load: float
    support: float


def weight(plan: Plan, bed: Bed, level: float) -> Weight:
    """Weight of a bed flooded to `level` (m), at most to its rim."""
    guards = sum(circle_area(s.media_guard) for s in plan.siphons if s.host == bed.name)
    media_volume = bed.shape.volume(bed.media.depth) - guards * bed.media.depth
    water_volume = volume_at(vessel_cells(plan, bed), min(level, bed.rim))
    media = bed.media.bulk_density * media_volume
    water = water_density(plan.water_temperature) * water_volume
    total = bed.empty_mass + media + water
    area = bed.shape.footprint()
    return Weight(media_volume, water_volume, media, water, total, area, total / area, total / bed.supports)


def find_bed(plan: Plan, run: SystemCycle, bed: Bed) -> list[Finding]:
    """Judge one bed."""
    found = [
        *find_draining(plan, run, bed),
        _freeboard(plan, run, bed),
        _dry_top(plan, run, bed),
        _strainer(plan, bed),
        _weight(plan, run, bed),
    ]
    return [f for f in found if f is not None]


def _freeboard(plan: Plan, run: SystemCycle, bed: Bed) -> Finding:
    s, high, limit = plan.units, run.node(bed.name).high, plan.limits.bed_freeboard
    room = bed.rim - high
    values: dict[str, Any] = {
        "key": "bed_freeboard", "subject": bed.name, "value": room, "limit": limit, "direction": "at least",
        "kind": "length",
    }  # fmt: skip
    level = f"The water reaches {show(high, 'elevation', s)}; the rim is at {show(bed.rim, 'elevation', s)}."
    siphon = plan.siphon(run.node(bed.name).group)
    drowned, late = _may_rise(run, siphon)
    higher = drowned + late
    change = "Shorten the standpipe, raise the bed or its wall, or lay a wider drain line."
    if room <= 0.0:
        return Finding(title="Bed overflows", state="does not", cause=level, change=change, **values)
    if room - higher <= 0.0:
        why = (
            f"It may start as much as {show(late, 'head', s)} higher: at the end of the band in which it "
            "starts, with more water over the lip than by the law taken."
        )
        return Finding(
            title="Bed may overflow before the siphon starts",
            state="may or may not",
            band=(room - higher, room),
            cause=f"{level} The end of the tail is then drowned by {show(drowned, 'length', s)}: the air "
            "under the bell cannot leave until it is pressed below that, so the start may be up to that much "
            "higher."
            if drowned > late
            else f"{level} {why}",
            change="End the tail above the sump's lowest level, or lower the water in the sump."
            if drowned > late
            else f"{change} To settle it, watch the first flood with a hand on the pump's switch.",
            **values,
        )
    cause = f"{level} That leaves {show(room, 'length', s)}; your plan asks for {show(limit, 'length', s)}."
    if room < limit:
        return Finding(title="Freeboard is short", state="watch", cause=cause, change=change, **values)
    return Finding(title="Freeboard is enough", state="good", cause=cause, **values)


def _may_rise(run: SystemCycle, siphon: Siphon) -> tuple[float, float]:
    """How much higher (m) than the run has it the water may stand before the siphon starts, for two reasons.

    Air under the bell is pressed down to a drowned end of the tail before it leaves; and it may start late,
    with more water over the lip than by the law taken.
    """
    late = late_rise(run.plan, siphon, run.group(siphon.name).inflow)
    return max(run.sump_low - siphon.tail.end, 0.0), late


def _dry_top(plan: Plan, run: SystemCycle, bed: Bed) -> Finding | None:
    """Whether the top of the media stays dry; None where the water would run over the wall anyway."""
    s, high, top = plan.units, run.node(bed.name).high, bed.floor + bed.media.depth
    if high >= bed.rim:
        return None
    values: dict[str, Any] = {
        "key": "dry_top", "subject": bed.name, "value": top - high, "limit": 0.0, "direction": "at least",
        "kind": "length",
    }  # fmt: skip
    cause = f"The water reaches {show(high, 'elevation', s)}; the media ends at {show(top, 'elevation', s)}."
    if top < high:
        cause += " Water in the light grows algae and wets stems, and light media floats."
        change = "Fill in more media, or shorten the standpipe."
        title = "Water rises above the media"
        return Finding(title=title, state="watch", cause=cause, change=change, **values)
    return Finding(title="The top of the media stays dry", state="good", cause=cause, **values)


def _strainer(plan: Plan, bed: Bed) -> Finding | None:
    run = plan.run_from(bed.name)
    if run is None or bed.strainer is None:
        return None
    s, area, bore = plan.units, strainer_area(plan, bed.name), circle_area(run.pipe.bore)
    ratio, limit = area / bore, plan.limits.strainer_ratio
    values: dict[str, Any] = {
        "key": "strainer", "subject": bed.name, "value": ratio, "limit": limit, "direction": "at least",
        "counts": TIMES,
    }  # fmt: skip
    cause = (
        f"Its openings add up to {show(area, 'opening_area', s)}, {show(ratio, 'number')} times the bore of "
        f"the drain line ({show(bore, 'opening_area', s)}); your plan asks for at least {limit:g} times."
    )
    if ratio < limit:
        more = f"Cut at least {show(limit * bore - area, 'opening_area', s)} more of slots or holes."
        return Finding(title="Strainer area is short", state="watch", cause=cause, change=more, **values)
    return Finding(title="Strainer area is enough", state="good", cause=cause, **values)


def _weight(plan: Plan, run: SystemCycle, bed: Bed) -> Finding:
    s, w, limit = plan.units, weight(plan, bed, run.node(bed.name).high), plan.limits.floor_load
    cause = (
        f"Flooded it weighs {show(w.total, 'mass', s)}, or {show(w.load, 'load', s)} under the bed and "
        f"{show(w.support, 'mass', s)} on each of {bed.supports} supports."
    )
    for mass, what in ((bed.media.bulk_density, "the media"), (bed.empty_mass, "the empty bed")):
        if mass == 0.0:
            cause += f" The plan gives no mass for {what}, so it is heavier than this."
    values: dict[str, Any] = {"key": "weight", "subject": bed.name, "value": w.load, "kind": "load"}
    if limit == 0.0:
        change = (
            f"Find out what the floor or bench carries and give it as floor_load under [limits]. {CAUTION}"
        )
        title = "Wet weight has no limit given"
        return Finding(title=title, state="watch", cause=cause, change=change, **values)
    values |= {"limit": limit, "direction": "at most"}
    cause += f" {show(limit, 'load', s)} is the limit in the plan."
    if w.load > limit:
        change = f"Use lighter media, a lower flood or a stronger floor. {CAUTION}"
        title = "Wet weight is over the limit"
        return Finding(title=title, state="does not", cause=cause, change=change, **values)
    title = "Wet weight is within the limit"
    return Finding(title=title, state="good", cause=f"{cause} {CAUTION}", **values)


def find_chambers(plan: Plan, run: SystemCycle) -> list[Finding]:
    """Whether each siphon chamber holds its water."""
    s, found = plan.units, []
    for chamber in plan.chambers:
        high = run.node(chamber.name).high
        room = chamber.rim - high
        siphon = plan.siphon(run.node(chamber.name).group)
        higher = sum(_may_rise(run, siphon))
        state = "watch" if room < CHAMBER_FREEBOARD else "good"
        if room - higher <= 0.0:
            state = "may or may not" if room > 0.0 else "does not"
        titles = {
            "does not": "Chamber overflows",
            "may or may not": "Chamber may overflow before the siphon starts",
            "watch": "Chamber is nearly full",
            "good": "Chamber holds the water",
        }  # fmt: skip
        rim = show(chamber.rim, "elevation", s)
        found.append(
            Finding(
                key="chamber_freeboard",
                title=titles[state],
                state=state,
                subject=chamber.name,
                value=room,
                limit=CHAMBER_FREEBOARD,
                direction="at least",
                kind="length",
                band=(room - higher, room) if state == "may or may not" else None,
                cause=f"The water reaches {show(high, 'elevation', s)}; the rim is at {rim}. "
                f"It may start as much as {show(higher, 'head', s)} higher.",
                change="" if state == "good" else "Use a taller chamber or a shorter standpipe.",
            )
        )
    return found
