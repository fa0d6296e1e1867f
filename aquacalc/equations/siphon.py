"""The running siphon: its flow, and the pressure at its crest."""

from __future__ import annotations

import math

from aquacalc.equations.record import Equation
from aquacalc.equations.sources import CONTINUITY, ENERGY, GEOMETRY
from aquacalc.equations.symbols import named


def siphon_flow(A, H, K, f, L, D, g):
    """Flow (m3/s) of a siphon under head `H` (m); `K` holds every local loss and the exit."""
    return A * math.sqrt(2.0 * g * H / (K + f * L / D))


def crest_pressure(p_a, rho, g, z, K, v):
    """Absolute pressure (Pa) at a crest `z` (m) above the water, losses `K` on the way up."""
    return p_a - rho * g * (z + (1.0 + K) * v**2 / (2.0 * g))


def crest_height(p_a, p_v, rho, g, K, v):
    """Crest height (m) above the water at which the pressure falls to `p_v` (Pa)."""
    return (p_a - p_v) / (rho * g) - (1.0 + K) * v**2 / (2.0 * g)


def annulus_area(D_b, D_o):
    """Area (m2) between a bell of bore `D_b` and a standpipe of outside diameter `D_o` (m)."""
    return math.pi * (D_b**2 - D_o**2) / 4.0


def annulus_diameter(D_b, D_o):
    """Hydraulic diameter (m) of that annulus."""
    return D_b - D_o


def highest_inflow(Q_s, m):
    """Highest inflow (m3/s) that lets a siphon of flow `Q_s` (m3/s) stop, with margin `m` kept."""
    return Q_s * (1.0 - m)


EQUATIONS = (
    Equation(
        title="Flow of a siphon",
        relation="Q = A*sqrt(2*g*H/(K + f*L/D))",
        symbols=named("Q", "A standpipe", "H siphon", "K siphon", "f", "L siphon", "D", "g"),
        function=siphon_flow,
        source=ENERGY,
        assumptions=(
            "The siphon runs full.",
            "K includes 1 for the exit; other bores' losses are referred to this one.",
        ),
    ),
    Equation(
        title="Pressure at the crest",
        relation="p = p_a - rho*g*(z + (1 + K)*v**2/(2*g))",
        symbols=named("p crest", "p_a", "rho", "g", "z crest", "K crest", "v"),
        function=crest_pressure,
        source=ENERGY,
        assumptions=("The siphon runs full.",),
    ),
    Equation(
        title="Highest crest",
        relation="z = (p_a - p_v)/(rho*g) - (1 + K)*v**2/(2*g)",
        symbols=named("z crest", "p_a", "p_v", "rho", "g", "K crest", "v"),
        function=crest_height,
        source=ENERGY,
        assumptions=("Air that comes out of solution breaks a siphon earlier.",),
    ),
    Equation(
        title="Area between bell and standpipe",
        relation="A = pi*(D_b**2 - D_o**2)/4",
        symbols=named("A", "D_b bell", "D_o"),
        function=annulus_area,
        source=GEOMETRY,
    ),
    Equation(
        title="Hydraulic diameter between bell and standpipe",
        relation="D_h = D_b - D_o",
        symbols=named("D_h", "D_b bell", "D_o"),
        function=annulus_diameter,
        source=GEOMETRY,
    ),
    Equation(
        title="Highest inflow that lets the siphon stop",
        relation="Q = Q_s*(1 - m)",
        symbols=named("Q chamber", "Q_s rim", "m margin"),
        function=highest_inflow,
        source=CONTINUITY,
        assumptions=(
            "Inflow must stay below the siphon's flow at the lowest level; no published limit was found.",
        ),
    ),
)
