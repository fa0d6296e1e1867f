"""Changes that may mend what cannot be built, as edits of the plan: places, ways, holes, strainers, bells.

Not here is what no edit mends: a hole that no list has or no saw cuts, a wall too thin, a shelf over the
chamber, and holes that need another side of the vessel. Their findings say what to do with the hands.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from aquacalc import catalogue
from aquacalc.design.answer import to_mark
from aquacalc.design.change import Change, kept, listed, whose
from aquacalc.design.mends_draining import FALL, all_fall
from aquacalc.findings import Finding
from aquacalc.findings.record import brief, the
from aquacalc.geometry.holes import LEAST_EDGE
from aquacalc.geometry.laying import LINK, UPRIGHT
from aquacalc.geometry.routes import run_route, siphon_routes
from aquacalc.geometry.space import space
from aquacalc.geometry.strainers import strainer_cut
from aquacalc.plan.model import Fitting, Plan, Run, Tail
from aquacalc.plan.network import order
from aquacalc.plan.records import fitting_k
from aquacalc.results.cycle import SystemCycle

#: Room over the beds' highest water for the end of a delivery; over the level at which a siphon starts for
#: the mouth of an overflow; over a bell's rim for that of a breather (our own choice), m.
AIR_GAP, OVER_START, OVER_RIM = 0.05, 0.005, 0.02
#: Breathers that are tried, as parts of the one in the plan.
WIDER = (1.5, 2.0, 3.0)


def _run_of(plan: Plan, subject: str) -> Run | None:
    return next((run for run in plan.runs if f"{run.start} to {run.to}" == subject), None)


def _of(plan: Plan, subject: str) -> tuple[str, str]:
    """Return the vessel that a subject such as "bed 1: outlet" begins with, and the rest."""
    names = sorted((v.name for v in (*plan.vessels, plan.sump)), key=len, reverse=True)
    name = next(name for name in names if subject.startswith(f"{name}: "))
    return name, subject.removeprefix(f"{name}: ")


def _way(path: str, way, more: float, short: int | None = None) -> dict[str, Any]:
    """Edits that make a way longer by `more` (m), its leg number `short` where it has legs."""
    values: dict[str, Any] = {f"{path}.length": way.length + more}
    if way.legs and short is not None:
        legs = list(way.legs)
        legs[short] = dataclasses.replace(legs[short], length=legs[short].length + more)
        values[f"{path}.legs"] = tuple(legs)  # after the length, which alone would drop them
    return values


def piece_short(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Set two joints farther apart: 45s by their spacing, else the vessel higher or the end lower."""
    plan, s = run.plan, run.plan.units
    line = _run_of(plan, finding.subject)
    siphon = next((x for x in plan.siphons if finding.subject.startswith(f"{x.name}: ")), None)
    way: Run | Tail
    if line:
        siphon, way, path, route = None, line, f"run.{line.start}", run_route(plan, line)
    elif siphon:
        way, path, route = siphon.tail, f"siphon.{siphon.name}.tail", siphon_routes(plan, siphon)[-1]
    else:
        return
    k, piece = max(
        ((k, p) for k, p in enumerate(route.pieces) if not p.fits), key=lambda kp: kp[1].need - kp[1].centre
    )
    more, text = to_mark(piece.need - piece.centre, "length", s, up=True)
    of = whose(plan, siphon) if siphon else ""
    if piece.heading == LINK:
        need, spaced = to_mark(piece.need, "length", s, up=True)
        fittings = tuple(
            dataclasses.replace(f, spacing=need, k=fitting_k(f.name, need, way.pipe.bore))
            if f.name == "two 45s"
            else f
            for f in way.fittings
        )
        yield Change(f"Set the two 45s{of} {spaced} apart.", {f"{path}.fittings": fittings})
    elif piece.heading == UPRIGHT:
        longer = _way(path, way, more, k)
        if siphon:
            words = f"Lead the tail{of} {text} lower, with as much more pipe."
            yield Change(
                words, kept(run.plan, siphon) | {f"{path}.outlet": siphon.tail.outlet - more} | longer
            )
            return
        if plan.tee(line.to) is None:
            words = f"Let the line into {line.to} {text} lower."
            yield Change(words, {f"{path}.outfall": line.outfall - more} | longer)
        if plan.tee(line.start) is None:
            floor = plan.vessel(line.start).floor
            words = f"Stand {line.start} {text} higher, with as much more pipe."
            yield Change(words, {f"bed.{line.start}.floor": floor + more} | longer)


def line_falls(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Lower tees and outfalls until every line falls; lay a crest level."""
    line = _run_of(run.plan, finding.subject)
    if finding.key == "line_crest":
        yield Change("Lay the line so that it falls all the way.", {f"run.{line.start}.legs": ()})
        return
    change = all_fall(run.plan)
    if change is not None:
        yield change


def line_reaches(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Move a bed along its line, nearer or farther."""
    plan, line = run.plan, _run_of(run.plan, finding.subject)
    if line is None:
        return
    placed = space(plan).vessels
    bed, into = placed[line.start], placed[line.to]
    way = math.atan2(into.y - bed.y, into.x - bed.x)
    text = brief(finding.value, "length", plan.units)
    for side, where in ((1.0, "nearer to"), (-1.0, "farther from")):
        x, y = (at + side * finding.value * part for at, part in
                ((bed.x, math.cos(way)), (bed.y, math.sin(way))))  # fmt: skip
        at = f"bed.{line.start}"
        yield Change(f"Stand {line.start} {text} {where} {line.to}.", {f"{at}.x": x, f"{at}.y": y})


def _to_middle(name: str) -> Change:
    at = f"bed.{name}"
    words = f"Drill the outlet of {name} in the middle of its floor."
    return Change(words, {f"{at}.outlet_along": None, f"{at}.outlet_across": None})


def hole_edge(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Raise a hole in a wall; drill one in a floor in the middle."""
    plan = run.plan
    vessel, what = _of(plan, finding.subject)
    up, text = to_mark(LEAST_EDGE - finding.value, "length", plan.units, up=True)
    if what.startswith("outlet"):
        bed = plan.bed(vessel)
        if bed.outlet == "floor":
            yield _to_middle(vessel)
        else:
            values = {f"bed.{vessel}.outlet_height": bed.outlet_height + up}
            yield Change(f"Drill the outlet of {vessel} {text} higher.", values)
    elif what.startswith("inlet from "):
        start = what.removeprefix("inlet from ")
        values = {f"run.{start}.outfall": plan.run_from(start).outfall + up}
        yield Change(f"Let the line from {start} into {vessel} {text} higher.", values)
        yield _beds_higher(plan, plan.run_from(start).outfall + up - plan.vessel(vessel).floor)


def _beds_higher(plan: Plan, enters: float) -> Change:
    """Raise lines that enter a bed to `enters` (m) above its floor, and the beds that they come from."""
    floors = {bed.name: bed.floor for bed in plan.beds}
    values: dict[str, Any] = {}
    said = []
    for name in reversed([name for name, _ in order(plan)]):  # every node comes after the one it drains to
        line = plan.run_from(name)
        if name not in floors or line is None or line.to not in floors:
            continue
        bed, inlet = plan.bed(name), floors[line.to] + enters
        out = 0.0 if bed.outlet == "floor" else bed.outlet_height + 0.5 * line.pipe.bore
        floor, text = to_mark(inlet + 0.5 * line.pipe.bore + FALL - out, "length", plan.units, up=True)
        values[f"run.{name}.outfall"] = inlet
        if floor > bed.floor:
            floors[name] = values[f"bed.{name}.floor"] = floor
            said.append(f"the floor of {name} to {text}")
    _, text = to_mark(enters, "length", plan.units, up=True)
    raised = f", and raise {listed(said)}" if said else ""
    return Change(f"Let lines into beds at {text} above their floor{raised}.", values)


def hole_rib(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Drill between two ribs, as near to the middle as may be."""
    plan, (name, _) = run.plan, _of(run.plan, finding.subject)
    bed = plan.bed(name)
    middle = bed.shape.middle()[0]
    edges = sorted((0.0, *bed.ribs, 2.0 * middle))
    for at in sorted((0.5 * (a + b) for a, b in pairwise(edges)),
                     key=lambda x: abs(x - middle)):  # fmt: skip
        words = (
            f"Drill the outlet of {name} {brief(at, 'length', plan.units)} from its end, between the ribs."
        )
        yield Change(words, {f"bed.{name}.outlet_along": at})


def seal_curve(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Use the seal that follows a curve."""
    plan, (name, _) = run.plan, _of(run.plan, finding.subject)
    kind = "bed" if any(bed.name == name for bed in plan.beds) else "chamber"
    if name != plan.sump.name:
        yield Change(f"Use rubber pipe seals in {name}.", {f"{kind}.{name}.seal": "rubber pipe seal"})


def strainer_wall(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Use a narrower strainer, or drill in the middle."""
    yield from over_outlet(run, finding)
    yield _to_middle(finding.subject)


def over_outlet(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Make strainers the way that leaves least, all that are made alike."""
    plan, strainer = run.plan, run.plan.bed(finding.subject).strainer
    if strainer is not None and strainer.fixing != "over the outlet":
        alike = [b.name for b in plan.beds if b.strainer is not None and b.strainer.fixing == strainer.fixing]
        words = f"Make the strainer{'s' if alike[1:] else ''} of {listed(alike)} over the outlet."
        yield Change(words, {f"bed.{name}.strainer.fixing": "over the outlet" for name in alike})


def strainer_tall(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Cut no more openings than are asked for."""
    bed = run.plan.bed(finding.subject)
    cut = strainer_cut(run.plan, bed)
    if cut.wanted < cut.count:
        words = f"Cut {cut.wanted} {cut.kind}, not {cut.count}, in the strainer of {bed.name}."
        yield Change(words, {f"bed.{bed.name}.strainer.count": cut.wanted})


def grains(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Cut narrower openings, as many more as keep the area, in every strainer alike."""
    plan, strainer = run.plan, run.plan.bed(finding.subject).strainer
    width, text = to_mark(finding.limit, "length", plan.units, up=False)
    power = 1.0 if strainer.kind == "slots" else 2.0
    count = math.ceil(strainer.count * (strainer.width / width) ** power - 1e-9)
    alike = [bed.name for bed in plan.beds if bed.strainer == strainer]
    s = "s" if alike[1:] else ""
    words = f"Cut {count} {strainer.kind} of {text} in the strainer{s} of {listed(alike)}."
    values = {f"bed.{name}.strainer.width": width for name in alike}
    yield Change(words, values | {f"bed.{name}.strainer.count": count for name in alike})


def tail_wall(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Drill the sump for the tail."""
    siphon = next(x for x in run.plan.siphons if finding.subject == f"{x.name}: tail")
    words = f"Drill the sump's wall and lead the tail of {the(siphon.name)} through it."
    yield Change(words, {f"siphon.{siphon.name}.tail.enters": "through the wall"})


def bell_room(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Use a wider chamber."""
    plan = run.plan
    siphon = plan.siphon(finding.subject)
    chamber = next((c for c in plan.chambers if c.name == siphon.host), None)
    if chamber is None:
        if siphon.media_guard:
            wide, text = to_mark(siphon.media_guard + 2.0 * -finding.margin, "length", plan.units, up=True)
            values = {f"siphon.{siphon.name}.media_guard": wide}
            yield Change(f"Use a media guard{whose(plan, siphon)} {text} wide inside.", values)
        return
    wide, text = to_mark(chamber.shape.narrowest() - 2.0 * finding.margin, "vessel", plan.units, up=True)
    for side in ("diameter", "width"):
        if hasattr(chamber.shape, side):
            yield Change(
                f"Use a chamber{whose(plan, siphon)} {text} wide.", {f"chamber.{chamber.name}.{side}": wide}
            )
            return


def apart(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Move one of two vessels that the plan has in one place."""
    plan, placed = run.plan, space(run.plan).vessels
    firsts = [v for v in placed.values() if finding.subject.startswith(f"{v.name} and ")]
    pairs = ((v, placed.get(finding.subject.removeprefix(f"{v.name} and "))) for v in firsts)
    one, other = next((pair for pair in pairs if pair[1]), (None, None))
    if one is None or other is None:
        return
    step, text = to_mark(finding.value, "length", plan.units, up=True)
    for axis in ("x", "y"):
        side = 1.0 if getattr(other, axis) >= getattr(one, axis) else -1.0
        words = f"Stand {other.name} {text} farther from {one.name}, along {axis}."
        yield Change(words, {f"{other.key}.{axis}": getattr(other, axis) + side * step})


def _more_bends(line: Run, count: int) -> Change:
    name = "bend 90, short"
    bend = Fitting(name, count, fitting_k(name, 0.0, line.pipe.bore))
    at = 1 if line.fittings and line.fittings[0].name.startswith("entrance") else 0
    much = "a short bend" if count == 1 else f"{count} short bends"
    return Change(
        f"Put {much} of 90 degrees into the pipe from {line.start}.",
        {f"run.{line.start}.fittings": (*line.fittings[:at], bend, *line.fittings[at:])},
    )


def less_steep(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Let a line end higher, where it ends in a vessel; or lead it down between bends."""
    plan, line = run.plan, _run_of(run.plan, finding.subject)
    if line is None:
        return
    if plan.tee(line.to) is None:
        height, text = to_mark(line.outfall + 1.1 * -finding.margin, "length", plan.units, up=True)
        yield Change(
            f"Let the pipe from {line.start} enter at {text}.", {f"run.{line.start}.outfall": height}
        )
    for count in (1, 2):
        yield _more_bends(line, count)


def straight_length(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Put in the bend that its length needs; or take the length that the levels give."""
    line = _run_of(run.plan, finding.subject)
    if line is not None:
        if finding.value > finding.limit:
            yield _more_bends(line, 1)
        text = brief(finding.limit, "length", run.plan.units, 3)
        words = f"Measure the pipe from {line.start}: by its levels it is {text} long."
        yield Change(words, {f"run.{line.start}.length": finding.limit})


def siphon_back(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """End the delivery above the water, or fit a check valve."""
    plan, delivery = run.plan, run.plan.pump.delivery
    level, text = to_mark(finding.limit + AIR_GAP, "length", plan.units, up=True)
    values = {"pump.delivery.outlet": level, "pump.delivery.length": delivery.length + level - finding.value}
    yield Change(f"End the delivery at {text}, above the water.", values)
    yield Change("Fit a check valve in the delivery.", {"pump.delivery.check_valve": "fitted"})


def bell_gap(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Use a wider bell."""
    siphon = next(x for x in run.plan.siphons if x.name == finding.subject)
    bell = siphon.bell
    for size in catalogue.sizes(bell.series) if bell.series in catalogue.series() else ():
        if size.bore > bell.bore:
            values = kept(run.plan, siphon) | {f"siphon.{siphon.name}.bell.size": size.size}
            yield Change(f"Use a {size.size} bell{whose(run.plan, siphon)} (now {bell.size}).", values)


def breather(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Use a longer tube, lead its mouth down to the bell's rim, or use a wider tube."""
    plan = run.plan
    siphon = plan.siphon(finding.subject)
    at, of = f"siphon.{siphon.name}.breather", whose(plan, siphon)
    tube, top = siphon.breather, siphon.bell.top_height
    if finding.kind == "length":
        length, long = to_mark(top + OVER_RIM, "length", plan.units, up=True)
        if tube.mouth < siphon.standpipe.height and tube.length < top - tube.mouth:
            yield Change(f"Use a breather{of} {long} long.", kept(plan, siphon) | {f"{at}.length": length})
            return
        mouth, text = to_mark(siphon.bell.rim_height + OVER_RIM, "length", plan.units, up=True)
        values, words = (
            kept(plan, siphon) | {f"{at}.mouth": mouth},
            f"Lead the breather's mouth{of} to {text} above the floor",
        )
        if tube.length < top - mouth:
            values, words = values | {f"{at}.length": length}, f"{words}, with a tube {long} long"
        yield Change(f"{words}.", values)
        return
    for factor in WIDER:
        bore, text = to_mark(factor * siphon.breather.bore, "length", plan.units, up=True)
        yield Change(f"Use a breather{of} of {text} bore.", kept(run.plan, siphon) | {f"{at}.bore": bore})


def overflow(run: SystemCycle, finding: Finding) -> Iterator[Change]:
    """Raise the mouth of a safety overflow above the level at which the siphon starts."""
    plan = run.plan
    siphon = plan.siphon(finding.subject)
    floor = plan.vessel(siphon.host).floor
    if finding.state != "watch":
        height, text = to_mark(finding.limit + OVER_START - floor, "length", plan.units, up=True)
        values = {f"siphon.{siphon.name}.overflow.height": height}
        yield Change(f"Raise the overflow's mouth{whose(plan, siphon)} to {text} above the floor.", values)


#: Key of a finding -> what yields the changes that may mend it.
BUILDING = {
    "piece_short": piece_short, "line_climbs": line_falls, "line_crest": line_falls,
    "line_misses": line_reaches, "hole_rib": hole_rib, "seal_curve": seal_curve,
    "strainer_wall": strainer_wall, "strainer_tall": strainer_tall, "strainer_grains": grains,
    "tail_wall": tail_wall, "bell_room": bell_room, "overlap": apart, "sill": over_outlet,
    "straight_length": straight_length, "line_steep": less_steep, "siphon_back": siphon_back,
    "breather": breather, "overflow": overflow, "bell_gap": bell_gap,
}  # fmt: skip
