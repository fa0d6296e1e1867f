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
        key="ergun",
        title="Pressure lost in media",
        relation="p = L*(150*mu*(1 - e)**2*v/(e**3*d**2) + 1.75*(1 - e)*rho*v**2/(e**3*d))",
        symbols=(
            size(
                key="p",
                name="pressure loss",
                meaning="pressure lost on the way",
                kind="pressure",
                low=0.0,
                high=1e7,
            ),
            size(
                key="mu",
                name="viscosity",
                meaning="dynamic viscosity of water",
                kind="dynamic_viscosity",
                low=4e-4,
                high=2e-3,
                why="water from 0 to 60 degC",
            ),
            size(
                key="e",
                name="porosity",
                meaning="share of the media that is pores",
                kind="ratio",
                low=0.3,
                high=0.65,
                why=_why,
            ),
            velocity(meaning="flow over the whole section of the media"),
            size(
                key="d",
                name="grain size",
                meaning="diameter of a grain, times its sphericity",
                kind="length",
                low=5e-4,
                high=0.05,
                why="coarse sand to cobbles",
            ),
            water_density,
            size(
                key="L", name="length", meaning="way through the media", kind="distance", low=0.0, high=20.0
            ),
        ),
        function=ergun,
        source=ERGUN,
        assumptions=(
            "Grains of one size, packed at random, pores full of water.",
            "Within a factor of 1.5 either way for gravel as it is sold (our own estimate).",
        ),
    ),
    Equation(
        key="specific_yield",
        title="Part of the media that drains",
        relation="S_y = n - S_r",
        symbols=(
            size(
                key="S_y",
                name="specific yield",
                meaning="share of the volume that drains by gravity",
                kind="ratio",
                low=0.05,
                high=0.7,
                why=_why,
            ),
            size(
                key="n",
                name="porosity",
                meaning="share of the volume that is pores",
                kind="ratio",
                low=0.15,
                high=0.75,
                why=_why,
            ),
            size(
                key="S_r",
                name="specific retention",
                meaning="share of the volume that stays wet",
                kind="ratio",
                low=0.0,
                high=0.3,
                why=_why,
            ),
        ),
        function=specific_yield,
        source=RETENTION,
    ),
    Equation(
        key="days_of_water",
        title="Time that evaporation takes for a volume",
        relation="t = V/(e*A)",
        symbols=(
            size(key="t", name="time", meaning="until the volume is gone", kind="time", low=0.0, high=1e8),
            size(key="V", name="volume", meaning="water that may go", kind="volume", low=1e-4, high=100.0),
            size(
                key="e",
                name="evaporation",
                meaning="depth of water a second: 1 mm a day is 1.157e-8 m/s",
                kind="velocity",
                low=5e-9,
                high=1e-7,
                why="under 1 mm a day in winter to 8 in a hot summer",
            ),
            size(key="A", name="area", meaning="area that evaporates", kind="area", low=0.01, high=1000.0),
        ),
        function=days_of_water,
        source=GEOMETRY,
    ),
)
