"""Whether a falling pipe runs full, and the air that keeps it from that."""

from __future__ import annotations

import math

from aquacalc.equations.record import Equation, Source
from aquacalc.equations.symbols import named

SANKS = Source(
    "Sanks, Pumping Station Design, velocity that clears air from a falling pipe", "quoted by others", "read"
)
BENJAMIN = Source(
    "Benjamin 1968, Gravity currents and related phenomena, J. Fluid Mech. 31", "", "from memory"
)
ORIFICE = Source("energy of the air through a tube, with its entrance and its exit", "", "derived")


def clearing_velocity(D, a, g):
    """Velocity (m/s) that clears air from a pipe of bore `D` (m) falling at `a` (deg)."""
    return math.sqrt(g * D) * (0.825 + 0.25 * math.sqrt(math.sin(math.radians(a))))


def cavity_speed(D, g):
    """Speed (m/s) at which air runs into the free end of a level pipe of bore `D` (m) that runs full."""
    return 0.542 * math.sqrt(g * D)


def air_inflow(A, p, rho_a, f, L, d):
    """Flow of air (m3/s) through a tube of area `A` (m2) under a pressure difference `p` (Pa)."""
    return A * math.sqrt(2.0 * p / (rho_a * (1.5 + f * L / d)))


EQUATIONS = (
    Equation(
        title="Velocity that clears air from a falling pipe",
        relation="v = sqrt(g*D)*(0.825 + 0.25*sqrt(sin(pi*a/180)))",
        symbols=named("v", "D", "a fall", "g"),
        function=clearing_velocity,
        source=SANKS,
        assumptions=("The pipe runs full but for the air that is to be cleared.",),
    ),
    Equation(
        title="Air running into the end of a level pipe",
        relation="v = 0.542*sqrt(g*D)",
        symbols=named("v", "D cavity", "g"),
        function=cavity_speed,
        source=BENJAMIN,
        assumptions=("The pipe is level and its end is free.",),
    ),
    Equation(
        title="Air through a breather tube",
        relation="Q = A*sqrt(2*p/(rho_a*(1.5 + f*L/d)))",
        symbols=named("Q air", "A air tube", "p air", "rho_a", "f air", "L air tube", "d air tube"),
        function=air_inflow,
        source=ORIFICE,
        assumptions=("Air keeps its density on the way.", "Entrance and exit lose 0.5 and 1 velocity heads."),
    ),
)
