"""Values for mouths with a free surface, air in falling pipes, water in media, pump curves by few points."""

from __future__ import annotations

from aquacalc.evidence.given import Given
from aquacalc.evidence.kinds import LIBRARY, MEMORY, READ, SECOND_HAND

from .cases import Case
from .works import BENJAMIN, DRMS, EPANET, ERGUN, FLUIDS, HEATH, R_HYDRAULICS, SANKS, cite, own

G = 9.81
FT = 0.3048

#: y/D -> flow over sqrt(g) D^2.5 and energy over D, of critical flow in a circle.
_CRITICAL = {
    0.1: ("0.0107", "0.134"),
    0.2: ("0.0418", "0.270"),
    0.3: ("0.0921", "0.408"),
    0.4: ("0.1605", "0.550"),
    0.5: ("0.2461", "0.696"),
    0.6: ("0.3487", "0.851"),
    0.7: ("0.4700", "1.020"),
    0.8: ("0.6181", "1.221"),
    0.9: ("0.8294", "1.520"),
}
EXACT = own("critical flow in a circle, exact geometry, worked out apart")


def _critical():
    for depth, (flow, energy) in _CRITICAL.items():
        yield Case("critical_flow", {"y": depth, "D": 1.0, "g": 1.0}, flow, "m³/s", EXACT)
        yield Case("mouth_level", {"y": depth, "D": 1.0, "K_e": 0.0}, energy, "m", EXACT)
    # The package closes in on its root to about a micrometre.
    yield Case(
        "critical_flow",
        {"Q": 0.1034572, "D": 0.6, "g": 9.80665},
        "0.2049712",
        "m",
        cite(R_HYDRAULICS, "documentation, flow in a circular pipe of 0.6 m", READ),
        symbol="y",
        margin=1e-6,
    )
    chart = cite(DRMS, "p. 118, culvert of 1.5 ft by HDS-5 chart 2 scale 3", READ)
    yield Case("critical_flow", {"Q": 12.4 * FT**3, "D": 1.5 * FT}, "1.33", "ft", chart, symbol="y")
    half = own("half a circle of 0.2 m")
    yield Case("segment_area", {"y": 0.1, "D": 0.2}, "157.08", "cm²", half)


def _air():
    fall = {25.0: ("0.41", "0.46", "0.53"), 50.0: ("0.58", "0.65", "0.75")}
    form = cite(SANKS, "velocity that clears air, 0.825 + 0.25 of the root of the sine", SECOND_HAND)
    yield Case("clearing_velocity", {"D": 1.0, "a": 0.0, "g": 1.0}, "0.825", "m/s", form)
    yield Case("clearing_velocity", {"D": 1.0, "a": 90.0, "g": 1.0}, "1.075", "m/s", form)
    for bore, row in fall.items():
        for angle, printed in zip((0.0, 10.0, 90.0), row, strict=True):
            said = own("Sanks's form at our bores, 0, 10 and 90 degrees, g 9.81")
            yield Case("clearing_velocity", {"D": bore / 1e3, "a": angle, "g": G}, printed, "m/s", said)
    yield Case(
        "cavity_speed",
        {"D": 1.0, "g": 1.0},
        "0.54",
        "m/s",
        cite(BENJAMIN, "air cavity in a horizontal circular tube", MEMORY),
    )
    # 4 mm, 0.4 m of water of suction: 26 L/min in round numbers.
    tube = {
        "A": Given("circle_area", {"D": 0.004}),
        "p": 3924.0,
        "rho_a": 1.2,
        "f": 0.032,
        "L": 0.5,
        "d": 0.004,
    }
    yield Case("air_inflow", tube, "26", "L/min", own("0.5 m of 4 mm tube under 0.4 m of water"))

    short = {"A": 1e-4, "p": 1000.0, "rho_a": 1.2, "f": 0.03, "L": 0.0, "d": 0.01}
    yield Case("air_inflow", short, "200.0", "L/min", own("1 cm² under 1 kPa with 1.5 velocity heads lost"))


def _media():
    packed = {"mu": 1e-3, "e": 0.4, "v": 1e-3, "d": 8e-4, "rho": 1000.0, "L": 1.0}
    bed = cite(FLUIDS, "packed_bed, Ergun, the example of its documentation", LIBRARY)
    yield Case("ergun", packed, "1338.867", "Pa", bed, margin=0.001)
    # 375e3 v + 10.94e6 v^2 in Pa for water, printed to three and four digits.
    form = cite(ERGUN, "as 375e3 v + 10.94e6 v² for grains of 1.5 mm at 0.4", SECOND_HAND)
    grains = {"mu": 1e-3, "e": 0.4, "d": 1.5e-3, "rho": 1000.0, "L": 1.0}
    for v in (1e-3, 1e-2):
        printed = f"{375e3 * v + 10.94e6 * v * v:.6g}"
        yield Case("ergun", {**grains, "v": v}, printed, "Pa", form, within=0.0015)
    heath = cite(HEATH, "table of porosity, specific yield and retention, gravel 20, 19, 1 %", MEMORY)
    yield Case("specific_yield", {"n": 0.20, "S_r": 0.01}, "0.19", "", heath)
    year = own("1 mm a day from 2 m² takes 100 L in 50 days")
    yield Case("days_of_water", {"V": 0.1, "A": 2.0, "e": 1e-3 / 86400.0}, "4.32e6", "s", year)


def _pumps():
    rule = cite(EPANET, "single-point pump curve: 4/3 of the head at no flow, none at twice the flow", READ)
    yield Case("one_point_head", {"H_1": 3.0, "Q": 0.0, "Q_1": 1e-3}, "4.0", "m", rule)
    yield Case("one_point_head", {"H_1": 3.0, "Q": 2e-3, "Q_1": 1e-3}, "0.0", "m", rule)
    half = own("three quarters of the greatest head at half the greatest flow")
    yield Case("box_head", {"H_0": 4.0, "Q": 0.5e-3, "Q_0": 1e-3}, "3.0", "m", half)


CASES = (*_critical(), *_air(), *_media(), *_pumps())
