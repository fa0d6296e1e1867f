"""What a flooded bed weighs."""

from __future__ import annotations

from aquacalc.equations.common import area, porosity, size, water_density
from aquacalc.equations.record import Equation, Source

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


_rho_m = size(
    "rho_m",
    r"\rho_m",
    "bulk density",
    "dry mass of the media by its heaped volume",
    "density",
    100.0,
    2000.0,
    "lightest expanded clay to heavy gravel",
)

EQUATIONS = (
    Equation(
        "wet_mass",
        "Wet mass of a bed",
        "M = m + rho_m*V_m + rho*V_w",
        (
            size("M", "M", "wet mass", "mass of the flooded bed", "mass", 0.0, 1e5),
            size("m", "m", "empty mass", "mass of the vessel", "mass", 0.0, 1e4),
            _rho_m,
            size("V_m", "V_m", "media volume", "heaped volume of the media", "volume", 0.0, 50.0),
            water_density,
            size("V_w", "V_w", "water volume", "water in and above the media", "volume", 0.0, 50.0),
        ),
        wet_mass,
        SUM,
    ),
    Equation(
        "floor_load",
        "Load on the floor",
        "q = M/A",
        (
            size("q", "q", "load", "mass by area", "load", 0.0, 1e5),
            size("M", "M", "wet mass", "mass of the flooded bed", "mass", 0.0, 1e5),
            area(meaning="area that carries it", kind="area", low=1e-3, high=100.0),
        ),
        floor_load,
        SUM,
        ("The load is spread evenly.",),
    ),
    Equation(
        "media_load",
        "Load of flooded media",
        "q = rho_m*h_m + phi*rho*h",
        (
            size("q", "q", "load", "mass by area", "load", 0.0, 1e5),
            _rho_m,
            size("h_m", "h_m", "media depth", "depth of the media", "length", 0.0, 3.0),
            porosity,
            water_density,
            size("h", "h", "depth", "depth of water in the media", "length", 0.0, 3.0),
        ),
        media_load,
        SUM,
        ("The water stays inside the media.",),
    ),
)
