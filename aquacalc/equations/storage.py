"""Volumes of beds and tanks, and the times they take to fill and drain."""

from __future__ import annotations

import functools
import math

from aquacalc.equations import formulas
from aquacalc.equations.common import (
    CONTINUITY,
    GEOMETRY,
    area,
    bore,
    discharge_coefficient,
    flow,
    g,
    porosity,
    size,
)
from aquacalc.equations.record import Choice, Equation, Limit, Source, Symbol

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


def _depth(why="inside the tank"):
    return size("h", "h", "depth", "water above the floor", "head", 0.0, 3.0, why)


_V = size("V", "V", "volume", "volume of water", "volume", 0.0, 100.0)
_A = area(meaning="plan area", kind="area", low=1e-3, high=100.0)
_D = bore(name="diameter", meaning="inside diameter", low=0.05, high=5.0)
_L = size("L", "L", "length", "inside length", "length", 0.05, 10.0)
_W = size("W", "W", "width", "inside width", "length", 0.05, 10.0)
_side = functools.partial(Symbol, kind="length", low=0.05, high=10.0, why="tanks and troughs")
_TAPER = (
    _side("L0", "L_0", "floor length", "inside length at the floor"),
    _side("W0", "W_0", "floor width", "inside width at the floor"),
    _side("L1", "L_1", "rim length", "inside length at the rim"),
    _side("W1", "W_1", "rim width", "inside width at the rim"),
    size("H", "H", "tank depth", "floor to rim", "length", 0.01, 3.0),
    size("z", "z", "depth", "water above the floor", "head", 0.0, 3.0, "inside the tank"),
)
_z = _TAPER[-1]
_UNDER_RIM = Limit("z/H", lambda v: v["z"] / v["H"], 0.0, 1.0, "the tank is full there")
_IN_DRUM = Limit("z/D", lambda v: v["z"] / v["D"], 0.0, 1.0, "the drum is full there")
_h_1 = size("h_1", "h_1", "first level", "water above the opening at the start", "head", 0.0, 10.0)
_h_2 = size("h_2", "h_2", "last level", "water above the opening at the end", "head", 0.0, 10.0)
_FALLS = Limit("h_2/h_1", lambda v: v["h_2"] / v["h_1"], 0.0, 1.0, "the level falls")
_A_o = area("A_o", "A_o", "opening", "area of the opening")
_t = size("t", "t", "time", "time taken", "time", 0.0, 1e7)

EQUATIONS = (
    Equation(
        "box_volume", "Water in a rectangular tank", "V = L*W*h", (_V, _L, _W, _depth()), box_volume, GEOMETRY
    ),
    Equation(
        "tapered_area",
        "Water surface in a tapered tank",
        "A = (L0 + (L1 - L0)*z/H)*(W0 + (W1 - W0)*z/H)",
        (_A, *_TAPER),
        formulas.tapered_area,
        GEOMETRY,
        ("The sides are flat.",),
        limits=(_UNDER_RIM,),
    ),
    Equation(
        "tapered_volume",
        "Water in a tapered tank",
        "V = z*(L0*W0 + (L0*(W1 - W0) + W0*(L1 - L0))*z/(2*H) + (L1 - L0)*(W1 - W0)*z**2/(3*H**2))",
        (_V, *_TAPER),
        formulas.tapered_volume,
        GEOMETRY,
        ("The sides are flat.",),
        limits=(_UNDER_RIM,),
    ),
    Equation(
        "oval_area",
        "Water surface in an oval tank",
        "A = pi/4*(L0 + (L1 - L0)*z/H)*(W0 + (W1 - W0)*z/H)",
        (_A, *_TAPER),
        formulas.oval_area,
        GEOMETRY,
        ("Every level is an ellipse.", "The wall is straight from floor to rim."),
        limits=(_UNDER_RIM,),
    ),
    Equation(
        "oval_volume",
        "Water in an oval tank",
        "V = pi*z/4*(L0*W0 + (L0*(W1 - W0) + W0*(L1 - L0))*z/(2*H) + (L1 - L0)*(W1 - W0)*z**2/(3*H**2))",
        (_V, *_TAPER),
        formulas.oval_volume,
        GEOMETRY,
        ("Every level is an ellipse.", "The wall is straight from floor to rim."),
        limits=(_UNDER_RIM,),
    ),
    Equation(
        "round_volume",
        "Water in an upright round tank",
        "V = pi*D**2*h/4",
        (_V, _D, _depth()),
        round_volume,
        GEOMETRY,
    ),
    Equation(
        "drum_area",
        "Water surface in a drum on its side",
        "A = 2*L*sqrt(z*(D - z))",
        (_A, _D, _L, _z),
        formulas.drum_area,
        GEOMETRY,
        ("The drum is a plain cylinder and lies level.",),
        limits=(_IN_DRUM,),
    ),
    Equation(
        "drum_volume",
        "Water in a drum on its side",
        "V = L*D**2/4*(acos(1 - 2*z/D) - (1 - 2*z/D)*sqrt(1 - (1 - 2*z/D)**2))",
        (_V, _D, _L, _z),
        formulas.drum_volume,
        GEOMETRY,
        ("The drum is a plain cylinder and lies level.",),
        limits=(_IN_DRUM,),
    ),
    Equation(
        "table_volume",
        "Water in a tank given by depths and areas",
        "V = V_1 + (h - h_1)*(A_1 + (A_2 - A_1)*(h - h_1)/(2*(h_2 - h_1)))",
        (
            _V,
            _depth("between two rows of the table"),
            size("h_1", "h_1", "lower row", "depth of the row below", "head", 0.0, 3.0),
            size("h_2", "h_2", "upper row", "depth of the row above", "head", 0.0, 3.0),
            area("A_1", "A_1", "lower area", "plan area at the row below", "area", 1e-3, 100.0),
            area("A_2", "A_2", "upper area", "plan area at the row above", "area", 1e-3, 100.0),
            size("V_1", "V_1", "lower volume", "volume up to the row below", "volume", 0.0, 100.0),
        ),
        table_volume,
        GEOMETRY,
        ("The area changes evenly between rows.",),
        limits=(
            Limit(
                "place between rows",
                lambda v: (v["h"] - v["h_1"]) / (v["h_2"] - v["h_1"]),
                0.0,
                1.0,
                "the table says nothing outside its rows",
            ),
        ),
    ),
    Equation(
        "bed_water",
        "Drainable water in a bed",
        "V = phi*A*h",
        (
            _V,
            porosity,
            _A,
            _depth(),
            size("h_m", "h_m", "media depth", "top of the media above the floor", "head", 0.0, 3.0),
        ),
        bed_water,
        MEDIA,
        ("The bed has straight sides.", "Water above the media is free."),
        choose=_bed_branch,
    ),
    Equation(
        "fill_time",
        "Time to fill",
        "t = V/Q",
        (_t, _V, flow()),
        fill_time,
        CONTINUITY,
        ("The inflow is steady and nothing leaves.",),
    ),
    Equation(
        "cycle_time",
        "Time of a flood and drain",
        "t = V/Q_i + V/(Q_s - Q_i)",
        (
            _t,
            _V,
            flow("Q_i", "Q_i", "inflow", "steady inflow"),
            flow("Q_s", "Q_s", "siphon flow", "mean flow of the siphon while it drains"),
        ),
        cycle_time,
        CONTINUITY,
        ("The siphon's flow is taken at its mean.",),
        limits=(
            Limit(
                "Q_i/Q_s",
                lambda v: v["Q_i"] / v["Q_s"],
                0.0,
                0.99,
                "the siphon must carry more than flows in",
            ),
        ),
    ),
    Equation(
        "drain_time",
        "Time to drain a tank through an opening",
        "t = 2*A/(C_d*A_o*sqrt(2*g))*(sqrt(h_1) - sqrt(h_2))",
        (_t, _A, discharge_coefficient, _A_o, _h_1, _h_2, g),
        drain_time,
        TORRICELLI,
        ("The tank has straight sides and nothing flows in.",),
        limits=(_FALLS,),
    ),
    Equation(
        "drum_drain_time",
        "Time to drain a drum on its side through an opening",
        "t = 4*L/(3*C_d*A_o*sqrt(2*g))*((D - h_2)**1.5 - (D - h_1)**1.5)",
        (_t, _D, _L, discharge_coefficient, _A_o, _h_1, _h_2, g),
        drum_drain_time,
        TORRICELLI,
        ("The opening is at the lowest line of the drum and nothing flows in.",),
        limits=(_FALLS, Limit("h_1/D", lambda v: v["h_1"] / v["D"], 0.0, 1.0, "the drum is full there")),
    ),
)
