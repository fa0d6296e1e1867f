"""The running siphon: its flow, and the pressure at its crest."""

from __future__ import annotations

import math

from aquacalc.equations.common import (
    CONTINUITY,
    ENERGY,
    GEOMETRY,
    area,
    bore,
    flow,
    friction,
    g,
    head,
    loss,
    size,
    vapour_pressure,
    velocity,
    water_density,
)
from aquacalc.equations.record import Equation


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
    """Highest inflow (m3/s) that lets a siphon of flow `Q_s` (m3/s) stop, with margin `m` kept in hand."""
    return Q_s * (1.0 - m)


_p_a = size(
    "p_a",
    "p_a",
    "air pressure",
    "pressure of the air on the water",
    "pressure",
    60000.0,
    108000.0,
    "from a high mountain to the highest weather at the sea",
    101325.0,
)
_z = size("z", "z", "crest height", "crest above the water it draws from", "elevation", -2.0, 10.0)
_K_up = loss(meaning="losses from the water up to the crest", low=0.0)
_D_b = bore("D_b", "D_b", "bell bore", "inside diameter of the bell", 0.02, 1.0)
_D_o = bore("D_o", "D_o", "standpipe outside", "outside diameter of the standpipe", 0.005, 0.5)

EQUATIONS = (
    Equation(
        "siphon_flow",
        "Flow of a siphon",
        "Q = A*sqrt(2*g*H/(K + f*L/D))",
        (
            flow(),
            area(meaning="area of the standpipe's bore"),
            head(
                meaning="chamber level above the outlet, or above the sump where the outlet is drowned",
                low=1e-3,
            ),
            loss(meaning="every local loss and the exit, on the bore", low=1.0),
            friction(),
            size("L", "L", "length", "length of the bore", "distance", 0.0, 100.0),
            bore(),
            g,
        ),
        siphon_flow,
        ENERGY,
        ("The siphon runs full.", "K includes 1 for the exit; other bores' losses are referred to this one."),
    ),
    Equation(
        "crest_pressure",
        "Pressure at the crest",
        "p = p_a - rho*g*(z + (1 + K)*v**2/(2*g))",
        (
            size(
                "p",
                "p",
                "crest pressure",
                "absolute pressure at the crest",
                "pressure",
                2340.0,
                110000.0,
                "at its vapour pressure (2.34 kPa at 20 degC) water boils and the siphon breaks",
            ),
            _p_a,
            water_density,
            g,
            _z,
            _K_up,
            velocity(),
        ),
        crest_pressure,
        ENERGY,
        ("The siphon runs full.",),
    ),
    Equation(
        "crest_height",
        "Highest crest",
        "z = (p_a - p_v)/(rho*g) - (1 + K)*v**2/(2*g)",
        (
            _z,
            _p_a,
            vapour_pressure,
            water_density,
            g,
            _K_up,
            velocity(),
        ),
        crest_height,
        ENERGY,
        ("Air that comes out of solution breaks a siphon earlier.",),
    ),
    Equation(
        "annulus_area",
        "Area between bell and standpipe",
        "A = pi*(D_b**2 - D_o**2)/4",
        (area(), _D_b, _D_o),
        annulus_area,
        GEOMETRY,
    ),
    Equation(
        "annulus_diameter",
        "Hydraulic diameter between bell and standpipe",
        "D_h = D_b - D_o",
        (
            bore("D_h", "D_h", "hydraulic diameter", "four times area over wetted edge", 0.001, 1.0),
            _D_b,
            _D_o,
        ),
        annulus_diameter,
        GEOMETRY,
    ),
    Equation(
        "highest_inflow",
        "Highest inflow that lets the siphon stop",
        "Q = Q_s*(1 - m)",
        (
            flow(meaning="inflow to the siphon's chamber"),
            flow("Q_s", "Q_s", "siphon flow", "siphon's flow with the water at the bell rim"),
            size("m", "m", "margin", "share of the siphon's flow kept as a margin", "ratio", 0.0, 0.5),
        ),
        highest_inflow,
        CONTINUITY,
        ("Inflow must stay below the siphon's flow at the lowest level; no published limit was found.",),
    ),
)
