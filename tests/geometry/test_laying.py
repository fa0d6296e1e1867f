"""Ways laid between joints of round sizes: what is upright, level, slanting and left over, by hand."""

from __future__ import annotations

import math

import pytest

from aquacalc.catalogue import data_dir
from aquacalc.geometry.joints import Joint, fitting_joint, passage, socket_depth
from aquacalc.geometry.laying import (
    LEVEL,
    LINK,
    SLANT,
    STEEP,
    UPRIGHT,
    Piece,
    Way,
    add_joints,
    along_legs,
    solve,
)
from aquacalc.geometry.routes import run_fittings
from aquacalc.plan import read_plan
from aquacalc.plan.legs import read_leg
from aquacalc.plan.model import Fitting, Pipe

pytestmark = pytest.mark.identity
#: Outside 50 mm; not in any table, so its socket is half of that and 6 mm deep.
PIPE = Pipe("own", "50 mm", 0.044, 0.050, 0.0)
END, BEND, HALF = Joint("end"), Joint("bend", 0.02, 0.03, turn=90.0), Joint("half", 0.01, 0.03, turn=45.0)
ROOT = math.sqrt(0.5)


def way(length, drop, *joints, spacings=None, **more):
    return Way("way", PIPE, length, drop, [END, *joints, END], spacings or {}, **more)


def laid(route):
    return [(p.heading, round(p.centre, 9), round(p.drop, 9)) for p in route.pieces]


@pytest.mark.parametrize("drop", [0.3, -0.3])
@pytest.mark.parametrize(("start", "turn_level", "bends", "headings"), [
    (UPRIGHT, False, 1, [UPRIGHT, LEVEL]), (LEVEL, False, 1, [LEVEL, UPRIGHT]),
    (LEVEL, True, 1, [LEVEL, LEVEL]),
    (UPRIGHT, False, 2, [UPRIGHT, LEVEL, UPRIGHT]), (UPRIGHT, True, 2, [UPRIGHT, LEVEL, LEVEL]),
    (UPRIGHT, True, 3, [UPRIGHT, LEVEL, UPRIGHT, LEVEL]), (LEVEL, False, 2, [LEVEL, UPRIGHT, LEVEL]),
])  # fmt: skip
def test_upright_pieces_take_the_drop_and_level_ones_the_rest(start, turn_level, bends, headings, drop):
    """Of 2 m 0.3 are upright. Bends turn up and down by turns; the last may have to end level."""
    route = solve(way(2.0, drop, *[BEND] * bends), start, turn_level)
    assert [p.heading for p in route.pieces] == headings
    ups = [p for p in route.pieces if p.heading == UPRIGHT]
    flats = [p for p in route.pieces if p.heading == LEVEL]
    assert sum(p.centre for p in route.pieces) == pytest.approx(2.0)
    assert sum(p.drop for p in route.pieces) == pytest.approx(drop)
    if ups:
        assert [p.drop for p in ups] == pytest.approx([math.copysign(p.centre, drop) for p in ups])
        assert sum(p.centre for p in ups) == pytest.approx(0.3)
        assert [p.drop for p in flats] == [0.0] * len(flats)
    spare = {p.heading: round(p.centre - p.need, 9) for p in route.pieces}
    for p in route.pieces:  # each gets what its joints need and an equal part of the rest
        assert p.centre - p.need == pytest.approx(spare[p.heading])
    told = " ".join(route.notes)
    assert (f"sum of the {UPRIGHT}" in told) == (len(ups) > 1)
    assert ("of the level pieces" in told) == (len(flats) > 1)


def test_a_way_with_no_room_to_turn_up_again_stays_level():
    """Three bends would make two upright pieces, which need 50 + 100 mm; 120 of drop do for one only."""
    for drop, headings in ((0.16, [UPRIGHT, LEVEL, UPRIGHT, LEVEL]), (0.14, [UPRIGHT, LEVEL, LEVEL, LEVEL])):
        assert [p.heading for p in solve(way(2.0, drop, BEND, BEND, BEND), UPRIGHT, True).pieces] == headings
    climbs = solve(way(2.0, -0.5, BEND, BEND, BEND, climbs=True), UPRIGHT, False)
    assert [p.heading for p in climbs.pieces] == [UPRIGHT, LEVEL, LEVEL, LEVEL]


@pytest.mark.parametrize(("length", "heading", "notes"), [
    (0.5, UPRIGHT, 0), (0.5004, UPRIGHT, 0), (0.501, UPRIGHT, 1), (0.661, UPRIGHT, 1), (0.663, SLANT, 1),
    (0.3395, UPRIGHT, 1), (0.337, SLANT, 1),
])  # fmt: skip
def test_a_pipe_without_a_bend_hangs_or_slants(length, heading, notes):
    """Half a metre down: 2 (50 + 31) = 162 mm of it may be a slip of the rule, more wants a bend."""
    assert socket_depth(PIPE) == pytest.approx(0.031)
    route = solve(way(length, 0.5), UPRIGHT, False)
    (piece,) = route.pieces
    assert (piece.heading, len(route.notes)) == (heading, notes)
    assert piece.centre == pytest.approx(length)
    assert piece.drop == pytest.approx(0.5)
    if notes:
        assert ("have to slant" in route.notes[0]) == (heading == SLANT)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_pair_of_45s_takes_its_part_of_drop_and_length(sign):
    """400 mm down, 2 m in all, a link of 200: 141 of them down; before an upright piece and after one."""
    for start, order in ((UPRIGHT, [UPRIGHT, LINK, LEVEL]), (LEVEL, [LEVEL, LINK, UPRIGHT])):
        route = solve(way(2.0, sign * 0.4, HALF, HALF, spacings={1: 0.2}), start, False)
        found = {p.heading: (p.centre, p.drop) for p in route.pieces}
        assert [p.heading for p in route.pieces] == order
        up = 0.4 - 0.2 * ROOT
        assert found[LINK] == pytest.approx((0.2, sign * 0.2 * ROOT))
        assert found[UPRIGHT] == pytest.approx((up, sign * up))
        assert found[LEVEL] == pytest.approx((2.0 - 0.2 - up, 0.0), abs=1e-12)


@pytest.mark.parametrize(
    ("drop", "rolled"), [(0.049, False), (0.051, True), (-0.051, True), (0.1, True), (0.2, True)]
)
def test_a_pair_of_45s_between_level_pieces_is_rolled_where_the_way_is_steep(drop, rolled):
    """1 m long with a link of 200: over one in twenty the link takes the fall, 141 mm at most."""
    assert STEEP == 0.05
    route = solve(way(1.0, drop, HALF, HALF, spacings={1: 0.2}), LEVEL, True)
    first, link, last = route.pieces
    assert [p.heading for p in route.pieces] == [LEVEL, LINK, LEVEL]
    fall = math.copysign(min(abs(drop), 0.2 * ROOT), drop) if rolled else 0.2 * drop
    assert link.drop == pytest.approx(fall)
    assert first.drop + link.drop + last.drop == pytest.approx(drop)
    assert first.drop / first.centre == pytest.approx(last.drop / last.centre)
    assert any(note.startswith("Roll the two 45s") for note in route.notes) == rolled
    assert first.centre + last.centre == pytest.approx(0.8)


def test_what_a_piece_needs_and_what_is_cut():
    """Between two bends of 20 mm take-off and 30 socket: 100; cut to the centres less 40."""
    made = Piece(LEVEL, 0.0999, 0.0, BEND, BEND)
    assert (made.need, made.cut, made.fits) == (pytest.approx(0.1), pytest.approx(0.0599), True)
    for centre, fits in ((0.0996, True), (0.0994, False)):  # half a millimetre is let off
        assert Piece(LEVEL, centre, 0.0, BEND, BEND).fits == fits
    deep = Joint("deep", 0.06, -0.03)
    for centre, fits in ((0.121, True), (0.1196, False)):  # nothing would be left of it
        assert Piece(LEVEL, centre, 0.0, deep, deep).fits == fits
    assert [p.fits for p in solve(way(0.65, 0.5, BEND, BEND), UPRIGHT, False).pieces] == [True] * 3
    based = solve(way(1.0, 0.5, BEND, base=0.25), UPRIGHT, False).pieces
    assert (based[0].need, based[1].need) == pytest.approx((0.25 + 0.05, 0.05))
    walled = Joint("seal", -0.01, 0.0, room=0.02)
    assert (walled.least, BEND.least) == pytest.approx((0.02, 0.05))


def test_fittings_become_joints():
    """Two 45s stand by themselves or in pairs; a third is one corner more; ends are no joints."""
    made = way(2.0, 0.5)
    made.joints = [END]
    names = (
        ("entrance, square", 1, 0.0),
        ("bend 90, short", 2, 0.0),
        ("bend 45", 3, 0.0),
        ("two 45s", 2, 0.15),
    )
    fittings = (
        *(Fitting(name, count, 0.3, spacing) for name, count, spacing in names),
        Fitting("exit", 1, 1.0),
    )
    add_joints(fittings, PIPE, made)
    assert [j.name for j in made.joints[1:]] == ["bend 90, short"] * 2 + ["bend 45"] * 7
    half = fitting_joint("bend 45", PIPE)
    near = 2.0 * (half.take_off + half.socket)
    assert made.spacings == {3: pytest.approx(near), 6: 0.15, 8: 0.15}


@pytest.mark.parametrize(("seal", "inside", "take_off", "socket"), [
    ("rubber pipe seal", False, -0.010, 0.0), ("tank fitting", False, 0.021, 0.031),
    ("tank fitting", True, -0.021, 0.031),
])  # fmt: skip
def test_where_a_pipe_stops_in_a_wall(seal, inside, take_off, socket):
    """6 mm and a chamfer of 4 beyond a seal's face; a tank fitting's stop is 10 mm less than its socket."""
    joint = passage(seal, PIPE, "bed", inside=inside, wall=0.008)
    assert (joint.take_off, joint.socket) == pytest.approx((take_off, socket))
    assert joint.room == pytest.approx(0.008 + 0.015 if seal == "rubber pipe seal" else 0.0)
    assert (joint.chamfer > 0.0) == (seal == "rubber pipe seal")


def test_tees_at_the_ends_of_a_run_are_not_its_own():
    """A tee that it enters and one that it leaves stand in the plan; one between is a fitting of the run."""
    plan = read_plan(data_dir() / "plans" / "greenhouse.toml")
    tee, bend = Fitting("tee, in line", 1, 0.1), Fitting("bend 90, short", 1, 0.4)
    between = plan.run_from("tee 2")
    assert between.to == "tee 3"
    for fittings, left in (((tee, bend, tee), 1), ((bend,), 1), ((tee,), 0), ((tee, tee), 0),
                           ((tee, tee, tee), 1), ((bend, tee), 1), ((tee, bend), 1)):  # fmt: skip
        made = run_fittings(plan, between.__class__(**{**vars(between), "fittings": fittings}))
        assert len(made) == left, fittings
    first = plan.run_from("bed 1")
    made = run_fittings(plan, first.__class__(**{**vars(first), "fittings": (tee, bend, tee)}))
    assert [f.name for f in made] == ["tee, in line", "bend 90, short"]


def test_along_given_legs_each_corner_takes_a_bend_and_a_straight_one_a_coupling():
    legs = tuple(map(read_leg, ["down 0.3 m", "along 1 m", "along 0.5 m", "left 0.4 m", "up 0.1 m"]))
    fittings = (Fitting("bend 90, short", 3, 0.4), Fitting("valve", 1, 0.2), Fitting("exit", 1, 1.0))
    route = along_legs("way", PIPE, legs, fittings, END, END, base=0.05)
    assert [p.heading for p in route.pieces] == [UPRIGHT, LEVEL, LEVEL, LEVEL, UPRIGHT]
    assert [p.first.name for p in route.pieces[1:]] == ["bend 90, short", "coupling", *["bend 90, short"] * 2]
    assert (route.length, route.drop, route.given) == (pytest.approx(2.3), pytest.approx(0.2), True)
    assert [p.base for p in route.pieces] == [0.05, 0.0, 0.0, 0.0, 0.0]
    assert [note for note in route.notes if "valve goes into one of its legs" in note]
    assert not [note for note in route.notes if note.startswith(("exit", "bend"))]


@pytest.mark.parametrize(("turn_level", "last"), [(True, LEVEL), (False, UPRIGHT)])
@pytest.mark.parametrize("pair_first", [True, False])
def test_a_pair_of_45s_and_a_bend_are_two_corners(turn_level, last, pair_first):
    """Down, level after the first; after the second down again, or level where it has to end so."""
    joints, at = ((HALF, HALF, BEND), 1) if pair_first else ((BEND, HALF, HALF), 2)
    route = solve(way(2.0, 0.5, *joints, spacings={at: 0.2}), UPRIGHT, turn_level)
    headings = [p.heading for p in route.pieces if p.heading != LINK]
    assert headings == [UPRIGHT, LEVEL, last]
    assert route.pieces[at].heading == LINK
    assert sum(p.drop for p in route.pieces) == pytest.approx(0.5)
    assert sum(p.centre for p in route.pieces) == pytest.approx(2.0)
