"""Water through the media of a bed: what it loses on the way to the outlet, what drains and what stays."""

from __future__ import annotations

from aquacalc.equations.common import GEOMETRY, size, velocity, water_density
from aquacalc.equations.record import Equation, Source

ERGUN = Source(
    "Ergun 1952, Fluid flow through packed columns, Chem. Eng. Prog. 48",
    "fluids 1.3.1, documentation of packed_bed",
    "read",
)
RETENTION = Source(
    "definitions of specific yield and specific retention",
    "Heath 1983, Basic Ground-Water Hydrology, USGS WSP 2220 (from memory)",
    "derived",
)


def ergun(mu, e, v, d, rho, L):
    """Pressure (Pa) lost by water at the speed `v` (m/s) through `L` (m) of grains `d` (m)."""
    return L * (150.0 * mu * (1.0 - e) ** 2 * v / (e**3 * d**2) + 1.75 * (1.0 - e) * rho * v**2 / (e**3 * d))


def specific_yield(n, S_r):
    """Part of a media's volume that drains, of its pores `n` and what they hold back `S_r`."""
    return n - S_r


def days_of_water(V, e, A):
    """Time (s) in which evaporation of `e` (m/s) from an area `A` (m2) takes the volume `V` (m3)."""
    return V / (e * A)


_why = "media of beds"
EQUATIONS = (
    Equation(
        "ergun",
        "Pressure lost in media",
        "p = L*(150*mu*(1 - e)**2*v/(e**3*d**2) + 1.75*(1 - e)*rho*v**2/(e**3*d))",
        (
            size("p", "p", "pressure loss", "pressure lost on the way", "pressure", 0.0, 1e7),
            size(
                "mu",
                r"\mu",
                "viscosity",
                "dynamic viscosity of water",
                "dynamic_viscosity",
                4e-4,
                2e-3,
                "water from 0 to 60 degC",
            ),
            size("e", "e", "porosity", "share of the media that is pores", "ratio", 0.3, 0.65, _why),
            velocity(meaning="flow over the whole section of the media"),
            size(
                "d",
                "d",
                "grain size",
                "diameter of a grain, times its sphericity",
                "length",
                5e-4,
                0.05,
                "coarse sand to cobbles",
            ),
            water_density,
            size("L", "L", "length", "way through the media", "distance", 0.0, 20.0),
        ),
        ergun,
        ERGUN,
        (
            "Grains of one size, packed at random, pores full of water.",
            "Within a factor of 1.5 either way for gravel as it is sold (our own estimate).",
        ),
    ),
    Equation(
        "specific_yield",
        "Part of the media that drains",
        "S_y = n - S_r",
        (
            size(
                "S_y",
                "S_y",
                "specific yield",
                "share of the volume that drains by gravity",
                "ratio",
                0.05,
                0.7,
                _why,
            ),
            size("n", "n", "porosity", "share of the volume that is pores", "ratio", 0.15, 0.75, _why),
            size(
                "S_r",
                "S_r",
                "specific retention",
                "share of the volume that stays wet",
                "ratio",
                0.0,
                0.3,
                _why,
            ),
        ),
        specific_yield,
        RETENTION,
    ),
    Equation(
        "days_of_water",
        "Time that evaporation takes for a volume",
        "t = V/(e*A)",
        (
            size("t", "t", "time", "until the volume is gone", "time", 0.0, 1e8),
            size("V", "V", "volume", "water that may go", "volume", 1e-4, 100.0),
            size(
                "e",
                "e",
                "evaporation",
                "depth of water a second: 1 mm a day is 1.157e-8 m/s",
                "velocity",
                5e-9,
                1e-7,
                "under 1 mm a day in winter to 8 in a hot summer",
            ),
            size("A", "A", "area", "area that evaporates", "area", 0.01, 1000.0),
        ),
        days_of_water,
        GEOMETRY,
    ),
)
