"""When a standpipe fills, and how long the bell takes to lose its air."""

from __future__ import annotations

import math

from aquacalc.equations import formulas, lip
from aquacalc.equations.common import GEOMETRY, bore, flow, g, size
from aquacalc.equations.record import Choice, Equation, Limit, Source

HILLS = Source(
    "Hills 1983, Designing piping for gravity flow, Chem. Eng. (self-venting below 0.3); "
    "Simpson 1968, Chem. Eng. (pulsing 0.3 to 1, full bore above about 1; from memory)",
    "Hills quoted in a worked example",
    "read",
)
PLAIN_LIP = Source("choking flow put through the lip law", "", "derived")
BUBBLE = Source(
    "Dumitrescu 1943; Davies & Taylor 1950", "fluids 1.3.1, which has 0.35 by Nicklin et al. 1962", "read"
)
BRETHERTON = Source("Bretherton 1961, The motion of long bubbles in tubes", "Bretherton 1961", "read")
STACK = Source(
    "Wyly & Eaton 1961, NBS Monograph 31", "National Standard Plumbing Code 2006, table 13.6.1", "read"
)
JUMP = Source("Kalinske & Robertson 1943, Closed conduit flow, Trans. ASCE", "", "from memory")

#: Froude numbers of the hydraulic jump in a falling tail: low, central, high.
PURGE_FROUDE = (3.0, 5.0, 10.0)
_JUMP_WHY = "jumps measured in pipes; below 1 there is no jump"


def priming_head(C_w, C_d, D_l, Fr, D, g):
    """Head over a lip `D_l` (m) at the flow that chokes the bore `D` (m) at `Fr`, m."""
    return formulas.lip_head(C_w, C_d, D_l, formulas.choking_flow(Fr, D, g), g)


def bubble_rise(D, g):
    """Velocity (m/s) at which a long bubble rises in still water in a bore `D` (m)."""
    return 0.345 * math.sqrt(g * D)


def bubble_bore(sigma, rho, g):
    """Bore (m) below which a long bubble does not rise; `sigma` N/m, `rho` kg/m3."""
    return 2.0 * math.sqrt(0.842 * sigma / (rho * g))


def stack_flow(r, D):
    """Flow (m3/s) that covers the share `r` of a drainage stack of bore `D` (m) as a wall film."""
    return 27.8 * r ** (5 / 3) * (D / 0.0254) ** (8 / 3) * 6.30902e-5


def air_carried(Fr):
    """Air carried off by a hydraulic jump over water flow, at Froude number `Fr` before it."""
    return 0.0066 * (Fr - 1.0) ** 1.4


def trapped_air(D_b, c, h):
    """Air (m3) in a bell of bore `D_b` (m) with its top `c` above the lip, water `h` over the lip."""
    return 0.25 * math.pi * D_b**2 * (c - h)


def purge_time(V_a, Q, Fr):
    """Time (s) for flow `Q` (m3/s) to carry off the air `V_a` (m3)."""
    return V_a / (air_carried(Fr) * Q)


def purge_band(V_a: float, Q: float) -> tuple[float, float, float]:
    """Return the shortest, central and longest purge time, s: the jump's Froude number 10, 5 and 3.

    Parameters
    ----------
    V_a : float
        Trapped air, m3.
    Q : float
        Water flow, m3/s.
    """
    low, middle, high = PURGE_FROUDE
    return purge_time(V_a, Q, high), purge_time(V_a, Q, middle), purge_time(V_a, Q, low)


def _priming_branch(values: dict[str, float]) -> Choice:
    Q = formulas.choking_flow(values["Fr"], values["D"], values["g"])
    given = {"C_w": values["C_w"], "C_d": values["C_d"], "D": values["D_l"], "Q": Q, "g": values["g"]}
    chosen = lip.lip_branch(given, by_head=False)
    weir = "h = (Fr*D**2*sqrt(g*D)/(4*C_w*D_l))**(2/3)"
    orifice = "h = (Fr*D**2*sqrt(g*D)/(C_d*D_l**2))**2/(2*g)"
    return Choice(weir if chosen.relation == lip.WEIR_HEAD else orifice, chosen.sentence)


_FR_WHY = "below 0.3 the bore trickles and vents itself, above 1 it runs full; between is uncertain"
_BORE = bore(low=0.01, why="below about 10 mm a bore can hold water by surface tension")
_THRESHOLD = size(
    "Fr", r"\mathrm{Fr}", "Froude number", "Froude number on the full bore", "number", 0.3, 1.0, _FR_WHY, 0.55
)
_JUMP_FR = size(
    "Fr",
    r"\mathrm{Fr}",
    "jump Froude number",
    "Froude number of the water before the jump in the tail",
    "number",
    3.0,
    10.0,
    _JUMP_WHY,
    PURGE_FROUDE[1],
)

EQUATIONS = (
    Equation(
        "froude_bore",
        "Froude number of a flow on the full bore",
        "Fr = 4*Q/(pi*D**2*sqrt(g*D))",
        (
            size("Fr", r"\mathrm{Fr}", "Froude number", "flow against gravity", "number", 1e-4, 100.0),
            flow(),
            _BORE,
            g,
        ),
        formulas.froude_bore,
        HILLS,
        ("The flow is counted over the whole bore although it fills only part of it.",),
    ),
    Equation(
        "choking_flow",
        "Flow that chokes a bore",
        "Q = Fr*pi*D**2/4*sqrt(g*D)",
        (flow(), _THRESHOLD, _BORE, g),
        formulas.choking_flow,
        HILLS,
        ("A bell over the pipe limits the air that can follow the water down.",),
    ),
    Equation(
        "priming_head",
        "Head over the lip when the siphon primes",
        "h = (Fr*D**2*sqrt(g*D)/(4*C_w*D_l))**(2/3)",
        (
            lip.h,
            lip.C_w,
            lip.C_d,
            size("D_l", "D_l", "lip diameter", "inside diameter of the lip", "length", 0.01, 0.3),
            _THRESHOLD,
            _BORE,
            g,
        ),
        priming_head,
        PLAIN_LIP,
        ("The bore below the lip chokes first.",),
        choose=_priming_branch,
    ),
    Equation(
        "bubble_rise",
        "Rise of a long bubble in still water",
        "v = 0.345*sqrt(g*D)",
        (size("v", "v", "rise", "velocity of the bubble", "velocity", 0.01, 2.0), _BORE, g),
        bubble_rise,
        BUBBLE,
        ("Surface tension and viscosity are small.",),
    ),
    Equation(
        "bubble_bore",
        "Bore below which a long bubble does not rise",
        "D = 2*sqrt(0.842*sigma/(rho*g))",
        (
            bore(low=0.001, high=0.02),
            size(
                "sigma", r"\sigma", "surface tension", "surface tension of water, N/m", "number", 0.02, 0.08
            ),
            size("rho", r"\rho", "density", "density of water", "density", 900.0, 1100.0),
            g,
        ),
        bubble_bore,
        BRETHERTON,
    ),
    Equation(
        "stack_flow",
        "Flow down a drainage stack with an open air core",
        "Q = 27.8*r**(5/3)*(D/0.0254)**(8/3)*6.30902*10**(-5)",
        (
            flow(),
            size(
                "r",
                "r",
                "filled share",
                "share of the stack's area that is water",
                "ratio",
                0.25,
                7 / 24,
                "stacks were measured between a quarter and 7/24 full",
            ),
            bore(low=0.03, why="stacks of 1-1/4 in and more"),
        ),
        stack_flow,
        STACK,
        ("Air moves freely down the core: a bore can carry Fr near 1 and still not fill.",),
    ),
    Equation(
        "air_carried",
        "Air carried off by a hydraulic jump",
        "beta = 0.0066*(Fr - 1)**1.4",
        (size("beta", r"\beta", "air share", "air flow over water flow", "number", 0.0, 1.0), _JUMP_FR),
        air_carried,
        JUMP,
        ("The jump fills the pipe below it.",),
    ),
    Equation(
        "trapped_air",
        "Air trapped in the bell",
        "V_a = pi*D_b**2/4*(c - h)",
        (
            size("V_a", "V_a", "trapped air", "air above the water in the bell", "volume", 0.0, 1.0),
            bore("D_b", "D_b", "bell bore", "inside diameter of the bell", 0.02, 1.0),
            size("c", "c", "clearance", "bell top above the lip", "length", 1e-3, 1.0),
            size("h", "h", "lip head", "water level above the lip", "head", 0.0, 1.0),
        ),
        trapped_air,
        GEOMETRY,
        limits=(
            Limit("h/c", lambda v: v["h"] / v["c"], 0.0, 1.0, "water cannot stand above the bell's top"),
        ),
    ),
    Equation(
        "purge_time",
        "Time to carry the air out of the bell",
        "t = V_a/(0.0066*(Fr - 1)**1.4*Q)",
        (
            size("t", "t", "purge time", "from priming to running full", "time", 0.0, 86400.0),
            size("V_a", "V_a", "trapped air", "air above the water in the bell", "volume", 1e-7, 1.0),
            flow(),
            _JUMP_FR,
        ),
        purge_time,
        JUMP,
        (
            "An estimate: no measured purge times of bells were found published.",
            "The longest and shortest come from jump Froude numbers of 3 and 10.",
        ),
    ),
)
