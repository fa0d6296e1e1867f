"""Pumps: what the pipes ask, where pump and pipes meet, speed and running cost."""

from __future__ import annotations

import math

from aquacalc.equations.record import Equation, Limit, Source
from aquacalc.equations.sources import ENERGY
from aquacalc.equations.symbols import named

HYDROSTATICS = Source("hydrostatics", "Hydraulic Institute Engineering Data Book, eq. 1.A.1", "read")
AFFINITY = Source(
    "affinity laws, Hydraulic Institute Engineering Data Book",
    "Hydraulic Institute Engineering Data Book",
    "read",
)
SYSTEM = Source(
    "Hydraulic Institute Engineering Data Book, system curve",
    "Hydraulic Institute Engineering Data Book",
    "read",
)
DUTY = Source("pump parabola and system curve set equal", "", "derived")
BOX = Source("a parabola through the two figures of a pump's box", "", "derived")
ONE_POINT = Source("EPANET, pump curve by one operating point", "the source of EPANET", "read")
COST = Source("power times time times price", "", "derived")


def system_head(H_s, f, L, D, K, Q, A, g):
    """Head (m) that the pipes ask at flow `Q` (m3/s) over a static lift `H_s` (m)."""
    return H_s + (f * L / D + K) * (Q / A) ** 2 / (2.0 * g)


def duty_flow(H_0, H_s, a, c):
    """Flow (m3/s) where a pump curve H_0 - a Q2 meets a system curve H_s + c Q2."""
    return math.sqrt((H_0 - H_s) / (a + c))


def box_head(H_0, Q, Q_0):
    """Head (m) of a pump at flow `Q` (m3/s) by its greatest head and its greatest flow."""
    return H_0 * (1.0 - (Q / Q_0) ** 2)


def one_point_head(H_1, Q, Q_1):
    """Head (m) of a pump at flow `Q` (m3/s) by the one point at which it is meant to run."""
    return 4.0 / 3.0 * H_1 - H_1 / 3.0 * (Q / Q_1) ** 2


def affinity_flow(Q_1, N_1, N_2):
    """Flow (m3/s) after a change of speed."""
    return Q_1 * N_2 / N_1


def affinity_head(H_1, N_1, N_2):
    """Head (m) after a change of speed."""
    return H_1 * (N_2 / N_1) ** 2


def affinity_power(P_1, N_1, N_2):
    """Power (W) after a change of speed."""
    return P_1 * (N_2 / N_1) ** 3


def pressure_of_head(rho, g, H):
    """Pressure (Pa) of a head `H` (m)."""
    return rho * g * H


def hydraulic_power(rho, g, Q, H):
    """Power (W) that lifts `Q` (m3/s) by `H` (m)."""
    return rho * g * Q * H


def running_cost(P, t, c):
    """Cost of power `P` (W) for time `t` (s) at price `c` a kWh."""
    return P * t / 3.6e6 * c


_SIMILAR = ("The pump runs at the like point of its curve at both speeds.",)

EQUATIONS = (
    Equation(
        title="Head that the pipes ask of the pump",
        relation="H = H_s + (f*L/D + K)*(Q/A)**2/(2*g)",
        symbols=named("H system", "H_s", "f", "L delivery", "D", "K run", "Q", "A", "g"),
        function=system_head,
        source=SYSTEM,
        assumptions=("Flow is steady.",),
    ),
    Equation(
        title="Pump duty point",
        relation="Q = sqrt((H_0 - H_s)/(a + c))",
        symbols=named("Q pump", "H_0", "H_s duty", "a pump", "c system"),
        function=duty_flow,
        source=DUTY,
        assumptions=("The pump's curve is a parabola.",),
    ),
    Equation(
        title="Pump curve by the two figures on its box",
        relation="H = H_0*(1 - (Q/Q_0)**2)",
        symbols=named("H pump", "H_0 greatest", "Q pump", "Q_0"),
        function=box_head,
        source=BOX,
        assumptions=(
            "Small pumps give 20 % less of both than their boxes say as often as not (our own estimate).",
        ),
        limits=(Limit.ratio("Q", "Q_0", low=0.0, high=1.0, why="no pump gives more than its greatest flow"),),
    ),
    Equation(
        title="Pump curve by one operating point",
        relation="H = 4*H_1/3 - H_1/3*(Q/Q_1)**2",
        symbols=named("H pump", "H_1 duty", "Q pump", "Q_1 duty"),
        function=one_point_head,
        source=ONE_POINT,
        assumptions=("A point at which the pump is meant to run, not the figures of its box.",),
        limits=(Limit.ratio("Q", "Q_1", low=0.0, high=2.0, why="at twice the flow no head is left"),),
    ),
    Equation(
        title="Flow after a change of pump speed",
        relation="Q_2 = Q_1*N_2/N_1",
        symbols=named("Q_2", "Q_1 before", "N_1", "N_2"),
        function=affinity_flow,
        source=AFFINITY,
        assumptions=_SIMILAR,
    ),
    Equation(
        title="Head after a change of pump speed",
        relation="H_2 = H_1*(N_2/N_1)**2",
        symbols=named("H_2", "H_1 before", "N_1", "N_2"),
        function=affinity_head,
        source=AFFINITY,
        assumptions=_SIMILAR,
    ),
    Equation(
        title="Power after a change of pump speed",
        relation="P_2 = P_1*(N_2/N_1)**3",
        symbols=named("P_2", "P_1", "N_1", "N_2"),
        function=affinity_power,
        source=AFFINITY,
        assumptions=_SIMILAR,
    ),
    Equation(
        title="Pressure of a head",
        relation="p = rho*g*H",
        symbols=named("p", "rho", "g", "H"),
        function=pressure_of_head,
        source=HYDROSTATICS,
    ),
    Equation(
        title="Power in the water",
        relation="P = rho*g*Q*H",
        symbols=named("P water", "rho", "g", "Q", "H"),
        function=hydraulic_power,
        source=ENERGY,
        assumptions=("The pump's own losses come on top.",),
    ),
    Equation(
        title="Running cost",
        relation="C = P*t/3600000*c",
        symbols=named("C", "P drawn", "t running", "c price"),
        function=running_cost,
        source=COST,
    ),
)
