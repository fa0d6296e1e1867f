"""Strainers: slots or holes that act as an orifice in series with the pipe."""

from __future__ import annotations

import math

from aquacalc.equations.common import GEOMETRY, area, discharge_coefficient, flow, g, head, loss, size
from aquacalc.equations.record import Equation, Source

SERIES = Source("the orifice law turned round and put on the pipe's velocity head", "", "derived")
RATIO = Source("open area at least 1.5 to 2 times the bore", "", "common practice, no source")


def slot_area(n, w, l):  # noqa: E741 - the letter of the formula
    """Open area (m2) of `n` slots `w` wide and `l` long (m)."""
    return n * w * l


def hole_area(n, d):
    """Open area (m2) of `n` holes of diameter `d` (m)."""
    return n * math.pi * d**2 / 4.0


def area_ratio(A_o, A_p):
    """Open area over the pipe's area."""
    return A_o / A_p


def strainer_head(Q, C_d, A_o, g):
    """Head (m) lost by flow `Q` (m3/s) through openings of area `A_o` (m2)."""
    return (Q / (C_d * A_o)) ** 2 / (2.0 * g)


def strainer_loss(A_p, C_d, A_o):
    """K of openings `A_o` (m2) on the velocity head in a pipe of area `A_p` (m2)."""
    return (A_p / (C_d * A_o)) ** 2


_n = size(key="n", name="number", meaning="how many openings", kind="number", low=1.0, high=10000.0)
_A_o = area(key="A_o", name="open area", meaning="area of all openings")
_A_p = area(key="A_p", name="pipe area", meaning="area of the pipe's bore")

EQUATIONS = (
    Equation(
        key="slot_area",
        title="Open area of slots",
        relation="A_o = n*w*l",
        symbols=(
            _A_o,
            _n,
            size(key="w", name="slot width", meaning="width of a slot", kind="length", low=0.0005, high=0.1),
            size(key="l", name="slot length", meaning="length of a slot", kind="length", low=0.001, high=0.3),
        ),
        function=slot_area,
        source=GEOMETRY,
    ),
    Equation(
        key="hole_area",
        title="Open area of holes",
        relation="A_o = n*pi*d**2/4",
        symbols=(
            _A_o,
            _n,
            size(key="d", name="hole", meaning="diameter of a hole", kind="length", low=0.001, high=0.03),
        ),
        function=hole_area,
        source=GEOMETRY,
    ),
    Equation(
        key="area_ratio",
        title="Open area over bore area",
        relation="x = A_o/A_p",
        symbols=(
            size(
                key="x",
                name="area ratio",
                meaning="open area over the pipe's area",
                kind="number",
                low=1.5,
                high=1000.0,
                why="common practice asks for at least 1.5 to 2 times the bore",
            ),
            _A_o,
            _A_p,
        ),
        function=area_ratio,
        source=RATIO,
    ),
    Equation(
        key="strainer_head",
        title="Head lost in a strainer",
        relation="H = (Q/(C_d*A_o))**2/(2*g)",
        symbols=(head(meaning="head lost in the openings"), flow(), discharge_coefficient, _A_o, g),
        function=strainer_head,
        source=SERIES,
        assumptions=("All openings are clean and pass alike.",),
    ),
    Equation(
        key="strainer_loss",
        title="Loss coefficient of a strainer on the bore",
        relation="K = (A_p/(C_d*A_o))**2",
        symbols=(
            loss(meaning="on the velocity head in the pipe", high=1e6),
            _A_p,
            discharge_coefficient,
            _A_o,
        ),
        function=strainer_loss,
        source=SERIES,
        assumptions=("All openings are clean and pass alike.",),
    ),
)
