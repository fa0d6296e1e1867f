"""The constants that the engine takes besides the equations, each read back through its own functions.

A coefficient that is read back as the law it belongs to ("flow over D H^1.5")
is noticed when the function changes as well as when the number does.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from aquacalc.catalogue import data_dir
from aquacalc.engine import packing as layout
from aquacalc.engine import pipe_flow
from aquacalc.hydraulics import paths
from aquacalc.plan.schema import TABLES

_FT = 0.3048
#: Ideal flow of a round opening of 1 ft under 1 ft, ft3/s, g 32.174 ft/s2.
_ROUND_FOOT = math.pi / 4.0 * math.sqrt(2.0 * 32.174)


@dataclass(frozen=True)
class EngineConstant:
    """A constant of the engine: what it is, its value read back, the unit of that, why it is taken."""

    name: str
    value: Callable[[], float]
    unit: str
    why: str


def default(table: str, key: str) -> float:
    """Return the SI value that is taken where a plan does not give the key."""
    found = next(k for k in TABLES[table].keys if k.name == key)
    return found.default_value()


def packed_gravity() -> float:
    """Gravity (m/s2) that stands in a packed plan."""
    from aquacalc.plan.read import read_plan

    return layout.pack(read_plan(data_dir() / "plans" / "greenhouse.toml")).gravity


def loss_gravity() -> float:
    """Gravity (m/s2) found back from the head of one velocity head at 1 m/s."""
    return 1.0 / (2.0 * paths.Piece("exit", 1.0, 1.0, 0.0, 0.0, 1.0).loss(1.0, 1e-6))


def mouth_weir() -> float:
    """Flow over a pipe's mouth of 1 ft as a weir, over D H^1.5 in feet and cubic feet a second."""
    flow, _ = pipe_flow.edge_flow(pipe_flow.MOUTH_WEIR, _FT, 0.1 * _FT)
    return flow / _FT**3 / 0.1**1.5


def opening_flow() -> float:
    """Flow of openings at a bell's foot as large as a circle of 1 ft, over D2 H^0.5 in feet."""
    area = math.pi / 4.0 * _FT**2
    head = paths.opening_piece("openings", area, paths.OPENING_DISCHARGE).loss(_FT**3, 1e-6) / _FT
    return 1.0 / math.sqrt(head)


CONSTANTS = {
    c.name: c
    for c in (
        EngineConstant(
            "gravity of the engine", packed_gravity, "m/s²", "standard gravity, exact by convention"
        ),
        EngineConstant(
            "gravity of pipe losses", loss_gravity, "m/s²", "standard gravity, exact by convention"
        ),
        EngineConstant(
            "pipe mouth as a weir: Q/(D H^1.5), ft",
            mouth_weir,
            "",
            "a bed's last water runs over the edge of the pipe's mouth, taken as a lip",
        ),
        EngineConstant(
            "openings of a bell's foot: Q/(D² H^0.5), ft",
            opening_flow,
            "",
            "cut by hand in thin plastic: taken as sharp orifices",
        ),
        EngineConstant(
            "openings of a bell's foot: discharge coefficient",
            lambda: paths.OPENING_DISCHARGE,
            "",
            "the same, as the coefficient itself",
        ),
        EngineConstant(
            "turn over the lip: loss coefficient",
            lambda: paths.TURN_LOSS,
            "",
            "water keeps none of its speed in the annulus, as at an exit; an assumption on the safe side",
        ),
        EngineConstant(
            "lip as a weir, where a plan gives nothing",
            lambda: default("siphon", "lip_weir"),
            "m^0.5/s",
            "middle of the band of 1.34 to 1.84 published",
        ),
        EngineConstant(
            "lip as an orifice, where a plan gives nothing: Q/(D² H^0.5), ft",
            lambda: default("siphon", "lip_orifice") * _ROUND_FOOT,
            "",
            "0.60 of the ideal flow",
        ),
        EngineConstant(
            "strainer openings, where a plan gives nothing: Q/(D² H^0.5), ft",
            lambda: default("bed.strainer", "discharge_coefficient") * _ROUND_FOOT,
            "",
            "0.60 of the ideal flow; ragged drilled plastic has down to 0.4",
        ),
        EngineConstant(
            "Froude number below which a bore vents itself",
            lambda: default("siphon.priming", "froude_low"),
            "",
            "low end of the starting band",
        ),
        EngineConstant(
            "Froude number at which a siphon is taken to start",
            lambda: default("siphon.priming", "froude"),
            "",
            "where a plain lip passes from weir to orifice",
        ),
        EngineConstant(
            "Froude number above which a bore runs full",
            lambda: default("siphon.priming", "froude_high"),
            "",
            "high end of the starting band",
        ),
        EngineConstant(
            "open area of a strainer over the bore, where a plan asks for none",
            lambda: default("limits", "strainer_ratio"),
            "",
            "what a finding is held to; no flow depends on it",
        ),
    )
}
