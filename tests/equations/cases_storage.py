"""Values for storage, draining, pumps, water and weight."""

from __future__ import annotations

import math

from aquacalc.evidence.given import Given
from aquacalc.evidence.kinds import LIBRARY, READ, RECOMPUTED, SECOND_HAND

from .cases import Case
from .works import (
    ABULENCIA,
    CENGEL,
    CHOUDHARY,
    DAS,
    HI,
    IAPWS,
    IAPWS_97,
    PARADISE,
    REGINA,
    SARKAR,
    cite,
    own,
)

G = 9.81
FT = 0.3048
INCH = 0.0254
GPM = 6.30901964e-5
HORSE = 745.699872

AT_1_ATM = cite(IAPWS, "IAPWS97 at 101.325 kPa", LIBRARY)
BED = own("1 m² at porosity 0.45 flooded 0.22 m, 200 and 500 L/h")
OVAL = own("prismoidal rule on ellipses: pi/4 of floor, middle and rim 0.500, 0.605, 0.720 m²")
PRISMOID = own("prismoidal rule: floor, middle and rim areas 0.500, 0.605, 0.720 m²")
CYLINDER = own("horizontal cylinder, exact circular segment")
TORRICELLI = own("Torricelli over a circular segment, R 0.3 m, L 1 m, hole 20 mm")
CURVE = cite(HI, "system curve, 1255 ft of 4.026 in, K 3.79", READ)
SLOWER = cite(HI, "affinity laws, 1740 to 1566 rpm", READ)

_DRUM = {
    0.1: "0.05204",
    0.2: "0.14238",
    0.25: "0.19550",
    0.3: "0.25232",
    0.4: "0.37353",
    0.5: "0.5",
    0.75: "0.80450",
    0.9: "0.94796",
}
#: degC -> density, dynamic viscosity in mPa s, kinematic viscosity in mm²/s.
_WATER = {
    5: ("999.967", "1.5182", "1.5182"),
    10: ("999.702", "1.3059", "1.3063"),
    15: ("999.101", "1.1376", "1.1386"),
    20: ("998.206", "1.0016", "1.0034"),
    25: ("997.048", "0.8900", "0.8927"),
    30: ("995.652", "0.7972", "0.8007"),
    35: ("994.039", "0.7191", "0.7234"),
}
_TAPER = {"L0": 1.0, "W0": 0.5, "L1": 1.2, "W1": 0.6, "H": 0.3}
_HOLE = math.pi * 0.02**2 / 4.0
_SYSTEM = {
    "H_s": 265 * FT,
    "f": 0.02,
    "L": 1255 * FT,
    "D": 4.026 * 0.0254,
    "K": 3.79,
    "A": math.pi * (4.026 * 0.0254) ** 2 / 4.0,
}
_SPEED = {"N_1": 1740 / 60, "N_2": 1566 / 60}


def _drum():
    for ratio, printed in _DRUM.items():
        # D²L = 4/pi makes the full volume 1 m³, so the volume is the fraction.
        inputs = {"D": 1.0, "L": 4.0 / math.pi, "z": ratio}
        margin = 1e-9 if ratio == 0.5 else 0.0
        yield Case("drum_volume", inputs, printed, "m³", CYLINDER, margin=margin)


def _water():
    for T, (rho, mu, nu) in _WATER.items():
        # The library's industrial form (IF97) lies up to 0.007 from its scientific one, which the grid uses.
        yield Case("water_density", {"T": float(T)}, rho, "kg/m³", AT_1_ATM, margin=0.01)
        yield Case("water_viscosity", {"T": float(T)}, mu, "mPa s", AT_1_ATM, within=1e-4)
        inputs = {"mu": float(mu) * 1e-3, "rho": float(rho)}
        yield Case("kinematic_viscosity", inputs, nu, "mm²/s", AT_1_ATM, margin=0.0001)
    # The two formulations of the saturation line differ by up to 2e-4 of it.
    saturated = cite(IAPWS_97, "table 35, 300 K", SECOND_HAND)
    yield Case("vapour_pressure", {"T": 26.85}, "3536.58941", "Pa", saturated, within=2e-4)


def _volumes():
    gallons = cite(HI, "conversion of volumes, US gallons in a cubic metre", READ)
    yield Case("box_volume", {"L": 1.0, "W": 1.0, "h": 1.0}, "264.172", "gal", gallons)
    yield Case("tapered_area", {**_TAPER, "z": 0.15}, "0.605", "m²", PRISMOID)
    yield Case("tapered_volume", {**_TAPER, "z": 0.3}, "182.0", "L", PRISMOID)
    yield Case("oval_area", {**_TAPER, "z": 0.15}, "0.47517", "m²", OVAL)
    yield Case("oval_volume", {**_TAPER, "z": 0.3}, "142.9", "L", OVAL)
    pond = {"L0": 52 * FT, "W0": 22 * FT, "L1": 100 * FT, "W1": 70 * FT, "H": 12 * FT, "z": 12 * FT}
    yield Case("tapered_volume", pond, "44256", "ft³", cite(REGINA, "QQ.09.07, a pond", READ))
    foot = own("pi over four times 7.4805 US gallons in a cubic foot")
    yield Case("round_volume", {"D": FT, "h": FT}, "5.875", "gal", foot)
    half = own("half full: diameter by length")
    yield Case("drum_area", {"D": 0.6, "L": 1.0, "z": 0.3}, "0.600", "m²", half)
    yield from _drum()
    rows = {"h": 0.15, "h_1": 0.0, "h_2": 0.3, "A_1": 0.5, "A_2": 0.72, "V_1": 0.0}
    trapezium = own("trapezium: 0.15 m by the mean of 0.500 and 0.610 m²")
    yield Case("table_volume", rows, "83.25", "L", trapezium)


def _times():
    yield Case("bed_water", {"phi": 0.45, "A": 1.0, "h": 0.22, "h_m": 0.30}, "99", "L", BED)
    above = own("the same bed flooded 0.25 m over 0.22 m of media")
    yield Case("bed_water", {"phi": 0.45, "A": 1.0, "h": 0.25, "h_m": 0.22}, "129", "L", above)
    yield Case("fill_time", {"V": 0.099, "Q": 200 / 3.6e6}, "29.7", "min", BED)
    yield Case("fill_time", {"V": 0.099, "Q": 500 / 3.6e6}, "11.9", "min", BED)
    cycle = {"V": 0.099, "Q_i": 500 / 3.6e6, "Q_s": 1000 / 3.6e6}
    yield Case("cycle_time", cycle, "23.8", "min", own("the same bed, drained at twice the inflow"))
    tank = {"A": Given("circle_area", {"D": 4.0}), "A_o": Given("circle_area", {"D": 0.5}), "g": G}
    emptied = cite(CHOUDHARY, "Ex. 6.16", RECOMPUTED)
    yield Case("drain_time", {**tank, "h_1": 5.0, "h_2": 2.0}, "39.6", "s", emptied)
    yield Case("drain_time", {**tank, "h_1": 5.0, "h_2": 0.0}, "107.7", "s", emptied)
    round_tank = {"A": math.pi * 1.2**2 / 4, "A_o": math.pi * 0.05**2 / 4, "h_1": 3.0, "h_2": 0.0, "g": G}
    yield Case("drain_time", round_tank, "750.8", "s", own("inputs of Choudhary & Om Prakash, Ex. 6.17"))
    square = {"A": 3.2, "A_o": 10e-4, "h_1": 5.0, "g": G}
    yield Case("drain_time", {**square, "h_2": 2.5}, "1577", "s", own("inputs of the same, Ex. 6.18"))
    yield Case("drain_time", {**square, "h_2": 0.0}, "5385", "s", own("inputs of the same, Ex. 6.19"))
    drum = {"D": 2.0, "L": 8.0, "C_d": 0.8, "A_o": Given("circle_area", {"D": 0.1}), "h_1": 2.0, "h_2": 0.0}
    yield Case("drum_drain_time", {**drum, "g": G}, "18.1", "min", cite(SARKAR, "Ex. 4.9", RECOMPUTED))
    hole = Given("circle_area", {"D": 3 * INCH})
    drum = {"D": 10 * FT, "L": 15 * FT, "C_d": 0.62, "A_o": hole, "h_1": 5 * FT, "h_2": 0.0, "g": G}
    half_full = cite(PARADISE, "Ex. 7.3", RECOMPUTED, "27 min 54 s")
    yield Case("drum_drain_time", drum, "1674", "s", half_full)
    drum = {"D": 0.6, "L": 1.0, "A_o": _HOLE, "h_2": 0.0, "g": G}
    yield Case("drum_drain_time", {**drum, "h_1": 0.6}, "742.2", "s", TORRICELLI)
    yield Case("drum_drain_time", {**drum, "h_1": 0.3}, "479.8", "s", TORRICELLI)


def _pumps():
    for gpm, printed in ((100, "273"), (200, "296"), (300, "335")):
        yield Case("system_head", {**_SYSTEM, "Q": gpm * GPM}, printed, "ft", CURVE)
    tap = {"H_s": 4.0, "f": 0.0315, "L": 89.0, "D": 0.05, "K": 2.36, "Q": 0.006, "g": G}
    tap["A"] = Given("circle_area", {"D": 0.05})
    yield Case("system_head", tap, "31.8", "m", cite(CENGEL, "Ex. 8-8", RECOMPUTED, "its exit has K 1.06"))
    curves = {"H_0": 42 * FT, "H_s": 12 * FT, "a": 0.0047 * FT / GPM**2, "c": 0.0198 * FT / GPM**2}
    yield Case("duty_flow", curves, "35", "gpm", cite(ABULENCIA, "Ex. 17.6", RECOMPUTED))
    parabola = own("70 ft at 300 gpm met by a parabola from 400 to 335 ft")
    curves = {"H_0": 400 * FT, "H_s": 265 * FT, "a": 7.22e-4 * FT / GPM**2, "c": 7.78e-4 * FT / GPM**2}
    yield Case("duty_flow", curves, "300", "gpm", parabola)
    yield Case("affinity_flow", {"Q_1": 200 * GPM, **_SPEED}, "180", "gpm", SLOWER)
    yield Case("affinity_head", {"H_1": 213 * FT, **_SPEED}, "173", "ft", SLOWER)
    faster = {"P_1": 9.25 * HORSE, "N_1": 1694 / 60, "N_2": 2100 / 60}
    # 17.62 hp as printed, in watts.
    printed, near = f"{17.62 * HORSE:.1f}", 0.005 * HORSE
    said = cite(ABULENCIA, "Ex. 17.2", RECOMPUTED, "17.62 hp")
    yield Case("affinity_power", faster, printed, "W", said, margin=near)
    yield Case("affinity_power", {"P_1": 1000.0, **_SPEED}, "729", "W", own("cube of 0.9"))
    turbine = {"P": 30e3, "t": 2200 * 3600.0, "c": 0.09}
    yield Case("running_cost", turbine, "5940", "", cite(CENGEL, "Ex. 1-2", RECOMPUTED))
    lamp = {"P": 10.0, "t": 365 * 86400.0, "c": 0.30}
    yield Case("running_cost", lamp, "26.28", "", own("10 W all year at 0.30 per kWh"))


def _weights():
    soil = {"m": 0.0, "rho_m": 1803.3, "V_m": 1.2, "rho": 1000.0, "V_w": 0.186}
    yield Case("wet_mass", soil, "2350", "kg", cite(DAS, "Ex. 3.2", RECOMPUTED))
    gravel = own("0.30 m of gravel at 1600 kg/m³ with 0.40 full of water on 1 m², vessel 20 kg")
    wet = {"m": 20.0, "rho_m": 1600.0, "V_m": 0.3, "rho": 1000.0, "V_w": 0.12}
    yield Case("wet_mass", wet, "620", "kg", gravel)
    yield Case("floor_load", {"M": 600.0, "A": 1.2}, "500", "kg/m²", own("600 kg on 1.2 m²"))
    load = {"rho_m": 1600.0, "h_m": 0.3, "phi": 0.4, "rho": 1000.0, "h": 0.3}
    deep = own("0.30 m of gravel at 1600 kg/m³ with 0.40 full of water")
    yield Case("media_load", load, "600", "kg/m²", deep)


CASES = (*_volumes(), *_times(), *_pumps(), *_water(), *_weights())
