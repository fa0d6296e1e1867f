"""Outside values for storage, draining, pumps, water and weight."""

from __future__ import annotations

import math

from .cases import Case

G = 9.81
FT = 0.3048
GPM = 6.30901964e-5

CHOUDHARY = "Choudhary & Om Prakash, Ex. "
FAO = (
    "FAO Fisheries and Aquaculture Technical Paper 589 (Somerville et al. 2014), "
    "1 m² at porosity 0.45 flooded 0.22 m"
)
IAPWS = "iapws 1.5.5 at 101.325 kPa"
HI = "Hydraulic Institute Engineering Data Book"
CRANE = "Crane TP-410"
PRISMOID = "prismoidal rule: floor, middle and rim areas 0.500, 0.605, 0.720 m²"
CYLINDER = "horizontal cylinder, exact circular segment"

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
#: degC -> saturation pressure in kPa of the steam tables.
_VAPOUR = {5: "0.8726", 10: "1.2282", 20: "2.3393", 25: "3.1699", 30: "4.2470", 40: "7.3849"}
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
        yield Case("drum_volume", inputs, printed, "m³", CYLINDER, "derived", margin=margin)


def _water():
    for T, (rho, mu, nu) in _WATER.items():
        # The library's industrial form (IF97) lies up to 0.007 from its scientific one, which the grid uses.
        yield Case("water_density", {"T": float(T)}, rho, "kg/m³", IAPWS, "reference library", margin=0.01)
        yield Case("water_viscosity", {"T": float(T)}, mu, "mPa s", IAPWS, "reference library", within=1e-4)
        inputs = {"mu": float(mu) * 1e-3, "rho": float(rho)}
        yield Case("kinematic_viscosity", inputs, nu, "mm²/s", IAPWS, "reference library", margin=0.0001)
    for T, printed in _VAPOUR.items():
        yield Case(
            "vapour_pressure",
            {"T": float(T)},
            printed,
            "kPa",
            "steam tables (IAPWS)",
            "from memory",
            within=0.0005,
        )


CASES = (
    Case(
        "box_volume",
        {"L": FT, "W": FT, "h": FT},
        "7.48",
        "gal",
        CRANE + ", US gallons in a cubic foot",
        "from memory",
    ),
    Case("tapered_area", {**_TAPER, "z": 0.15}, "0.605", "m²", PRISMOID, "derived"),
    Case("tapered_volume", {**_TAPER, "z": 0.3}, "182.0", "L", PRISMOID, "derived"),
    Case(
        "round_volume",
        {"D": FT, "h": FT},
        "5.875",
        "gal",
        CRANE + ", US gallons in a foot of a 1 ft tank",
        "from memory",
    ),
    Case(
        "drum_area",
        {"D": 0.6, "L": 1.0, "z": 0.3},
        "0.600",
        "m²",
        CYLINDER + ", half full: diameter by length",
        "derived",
    ),
    *_drum(),
    Case(
        "table_volume",
        {"h": 0.15, "h_1": 0.0, "h_2": 0.3, "A_1": 0.5, "A_2": 0.72, "V_1": 0.0},
        "83.25",
        "L",
        "trapezium: 0.15 m by the mean of 0.500 and 0.610 m²",
        "derived",
    ),
    Case("bed_water", {"phi": 0.45, "A": 1.0, "h": 0.22, "h_m": 0.30}, "99", "L", FAO, "derived"),
    Case(
        "bed_water",
        {"phi": 0.45, "A": 1.0, "h": 0.25, "h_m": 0.22},
        "129",
        "L",
        FAO + ", and 30 mm above the media",
        "derived",
    ),
    Case("fill_time", {"V": 0.099, "Q": 200 / 3.6e6}, "29.7", "min", FAO, "derived"),
    Case("fill_time", {"V": 0.099, "Q": 500 / 3.6e6}, "11.9", "min", FAO, "derived"),
    Case(
        "cycle_time",
        {"V": 0.099, "Q_i": 500 / 3.6e6, "Q_s": 1000 / 3.6e6},
        "23.8",
        "min",
        FAO + ", drained at twice the inflow",
        "derived",
    ),
    Case(
        "drain_time",
        {"A": math.pi * 1.2**2 / 4, "A_o": math.pi * 0.05**2 / 4, "h_1": 3.0, "h_2": 0.0, "g": G},
        "750.8",
        "s",
        CHOUDHARY + "6.17",
        "derived",
    ),
    Case(
        "drain_time",
        {"A": 3.2, "A_o": 10e-4, "h_1": 5.0, "h_2": 2.5, "g": G},
        "1577",
        "s",
        CHOUDHARY + "6.18",
        "derived",
    ),
    Case(
        "drain_time",
        {"A": 3.2, "A_o": 10e-4, "h_1": 5.0, "h_2": 0.0, "g": G},
        "5385",
        "s",
        CHOUDHARY + "6.19",
        "derived",
    ),
    Case(
        "drum_drain_time",
        {"D": 0.6, "L": 1.0, "A_o": _HOLE, "h_1": 0.6, "h_2": 0.0, "g": G},
        "742.2",
        "s",
        "Torricelli over a circular segment, R 0.3 m, L 1 m, hole 20 mm",
        "derived",
    ),
    Case(
        "drum_drain_time",
        {"D": 0.6, "L": 1.0, "A_o": _HOLE, "h_1": 0.3, "h_2": 0.0, "g": G},
        "479.8",
        "s",
        "Torricelli over a circular segment, R 0.3 m, L 1 m, hole 20 mm",
        "derived",
    ),
    *(
        Case("system_head", {**_SYSTEM, "Q": gpm * GPM}, printed, "ft", HI + ", system curve", "read")
        for gpm, printed in ((100, "273"), (200, "296"), (300, "335"))
    ),
    Case(
        "duty_flow",
        {"H_0": 400 * FT, "H_s": 265 * FT, "a": 7.22e-4 * FT / GPM**2, "c": 7.78e-4 * FT / GPM**2},
        "300",
        "gpm",
        HI + ", system curve (70 ft at 300 gpm) met by a parabola from 400 to 335 ft",
        "derived",
    ),
    Case("affinity_flow", {"Q_1": 200 * GPM, **_SPEED}, "180", "gpm", HI + ", 1740 to 1566 rpm", "read"),
    Case("affinity_head", {"H_1": 213 * FT, **_SPEED}, "173", "ft", HI + ", 1740 to 1566 rpm", "read"),
    Case("affinity_power", {"P_1": 1000.0, **_SPEED}, "729", "W", HI + ", cube of 0.9", "derived"),
    Case(
        "running_cost",
        {"P": 10.0, "t": 365 * 86400.0, "c": 0.30},
        "26.28",
        "",
        "10 W all year at 0.30 per kWh",
        "derived",
    ),
    *_water(),
    Case(
        "wet_mass",
        {"m": 20.0, "rho_m": 1600.0, "V_m": 0.3, "rho": 1000.0, "V_w": 0.12},
        "620",
        "kg",
        "0.30 m of gravel at 1600 kg/m³ with 0.40 full of water on 1 m², vessel 20 kg",
        "derived",
    ),
    Case(
        "floor_load",
        {"M": 600.0, "A": 1.2},
        "500",
        "kg/m²",
        "FAO 589, 300 to 500 kg/m²; arithmetic",
        "derived",
    ),
    Case(
        "media_load",
        {"rho_m": 1600.0, "h_m": 0.3, "phi": 0.4, "rho": 1000.0, "h": 0.3},
        "600",
        "kg/m²",
        "0.30 m of gravel at 1600 kg/m³ with 0.40 full of water",
        "derived",
    ),
)
