"""Formulas that both the equation records and the time engine use.

Plain SI floats in, plain SI floats out. Every function here must run as
ordinary Python and compile with numba unchanged (`aquacalc.engine.compiled`):
only `math`, floats, loops and other functions of this module. Sources stand in
the records under `aquacalc.equations`, which call these very functions.
"""

from __future__ import annotations

import math

#: Standard acceleration of gravity, m/s2 (CGPM 1901, exact by convention).
GRAVITY = 9.80665
#: Reynolds numbers between which flow in a pipe is neither laminar nor turbulent.
LAMINAR_END = 2000.0
TURBULENT_START = 4000.0
_LOG10_SCALE = 2.0 / math.log(10.0)


def circle_area(D):
    """Area of a circle of diameter `D` (m), m2."""
    return 0.25 * math.pi * D * D


def orifice_flow(C_d, A, H, g):
    """Flow through a sharp opening of area `A` (m2) under head `H` (m), m3/s."""
    return C_d * A * math.sqrt(2.0 * g * H)


def lip_weir_flow(C_w, D, h):
    """Flow over a level circular lip of diameter `D` (m) at head `h` (m), m3/s."""
    return C_w * math.pi * D * h**1.5


def lip_orifice_flow(C_d, D, h, g):
    """Flow into a drowned circular lip of diameter `D` (m) at head `h` (m), m3/s."""
    return C_d * 0.25 * math.pi * D**2 * math.sqrt(2.0 * g * h)


def lip_crossing(C_w, C_d, g):
    """Head over lip diameter at which weir and orifice carry the same flow."""
    return C_d * math.sqrt(2.0 * g) / (4.0 * C_w)


def lip_flow(C_w, C_d, D, h, g):
    """Flow over a lip by whichever of weir and orifice carries less, m3/s; 0 for `h` <= 0."""
    if h <= 0.0:
        return 0.0
    if h < lip_crossing(C_w, C_d, g) * D:
        return lip_weir_flow(C_w, D, h)
    return lip_orifice_flow(C_d, D, h, g)


def lip_head(C_w, C_d, D, Q, g):
    """Head over the lip (m) at which `lip_flow` is `Q` (m3/s); the inverse of `lip_flow`."""
    if Q <= 0.0:
        return 0.0
    h = (Q / (C_w * math.pi * D)) ** (2.0 / 3.0)
    if h < lip_crossing(C_w, C_d, g) * D:
        return h
    return (Q / (C_d * circle_area(D))) ** 2 / (2.0 * g)


def froude_bore(Q, D, g):
    """Froude number of flow `Q` (m3/s) on a full bore `D` (m)."""
    return 4.0 * Q / (math.pi * D**2 * math.sqrt(g * D))


def choking_flow(Fr, D, g):
    """Flow (m3/s) that reaches Froude number `Fr` on a bore `D` (m)."""
    return Fr * 0.25 * math.pi * D**2 * math.sqrt(g * D)


def segment_area(y, D):
    """Area (m2) of water `y` (m) deep in a circle of diameter `D` (m) that lies on its side."""
    y = min(max(y, 0.0), D)
    return 0.25 * D * D * math.acos(1.0 - 2.0 * y / D) - (0.5 * D - y) * math.sqrt(y * (D - y))


def critical_flow(y, D, g):
    """Flow (m3/s) that runs at its critical depth `y` (m) in a pipe of bore `D` (m)."""
    return math.sqrt(g * segment_area(y, D) ** 3 / (2.0 * math.sqrt(y * (D - y))))


def mouth_level(y, D, K_e):
    """Still water (m) over the invert of a mouth in which the flow runs at its critical depth `y` (m)."""
    return y + (1.0 + K_e) * segment_area(y, D) / (4.0 * math.sqrt(y * (D - y)))


def friction_laminar(Re):
    """Darcy friction factor of laminar flow."""
    return 64.0 / Re


def _colebrook_root(Re, e):
    """1/sqrt(f) of the Colebrook equation, by Newton to the last digits of a float."""
    x = -1.8 * math.log10((e / 3.7) ** 1.11 + 6.9 / Re)
    for _ in range(30):
        inside = e / 3.7 + 2.51 * x / Re
        step = (x + _LOG10_SCALE * math.log(inside)) / (1.0 + _LOG10_SCALE * 2.51 / (Re * inside))
        x -= step
        if abs(step) < 1e-14 * x:
            break
    return x


def friction_colebrook(Re, e):
    """Darcy friction factor of turbulent flow; `e` is roughness over bore."""
    return 1.0 / _colebrook_root(Re, e) ** 2


def friction_join(Re, e):
    """Darcy friction factor between laminar and turbulent: a cubic that meets both in value and slope.

    `Re` is the Reynolds number, `e` the ratio of roughness to bore.
    """
    width = TURBULENT_START - LAMINAR_END
    x = _colebrook_root(TURBULENT_START, e)
    inside = e / 3.7 + 2.51 * x / TURBULENT_START
    bend = _LOG10_SCALE * 2.51 / (inside * TURBULENT_START)
    slope_turbulent = -2.0 * x**-3 * bend * x / (TURBULENT_START * (1.0 + bend))
    f0 = 64.0 / LAMINAR_END
    f1 = x**-2
    slope_laminar = -64.0 / LAMINAR_END**2
    s = (Re - LAMINAR_END) / width
    return (
        f0 * (1.0 + 2.0 * s) * (1.0 - s) ** 2
        + f1 * s * s * (3.0 - 2.0 * s)
        + width * (slope_laminar * s * (1.0 - s) ** 2 - slope_turbulent * s * s * (1.0 - s))
    )


def friction_factor(Re, e):
    """Darcy friction factor at any Reynolds number above 0."""
    if Re <= LAMINAR_END:
        return friction_laminar(Re)
    if Re >= TURBULENT_START:
        return friction_colebrook(Re, e)
    return friction_join(Re, e)


def piece_loss(Q, A, D, L, eps, K, nu, g):
    """Head (m) lost in one piece of a path: wall friction and local losses on its own velocity.

    `Q` flow (m3/s), `A` flow area (m2), `D` hydraulic diameter (m), `L` length
    (m), `eps` wall roughness (m), `K` summed local loss coefficients, `nu`
    viscosity (m2/s), `g` gravity (m/s2).
    """
    if Q <= 0.0:
        return 0.0
    v = Q / A
    f = 0.0
    if L > 0.0:
        f = friction_factor(v * D / nu, eps / D)
    return (f * L / D + K) * v * v / (2.0 * g)


def water_density(T):
    """Density of air-free water at 1 atm, kg/m3; `T` in degC."""
    top = 999.83952 + T * (
        16.945176 + T * (-7.9870401e-3 + T * (-46.170461e-6 + T * (105.56302e-9 - 280.54253e-12 * T)))
    )
    return top / (1.0 + 16.879850e-3 * T)


def water_viscosity(T):
    """Dynamic viscosity of water at 0.1 MPa, Pa s; `T` in degC."""
    r = (T + 273.15) / 300.0
    return 1e-6 * (280.68 * r**-1.9 + 511.45 * r**-7.7 + 61.131 * r**-19.6 + 0.45903 * r**-40)


def water_kinematic_viscosity(T):
    """Kinematic viscosity of water at 1 atm, m2/s; `T` in degC."""
    return water_viscosity(T) / water_density(T)


def vapour_pressure(T):
    """Saturation pressure of water, Pa; `T` in degC."""
    Tk = T + 273.15
    s = 1.0 - Tk / 647.096
    series = (
        -7.85951783 * s
        + 1.84408259 * s**1.5
        - 11.7866497 * s**3
        + 22.6807411 * s**3.5
        - 15.9618719 * s**4
        + 1.80122502 * s**7.5
    )
    return 22.064e6 * math.exp(647.096 / Tk * series)


def tapered_area(L0, W0, L1, W1, H, z):
    """Plan area (m2) at height `z` of a vessel that tapers from `L0` x `W0` to `L1` x `W1` over `H`."""
    s = z / H
    return (L0 + (L1 - L0) * s) * (W0 + (W1 - W0) * s)


def tapered_volume(L0, W0, L1, W1, H, z):
    """Volume (m3) to height `z` of the vessel of `tapered_area`."""
    s = z / H
    dL = L1 - L0
    dW = W1 - W0
    return z * (L0 * W0 + 0.5 * s * (L0 * dW + W0 * dL) + s * s * dL * dW / 3.0)


def oval_area(L0, W0, L1, W1, H, z):
    """Plan area (m2) at height `z` of an oval tank, `L0` x `W0` at the floor and `L1` x `W1` at `H`."""
    return 0.25 * math.pi * tapered_area(L0, W0, L1, W1, H, z)


def oval_volume(L0, W0, L1, W1, H, z):
    """Volume (m3) to height `z` of the tank of `oval_area`."""
    return 0.25 * math.pi * tapered_volume(L0, W0, L1, W1, H, z)


def drum_area(D, L, z):
    """Water surface (m2) at depth `z` in a cylinder `D` across lying on its side, `L` long."""
    return 2.0 * L * math.sqrt(max(z * (D - z), 0.0))


def drum_volume(D, L, z):
    """Volume (m3) to depth `z` of a cylinder `D` across lying on its side, `L` long."""
    R = 0.5 * D
    return L * (
        R * R * math.acos(min(max((R - z) / R, -1.0), 1.0)) - (R - z) * math.sqrt(max(z * (D - z), 0.0))
    )
