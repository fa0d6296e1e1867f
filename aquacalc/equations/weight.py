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
    key="rho_m",
    name="bulk density",
    meaning="dry mass of the media by its heaped volume",
    kind="density",
    low=100.0,
    high=2000.0,
    why="lightest expanded clay to heavy gravel",
)

EQUATIONS = (
    Equation(
        key="wet_mass",
        title="Wet mass of a bed",
        relation="M = m + rho_m*V_m + rho*V_w",
        symbols=(
            size(key="M", name="wet mass", meaning="mass of the flooded bed", kind="mass", low=0.0, high=1e5),
            size(key="m", name="empty mass", meaning="mass of the vessel", kind="mass", low=0.0, high=1e4),
            _rho_m,
            size(
                key="V_m",
                name="media volume",
                meaning="heaped volume of the media",
                kind="volume",
                low=0.0,
                high=50.0,
            ),
            water_density,
            size(
                key="V_w",
                name="water volume",
                meaning="water in and above the media",
                kind="volume",
                low=0.0,
                high=50.0,
            ),
        ),
        function=wet_mass,
        source=SUM,
    ),
    Equation(
        key="floor_load",
        title="Load on the floor",
        relation="q = M/A",
        symbols=(
            size(key="q", name="load", meaning="mass by area", kind="load", low=0.0, high=1e5),
            size(key="M", name="wet mass", meaning="mass of the flooded bed", kind="mass", low=0.0, high=1e5),
            area(meaning="area that carries it", kind="area", low=1e-3, high=100.0),
        ),
        function=floor_load,
        source=SUM,
        assumptions=("The load is spread evenly.",),
    ),
    Equation(
        key="media_load",
        title="Load of flooded media",
        relation="q = rho_m*h_m + phi*rho*h",
        symbols=(
            size(key="q", name="load", meaning="mass by area", kind="load", low=0.0, high=1e5),
            _rho_m,
            size(
                key="h_m", name="media depth", meaning="depth of the media", kind="length", low=0.0, high=3.0
            ),
            porosity,
            water_density,
            size(
                key="h", name="depth", meaning="depth of water in the media", kind="length", low=0.0, high=3.0
            ),
        ),
        function=media_load,
        source=SUM,
        assumptions=("The water stays inside the media.",),
    ),
)
