"""Distances, outlines and rests of wall against counts, other formulas and points taken at close distance."""

import itertools
import math
import random

import numpy as np
import pytest

from aquacalc.geometry.contacts import distance
from aquacalc.geometry.holes import _inside_oval, bulge
from aquacalc.geometry.outlines import depth_of_overlap, inside, moved

pytestmark = pytest.mark.identity
SQUARE = [(0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (0.0, 1.0)]
NEAR = 1e-9


def to_segment(p, a, b):
    """From a point to a straight part: to its ends, or to the foot of the perpendicular between them."""
    p, a, b = map(np.array, (p, a, b))
    ways = [np.linalg.norm(p - a), np.linalg.norm(p - b)]
    long = np.linalg.norm(b - a)
    if long and 0.0 < np.dot(p - a, (b - a) / long) < long:
        ways.append(np.linalg.norm(np.cross(b - a, p - a)) / long)
    return min(ways)


def apart(a, b, c, d):
    """Least distance of two straight parts: from an end to the other part, or along their common normal."""
    ways = [to_segment(a, c, d), to_segment(b, c, d), to_segment(c, a, b), to_segment(d, a, b)]
    u, v, w = (np.array(q) - np.array(p) for p, q in ((a, b), (c, d), (a, c)))
    normal = np.cross(u, v)
    size = np.linalg.norm(normal)
    if size > 1e-9:
        s, t, _ = np.linalg.solve(np.column_stack((u, -v, normal / size)), w)
        if 0.0 < s < 1.0 and 0.0 < t < 1.0:
            ways.append(abs(np.dot(w, normal)) / size)
    return float(min(ways))


@pytest.mark.parametrize(
    "kind", ["any", "parallel", "flat", "first a point", "second a point", "both points"]
)
def test_straight_parts_are_as_far_apart_as_their_ends_or_their_normal(kind):
    draw = random.Random(kind)
    for _ in range(40):
        a, b, c, d = ([draw.randint(-9, 9) / 4.0 for _ in range(3)] for _ in range(4))
        if kind == "parallel":
            d = [
                q + (1.0 + k) * 0.5 * (y - x)
                for k in [draw.randint(-3, 3)]
                for q, x, y in zip(c, a, b, strict=True)
            ]
        if kind == "flat":
            a[2] = b[2] = c[2] = d[2] = 0.25
        if kind in ("first a point", "both points"):
            b = list(a)
        if kind in ("second a point", "both points"):
            d = list(c)
        assert distance(a, b, c, d) == pytest.approx(apart(a, b, c, d), abs=NEAR), (a, b, c, d)


def test_crossing_and_touching_straight_parts_are_not_apart():
    assert distance((-1, 0, 0), (1, 0, 0), (0, -1, 0), (0, 1, 0)) == 0.0
    assert distance((0, 0, 0), (1, 0, 0), (1, 0, 0), (1, 5, 0)) == 0.0
    assert distance((0, 0, 0), (1, 0, 0), (3, 4, 0), (3, 9, 0)) == pytest.approx(math.hypot(2.0, 4.0))


@pytest.mark.parametrize(("turn", "x", "y", "to"), [
    (0.0, 3.0, 4.0, (5.0, 5.0)), (90.0, 0.0, 0.0, (-1.0, 2.0)), (180.0, 1.0, 0.0, (-1.0, -1.0)),
    (-90.0, 0.0, 2.0, (1.0, 0.0)), (math.degrees(math.atan2(3.0, 4.0)), 0.0, 0.0, (1.0, 2.0)),
])  # fmt: skip
def test_a_point_turned_and_moved(turn, x, y, to):
    """(2, 1) by quarters of a turn; by the angle of a 3-4-5 triangle (2 4/5 - 3/5, 2 3/5 + 4/5)."""
    assert moved([(2.0, 1.0)], turn, x, y)[0] == pytest.approx(to)


@pytest.mark.parametrize(("x", "y", "depth"), [
    (1.75, 0.0, 0.25), (-1.75, 0.0, 0.25), (0.0, 0.9, 0.1), (0.0, -0.9, 0.1), (1.5, 0.9, 0.1),
    (1.9, 0.5, 0.1), (2.0, 0.0, 0.0), (2.1, 0.0, 0.0), (-2.1, 0.5, 0.0),
    (0.0, 1.0, 0.0), (0.0, -1.1, 0.0), (0.5, 0.25, 0.75),
])  # fmt: skip
@pytest.mark.parametrize("turn", [0.0, 90.0, 33.0])
def test_two_boxes_part_by_the_smaller_of_two_moves(x, y, depth, turn):
    """Boxes of 2 x 1 with the second moved by (x, y): sideways 2 - |x|, up or down 1 - |y|."""
    one = moved(SQUARE, turn, 0.0, 0.0)
    other = moved([(a + x, b + y) for a, b in SQUARE], turn, 0.0, 0.0)
    assert depth_of_overlap(one, other) == pytest.approx(depth, abs=NEAR)
    assert depth_of_overlap(other, one[::-1]) == pytest.approx(depth, abs=NEAR)


def test_a_box_on_its_corner_reaches_in_by_half_its_diagonal():
    """A box of sides sqrt 2 stands on its corner, 0.8 beside the other's edge: 1 - 0.8 is inside."""
    tip = moved([(-h, -k) for h, k in ((0.5, 0.5), (-0.5, 0.5), (-0.5, -0.5), (0.5, -0.5))], 45.0, 0.0, 0.0)
    tip = [(2.0**0.5 * x + 2.8, 2.0**0.5 * y + 0.5) for x, y in tip]
    assert depth_of_overlap(SQUARE, tip) == pytest.approx(0.2)
    twice = [p for p in SQUARE for _ in range(2)]  # a corner given twice is an edge without length
    assert depth_of_overlap(twice, tip) == pytest.approx(0.2)


@pytest.mark.parametrize(("start", "end", "grown", "part"), [
    ((-1.0, 0.5), (3.0, 0.5), 0.0, (0.25, 0.75)), ((3.0, 0.5), (-1.0, 0.5), 0.0, (0.25, 0.75)),
    ((-1.0, 0.5), (1.0, 0.5), 0.0, (0.5, 1.0)), ((1.0, 0.5), (5.0, 0.5), 0.0, (0.0, 0.25)),
    ((0.5, 0.5), (1.5, 0.5), 0.0, (0.0, 1.0)), ((-1.0, 0.5), (3.0, 0.5), 0.5, (0.125, 0.875)),
    ((-1.0, 1.2), (3.0, 1.2), 0.1, None), ((-1.0, 1.2), (3.0, 1.2), 0.3, (0.175, 0.825)),
    ((-1.0, -0.2), (3.0, -0.2), 0.1, None), ((1.0, -1.0), (1.0, 3.0), 0.0, (0.25, 0.5)),
    ((3.0, 0.0), (5.0, 0.0), 0.0, None), ((-3.0, 0.5), (-1.0, 0.5), 0.0, None),
    ((-1.0, 0.0), (1.0, 2.0), 0.0, (0.5, 0.5)), ((-1.0, 0.1), (1.0, 2.1), 0.0, None),
])  # fmt: skip
@pytest.mark.parametrize("turn", [0.0, 90.0, 200.0])
def test_the_part_of_a_line_in_a_box(start, end, grown, part, turn):
    """The box is 2 x 1; the last two pass its corner, one through it and one beside it."""
    box = moved(SQUARE, turn, 0.3, 0.0)
    ends = moved([start, end], turn, 0.3, 0.0)
    grown += 1e-9 if part == (0.5, 0.5) else 0.0
    for outline in (box, box[::-1], [p for p in box for _ in range(2)]):
        found = inside(outline, *ends, grown)
        assert found == (None if part is None else pytest.approx(part, abs=1e-6))


@pytest.mark.parametrize(("a", "b"), [(0.6, 0.4), (0.3, 0.5), (0.5, 0.5)])
def test_a_point_in_an_oval_is_as_far_in_as_its_nearest_point(a, b):
    t = np.linspace(0.0, 2.0 * math.pi, 40001)
    xs, ys = a * np.cos(t), b * np.sin(t)
    for x, y in itertools.product((-0.55, -0.2, 0.0, 0.1, 0.45), (-0.35, 0.0, 0.05, 0.3)):
        near = float(np.min(np.hypot(xs - x, ys - y)))
        sign = 1.0 if (x / a) ** 2 + (y / b) ** 2 <= 1.0 else -1.0
        assert _inside_oval(a, b, x, y) == pytest.approx(sign * near, abs=2e-6), (x, y)


@pytest.mark.parametrize(("width", "across"), [(0.064, 0.25), (0.25, 0.25), (0.01, 1.0), (0.3, 0.25)])
def test_a_round_wall_curves_away_by_the_height_over_its_chord(width, across):
    """Of a chord, half its length squared is the height times the rest of the diameter."""
    high = bulge(width, across)
    half = 0.5 * min(width, across)
    assert high * (across - high) == pytest.approx(half**2)
    assert high <= 0.5 * across
