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

#: Loss of air into the breather tube (0.5) and out of it (1.0).
TUBE_ENDS = 1.5


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
        "clearing_velocity",
        "Velocity that clears air from a falling pipe",
        "v = sqrt(g*D)*(0.825 + 0.25*sqrt(sin(pi*a/180)))",
        (
            velocity(),
            bore(),
            size(
                "a", "a", "fall", "angle of the pipe under the level", "angle", 0.0, 90.0, "level to upright"
            ),
            g,
        ),
        clearing_velocity,
        SANKS,
        ("The pipe runs full but for the air that is to be cleared.",),
    ),
    Equation(
        "cavity_speed",
        "Air running into the end of a level pipe",
        "v = 0.542*sqrt(g*D)",
        (velocity(), bore(low=0.02, why="in a smaller bore surface tension holds the air back"), g),
        cavity_speed,
        BENJAMIN,
        ("The pipe is level and its end is free.",),
    ),
    Equation(
        "air_inflow",
        "Air through a breather tube",
        "Q = A*sqrt(2*p/(rho_a*(1.5 + f*L/d)))",
        (
            flow(name="air flow", meaning="volume of air a second"),
            size("A", "A", "area", "area of the tube's bore", "opening_area", 1e-7, 1e-3),
            size(
                "p",
                "p",
                "pressure",
                "suction at the crest of the siphon",
                "pressure",
                1.0,
                20000.0,
                "above 20 kPa air expands on its way, which this leaves out",
            ),
            size(
                "rho_a",
                r"\rho_a",
                "air density",
                "density of the air outside",
                "density",
                1.0,
                1.4,
                "air from a hot day on a hill to a frosty one at the sea",
            ),
            size(
                "f",
                "f",
                "friction factor",
                "Darcy friction factor of the air",
                "number",
                0.01,
                1.0,
                "smooth tube to laminar flow at Re 64",
            ),
            size("L", "L", "length", "length of the tube", "length", 0.0, 5.0),
            bore("d", "d", "tube bore", "inside diameter of the tube", 0.001, 0.03),
        ),
        air_inflow,
        ORIFICE,
        ("Air keeps its density on the way.", "Entrance and exit lose 0.5 and 1 velocity heads."),
    ),
)
