"""What a flooded bed weighs."""

from __future__ import annotations

from aquacalc.equations.record import Equation, Source
from aquacalc.equations.symbols import named

SUM = Source("masses added", "", "derived")


def wet_mass(m, rho_m, V_m, rho, V_w):
    """Mass (kg) of a vessel `m` with media `V_m` of bulk density `rho_m` and water `V_w`."""
    return m + rho_m * V_m + rho * V_w


def floor_load(M, A):
    """Mass `M` (kg) over the area it stands on `A` (m2), kg/m2."""
    return M / A


def media_load(rho_m, h_m, phi, rho, h):
    """Mass (kg/m2) of media `h_m` deep (m) with its pores full of water to `h` (m)."""
    return rho_m * h_m + phi * rho * h


EQUATIONS = (
    Equation(
        title="Wet mass of a bed",
        relation="M = m + rho_m*V_m + rho*V_w",
        symbols=named("M", "m vessel", "rho_m", "V_m", "rho", "V_w"),
        function=wet_mass,
        source=SUM,
    ),
    Equation(
        title="Load on the floor",
        relation="q = M/A",
        symbols=named("q", "M", "A floor"),
        function=floor_load,
        source=SUM,
        assumptions=("The load is spread evenly.",),
    ),
    Equation(
        title="Load of flooded media",
        relation="q = rho_m*h_m + phi*rho*h",
        symbols=named("q", "rho_m", "h_m load", "phi", "rho", "h media"),
        function=media_load,
        source=SUM,
        assumptions=("The water stays inside the media.",),
    ),
)
