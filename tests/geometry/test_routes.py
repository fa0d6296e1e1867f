"""The ways of pipes whose legs are derived, by hand: what is upright, what level, and where they end."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.geometry.contacts import contacts
from aquacalc.geometry.outlines import overlap
from aquacalc.geometry.placed import Line, Space, Standing
from aquacalc.geometry.routes import run_route, siphon_routes, tail_crossing
from aquacalc.geometry.space import SIDES, course, space
from aquacalc.plan import read_plan
from aquacalc.plan.edit import put
from aquacalc.plan.read import plan_from_text
from aquacalc.plan.shapes import make

pytestmark = pytest.mark.identity
SINGLE = (Path(__file__).parents[1] / "plans" / "single.toml").read_text(encoding="utf-8")
#: Schedule 40 of 1-1/2 in: outside and bore, mm. A 45 is 0.2071 outside and 1 to its end, its socket 27.8.
OUTSIDE, BORE = 48.26, 40.894
HALF = 0.2071 * OUTSIDE + 1.0 + 27.8
BENDS = '"2 x bend 90, swept"'


def plan(*changes):
    text = SINGLE
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return plan_from_text(text)


@pytest.mark.parametrize(
    ("fitting", "spacing"),
    [('{ fitting = "two 45s", spacing = "90 mm" }', 90.0), ('"2 x bend 45"', 2 * HALF)],
)
def test_two_45s_go_on_level_from_an_upright_pipe(fitting, spacing):
    """Down from the bed's floor at 0.70 m to the middle of the end at 0.55 m and half a bore."""
    one = plan((BENDS, fitting))
    route = run_route(one, one.runs[0])
    down, link, level = route.pieces
    fall = 150.0 - BORE / 2
    assert route.drop * 1e3 == pytest.approx(fall, abs=0.01)
    assert link.centre * 1e3 == pytest.approx(spacing, abs=0.02)
    assert link.drop * 1e3 == pytest.approx(spacing / math.sqrt(2), abs=0.02)
    assert down.drop * 1e3 == pytest.approx(fall - spacing / math.sqrt(2), abs=0.02)
    assert down.centre == down.drop
    assert level.drop == 0.0
    assert level.centre * 1e3 == pytest.approx(800 - down.drop * 1e3 - spacing, abs=0.02)


def test_two_45s_between_level_pieces_are_rolled_to_take_a_drop():
    """A tee at 0.66 m, an end at 0.56 m: 100 mm of fall in a link of 200, so that it falls at 30 degrees.

    Each 45 then turns the level way by acos(cos 45 / cos 30) = 35.26 degrees: two make 70.53.
    """
    edit = (
        'fittings = ["bend 90, short", "exit"]',
        'fittings = [{ fitting = "two 45s", spacing = "200 mm" }, "exit"]',
    )
    text = (Path(__file__).parents[1] / "plans" / "side-outlets.toml").read_text(encoding="utf-8")
    assert text.count(edit[0]) == 2  # of the run and of the tail
    one = plan_from_text(text.replace(*edit, 1))
    route = run_route(one, next(run for run in one.runs if run.to == "chamber"))
    first, link, last = route.pieces
    assert first.drop == pytest.approx(0.0, abs=1e-12)
    assert last.drop == pytest.approx(0.0, abs=1e-12)
    assert link.drop == pytest.approx(0.100)
    assert link.centre == pytest.approx(0.200)
    assert any("falls 100 mm" in note for note in route.notes)
    *_, turned = course(route)
    assert turned == pytest.approx(70.529, abs=0.001)


@pytest.mark.parametrize(("bends", "level"), [("bend 90, short", True), ("2 x bend 90, short", False)])
def test_a_tail_of_one_bend_ends_level_and_one_of_two_hangs(bends, level):
    """From the cone's foot, 0.40 m over the chamber's floor at 0.50 m, to the outlet at 0.32 m.

    A level end has its invert at the outlet and its middle half a bore (13.32 mm) higher.
    """
    one = plan(('fittings = ["bend 90, short", "exit"]', f'fittings = ["{bends}", "exit"]'))
    route = siphon_routes(one, one.siphons[0])[-1]
    assert route.drop * 1e3 == pytest.approx(580.0 - (13.3225 if level else 0.0), abs=0.01)
    assert sum(piece.drop for piece in route.pieces) == pytest.approx(route.drop)
    assert route.length == pytest.approx(0.9)
    assert (route.pieces[-1].drop == 0.0) == level


def test_a_tank_fitting_stops_a_pipe_from_below_and_from_above():
    """The table: its socket is 10 mm shallower than a fitting's, 27.8 mm for 1-1/2 in and 22.2 for 1 in."""
    one = plan(('empty_mass = "12 kg"', 'seal = "tank fitting"\nempty_mass = "12 kg"'))
    below = run_route(one, one.runs[0]).pieces[0].first
    above = siphon_routes(one, one.siphons[0])[0].pieces[-1].last
    assert below.take_off * 1e3 == pytest.approx(27.8 - 10.0)
    assert above.take_off * 1e3 == pytest.approx(-(22.2 - 10.0))


def test_a_derived_delivery_ends_over_its_bed():
    """Turning to and fro it would pass the bed by 0.11 m; turning twice to one side it ends over it."""
    plan = read_plan(Path(__file__).parents[1] / "plans" / "pump-curve.toml")
    placed = space(plan)
    line = placed.line("pump.delivery")
    assert placed.vessels["bed"].beyond(line.points[-1]) == 0.0
    assert sum(map(math.dist, line.points, line.points[1:])) == pytest.approx(3.2)


def test_two_vessels_meet_where_a_wall_bulges():
    """Beds of 0.50 m2 at floor and rim and 0.60 m2 between, walls of 5 mm, 20 mm too near at the bulge."""
    bed = read_plan(Path(__file__).parents[1] / "plans" / "half-drums.toml").beds[1]
    bed = replace(bed, shape=make("table", depth=0.3, depths=(0.0, 0.1, 0.3), areas=(0.5, 0.6, 0.5)))
    wide = 2.0 * max(x for x, _ in bed.shape.outline(0.1)) + 2.0 * 0.005
    first, second = (
        Standing(n, n, bed, x, 0.0, 0.0, False, 0.005) for n, x in (("a", 0.0), ("b", wide - 0.02))
    )
    assert overlap(first, second) == pytest.approx(0.020, abs=1e-4)
    assert overlap(first, replace(second, x=wide + 1e-6)) == 0.0


@pytest.mark.parametrize(("x", "meets"), [(0.0, True), (0.4, True), (0.5, False), (-3.0, False)])
def test_a_pipe_under_a_half_drum_meets_it_and_one_beyond_its_end_does_not(x, meets):
    """The drum is 0.89 m long with its walls, the pipe 48 mm wide, across it just under its lowest line."""
    plan = read_plan(Path(__file__).parents[1] / "plans" / "half-drums.toml")
    drum, pipe = plan.beds[1], plan.runs[0].pipe
    low = drum.floor - 0.5 * pipe.outside_diameter
    line = Line("pipe", "run.pipe", pipe, ((x, -1.0, low), (x, 1.0, low)), "", "", True)
    placed = Space({"drum": Standing("drum", "bed.drum", drum, 0.0, 0.0, 0.0, True, 0.005)}, (line,))
    assert [(c.first, c.second) for c in contacts(placed)] == [("pipe", "drum")] * meets


def test_a_hole_in_a_wall_is_given_only_with_its_way():
    """A vessel's own place says nothing of where around it a pipe comes in."""
    plan = read_plan(data_dir() / "plans" / "greenhouse.toml")
    plan = put(plan, {"chamber.chamber.x": 0.0, "chamber.chamber.y": 0.0})
    walls = [hole.given for hole in space(plan).holes if hole.hole.wall != "floor"]
    assert walls == [False] * len(walls) != []
    assert len(set(SIDES)) == len(SIDES)  # each siphon that is derived comes from a side of its own


#: Schedule 40 of 1 in: outside, bore and socket, mm; a short bend goes on for a bore; 20 mm under a floor.
TAIL, TAIL_BORE, SOCKET, UNDER = 33.401, 26.6446, 22.2, 20.0


def crossing(base, rim, **more):
    """A tail's underside at the sump's wall, mm; the sump moved so that its rim is at `rim` mm."""
    found = read_plan(base)
    found = put(found, {"sump.floor": rim * 1e-3 - found.sump.shape.depth} | more)
    at = tail_crossing(found, found.siphons[0])
    return None if at is None else 1e3 * at


DEMO = data_dir() / "plans" / "greenhouse.toml"
ONE_BEND = Path(__file__).parents[1] / "plans" / "single.toml"


def test_a_tail_of_two_bends_goes_over_as_high_as_its_first_bend_allows():
    """Under the chamber's floor come seal, socket and bend; half of the pipe is below its middle."""
    at = 500.0 - UNDER - SOCKET - TAIL_BORE - 0.5 * TAIL
    assert crossing(DEMO, at + 1.0) == pytest.approx(at, abs=0.05)
    assert crossing(DEMO, at - 1.0) is None


def test_a_tail_of_one_bend_goes_over_at_its_end():
    """The outlet is its invert there; below that is the wall."""
    at = 320.0 - 0.5 * (TAIL - TAIL_BORE)
    assert crossing(ONE_BEND, at + 1.0) == pytest.approx(at, abs=0.05)
    assert crossing(ONE_BEND, at - 1.0) is None


def tail_of(legs, fittings, outlet):
    """The demo with a tail whose legs are given."""
    text = DEMO.read_text(encoding="utf-8")
    tail = text[text.index("[siphon.tail]") :].partition("\n\n")[0]
    pipe = [line for line in tail.splitlines() if line.startswith(("[", "series", "size"))]
    given = f"legs = {legs}\nfittings = {fittings}\noutlet = '{outlet} mm'".replace("'", '"')
    return plan_from_text(text.replace(tail, "\n".join([*pipe, given])))


@pytest.mark.parametrize("falls", [60, 0])
def test_a_tail_whose_legs_are_given_goes_over_where_they_are_level(falls):
    """From 500 mm down, along, and down again: the level leg's middle is 100 mm under the floor."""
    more = [f"down {falls} mm"] if falls else []
    found = tail_of(["down 100 mm", "along 300 mm", *more], [f"{1 + len(more)} x bend 90, short", "exit"],
                    400.0 - (falls or 0.5 * TAIL_BORE))  # fmt: skip
    at = 400.0 - 0.5 * TAIL
    for rim, over in ((at + 1.0, False), (at - 1.0, True)):
        moved = put(found, {"sump.floor": rim * 1e-3 - found.sump.shape.depth})
        crosses = tail_crossing(moved, moved.siphons[0])
        assert crosses is None if over else 1e3 * crosses == pytest.approx(at, abs=0.05)


def test_a_tail_that_hangs_straight_down_meets_no_wall():
    hung = tail_of(["down 200 mm"], ["exit"], 300)
    assert tail_crossing(put(hung, {"sump.floor": 0.0}), hung.siphons[0]) is None
