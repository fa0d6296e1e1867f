"""Strainers: slots or holes that act as an orifice in series with the pipe."""

from __future__ import annotations

import math

from aquacalc.equations.record import Equation, Source
from aquacalc.equations.sources import GEOMETRY
from aquacalc.equations.symbols import named

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


EQUATIONS = (
    Equation(
        title="Open area of slots",
        relation="A_o = n*w*l",
        symbols=named("A_o", "n openings", "w", "l"),
        function=slot_area,
        source=GEOMETRY,
    ),
    Equation(
        title="Open area of holes",
        relation="A_o = n*pi*d**2/4",
        symbols=named("A_o", "n openings", "d hole"),
        function=hole_area,
        source=GEOMETRY,
    ),
    Equation(
        title="Open area over bore area",
        relation="x = A_o/A_p",
        symbols=named("x area ratio", "A_o", "A_p"),
        function=area_ratio,
        source=RATIO,
    ),
    Equation(
        title="Head lost in a strainer",
        relation="H = (Q/(C_d*A_o))**2/(2*g)",
        symbols=named("H strainer", "Q", "C_d", "A_o", "g"),
        function=strainer_head,
        source=SERIES,
        assumptions=("All openings are clean and pass alike.",),
    ),
    Equation(
        title="Loss coefficient of a strainer on the bore",
        relation="K = (A_p/(C_d*A_o))**2",
        symbols=named("K strainer", "A_p", "C_d", "A_o"),
        function=strainer_loss,
        source=SERIES,
        assumptions=("All openings are clean and pass alike.",),
    ),
)
