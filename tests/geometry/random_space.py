"""Lengths add up, and no part lies in another unseen; `tests.properties` tries it on plans drawn by number.

Solids are made and cut with manifold3d, a general library for solid bodies, from the vessels and lines of
the geometry; what it finds in the same place has to be in a finding.
"""

from __future__ import annotations

import itertools
import math

import manifold3d as m3

from aquacalc.findings.building import find_building
from aquacalc.geometry.contacts import contacts
from aquacalc.geometry.placed import Line, Space, Standing
from aquacalc.geometry.routes import routes, run_route
from aquacalc.geometry.space import space
from aquacalc.hydraulics.paths import delivery_path, run_path, siphon_path
from aquacalc.plan.model import Plan

#: Bodies that share less than this touch, m3: half a millimetre of a 50 mm pipe.
SHARED = 1e-6
SLICES = 8


def pipe(a, b, radius: float) -> m3.Manifold:
    """A round bar from a to b."""
    x, y, z = (q - p for p, q in zip(a, b, strict=True))
    long = math.sqrt(x * x + y * y + z * z)
    tilt, turn = math.degrees(math.atan2(math.hypot(x, y), z)), math.degrees(math.atan2(y, x))
    return m3.Manifold.cylinder(long, radius, radius, 24).rotate((0.0, tilt, turn)).translate(a)


def vessel(standing: Standing) -> m3.Manifold:
    """A vessel, filled, with its walls, in slices of straight sides."""
    v = standing.vessel
    edges = [v.floor - standing.wall, *(v.floor + v.shape.depth * k / SLICES for k in range(1, SLICES + 1))]
    bodies = []
    for low, high in itertools.pairwise(edges):
        # Of the two outlines the smaller, so that nothing is called shared that is not.
        outlines = [m3.CrossSection([standing.outline(z)]) for z in (low, high)]
        least = min(outlines, key=lambda c: c.area())
        bodies.append(m3.Manifold.extrude(least, high - low).translate((0.0, 0.0, low)))
    return m3.Manifold.batch_boolean(bodies, m3.OpType.Add)


def parts(line: Line, end: str) -> list[tuple]:
    """Straight parts of a line that have no business in `end`."""
    found = list(itertools.pairwise(line.points))
    if end == line.start:
        found = found[1:]
    if end == line.to:
        found = [] if line.over else found[:-1]
    return found


def shared(placed: Space) -> set[frozenset[str]]:
    """Names of every two parts that share more than SHARED, by the library."""
    found = set()
    bodies = {name: vessel(s) for name, s in placed.vessels.items()}
    for (a, first), (b, second) in itertools.combinations(bodies.items(), 2):
        if (first ^ second).volume() > SHARED:
            found.add(frozenset((a, b)))
    for line in placed.lines:
        for name, body in bodies.items():
            for ends in parts(line, name):
                if (pipe(*ends, 0.5 * line.pipe.outside_diameter) ^ body).volume() > SHARED:
                    found.add(frozenset((line.name, name)))
                    break
    return found


def problems(plan: Plan) -> list[str]:
    """What does not add up in a plan, or lies inside something without a finding."""
    found = []
    for route in routes(plan):
        offs = sum(p.cut + p.first.take_off + p.last.take_off for p in route.pieces)
        if abs(offs - sum(p.centre for p in route.pieces)) > 1e-4:
            found.append(f"{route.name}: pieces and take-offs make {offs:.5f} m")
    for run in plan.runs:
        laid = sum(p.centre for p in run_route(plan, run).pieces)
        if abs(laid - run_path(plan, run)[-1].length) > 1e-4:
            found.append(f"{run.start}: laid {laid:.5f} m, computed {run_path(plan, run)[-1].length:.5f} m")
    for siphon in plan.siphons:
        laid = sum(p.centre for r in routes(plan) if r.name.startswith(f"{siphon.name}: ") for p in r.pieces)
        stand, tail = siphon_path(plan, siphon)[2:4]
        cone = siphon.standpipe.height - _pipe_height(siphon)
        if abs(laid + cone - stand.length - tail.length) > 1e-4:
            found.append(
                f"{siphon.name}: laid {laid:.5f} m, computed {stand.length + tail.length - cone:.5f} m"
            )
    if plan.pump.delivery is not None:
        laid = next(sum(p.centre for p in r.pieces) for r in routes(plan) if r.name == "delivery")
        if abs(laid - delivery_path(plan.pump.delivery)[0].length) > 1e-4:
            found.append(f"delivery: laid {laid:.5f} m")
    placed = space(plan)
    said = " ".join(f"{f.subject} {f.cause}" for f in find_building(plan) if f.key == "overlap")
    if "more" in said:  # of many pairs not all are told
        said = " ".join(f"{c.first} and {c.second}" for c in contacts(placed))
    for pair in shared(placed):
        first, second = sorted(pair)
        if f"{first} and {second}" not in said and f"{second} and {first}" not in said:
            found.append(f"{first} and {second} are in the same place, unsaid")
    return found


def _pipe_height(siphon) -> float:
    stand = siphon.standpipe
    reduced = stand.lip_diameter > stand.pipe.bore + 1e-6
    return stand.height - (stand.cone_length if reduced else 0.0)
