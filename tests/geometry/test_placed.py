"""Where vessels, pipes and holes are, by hand for each shape and for every plan by how its parts meet."""

from __future__ import annotations

import itertools
import math
import random
from dataclasses import replace
from pathlib import Path

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.geometry.contacts import contacts, distance
from aquacalc.geometry.holes import openings
from aquacalc.geometry.outlines import overlap
from aquacalc.geometry.placed import Line, Space, Standing
from aquacalc.geometry.routes import run_route
from aquacalc.geometry.space import APPROACHES, space
from aquacalc.geometry.uprights import Upright
from aquacalc.plan import edit, plan_from_text, read_plan
from aquacalc.plan.model import Pipe
from aquacalc.plan.shapes import make

pytestmark = pytest.mark.identity
DEMO = read_plan(data_dir() / "plans" / "greenhouse.toml")
PLANS = {p.stem: p for folder in (data_dir() / "plans", Path(__file__).parents[1] / "plans")
         for p in sorted(folder.glob("*.toml"))}  # fmt: skip
WALL = 0.005
PIPE = Pipe("own", "20 mm", 0.016, 0.020, 0.0)
TROUGH = {"kind": "tapered", "depth": 0.4, "length": 2.0, "width": 1.0, "top_length": 2.4, "top_width": 1.2}


def stood(kind, x=0.0, y=0.0, turn=0.0, floor=0.5, name="a", **sizes):
    bed = replace(DEMO.beds[0], floor=floor, shape=make(kind, **sizes))
    return Standing(name, f"bed.{name}", bed, x, y, turn, True, WALL)


def line(*points, start="", to="", over=False, name="line", given=True):
    return Line(name, f"run.{name}", PIPE, tuple(points), start, to, given, over)


@pytest.mark.parametrize("turn", [0.0, 90.0, 180.0, -90.0, 30.0])
def test_a_trough_turned_about_its_middle(turn):
    """At 0.2 m its inside is 2.2 x 1.1 m; half of that and the wall go into its own directions."""
    a = stood(**TROUGH, x=3.0, y=1.0, turn=turn)
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))

    def at(along, across):
        return pytest.approx((3.0 + c * along - s * across, 1.0 + s * along + c * across))

    found = a.outline(0.7)
    for corner, (i, j) in zip(found, ((-1, -1), (1, -1), (1, 1), (-1, 1)), strict=True):
        assert corner == at(1.105 * i, 0.555 * j)
    assert sum(a.outline(0.3), ()) == pytest.approx(sum(a.outline(0.5 + 1e-6), ()))
    assert a.outline(2.0) == a.outline(0.9)
    assert a.on_floor(0.3, 0.2) == at(-0.7, -0.3)
    assert a.radius == pytest.approx(0.5 * math.hypot(2.41, 1.21))
    (x0, y0, z0), (x1, y1, z1) = a.box()
    assert (z0, z1) == pytest.approx((0.5 - WALL, 0.9))
    for z in (0.5, 0.9):
        for x, y in a.outline(z):
            assert x0 <= x + 1e-12 <= x1 + 2e-12
            assert y0 <= y + 1e-12 <= y1 + 2e-12
    for heading, z, far in ((0.0, 0.7, 1.1), (90.0, 0.7, 0.55), (0.0, 0.9, 1.2), (-90.0, 0.5, 0.5),
                            (180.0, 5.0, 1.2), (90.0, 0.0, 0.5), (45.0, 0.7, 0.55 * math.sqrt(2.0)),
                            (math.degrees(math.atan2(0.3, 1.1)), 0.7, math.hypot(1.1, 0.3))):  # fmt: skip
        assert a.reach(turn + heading, z) == pytest.approx(far)
    for along, across, left in ((1.1, 0.35, 0.2), (-1.1, 0.0, 0.55), (0.8, 0.55, 0.3), (0.0, -0.55, 1.1)):
        assert a.corner((*at(along, across).expected, 0.7)) == pytest.approx(left)
    for along, across, out in ((1.7, 0.0, 0.5), (0.0, -0.8, 0.2), (1.0, 0.3, 0.0), (0.0, 0.0, 0.0)):
        assert a.beyond(at(along, across).expected) == pytest.approx(out, abs=1e-12)


def test_round_and_oval_ones():
    tub = stood("round", depth=0.4, diameter=0.8)
    assert tub.reach(33.0, 0.6) == pytest.approx(0.4)
    assert tub.corner((0.4, 0.0, 0.6)) == math.inf
    assert tub.beyond((0.6, 0.8)) == pytest.approx(0.6)
    oval = stood("oval", depth=0.4, length=1.2, width=0.6, top_length=1.2, top_width=0.6, turn=90.0)
    assert oval.reach(90.0, 0.6) == pytest.approx(0.6)
    assert oval.reach(0.0, 0.6) == pytest.approx(0.3)
    # On the oval x/0.3 = cos t, y/0.6 = sin t.
    x, y = 0.3 * math.cos(0.7), 0.6 * math.sin(0.7)
    assert oval.reach(math.degrees(math.atan2(y, x)), 0.6) == pytest.approx(math.hypot(x, y))
    drum = stood("half drum", depth=0.29, length=0.88, diameter=0.58)
    assert drum.reach(90.0, 0.5) == pytest.approx(0.5e-6)  # its lowest line has no width
    assert drum.reach(0.0, 0.5) == pytest.approx(0.44)


@pytest.mark.parametrize(("ends", "depth"), [
    # A pipe of 20 mm beside, over and under a trough of 2.4 x 1.2 m at its rim of 0.9 m, floor 0.5, wall 5.
    (((-3, 0.0, 0.905), (3, 0.0, 0.905)), 0.005), (((-3, 0.0, 0.911), (3, 0.0, 0.911)), 0.0),
    (((-3, 0.0, 0.492), (3, 0.0, 0.492)), 0.007), (((-3, 0.0, 0.484), (3, 0.0, 0.484)), 0.0),
    (((-3, 0.0, 0.7), (3, 0.0, 0.7)), 0.020), (((-3, 0.7, 0.7), (3, 0.7, 0.7)), 0.0),
    (((1.5, 0.0, 0.7), (1.5, 0.0, 0.95)), 0.0), (((0.0, 0.0, 0.0), (0.0, 0.0, 2.0)), 0.020),
    (((2.0, 0.0, 0.2), (0.0, 0.0, 0.492)), 0.007), (((-2.0, 0.3, 1.2), (0.0, 0.3, 0.905)), 0.005),
    (((1.208, 0.0, 0.89), (1.208, 3.0, 0.89)), 0.020), (((1.217, 0.0, 0.89), (1.217, 3.0, 0.89)), 0.0),
])  # fmt: skip
@pytest.mark.parametrize("turn", [0.0, 90.0])
def test_how_far_a_pipe_reaches_into_a_trough(ends, depth, turn):
    a = stood(**TROUGH, turn=turn)
    if turn:
        ends = tuple((-y, x, z) for x, y, z in ends)
    assert line(*ends).reach(a) == pytest.approx(depth, abs=1e-6)
    assert line(*ends[::-1]).reach(a) == pytest.approx(depth, abs=1e-6)


def test_a_pipe_belongs_to_what_it_leaves_and_enters():
    """Of its own vessel the first part counts not, the last not, and nothing of one that comes in above."""
    a = stood(**TROUGH)
    way = ((0.0, 0.0, 0.5), (0.0, 0.0, 0.2), (3.0, 0.0, 0.2), (3.0, 0.0, 0.7), (-3.0, 0.0, 0.7))
    assert line(*way, start="a").reach(a) == pytest.approx(0.02)
    assert line(*way[:4], start="a").reach(a) == 0.0
    assert line(*way[:4]).reach(a) > 0.0
    assert line(*way, to="a").reach(a) > 0.0  # its first part is in it
    assert line(*way[1:], to="a").reach(a) == 0.0
    assert line(*way[1:]).reach(a) == pytest.approx(0.02)
    assert line(*way, to="a", over=True).reach(a) == 0.0


def test_a_lines_box_holds_it():
    low, high = line((0.1, 0.4, -0.3), (-0.2, 0.7, 0.5), (0.3, 0.0, 0.1)).box()
    for k, (least, most) in enumerate(((-0.2, 0.3), (0.0, 0.7), (-0.3, 0.5))):
        assert least - 2 * 0.020 <= low[k] <= least - 0.010
        assert most + 0.010 <= high[k] <= most + 2 * 0.020


@pytest.mark.parametrize("seed", range(6))
def test_what_one_sweep_finds_is_what_every_pair_shows(seed):
    """Pipes, boxes and tubs at random places: each pair measured by itself, and no other."""
    draw = random.Random(seed)

    def anywhere(high=1.0):
        return draw.uniform(-1.0, 1.0), draw.uniform(-1.0, 1.0), draw.uniform(0.0, high)

    lines = tuple(
        line(anywhere(), anywhere(), anywhere(), name=f"line {n}", given=n % 2 == 0) for n in range(8)
    )
    kinds = ({"kind": "rectangular", "depth": 0.2, "length": 0.5, "width": 0.3},
             {"kind": "round", "depth": 0.3, "diameter": 0.4})  # fmt: skip
    vessels = {}
    for n in range(8):
        x, y, floor = anywhere(0.8)
        vessels[f"v{n}"] = stood(
            **kinds[n % 2], x=x, y=y, floor=floor, turn=draw.uniform(0, 90), name=f"v{n}"
        )
    wanted = {}
    for a, b in itertools.combinations(lines, 2):
        near = min(
            distance(*p, *q) for p in itertools.pairwise(a.points) for q in itertools.pairwise(b.points)
        )
        wanted[a.name, b.name] = 0.020 - near, a.given and b.given
    for a, v in itertools.product(lines, vessels.values()):
        wanted[a.name, v.name] = a.reach(v), a.given
    for v, w in itertools.combinations(vessels.values(), 2):
        wanted[v.name, w.name] = overlap(v, w), True
    found = contacts(Space(vessels, lines))
    assert {(c.first, c.second): (c.depth, c.given) for c in found} == {
        pair: (pytest.approx(depth), given) for pair, (depth, given) in wanted.items() if depth > 1e-4
    }
    kinds = ["line" in c.first + c.second.replace("v", "") for c in found]
    assert kinds == sorted(kinds), "vessels come first"


def test_two_vessels_meet_by_height_as_well():
    """Tubs of 0.4 m, walls of 5 mm, 0.39 m apart share 20 mm where one's floor is under the other's rim."""
    one = stood("round", depth=0.3, diameter=0.4, name="a")
    for floor, x, meets in ((0.5, 0.39, True), (0.8, 0.39, True), (0.81, 0.39, False), (0.2, 0.39, True),
                            (0.19, 0.39, False), (0.5, 0.42, False), (0.5, -0.39, True)):  # fmt: skip
        other = stood("round", depth=0.3, diameter=0.4, x=x, floor=floor, name="b")
        assert overlap(one, other) == (pytest.approx(0.020, abs=1e-3) if meets else 0.0), (floor, x)
        assert overlap(other, one) == overlap(one, other)


def test_parts_that_meet_in_a_joint_may_touch_there_and_nowhere_else():
    a = line((0, 0, 0), (1, 0, 0), start="bed", to="tee")
    b = line((2, 0, 0), (1, 0, 0), start="other", to="tee", name="b")
    assert contacts(Space({}, (a, b))) == []
    (found,) = contacts(Space({}, (a, replace(b, to="else"))))
    assert found.depth == pytest.approx(0.020)
    back = replace(b, points=((2, 0, 0), (2, 0.015, 0), (0.5, 0.015, 0), (0.5, 0.5, 0), (1, 0, 0)))
    (found,) = contacts(Space({}, (a, back)))
    assert found.depth == pytest.approx(0.005)  # its second part passes 15 mm beside the other
    leaving = replace(back, start="tee", to="far", points=back.points[::-1])
    (found,) = contacts(Space({}, (a, leaving)))
    assert found.depth == pytest.approx(0.005)


@pytest.mark.parametrize(("x", "low", "high", "room"), [
    (0.30, 0.1, 0.4, 0.15), (0.10, 0.1, 0.4, -0.05), (0.30, 0.5, 0.9, math.inf), (0.10, -1.0, 0.0, math.inf),
    (0.10, 0.49, 0.9, -0.05), (0.10, -1.0, 0.01, -0.05), (-0.3, 0.1, 0.4, 0.15),
])  # fmt: skip
def test_room_between_two_that_stand(x, low, high, room):
    """Tubes of 200 and 100 mm: 150 from middle to middle touch; one over the other is far."""
    one = Upright("bell of s", "bed", 0.0, 0.0, 0.0, 0.5, 0.2, True)
    other = Upright("overflow of s", "bed", x, 0.0, low, high, 0.1, True)
    assert one.apart(other) == pytest.approx(room)
    assert other.apart(one) == pytest.approx(room)
    found = contacts(Space({}, (), (one, other)))
    assert [(c.depth, c.given) for c in found] == ([(pytest.approx(-room), True)] if room < 0.0 else [])
    assert contacts(Space({}, (), (one, replace(other, host="else")))) == []
    assert contacts(Space({}, (), (one, replace(other, name="standpipe of s")))) == []


@pytest.mark.parametrize("name", PLANS)
def test_every_part_begins_and_ends_where_it_should(name):
    """Lines are as long as planned, end on a wall or in a tee, and begin at an outlet, a tee or a host."""
    plan = read_plan(PLANS[name])
    placed = space(plan)
    holes = {h.vessel: h for h in openings(plan) if h.key.startswith("run.") and h.wall == "floor"}
    entered: dict[str, int] = {}
    for run in plan.runs:
        of = placed.line(f"run.{run.start}")
        route = run_route(plan, run)
        long = sum(itertools.starmap(math.dist, itertools.pairwise(of.points)))
        assert long == pytest.approx(sum(p.centre for p in route.pieces), abs=1e-6), run.start
        assert [q[2] - p[2] for p, q in itertools.pairwise(of.points)] == pytest.approx(
            [-p.drop for p in route.pieces], abs=1e-9
        )
        if run.to in placed.vessels:
            into, (x, y, z) = placed.vessels[run.to], of.points[-1]
            off = math.hypot(x - into.x, y - into.y)
            heading = math.degrees(math.atan2(y - into.y, x - into.x))
            miss = placed.misses.get(of.name)
            assert z == pytest.approx(run.outfall + 0.5 * run.pipe.bore, abs=2e-3)
            if miss is None:
                assert off == pytest.approx(into.reach(heading, z), abs=1e-6), run.start
            else:
                assert abs(off - into.reach(heading, z)) <= miss + 1e-6
            before = of.points[-2]
            way = math.degrees(math.atan2(y - before[1], x - before[0]))
            k = entered[run.to] = entered.get(run.to, -1) + 1
            if miss is None and math.dist((x, y), before[:2]) > 1e-6 and plan.siphons[0].host == run.to:
                assert math.cos(math.radians(way - APPROACHES[k % len(APPROACHES)])) == pytest.approx(1.0)
        else:
            onward = placed.line(f"run.{run.to}")
            assert of.points[-1][:2] == pytest.approx(onward.points[0][:2], abs=1e-9)
        bed = next((b for b in plan.beds if b.name == run.start), None)
        if bed is not None:
            standing = placed.vessels[bed.name]
            x, y, _ = of.points[0]
            if bed.outlet == "floor":
                hole = holes[bed.name]
                assert (x, y) == pytest.approx(standing.on_floor(hole.along, hole.across), abs=1e-9)
            else:
                way = math.degrees(math.atan2(y - standing.y, x - standing.x))
                off = math.hypot(x - standing.x, y - standing.y)
                assert off == pytest.approx(standing.reach(way, bed.outlet_invert), abs=1e-6)
    for siphon in plan.siphons:
        host, of = placed.vessels[siphon.host], placed.line(f"siphon.{siphon.name}.tail")
        assert of.points[0][:2] == pytest.approx((host.x, host.y))
        assert of.points[-1][2] >= siphon.tail.outlet - 1e-9
        sump = placed.vessels["sump"] if "sump" in placed.vessels else placed.vessels[plan.sump.name]
        if not (host.given and sump.given):
            assert sump.beyond(of.points[-1]) == 0.0


@pytest.mark.parametrize("name", ["greenhouse", "two-groups", "half-drums"])
def test_a_plan_moved_and_turned_as_a_whole_has_its_parts_where_they_were_to_each_other(name):
    """Where the plan gives all places, adding 3 m and 2 m to each moves what is laid by as much."""
    plan = read_plan(PLANS[name])
    was = space(plan)
    edits = {}
    for key, standing in was.vessels.items():
        kind = standing.key if standing.key == "sump" else f"{standing.key}"
        edits |= {f"{kind}.x": standing.x, f"{kind}.y": standing.y}
        assert key
    here, there = (
        space(edit.put(plan, {k: v + (3.0 if k.endswith(".x") else 2.0) * far for k, v in edits.items()}))
        for far in (0.0, 1.0)
    )
    for a, b in zip(here.lines, there.lines, strict=True):
        for p, q in zip(a.points, b.points, strict=True):
            assert q == pytest.approx((p[0] + 3.0, p[1] + 2.0, p[2]), abs=1e-9), a.name
    for a, b in zip(here.holes, there.holes, strict=True):
        assert b.at == pytest.approx((a.at[0] + 3.0, a.at[1] + 2.0, a.at[2]), abs=1e-9)
    assert here.misses == pytest.approx(there.misses, abs=1e-9)
    apart = {(a.name, b.name): a.apart(b) for a, b in itertools.combinations(here.uprights, 2)}
    assert apart == pytest.approx(
        {(a.name, b.name): a.apart(b) for a, b in itertools.combinations(there.uprights, 2)}
    )


@pytest.mark.parametrize("side", [0.0, 90.0, -90.0, 180.0, 45.0])
def test_the_lines_of_a_further_group_come_from_their_own_side(side, monkeypatch):
    """Whatever side of the sump the second siphon is on, its first line goes the way its tail goes."""
    monkeypatch.setattr("aquacalc.geometry.space.SIDES", (0.0, side))
    placed = space(read_plan(PLANS["two-groups"]))
    (x0, y0, _), (x1, y1, _) = placed.line("run.bed 3").points[-2:]
    assert math.degrees(math.atan2(y1 - y0, x1 - x0)) == pytest.approx(side, abs=1e-6)
    tail = placed.line("siphon.siphon B.tail").points
    sump = placed.vessels["sump"]
    level = [math.degrees(math.atan2(q[1] - p[1], q[0] - p[0]))
             for p, q in itertools.pairwise(tail) if math.dist(p[:2], q[:2]) > 1e-6]  # fmt: skip
    assert level[0] == pytest.approx(side, abs=1e-6)
    assert sump.beyond(tail[-1]) == 0.0


BOX, AT = ((f'name = "{name}"', f'name = "{name}"\nx = "{x} m"\ny = "0 m"')
           for name, x in (("chamber B", 0), ("bed 3", 0.6)))  # fmt: skip
FITTINGS = 'fittings = ["entrance, square", "bend 90, short", "exit"]'
LEGS = (
    f'length = "0.5 m"\n{FITTINGS}\noutfall',
    f'legs = ["down 120 mm", "along 474 mm"]\n{FITTINGS}\noutfall',
)


def test_a_hole_is_given_where_both_ends_and_the_way_are():
    """Bed 3 and chamber B have places and the line its legs: one of the three less, and it is not."""
    text = PLANS["two-groups"].read_text(encoding="utf-8")
    for edits, given in (((), False), ((BOX, AT), False), ((BOX, LEGS), False), ((AT, LEGS), False),
                         ((BOX, AT, LEGS), True)):  # fmt: skip
        made = text
        for old, new in edits:
            assert old in made
            made = made.replace(old, new, 1)
        (hole,) = (h for h in space(plan_from_text(made)).holes
                   if h.hole.key == "run.bed 3" and h.hole.vessel == "chamber B")  # fmt: skip
        assert hole.given == given, edits


def test_a_falling_leg_between_two_places_ends_at_the_chamber():
    """Down 100 mm from the bed's floor, then 20 more on 474 level: so high and so far off it ends."""
    text = PLANS["two-groups"].read_text(encoding="utf-8")
    falls = (LEGS[0], LEGS[1].replace("120 mm", "100 mm").replace("474 mm", "474 mm falling 20 mm"))
    for old, new in (BOX, AT, falls):
        assert old in text
        text = text.replace(old, new, 1)
    plan = plan_from_text(text)
    line = space(plan).line("run.bed 3")
    floor = plan.bed("bed 3").floor
    assert [p[2] for p in line.points] == pytest.approx([floor, floor - 0.1, floor - 0.12], abs=1e-3)
    assert math.hypot(line.points[1][0] - line.points[2][0], line.points[1][1] - line.points[2][1]) == (
        pytest.approx(math.sqrt(0.474**2 - 0.02**2), abs=1e-6)
    )
