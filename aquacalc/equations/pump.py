"""Pumps: what the pipes ask, where pump and pipes meet, speed and running cost."""

from __future__ import annotations

import math

from aquacalc.equations.common import ENERGY, area, bore, flow, friction, g, head, loss, size, water_density
from aquacalc.equations.record import Equation, Limit, Source

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


_N_1 = size("N_1", "N_1", "first speed", "speed before", "rotation", 1.0, 200.0)
_N_2 = size("N_2", "N_2", "second speed", "speed after", "rotation", 1.0, 200.0)
_SIMILAR = ("The pump runs at the like point of its curve at both speeds.",)

EQUATIONS = (
    Equation(
        "system_head",
        "Head that the pipes ask of the pump",
        "H = H_s + (f*L/D + K)*(Q/A)**2/(2*g)",
        (
            head(meaning="head the pump must give"),
            head(
                "H_s", "H_s", "static lift", "outlet, or water level there, above the sump's water level", 0.0
            ),
            friction(),
            size("L", "L", "length", "length of delivery pipe", "distance", 0.0, 1000.0),
            bore(),
            loss(low=0.0),
            flow(),
            area(),
            g,
        ),
        system_head,
        SYSTEM,
        ("Flow is steady.",),
    ),
    Equation(
        "duty_flow",
        "Pump duty point",
        "Q = sqrt((H_0 - H_s)/(a + c))",
        (
            flow(low=0.0),
            head("H_0", "H_0", "shut-off head", "head of the pump at no flow"),
            head("H_s", "H_s", "static lift", "outlet above the sump's water level", 0.0),
            size(
                "a",
                "a",
                "pump curve factor",
                "fall of the pump's head per flow squared",
                "curve_factor",
                1e2,
                1e9,
            ),
            size(
                "c",
                "c",
                "system curve factor",
                "rise of the system's head per flow squared",
                "curve_factor",
                1e2,
                1e9,
            ),
        ),
        duty_flow,
        DUTY,
        ("The pump's curve is a parabola.",),
    ),
    Equation(
        "box_head",
        "Pump curve by the two figures on its box",
        "H = H_0*(1 - (Q/Q_0)**2)",
        (
            head(meaning="head of the pump at this flow", low=0.0),
            head("H_0", "H_0", "greatest head", "head at no flow"),
            flow(low=0.0),
            flow("Q_0", "Q_0", "greatest flow", "flow at no head"),
        ),
        box_head,
        BOX,
        ("Small pumps give 20 % less of both than their boxes say as often as not (our own estimate).",),
        limits=(
            Limit(
                "Q/Q_0", lambda v: v["Q"] / v["Q_0"], 0.0, 1.0, "no pump gives more than its greatest flow"
            ),
        ),
    ),
    Equation(
        "one_point_head",
        "Pump curve by one operating point",
        "H = 4*H_1/3 - H_1/3*(Q/Q_1)**2",
        (
            head(meaning="head of the pump at this flow", low=0.0),
            head("H_1", "H_1", "operating head", "head at the operating point"),
            flow(low=0.0),
            flow("Q_1", "Q_1", "operating flow", "flow at the operating point"),
        ),
        one_point_head,
        ONE_POINT,
        ("A point at which the pump is meant to run, not the figures of its box.",),
        limits=(Limit("Q/Q_1", lambda v: v["Q"] / v["Q_1"], 0.0, 2.0, "at twice the flow no head is left"),),
    ),
    Equation(
        "affinity_flow",
        "Flow after a change of pump speed",
        "Q_2 = Q_1*N_2/N_1",
        (
            flow("Q_2", "Q_2", "second flow", "flow after"),
            flow("Q_1", "Q_1", "first flow", "flow before"),
            _N_1,
            _N_2,
        ),
        affinity_flow,
        AFFINITY,
        _SIMILAR,
    ),
    Equation(
        "affinity_head",
        "Head after a change of pump speed",
        "H_2 = H_1*(N_2/N_1)**2",
        (
            head("H_2", "H_2", "second head", "head after"),
            head("H_1", "H_1", "first head", "head before"),
            _N_1,
            _N_2,
        ),
        affinity_head,
        AFFINITY,
        _SIMILAR,
    ),
    Equation(
        "affinity_power",
        "Power after a change of pump speed",
        "P_2 = P_1*(N_2/N_1)**3",
        (
            size("P_2", "P_2", "second power", "power after", "power", 1e-6, 1e7),
            size("P_1", "P_1", "first power", "power before", "power", 0.1, 10000.0),
            _N_1,
            _N_2,
        ),
        affinity_power,
        AFFINITY,
        _SIMILAR,
    ),
    Equation(
        "pressure_of_head",
        "Pressure of a head",
        "p = rho*g*H",
        (size("p", "p", "pressure", "pressure of the head", "pressure", 0.0, 1e7), water_density, g, head()),
        pressure_of_head,
        HYDROSTATICS,
    ),
    Equation(
        "hydraulic_power",
        "Power in the water",
        "P = rho*g*Q*H",
        (
            size("P", "P", "power", "power given to the water", "power", 0.0, 1e6),
            water_density,
            g,
            flow(),
            head(),
        ),
        hydraulic_power,
        ENERGY,
        ("The pump's own losses come on top.",),
    ),
    Equation(
        "running_cost",
        "Running cost",
        "C = P*t/3600000*c",
        (
            size("C", "C", "cost", "cost of the energy", "money", 0.0, 1e6),
            size("P", "P", "power", "power drawn", "power", 0.0, 10000.0),
            size("t", "t", "time", "time running", "time", 0.0, 3.2e8),
            size("c", "c", "price", "price of a kWh", "money", 0.0, 100.0),
        ),
        running_cost,
        COST,
    ),
)
