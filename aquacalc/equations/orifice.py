"""Sharp openings under a head of water."""

from __future__ import annotations

from aquacalc.equations import formulas
from aquacalc.equations.record import Equation, Source
from aquacalc.equations.sources import GEOMETRY
from aquacalc.equations.symbols import named

#: FHWA HEC-22 (from memory): sharp 0.60 to 0.62, short tube 0.80 to 0.82, ragged edge down to 0.4.
SHARP = Source(
    "Torricelli 1644; range of the coefficient of FHWA HEC-22, Urban Drainage Design Manual (from memory)",
    "Schaschke, Worked Examples for Engineers, Ex. 6.1, and Douglas, Fluid Mechanics, Ex. 6.4, as recomputed "
    "by others",
    "read",
)

EQUATIONS = (
    Equation(
        title="Area of a round opening",
        relation="A = pi*D**2/4",
        symbols=named("A", "D opening"),
        function=formulas.circle_area,
        source=GEOMETRY,
    ),
    Equation(
        title="Flow through a sharp opening",
        relation="Q = C_d*A*sqrt(2*g*H)",
        symbols=named("Q", "C_d", "A opening", "H opening", "g"),
        function=formulas.orifice_flow,
        source=SHARP,
        assumptions=(
            "The water in front of the opening is nearly still.",
            "The opening is small against the head.",
        ),
    ),
)
