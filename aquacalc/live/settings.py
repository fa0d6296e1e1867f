"""What a live page's sliders put into a plan: plain functions, which the page runs in translation."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from aquacalc.plan.model import Pipe, Plan, Siphon
from aquacalc.plan.records import refitted


def _siphon(plan: Plan, place: int, siphon: Siphon) -> Plan:
    others = plan.siphons
    return replace(plan, siphons=(*others[:place], siphon, *others[place + 1 :]))


def _flow(plan: Plan, place: int, value: float) -> Plan:
    """Put the pump's flow; one with a curve gives what its valve lets by."""
    return replace(plan, pump=replace(plan.pump, flow=value, curve=()))


def _height(plan: Plan, place: int, value: float) -> Plan:
    """Put the standpipe's height; the bell keeps its room over the lip."""
    siphon = plan.siphons[place]
    room = siphon.bell.top_height - siphon.standpipe.height
    stand, bell = replace(siphon.standpipe, height=value), replace(siphon.bell, top_height=value + room)
    return _siphon(plan, place, replace(siphon, standpipe=stand, bell=bell))


def _room(plan: Plan, place: int, value: float) -> Plan:
    siphon = plan.siphons[place]
    bell = replace(siphon.bell, top_height=siphon.standpipe.height + value)
    return _siphon(plan, place, replace(siphon, bell=bell))


def _rim(plan: Plan, place: int, value: float) -> Plan:
    """Put the height of the bell's rim, which is that of its openings."""
    siphon = plan.siphons[place]
    bell = replace(siphon.bell, rim_height=value, opening_height=value)
    return _siphon(plan, place, replace(siphon, bell=bell))


def _lip(plan: Plan, place: int, value: float) -> Plan:
    siphon = plan.siphons[place]
    wide = max(value, siphon.standpipe.pipe.bore)
    return _siphon(plan, place, replace(siphon, standpipe=replace(siphon.standpipe, lip_diameter=wide)))


def _bore(plan: Plan, place: int, value: Pipe) -> Plan:
    """Put the standpipe's pipe, and the tail's where both are one; a plain lip goes with the bore."""
    siphon = plan.siphons[place]
    stand, tail = siphon.standpipe, siphon.tail
    plain = stand.lip_diameter <= 1.001 * stand.pipe.bore
    lip = value.bore if plain else max(stand.lip_diameter, value.bore)
    if tail.pipe == stand.pipe:
        tail = replace(tail, pipe=value, fittings=refitted(tail.fittings, value.bore))
    return _siphon(
        plan, place, replace(siphon, standpipe=replace(stand, pipe=value, lip_diameter=lip), tail=tail)
    )


def _drains(plan: Plan, place: int, value: Pipe) -> Plan:
    """Put the pipe of every drain line; a drop under a bed is cut as long as the new pipe needs it."""
    beds, runs = {bed.name: bed for bed in plan.beds}, []
    for run in plan.runs:
        length, bed = run.length, beds.get(run.start)
        if bed is not None and bed.outlet == "floor" and not run.legs:
            length = max(length, bed.outlet_invert - run.outfall - 0.5 * value.bore)
        runs.append(replace(run, pipe=value, length=length, fittings=refitted(run.fittings, value.bore)))
    return replace(plan, runs=tuple(runs))


def _outlet(plan: Plan, place: int, value: float) -> Plan:
    """Put the level of the tail's end; what hangs lower is longer by as much."""
    siphon = plan.siphons[place]
    tail = siphon.tail
    longer = tail.length + (tail.outlet - value)
    return _siphon(plan, place, replace(siphon, tail=replace(tail, outlet=value, length=longer)))


def _porosity(plan: Plan, place: int, value: float) -> Plan:
    beds = tuple(replace(bed, media=replace(bed.media, porosity=value)) for bed in plan.beds)
    return replace(plan, beds=beds)


def _openings(plan: Plan, place: int, value: float) -> Plan:
    beds = tuple(
        replace(bed, strainer=replace(bed.strainer, count=int(value))) if bed.strainer else bed
        for bed in plan.beds
    )
    return replace(plan, beds=beds)


def _water(plan: Plan, place: int, value: float) -> Plan:
    return replace(plan, sump=replace(plan.sump, water_level=value))


#: By the key of a slider; called with the plan, the number of the siphon and the value, in this order.
SETTINGS: dict[str, Callable[[Plan, int, Any], Plan]] = {
    "flow": _flow,
    "bore": _bore,
    "lip": _lip,
    "height": _height,
    "room": _room,
    "rim": _rim,
    "outlet": _outlet,
    "drains": _drains,
    "porosity": _porosity,
    "openings": _openings,
    "water": _water,
}


def moved(plan: Plan, settings: list) -> Plan:
    """Return the plan with other values.

    Parameters
    ----------
    plan : Plan
    settings : list of (str, int, float or Pipe)
        Key of `SETTINGS`, number of the siphon (0 where it is none), and the value in SI units.
    """
    for key, place, value in settings:
        plan = SETTINGS[key](plan, place, value)
    return plan


def value_at(plan: Plan, fields: list):
    """Return the value to which these names and places lead from a plan."""
    found: Any = plan
    for field in fields:
        found = found[field] if isinstance(field, int) else getattr(found, field)
    return found
