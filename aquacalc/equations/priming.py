"""When a standpipe fills, and how long the bell takes to lose its air."""

from __future__ import annotations

import math

from aquacalc.equations import formulas, lip
from aquacalc.equations.record import Choice, Equation, Limit, Source
from aquacalc.equations.sources import GEOMETRY
from aquacalc.equations.symbols import named

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


EQUATIONS = (
    Equation(
        title="Froude number of a flow on the full bore",
        relation="Fr = 4*Q/(pi*D**2*sqrt(g*D))",
        symbols=named("Fr any", "Q", "D siphon", "g"),
        function=formulas.froude_bore,
        source=HILLS,
        assumptions=("The flow is counted over the whole bore although it fills only part of it.",),
    ),
    Equation(
        title="Flow that chokes a bore",
        relation="Q = Fr*pi*D**2/4*sqrt(g*D)",
        symbols=named("Q", "Fr", "D siphon", "g"),
        function=formulas.choking_flow,
        source=HILLS,
        assumptions=("A bell over the pipe limits the air that can follow the water down.",),
    ),
    Equation(
        title="Head over the lip when the siphon primes",
        relation="h = (Fr*D**2*sqrt(g*D)/(4*C_w*D_l))**(2/3)",
        symbols=named("h lip", "C_w", "C_d lip", "D_l lip", "Fr", "D siphon", "g"),
        function=priming_head,
        source=PLAIN_LIP,
        assumptions=("The bore below the lip chokes first.",),
        choose=_priming_branch,
    ),
    Equation(
        title="Rise of a long bubble in still water",
        relation="v = 0.345*sqrt(g*D)",
        symbols=named("v bubble", "D siphon", "g"),
        function=bubble_rise,
        source=BUBBLE,
        assumptions=("Surface tension and viscosity are small.",),
    ),
    Equation(
        title="Bore below which a long bubble does not rise",
        relation="D = 2*sqrt(0.842*sigma/(rho*g))",
        symbols=named("D bubble", "sigma", "rho bubble", "g"),
        function=bubble_bore,
        source=BRETHERTON,
    ),
    Equation(
        title="Flow down a drainage stack with an open air core",
        relation="Q = 27.8*r**(5/3)*(D/0.0254)**(8/3)*6.30902*10**(-5)",
        symbols=named("Q", "r stack", "D stack"),
        function=stack_flow,
        source=STACK,
        assumptions=("Air moves freely down the core: a bore can carry Fr near 1 and still not fill.",),
    ),
    Equation(
        title="Air carried off by a hydraulic jump",
        relation="beta = 0.0066*(Fr - 1)**1.4",
        symbols=named("beta", "Fr jump"),
        function=air_carried,
        source=JUMP,
        assumptions=("The jump fills the pipe below it.",),
    ),
    Equation(
        title="Air trapped in the bell",
        relation="V_a = pi*D_b**2/4*(c - h)",
        symbols=named("V_a", "D_b bell", "c bell", "h trapped"),
        function=trapped_air,
        source=GEOMETRY,
        limits=(Limit.ratio("h", "c", low=0.0, high=1.0, why="water cannot stand above the bell's top"),),
    ),
    Equation(
        title="Time to carry the air out of the bell",
        relation="t = V_a/(0.0066*(Fr - 1)**1.4*Q)",
        symbols=named("t purge", "V_a purge", "Q", "Fr jump"),
        function=purge_time,
        source=JUMP,
        assumptions=(
            "An estimate: no published purge times of bells were found.",
            "The longest and shortest come from jump Froude numbers of 3 and 10.",
        ),
    ),
)
