"""Volumes of beds and tanks, and the times they take to fill and drain."""

from __future__ import annotations

import math

from aquacalc.equations import formulas
from aquacalc.equations.record import Choice, Equation, Limit, Source
from aquacalc.equations.sources import CONTINUITY, GEOMETRY
from aquacalc.equations.symbols import named

TORRICELLI = Source("Torricelli's law integrated over the falling level", "", "derived")
MEDIA = Source("definition of drainable porosity", "", "derived")


def box_volume(L, W, h):
    """Volume (m3) of a rectangular tank filled to `h` (m)."""
    return L * W * h


def round_volume(D, h):
    """Volume (m3) of an upright round tank filled to `h` (m)."""
    return math.pi * D**2 * h / 4.0


def table_volume(h, h_1, h_2, A_1, A_2, V_1):
    """Volume (m3) at `h` between two rows of a depth-area table, straight between them."""
    return V_1 + (h - h_1) * (A_1 + (A_2 - A_1) * (h - h_1) / (2.0 * (h_2 - h_1)))


def bed_water(phi, A, h, h_m):
    """Drainable water (m3) in a straight-sided bed of area `A` filled to `h`, media to `h_m` (m)."""
    if h <= h_m:
        return phi * A * h
    return phi * A * h_m + A * (h - h_m)


def fill_time(V, Q):
    """Time (s) to fill volume `V` (m3) at flow `Q` (m3/s)."""
    return V / Q


def cycle_time(V, Q_i, Q_s):
    """Time (s) to fill at `Q_i` and drain at the mean flow `Q_s` (m3/s) with the inflow running."""
    return V / Q_i + V / (Q_s - Q_i)


def drain_time(A, C_d, A_o, h_1, h_2, g):
    """Time (s) for a straight-sided tank of area `A` to fall from `h_1` to `h_2` through an orifice."""
    return 2.0 * A / (C_d * A_o * math.sqrt(2.0 * g)) * (math.sqrt(h_1) - math.sqrt(h_2))


def drum_drain_time(D, L, C_d, A_o, h_1, h_2, g):
    """Time (s) for a horizontal cylinder to fall from `h_1` to `h_2` through an orifice at its bottom."""
    return 4.0 * L / (3.0 * C_d * A_o * math.sqrt(2.0 * g)) * ((D - h_2) ** 1.5 - (D - h_1) ** 1.5)


def _bed_branch(values: dict[str, float]) -> Choice:
    h, h_m = values["h"], values["h_m"]
    if h <= h_m:
        filled = h / h_m if h_m > 0.0 else 0.0
        return Choice(
            "V = phi*A*h", f"h/h_m = {filled:.3f} is not above 1, so the water stays inside the media."
        )
    # turned round: there may be no media at all
    sentence = f"h_m/h = {h_m / h:.3f} is below 1, so water stands above the media."
    return Choice("V = phi*A*h_m + A*(h - h_m)", sentence)


_UNDER_RIM = Limit.ratio("z", "H", low=0.0, high=1.0, why="the tank is full there")
_IN_DRUM = Limit.ratio("z", "D", low=0.0, high=1.0, why="the drum is full there")
_FALLS = Limit.ratio("h_2", "h_1", low=0.0, high=1.0, why="the level falls")

EQUATIONS = (
    Equation(
        title="Water in a rectangular tank",
        relation="V = L*W*h",
        symbols=named("V", "L tank", "W", "h tank"),
        function=box_volume,
        source=GEOMETRY,
    ),
    Equation(
        title="Water surface in a tapered tank",
        relation="A = (L0 + (L1 - L0)*z/H)*(W0 + (W1 - W0)*z/H)",
        symbols=named("A plan", "L0", "W0", "L1", "W1", "H tank", "z"),
        function=formulas.tapered_area,
        source=GEOMETRY,
        assumptions=("The sides are flat.",),
        limits=(_UNDER_RIM,),
    ),
    Equation(
        title="Water in a tapered tank",
        relation="V = z*(L0*W0 + (L0*(W1 - W0) + W0*(L1 - L0))*z/(2*H) + (L1 - L0)*(W1 - W0)*z**2/(3*H**2))",
        symbols=named("V", "L0", "W0", "L1", "W1", "H tank", "z"),
        function=formulas.tapered_volume,
        source=GEOMETRY,
        assumptions=("The sides are flat.",),
        limits=(_UNDER_RIM,),
    ),
    Equation(
        title="Water surface in an oval tank",
        relation="A = pi/4*(L0 + (L1 - L0)*z/H)*(W0 + (W1 - W0)*z/H)",
        symbols=named("A plan", "L0", "W0", "L1", "W1", "H tank", "z"),
        function=formulas.oval_area,
        source=GEOMETRY,
        assumptions=("Every level is an ellipse.", "The wall is straight from floor to rim."),
        limits=(_UNDER_RIM,),
    ),
    Equation(
        title="Water in an oval tank",
        relation="V = pi*z/4*(L0*W0 + (L0*(W1 - W0) + W0*(L1 - L0))*z/(2*H)"
        " + (L1 - L0)*(W1 - W0)*z**2/(3*H**2))",
        symbols=named("V", "L0", "W0", "L1", "W1", "H tank", "z"),
        function=formulas.oval_volume,
        source=GEOMETRY,
        assumptions=("Every level is an ellipse.", "The wall is straight from floor to rim."),
        limits=(_UNDER_RIM,),
    ),
    Equation(
        title="Water in an upright round tank",
        relation="V = pi*D**2*h/4",
        symbols=named("V", "D tank", "h tank"),
        function=round_volume,
        source=GEOMETRY,
    ),
    Equation(
        title="Water surface in a drum on its side",
        relation="A = 2*L*sqrt(z*(D - z))",
        symbols=named("A plan", "D tank", "L tank", "z"),
        function=formulas.drum_area,
        source=GEOMETRY,
        assumptions=("The drum is a plain cylinder and lies level.",),
        limits=(_IN_DRUM,),
    ),
    Equation(
        title="Water in a drum on its side",
        relation="V = L*D**2/4*(acos(1 - 2*z/D) - (1 - 2*z/D)*sqrt(1 - (1 - 2*z/D)**2))",
        symbols=named("V", "D tank", "L tank", "z"),
        function=formulas.drum_volume,
        source=GEOMETRY,
        assumptions=("The drum is a plain cylinder and lies level.",),
        limits=(_IN_DRUM,),
    ),
    Equation(
        title="Water in a tank given by depths and areas",
        relation="V = V_1 + (h - h_1)*(A_1 + (A_2 - A_1)*(h - h_1)/(2*(h_2 - h_1)))",
        symbols=named("V", "h table", "h_1 row", "h_2 row", "A_1", "A_2", "V_1"),
        function=table_volume,
        source=GEOMETRY,
        assumptions=("The area changes evenly between rows.",),
        limits=(
            Limit(
                name="place between rows",
                function=lambda v: (v["h"] - v["h_1"]) / (v["h_2"] - v["h_1"]),
                low=0.0,
                high=1.0,
                why="the table says nothing outside its rows",
            ),
        ),
    ),
    Equation(
        title="Drainable water in a bed",
        relation="V = phi*A*h",
        symbols=named("V", "phi", "A plan", "h tank", "h_m"),
        function=bed_water,
        source=MEDIA,
        assumptions=("The bed has straight sides.", "Water above the media is free."),
        choose=_bed_branch,
    ),
    Equation(
        title="Time to fill",
        relation="t = V/Q",
        symbols=named("t", "V", "Q"),
        function=fill_time,
        source=CONTINUITY,
        assumptions=("The inflow is steady and nothing leaves.",),
    ),
    Equation(
        title="Time of a flood and drain",
        relation="t = V/Q_i + V/(Q_s - Q_i)",
        symbols=named("t", "V", "Q_i", "Q_s mean"),
        function=cycle_time,
        source=CONTINUITY,
        assumptions=("The siphon's flow is taken at its mean.",),
        limits=(
            Limit.ratio("Q_i", "Q_s", low=0.0, high=0.99, why="the siphon must carry more than flows in"),
        ),
    ),
    Equation(
        title="Time to drain a tank through an opening",
        relation="t = 2*A/(C_d*A_o*sqrt(2*g))*(sqrt(h_1) - sqrt(h_2))",
        symbols=named("t", "A plan", "C_d", "A_o outlet", "h_1", "h_2", "g"),
        function=drain_time,
        source=TORRICELLI,
        assumptions=("The tank has straight sides and nothing flows in.",),
        limits=(_FALLS,),
    ),
    Equation(
        title="Time to drain a drum on its side through an opening",
        relation="t = 4*L/(3*C_d*A_o*sqrt(2*g))*((D - h_2)**1.5 - (D - h_1)**1.5)",
        symbols=named("t", "D tank", "L tank", "C_d", "A_o outlet", "h_1", "h_2", "g"),
        function=drum_drain_time,
        source=TORRICELLI,
        assumptions=("The opening is at the lowest line of the drum and nothing flows in.",),
        limits=(
            _FALLS,
            Limit.ratio("h_1", "D", low=0.0, high=1.0, why="the drum is full there"),
        ),
    ),
)
