"""Values for openings, lip, priming, strainers and the siphon."""

from __future__ import annotations

import math

from aquacalc.evidence.given import Given
from aquacalc.evidence.kinds import MEMORY, READ, RECOMPUTED, SECOND_HAND

from .cases import Case
from .works import (
    BRETHERTON,
    CENGEL,
    CHOUDHARY,
    DAVIES,
    DOUGLAS,
    EN_12056,
    HEC_22,
    HI,
    HILLS,
    KALINSKE,
    KING,
    MACHINERY,
    MUNSON,
    PLUMBING,
    SCHASCHKE,
    SUBRAMANYA,
    WYLY,
    cite,
    own,
)

G = 9.81
FT = 0.3048
INCH = 0.0254
GPM = 6.30901964e-5
LPM = 1e-3 / 60.0

RISER_WEIR = cite(KING, "riser outlet, weir flow", MEMORY)
RISER_ORIFICE = cite(KING, "riser outlet, orifice flow", MEMORY)
RISER_BOTH = cite(KING, "riser outlet, where weir and orifice cross", MEMORY)
OUTLET = cite(EN_12056, "outlets of circular cross-section", MEMORY)
OUTLET_DEPTH = cite(EN_12056, "outlets of circular cross-section, depth of half the diameter", MEMORY)
JUMP = cite(KALINSKE, "air carried by a hydraulic jump in a pipe", MEMORY)
CIRCLES = cite(MACHINERY, "areas of circles", MEMORY)
GASOLINE = cite(CENGEL, "Ex. 5-7, siphoning gasoline", RECOMPUTED)
LIP = own("weir and orifice law of King County, at our own sizes, g 9.81")
LIP_EN = own("weir and orifice law of EN 12056-3, at our own sizes, g 9.81")
SHARP = own("1.84 per metre of lip, at our own sizes")
CHOKES = own("definition of the Froude number at 0.3, 0.5, 1 and 2, g 9.81")
FLOWS = own("200 and 500 L/h (FAO Technical Paper 589, from memory) in its bores")

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
#: Stack seven twenty-fourths full: inches -> gpm.
_STACK = {2: "23", 3: "67", 4: "144", 5: "261", 6: "424", 8: "913", 10: "1655", 12: "2692"}


def circle(D: float) -> Given:
    """Area of a circle of diameter `D` (m)."""
    return Given("circle_area", {"D": D})


def _choking():
    for bore, row in _CHOKING.items():
        for froude, printed in zip((0.3, 0.5, 1.0, 2.0), row, strict=True):
            inputs = {"Fr": froude, "D": bore / 1000.0, "g": G}
            yield Case("choking_flow", inputs, printed, "L/min", CHOKES, within=0.005)


def _lip():
    for (D, h), (en, king, sharp) in _LIP.items():
        size = {"D": D / 1000.0, "h": h / 1000.0}
        # The manual's coefficients have four digits, 1.71 and 0.60 have two or three.
        yield Case("lip_flow", {**size, "g": G}, king, "L/min", LIP, within=0.002)
        back = {"D": size["D"], "Q": float(king) * LPM, "g": G}
        yield Case("lip_head", back, str(h), "mm", LIP, within=0.004)
        yield Case("lip_flow", {**size, "C_w": EN_WEIR, "C_d": EN_ORIFICE, "g": G}, en, "L/min", LIP_EN)
        heads = {"C_w": EN_WEIR, "C_d": EN_ORIFICE, "D": size["D"], "Q": float(en) * LPM, "g": G}
        yield Case("lip_head", heads, str(h), "mm", LIP_EN, within=0.004)
        if sharp:
            yield Case("lip_weir_flow", {**size, "C_w": 1.84}, sharp, "L/min", SHARP, within=0.0015)


def _stack():
    table = cite(PLUMBING, "table 13.6.1, stacks", READ)
    for inches, gpm in _STACK.items():
        yield Case("stack_flow", {"r": 7 / 24, "D": inches * INCH}, gpm, "gpm", table)
    about_1 = cite(WYLY, "capacities of stacks", MEMORY, "such a stack carries a Froude number of about 1")
    for inches, gpm in ((2, "22.6"), (3, "66.8"), (4, "143.8")):
        recalled = cite(WYLY, "terminal capacity at 7/24 full", MEMORY)
        yield Case("stack_flow", {"r": 7 / 24, "D": inches * INCH}, gpm, "gpm", recalled)
        flow = {"Q": float(gpm) * GPM, "D": inches * INCH, "g": G}
        yield Case("froude_bore", flow, "0.9 to 1.15", "", about_1)


def _fao():
    froude = {25.0: ("0.23", "0.57"), 21.2: ("0.35", "0.86"), 33.2: ("0.11", "0.28")}
    for bore, row in froude.items():
        for litres_hour, printed in zip((200, 500), row, strict=True):
            inputs = {"Q": litres_hour / 3.6e6, "D": bore / 1000.0, "g": G}
            yield Case("froude_bore", inputs, printed, "", FLOWS)


def _openings():
    yield Case(
        "circle_area", {"D": 2 * INCH}, "0.0218", "ft²", own("pi over four of a sixth of a foot, squared")
    )
    yield Case("circle_area", {"D": 0.25 * INCH}, "0.0491", "in²", CIRCLES)
    sharp = {"C_d": 0.598, "A": circle(0.04), "H": 2.0, "g": G}
    yield Case("orifice_flow", sharp, "4.707", "L/s", cite(SUBRAMANYA, "Ex. 13.1", RECOMPUTED))
    measured = {"Q": 0.117 / 60, "A": 650e-6, "H": 1.2, "g": G}
    yield Case("orifice_flow", measured, "0.618", "", cite(DOUGLAS, "Ex. 6.4", RECOMPUTED), symbol="C_d")
    yield Case(
        "orifice_flow",
        {"A": 1.0, "H": 1.0, "g": G},
        "2.657 to 2.747",
        "m³/s",
        cite(HEC_22, "orifices, coefficient of a sharp edge 0.60 to 0.62", MEMORY),
    )
    riser = {"A": math.pi / 4 * FT**2, "H": FT, "g": G}
    yield Case("orifice_flow", riser, "3.782", "ft³/s", RISER_ORIFICE, within=0.002)


def _priming():
    hills = cite(HILLS, "worked example, 36 m³/h in 180 mm", SECOND_HAND)
    yield Case("froude_bore", {"Q": 36 / 3600, "D": 0.180, "g": G}, "0.296", "", hills, within=0.005)
    # The number has three digits: 0.0005 in 0.296.
    yield Case("choking_flow", {"Fr": 0.296, "D": 0.18, "g": G}, "36", "m³/h", hills, within=0.0017)
    for given, printed, within, note in (
        ({"D_l": 0.04, "D": 0.0266, "Fr": 0.5}, "7.59", 0.003, "weir of 40 mm at 8.52 L/min"),
        ({"D_l": 0.0266, "D": 0.0266, "Fr": 1.0}, "36.9", 0.003, "orifice of 26.6 mm at 17.03 L/min"),
        ({"D_l": 0.05, "D": 0.05, "Fr": 0.53}, "19.4", 0.01, "a plain lip crosses at h/D 0.388, Fr 0.53"),
    ):
        said = own(f"riser law of King County: {note}")
        yield Case("priming_head", {**given, "g": G}, printed, "mm", said, within=within)
    plain = {"D_l": 0.05, "D": 0.05, "Fr": 0.61, "C_w": EN_WEIR, "C_d": EN_ORIFICE, "g": G}
    said = own("outlet law of EN 12056-3: a plain lip crosses at h/D 0.5, Fr 0.61")
    yield Case("priming_head", plain, "25", "mm", said, within=0.02)
    long_bubble = cite(DAVIES, "rise in tubes: 0.328 here, 0.351 by Dumitrescu 1943, times sqrt(gD)", MEMORY)
    yield Case("bubble_rise", {"D": 0.025, "g": G}, "0.1624 to 0.1738", "m/s", long_bubble)
    # rho g D² / (4 sigma) is 0.842 where sigma is rho g: its three digits give D to 0.0006.
    stays = cite(
        BRETHERTON, "bubble in a vertical tube, 0.842 on the radius", READ, "twice the root of 0.842"
    )
    yield Case("bubble_bore", {"sigma": 1.0, "rho": 1.0, "g": 1.0}, "1.8352", "m", stays, margin=0.0006)
    yield Case(
        "bubble_bore", {"sigma": 0.0728, "rho": 998.2, "g": G}, "5.0", "mm", own("0.842 at water of 20 degC")
    )
    for froude, printed in ((3.0, "0.0174"), (5.0, "0.046"), (10.0, "0.143")):
        yield Case("air_carried", {"Fr": froude}, printed, "", JUMP)
    yield Case("air_carried", {}, "0.046", "", cite(KALINSKE, "the same at our central 5", MEMORY))
    for given, printed, share in (({}, "65", "0.046"), ({"Fr": 10.0}, "21", "0.143")):
        said = own(f"1 L of air at {share} of 20 L/min")
        yield Case("purge_time", {"V_a": 1e-3, "Q": 20 * LPM, **given}, printed, "s", said)
    cylinder = own("a cylinder of 75 mm, 40 mm high")
    yield Case("trapped_air", {"D_b": 0.075, "c": 0.05, "h": 0.01}, "0.177", "L", cylinder)


def _strainers():
    holes = {"A_o": Given("strainer_head", {"Q": 5000 / 86400, "H": 0.2, "g": G}, "A_o"), "d": 0.01}
    # The book rounds the flow to 0.058 m³/s.
    yield Case(
        "hole_area", holes, "621", "", cite(SCHASCHKE, "Ex. 6.1", RECOMPUTED), symbol="n", within=0.003
    )
    yield Case("hole_area", {"n": 10, "d": 0.25 * INCH}, "0.491", "in²", CIRCLES)
    yield Case("slot_area", {"n": 20, "w": 0.005, "l": 0.04}, "40", "cm²", own("20 slots of 5 by 40 mm"))
    twice = own("open area of 20 cm² over a bore of 10 cm²")
    yield Case("area_ratio", {"A_o": 20e-4, "A_p": 10e-4}, "2.0", "", twice)
    opening = {"Q": 0.0090384, "A_o": math.pi * 0.05**2 / 4.0, "g": G}
    yield Case("strainer_head", opening, "3.000", "m", own("50 mm opening, coefficient 0.6, under 3 m"))
    ideal = {"A_p": 1e-3, "A_o": 1e-3, "C_d": 0.642}
    yield Case("strainer_loss", ideal, "2.43", "", own("one over 0.642 squared"))
    foot = own("3.782 D² H^0.5 (King County, ft) against the ideal flow, squared")
    yield Case("strainer_loss", {"A_p": math.pi / 4, "A_o": math.pi / 4}, "2.777", "", foot, within=0.002)


def _siphon():
    hose = {"A": circle(0.005), "H": 0.75, "K": 1.0, "f": 0.02, "L": 0.0, "D": 0.005, "g": G}
    yield Case("fill_time", {"V": 0.004, "Q": Given("siphon_flow", hose)}, "53.1", "s", GASOLINE)
    # The book neglects what the pipe's end loses.
    long_pipe = {"A": circle(0.1), "H": 10.0, "K": 0.0, "f": 0.08, "L": 700.0, "D": 0.1, "g": G}
    yield Case("siphon_flow", long_pipe, "4.65", "L/s", cite(CHOUDHARY, "Ex. 7.21", RECOMPUTED))
    fall = {"A": circle(INCH), "H": 69.3 * FT, "K": 1.0, "f": 0.02, "L": 0.0, "D": INCH}
    yield Case("siphon_flow", fall, "163", "gpm", cite(HI, "table 3.D.1", READ, "velocity head at 1 in"))
    crest = {"p_a": 101300.0, "rho": 750.0, "z": 2.0, "K": 0.0, "v": math.sqrt(2 * G * 0.75), "g": G}
    yield Case("crest_pressure", crest, "81.1", "kPa", GASOLINE)
    atmosphere = {"p_a": 14.7 * 6894.757, "p_v": 0.0, "rho": 999.0, "K": 0.0, "v": 0.0}
    yield Case(
        "crest_height", atmosphere, "33.9", "ft", cite(HI, "atmosphere of 14.7 psi as feet of water", READ)
    )
    back = {"p_a": 101300.0, "p_v": 81100.0, "rho": 750.0, "K": 0.0, "v": 3.836, "g": G}
    yield Case("crest_height", back, "2.00", "m", GASOLINE, margin=0.01)
    gap = {"D_b": 0.004, "D_o": 0.002}
    flow = {
        "v": Given("mean_velocity", {"Q": 12e-6, "A": Given("annulus_area", gap)}),
        "D": Given("annulus_diameter", gap),
        "nu": Given("kinematic_viscosity", {"mu": 0.0045, "rho": 1180.0}),
    }
    yield Case("reynolds", flow, "668", "", cite(MUNSON, "Ex. 6.10, flow in an annulus", RECOMPUTED))
    bell = {"D_b": 0.075, "D_o": 0.025}
    yield Case("annulus_area", bell, "39.3", "cm²", own("bell of 75 mm over a pipe of 25 mm"))
    yield Case("annulus_diameter", bell, "50", "mm", own("bell of 75 mm over a pipe of 25 mm"))
    yield Case(
        "highest_inflow", {"Q_s": 20 * LPM, "m": 0.1}, "18", "L/min", own("a tenth less than 20 L/min")
    )


CASES = (
    *_openings(),
    Case("lip_orifice_flow", {"D": FT, "h": FT, "g": G}, "3.782", "ft³/s", RISER_ORIFICE, within=0.002),
    Case("lip_orifice_flow", {"D": 0.025, "h": 0.020, "g": G}, "11.07", "L/min", LIP),
    Case("lip_weir_flow", {"D": FT, "h": FT}, "9.739", "ft³/s", RISER_WEIR, within=0.002),
    Case(
        "lip_weir_flow",
        {"C_w": 1.84, "D": 5.0 / math.pi, "h": 0.4},
        "2.3274",
        "m³/s",
        cite(CHOUDHARY, "Ex. 11.9", RECOMPUTED, "a straight crest of 5 m, taken as a circle's"),
    ),
    Case("lip_flow", {"D": FT, "h": FT, "g": G}, "3.782", "ft³/s", RISER_ORIFICE, within=0.002),
    Case("lip_head", {"D": FT, "Q": 3.782 * FT**3, "g": G}, "1", "ft", RISER_ORIFICE, within=0.004),
    Case("lip_crossing", {"g": G}, "0.388", "", RISER_BOTH, margin=0.001),
    Case("lip_crossing", {"C_w": EN_WEIR, "C_d": EN_ORIFICE, "g": G}, "0.5", "", OUTLET_DEPTH, margin=1e-4),
    *_lip(),
    *_priming(),
    *_choking(),
    *_stack(),
    *_fao(),
    *_strainers(),
    *_siphon(),
)
