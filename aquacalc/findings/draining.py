"""Findings on a bed's way out: what water stays and why, and whether the media stays too."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from aquacalc.findings.record import Finding
from aquacalc.geometry.strainers import outlet_level
from aquacalc.hydraulics.levels import start_level
from aquacalc.hydraulics.mouths import mouth_level_at
from aquacalc.hydraulics.stopping import break_level
from aquacalc.plan.model import Bed, Plan, Run
from aquacalc.results.cycle import SystemCycle
from aquacalc.results.far_end import far_ends, lags
from aquacalc.units import show

#: Over the limit by this share and this much (m) nobody can say whether it stays: a mouth's entrance loss
#: of 0.2 to 0.5, and surface tension at its edge.
UNSURE = 0.15
#: Shares of the media that a flood should reach: below the first roots stay dry, below the second it is
#: doubtful (common practice, no source).
SHALLOW, LOW = 0.2, 0.5
#: Water under a side outlet that never drains: a wet zone of 3 to 5 cm is usual (FAO 589, from memory).
WET_ZONE = 0.05
EDGE = 0.003
#: Size over opening below which grains go through (USBR and USACE filter criteria, from memory).
GRAIN_RATIO = {"slots": 1.2, "holes": 1.0}
#: Part of the way from the smallest to the largest grain: 85 % are smaller, if sizes are spread evenly.
COARSE = 0.85

#: What lets air in and breaks a siphon -> what to do where it is too high.
BREAKS = {
    "the bell's rim, where the siphon breaks": "Cut the bell's rim lower",
    "the notch in the bell, where the siphon breaks": "Use a bell without a notch",
    "the breather's mouth, where the siphon breaks": "Lead the breather's mouth lower",
}


@dataclass(frozen=True)
class Step:
    """The highest thing on a bed's way out.

    Attributes
    ----------
    name : str
    level : float
        Its elevation, m.
    """

    name: str
    level: float

    @property
    def lower(self) -> str:
        """What to do about it."""
        return BREAKS.get(self.name, f"Lay {self.name} lower")


def highest_step(plan: Plan, bed: Bed) -> Step:
    """Find what holds the bed's water highest when nothing flows: its outlet, or something on the way."""
    best, at = Step("its outlet", outlet_level(plan, bed)), bed.name
    for run in plan.way(bed.name):
        tee, at = plan.tee(run.to), run.to
        if tee is not None:
            step = Step(at if "tee" in at else f"the tee {at}", tee.elevation)
        else:
            step = Step(f"the outfall into {at}", run.outfall)
        best = max(best, step, key=lambda x: x.level)
    siphon = plan.siphon_in(at)
    rim, notch, mouth = BREAKS
    level, bell = break_level(plan, siphon), siphon.bell
    name = rim
    if level > plan.rim_level(siphon):
        name = notch if level == plan.vessel(siphon.host).floor + bell.notch_height else mouth
    return max(best, Step(name, level), key=lambda x: x.level)


def find_draining(plan: Plan, run: SystemCycle, bed: Bed) -> list[Finding]:
    """Judge how far a bed drains, and its strainer against its grains."""
    found = [_flood(plan, run, bed), _drains(plan, run, bed), _wet_zone(plan, bed)]
    found += [_far_end(plan, run, bed), _no_strainer(plan, bed), _grains(plan, bed)]
    return [f for f in found if f is not None]


def _why(plan: Plan, bed: Bed, out: Run | None, inflow: float, left: float) -> tuple[str, str]:
    """Say why `left` (m) stays over the outlet, and what to change."""
    s, step = plan.units, highest_step(plan, bed)
    over = step.level - outlet_level(plan, bed)
    if over > min(0.5 * left, plan.limits.residual):
        return (
            f"{step.name[0].upper()}{step.name[1:]}, at {show(step.level, 'elevation', s)}, is "
            f"{show(over, 'length', s)} above its outlet, and water cannot drain over it.",
            f"{step.lower}, or raise the bed.",
        )
    if out is not None and bed.outlet == "side":
        mouth = mouth_level_at(out, inflow)
        if mouth > 0.5 * left:
            return (
                f"The pump's {show(inflow, 'flow', s)} into this bed runs through the mouth of its side "
                f"outlet all the time, and stands {show(mouth, 'length', s)} over it.",
                "Put the outlet in the floor, fit a wider one, or send less inflow to this bed.",
            )
    return (
        "The siphon breaks before this bed has drained through its run.",
        "Give this bed's drain line a wider pipe, fewer bends or a larger strainer, or slow the siphon with "
        "a narrower tail so that the bed keeps up.",
    )


def _drains(plan: Plan, run: SystemCycle, bed: Bed) -> Finding | None:
    node = run.node(bed.name)
    group = run.group(node.group)
    if group.outcome != "cycles":
        return None
    s, empty = plan.units, start_level(plan, bed.name)
    left, flood = max(node.low - empty, 0.0), node.high - empty
    limit = plan.limits.residual
    host = any(x.host == bed.name for x in plan.siphons)
    where = "the level at which the siphon breaks" if host else "its outlet"
    values: dict[str, Any] = {
        "key": "drains", "subject": bed.name, "value": left, "limit": limit, "direction": "at most",
        "kind": "length",
    }  # fmt: skip
    cause = (
        f"At its lowest {show(left, 'length', s)} of water is left above {where}; "
        f"your plan allows {show(limit, 'length', s)}. "
        f"The flood is {show(max(flood, 0.0), 'length', s)} deep."
    )
    if left <= limit:
        return Finding(title="Drains", state="good", cause=cause, **values)
    out = plan.run_from(bed.name)
    shares = sum(b.inflow_share for b in plan.beds)
    why, change = _why(plan, bed, out, run.pump * bed.inflow_share / shares, left)
    band = (limit, (1.0 + UNSURE) * limit + EDGE)
    return Finding(
        title="Keeps more water than you allow",
        state="may or may not" if left <= band[1] else "does not",
        band=band,
        cause=f"{cause} {why}",
        change=change,
        **values,
    )


def _flood(plan: Plan, run: SystemCycle, bed: Bed) -> Finding | None:
    """Judge how far up the media a flood comes: to roots, but not over the surface."""
    node = run.node(bed.name)
    if run.group(node.group).outcome != "cycles" or bed.media.depth <= 0.0:
        return None
    s, deep, media = plan.units, node.high - bed.floor, bed.media.depth
    values: dict[str, Any] = {"key": "flood", "subject": bed.name, "value": max(deep, 0.0), "kind": "length"}
    cause = (
        f"A flood reaches {show(max(deep, 0.0), 'length', s)} up in media {show(media, 'length', s)} deep."
    )
    if deep > media + EDGE:
        return Finding(
            title="Flood stands over the media",
            state="watch",
            limit=media,
            direction="at most",
            cause=f"{cause} Open water grows algae, and light media floats.",
            change="Fill in more media, or shorten the standpipe; 20 to 50 mm (3/4 to 2 in) of dry media on "
            "top are usual.",
            **values,
        )
    values |= {"limit": LOW * media, "direction": "at least"}
    if deep >= LOW * media:
        return Finding(title="Flood reaches the roots", state="good", cause=cause, **values)
    change = "Lower this bed or lengthen the standpipe; see that the rim stays above the water."
    if deep < SHALLOW * media:
        title, state = "Bed hardly floods", "does not"
    else:
        title, state = "Flood is shallow", "watch"
    return Finding(
        title=title, state=state, cause=f"{cause} Above it roots stay dry.", change=change, **values
    )


def _wet_zone(plan: Plan, bed: Bed) -> Finding | None:
    """Judge the water that stands under a side outlet for good."""
    if bed.outlet != "side":
        return None
    s, stays = plan.units, outlet_level(plan, bed) - bed.floor
    values: dict[str, Any] = {
        "key": "wet_zone", "subject": bed.name, "value": stays, "limit": WET_ZONE, "direction": "at most",
        "kind": "length",
    }  # fmt: skip
    cause = f"{show(stays, 'length', s)} of water stand under its side outlet and never drain."
    if stays <= WET_ZONE:
        return Finding(title="Wet zone is low", state="good", cause=cause, **values)
    return Finding(
        title="Bed never drains below its outlet",
        state="does not" if stays > 0.5 * bed.media.depth else "may or may not",
        band=(WET_ZONE, max(0.5 * bed.media.depth, stays)),
        cause=f"{cause} 30 to 50 mm (1 to 2 in) are usual; more is dead water, in which roots may rot.",
        change="Decide whether your plants stand in it. Or set the outlet lower.",
        **values,
    )


def _far_end(plan: Plan, run: SystemCycle, bed: Bed) -> Finding | None:
    """Hold the water at the far end of a bed, at its lowest, against what may stay in it."""
    ends = far_ends(run, bed)
    if ends is None:
        return None
    s, at_break, end = plan.units, *ends
    limit = plan.limits.residual
    values: dict[str, Any] = {
        "key": "far_end", "subject": bed.name, "value": end.easy, "limit": limit, "direction": "at most",
        "kind": "length",
    }  # fmt: skip
    told = [" to ".join(show(x, "length", s, 2) for x in (e.easy, e.hard)) for e in (at_break, end)]
    cause = (
        f"The media holds the water up: the far end, {show(end.away, 'length', s)} from the outlet, stands "
        f"{told[0]} higher than the outlet when the siphon breaks, and {told[1]} at its lowest if the inflow "
        "comes in there: by Ergun's law, good to a factor of 1.5."
    )
    known = bed.outlet == "side" or bed.outlet_along is not None
    if not known:
        cause += " The plan does not say where the outlet is: the middle is taken."
    if lags(run, bed, at_break):
        cause += " So fine a media drains no faster than the siphon; the far end may stand higher still."
    if end.easy <= limit:
        return Finding(title="Far end drains too", state="good", cause=cause, **values)
    settle = "Dig a hole at the far end and look when the bed is at its lowest. "
    return Finding(
        title="Far end stays wet",
        state="may or may not" if known else "watch",
        band=(limit, max(end.hard, limit)),
        cause=f"{cause} At the outlet you allow {show(limit, 'length', s)}.",
        change=f"{settle}Or put the outlet in the middle of the floor, let the inflow in over it, use "
        "coarser media, or allow more water to stay (residual under [limits]).",
        **values,
    )


def coarse_grain(bed: Bed) -> float:
    """Size (m) that 85 % of a bed's grains are smaller than; 0 where they are not known."""
    media = bed.media
    return media.grain_smallest + COARSE * (media.grain_largest - media.grain_smallest)


def _no_strainer(plan: Plan, bed: Bed) -> Finding | None:
    """Hold the bare pipe of a bed without a strainer against the grains of its media, as a hole."""
    run = plan.run_from(bed.name)
    if run is None or bed.strainer is not None:
        return None
    s, bore, media, coarse = plan.units, run.pipe.bore, bed.media, coarse_grain(bed)
    cause = f"Nothing keeps the media out of the drain line of {show(bore, 'length', s)} bore."
    state, band = "does not", None
    if media.depth <= 0.0:
        state, cause = "watch", "Nothing keeps roots and leaves out of the drain line."
    elif media.grain_largest == 0.0:
        state = "may or may not"
        cause += " The plan does not say how large the grains are."
    else:
        small, large = (show(x, "length", s, 2) for x in (media.grain_smallest, media.grain_largest))
        cause += f" Grains of {small} to {large} wash in and fill it where it lies level."
        if bore <= coarse:
            state, cause = "watch", f"Grains of {small} to {large} lie on the bare pipe and shut most of it."
        elif bore < media.grain_largest:
            state, band = "may or may not", (coarse, media.grain_largest)
    known = media.depth > 0.0 and media.grain_largest > 0.0
    settle = "Hold a handful of the media over the pipe's end and see whether it falls through. "
    return Finding(
        key="strainer",
        title="No strainer",
        state=state,
        subject=bed.name,
        value=bore if known else None,
        limit=coarse if known else None,
        direction="at most" if known else "",
        band=band,
        kind="length",
        cause=cause,
        change=f"{settle if state == 'may or may not' else ''}Fit a strainer over the outlet and put it in "
        "the plan: it costs head.",
    )


def _grains(plan: Plan, bed: Bed) -> Finding | None:
    """Hold the strainer's openings against the coarse grains of the media."""
    strainer, media = bed.strainer, bed.media
    if strainer is None or media.grain_largest == 0.0:
        return None
    s, wide, ratio = plan.units, strainer.width, GRAIN_RATIO[strainer.kind]
    limit = coarse_grain(bed) / ratio
    values: dict[str, Any] = {
        "key": "strainer_grains", "subject": bed.name, "value": wide, "limit": limit, "direction": "at most",
        "kind": "length",
    }  # fmt: skip
    small, large = (show(x, "length", s, 2) for x in (media.grain_smallest, media.grain_largest))
    cause = (
        f"Its {strainer.kind} are {show(wide, 'length', s)} wide; the grains of the media are {small} to "
        f"{large}."
    )
    if wide <= limit:
        return Finding(title="Strainer keeps the media", state="good", cause=cause, **values)
    change = f"Cut {strainer.kind} of at most {show(limit, 'length', s, 2)}."
    if ratio * wide > media.grain_largest:
        return Finding(
            title="Strainer lets the media through",
            state="does not",
            cause=f"{cause} Nearly every grain goes through.",
            change=change,
            **values,
        )
    return Finding(
        title="Strainer may let the media through",
        state="may or may not",
        band=(limit, media.grain_largest / ratio),
        cause=f"{cause} They may hold each other back over the openings, or not.",
        change=f"Pour a handful over the openings and see. Or {change[0].lower()}{change[1:]}",
        **values,
    )
