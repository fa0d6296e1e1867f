"""The corners of what nobody knows well of a plan, and points between them.

The flow that starts the siphon, the porosity of the media, the pump's flow, and strainers as cut or half
shut, each at both ends of its range at once. Stopping needs no corner of its own: a plan works only where it
stops at the hard end of that band.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Any

from aquacalc import catalogue
from aquacalc.hydraulics.starting import start_band
from aquacalc.plan import edit
from aquacalc.plan.marks import mark_of
from aquacalc.plan.model import Plan, Siphon

#: Pump flow over what the plan says: a measured one as well as a jug tells, others as valves drift and
#: pumps age (common practice, no source).
PUMP = (0.95, 1.05)
PUMP_MEASURED = (0.98, 1.02)
#: Porosity over a value that was given or measured; one that is assumed has its media's range.
POROSITY = (0.95, 1.05)
#: Part of a strainer's openings that an old one has left (mature perforated pipe: STEP LID guide).
OLD_STRAINER = 0.5


def corners(plan: Plan) -> tuple[dict[str, Any], ...]:
    """Return the edits that put a plan at each corner of what nobody knows well.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    tuple of dict of str to object
        As `aquacalc.plan.edit.put` takes them: every combination of an easy and
        a hard start, the ends of porosity and of the pump's flow, and strainers
        new and half shut.
    """
    return tuple(
        {key: value for end in ends for key, value in end.items()} for ends in itertools.product(*_ends(plan))
    )


def _ends(plan: Plan) -> Iterator[tuple[dict[str, Any], ...]]:
    starts: tuple[dict[str, Any], ...] = ({}, {})
    for siphon in plan.siphons:
        for end, flow in zip(starts, _start_ends(siphon), strict=True):
            end.update(flow)
    yield starts
    yield tuple(
        {
            f"bed.{bed.name}.porosity": min(value, 0.99)
            for bed in plan.beds
            for value in [_porosities(plan, bed)[k]]
        }
        for k in (0, 1)
    )
    yield tuple(
        {"pump.curve": tuple((flow * end, head) for flow, head in plan.pump.curve)}
        if plan.pump.flow is None
        else {"pump.flow": plan.pump.flow * end}
        for end in pump_ends(plan)
    )
    shut = {
        f"bed.{bed.name}.strainer.count": max(int(bed.strainer.count * OLD_STRAINER), 1)
        for bed in plan.beds
        if bed.strainer is not None
    }
    if shut:
        yield {}, shut


def pump_ends(plan: Plan) -> tuple[float, float]:
    """Return the ends of the pump's flow over what the plan says."""
    return PUMP_MEASURED if mark_of(plan, "pump.flow").mark == "measured" else PUMP


def hard_start(plan: Plan) -> dict[str, Any]:
    """Return the edits that put every start at the hard end of its band."""
    return {key: value for siphon in plan.siphons for key, value in [*_start_ends(siphon)][1].items()}


def _start_ends(siphon: Siphon) -> Iterator[dict[str, Any]]:
    """Edits that put the start at the easy, then at the hard end of its band, and leave no band."""
    at, p, band = f"siphon.{siphon.name}.priming", siphon.priming, start_band(siphon)
    for flow, froude in ((band.low, p.froude_low), (band.high, p.froude_high)):
        if band.measured:
            yield {f"{at}.observed": flow, f"{at}.observed_error": 0.0}
        else:
            yield {f"{at}.froude_low": froude, f"{at}.froude": froude, f"{at}.froude_high": froude}


def _porosities(plan: Plan, bed) -> tuple[float, float]:
    now = bed.media.porosity
    known = mark_of(plan, f"bed.{bed.name}.porosity").mark in ("given", "measured")
    if known or bed.media.name == catalogue.OWN:
        return now * POROSITY[0], now * POROSITY[1]
    media = catalogue.media(bed.media.name)
    return min(media.porosity_low, now), max(media.porosity_high, now)


def inside(plan: Plan, shares: tuple[float, ...]) -> dict[str, Any]:
    """Return the edits for a point inside the corners.

    Parameters
    ----------
    plan : Plan
    shares : tuple of float
        Where between the two ends of each unknown, 0 to 1 (part).
    """
    found: dict[str, Any] = {}
    for (low, high), share in zip(_ends(plan), shares, strict=False):
        for key in low.keys() | high.keys():
            a = low.get(key, edit.get(plan, key))
            found[key] = _between(a, high.get(key, edit.get(plan, key)), share)
    return found


def _between(low: Any, high: Any, share: float) -> Any:
    if isinstance(low, tuple):
        return tuple(_between(a, b, share) for a, b in zip(low, high, strict=True))
    between = low + (high - low) * share
    return round(between) if isinstance(low, int) else between
