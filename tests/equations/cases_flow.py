"""Outside values for openings, lip, priming, strainers and the siphon."""

from __future__ import annotations

import math

from .cases import Case

G = 9.81
FT = 0.3048
LPM = 1e-3 / 60.0
CFS = FT**3

HILLS = "Hills 1983, Designing piping for gravity flow, Chem. Eng., worked example quoted from it"
SIMPSON = "Froude number limits 0.3 (Hills 1983) to 1 (Simpson 1968), arithmetic with g = 9.81"
WYLY = "Wyly & Eaton 1961, NBS Monograph 31"
FAO = "FAO Fisheries and Aquaculture Technical Paper 589 (Somerville et al. 2014)"
EN = "EN 12056-3 / HR Wallingford SR 620, circular outlet"
KING = "King County Surface Water Design Manual, riser"
SHARP = "sharp-crested weir, 1.84 per metre of lip (handbooks)"
JUMP = "Kalinske & Robertson 1943, air carried by a hydraulic jump in a pipe"
HEC = "FHWA HEC-22, sharp orifice 0.60 to 0.62"
LAB = "J. Hydroinformatics 25(2):332, 2023, six laboratory siphons"
CENGEL_SIPHON = "Çengel & Cimbala, Fluid Mechanics, Ex. 5-7 (siphoning gasoline)"

# EN 12056-3 states Q = D h^1.5 / 7500 and D2 h^0.5 / 15000 in L/s and mm: its coefficients in SI.
EN_WEIR = 1000.0**1.5 / (7500.0 * math.pi)
EN_ORIFICE = 1000.0**1.5 / 15000.0 / (0.25 * math.pi * math.sqrt(2.0 * G))

_CHOKING = {
    15.8: ("1.39", "2.32", "4.63", "9.26"),
    20.9: ("2.80", "4.66", "9.32", "18.64"),
    26.6: ("5.11", "8.52", "17.03", "34.07"),
    35.1: ("10.22", "17.03", "34.07", "68.14"),
    40.9: ("14.98", "24.97", "49.93", "99.87"),
    52.5: ("27.96", "46.61", "93.21", "186.4"),
}
#: Lip: (diameter, head) in mm -> L/min by EN, King County and sharp crest ("" where none is given).
_LIP = {
    (25, 5): ("2.24", "2.85", "3.07"),
    (25, 10): ("6.32", "7.83", "8.67"),
    (25, 20): ("11.18", "11.07", ""),
    (40, 10): ("10.12", "12.90", "13.87"),
    (50, 10): ("12.65", "16.13", "17.34"),
    (50, 20): ("35.8", "44.3", "49.1"),
}


def _choking():
    for bore, row in _CHOKING.items():
        for froude, printed in zip((0.3, 0.5, 1.0, 2.0), row, strict=True):
            inputs = {"Fr": froude, "D": bore / 1000.0, "g": G}
            yield Case("choking_flow", inputs, printed, "L/min", SIMPSON, "derived", within=0.005)


def _lip():
    for (D, h), (en, king, sharp) in _LIP.items():
        size = {"D": D / 1000.0, "h": h / 1000.0}
        # The manual's coefficients have four digits, 1.71 and 0.60 have two or three.
        yield Case("lip_flow", {**size, "g": G}, king, "L/min", KING, "from memory", within=0.002)
        back = {"D": size["D"], "Q": float(king) * LPM, "g": G}
        yield Case("lip_head", back, str(h), "mm", KING, "from memory", within=0.004)
        own = {**size, "C_w": EN_WEIR, "C_d": EN_ORIFICE, "g": G}
        yield Case("lip_flow", own, en, "L/min", EN, "from memory")
        heads = {"C_w": EN_WEIR, "C_d": EN_ORIFICE, "D": size["D"], "Q": float(en) * LPM, "g": G}
        yield Case("lip_head", heads, str(h), "mm", EN, "from memory", within=0.004)
        if sharp:
            yield Case(
                "lip_weir_flow", {**size, "C_w": 1.84}, sharp, "L/min", SHARP, "from memory", within=0.0015
            )


def _stack():
    for inches, gpm in ((2, "22.6"), (3, "66.8"), (4, "143.8")):
        D = inches * 0.0254
        yield Case("stack_flow", {"r": 7 / 24, "D": D}, gpm, "gpm", WYLY, "from memory")
        flow = {"Q": float(gpm) * 6.30901964e-5, "D": D, "g": G}
        yield Case(
            "froude_bore", flow, "0.9 to 1.15", "", WYLY + ": such a stack carries Fr about 1", "from memory"
        )


def _fao():
    froude = {25.0: ("0.23", "0.57"), 21.2: ("0.35", "0.86"), 33.2: ("0.11", "0.28")}
    for bore, row in froude.items():
        for litres_hour, printed in zip((200, 500), row, strict=True):
            inputs = {"Q": litres_hour / 3.6e6, "D": bore / 1000.0, "g": G}
            yield Case("froude_bore", inputs, printed, "", FAO + ", flow by bed", "derived")


_BIG = math.pi * 0.05**2 / 4.0

CASES = (
    Case("circle_area", {"D": 2 * 0.0254}, "0.0218", "ft²", "Çengel & Cimbala, Ex. 8-3", "derived"),
    Case(
        "circle_area",
        {"D": 0.25 * 0.0254},
        "0.0491",
        "in²",
        "Machinery's Handbook, areas of circles",
        "from memory",
    ),
    Case("orifice_flow", {"A": 1.0, "H": 1.0, "g": G}, "2.657 to 2.747", "m³/s", HEC, "from memory"),
    Case(
        "orifice_flow",
        {"A": math.pi / 4 * FT**2, "H": FT, "g": G},
        "3.782",
        "ft³/s",
        KING + ", orifice",
        "from memory",
        within=0.002,
    ),
    Case(
        "orifice_flow",
        {"C_d": 0.82, "A": 0.01, "H": 1.0, "g": G},
        "0.0363",
        "m³/s",
        "handbooks, short tube 0.82",
        "from memory",
    ),
    Case("lip_orifice_flow", {"D": FT, "h": FT, "g": G}, "3.782", "ft³/s", KING, "from memory", within=0.002),
    Case("lip_orifice_flow", {"D": 0.025, "h": 0.020, "g": G}, "11.07", "L/min", KING, "from memory"),
    Case("lip_weir_flow", {"D": FT, "h": FT}, "9.739", "ft³/s", KING, "from memory", within=0.002),
    Case("lip_crossing", {"g": G}, "0.388", "", KING, "from memory", margin=0.001),
    Case(
        "lip_crossing", {"C_w": EN_WEIR, "C_d": EN_ORIFICE, "g": G}, "0.5", "", EN, "from memory", margin=1e-4
    ),
    *_lip(),
    Case("froude_bore", {"Q": 36 / 3600, "D": 0.180, "g": G}, "0.296", "", HILLS, "read", within=0.005),
    *_choking(),
    *_stack(),
    *_fao(),
    Case(
        "priming_head",
        {"D_l": 0.04, "D": 0.0266, "Fr": 0.5, "g": G},
        "7.59",
        "mm",
        KING + ": weir of 40 mm at 8.52 L/min, which chokes 26.6 mm at Fr 0.5",
        "derived",
        within=0.003,
    ),
    Case(
        "priming_head",
        {"D_l": 0.0266, "D": 0.0266, "Fr": 1.0, "g": G},
        "36.9",
        "mm",
        KING + ": orifice of 26.6 mm at 17.03 L/min, Fr 1",
        "derived",
        within=0.003,
    ),
    Case(
        "priming_head",
        {"D_l": 0.05, "D": 0.05, "Fr": 0.53, "g": G},
        "19.4",
        "mm",
        KING + ": a plain lip crosses at h/D 0.388, Fr 0.53",
        "derived",
        within=0.01,
    ),
    Case(
        "priming_head",
        {"D_l": 0.05, "D": 0.05, "Fr": 0.61, "C_w": EN_WEIR, "C_d": EN_ORIFICE, "g": G},
        "25",
        "mm",
        EN + ": a plain lip crosses at h/D 0.5, Fr 0.61",
        "derived",
        within=0.02,
    ),
    Case(
        "bubble_rise",
        {"D": 0.025, "g": G},
        "0.1624 to 0.1738",
        "m/s",
        "Davies & Taylor 1950 (0.328) to Dumitrescu 1943 (0.351) times sqrt(gD)",
        "from memory",
    ),
    Case(
        "bubble_rise", {"D": 1.0, "g": 1.0}, "0.345", "m/s", "long-bubble rise 0.345 sqrt(gD)", "from memory"
    ),
    Case(
        "bubble_bore", {"sigma": 0.0728, "rho": 998.2, "g": G}, "5.0", "mm", "Bretherton 1961, 0.842", "read"
    ),
    Case("air_carried", {"Fr": 3.0}, "0.0174", "", JUMP, "from memory"),
    Case("air_carried", {"Fr": 5.0}, "0.046", "", JUMP, "from memory"),
    Case("air_carried", {}, "0.046", "", JUMP + " at the central Froude number", "from memory"),
    Case("air_carried", {"Fr": 10.0}, "0.143", "", JUMP, "from memory"),
    Case(
        "purge_time", {"V_a": 1e-3, "Q": 20 * LPM}, "65", "s", JUMP + ": 1 L at 0.046 of 20 L/min", "derived"
    ),
    Case(
        "purge_time",
        {"V_a": 1e-3, "Q": 20 * LPM, "Fr": 10.0},
        "21",
        "s",
        JUMP + ": 1 L at 0.143 of 20 L/min",
        "derived",
    ),
    Case(
        "trapped_air",
        {"D_b": 0.075, "c": 0.05, "h": 0.01},
        "0.177",
        "L",
        FAO + ", bell of 75 mm; a cylinder 40 mm high",
        "derived",
    ),
    Case(
        "slot_area",
        {"n": 20, "w": 0.005, "l": 0.04},
        "40",
        "cm²",
        FAO + ", slots 5 mm wide; 20 of 40 mm",
        "derived",
    ),
    Case(
        "hole_area",
        {"n": 10, "d": 0.25 * 0.0254},
        "0.491",
        "in²",
        "Machinery's Handbook, areas of circles",
        "from memory",
    ),
    Case(
        "area_ratio",
        {"A_o": 20e-4, "A_p": 10e-4},
        "2.0",
        "",
        "open area twice the bore (common practice)",
        "derived",
    ),
    Case(
        "strainer_head",
        {"Q": 0.0090384, "A_o": _BIG, "g": G},
        "3.000",
        "m",
        "Choudhary & Om Prakash, Ex. 6.17: 50 mm opening, Cd 0.6, under 3 m",
        "derived",
    ),
    Case(
        "strainer_loss",
        {"A_p": 1e-3, "A_o": 1e-3, "C_d": 0.642},
        "2.43",
        "",
        LAB + ", mean Cd 0.642",
        "derived",
    ),
    Case(
        "strainer_loss",
        {"A_p": math.pi / 4, "A_o": math.pi / 4},
        "2.777",
        "",
        KING + ": 3.782 D2 H^0.5 against the ideal flow",
        "derived",
        within=0.002,
    ),
    Case(
        "siphon_flow",
        {"A": math.pi * 0.005**2 / 4, "H": 0.75, "K": 1.0, "f": 0.02, "L": 0.0, "D": 0.005, "g": G},
        "0.0753",
        "L/s",
        CENGEL_SIPHON,
        "from memory",
    ),
    Case(
        "siphon_flow",
        {"A": 1.0, "H": 1.0, "K": 1.0 / 0.642**2, "f": 0.02, "L": 0.0, "D": 0.01, "g": G},
        "2.844",
        "m³/s",
        LAB + ", mean Cd 0.642 of sqrt(2gH)",
        "derived",
    ),
    Case(
        "crest_pressure",
        {"p_a": 101300.0, "rho": 750.0, "z": 2.0, "K": 0.0, "v": 3.836, "g": G},
        "81.1",
        "kPa",
        CENGEL_SIPHON,
        "from memory",
    ),
    Case(
        "crest_height",
        {"p_a": 101325.0, "p_v": 0.0, "rho": 999.0, "K": 0.0, "v": 0.0},
        "33.9",
        "ft",
        "Crane TP-410, atmosphere as feet of water",
        "from memory",
    ),
    Case(
        "crest_height",
        {"p_a": 101300.0, "p_v": 81100.0, "rho": 750.0, "K": 0.0, "v": 3.836, "g": G},
        "2.00",
        "m",
        CENGEL_SIPHON + ", its crest found back",
        "from memory",
        margin=0.01,
    ),
    Case(
        "annulus_area",
        {"D_b": 0.075, "D_o": 0.025},
        "39.3",
        "cm²",
        FAO + ", bell 75 mm over 25 mm (nominal)",
        "derived",
    ),
    Case(
        "annulus_diameter",
        {"D_b": 0.075, "D_o": 0.025},
        "50",
        "mm",
        "Çengel & Cimbala, hydraulic diameter of an annulus; FAO 589 sizes",
        "derived",
    ),
    Case("highest_inflow", {"Q_s": 20 * LPM, "m": 0.1}, "18", "L/min", "continuity; arithmetic", "derived"),
)
