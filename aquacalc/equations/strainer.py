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


_n = size("n", "n", "number", "how many openings", "number", 1.0, 10000.0)
_A_o = area("A_o", "A_o", "open area", "area of all openings")
_A_p = area("A_p", "A_p", "pipe area", "area of the pipe's bore")

EQUATIONS = (
    Equation(
        "slot_area",
        "Open area of slots",
        "A_o = n*w*l",
        (
            _A_o,
            _n,
            size("w", "w", "slot width", "width of a slot", "length", 0.0005, 0.1),
            size("l", "l", "slot length", "length of a slot", "length", 0.001, 0.3),
        ),
        slot_area,
        GEOMETRY,
    ),
    Equation(
        "hole_area",
        "Open area of holes",
        "A_o = n*pi*d**2/4",
        (_A_o, _n, size("d", "d", "hole", "diameter of a hole", "length", 0.001, 0.03)),
        hole_area,
        GEOMETRY,
    ),
    Equation(
        "area_ratio",
        "Open area over bore area",
        "x = A_o/A_p",
        (
            size(
                "x",
                "x",
                "area ratio",
                "open area over the pipe's area",
                "number",
                1.5,
                1000.0,
                "common practice asks for at least 1.5 to 2 times the bore",
            ),
            _A_o,
            _A_p,
        ),
        area_ratio,
        RATIO,
    ),
    Equation(
        "strainer_head",
        "Head lost in a strainer",
        "H = (Q/(C_d*A_o))**2/(2*g)",
        (head(meaning="head lost in the openings"), flow(), discharge_coefficient, _A_o, g),
        strainer_head,
        SERIES,
        ("All openings are clean and pass alike.",),
    ),
    Equation(
        "strainer_loss",
        "Loss coefficient of a strainer on the bore",
        "K = (A_p/(C_d*A_o))**2",
        (loss(meaning="on the velocity head in the pipe", high=1e6), _A_p, discharge_coefficient, _A_o),
        strainer_loss,
        SERIES,
        ("All openings are clean and pass alike.",),
    ),
)
