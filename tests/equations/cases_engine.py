"""Outside values for the constants that the engine takes, each worked out through its own functions."""

from __future__ import annotations

import math

from aquacalc.flow import layout, network, paths
from aquacalc.flow.deck import F_GRAVITY
from aquacalc.plan.read import read_plan
from aquacalc.plan.schema import TABLES
from aquacalc.units import read

from .cases import Constant

FT = 0.3048
KING = "King County Surface Water Design Manual, riser"
CGPM = "CGPM 1901, standard gravity"


def default(table: str, key: str) -> float:
    """The value taken where a plan does not give the key."""
    found = next(k for k in TABLES[table].keys if k.name == key)
    return found.default if isinstance(found.default, float) else read(found.default, found.kind)


def packed_gravity() -> float:
    from aquacalc.catalogue import data_dir

    return layout.pack(read_plan(data_dir() / "plans" / "greenhouse.toml")).floats[F_GRAVITY]


def piece_gravity() -> float:
    """Gravity found back from the head that one velocity head is."""
    return 1.0 / (2.0 * paths.Piece("exit", 1.0, 1.0, 0.0, 0.0, 1.0).loss(1.0, 1e-6))


def mouth_flow() -> float:
    """Flow over a mouth of 1 ft under 0.1 ft, in ft3/s over (ft) D H^1.5."""
    flow, _ = network.edge_flow(network.MOUTH_WEIR, FT, 0.1 * FT)
    return flow / FT**3 / 0.1**1.5


def opening_head() -> float:
    """Head in ft that openings of 1 ft2 lose at 4.815 ft3/s."""
    return paths.opening_piece("openings", FT**2, paths.OPENING_DISCHARGE).loss(4.815 * FT**3, 1e-6) / FT


CONSTANTS = (
    Constant("gravity of the engine", packed_gravity, "9.80665", "m/s²", CGPM, "from memory"),
    Constant("gravity of a path's losses", piece_gravity, "9.80665", "m/s²", CGPM, "from memory"),
    Constant("weir of a pipe's mouth", mouth_flow, "9.739", "", KING, "from memory", within=0.002),
    # The manual's orifice, 3.782 D2 H^0.5 in ft, is 4.815 ft3/s to a square foot under a foot.
    Constant("openings of a bell's foot", opening_head, "1.00", "ft", KING, "from memory"),
    Constant(
        "openings of a bell's foot",
        lambda: paths.OPENING_DISCHARGE,
        "0.60 to 0.62",
        "",
        "FHWA HEC-22, sharp orifice",
        "from memory",
    ),
    Constant(
        "turn over the lip",
        lambda: paths.TURN_LOSS,
        "1.00",
        "",
        "Crane TP-410, exit: all the velocity",
        "from memory",
    ),
    Constant(
        "weir of the lip, where a plan gives none",
        lambda: default("siphon", "lip_weir"),
        "1.71",
        "m^0.5/s",
        KING + ", 9.739 over pi, in SI",
        "derived",
    ),
    Constant(
        "orifice of the lip, where a plan gives none",
        lambda: default("siphon", "lip_orifice") * math.pi / 4 * math.sqrt(2 * 32.174),
        "3.782",
        "ft^0.5/s",
        KING,
        "from memory",
        within=0.002,
    ),
    Constant(
        "strainer openings, where a plan gives none",
        lambda: default("bed.strainer", "discharge_coefficient") * math.pi / 4 * math.sqrt(2 * 32.174),
        "3.782",
        "ft^0.5/s",
        KING,
        "from memory",
        within=0.002,
    ),
    Constant(
        "Froude number below which a bore vents itself",
        lambda: default("siphon.priming", "froude_low"),
        "0.30",
        "",
        "Hills 1983, Designing piping for gravity flow, Chem. Eng.",
        "read",
    ),
    Constant(
        "Froude number above which a bore runs full",
        lambda: default("siphon.priming", "froude_high"),
        "1.00",
        "",
        "Simpson 1968, Chem. Eng.",
        "from memory",
    ),
    Constant(
        "Froude number at which a siphon is taken to start",
        lambda: default("siphon.priming", "froude"),
        "0.53 to 0.61",
        "",
        "lip's own crossing from weir to orifice: King County 0.53, EN 12056-3 0.61",
        "derived",
    ),
    Constant(
        "open area of a strainer over the bore, where a plan asks for none",
        lambda: default("limits", "strainer_ratio"),
        "1.5",
        "",
        "at least 1.5 to 2 times the bore",
        "common practice, no source",
        margin=0.001,
    ),
)
