"""Values for the tables of pipes, media, seals, sockets and take-offs."""

from __future__ import annotations

from aquacalc.evidence.kinds import LIBRARY, MEMORY, READ, SECOND_HAND

from .cases import Cell
from .works import (
    AGUACLARA,
    ASNZS_1477,
    ASTM_D2467,
    DIN_8062,
    FLUIDS,
    HI,
    ISO_727,
    ISO_1452,
    cite,
    own,
    practice,
)

ASTM = cite(HI, "table of PVC pipe by ASTM D1785, schedules 40 and 80", READ)
ASTM_LIBRARY = cite(FLUIDS, "piping.schedule_lookup, ASTM D1785", LIBRARY)
SERIES_1 = cite(ASNZS_1477, "series 1, mean outside diameters", MEMORY)
PN16 = cite(DIN_8062, "series 5 (PN16), least wall", SECOND_HAND)
NOMINAL = cite(ISO_1452, "nominal size is the outside diameter", MEMORY)
ROUGH = cite(HI, "friction tables of PVC pipe, roughness", READ)
LIST = practice("a common list of hole sizes for pipe seals; lists disagree")
TRADE = practice("50 mm pressure pipe takes about a 64 mm hole saw")
TANK = practice("common sizes of tank fittings")
LOOSE = practice("ranges of loose media; no open laboratory table was found")
SHEETS = practice("data sheets of expanded clay, 250 to 510 kg/m³ by grade; read, but of no work to name")

#: Inches: outside diameter, least wall of schedule 40 and of schedule 80 (ASTM D1785).
_INCHES = {
    "1/2 in": ("0.840", "0.109", "0.147"),
    "3/4 in": ("1.050", "0.113", "0.154"),
    "1 in": ("1.315", "0.133", "0.179"),
    "1-1/4 in": ("1.660", "0.140", "0.191"),
    "1-1/2 in": ("1.900", "0.145", "0.200"),
    "2 in": ("2.375", "0.154", "0.218"),
    "2-1/2 in": ("2.875", "0.203", "0.276"),
    "3 in": ("3.500", "0.216", "0.300"),
    "4 in": ("4.500", "0.237", "0.337"),
    "6 in": ("6.625", "0.280", "0.432"),
}
#: mm: outside diameter, wall and bore of schedule 40, bore of schedule 80.
_MM = {
    "1/2 in": ("21.336", "2.769", "15.80", "13.87"),
    "3/4 in": ("26.670", "2.870", "20.93", "18.85"),
    "1 in": ("33.401", "3.378", "26.64", "24.31"),
    "1-1/4 in": ("42.164", "3.556", "35.05", "32.46"),
    "1-1/2 in": ("48.260", "3.683", "40.89", "38.10"),
    "2 in": ("60.325", "3.912", "52.50", "49.25"),
    "3 in": ("88.900", "5.486", "77.93", "73.66"),
    "4 in": ("114.300", "6.020", "102.26", "97.18"),
}
#: Outside diameter of series 1, mm.
_ASNZS = {"DN 15": "21.35", "DN 20": "26.75", "DN 25": "33.55", "DN 32": "42.25", "DN 40": "48.25",
          "DN 50": "60.35", "DN 80": "88.9", "DN 100": "114.3"}  # fmt: skip
#: Nominal size, which is the outside diameter, and least wall at PN16, mm (DIN 8062, series 5). ISO 1452 has
#: 6.6 for 110 in its series of design coefficient 2.0, which is another pipe.
_ISO = {20: "1.5", 25: "1.9", 32: "2.4", 40: "3.0", 50: "3.7", 63: "4.7", 75: "5.6", 90: "6.7", 110: "8.2"}
#: Holes, mm.
_LIST = {"1/2 in": "32", "3/4 in": "32", "1 in": "44", "1-1/4 in": "51", "1-1/2 in": "64", "2 in": "76",
         "3 in": "102", "4 in": "127"}  # fmt: skip
_TANK = {"1/2 in": "29", "3/4 in": "35", "1 in": "44", "1-1/4 in": "57", "1-1/2 in": "60", "2 in": "76",
         "3 in": "108", "4 in": "133"}  # fmt: skip
#: Sizes of AS/NZS 1477 series 1 beside the inch sizes whose outside diameters are within 0.4 mm.
_BESIDE = {"DN 15": "1/2 in", "DN 20": "3/4 in", "DN 25": "1 in", "DN 32": "1-1/4 in", "DN 40": "1-1/2 in",
           "DN 50": "2 in", "DN 80": "3 in", "DN 100": "4 in"}  # fmt: skip
#: Socket depth, inches: ASTM D2466 (schedule 40) and D2467 (schedule 80).
_SOCKETS = {
    "1/2 in": ("0.688", "0.875"),
    "3/4 in": ("0.719", "1.000"),
    "1 in": ("0.875", "1.125"),
    "1-1/4 in": ("0.938", "1.250"),
    "1-1/2 in": ("1.094", "1.375"),
    "2 in": ("1.156", "1.500"),
    "2-1/2 in": ("1.750", "1.750"),
    "3 in": ("1.875", "1.875"),
    "4 in": ("2.000", "2.250"),
    "6 in": ("3.000", "3.000"),
}
#: media: porosity and bulk density ranges, who says the density.
_MEDIA = {
    "gravel": (("0.35", "0.45"), ("1400", "1700"), LOOSE),
    "expanded clay": (("0.40", "0.50"), ("250", "510"), SHEETS),
    "scoria": (("0.50", "0.60"), ("700", "1000"), LOOSE),
}


def _pipe(series, size, column, printed, unit, cited, margin=0.0):
    return Cell("pipes", {"series": series, "size": size}, column, printed, unit, cited, margin=margin)


def _astm():
    for schedule in (40, 80):
        series = f"ASTM D1785 schedule {schedule}"
        for size, (outside, *walls) in _INCHES.items():
            wall = walls[schedule == 80]
            # Tables of a standard are taken as printed; 0.0005 mm is the rounding of ours.
            yield _pipe(series, size, "outside_diameter", outside, "in", ASTM, 2e-5)
            yield _pipe(series, size, "wall", wall, "in", ASTM, 4e-6)
            bore = f"{float(outside) - 2 * float(wall):.3f}"
            yield _pipe(series, size, "bore", bore, "in", own("outside less two walls"), 4e-5)
        for size, (outside, wall, bore_40, bore_80) in _MM.items():
            bore = bore_40 if schedule == 40 else bore_80
            # 35.052 and 52.502 are printed as 35.05 and 52.50.
            yield _pipe(series, size, "bore", bore, "mm", ASTM_LIBRARY)
            if schedule == 40:
                yield _pipe(series, size, "outside_diameter", outside, "mm", ASTM_LIBRARY)
                yield _pipe(series, size, "wall", wall, "mm", ASTM_LIBRARY)


def _metric():
    series = "AS/NZS 1477 PN12"
    by_pressure = own("wall p D / (2 s + p) with 1.2 and 11 MPa (recalled), to 0.1 mm, at least 1.4 mm")
    for size, outside in _ASNZS.items():
        D = float(outside)
        # The standard rounds walls to 0.1 mm; its least wall is 1.4 mm.
        wall = max(1.4, round(D * 1.2 / (2 * 11.0 + 1.2), 1))
        yield _pipe(series, size, "outside_diameter", outside, "mm", SERIES_1, 0.005)
        yield _pipe(series, size, "wall", f"{wall:.1f}", "mm", by_pressure, 0.005)
        yield _pipe(series, size, "bore", f"{D - 2 * wall:.2f}", "mm", by_pressure, 0.005)
    class_12 = cite(ASNZS_1477, "class 12, a listing of DN 20", SECOND_HAND)
    yield _pipe(series, "DN 20", "bore", "23", "mm", class_12, 1.0)
    series = "ISO 1452 PN16"
    for outside, wall in _ISO.items():
        size, bore = f"{outside} mm", f"{outside - 2 * float(wall):.1f}"
        yield _pipe(series, size, "outside_diameter", f"{outside}.0", "mm", NOMINAL, 0.005)
        yield _pipe(series, size, "wall", wall, "mm", PN16, 0.005)
        yield _pipe(series, size, "bore", bore, "mm", own("outside less two walls"), 0.005)


def _rough():
    from aquacalc.catalogue import read_table

    for row in read_table("pipes"):
        yield _pipe(row["series"], row["size"], "roughness", "0.0021", "mm", ROUGH, 1e-5)


def _media():
    for name, (porosity, density, who) in _MEDIA.items():
        for column, (low, high), unit, said in (
            ("porosity", porosity, "", LOOSE),
            ("bulk_density", density, "kg/m³", who),
        ):
            near = 0.001 if column == "porosity" else 1.0
            row = {"name": name}
            yield Cell("media", row, f"{column}_low", low, unit, said, margin=near)
            yield Cell("media", row, f"{column}_high", high, unit, said, margin=near)
            middle = f"{(float(low) + float(high)) / 2:g}"
            yield Cell("media", row, column, middle, unit, own("middle of the range"), margin=near)


def _hole(fitting, series, size, printed, cited):
    row = {"fitting": fitting, "series": series, "size": size}
    if cited == TRADE:
        row["source"] = "trade"
    return Cell("seals", row, "hole_diameter", printed, "mm", cited, margin=0.5)


def _seals():
    for series in ("ASTM D1785 schedule 40", "ASTM D1785 schedule 80", "AS/NZS 1477 PN12"):
        for size, printed in _LIST.items():
            same = next((k for k, v in _BESIDE.items() if v == size), size) if "AS/NZS" in series else size
            yield _hole("rubber pipe seal", series, same, printed, LIST)
            yield _hole("tank fitting", series, same, _TANK[size], TANK)
    for series, size in (("AS/NZS 1477 PN12", "DN 50"), ("ISO 1452 PN16", "50 mm")):
        yield _hole("rubber pipe seal", series, size, "64", TRADE)


def _sockets():
    d2466 = cite(AGUACLARA, "socket depths, ASTM D2466", SECOND_HAND)
    d2467 = cite(ASTM_D2467, "table of socket dimensions", MEMORY)
    alike = cite(ASTM_D2467, "table of socket dimensions", MEMORY, "pipe of nearly the same outside diameter")
    least = cite(ISO_727, "least socket length, half the diameter and 6 mm", MEMORY)
    for size, depths in _SOCKETS.items():
        for schedule, printed, said in zip((40, 80), depths, (d2466, d2467), strict=True):
            row = {"series": f"ASTM D1785 schedule {schedule}", "size": size}
            yield Cell("sockets", row, "depth", printed, "in", said, margin=0.003)
    for size, inch in _BESIDE.items():
        row = {"series": "AS/NZS 1477 PN12", "size": size}
        yield Cell("sockets", row, "depth", _SOCKETS[inch][1], "in", alike, margin=0.003)
    for outside in _ISO:
        row = {"series": "ISO 1452 PN16", "size": f"{outside} mm"}
        yield Cell("sockets", row, "depth", f"{outside / 2 + 6:.1f}", "mm", least)


def _takeoffs():
    iso = cite(ISO_1452, "part 3, laying lengths d/2 + 1 mm and d/2 tan 22.5 + 1 mm", MEMORY)
    turn = own("radius times the tangent of half the turn")
    for name, half in (
        ("bend 90, sharp", "0.500"),
        ("bend 90, screwed", "0.500"),
        ("bend 45", "0.2071"),
        ("tee, in line", "0.500"),
        ("clean-out", "0.500"),
        ("tee, branch", "0.500"),
    ):
        yield Cell("takeoffs", {"fitting": name}, "per_outside", half, "", iso)
        yield Cell("takeoffs", {"fitting": name}, "fixed", "1.0", "mm", iso, margin=0.01)
    elbows = cite(ISO_1452, "part 3, elbows of 90 and 45 degrees", MEMORY)
    for name, angle in (("bend 90, sharp", "90"), ("bend 90, screwed", "90"), ("bend 45", "45")):
        yield Cell("takeoffs", {"fitting": name}, "turn", angle, "deg", elbows)
    for name, bores, angle in (
        ("bend 90, swept", "1.500", "90"),
        ("bend 90, short", "1.000", "90"),
        ("bend 45, swept", "0.6213", "45"),
    ):
        yield Cell("takeoffs", {"fitting": name}, "per_bore", bores, "", turn)
        yield Cell("takeoffs", {"fitting": name}, "turn", angle, "deg", turn)


CELLS = (*_astm(), *_metric(), *_rough(), *_media(), *_seals(), *_sockets(), *_takeoffs())
