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
_y = size(
    key="y", name="depth", meaning="depth of the water in the pipe's mouth", kind="head", low=1e-4, high=0.3
)
_DEEP = Limit(
    name="y/D",
    function=lambda v: v["y"] / v["D"],
    low=0.01,
    high=0.95,
    why="nearer the crown the surface touches it and the mouth fills",
)
_CLEAR = ("The pipe below the mouth falls, or is short: nothing holds the water back.",)


EQUATIONS = (
    Equation(
        key="segment_area",
        title="Area of water in a pipe on its side",
        relation="A = D**2/4*acos(1 - 2*y/D) - (D/2 - y)*sqrt(y*(D - y))",
        symbols=(area(), _y, _D),
        function=formulas.segment_area,
        source=GEOMETRY,
        limits=(
            Limit(
                name="y/D",
                function=lambda v: v["y"] / v["D"],
                low=0.01,
                high=0.99,
                why="the pipe is full at 1",
            ),
        ),
    ),
    Equation(
        key="critical_flow",
        title="Flow at critical depth in a pipe's mouth",
        relation="Q = sqrt(g*(D**2/4*acos(1 - 2*y/D) - (D/2 - y)*sqrt(y*(D - y)))**3/(2*sqrt(y*(D - y))))",
        symbols=(flow(), _y, _D, g),
        function=formulas.critical_flow,
        source=CRITICAL,
        assumptions=_CLEAR,
        limits=(_DEEP,),
    ),
    Equation(
        key="mouth_level",
        title="Still water over the invert of a pipe's mouth",
        relation="E = y + (1 + K_e)*(D**2/4*acos(1 - 2*y/D) - (D/2 - y)*sqrt(y*(D - y)))/(4*sqrt(y*(D - y)))",
        symbols=(
            size(
                key="E",
                name="level over the invert",
                meaning="still water before the mouth",
                kind="head",
                low=1e-4,
                high=1.0,
            ),
            _y,
            _D,
            size(
                key="K_e",
                name="entrance loss",
                meaning="loss into the mouth on its own velocity",
                kind="number",
                low=0.0,
                high=0.9,
                why="0.2 flush with a wall to 0.5 standing into the water",
            ),
        ),
        function=formulas.mouth_level,
        source=CRITICAL,
        assumptions=(
            *_CLEAR,
            "Up to a level of about one bore; above it the mouth fills and the pipe's own law holds.",
        ),
        limits=(_DEEP,),
    ),
)
