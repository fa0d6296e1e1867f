"""A pipe's mouth with a free surface: side outlets of beds, outfalls into chambers, tees half full."""

from __future__ import annotations

from aquacalc.equations import formulas
from aquacalc.equations.common import GEOMETRY, area, bore, flow, g, size
from aquacalc.equations.record import Equation, Limit, Source

CRITICAL = Source(
    "critical flow in a circle, Q2 T = g A3, from the energy at a mouth",
    "R package hydraulics 0.7.0, documentation; Colorado DRMS file 493542, culvert by chart 2 of HDS-5",
    "read",
)
#: Loss into a mouth flush with a wall, and into a pipe that stands into the water.
MOUTH_LOSS = (0.2, 0.5)

_D = bore()
_y = size("y", "y", "depth", "depth of the water in the pipe's mouth", "head", 1e-4, 0.3)
_DEEP = Limit(
    "y/D",
    lambda v: v["y"] / v["D"],
    0.01,
    0.95,
    "nearer the crown the surface touches it and the mouth fills",
)
_CLEAR = ("The pipe below the mouth falls, or is short: nothing holds the water back.",)


EQUATIONS = (
    Equation(
        "segment_area",
        "Area of water in a pipe on its side",
        "A = D**2/4*acos(1 - 2*y/D) - (D/2 - y)*sqrt(y*(D - y))",
        (area(), _y, _D),
        formulas.segment_area,
        GEOMETRY,
        limits=(Limit("y/D", lambda v: v["y"] / v["D"], 0.01, 0.99, "the pipe is full at 1"),),
    ),
    Equation(
        "critical_flow",
        "Flow at critical depth in a pipe's mouth",
        "Q = sqrt(g*(D**2/4*acos(1 - 2*y/D) - (D/2 - y)*sqrt(y*(D - y)))**3/(2*sqrt(y*(D - y))))",
        (flow(), _y, _D, g),
        formulas.critical_flow,
        CRITICAL,
        _CLEAR,
        limits=(_DEEP,),
    ),
    Equation(
        "mouth_level",
        "Still water over the invert of a pipe's mouth",
        "E = y + (1 + K_e)*(D**2/4*acos(1 - 2*y/D) - (D/2 - y)*sqrt(y*(D - y)))/(4*sqrt(y*(D - y)))",
        (
            size("E", "E", "level over the invert", "still water before the mouth", "head", 1e-4, 1.0),
            _y,
            _D,
            size(
                "K_e",
                "K_e",
                "entrance loss",
                "loss into the mouth on its own velocity",
                "number",
                0.0,
                0.9,
                "0.2 flush with a wall to 0.5 standing into the water",
            ),
        ),
        formulas.mouth_level,
        CRITICAL,
        (*_CLEAR, "Up to a level of about one bore; above it the mouth fills and the pipe's own law holds."),
        limits=(_DEEP,),
    ),
)
