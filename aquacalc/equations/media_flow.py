"""Water through the media of a bed: what it loses on the way to the outlet, what drains and what stays."""

from __future__ import annotations

from aquacalc.equations.record import Equation, Source
from aquacalc.equations.sources import GEOMETRY
from aquacalc.equations.symbols import named

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


EQUATIONS = (
    Equation(
        title="Pressure lost in media",
        relation="p = L*(150*mu*(1 - e)**2*v/(e**3*d**2) + 1.75*(1 - e)*rho*v**2/(e**3*d))",
        symbols=named("p media", "mu media", "e media", "v media", "d grain", "rho", "L media"),
        function=ergun,
        source=ERGUN,
        assumptions=(
            "Grains of one size, packed at random, pores full of water.",
            "Within a factor of 1.5 either way for gravel as it is sold (our own estimate).",
        ),
    ),
    Equation(
        title="Part of the media that drains",
        relation="S_y = n - S_r",
        symbols=named("S_y", "n media", "S_r"),
        function=specific_yield,
        source=RETENTION,
    ),
    Equation(
        title="Time that evaporation takes for a volume",
        relation="t = V/(e*A)",
        symbols=named("t lasting", "V to lose", "e evaporation", "A evaporating"),
        function=days_of_water,
        source=GEOMETRY,
    ),
)
