"""Whether a falling pipe runs full, and the air that keeps it from that."""

from __future__ import annotations

import math

from aquacalc.equations.common import bore, flow, g, size, velocity
from aquacalc.equations.record import Equation, Source

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
        key="clearing_velocity",
        title="Velocity that clears air from a falling pipe",
        relation="v = sqrt(g*D)*(0.825 + 0.25*sqrt(sin(pi*a/180)))",
        symbols=(
            velocity(),
            bore(),
            size(
                key="a",
                name="fall",
                meaning="angle of the pipe under the level",
                kind="angle",
                low=0.0,
                high=90.0,
                why="level to upright",
            ),
            g,
        ),
        function=clearing_velocity,
        source=SANKS,
        assumptions=("The pipe runs full but for the air that is to be cleared.",),
    ),
    Equation(
        key="cavity_speed",
        title="Air running into the end of a level pipe",
        relation="v = 0.542*sqrt(g*D)",
        symbols=(velocity(), bore(low=0.02, why="in a smaller bore surface tension holds the air back"), g),
        function=cavity_speed,
        source=BENJAMIN,
        assumptions=("The pipe is level and its end is free.",),
    ),
    Equation(
        key="air_inflow",
        title="Air through a breather tube",
        relation="Q = A*sqrt(2*p/(rho_a*(1.5 + f*L/d)))",
        symbols=(
            flow(name="air flow", meaning="volume of air a second"),
            size(
                key="A",
                name="area",
                meaning="area of the tube's bore",
                kind="opening_area",
                low=1e-7,
                high=1e-3,
            ),
            size(
                key="p",
                name="pressure",
                meaning="suction at the crest of the siphon",
                kind="pressure",
                low=1.0,
                high=20000.0,
                why="above 20 kPa air expands on its way, which this leaves out",
            ),
            size(
                key="rho_a",
                name="air density",
                meaning="density of the air outside",
                kind="density",
                low=1.0,
                high=1.4,
                why="air from a hot day on a hill to a frosty one at the sea",
            ),
            size(
                key="f",
                name="friction factor",
                meaning="Darcy friction factor of the air",
                kind="number",
                low=0.01,
                high=1.0,
                why="smooth tube to laminar flow at Re 64",
            ),
            size(key="L", name="length", meaning="length of the tube", kind="length", low=0.0, high=5.0),
            bore(key="d", name="tube bore", meaning="inside diameter of the tube", low=0.001, high=0.03),
        ),
        function=air_inflow,
        source=ORIFICE,
        assumptions=("Air keeps its density on the way.", "Entrance and exit lose 0.5 and 1 velocity heads."),
    ),
)
