"""Values for the constants that the engine takes (`aquacalc.evidence.engine`)."""

from __future__ import annotations

from aquacalc.evidence.kinds import LIBRARY, MEMORY, SECOND_HAND

from .cases import Constant
from .cases_flow import RISER_ORIFICE, RISER_WEIR
from .works import CRANE, HEC_22, HILLS, SCIPY, SIMPSON, cite, own, practice


def _gravity() -> str:
    from scipy.constants import g

    return f"{g:.5f}"


STANDARD = cite(SCIPY, "constants.g, standard gravity", LIBRARY)

CONSTANTS = (
    Constant("gravity of the engine", _gravity(), STANDARD),
    Constant("gravity of pipe losses", _gravity(), STANDARD),
    Constant("pipe mouth as a weir: Q/(D H^1.5), ft", "9.739", RISER_WEIR, within=0.002),
    Constant("openings of a bell's foot: Q/(D² H^0.5), ft", "3.782", RISER_ORIFICE, within=0.002),
    Constant(
        "openings of a bell's foot: discharge coefficient",
        "0.60 to 0.62",
        cite(HEC_22, "orifices, sharp edge", MEMORY),
    ),
    Constant("turn over the lip: loss coefficient", "1.00", cite(CRANE, "exits", MEMORY)),
    Constant(
        "lip as a weir, where a plan gives nothing",
        "1.71",
        own("9.739 of King County over pi, in SI"),
    ),
    Constant(
        "lip as an orifice, where a plan gives nothing: Q/(D² H^0.5), ft",
        "3.782",
        RISER_ORIFICE,
        within=0.002,
    ),
    Constant(
        "strainer openings, where a plan gives nothing: Q/(D² H^0.5), ft",
        "3.782",
        RISER_ORIFICE,
        within=0.002,
    ),
    Constant(
        "Froude number below which a bore vents itself",
        "0.30",
        cite(HILLS, "limit of self-venting flow", SECOND_HAND),
    ),
    Constant(
        "Froude number at which a siphon is taken to start",
        "0.53 to 0.61",
        own("a lip's crossing from weir to orifice by King County (0.53) and EN 12056-3 (0.61)"),
    ),
    Constant(
        "Froude number above which a bore runs full", "1.00", cite(SIMPSON, "flow in vertical pipes", MEMORY)
    ),
    Constant(
        "open area of a strainer over the bore, where a plan asks for none",
        "1.5",
        practice("at least 1.5 to 2 times the bore"),
        margin=0.001,
    ),
)
