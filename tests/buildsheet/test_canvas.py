"""The paper measured: lines, arrowheads, letters, labels round what is written, heights spread apart."""

from __future__ import annotations

import itertools
import math
import re

import numpy as np
import pytest
from scipy.optimize import minimize

from aquacalc.buildsheet.canvas import (
    CHARACTER,
    CLEAR,
    LETTER,
    MARGIN,
    PAPER,
    PHONE,
    TRIM,
    Canvas,
    spread,
    text_width,
    wrapped,
)

pytestmark = pytest.mark.identity
NEAR = 1e-3


def paths(canvas):
    return [
        [(float(x), float(y)) for x, y in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", d)]
        for d in re.findall(r'<path d="([^"]*)"', canvas.svg("x"))
    ]


@pytest.mark.parametrize(
    ("a", "b"),
    [((20, 30), (80, 30)), ((80, 30), (20, 30)), ((50, 90), (50, 20)), ((20, 20), (50, 60)),
     ((50, 60), (20, 20)), ((20, 60), (70, 30))],
)  # fmt: skip
def test_a_dimension_has_an_arrowhead_inwards_at_each_end(a, b):
    """A head is 2.2 mm long and 1 mm wide: its two back corners are 2.2 along and half a mm to each side."""
    canvas = Canvas("A4")
    assert canvas.dimension(a, b, "60 mm", beside=3.0)
    long, first, second = paths(canvas)
    assert long == [pytest.approx(a), pytest.approx(b)]
    for head, tip, far in ((first, a, b), (second, b, a)):
        assert head[0] == pytest.approx(tip)
        sides = []
        for corner in head[1:]:
            along = np.dot(np.subtract(corner, tip), np.subtract(far, tip)) / math.dist(a, b)
            sides.append(float(np.cross([*np.subtract(far, tip), 0], [*np.subtract(corner, tip), 0])[2]))
            assert along == pytest.approx(2.2, abs=NEAR)
            assert math.dist(corner, tip) == pytest.approx(math.hypot(2.2, 0.5), abs=NEAR)
        assert sides[0] * sides[1] < 0.0
    x0, y0, x1, y1 = canvas.texts[0]
    upright = abs(b[1] - a[1]) > abs(b[0] - a[0])
    middle = (0.5 * (a[0] + b[0]) - 3.0 * upright, 0.5 * (a[1] + b[1]) - 3.0 * (not upright))
    assert (0.5 * (x0 + x1), 0.5 * (y0 + y1)) == pytest.approx(middle)
    assert sorted((x1 - x0, y1 - y0)) == pytest.approx([LETTER, 5 * CHARACTER * LETTER])
    assert (y1 - y0 > x1 - x0) == upright
    assert ("rotate(-90" in canvas.svg("x")) == upright


def test_a_dimension_that_must_not_be_is_left_out_where_words_are():
    canvas = Canvas("A4")
    canvas.text((50, 30), "words", "middle")
    assert not canvas.dimension((20, 30), (80, 30), "60 mm", must=False)
    assert paths(canvas) == []
    assert canvas.dimension((20, 30), (80, 30), "60 mm")
    assert canvas.dimension((20, 60), (80, 60), "60 mm", must=False)
    assert not canvas.dimension((20, 60), (20, 60), "0 mm")


@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
def test_letters_take_their_room(anchor):
    canvas = Canvas("A4")
    canvas.text((100, 50), "abcd", anchor)
    canvas.text((100, 80), "abcd", anchor, turned=True)
    wide = 4 * CHARACTER * LETTER
    before = {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * wide
    flat, turned = canvas.texts
    assert flat == pytest.approx((100 - before, 50 - LETTER / 2, 100 - before + wide, 50 + LETTER / 2))
    # Turned to be read from the right: what comes first is lowest.
    assert turned == pytest.approx((100 - LETTER / 2, 80 + before - wide, 100 + LETTER / 2, 80 + before))
    # Capitals are 0.73 of the letters' size: their middle is at the place.
    assert f'y="{50 + 0.36 * LETTER:.2f}"' in canvas.svg("x")


def test_a_label_goes_to_the_nearest_free_place_with_a_line_to_its_point():
    """Round one point: none lies on another, the next is never nearer, and a `must` is always there."""
    canvas, at = Canvas("A4"), (150.0, 100.0)
    far = []
    for n in range(40):
        canvas.label(at, f"part {n}", must=False)
        if len(canvas.texts) == n:
            break
        (start, end) = paths(canvas)[-1]
        assert start == pytest.approx(at)
        far.append(math.dist(start, end) / LETTER)
        x0, y0, x1, y1 = canvas.texts[-1]
        away = end[0] - at[0], end[1] - at[1]
        if abs(away[0]) > 1e-6:  # words go on away from the point
            assert (x0 if away[0] > 0 else x1) == pytest.approx(end[0], abs=NEAR)
        else:
            assert 0.5 * (x0 + x1) == pytest.approx(end[0], abs=NEAR)
        assert 0.5 * (y0 + y1) == pytest.approx(end[1], abs=NEAR)
    assert far[0] == pytest.approx(1.6, abs=NEAR)
    assert far == pytest.approx(sorted(far), abs=NEAR)
    assert max(far) <= 3.8 + NEAR  # those that may be left out are tried no farther
    for a, b in itertools.combinations(canvas.texts, 2):
        assert min(a[2], b[2]) + CLEAR <= max(a[0], b[0]) + NEAR or min(a[3], b[3]) <= max(a[1], b[1]) + NEAR
    count = len(canvas.texts)
    canvas.label(at, "must")
    assert len(canvas.texts) == count + 1
    assert math.dist(*paths(canvas)[-1]) / LETTER > 3.8 + NEAR


@pytest.mark.parametrize(("dx", "dy"), [(-1, -1), (-1, 1), (1, -1), (1, 1)])
def test_free_is_what_lies_on_the_paper_and_on_no_words(dx, dy):
    canvas = Canvas("A4")
    canvas.text((100, 100), "words", "middle")
    wide, high = 5 * CHARACTER * LETTER, LETTER

    def free(x, y):
        return canvas.free((x - wide / 2, y - high / 2, x + wide / 2, y + high / 2))

    assert not free(100, 100)
    assert not free(100 + dx * (wide + CLEAR - 0.01), 100)
    assert free(100 + dx * (wide + CLEAR + 0.01), 100)
    assert not free(100, 100 + dy * (high - 0.01))
    assert free(100, 100 + dy * (high + 0.01))
    x = (297 if dx > 0 else 0) - dx * (MARGIN + wide / 2 + CLEAR)
    y = (210 if dy > 0 else 0) - dy * (MARGIN + high / 2)
    for out, there in ((0.01, False), (-0.01, True)):
        assert free(x + dx * out, 50) == there
        assert free(50, y + dy * out) == there


@pytest.mark.parametrize("wanted", [
    [10.0, 11.0, 30.0], [10.0, 10.0, 10.0, 30.0, 31.0, 33.0, 80.0], [1.0, 2.0, 3.0, 98.0, 99.0],
    [50.0, 52.0, 54.0, 60.0, 64.0], [0.0], [20.0, 24.9, 29.8, 40.0, 60.0, 64.0, 65.0],
])  # fmt: skip
def test_heights_are_spread_as_little_as_may_be(wanted):
    """The least sum of squares with neighbours 5 mm apart from 0 to 100 mm, by scipy."""
    found = spread(wanted, 5.0, 0.0, 100.0)
    limits = [{"type": "ineq", "fun": lambda x, k=k: x[k + 1] - x[k] - 5.0} for k in range(len(wanted) - 1)]
    best = minimize(lambda x: np.sum((x - np.array(wanted)) ** 2), np.linspace(0.0, 99.0, len(wanted)),
                    method="SLSQP", bounds=[(0.0, 100.0)] * len(wanted), constraints=limits,
                    options={"ftol": 1e-12})  # fmt: skip
    assert found == pytest.approx(best.x, abs=1e-3)


def test_heights_that_have_no_room_stand_as_far_apart_as_there_is():
    """Nine on 40 mm: the room for one is a ninth, and the last has its room under it as well."""
    found = spread([20.0] * 9, 5.0, 0.0, 40.0)
    assert np.diff(found) == pytest.approx([40.0 / 9] * 8)
    assert 0.5 * (found[0] + found[-1]) == pytest.approx(20.0)
    assert spread([], 5.0, 0.0, 40.0) == []


def test_a_text_is_broken_where_the_next_word_goes_beyond_the_width():
    said = "one two three four five six"
    for letters in (3, 7, 9, 13, 27):
        lines = list(wrapped(said, letters * CHARACTER * LETTER + 1e-9))
        assert " ".join(lines) == said
        for line, after in itertools.pairwise([*lines, ""]):
            assert len(line) <= max(letters, 5), "only a word by itself may be longer"
            assert not after or len(f"{line} {after.split()[0]}") > letters
    assert text_width("abc", 10.0) == 3 * CHARACTER * 10.0


def test_paper_upright_lying_and_for_a_phone():
    assert (Canvas("A4").width, Canvas("A4").height) == (297, 210)
    assert (Canvas("A4", upright=True).width, Canvas("A4", upright=True).height) == (210, 297)
    assert Canvas("Letter", height=120.0).height == 120.0
    wide, high = PAPER[PHONE]
    assert f'viewBox="{TRIM:g} {TRIM:g} {wide - 2 * TRIM:g} {high - 2 * TRIM:g}"' in Canvas(PHONE).svg("x")
    assert 'viewBox="0 0 297 210"' in Canvas("A4").svg("x")


def test_a_closed_line_is_closed_and_a_dashed_one_dashed():
    canvas = Canvas("A4")
    canvas.line([(1, 2), (3, 4)])
    canvas.line([(1, 2), (3, 4), (5, 1)], 0.5, "1 2", True, "#ccc", "#333")
    canvas.circle((9, 8), 7.0, 0.5)
    canvas.circle((9, 8), 7.0, dash="3 1")
    svg = canvas.svg("x")
    assert svg.count('d="M1.000 2.000 L3.000 4.000"') == 1
    assert svg.count('d="M1.000 2.000 L3.000 4.000 L5.000 1.000Z"') == 1
    assert svg.count('stroke-dasharray="1 2"') == svg.count('stroke-dasharray="3 1"') == 1
    assert svg.count("stroke-dasharray") == 2
    assert svg.count('cx="9.000" cy="8.000" r="7.000"') == 2
