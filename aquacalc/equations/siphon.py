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
    """Highest inflow (m3/s) that lets a siphon of flow `Q_s` (m3/s) stop, with margin `m` kept."""
    return Q_s * (1.0 - m)


_p_a = size(
    key="p_a",
    name="air pressure",
    meaning="pressure of the air on the water",
    kind="pressure",
    low=60000.0,
    high=108000.0,
    why="from a high mountain to the highest weather at the sea",
    default=101325.0,
)
_z = size(
    key="z",
    name="crest height",
    meaning="crest above the water it draws from",
    kind="elevation",
    low=-2.0,
    high=10.0,
)
_K_up = loss(meaning="losses from the water up to the crest", low=0.0)
_D_b = bore(key="D_b", name="bell bore", meaning="inside diameter of the bell", low=0.02, high=1.0)
_D_o = bore(
    key="D_o", name="standpipe outside", meaning="outside diameter of the standpipe", low=0.005, high=0.5
)

EQUATIONS = (
    Equation(
        key="siphon_flow",
        title="Flow of a siphon",
        relation="Q = A*sqrt(2*g*H/(K + f*L/D))",
        symbols=(
            flow(),
            area(meaning="area of the standpipe's bore"),
            head(
                meaning="chamber level above the outlet, or above the sump where the outlet is drowned",
                low=1e-3,
            ),
            loss(meaning="every local loss and the exit, on the bore", low=1.0),
            friction,
            size(key="L", name="length", meaning="length of the bore", kind="distance", low=0.0, high=100.0),
            bore(),
            g,
        ),
        function=siphon_flow,
        source=ENERGY,
        assumptions=(
            "The siphon runs full.",
            "K includes 1 for the exit; other bores' losses are referred to this one.",
        ),
    ),
    Equation(
        key="crest_pressure",
        title="Pressure at the crest",
        relation="p = p_a - rho*g*(z + (1 + K)*v**2/(2*g))",
        symbols=(
            size(
                key="p",
                name="crest pressure",
                meaning="absolute pressure at the crest",
                kind="pressure",
                low=2340.0,
                high=110000.0,
                why="at its vapour pressure (2.34 kPa at 20 degC) water boils and the siphon breaks",
            ),
            _p_a,
            water_density,
            g,
            _z,
            _K_up,
            velocity(),
        ),
        function=crest_pressure,
        source=ENERGY,
        assumptions=("The siphon runs full.",),
    ),
    Equation(
        key="crest_height",
        title="Highest crest",
        relation="z = (p_a - p_v)/(rho*g) - (1 + K)*v**2/(2*g)",
        symbols=(_z, _p_a, vapour_pressure, water_density, g, _K_up, velocity()),
        function=crest_height,
        source=ENERGY,
        assumptions=("Air that comes out of solution breaks a siphon earlier.",),
    ),
    Equation(
        key="annulus_area",
        title="Area between bell and standpipe",
        relation="A = pi*(D_b**2 - D_o**2)/4",
        symbols=(area(), _D_b, _D_o),
        function=annulus_area,
        source=GEOMETRY,
    ),
    Equation(
        key="annulus_diameter",
        title="Hydraulic diameter between bell and standpipe",
        relation="D_h = D_b - D_o",
        symbols=(
            bore(
                key="D_h",
                name="hydraulic diameter",
                meaning="four times area over wetted edge",
                low=0.001,
                high=1.0,
            ),
            _D_b,
            _D_o,
        ),
        function=annulus_diameter,
        source=GEOMETRY,
    ),
    Equation(
        key="highest_inflow",
        title="Highest inflow that lets the siphon stop",
        relation="Q = Q_s*(1 - m)",
        symbols=(
            flow(meaning="inflow to the siphon's chamber"),
            flow(key="Q_s", name="siphon flow", meaning="siphon's flow with the water at the bell rim"),
            size(
                key="m",
                name="margin",
                meaning="share of the siphon's flow kept as a margin",
                kind="ratio",
                low=0.0,
                high=0.5,
            ),
        ),
        function=highest_inflow,
        source=CONTINUITY,
        assumptions=(
            "Inflow must stay below the siphon's flow at the lowest level; no published limit was found.",
        ),
    ),
)
