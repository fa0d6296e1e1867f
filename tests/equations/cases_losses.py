"""Outside values for friction and local losses."""

from __future__ import annotations

import math

from .cases import Case

G = 9.81
FT = 0.3048
CFS = FT**3
LB = 0.45359237

CENGEL = "Çengel & Cimbala, Fluid Mechanics, Ex. 8-3"
HI = "Hydraulic Institute Engineering Data Book"
CHART = HI + ", chart of screwed fittings, read off a graph"
FLUIDS = "fluids 1.3.1"
CRANE = "Crane TP-410"

#: (Re, e/D) -> Colebrook, Haaland, Swamee-Jain.
_FRICTION = {
    (4e3, 1e-4): ("0.040008", "0.040485", "0.040668"),
    (1e4, 0.0): ("0.030883", "0.030886", "0.030972"),
    (1e5, 1e-4): ("0.018514", "0.018265", "0.018452"),
    (2e5, 1e-3): ("0.021034", "0.020912", "0.021192"),
    (1e6, 0.01): ("0.037965", "0.038036", "0.038012"),
}
_TWO_45 = {
    0.71: ("0.507", "0.510"),
    1.174: ("0.333", "0.384"),
    1.42: ("0.261", "0.377"),
    1.86: ("0.289", "0.390"),
    3.14: ("0.346", "0.426"),
    6.28: ("0.399", "0.444"),
}
#: Idelchik's rounded entrance, r/D -> K.
_ROUNDED = {
    0.0: "0.50",
    0.01: "0.44",
    0.02: "0.37",
    0.03: "0.31",
    0.04: "0.26",
    0.05: "0.22",
    0.06: "0.20",
    0.08: "0.15",
    0.12: "0.09",
    0.16: "0.06",
    0.20: "0.03",
}

# Ex. 8-3 of Çengel & Cimbala, US units turned to SI.
_Q = 0.2 * CFS
_D = 2 * 0.0254
_V = 9.167 * FT
_RHO = 62.36 * LB / CFS
_NU = 7.536e-4 / 62.36 * FT**2
_F = 0.0174
# Colebrook at Re 3e4 in 26.6 mm of drawn plastic, 0.0015 mm rough.
_F_BEND = 0.023636


def _friction():
    keys = ("friction_colebrook", "friction_haaland", "friction_swamee_jain")
    for (Re, e), row in _FRICTION.items():
        for key, printed in zip(keys, row, strict=True):
            yield Case(key, {"Re": Re, "e": e}, printed, "", FLUIDS, "reference library")
        yield Case("friction_factor", {"Re": Re, "e": e}, row[0], "", FLUIDS, "reference library")


def _two_45():
    for ratio, row in _TWO_45.items():
        for key, printed in zip(("two_45_smooth", "two_45_rough"), row, strict=True):
            yield Case(key, {"a": ratio * 0.05, "D": 0.05}, printed, "", HI + ", two 45 mitres", "read")


def _rounded():
    for ratio, printed in _ROUNDED.items():
        yield Case(
            "entrance_rounded",
            {"r": ratio * 0.05, "D": 0.05},
            printed,
            "",
            "Idelchik, Handbook of Hydraulic Resistance, table in fluids 1.3.1",
            "read",
            margin=0.0005,  # the table is taken as printed
        )


def _step(b: float) -> dict[str, float]:
    return {"D_s": 0.05 * b, "D_l": 0.05}


def _bends():
    """The swept bend against four authors, as the reference library has them at Re 3e4 in 26.6 mm."""
    # degrees, R/D: own source (Rennels) and the span of Crane, Ito, Miller and Rennels.
    for angle, ratio, own, span in (
        (90.0, 1.0, "0.389", "0.361 to 0.445"),
        (90.0, 1.5, "0.274", "0.2735 to 0.313"),
        (45.0, 1.5, "0.192", "0.133 to 0.222"),
    ):
        inputs = {"f": _F_BEND, "R": ratio * 0.0266, "D": 0.0266, "theta": angle}
        yield Case("bend_swept", inputs, own, "", FLUIDS + ", Rennels", "reference library")
        yield Case(
            "bend_swept",
            inputs,
            span,
            "",
            FLUIDS + ", span of Crane, Ito, Miller, Rennels",
            "reference library",
        )


CASES = (
    Case("mean_velocity", {"Q": _Q, "A": math.pi * _D**2 / 4}, "9.17", "ft/s", CENGEL, "derived"),
    Case("pipe_velocity", {"Q": _Q, "D": _D}, "9.17", "ft/s", CENGEL, "derived"),
    Case("kinematic_viscosity", {"mu": 7.536e-4 * LB / FT, "rho": _RHO}, "1.123", "mm²/s", CENGEL, "derived"),
    Case("reynolds", {"v": _V, "D": _D, "nu": _NU}, "1.264e5", "", CENGEL, "derived"),
    Case("relative_roughness", {"eps": 7e-6 * FT, "D": _D}, "0.000042", "", CENGEL, "derived"),
    Case("friction_colebrook", {"Re": 1.264e5, "e": 4.2e-5}, "0.0174", "", CENGEL, "derived"),
    Case(
        "friction_head",
        {"f": _F, "L": 200 * FT, "D": _D, "v": _V, "g": G},
        "27.2",
        "ft",
        CENGEL,
        "derived",
        within=0.005,
    ),
    Case("pressure_of_head", {"rho": _RHO, "H": 27.2 * FT, "g": G}, "11.8", "psi", CENGEL, "derived"),
    Case(
        "pressure_of_head",
        {"rho": 62.37 * LB / CFS, "H": FT},
        "0.433",
        "psi",
        CRANE + ", a foot of water",
        "from memory",
    ),
    Case(
        "hydraulic_power",
        {"rho": _RHO, "Q": _Q, "H": 27.2 * FT, "g": G},
        "461",
        "W",
        CENGEL,
        "derived",
        within=0.005,
    ),
    Case(
        "hydraulic_power",
        {"rho": 62.37 * LB / CFS, "Q": 3960 * 6.30901964e-5, "H": FT},
        "745.7",
        "W",
        HI + ", water horsepower is gpm times feet over 3960",
        "from memory",
        within=0.002,
    ),
    Case(
        "pipe_velocity",
        {"Q": 200 * 6.30901964e-5, "D": 4.026 * 0.0254},
        "5.04",
        "ft/s",
        HI + ", 4 in at 200 gpm",
        "from memory",
    ),
    Case("velocity_head", {"v": 5.04 * FT}, "0.395", "ft", HI + ", 4 in at 200 gpm", "from memory"),
    Case(
        "loss_head",
        {"K": 3.79, "v": 5.04 * FT},
        "1.50",
        "ft",
        HI + ", system curve: K 3.79 at 200 gpm",
        "derived",
    ),
    Case(
        "run_head",
        {
            "f": 0.02,
            "L": 1255 * FT,
            "D": 4.026 * 0.0254,
            "K": 3.79,
            "Q": 200 * 6.30901964e-5,
            "A": math.pi * (4.026 * 0.0254) ** 2 / 4,
        },
        "31",
        "ft",
        HI + ", system curve at 200 gpm",
        "read",
    ),
    Case("friction_laminar", {"Re": 2000.0}, "0.032", "", HI + ", 64/Re up to 2000", "read"),
    Case("friction_laminar", {"Re": 1000.0}, "0.064", "", HI + ", 64/Re", "read"),
    Case("friction_factor", {"Re": 2000.0, "e": 0.001}, "0.032", "", HI + ", 64/Re up to 2000", "read"),
    Case("friction_factor", {"Re": 2000.01, "e": 1e-4}, "0.0320", "", HI + ", laminar end", "read"),
    Case("friction_factor", {"Re": 3999.99, "e": 1e-4}, "0.04001", "", FLUIDS, "reference library"),
    *_friction(),
    Case(
        "referred_loss",
        {"K_1": 0.375, "D_1": 0.025, "D_2": 0.05},
        "6.0",
        "",
        CRANE + ", K by bore to the fourth",
        "from memory",
    ),
    Case("entrance_square", {}, "0.50", "", "sharp entrance, " + CRANE, "from memory"),
    Case(
        "entrance_projecting",
        {"t": 3.378e-3, "D": 26.64e-3},
        "0.5 to 0.6",
        "",
        "projecting pipe of ordinary PVC wall acts nearer 0.5 to 0.6",
        "derived",
    ),
    Case("entrance_projecting", {"t": 0.0005, "D": 0.1}, "1.01541", "", FLUIDS + ", Rennels example", "read"),
    *_rounded(),
    Case(
        "entrance_rounded",
        {"r": 0.0025, "D": 0.025},
        "0.082 to 0.203",
        "",
        FLUIDS + ", r/D 0.1: Miller 0.082, Crane 0.09, Idelchik 0.113, Rennels 0.203",
        "reference library",
    ),
    Case("exit_loss", {}, "1.0", "", CRANE + ", exit", "from memory", margin=0.001),
    Case("mitre_90_smooth", {}, "1.129", "", HI, "read"),
    Case("mitre_90_rough", {}, "1.265", "", HI, "read"),
    *_two_45(),
    Case("elbow_90", {}, "1.50", "", CHART, "read"),
    Case("elbow_90_long", {}, "0.75", "", CHART, "read"),
    Case("elbow_45", {}, "0.33", "", CHART, "read"),
    Case("tee_line", {}, "0.90", "", CHART, "read", margin=0.02),
    Case("tee_branch", {}, "1.80", "", CHART, "read", margin=0.02),
    *_bends(),
    Case("sudden_enlargement", _step(0.5), "0.5625", "", "Borda-Carnot, b 0.5", "derived"),
    Case("sudden_enlargement", _step(0.7071), "0.250", "", "Borda-Carnot, b 0.7071", "derived"),
    Case("sudden_contraction", _step(0.5), "0.375", "", CRANE + ", b 0.5", "from memory"),
    Case("sudden_contraction", _step(0.7071), "0.25", "", CRANE + ", b 0.7071", "from memory"),
    Case("sudden_contraction", _step(0.9), "0.095", "", CRANE + ", b 0.9", "from memory"),
    Case(
        "sudden_contraction",
        _step(0.9),
        "0.094 to 0.116",
        "",
        FLUIDS + ", Rennels to Hooper, b 0.9",
        "reference library",
    ),
    Case("cone_angle", {"D_s": 0.03, "D_l": 0.05, "L": 0.01}, "90.0", "deg", "tan 45 degrees", "derived"),
    Case(
        "cone_angle",
        {"D_s": 0.04, "D_l": 0.05, "L": 0.018660},
        "30.0",
        "deg",
        "tan 15 degrees is 0.26795",
        "derived",
    ),
    Case(
        "cone_contraction",
        {"D_s": 0.04, "D_l": 0.05, "theta": 30.0},
        "0.03 to 0.09",
        "",
        FLUIDS + ", cone 50 to 40 mm at 30 degrees, span of authors",
        "reference library",
    ),
    Case(
        "cone_contraction",
        {"D_s": 0.0525, "D_l": 0.0779, "theta": 180.0},
        "0.2729",
        "",
        FLUIDS + ", Crane example",
        "read",
    ),
    Case(
        "cone_enlargement",
        {"D_s": 0.025, "D_l": 0.05, "theta": 90.0},
        "0.5625",
        "",
        CRANE + ", above 45 degrees",
        "from memory",
    ),
    Case(
        "tee_run_joining",
        {"Q_b": 380.0, "Q_c": 1515.0},
        "0.3258",
        "",
        CRANE + ", Ex. 7-35",
        "read",
        margin=0.0001,
    ),
    # The example rounds its flows to m3/s, which moves the last digits.
    Case(
        "tee_branch_joining",
        {"Q_b": 380.0, "Q_c": 1515.0, "D_b": 0.1023, "D_c": 0.1023},
        "-0.0403",
        "",
        CRANE + ", Ex. 7-35",
        "read",
        margin=0.0003,
    ),
)
