"""A pipe's mouth with a free surface: side outlets of beds, outfalls into chambers, tees half full."""

from __future__ import annotations

from aquacalc.equations import formulas
from aquacalc.equations.record import Equation, Limit, Source
from aquacalc.equations.sources import GEOMETRY
from aquacalc.equations.symbols import named

CRITICAL = Source(
    "critical flow in a circle, Q2 T = g A3, from the energy at a mouth",
    "R package hydraulics 0.7.0, documentation; Colorado DRMS file 493542, culvert by chart 2 of HDS-5",
    "read",
)
#: Loss into a mouth flush with a wall, and into a pipe that stands into the water.
MOUTH_LOSS = (0.2, 0.5)

_DEEP = Limit.ratio(
    "y", "D", low=0.01, high=0.95, why="nearer the crown the surface touches it and the mouth fills"
)
_CLEAR = ("The pipe below the mouth falls, or is short: nothing holds the water back.",)


EQUATIONS = (
    Equation(
        title="Area of water in a pipe on its side",
        relation="A = D**2/4*acos(1 - 2*y/D) - (D/2 - y)*sqrt(y*(D - y))",
        symbols=named("A", "y", "D"),
        function=formulas.segment_area,
        source=GEOMETRY,
        limits=(Limit.ratio("y", "D", low=0.01, high=0.99, why="the pipe is full at 1"),),
    ),
    Equation(
        title="Flow at critical depth in a pipe's mouth",
        relation="Q = sqrt(g*(D**2/4*acos(1 - 2*y/D) - (D/2 - y)*sqrt(y*(D - y)))**3/(2*sqrt(y*(D - y))))",
        symbols=named("Q", "y", "D", "g"),
        function=formulas.critical_flow,
        source=CRITICAL,
        assumptions=_CLEAR,
        limits=(_DEEP,),
    ),
    Equation(
        title="Still water over the invert of a pipe's mouth",
        relation="E = y + (1 + K_e)*(D**2/4*acos(1 - 2*y/D) - (D/2 - y)*sqrt(y*(D - y)))/(4*sqrt(y*(D - y)))",
        symbols=named("E", "y", "D", "K_e"),
        function=formulas.mouth_level,
        source=CRITICAL,
        assumptions=(
            *_CLEAR,
            "Up to a level of about one bore; above it the mouth fills and the pipe's own law holds.",
        ),
        limits=(_DEEP,),
    ),
)
