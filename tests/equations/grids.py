"""Comparisons with general-purpose libraries over the range of an equation."""

from __future__ import annotations

import math

import fluids
import fluids.geometry
import iapws
from scipy.integrate import quad
from scipy.optimize import brentq

from aquacalc.evidence.kinds import LIBRARY

from .cases import Grid
from .works import FLUIDS, IAPWS, SCIPY, cite

_RE = [4000.0 * 10.0 ** (i / 3) for i in range(14)]
_ROUGH = (0.0, 1e-6, 1e-5, 1e-4, 1e-3, 0.01, 0.05)
_RATIOS = (0.1, 0.3, 0.5, 0.7, 0.9, 0.99)


def _friction(method):
    def points():
        for Re in _RE:
            for e in _ROUGH:
                yield {"Re": Re, "e": e}, fluids.friction_factor(Re=Re, eD=e, Method=method)

    return points


def _ends_of_the_join():
    """Both laws a tenth inside the ends of the join, which leaves them along their tangents."""
    for e in (0.0, 1e-3, 0.05):
        yield {"Re": 2000.1, "e": e}, fluids.friction_laminar(2000.1)
        yield {"Re": 3999.9, "e": e}, fluids.friction_factor(Re=3999.9, eD=e, Method="Colebrook")


def _laminar():
    for Re in (1.0, 10.0, 100.0, 500.0, 1000.0, 1999.0):
        yield {"Re": Re}, fluids.friction_factor(Re=Re)


def _reynolds():
    for v in (0.01, 0.3, 3.0):
        for D in (0.01, 0.03, 0.1):
            yield {"v": v, "D": D, "nu": 1e-6}, fluids.Reynolds(V=v, D=D, nu=1e-6)


def _projecting():
    for x in (0.001, 0.01, 0.02, 0.03, 0.049):
        yield {"t": x * 0.03, "D": 0.03}, fluids.fittings.entrance_distance(Di=0.03, t=x * 0.03)
    for x in (0.06, 0.1, 0.2):
        yield {"t": x * 0.03, "D": 0.03}, 0.57


def _circle():
    for D in (0.01, 0.05, 1.0):
        yield {"D": D}, fluids.geometry.V_from_h(0.5, D=D, L=1.0, horizontal=False) / 0.5


def _segment():
    for share in (0.02, 0.2, 0.5, 0.8, 0.98):
        yield {"D": 0.2, "y": 0.2 * share}, fluids.geometry.A_partial_circle(0.2, 0.2 * share)


def _bubble():
    """Drift of long bubbles, found back from the share of gas in a pipe."""
    rho, gas, g = 998.0, 1.2, 9.80665
    for D in (0.015, 0.025, 0.05):
        area = math.pi / 4 * D**2
        m_gas, m_water = gas * 0.1 * area, rho * 0.2 * area
        share = fluids.two_phase_voidage.Nicklin_Wilkes_Davidson(
            x=m_gas / (m_gas + m_water), rhol=rho, rhog=gas, m=m_gas + m_water, D=D, g=g
        )
        yield {"D": D, "g": g}, 0.1 / share - 1.2 * 0.3


def _rounded():
    for ratio in (0.2, 0.25, 0.5):
        ref = fluids.fittings.entrance_rounded(Di=0.03, rc=ratio * 0.03, method="Idelchik")
        yield {"r": ratio * 0.03, "D": 0.03}, ref


def _bends():
    for f in (0.012, 0.02, 0.04):
        for ratio in (0.6, 1.0, 1.5, 3.0, 10.0):
            for angle in (10.0, 45.0, 90.0, 180.0):
                ref = fluids.fittings.bend_rounded(
                    Di=0.03, angle=angle, fd=f, bend_diameters=ratio, method="Rennels"
                )
                yield {"f": f, "R": ratio * 0.03, "D": 0.03, "theta": angle}, ref


def _enlargement():
    for b in _RATIOS:
        # A cone steeper than 45 degrees is a sudden step.
        ref = fluids.fittings.diffuser_conical(Di1=0.05 * b, Di2=0.05, angle=90.0, method="Crane")
        yield {"D_s": 0.05 * b, "D_l": 0.05}, ref


def _contraction():
    for b in _RATIOS:
        # A cone of no length is a sudden step.
        ref = fluids.fittings.contraction_conical_Crane(Di1=0.05, Di2=0.05 * b, l=0)
        yield {"D_s": 0.05 * b, "D_l": 0.05}, ref


def _cone_contraction():
    for b in _RATIOS:
        for angle in (5.0, 20.0, 44.0, 46.0, 90.0, 150.0):
            ref = fluids.fittings.contraction_conical_Crane(Di1=0.05, Di2=0.05 * b, angle=angle)
            yield {"D_s": 0.05 * b, "D_l": 0.05, "theta": angle}, ref


def _cone_enlargement():
    for b in _RATIOS:
        for angle in (5.0, 20.0, 44.0, 46.0, 90.0, 150.0):
            ref = fluids.fittings.diffuser_conical(Di1=0.05 * b, Di2=0.05, angle=angle, method="Crane")
            yield {"D_s": 0.05 * b, "D_l": 0.05, "theta": angle}, ref


def _tee(key):
    def points():
        for share in (0.1, 0.25, 0.39, 0.41, 0.6, 0.9):
            if key == "run":
                ref = fluids.fittings.K_run_converging_Crane(0.05, 0.05, 1.0 - share, share)
                yield {"Q_b": share, "Q_c": 1.0}, ref
                continue
            for b in (0.4, 0.587, 0.596, 0.7, 1.0):  # the law changes at b² = 0.35
                ref = fluids.fittings.K_branch_converging_Crane(0.05, 0.05 * b, 1.0 - share, share)
                yield {"Q_b": share, "Q_c": 1.0, "D_b": 0.05 * b, "D_c": 0.05}, ref

    return points


def _referred():
    for D_2 in (0.01, 0.02, 0.05):
        yield {"K_1": 0.8, "D_1": 0.025, "D_2": D_2}, fluids.change_K_basis(K1=0.8, D1=0.025, D2=D_2)


def _drum_volume():
    for ratio in (0.001, 0.01, 0.1, 0.35, 0.5, 0.8, 0.99, 0.999):
        ref = fluids.geometry.V_from_h(0.6 * ratio, D=0.6, L=1.2, horizontal=True)
        yield {"D": 0.6, "L": 1.2, "z": 0.6 * ratio}, ref


def _drum_area():
    for ratio in (0.1, 0.35, 0.5, 0.8, 0.95):
        up, down = (
            fluids.geometry.V_from_h(0.6 * ratio + d, D=0.6, L=1.2, horizontal=True) for d in (1e-5, -1e-5)
        )
        yield {"D": 0.6, "L": 1.2, "z": 0.6 * ratio}, (up - down) / 2e-5


def _round_volume():
    for h in (0.1, 0.4, 0.9):
        yield {"D": 0.57, "h": h}, fluids.geometry.V_from_h(h, D=0.57, L=1.0, horizontal=False)


def _drum_drain():
    g = 9.80665
    for h_1, h_2 in ((0.6, 0.0), (0.5, 0.1), (0.2, 0.0)):
        given = {"D": 0.6, "L": 1.0, "C_d": 0.62, "A_o": 3e-4, "h_1": h_1, "h_2": h_2}

        def slowness(h):
            return 2.0 * math.sqrt(h * (0.6 - h)) / (0.62 * 3e-4 * math.sqrt(2.0 * g * h)) if h > 0 else 0.0

        yield given, quad(slowness, h_2, h_1)[0]


def _duty():
    a, c = 4e6, 1.3e6
    for lift in (0.2, 0.8, 1.5):
        ref = brentq(lambda q, s=lift: 2.0 - a * q * q - s - c * q * q, 0.0, 1.0)
        yield {"H_0": 2.0, "H_s": lift, "a": a, "c": c}, ref


def _water(key):
    def points():
        for T in range(1, 60, 3):
            at = iapws.IAPWS95(T=T + 273.15, P=0.101325)
            yield {"T": float(T)}, at.rho if key == "rho" else at.mu

    return points


def _hot_water():
    for T in (65.0, 75.0, 85.0, 95.0):
        # Kell's temperatures are of the scale of 1968, which is 1.00024 times today's (from memory).
        yield {"T": 1.00024 * T}, iapws.IAPWS95(T=T + 273.15, P=0.101325).rho


def _viscosity_of_the_same_work():
    for T in range(1, 60, 3):
        yield {"T": float(T)}, iapws._iapws._Liquid(T=T + 273.15, P=0.1)["mu"]


def _vapour_of_the_same_work():
    water = iapws.IAPWS95()
    for T in range(1, 61, 3):
        yield {"T": float(T)}, water._Vapor_Pressure(T + 273.15) * 1e6


def _vapour():
    for T in range(1, 61, 3):
        yield {"T": float(T)}, iapws.iapws97._PSat_T(T + 273.15) * 1e6


# A curve leaves its tangent by half its greatest second derivative times the square of the distance. With
# ends f apart, 2000 wide and no steeper than s, a cubic's is at most 6 f / 2000**2 + 6 s / 2000: here f is
# 0.046 (e 0.05) and s 1.6e-5. The laminar law's own, 128 / 2000**3, comes on top.
_OFF_TANGENT = 0.5 * 0.1**2 * (6 * 0.046 / 2000**2 + 6 * 1.6e-5 / 2000 + 128 / 2000**3)


def _fluids(function):
    return cite(FLUIDS, function, LIBRARY)


def _iapws(function):
    return cite(IAPWS, function, LIBRARY)


GRIDS = (
    # 0.35 is printed to two digits, 0.345 is taken here.
    Grid("bubble_rise", _fluids("two_phase_voidage.Nicklin_Wilkes_Davidson"), _bubble, within=0.0145),
    Grid("segment_area", _fluids("geometry.A_partial_circle"), _segment, within=1e-9),
    Grid("circle_area", _fluids("geometry.V_from_h, volume over height"), _circle, within=1e-12),
    Grid("friction_colebrook", _fluids("friction_factor, Colebrook"), _friction("Colebrook"), within=1e-9),
    Grid(
        "friction_factor",
        _fluids("friction_factor, Colebrook above Re 4000"),
        _friction("Colebrook"),
        within=1e-9,
    ),
    Grid(
        "friction_factor",
        _fluids("friction_laminar and friction_factor, at the ends of the join"),
        _ends_of_the_join,
        margin=_OFF_TANGENT,
    ),
    Grid("friction_haaland", _fluids("friction_factor, Haaland"), _friction("Haaland"), within=1e-9),
    Grid(
        "friction_swamee_jain",
        _fluids("friction_factor, Swamee-Jain 1976"),
        _friction("Swamee_Jain_1976"),
        within=1e-5,
    ),
    Grid("friction_laminar", _fluids("friction_factor, laminar"), _laminar, within=1e-12),
    Grid("reynolds", _fluids("Reynolds"), _reynolds, within=1e-12),
    Grid("entrance_projecting", _fluids("entrance_distance, Rennels"), _projecting, within=1e-9),
    Grid(
        "entrance_rounded",
        _fluids("entrance_rounded, Idelchik, end of his table and beyond"),
        _rounded,
        within=1e-9,
    ),
    Grid("bend_swept", _fluids("bend_rounded, Rennels"), _bends, within=1e-9),
    Grid("sudden_enlargement", _fluids("diffuser_conical, steep"), _enlargement, within=1e-9),
    Grid("sudden_contraction", _fluids("contraction_conical_Crane, no length"), _contraction, within=1e-9),
    Grid("cone_contraction", _fluids("contraction_conical_Crane"), _cone_contraction, within=1e-9),
    Grid("cone_enlargement", _fluids("diffuser_conical, Crane"), _cone_enlargement, within=1e-9),
    Grid("tee_run_joining", _fluids("K_run_converging_Crane"), _tee("run"), within=1e-9),
    Grid(
        "tee_branch_joining", _fluids("K_branch_converging_Crane"), _tee("branch"), within=1e-9, margin=1e-12
    ),
    Grid("referred_loss", _fluids("change_K_basis"), _referred, within=1e-12),
    Grid("drum_volume", _fluids("geometry.V_from_h, lying"), _drum_volume, within=1e-9),
    Grid("drum_area", _fluids("geometry.V_from_h, slope"), _drum_area, within=1e-6),
    Grid("round_volume", _fluids("geometry.V_from_h, upright"), _round_volume, within=1e-9),
    Grid("drum_drain_time", cite(SCIPY, "integrate.quad", LIBRARY), _drum_drain, within=1e-7),
    Grid("duty_flow", cite(SCIPY, "optimize.brentq", LIBRARY), _duty, within=1e-9),
    Grid("water_density", _iapws("IAPWS95"), _water("rho"), within=4e-6),
    # Outside the range of use, where the last coefficient counts; 0.01 is the last digit of a table of five
    # digits, and the works' densest water, 999.972 and 999.975, is already 0.003 apart.
    Grid("water_density", _iapws("IAPWS95, hot, temperatures of 1968"), _hot_water, margin=0.01),
    Grid("water_viscosity", _iapws("IAPWS95"), _water("mu"), within=1e-4),
    Grid("water_viscosity", _iapws("_iapws._Liquid, same work"), _viscosity_of_the_same_work, within=1e-9),
    Grid("vapour_pressure", _iapws("IAPWS95, same work"), _vapour_of_the_same_work, within=1e-9),
    Grid("vapour_pressure", _iapws("iapws97._PSat_T, saturation line"), _vapour, within=2e-4),
)
